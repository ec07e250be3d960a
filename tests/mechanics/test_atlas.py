"""The atlas: what it says agrees with solving anew, within the error that it states; what it keeps can be trusted."""

import json
import math

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from loopwright.mechanics import atlas
from loopwright.mechanics.chapter import chapter_of
from loopwright.mechanics.fields import FIELDS, PLACE, SETS, TURNS
from loopwright.mechanics.live import MODEL, key_of, nearest, solved
from loopwright.mechanics.relax import relaxed
from loopwright.mechanics.response import SIDES, curl_of, lean_of, stretch_of
from loopwright.mechanics.stored import (
    arrays_of,
    decoded,
    encoded,
    errors_of,
    from_arrays,
    page_at,
    slopes_of,
    stored,
    words_of,
)
from loopwright.structure.library import library, structure_from

plain, rib = library()["plain"], library()["rib-1x1"]


def page(structure, ratio):
    found = atlas.page_for(structure.notation, ratio)
    assert found is not None
    return found


def test_the_atlas_says_how_it_was_made():
    header = atlas.header()
    assert header["model"] == MODEL
    assert tuple(header["fields"]) == FIELDS
    assert header["parameters"]["torsion"] == 0.7
    for entry in header["chapters"].values():
        assert entry["messages"]
        assert entry["seconds"] > 0


@pytest.mark.parametrize("key", list(library()))
def test_every_structure_of_the_library_has_its_chapter(key):
    chapter = atlas.chapter_for(library()[key].notation)
    assert chapter is not None
    settled = chapter.numbers[:, PLACE["settled"]] > 0
    for row, message, is_settled in zip(chapter.numbers, chapter.messages, settled, strict=True):
        if is_settled:
            assert np.isfinite(row[[PLACE["wale"], PLACE["course"], PLACE["depth"]]]).all()
            assert row[PLACE["wale_low"]] <= row[PLACE["wale"]] <= row[PLACE["wale_high"]]
        else:
            assert len(message) > 20  # says what is wrong


@pytest.mark.parametrize(
    ("structure", "ratio"), [(plain, 16.5), (plain, 18.5), (plain, 21.0), (rib, 17.5), (rib, 19.5)]
)
def test_between_solved_loop_lengths_the_atlas_agrees_with_solving(structure, ratio):
    """Tolerance: twice the error that the atlas states, and 0.3 % for its nodes being finer than those solved here."""
    answer, told = relaxed(structure, ratio), page(structure, ratio)
    for name, value in (
        ("wale", answer.form.wale_spacing),
        ("course", answer.form.course_spacing),
        ("energy", answer.energy_per_loop),
    ):
        assert told[name].value == pytest.approx(value, abs=2 * told[name].error + 0.003 * value), name


def test_curl_lean_and_stretch_of_the_atlas_agree_with_solving():
    """At a solved loop length; 5 %: the chapter has more nodes on a loop (the reference found 2 to 4 %)."""
    answer, told = relaxed(plain, 18.0), page(plain, 18.0)
    assert told.curvature("sides", 0.8).value == pytest.approx(curl_of(answer, SIDES, 0.8).curvature, rel=0.05)
    assert told.lean(0.1).value == pytest.approx(lean_of(answer, 0.1), rel=0.1)
    assert told["stretch_width_1"].value == pytest.approx(stretch_of(answer, "width").strains[1], rel=0.05)


def test_lean_is_odd_in_the_twist_and_zero_without():
    told = page(plain, 18.0)
    assert told.lean(0.0).value == 0
    assert told.lean(-0.1).value == -told.lean(0.1).value
    assert [told.lean(turns).value for turns in TURNS] == sorted(told.lean(turns).value for turns in TURNS)


def test_a_slacker_cloth_rolls_less_tightly_and_more_set_opens_the_roll():
    """Reference, table of curl: radii 2.8, 3.9, 5.7 d at l/d 14, 17, 20 with set 0.8; 3.9, 12.9 d with 0.8 and 0.95."""
    radii = [1 / page(plain, ratio).curvature("sides", 0.8).value for ratio in (14, 17, 20)]
    assert radii == pytest.approx([2.8, 3.9, 5.7], rel=0.06)
    opened = [1 / page(plain, 17).curvature("sides", share).value for share in SETS]
    assert opened[1:] == pytest.approx([3.9, 12.9], rel=0.06)


def test_outside_its_reach_the_atlas_is_silent():
    low, high = atlas.chapter_for(plain.notation).reach
    assert atlas.page_for(plain.notation, low - 0.01) is None
    assert atlas.page_for(plain.notation, high + 0.01) is None
    assert atlas.page_for(plain.notation, math.nan) is None
    assert atlas.page_for(structure_from("own", {"courses": ["F:KKM"]}).notation, 17) is None


def test_the_monotone_cubic_is_that_of_a_numerical_library():
    """Oracle: the piecewise cubic Hermite interpolator of scipy, inside the table (it treats the ends otherwise)."""
    rng = np.random.default_rng(4)
    x, y = np.cumsum(rng.uniform(0.5, 2, 9)), rng.normal(size=(9, 3)).cumsum(axis=0)
    slopes = slopes_of(x, y)
    wanted = PchipInterpolator(x, y).derivative()(x)
    assert slopes[1:-1] == pytest.approx(wanted[1:-1])


def test_the_error_of_reading_covers_a_curve_that_was_thinned():
    """A smooth known curve, tabled: nine in ten readings lie within twice the stated error."""
    x = np.array([12, 13, 14, 15, 16, 17, 18, 19, 20, 22, 24, 26.0])
    curve = lambda at: np.column_stack([np.exp(at / 9), np.sqrt(at - 10), 1 / at])  # noqa: E731
    errors = errors_of(x, curve(x))
    middle = (x[:-1] + x[1:]) / 2
    read = PchipInterpolator(x, curve(x))(middle)
    stated = np.maximum(errors[:-1], errors[1:])
    assert (np.abs(read - curve(middle)) <= 2 * stated).mean() >= 0.9


def test_the_form_between_two_solved_lengths_keeps_its_yarn():
    """Length of the centre line = loop length within 1 %, also where it is drawn between solved forms."""
    for ratio in (17.0, 17.5, 21.0):
        form = page(plain, ratio).form()
        nodes = form.strands[0].nodes
        closed = np.vstack([nodes, nodes[:1] + np.array([form.width, 0, 0])])
        assert np.linalg.norm(np.diff(closed, axis=0), axis=1).sum() == pytest.approx(ratio, rel=0.01)
        pulled = page(plain, ratio).pulled_form("width 1")
        assert pulled.width > 1.7 * form.width
        assert pulled.height < form.height


def test_a_structure_drawn_by_a_person_is_solved_live_and_kept_by_its_content():
    own = structure_from("drawn", {"courses": ["F:KK", "F:KM"]})
    told: list[str] = []
    chapter = solved(own, 18.01, report=told.append)
    assert any("at rest" in line for line in told)
    assert any("response" in line for line in told)
    assert page_at(chapter, nearest(18.01))["wale"].value > 2
    assert key_of(own, 18.01) == key_of(own, 18.0)
    assert key_of(own, 18.0) != key_of(own, 18.1)
    assert key_of(own, 18.0) != key_of(structure_from("drawn", {"courses": ["F:KK", "F:MK"]}), 18.0)


def test_a_kept_chapter_comes_back_and_a_spoilt_one_is_refused():
    chapter = chapter_of(plain, [17.0], full=False)
    data = encoded("plain", words_of(chapter), arrays_of(chapter))
    words, arrays = decoded(data)
    assert words["key"] == "plain"
    back = from_arrays("plain", words, arrays)
    assert back.numbers == pytest.approx(stored(chapter).numbers, nan_ok=True)
    assert back.unit * back.nodes[0] == pytest.approx(chapter.nodes[0], abs=back.unit)
    for spoilt in (b"", b"PK\x03\x04", data[:200], data[: len(data) // 2], json.dumps({}).encode()):
        with pytest.raises(ValueError, match="no chapter of the atlas"):
            decoded(spoilt)


def test_stopping_ends_a_live_solution_early():
    from loopwright.mechanics.result import Status

    answer = relaxed(rib, 17.0, carry_on=lambda: False)
    assert answer.status is Status.STOPPED
    assert not answer.is_sound
