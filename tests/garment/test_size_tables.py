"""Size tables: grading, hand-set cells, findings, and measures that no garment can have."""

from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loopwright.garment.blocks import points_of
from loopwright.garment.grading import Origin, SizeTable, step_cm
from loopwright.garment.measures import OTHER_WORDS, tolerance_cm
from loopwright.garment.shape import DEFAULT, Shape
from loopwright.garment.spec import body_of_size, size_table_of
from loopwright.problems import Problem, Sign

POINTS = points_of(DEFAULT)
LETTERS = ["XS", "S", "M", "L", "XL", "2XL", "3XL"]
HAND_SET = st.dictionaries(
    st.sampled_from(["S", "L", "3XL"]),
    st.dictionaries(st.sampled_from(POINTS), st.floats(1, 80), max_size=4),
    max_size=3,
)


def made_of(population="women", sizes=LETTERS, base="M", *, typed=None, hand_set=None, grade=None, **fit) -> SizeTable:
    return size_table_of(
        population=population,
        sizes=list(sizes),
        base_size=base,
        typed_cm=typed or {},
        hand_set_cm=hand_set or {},
        grade_cm=grade or {},
        **fit,
    )


def test_typed_cells_are_kept_to_the_digit_and_say_so():
    made = made_of(typed={"half_chest": 49.3, "upper_arm": 34.6})
    assert made.cell("M", "half_chest").value_cm == 49.3
    assert made.cell("M", "half_upper_arm").value_cm == 17.3
    assert made.cell("M", "half_chest").origin is Origin.TYPED
    assert made.cell("M", "length").origin is Origin.BODY
    assert made.cell("L", "half_chest").origin is Origin.GRADED
    assert all(made.cell(size, name).words for size in made.sizes for name in made.names)


def test_half_chest_steps_by_three_beyond_xl():
    made = made_of()
    chests = [made.value_cm(size, "half_chest") for size in LETTERS]
    steps = [round(second - first, 9) for first, second in pairwise(chests)]
    assert steps == [2.5, 2.5, 2.5, 2.5, 3.0, 3.0]


@pytest.mark.parametrize("base", LETTERS)
def test_grading_down_and_up_again_comes_back_to_the_base(base):
    """The table does not depend on which of its sizes is the base."""
    first = made_of()
    typed = {name: first.value_cm(base, name) for name in POINTS}
    second = made_of(base=base, typed=typed)
    for size in LETTERS:
        for name in POINTS:
            assert second.value_cm(size, name) == pytest.approx(first.value_cm(size, name), abs=1e-9)


@pytest.mark.parametrize(("population", "sizes", "base"), [
    ("women", LETTERS, "M"),
    ("women", ["XXS", "XS", "S", "M", "L", "XL", "2XL", "3XL", "4XL", "5XL"], "M"),
    ("women", ["84", "88", "92", "96", "100"], "92"),
    ("men", LETTERS, "M"),
    ("men", ["46", "48", "50", "52", "54", "56", "58"], "50"),
])  # fmt: skip
def test_every_adult_size_keeps_the_ease_of_its_base(population, sizes, base):
    """A grade that does not follow the body would leave the largest men in a garment smaller than they are."""
    made = made_of(population, sizes, base)
    for size in sizes:
        girth_cm = body_of_size(population, size).girth_cm
        assert 2 * made.value_cm(size, "half_chest") - girth_cm == pytest.approx(6, abs=1e-6), size
    assert not [finding for finding in made.findings if "ease" in finding.sentence]


@pytest.mark.parametrize(
    ("population", "sizes", "base"),
    [("women", LETTERS, "M"), ("men", LETTERS, "M"), ("children", ["92", "98", "104", "110", "116"], "104")],
)
@pytest.mark.parametrize("fit", ["very close", "close", "classic", "loose", "oversized"])
def test_default_measures_of_every_size_make_a_garment(population, sizes, base, fit):
    made = made_of(population, sizes, base, fit=fit)
    for size in sizes:
        measures = made.measures(size)
        assert measures["sleeve_underarm"] > measures["cuff_rib"]
        assert measures["armhole_depth"] + measures["hem_rib"] < measures["length"]


def test_mens_letters_and_codes_are_one_scale():
    """Letter M is a chest of 98, code 49; XL is 114, code 57."""
    letters, codes = made_of("men", ["M", "XL"], "M"), made_of("men", ["49", "57"], "49")
    for name in POINTS:
        assert codes.value_cm("57", name) == pytest.approx(letters.value_cm("XL", name), abs=1e-9)


@settings(deadline=None)
@given(step=st.floats(0.1, 5), name=st.sampled_from(POINTS))
def test_an_own_grade_rises_evenly_from_size_to_size(step, name):
    made = made_of(grade={name: step})
    values = [made.value_cm(size, name) for size in LETTERS]
    for first, second in pairwise(values):
        assert second - first == pytest.approx(step, abs=1e-9)


@settings(deadline=None)
@given(population=st.sampled_from(["women", "men", "children"]), name=st.sampled_from(POINTS))
def test_no_measure_shrinks_as_sizes_grow(population, name):
    regular, beyond = step_cm(name, population, {})
    assert beyond >= regular >= 0


@settings(deadline=None)
@given(hand_set=HAND_SET, grade=st.dictionaries(st.sampled_from(POINTS), st.floats(-5, 5), max_size=5))
def test_hand_set_cells_never_move_under_a_new_grade(hand_set, grade):
    before, after = made_of(hand_set=hand_set), made_of(hand_set=hand_set, grade=grade)
    for size, cells in hand_set.items():
        for name, value in cells.items():
            assert before.value_cm(size, name) == after.value_cm(size, name) == value
            assert after.is_hand_set(size, name)


@settings(deadline=None)
@given(hand_set=HAND_SET)
def test_a_cell_goes_back_to_the_grade_when_the_hand_set_value_is_taken_away(hand_set):
    plain_table, edited = made_of(), made_of(hand_set=hand_set)
    for size in LETTERS:
        for name in POINTS:
            if name not in hand_set.get(size, {}):
                assert edited.cell(size, name) == plain_table.cell(size, name)
    assert made_of(hand_set={size: {} for size in hand_set}).cells == plain_table.cells


@settings(deadline=None)
@given(
    chest=st.floats(48, 56),
    depth=st.floats(21, 26),
    arm=st.floats(30, 36),
    underarm=st.floats(35, 50),
    cuff=st.floats(18, 26),
)
def test_measures_set_by_hand_together_all_come_out_as_set(chest, depth, arm, underarm, cuff):
    """An armhole depth needs the chest, an underarm sleeve the cap: what is set beside them counts, not the grade."""
    cells = {
        "sleeve_underarm": underarm,
        "armhole_depth": depth,
        "half_chest": chest,
        "upper_arm": arm,
        "cuff": cuff,
    }
    assert set(cells) - set(POINTS) == set(OTHER_WORDS)
    measures = made_of(hand_set={"L": cells}).measures("L")
    for name, wanted in cells.items():
        assert measures[name] == pytest.approx(wanted, abs=1e-9), name


@settings(deadline=None)
@given(depth=st.floats(20, 26), arm=st.floats(30, 36), underarm=st.floats(35, 50))
def test_measures_typed_together_all_come_out_as_typed(depth, arm, underarm):
    typed = {"armhole_depth": depth, "upper_arm": arm, "sleeve_underarm": underarm}
    measures = made_of(typed=typed).measures("M")
    for name, wanted in typed.items():
        assert measures[name] == pytest.approx(wanted, abs=1e-9), name


def test_a_childs_table_knows_it_is_for_a_child():
    assert made_of("children", ["98"], "98").is_child
    assert not made_of().is_child


def test_the_middle_size_is_the_base_when_none_is_named():
    assert made_of(sizes=["S", "M", "L"], base=None).base_size == "M"
    assert made_of(sizes=["L"], base=None).base_size == "L"


def test_too_small_a_grade_for_its_tolerance_is_told():
    found = made_of(grade={"half_chest": 1.5}).findings
    assert any(finding.sign is Sign.KNOW and "Half chest" in finding.sentence for finding in found)
    assert not made_of().findings


def test_a_grade_that_leaves_large_sizes_tight_is_told_with_both_eases():
    """Men graded by 2.5 on a body whose half grows by 4 to 4.75: 3XL would be smaller than its wearer."""
    found = [finding for finding in made_of("men", grade={"half_chest": 2.5}).findings if "ease" in finding.sentence]
    assert len(found) == 1
    assert found[0].sign is Sign.DECIDE
    assert "3XL" in found[0].sentence
    assert "6.0" in found[0].sentence


def test_one_grade_from_infant_to_youth_does_not_fit_and_says_so():
    """Half chest 1.3 per 6 cm of height holds for neighbours; over 9 steps the infant's garment is under its chest."""
    found = made_of("children", ["56", "110", "176"], "110").findings
    assert any("56" in finding.sentence and "ease" in finding.sentence for finding in found)
    near = made_of("children", ["98", "104", "110", "116", "122"], "110").findings
    assert not any("ease" in finding.sentence for finding in near)


def test_a_garment_far_inside_the_body_is_told():
    found = made_of(chest_ease_cm=-14.0).findings
    assert any("smaller than the body" in finding.sentence for finding in found)


IMPOSSIBLE = [
    ({"half_chest": 0}, r"Half chest is 0 cm"),
    ({"half_chest": -5}, r"Half chest is -5 cm"),
    ({"half_chest": float("nan")}, r"Half chest is nan cm"),
    ({"length": 301}, r"301 cm.*300 cm"),
    ({"half_upper_arm": 301}, r"Half upper arm is 301 cm"),
    ({"sleeve_underarm": -5}, r"Underarm sleeve is -5 cm"),
    ({"armhole_depth": float("inf")}, r"Armhole depth is inf cm"),
    ({"across_shoulder": 60}, r"across shoulder 60\.0 cm is wider than half chest 49\.0 cm"),
    ({"across_shoulder": 17}, r"neck width 18\.0 cm leaves no shoulder within 17\.0 cm"),
    ({"neck_width": 40}, r"neck width 40\.0 cm leaves no shoulder"),
    ({"armhole_straight": 5}, r"5\.0 cm cannot reach over an inset of 5\.6 cm"),
    ({"armhole_depth": 2}, r"armhole depth 2 cm does not reach below the shoulder drop of 3 cm"),
    ({"shoulder_drop": 30}, r"does not reach below the shoulder drop of 30 cm"),
    ({"length": 62, "armhole_depth": 58}, r"fill the length of 62\.0 cm"),
    ({"length": 62, "hem_rib": 45}, r"rib 45\.0 cm fill the length of 62\.0 cm"),
    ({"front_neck_drop": 70}, r"front neck drop 70\.0 cm reaches into the rib"),
    ({"back_neck_drop": 25}, r"back neck drop 25\.0 cm is as deep as the armhole of 21\.5 cm"),
    ({"sleeve_from_shoulder": 8}, r"sleeve 8\.0 cm less its cap of 10\.6 cm"),
    ({"cuff_rib": 50}, r"leaves no length above a rib of 50\.0 cm"),
    ({"upper_arm": 60}, r"upper arm of 60\.0 cm round.*the cap cannot close"),
]


@pytest.mark.parametrize(
    ("typed", "words"),
    IMPOSSIBLE,
    ids=[" ".join(map(str, *typed.items())) if len(typed) == 1 else "no body left" for typed, _ in IMPOSSIBLE],
)
def test_an_impossible_measure_is_named_with_both_numbers_and_what_to_try(typed, words):
    with pytest.raises(Problem, match=words) as caught:
        made_of(sizes=["M"], typed=typed).measures("M")
    assert caught.value.tries


@pytest.mark.parametrize(
    "given_wrong",
    [
        {"typed": {"sleave": 50}},
        {"hand_set": {"L": {"sleave": 50}}},
        {"hand_set": {"5XL": {"length": 50}}},
        {"grade": {"sleave": 1}},
        {"typed": {"upper_arm": 34, "half_upper_arm": 17}},
        {"hand_set": {"L": {"upper_arm": 34, "half_upper_arm": 17}}},
        {"sizes": ["2XL", "XXL"], "base": "2XL"},
        {"base": "5XL"},
    ],
)
def test_words_that_are_not_there_or_said_twice_are_refused(given_wrong):
    with pytest.raises(Problem):
        made_of(**given_wrong)


def test_a_measure_that_a_vest_has_not_is_not_offered_among_its_measures():
    with pytest.raises(Problem) as refused:
        made_of(typed={"upper_arm": 34.0}, shape=Shape(block="vest"))
    assert "armhole_depth" in refused.value.limit
    assert not {"upper_arm", "cuff", "sleeve_underarm"} & set(refused.value.limit.replace(",", "").split())


def test_the_table_carries_the_tolerance_of_every_point_it_has():
    made = made_of()
    assert made.tolerances_cm == {name: tolerance_cm(name) for name in POINTS}
    assert made.tolerances_cm["half_chest"] == 1.0


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from((*POINTS, *OTHER_WORDS)), st.floats(allow_nan=True), max_size=6))
def test_any_numbers_give_a_garment_or_a_problem(typed):
    """Nothing that a person types ends in a fault of ours, or in a measure below nothing."""
    try:
        measures = made_of(sizes=["M"], typed=typed).measures("M")
    except Problem as problem:
        assume(problem.what)
        return
    assert measures["sleeve_underarm"] > measures["cuff_rib"] >= 0
    assert measures["armhole_depth"] > measures["shoulder_drop"] >= 0
    assert measures["half_chest"] >= measures["across_shoulder"] > measures["neck_width"] > 0
