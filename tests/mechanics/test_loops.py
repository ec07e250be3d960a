"""From needle notation to yarn: every feed has the yarn that is counted from its stitches, plating lies behind."""

import numpy as np
import pytest

from loopwright.fabric.geometry import constants
from loopwright.fabric.kin import element
from loopwright.fabric.loop_path import STEPS
from loopwright.figure import State
from loopwright.mechanics.interlacing import faults_of
from loopwright.mechanics.loops import Material, feed_lengths, repeat_of
from loopwright.mechanics.relax import from_start, relaxed
from loopwright.structure.library import library, structure_from


def test_the_yarn_of_a_feed_is_counted_from_its_stitches():
    """Half cardigan: two loops, then a loop and a tuck; tuck length from the table of pieces."""
    tuck = element("tuck_over_knit_loop")["value"]
    assert feed_lengths(library()["half-cardigan"], 17) == pytest.approx([2 * 17, 17 + 17 * tuck])


def test_a_float_is_as_long_as_the_fabric_reference_lays_it():
    interlock = library()["interlock"]
    _, kw = constants(interlock, State.FULLY_RELAXED)
    longest = element("float_over_wale_spacing")["value"] * 17 / kw.value
    places = sum(part.floats for part in interlock.anatomy.parts.values())
    assert sum(feed_lengths(interlock, 17)) == pytest.approx(4 * 17 + places * longest)


@pytest.mark.parametrize("key", list(library()))
def test_every_structure_starts_with_even_nodes_and_its_own_lengths(key):
    repeat = repeat_of(library()[key], 17)
    assert repeat.yarns.total == pytest.approx(feed_lengths(library()[key], 17))
    for r in range(len(repeat.yarns.edge)):
        nodes = repeat.q[repeat.yarns.first[r] : repeat.yarns.first[r + 1]]
        closed = np.vstack([nodes, nodes[:1] + np.array([repeat.lattice[0], 0, 0])])
        steps = np.linalg.norm(np.diff(closed, axis=0), axis=1)
        assert steps.max() < 1.25 * np.median(steps)


def test_a_plating_yarn_lies_behind_the_face_yarn_all_over():
    """Plated plain shows its first yarn on the face and the plating yarn on the back: what plating is for."""
    answer = relaxed(library()["plain"], 17, Material(plating=0.5))
    assert answer.is_sound
    face, back = answer.form.strands
    assert (face.yarn, back.yarn, back.diameter) == ("a", "plating", 0.5)
    assert face.nodes[:, 2].mean() > 0.25 > -0.25 > back.nodes[:, 2].mean()
    assert face.nodes[:, 2].max() > back.nodes[:, 2].max() + 0.5


def test_plating_as_thick_as_the_yarn_jams_a_firm_loop_and_says_so():
    answer = relaxed(library()["plain"], 15, Material(plating=1.0))
    assert not answer.is_sound
    assert "pressed into yarn" in answer.message or "stretched" in answer.message


def test_a_thinner_second_yarn_of_a_jacquard_keeps_its_own_diameter():
    answer = relaxed(library()["tubular-jacquard-2"], 17, Material(diameters={"b": 0.7}))
    assert answer.is_sound
    assert [strand.diameter for strand in answer.form.strands] == [1.0, 0.7]
    rigidity = answer.system.yarns.rigidity
    assert rigidity[1] / rigidity[0] == pytest.approx(0.49)


CABLE = {
    "courses": [
        *["F:KKKK"] * 4,
        *["move F>B:.XX.", "rack:+1", "move B>F:.X..", "rack:-1", "move B>F:..X.", "rack:0"],
    ]
}


def test_the_two_wales_of_a_cable_exchange_their_needles_one_before_the_other():
    cable = structure_from("cable", CABLE)
    repeat = repeat_of(cable, 18)
    crossing = repeat.paths.paths[3]
    heads = [crossing.points[place.first + STEPS // 2] for place in crossing.stitches]
    feet = [place.x_mm for place in crossing.stitches]
    assert [head[0] for head in heads] == pytest.approx([feet[0], feet[2], feet[1], feet[3]])
    loops = [crossing.points[place.first : place.first + STEPS + 1, 2].max() for place in crossing.stitches]
    assert loops[2] > loops[1] > loops[0]
    assert faults_of(cable.notation, repeat.paths) == ()


@pytest.mark.slow
@pytest.mark.parametrize("ratio", [18, 20])
def test_a_cable_and_a_lace_come_to_rest(ratio):
    for structure in (structure_from("cable", CABLE), library()["transfer-lace"]):
        answer = from_start(repeat_of(structure, ratio))
        assert answer.is_sound, answer.message
