"""A buyer's measurement table: read whatever way it is laid out, with every cell that cannot be used and why."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.garment.grading import Cell, Origin, SizeTable
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.garment.table_changes import table_changes
from loopwright.garment.table_text import table_of_rows, table_of_text
from loopwright.problems import Problem

POINTS = (
    "length",
    "half_chest",
    "half_hem",
    "across_shoulder",
    "neck_width",
    "armhole_straight",
    "half_upper_arm",
    "hem_rib",
)
SIZES = ("XS", "S", "M", "L", "XL")
UNITS = pint.UnitRegistry()

LABELLED = st.sampled_from([letter_of_point, words_of, lambda name: name, lambda name: words_of(name).upper() + "s"])


def cm_by_pint(value: float | Fraction, unit: str) -> float:
    name = {"cm": "centimeter", "mm": "millimeter", "in": "inch"}[unit]
    return UNITS.Quantity(float(value), name).to("centimeter").magnitude


def in_eighths(eighths: int) -> str:
    whole, part = divmod(Fraction(eighths, 8), 1)
    return f"{whole} {part}" if whole and part else str(part or whole)


def in_tenths(sign: str):
    return lambda tenths: f"{tenths // 10}{sign}{tenths % 10}"


WRITTEN = {
    "in": (in_eighths, lambda eighths: Fraction(eighths, 8)),
    "cm": (in_tenths("."), lambda tenths: Fraction(tenths, 10)),
    "mm": (in_tenths(","), lambda tenths: Fraction(tenths, 10)),
}


@st.composite
def tables(draw):
    """(text, unit, exact value by size and point) of a table in any layout, order, unit and separator."""
    unit = draw(st.sampled_from(sorted(WRITTEN)))
    sizes, points = draw(st.permutations(SIZES)), draw(st.permutations(POINTS))
    words, value = WRITTEN[unit]
    counts = {(size, point): draw(st.integers(0, 900)) for size in sizes for point in points}
    label = draw(LABELLED)
    rows = [
        [f"measure ({unit})", *sizes],
        *([label(point), *(words(counts[s, point]) for s in sizes)] for point in points),
    ]
    if draw(st.booleans()):
        rows = [list(column) for column in zip(*rows, strict=True)]
    separator = draw(st.sampled_from("\t;"))
    text = "\n".join(separator.join(row) for row in rows)
    return text, unit, {cell: value(count) for cell, count in counts.items()}


@given(tables())
def test_a_table_in_any_layout_order_and_unit_gives_the_same_measures(made):
    text, unit, exact = made
    read = table_of_text(text, POINTS)
    assert read.refused == ()
    assert (read.unit, read.is_unit_said) == (unit, True)
    assert read.measures_cm == {cell: pytest.approx(cm_by_pint(value, unit), abs=1e-9) for cell, value in exact.items()}


def test_title_lines_letters_words_and_tolerances_stand_around_the_measures():
    text = (
        "Spec sheet\tcrew pullover\t12 needles per inch\n"
        "POM\tDescription\tHow to measure\tTol ±\tS\tM\tXXL\n"
        "\t\t\tcm\tcm\tcm\tcm\n"
        "B\tHalf chest\t2.5 cm below underarm\t± 1\t46,5\t49\t56\n"
        "D\tHalf hem, relaxed\ton the rib\t0,5\t40,5\t43\t-\n"
        "Measured before washing"
    )
    read = table_of_text(text, POINTS)
    assert read.sizes == ("S", "M", "2XL")
    assert read.measures_cm["S", "half_chest"] == 46.5
    assert ("2XL", "half_hem") not in read.measures_cm
    assert read.tolerances_cm == {"half_chest": 1.0, "half_hem": 0.5}
    assert read.refused == ()
    assert {note.text for note in read.passed_over} >= {"Spec sheet", "How to measure", "Measured before washing"}


def test_a_row_that_is_no_point_of_the_garment_is_told_with_what_comes_near():
    read = table_of_text("measure;S;M\nHalf chest;46;48\nHalf upper arms circumference;30;31", POINTS)
    (note,) = read.refused
    assert (note.row, note.column) == (3, 1)
    assert "no point of measure of this garment; near it: Half upper arm" in note.reason


def test_words_are_worth_more_than_the_letter_of_a_buyer():
    read = table_of_text("code;measure;S;M\nA;Half chest;46;48\nB;Chest at bust point;50;52", POINTS)
    assert read.measures_cm == {("S", "half_chest"): 46.0, ("M", "half_chest"): 48.0}
    assert [note.text for note in read.refused] == ["Chest at bust point"]
    assert any("letter here is B" in note.reason for note in read.passed_over)


@pytest.mark.parametrize(
    ("text", "told", "left"),
    [
        ("measure;S;M;s\nHalf chest;46;48;47", ["S", "s"], 1),
        ("measure;XXL;2XL;M\nHalf chest;46;48;47", ["XXL", "2XL"], 1),
        ("measure;S;M\nHalf chest;46;48\nHem rib;6;6\nhalf_chest;46;48", ["Half chest", "half_chest"], 2),
    ],
)
def test_a_size_or_point_that_stands_twice_is_refused_in_both_places(text, told, left):
    read = table_of_text(text, POINTS)
    assert sorted(note.text for note in read.refused) == sorted(told)
    assert all("stands twice; keep one" in note.reason for note in read.refused)
    assert len(read.measures_cm) == left


def test_a_refused_cell_is_told_at_its_place_and_the_others_are_read():
    rows = [["", "half chest", "hem rib"], ["S", 46.5, "about 6"], ["M", "12.5.3", 6.0]]
    read = table_of_rows(rows, POINTS)
    assert read.is_turned
    assert read.measures_cm == {("S", "half_chest"): 46.5, ("M", "hem_rib"): 6.0}
    assert [(note.row, note.column, note.text) for note in read.refused] == [(2, 3, "about 6"), (3, 2, "12.5.3")]


def test_one_and_a_quarter_with_three_digits_is_settled_by_its_neighbours_or_refused():
    alone = table_of_text("measure\tS\tM\nHalf chest\t1,250\t46", POINTS)
    assert [note.text for note in alone.refused] == ["1,250"]
    assert "can be 1250 or 1.25" in alone.refused[0].reason
    beside = table_of_text("measure\tS\tM\nHalf chest\t1,250\t46,5", POINTS)
    assert beside.measures_cm["S", "half_chest"] == 1.25


def test_a_decimal_comma_among_commas_is_read_in_quotation_marks_and_refused_without():
    read = table_of_text('measure,S,M\nHalf chest,"46,5","49,25"\nHem rib,6,6', POINTS)
    assert read.measures_cm["M", "half_chest"] == 49.25
    spaced = table_of_text('\ufeff"measure, cm", S, M\nHalf chest, "46,5", "49,25"', POINTS)
    assert (spaced.unit, spaced.measures_cm["S", "half_chest"]) == ("cm", 46.5)
    for text in ["measure,S,M\nHalf chest,46,5,49\nHem rib,6,6", ",Half chest,Hem rib\nS,46,5,6\nM,49,6"]:
        with pytest.raises(Problem, match="a decimal comma cuts a measure in two"):
            table_of_text(text, POINTS)


def test_a_table_in_mm_without_its_unit_is_refused_by_its_size_and_read_when_the_unit_is_said():
    text = "measure;92;98;104\nHalf chest;310;323;336"
    unsaid = table_of_text(text, POINTS)
    assert not unsaid.is_unit_said
    assert "check the unit, taken as cm" in unsaid.refused[0].reason
    assert table_of_text(text, POINTS, unit="mm").measures_cm["98", "half_chest"] == pytest.approx(32.3)


def test_a_row_a_column_and_a_cell_may_have_a_unit_of_their_own():
    text = 'Inches\nmeasure;unit;S;M\nHalf chest;cm;46;48\nHem rib (mm);;60;62\nNeck width;;7 1/4;18 cm\nLength;;24";25'
    read = table_of_text(text, POINTS)
    exact = {
        ("S", "half_chest"): 46.0,
        ("M", "half_chest"): 48.0,
        ("S", "hem_rib"): 6.0,
        ("M", "hem_rib"): 6.2,
        ("S", "neck_width"): cm_by_pint(7.25, "in"),
        ("M", "neck_width"): 18.0,
        ("S", "length"): cm_by_pint(24, "in"),
        ("M", "length"): cm_by_pint(25, "in"),
    }
    assert read.measures_cm == {cell: pytest.approx(value) for cell, value in exact.items()}


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("", None, "no point of measure of this garment is named"),
        ("Half chest 46.5 49 51.5", None, "no point of measure of this garment is named"),
        ("measure;small;medium\nHalf chest;46;48", None, "no size stands over its measure"),
        ("L;M\nL;40\nM;41", None, "no size stands over"),
        ("measure (in);S\nHalf chest;18", "cm", "two units are given for one table: cm and in"),
        ("measure;cm;in\nHalf chest;S;M", None, "no size stands over"),
        ('measure;S;M\nHalf chest;"46;48', None, "quotation mark that is not closed"),
        ("\n" * 501, None, "the block has 501 rows"),
    ],
)
def test_what_is_no_table_is_refused_in_trade_words(text, unit, said):
    with pytest.raises(Problem) as refused:
        table_of_text(text, POINTS, unit=unit)
    assert said in refused.value.what
    assert refused.value.tries


ANY_CELL = st.one_of(
    st.none(), st.floats(), st.text(max_size=12), st.sampled_from(["46,5", "1,250", "19 1/4", "-", "L", "B"])
)


@given(st.lists(st.tuples(*[ANY_CELL] * 3), min_size=len(POINTS), max_size=len(POINTS)))
def test_every_filled_cell_becomes_a_measure_or_is_told_at_its_place(cells):
    rows = [["measure", "S", "M", "XL"], *([words_of(point), *row] for point, row in zip(POINTS, cells, strict=True))]
    read = table_of_rows(rows, POINTS)
    told = {(note.row, note.column) for note in read.refused}
    for row, point in enumerate(POINTS, start=2):
        for column, size in enumerate(["S", "M", "XL"], start=2):
            cell = rows[row - 1][column - 1]
            is_empty = cell is None or (isinstance(cell, str) and cell.strip("\ufeff\u200b \t\r\n\u00a0") in EMPTY)
            known = ((size, point) in read.measures_cm) + ((row, column) in told)
            assert known == (not is_empty)


EMPTY = ("", "-", "–", "—", "−", ".", "/")


def size_table(cells: dict[tuple[str, str], tuple[float, Origin]]) -> SizeTable:
    """S, M (base), L of the whole default set of points, the points left out at 10 cm."""
    made = {
        (size, name): Cell(*cells.get((size, name), (10.0, Origin.GRADED)), "")
        for size in ("S", "M", "L")
        for name in SizeTable("women", "M", (), {}).names
    }
    return SizeTable("women", "M", ("S", "M", "L"), made)


CHEST = {
    ("S", "half_chest"): (46.5, Origin.GRADED),
    ("M", "half_chest"): (49.0, Origin.TYPED),
    ("L", "half_chest"): (51.5, Origin.GRADED),
    ("S", "hem_rib"): (6.0, Origin.GRADED),
    ("M", "hem_rib"): (6.0, Origin.BODY),
    ("L", "hem_rib"): (7.0, Origin.HAND_SET),
}


def changes(text: str):
    return table_changes(table_of_text(text, POINTS), size_table(CHEST))


def test_cells_that_the_grade_gives_stay_graded_and_the_others_are_set_by_hand():
    made = changes("measure;S;M;L;XL\nHalf chest;46,54;49;52,0;54\nHem rib;6;6;7")
    assert made.hand_set_cm() == {"L": {"half_chest": 52.0}}
    assert made.base_cm() == {}
    assert set(made.same) == {(s, p) for s in "SML" for p in ("half_chest", "hem_rib")} - {("L", "half_chest")}
    assert made.unknown_sizes == ("XL",)
    assert ("S", "length") in made.not_given


def test_a_new_base_measure_carries_its_graded_sizes_and_leaves_those_set_by_hand():
    made = changes("measure;S;M;L\nHalf chest;47,5;50;52,5\nHem rib;7;7;7")
    assert made.base_cm() == {"half_chest": 50.0, "hem_rib": 7.0}
    assert made.by_hand == ()


@given(st.floats(-0.2, 0.2))
def test_half_a_millimetre_is_no_difference(offset):
    read = table_of_rows([["measure", "S"], ["Half chest", 46.5 + offset]], POINTS)
    assert bool(table_changes(read, size_table(CHEST)).by_hand) == (abs(46.5 + offset - 46.5) > 0.05 + 1e-9)
