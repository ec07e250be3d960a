"""What one specimen says at every stage of its life, and how it reaches the learning; on the invented drawer."""

from dataclasses import replace

import pytest

from loopwright.figure import State
from loopwright.problems import Sign
from loopwright.study.swatch_study import study_swatch
from loopwright.study.taken_swatch import specimen_of, specimens_of
from loopwright.swatch.bench import bench_of
from loopwright.swatch.consistency import findings_of
from loopwright.swatch.observations import day_number, observations_of
from loopwright.swatch.observed import Quantity
from loopwright.swatch.reduction import by_hand, lean_by_method
from loopwright.swatch.specimen import PhotoReading, Sitting, Unroved


@pytest.fixture(scope="module")
def first(drawer):
    return specimen_of(drawer, "s1")


def with_sitting(specimen, sitting, **changes):
    """A swatch with one sitting only."""
    return replace(specimen, sittings=(sitting,), **changes)


def test_the_life_of_a_swatch_is_told_stage_by_stage(first):
    stages = [(stage.state, stage.washes) for stage in bench_of(first).stages]
    assert stages == [
        (State.ON_MACHINE, 0),
        (State.DRY_RELAXED, 0),
        (State.FULLY_RELAXED, 1),
        (State.FULLY_RELAXED, 3),
    ]


def test_the_invented_drawer_is_near_the_truth_it_was_made_of(drawer):
    """The example was drawn from kc 5.36, kw 4.16 fully relaxed and loops of 6.30, 6.05 and 6.60 mm (± 0.2 %)."""
    for key, loop in (("s1", 6.30), ("s2", 6.05), ("s3", 6.60)):
        bench = bench_of(specimen_of(drawer, key))
        assert bench.loop_length_mm == pytest.approx(loop, rel=0.012)
        measured = bench.stages[-1].measured
        for quantity, constant in ((Quantity.WALES, 4.16), (Quantity.COURSES, 5.36)):
            told = measured[quantity].estimate
            assert told.value == pytest.approx(10 * constant / loop, abs=2 * told.half_90)


def test_a_mass_is_weight_over_size(first):
    sitting = Sitting("a", State.FULLY_RELAXED, mass_g=(14.82,), width_cm=(24.4, 24.4), length_cm=(24.7,))
    assert by_hand(first, sitting)[Quantity.MASS].mean == pytest.approx(1e4 * 14.82 / (24.4 * 24.7))
    circles = Sitting("b", State.FULLY_RELAXED, mass_g=(2.51, 2.49), area_cm2=100)
    assert by_hand(first, circles)[Quantity.MASS].mean == pytest.approx(250)


def test_a_weight_without_a_size_is_no_mass(first):
    assert Quantity.MASS not in by_hand(first, Sitting("a", State.FULLY_RELAXED, mass_g=(14.82,)))


def test_the_change_is_counted_from_the_first_sitting_with_marks(first):
    before = Sitting("dry", State.DRY_RELAXED, marks_width_mm=(350, 350), marks_length_mm=(350, 350))
    after = Sitting("wet", State.FULLY_RELAXED, 1, marks_width_mm=(341, 341), marks_length_mm=(329, 329))
    swatch = replace(first, sittings=(before, after))
    read = by_hand(swatch, after)
    assert read[Quantity.LENGTH_CHANGE].mean == pytest.approx(-6.0)  # F-43
    assert read[Quantity.WIDTH_CHANGE].mean == pytest.approx(-2.571, abs=1e-3)
    assert Quantity.WIDTH_CHANGE not in by_hand(swatch, before)


def test_only_changes_from_the_dry_state_are_learnt(first):
    off = Sitting("off", State.ON_MACHINE, marks_width_mm=(210,))
    dry = Sitting("dry", State.DRY_RELAXED, marks_width_mm=(200,))
    wet = Sitting("wet", State.FULLY_RELAXED, 1, marks_width_mm=(185,))
    for sittings, is_told in (((off, dry, wet), False), ((dry, wet), True)):
        told = observations_of(replace(first, sittings=sittings, loop_length_mm=6.3))
        assert any(each.quantity is Quantity.WIDTH_CHANGE for each in told) is is_told


def test_unroved_courses_give_the_loop_length_of_the_swatch(first):
    unroved = (Unroved(200, (1260, 1262, 1258)),)
    bench = bench_of(with_sitting(first, Sitting("a", State.FULLY_RELAXED, unroved=unroved)))
    assert bench.loop_length_mm == pytest.approx(6.3)


def test_a_picture_moves_nothing_until_it_is_confirmed(first):
    sitting = Sitting("a", State.FULLY_RELAXED, wales=(65, 66, 65.5))
    photo = PhotoReading("0" * 64, False, wales_per_cm=6.8, wales_u95=0.02)
    alone = bench_of(with_sitting(first, sitting)).stages[0].measured[Quantity.WALES].estimate
    waiting = bench_of(with_sitting(first, replace(sitting, photos=(photo,)))).stages[0].measured[Quantity.WALES]
    assert waiting.estimate == alone
    accepted = replace(photo, is_confirmed=True, wales_per_cm=6.55)
    both = bench_of(with_sitting(first, replace(sitting, photos=(accepted,)))).stages[0].measured[Quantity.WALES]
    assert both.estimate.standard_error < alone.standard_error
    assert both.by_photo is not None
    assert both.by_photo.value == 6.55


def test_a_picture_that_contradicts_the_ruler_is_said(first):
    photo = PhotoReading("0" * 64, True, wales_per_cm=7.3, wales_u95=0.03)
    sitting = Sitting("a", State.FULLY_RELAXED, wales=(65, 66, 65.5, 65), photos=(photo,))
    found = findings_of(bench_of(with_sitting(first, sitting)))
    assert any("contradict each other" in finding.sentence for finding in found)


def test_a_lean_seen_from_the_back_is_turned_to_the_face(first):
    sitting = Sitting("a", State.FULLY_RELAXED, side="back", mark_offset_mm=((-7.0, 100),), lean_deg=(-4.0,))
    methods = lean_by_method(sitting)
    assert methods["mark offset"] == pytest.approx((7.0,))
    assert methods["angle"][0] == pytest.approx(6.993, abs=1e-3)


def test_an_unreliable_swatch_drops_out_of_everything(first, drawer):
    assert not observations_of(replace(first, unreliable="felted"))
    assert not study_swatch(drawer, "s4").observations
    kept = [replace(each, unreliable="moth") if each.key == "washed-3" else each for each in first.sittings]
    without = observations_of(replace(first, loop_length_mm=6.3, sittings=tuple(kept)))
    assert Quantity.THICKNESS not in {each.quantity for each in without if each.washes == 3}
    assert without


def test_what_reaches_the_learning_names_lot_state_and_washes(drawer):
    told = [each for specimen in specimens_of(drawer).values() for each in observations_of(specimen)]
    assert {each.swatch for each in told} == {"swatch 1", "swatch 2", "swatch 3", "swatch 5", "swatch 6"}
    assert {each.lot for each in told} == {"2207", "2219", "0815"}
    assert all(each.standard_error > 0 for each in told)
    lean = next(each for each in told if (each.swatch, each.quantity, each.washes) == ("swatch 1", Quantity.LEAN, 3))
    assert lean.value == pytest.approx(7.1, abs=0.7)


def test_a_swatch_without_yarn_or_loop_length_is_not_learnt_and_still_measured(first):
    bare = replace(first, yarn=None)
    assert not observations_of(bare)
    assert Quantity.WALES in bench_of(bare).stages[-1].measured


def test_age_counts_from_the_day_that_the_shell_says(first):
    old = observations_of(first, today="2027-11-04")
    assert {each.days_old for each in old if each.washes == 3} == {365.0}
    assert {each.days_old for each in observations_of(first)} == {0.0}
    assert day_number("2000-03-01") - day_number("2000-02-29") == 1
    assert day_number("1900-03-01") - day_number("1900-02-28") == 1


@pytest.mark.parametrize(
    ("changes", "sign", "words"),
    [
        ({"wales": (6.5, 6.6, 6.5)}, Sign.DECIDE, "counted over 1 cm"),
        ({"wales": (16.5, 17, 16.5), "courses": ()}, Sign.DECIDE, "counted over an inch"),
        ({"width_cm": (24.4,)}, Sign.DECIDE, "200 needles"),
        ({"mass_g": (21.0,)}, Sign.DECIDE, "more than the readings allow"),
        ({"mass_g": (17.93,)}, Sign.HOLDS, "they agree within"),
        ({"wales": (65, 66, 65.5, 65, 72)}, Sign.DECIDE, "stands apart"),
        ({"mark_offset_mm": ((7, 100),), "diagonals_mm": ((141, 143),)}, Sign.DECIDE, "ways to measure it differ"),
    ],
)
def test_what_does_not_fit_together_is_said(first, changes, sign, words):
    base = {"wales": (65.5, 66, 66.5), "courses": (85, 85.5, 84.5), "width_cm": (30.3,), "length_cm": (23.5,)}
    sitting = Sitting("a", State.FULLY_RELAXED, air="20 °C", **{**base, **changes})
    found = findings_of(bench_of(with_sitting(first, sitting, loop_length_mm=6.3)))
    assert [finding.sign for finding in found if words in finding.sentence] == [sign]


def test_a_loop_length_typed_against_the_unroved_one_is_said(first):
    sitting = Sitting("a", State.FULLY_RELAXED, unroved=(Unroved(200, (1320, 1322, 1318)),))
    found = findings_of(bench_of(with_sitting(first, sitting, loop_length_mm=6.3)))
    assert any("was set at 6.30 mm, and unroved courses give 6.60 mm" in finding.sentence for finding in found)


def test_the_fabric_that_fails_its_limit_says_so_with_a_chance(drawer):
    (lean,) = [each for each in study_swatch(drawer, "s1").findings if each.sentence.startswith("Lean, fully relaxed")]
    assert lean.sign is Sign.DECIDE
    assert "under 1 in 100" in lean.sentence
