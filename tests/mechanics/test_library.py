"""Every structure of the library comes to rest at a firm loop length, and says what its figures are worth."""

import numpy as np
import pytest

from loopwright.mechanics.loops import Material, feed_lengths
from loopwright.mechanics.relax import relaxed
from loopwright.mechanics.result import FORCE_FREE, Status
from loopwright.mechanics.state import pairs_of, read
from loopwright.structure.library import library, structure_from

pytestmark = pytest.mark.slow  # most of these relax a cloth of their own

structures = list(library())


@pytest.mark.parametrize("key", structures)
def test_a_structure_comes_to_rest_as_sound_cloth(rest, key):
    answer = rest(key)
    assert answer.status in (Status.RELAXED, Status.SEVERAL), answer.message
    assert answer.is_sound
    assert answer.residual < FORCE_FREE
    assert answer.contact_share < 0.1
    assert answer.yarn_strain < 0.01
    assert 0.8 < answer.energy_per_loop < 4
    # read again from scratch: the state is what the answer says, and nothing pulls at it
    reading = read(answer.system, answer.state, pairs_of(answer.system, answer.state))
    assert reading.energy == pytest.approx(answer.energy, rel=1e-12)
    assert np.abs(reading.gradient[: 3 * len(answer.state.q)]).max() < 1e-5
    assert np.abs(reading.forces[[0, 2]]).max() < 1e-4


@pytest.mark.parametrize("key", structures)
def test_the_yarn_of_a_cloth_at_rest_is_as_long_as_the_knitter_set_it(rest, key):
    answer = rest(key)
    first, width = answer.system.yarns.first, np.array([answer.state.lattice[0], 0, 0])
    wanted = feed_lengths(answer.repeat.structure, 17.0)
    for r, length in enumerate(wanted):
        nodes = answer.state.q[first[r] : first[r + 1]]
        knitted = np.linalg.norm(np.diff(np.vstack([nodes, nodes[:1] + width]), axis=0), axis=1).sum()
        assert knitted == pytest.approx(length, rel=2e-3)


@pytest.mark.parametrize("ratio", [9.5, 12.0, 14.0, 16.0, 20.0, 26.0, 35.0])
@pytest.mark.parametrize("key", ["plain", "rib-1x1", "purl-1x1"])
def test_tight_and_slack_cloth_comes_to_rest_or_says_why_not(key, ratio):
    answer = relaxed(library()[key], ratio)
    assert answer.is_sound or answer.message != "at rest"
    if 12.0 <= ratio <= 26.0:
        assert answer.is_sound
        assert answer.residual < FORCE_FREE


@pytest.mark.parametrize("name", ["plain", "rib-1x1"])
def test_a_second_yarn_plated_behind_the_first_comes_to_rest_with_it(name):
    answer = relaxed(library()[name], 20.0, Material(plating=0.6), starts=(False,))
    assert answer.is_sound
    assert answer.residual < FORCE_FREE
    feeds = len(answer.repeat.structure.notation.feeds)
    assert answer.repeat.letters[feeds:] == ("plating",) * feeds
    assert answer.contact_share < 0.3


def test_a_thicker_yarn_in_every_other_course_makes_a_thicker_cloth_and_a_stiffer_yarn():
    striped = structure_from("stripes", {"courses": ["F:K", "F:K yarn:b"]})
    even = relaxed(striped, 20.0, starts=(False,))
    uneven = relaxed(striped, 20.0, Material(diameters={"b": 1.3}), starts=(False,))
    assert uneven.system.yarns.diameter.tolist() == [1.0, 1.3]
    assert uneven.system.yarns.rigidity == pytest.approx([1.0, 1.69])  # of one fibre: the square of the diameter
    assert even.is_sound
    assert uneven.is_sound
    assert uneven.form.depth > even.form.depth + 0.1
