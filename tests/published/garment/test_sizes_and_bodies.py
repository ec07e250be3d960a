"""Sizes, bodies and grades against published values: P-01 to P-09 and tables of the production reference, section 1.

Read from the reference as printed. Tolerance: the one stated there beside the value, or half the last printed digit.
"""

from itertools import pairwise

import pytest

from loopwright.garment.bodies import age_of_height, child, man, woman
from loopwright.garment.ease import fit_of_ease
from loopwright.garment.grading import is_separated
from loopwright.garment.sizes import bust_intervals, code_of_chest, girth_of_size
from loopwright.garment.spec import minimum_neck_cm, size_table_of
from loopwright.sources.table import table
from loopwright.units import quantity

GARMENT = "loopwright.garment"


@pytest.mark.parametrize(("size", "bust_cm"), [("8", 92.08), ("14", 102.55), ("20", 116.84)])
def test_misses_busts_in_inches_are_these_centimetres_p01(size, bust_cm):
    """astm_d5585, tolerance 0.01 cm."""
    printed = table(GARMENT, "misses_inches").by("size")[size].text("bust_in")
    assert quantity(f"{printed} in", "cm") == pytest.approx(bust_cm, abs=0.01)


@pytest.mark.parametrize(
    ("dimension", "expected_cm"),
    [
        ("waist", 83.36),
        ("hip", 100.46),
        ("upper_arm", 29.83),
        ("neck_base", 36.75),
        ("spine_to_wrist", 80.50),
        ("back_waist", 42.25),
    ],
)
def test_woman_of_bust_92_p02(dimension, expected_cm):
    """army_women_2012, tolerance 0.05 cm."""
    assert woman(92)[dimension] == pytest.approx(expected_cm, abs=0.05)


@pytest.mark.parametrize(
    ("chest_cm", "dimension", "expected_cm"),
    [
        (100, "neck", 37.8),
        (100, "waist", 91.6),
        (100, "hip", 99.3),
        (100, "upper_arm", 32.1),
        (100, "wrist", 18.2),
        (108, "neck", 39.6),
        (108, "waist", 100.9),
    ],
)
def test_man_of_a_chest_p03(chest_cm, dimension, expected_cm):
    """johnson_1996, tolerance 0.1 cm."""
    assert man(chest_cm)[dimension] == pytest.approx(expected_cm, abs=0.1)


@pytest.mark.parametrize(
    ("garment_cm", "fit"), [(100, "classic"), (84, "very close"), (92, "close"), (105, "loose"), (110, "oversized")]
)
def test_ease_has_its_class_p04(garment_cm, fit):
    """yarn_council_2018 on a bust of 92 cm, exact."""
    assert fit_of_ease(garment_cm - 92) == fit


@pytest.mark.parametrize(("ease_cm", "fit"), [(-2.5, "close"), (2.5, "classic"), (10, "classic"), (15, "oversized")])
def test_edges_of_ease_classes_lie_as_the_classifier_says(ease_cm, fit):
    assert fit_of_ease(ease_cm) == fit


def test_bust_limits_and_nominal_sizes_p05():
    """en_13402_3: 13 limits from 74 by 4 to 102 and by 6 to 131, 12 intervals, first nominal 76, last 128, exact."""
    intervals = bust_intervals()
    limits = [intervals[0][0], *(upper for _, upper, _ in intervals)]
    assert limits == [74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131]
    assert all(first[1] == second[0] for first, second in pairwise(intervals))
    assert (len(intervals), intervals[0][2], intervals[-1][2]) == (12, 76, 128)
    assert all(lower < nominal < upper for lower, upper, nominal in intervals)


def test_mens_code_is_half_the_chest_p06():
    """metric_sizing_note, exact; the other codes of the list too."""
    assert girth_of_size("men", "52") == 104
    assert code_of_chest(116) == 58
    codes = {"46": 92, "48": 96, "50": 100, "54": 108, "56": 112, "60": 120}
    assert {code: girth_of_size("men", code) for code in codes} == codes


@pytest.mark.parametrize(
    ("dimension", "change_cm", "tolerance"),
    [
        ("hip", 2.54, 0.01),
        ("upper_arm", 1.09, 0.01),
        ("neck_base", 0.56, 0.01),
        ("waist", 4.1, 0.05),
        ("interscye", 0.88, 0.01),
        ("spine_to_wrist", 0.36, 0.01),
        ("back_waist", 0.46, 0.01),
        ("wrist", 0.16, 0.01),
    ],
)
def test_four_centimetres_of_bust_change_a_body_by_p07(dimension, change_cm, tolerance):
    """army_women_2012, at constant stature."""
    assert woman(96)[dimension] - woman(92)[dimension] == pytest.approx(change_cm, abs=tolerance)


@pytest.mark.parametrize(("grade", "tolerance", "passes"), [(2.5, 1.0, True), (2.5, 1.5, False), (0.4, 0.5, False)])
def test_tolerance_must_be_under_half_the_grade_p08(grade, tolerance, passes):
    assert is_separated(grade_step_cm=grade, tolerance=tolerance) is passes


def test_children_by_height_p09():
    """size_range_2017 and children_retail, exact."""
    assert age_of_height(98) == "3 y"
    assert (child(128)["chest"], child(128)["arm"]) == (64, 45)


@pytest.mark.parametrize(
    ("height_cm", "chest_cm", "waist_cm"), [(104, 57, 53.5), (110, 58.5, 55), (116, 60.5, 56), (122, 62, 57.5)]
)
def test_the_gap_of_the_childrens_chart_is_interpolated(height_cm, chest_cm, waist_cm):
    """Production reference 1.5, printed to the nearest half centimetre."""
    body = child(height_cm)
    assert body["chest"] == pytest.approx(chest_cm, abs=0.25)
    assert body["waist"] == pytest.approx(waist_cm, abs=0.25)


@pytest.mark.parametrize("row", [row for row in table(GARMENT, "women_by_bust") if row["n"] >= 100])
@pytest.mark.parametrize("dimension", ["waist", "hip", "neck_base", "interscye", "upper_arm", "wrist", "back_waist"])
def test_fitted_lines_run_through_the_surveyed_bins(row, dimension):
    """Lines and bins are two separate readings of one survey: within three standard errors and the printed 0.05 cm."""
    fit = table(GARMENT, "women_fit").by("dimension")[dimension]
    body = woman(row["bust_cm"], row["stature_cm"])
    allowed = 3 * fit["residual_sd_cm"] / row["n"] ** 0.5 + 0.05
    assert body[dimension] == pytest.approx(row[f"{dimension}_cm"], abs=allowed)


# Production reference 1.9: (point, M as typed, S, L, XL), cm. Exact: every cell is the base and whole grade steps.
PRINTED = [
    ("length", 62.0, 61.0, 63.0, 64.0),
    ("half_chest", 49.0, 46.5, 51.5, 54.0),
    ("half_hem", 43.0, 40.5, 45.5, 48.0),
    ("across_shoulder", 38.0, 36.8, 39.2, 40.4),
    ("shoulder_drop", 3.0, 2.9, 3.1, 3.2),
    ("neck_width", 18.0, 17.6, 18.4, 18.8),
    ("front_neck_drop", 9.0, 8.7, 9.3, 9.6),
    ("armhole_straight", 19.3, 18.6, 20.0, 20.7),
    ("half_upper_arm", 17.0, 16.2, 17.8, 18.6),
    ("half_cuff", 11.0, 10.75, 11.25, 11.5),
    ("sleeve_from_shoulder", 53.5, 52.8, 54.2, 54.9),
    ("hem_rib", 6.0, 6.0, 6.0, 6.0),
    ("cuff_rib", 6.0, 6.0, 6.0, 6.0),
]


@pytest.mark.parametrize("row", PRINTED, ids=[row[0] for row in PRINTED])
def test_default_specification_comes_from_m_and_the_grade(row):
    name, _, small, large, extra = row
    made = size_table_of(
        population="women",
        sizes=["S", "M", "L", "XL"],
        base_size="M",
        typed_cm={printed[0]: printed[1] for printed in PRINTED},
        hand_set_cm={},
        grade_cm={},
    )
    cells = [made.value_cm(size, name) for size in ("S", "L", "XL")]
    assert cells == pytest.approx([small, large, extra], abs=1e-9)


@pytest.mark.parametrize(("size", "bust_cm"), [("S", 87), ("M", 92), ("L", 97), ("XL", 102)])
def test_letters_of_the_default_specification_have_these_busts(size, bust_cm):
    assert girth_of_size("women", size) == bust_cm


@pytest.mark.parametrize(
    ("population", "letter", "lower_cm", "upper_cm"),
    [
        ("women", "XS", 74, 82),
        ("women", "S", 82, 90),
        ("women", "M", 90, 98),
        ("women", "L", 98, 107),
        ("women", "XL", 107, 119),
        ("men", "XS", 78, 86),
        ("men", "S", 86, 94),
        ("men", "M", 94, 102),
        ("men", "L", 102, 110),
        ("men", "XL", 110, 118),
        ("men", "XXL", 118, 129),
    ],
)
def test_letters_against_the_letter_code(population, letter, lower_cm, upper_cm):
    """en_13402_3 from memory. Women follow the default specification, 5 cm apart, and leave the code at both ends."""
    girth_cm = girth_of_size(population, letter)
    if population == "women" and letter in ("L", "XL"):
        assert girth_cm < lower_cm  # 97 and 102: the specification's L and XL are smaller than the code's
    elif population == "women":
        assert lower_cm <= girth_cm <= upper_cm
    else:
        assert girth_cm == (lower_cm + upper_cm) / 2


@pytest.mark.parametrize(
    ("population", "size", "girth_cm"),
    [("women", "M", 62), ("men", "XL", 62), ("children", "92", 54), ("children", "98", 54), ("children", "122", 56)],
)
def test_neck_opens_over_the_head_of_its_size(population, size, girth_cm):
    """Production reference 1.8: adults 62, children of 2 to 4 years 54, of 6 to 8 years 56."""
    assert minimum_neck_cm(population, size) == girth_cm


def test_ninety_fifth_percentile_head_and_two_is_the_adult_minimum():
    """army_women_2012: 59.7 cm; the spread of the head reaches from the 5th (53.2) to the 95th percentile."""
    spread = table(GARMENT, "women_spread").by("dimension")["head"]
    assert 56.0 + spread["above_cm"] + 2 == pytest.approx(62, abs=0.5)
    assert 56.0 - spread["below_cm"] == pytest.approx(53.2, abs=0.05)
