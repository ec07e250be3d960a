"""A study that learns from swatches: what becomes measured, what only moves, and what must not change at all."""

import tomllib
from pathlib import Path

import pytest

from loopwright.figure import Basis, State
from loopwright.structure.library import library
from loopwright.study.making import making_of
from loopwright.study.study import study_style
from loopwright.study.style import Style, read_style
from loopwright.swatch.observed import Observed, Quantity
from loopwright.yarn.yarn import Yarn

EXAMPLE = Path(__file__).parents[2] / "examples" / "attendant-pullover.toml"
RELAXED = State.FULLY_RELAXED


@pytest.fixture(scope="module")
def style() -> Style:
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    document["garment"]["sizes"], document["garment"]["hand_set_cm"] = ["M"], {}
    document["order"]["size_mix"] = {"M": 100}
    return read_style(document)


@pytest.fixture(scope="module")
def merino(style) -> Yarn:
    return making_of(style).cloth.yarns["merino"]


def swatch(name: str, structure: str, yarn: Yarn, loop: float, **measured: float) -> list[Observed]:
    """A swatch whose readings have a standard error of 0.8 per cent, of a lean half a per cent."""
    return [
        Observed(name, library()[structure], yarn, loop, RELAXED, quantity, value, _error(quantity, value))
        for quantity, value in ((Quantity[word.upper()], value) for word, value in measured.items())
    ]


def _error(quantity: Quantity, value: float) -> float:
    return 0.5 if quantity is Quantity.LEAN else 0.008 * value


def test_without_swatches_no_figure_moves(style):
    """An empty drawer, and a drawer that was not given, are one study: every number of every fabric and the price."""
    bare, empty = study_style(style), study_style(style, ())
    assert bare.making is empty.making  # the very same answer, found again
    assert bare.making.cloth.drawer is None
    for fabric in bare.fabrics.values():
        assert "moved by" not in "".join(figure.why.words for figure in fabric.figures().values())
        assert fabric.geometry.wales_per_cm.basis in (Basis.PUBLISHED, Basis.ASSUMED)


def test_a_swatch_of_the_hem_makes_the_hem_measured_and_the_garment_surer(style, merino):
    told = swatch("N7 swatch 3", "rib-2x1", merino, 5.6, wales=5.2, courses=9.4)
    before, after = study_style(style), study_style(style, told)
    hem = after.fabrics["hem"].geometry
    assert hem.wales_per_cm.basis is Basis.MEASURED
    assert "N7 swatch 3" in hem.wales_per_cm.why.words
    assert hem.wales_per_cm.value == pytest.approx(5.2, rel=0.02)
    assert hem.wales_per_cm.spread < before.fabrics["hem"].geometry.wales_per_cm.spread / 3
    assert after.grams.spread < before.grams.spread
    assert _cloth_share(after) < _cloth_share(before)


def _cloth_share(study) -> float:
    """Part of the variance of the price that the mass of the yarn carries."""
    return next(each.share for each in study.pricing.spread.fob.shares if each.key.startswith("kg "))


def test_a_swatch_of_the_hem_moves_the_body_without_measuring_it(style, merino):
    told = swatch("N7 swatch 3", "rib-2x1", merino, 5.6, wales=5.6, courses=9.9)
    body = study_style(style, told).fabrics["body"].geometry.courses_per_cm
    assert body.basis is Basis.PUBLISHED
    assert body.value > study_style(style).fabrics["body"].geometry.courses_per_cm.value
    assert "moved by N7 swatch 3" in body.why.words


def test_a_zone_that_names_its_swatch_keeps_its_counts(style, merino):
    document = style.model_dump(mode="json", exclude_none=True)
    counts = {"name": "mine", "loop_length_mm": 5.6, "courses_per_cm": 9.0, "wales_per_cm": 4.7}
    document["zones"]["hem"]["swatch"] = counts
    told = swatch("another", "rib-2x1", merino, 5.6, wales=5.6, courses=9.9)
    hem = study_style(read_style(document), told).fabrics["hem"]
    assert hem.geometry.wales_per_cm.value == pytest.approx(4.7)
    assert hem.geometry.wales_per_cm.why.inputs[0].figure.why.source == "mine"


def test_a_lean_gets_its_side_and_its_limit_is_held_against_either(style, merino):
    left = study_style(style, swatch("leaner", "plain", merino, 6.15, lean=-7.5)).fabrics["body"]
    assert left.spirality.basis is Basis.MEASURED
    assert left.spirality.high < 0
    (said,) = (each for each in left.findings if "lean" in each.sentence)
    assert "to the left on the face" in said.sentence
    assert said.sign.word == "Decide"


def test_a_swatch_taken_out_leaves_the_study_as_it_was(style, merino):
    first = swatch("one", "plain", merino, 6.15, wales=6.6, courses=9.0)
    second = swatch("unreliable", "plain", merino, 6.15, wales=7.4, courses=8.2)
    alone, both, again = (making_of(style, told) for told in (first, [*first, *second], first))
    assert both.cloth.fabrics["body"].geometry != alone.cloth.fabrics["body"].geometry
    assert again is alone


def test_a_swatch_of_the_style_itself_is_learnt(style):
    """Counted over 10 cm: 66 wales and 92 courses at three places; the zone does not name it."""
    document = style.model_dump(mode="json", exclude_none=True)
    sitting = {"state": "fully-relaxed", "wales": [66, 66.5, 66], "courses": [92, 91, 92]}
    document["swatches"] = {"s1": {"name": "N7 swatch 1", "structure": "plain", "loop_length_mm": 6.1,
                                   "sittings": {"washed": sitting}}}  # fmt: skip
    body = study_style(read_style(document)).fabrics["body"].geometry.wales_per_cm
    assert body.basis is Basis.MEASURED
    assert body.value == pytest.approx(6.617 * 6.1 / 6.15, rel=0.015)


def test_a_slip_of_the_scales_is_told_and_does_not_rule_the_drawer(style, merino):
    right = swatch("one", "rib-2x1", merino, 5.6, wales=4.9, courses=9.3)
    slip = [*right, *swatch("one", "rib-2x1", merino, 5.6, mass=410.0)]  # the counts give about 265
    study = study_style(style, slip)
    assert study.fabrics["hem"].geometry.wales_per_cm.value == pytest.approx(4.9, rel=0.03)
    assert study.fabrics["hem"].mass.value < 300
    assert any("one disagrees" in each.sentence for each in study.findings)
