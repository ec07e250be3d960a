"""A swatch in a style document: what is understood, what is refused and how, and what a zone takes from it."""

from typing import Any

import pytest

from loopwright.figure import Basis
from loopwright.problems import Problem, Sign
from loopwright.report.swatch import swatch_sheet
from loopwright.report.swatch_document import swatches_document
from loopwright.study.study import study_style
from loopwright.study.style import read_style
from loopwright.study.swatch_study import study_swatch
from loopwright.study.taken_swatch import with_counts

YARNS = {"main": {"count": "2/28 Nm", "fibres": "merino"}}
WASHED = {"state": "fully-relaxed", "washes": 3, "wales": [66, 65.5, 66], "courses": [85, 85.5, 84.5]}


def document(sitting: dict[str, Any] | None = None, **swatch: Any) -> dict[str, Any]:
    sittings = {"washed": {**WASHED, **(sitting or {})}}
    given = {"name": "swatch 3", "yarn": "main", "loop_length_mm": 6.3, "sittings": sittings, **swatch}
    return {"yarns": YARNS, "swatches": {"s3": given}}


def sitting_of(sitting: dict[str, Any]) -> Any:
    return read_style(document(sitting)).swatches["s3"].sittings["washed"]


@pytest.mark.parametrize(
    ("typed", "counts"),
    [
        ([65, "64,5", "65 1/2"], [65, 64.5, 65.5]),
        (["65½"], [65.5]),
        (65, [65]),
        ("65", [65]),
        (["16.51 per inch"], [65]),
        (["6.5 per cm", "6.5/cm", "65 per 10 cm"], [65, 65, 65]),
    ],
)
def test_counts_are_read_as_they_are_heard_at_the_table(typed, counts):
    assert sitting_of({"wales": typed}).wales == pytest.approx(counts)


def test_a_count_per_inch_meets_a_ruler_in_inches():
    read = sitting_of({"count_over_cm": "4 in", "wales": ["16.5 per inch", 66]})
    assert read.count_over_cm == pytest.approx(10.16)
    assert read.wales == pytest.approx([66, 66])


@pytest.mark.parametrize(
    ("sitting", "place", "words"),
    [
        ({"courses": [0]}, "courses", "out of reach"),
        ({"courses": [84, -3]}, "courses.1", "out of reach"),
        ({"courses": [1e9]}, "courses", "out of reach"),
        ({"courses": ["many"]}, "courses", "no count"),
        ({"courses": ["17 in"]}, "courses", "no count"),
        ({"mass_g": ["24 cm"]}, "mass_g", "this field is in g"),
        ({"width_cm": ["9 g"]}, "width_cm", "this field is in cm"),
        ({"marks_width_mm": [0]}, "marks_width_mm", "out of reach"),
        ({"diagonals_mm": [[291]]}, "diagonals_mm", "two belong together"),
        ({"mark_offset_mm": [[12, 0]]}, "mark_offset_mm", "no height"),
        ({"lean_deg": [75]}, "lean_deg", "out of reach"),
        ({"on": "3.11.2026"}, "on", "no day of the calendar"),
        ({"on": "2026-02-29"}, "on", "no day of the calendar"),
        ({"state": "steamed"}, "state", "not known"),
        ({"photos": {"holiday.jpg": {}}}, "photos", "not how a picture is named"),
        ({"waels": [65]}, "waels", "no field"),
        ({"unroved": {"lengths_mm": [1260]}}, "loops", "needed"),
    ],
)
def test_what_is_wrong_at_a_sitting_is_said_at_its_place(sitting, place, words):
    with pytest.raises(Problem) as refused:
        read_style(document(sitting))
    assert refused.value.where.startswith("swatches.s3.sittings.washed")
    assert place in refused.value.where
    assert words in refused.value.what
    assert refused.value.tries


def test_sittings_are_tables_with_names():
    with pytest.raises(Problem, match="table with a name") as refused:
        read_style({"swatches": {"s3": {"sittings": [WASHED]}}})
    assert "[swatches.s3.sittings.dry]" in refused.value.tries


@pytest.mark.parametrize("limit", [5, "5", "5 %", {"at_most": 5}])
def test_a_limit_of_lean_holds_either_way(limit):
    sitting = {"mark_offset_mm": [[-9, 100], [-9.5, 100], [-8.5, 100]]}
    style = read_style(document(sitting, limits={"lean_percent": limit}))
    stage = study_swatch(style, "s3").bench.stages[-1]
    lean = next(each for quantity, each in stage.measured.items() if quantity == "lean_percent")
    assert lean.verdict is not None
    assert lean.verdict.true_value_passes < 0.01


def test_a_limit_the_wrong_way_round_is_refused():
    with pytest.raises(Problem, match="least and the most"):
        read_style(document(limits={"length_change_percent": [3, -5]}))


def test_a_zone_that_names_a_swatch_is_knitted_as_it():
    style = read_style({**document(), "zones": {"body": {"swatch": "s3"}}})
    study = study_style(style)
    geometry = study.fabrics["body"].geometry
    assert geometry.wales_per_cm.value == pytest.approx(6.5833, abs=1e-3)
    assert geometry.courses_per_cm.value == pytest.approx(8.5)
    assert geometry.wales_per_cm.basis is Basis.MEASURED
    assert any("swatch 3, fully relaxed, washed 3 times" in finding.sentence for finding in study.findings)


def test_a_swatch_alone_is_a_body_of_its_cloth():
    assert study_style(read_style(document())).fabrics["body"].geometry.wales_per_cm.basis is Basis.MEASURED


def test_the_sitting_in_the_wanted_state_counts_and_the_last_of_them():
    dry = {**WASHED, "state": "dry-relaxed", "washes": 0, "wales": [60], "on": "2026-10-03"}
    again = {**WASHED, "washes": 4, "wales": [67], "on": "2026-11-20"}
    sittings = {"again": again, "dry": dry, "washed": {**WASHED, "on": "2026-11-04"}}
    base = document(sittings=sittings)
    for state, wales in (("fully-relaxed", 6.7), ("finished", 6.7), ("dry-relaxed", 6.0)):
        style = with_counts(read_style({**base, "state": state, "zones": {"body": {"swatch": "s3"}}}))
        counts = style.zones["body"].counts
        assert counts is not None
        assert counts.wales_per_cm == pytest.approx(wales)


@pytest.mark.parametrize(
    ("changed", "zone", "words"),
    [
        ({"unreliable": "felted"}, {}, "marked unreliable"),
        ({"loop_length_mm": None}, {}, "no loop length"),
        ({"sittings": {}}, {}, "not counted"),
        ({"sittings": {"off": {**WASHED, "state": "off-machine"}}}, {}, "not counted"),
        ({}, {"structure": "rib-2x1"}, "is plain"),
        ({}, {"swatch": "s9"}, "no swatch of this style"),
    ],
)
def test_a_swatch_that_gives_nothing_says_why_and_the_study_goes_on(changed, zone, words):
    given = document(**changed)
    given["swatches"]["s3"] = {key: value for key, value in given["swatches"]["s3"].items() if value is not None}
    study = study_style(read_style({**given, "zones": {"body": {"swatch": "s3", "yarn": "main", **zone}}}))
    said = [finding for finding in study.findings if words in finding.sentence]
    assert said
    assert said[0].sign in (Sign.STOPS, Sign.DECIDE)
    assert study.style.zones["body"].counts is None
    assert "body" in study.fabrics


def test_counts_typed_in_the_zone_are_read_as_ever():
    counts = {"loop_length_mm": 6.3, "wales_per_cm": 6.5, "courses_per_cm": 8.4}
    style = read_style({"yarns": YARNS, "zones": {"body": {"swatch": counts}}})
    assert style.zones["body"].counts == style.zones["body"].swatch


def test_a_swatch_of_nothing_but_a_name_still_has_a_study():
    study = study_swatch(read_style({"swatches": {"new": {"name": "New swatch"}}}), "new")
    assert not study.bench.stages
    assert not study.observations
    assert any("Nothing was measured" in finding.sentence for finding in study.findings)


@pytest.mark.parametrize(
    ("end", "times", "set_word"), [("value", 1, ""), ("high", 2, "more set"), ("low", 0.5, "less set")]
)
def test_the_roll_of_an_edge_stands_beside_that_of_the_loops_at_rest(end, times, set_word):
    """Set scales the moment that curls by (1 − set), so a wider roll means more of it (mechanics reference 7)."""
    known = study_swatch(read_style(document({"roll_radius_mm": {"sides": 5}}, structure="plain")), "s3").rolls[0]
    assert known.expected is not None
    assert known.expected.basis is Basis.SIMULATED
    radius = times * getattr(known.expected, end)
    study = study_swatch(
        read_style(document({"roll_radius_mm": {"sides": f"{radius:.3f} mm"}}, structure="plain")), "s3"
    )
    said = [each.sentence for each in study.findings if each.where == "roll of the sides"]
    assert [set_word in each for each in said] == ([True] if set_word else [])
    sheet = swatch_sheet(study)
    rows = next(section for section in sheet.sections if section.key == "readings").blocks[0].rows
    assert any(row[0] == "Roll of the sides, radius" and "mm" in row[2] for row in rows)
    told = swatches_document([study])["swatches"]["s3"]["rolls"]
    assert told[0]["radius_mm"] == pytest.approx(radius, abs=0.001)


def test_edges_of_balanced_cloth_are_read_though_nothing_is_expected():
    study = study_swatch(read_style(document({"roll_radius_mm": {"ends": 9}}, structure="rib-1x1")), "s3")
    assert [(each.edge, each.radius_mm, each.expected) for each in study.rolls] == [("ends", 9, None)]
    assert not [each for each in study.findings if "roll" in each.where]
