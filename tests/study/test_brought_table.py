"""A buyer's table brought into a style: afterwards the style says what the table says, and nothing else has changed."""

import copy
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from loopwright.garment.table_changes import SAME_CM
from loopwright.garment.table_text import TableRead, table_of_text
from loopwright.problems import Problem
from loopwright.study.brought_table import Way, brought_table, document_table, said_in_other_words

PULLOVER = tomllib.loads((Path(__file__).parents[2] / "examples" / "attendant-pullover.toml").read_text("utf-8"))
TABLE = document_table(PULLOVER)
POINTS = ("length", "half_chest", "half_hem", "across_shoulder", "armhole_straight", "half_upper_arm", "half_cuff")
CELLS = [(size, point) for size in TABLE.sizes for point in POINTS]


def with_garment(**fields) -> dict:
    document = copy.deepcopy(PULLOVER)
    document["garment"] |= fields
    return document


def table(text: str) -> TableRead:
    return table_of_text(text, TABLE.names, sizes=TABLE.sizes)


def way(brought, size: str, point: str) -> Way | None:
    return next((each.way for each in brought.changes if (each.size, each.point) == (size, point)), None)


@st.composite
def tables(draw) -> str:
    """A table in cm of any cells, each a millimetre or some centimetres from what the style says."""
    chosen = draw(st.sets(st.sampled_from(CELLS), min_size=1, max_size=20))
    moved = {cell: TABLE.value_cm(*cell) + draw(st.integers(-40, 40)) / 10 for cell in chosen}
    rows = [
        "\t".join([point, *(f"{moved[size, point]:.2f}" if (size, point) in moved else "" for size in TABLE.sizes)])
        for point in POINTS
    ]
    return "\n".join(["\t".join(["cm", *TABLE.sizes]), *rows])


def brought_where_a_garment_closes(read: TableRead):
    """The table taken in; a draw whose sleeve cap can't close is rightly refused and shows nothing here."""
    try:
        return brought_table(read, PULLOVER)
    except Problem as problem:
        if problem.where != "sleeve cap":
            raise
        return reject()


@given(tables())
@settings(max_examples=40, deadline=None)
def test_once_taken_the_style_says_what_the_table_says(text):
    read = table(text)
    brought = brought_where_a_garment_closes(read)
    for (size, point), value_cm in read.measures_cm.items():
        assert document_table(brought.document).value_cm(size, point) == pytest.approx(value_cm, abs=SAME_CM + 1e-6)


@given(tables())
@settings(max_examples=20, deadline=None)
def test_taken_twice_a_table_changes_nothing_more_and_the_rest_of_the_style_is_kept(text):
    before = copy.deepcopy(PULLOVER)
    brought = brought_where_a_garment_closes(table(text))
    assert before == PULLOVER
    again = brought_table(table(text), brought.document)
    assert (again.writes, again.changes) == ({}, ())
    measures = {"measures_cm", "hand_set_cm"}
    assert {key: part for key, part in brought.document.items() if key != "garment"} == {
        key: part for key, part in PULLOVER.items() if key != "garment"
    }
    kept = [{key: part for key, part in each["garment"].items() if key not in measures} for each in (before, PULLOVER)]
    assert kept[0] == kept[1]


def test_a_table_whose_sleeve_cap_cannot_close_is_refused_with_both_numbers_and_changes_nothing():
    before = copy.deepcopy(PULLOVER)
    with pytest.raises(Problem, match=r"upper arm of 42\.0 cm.*the cap cannot close") as refused:
        brought_table(table("cm\tM\nArmhole, straight\t18\nHalf upper arm\t21\n"), PULLOVER)
    assert refused.value.tries
    assert before == PULLOVER


def test_a_new_base_measure_carries_the_graded_sizes_and_only_the_others_are_set_by_hand():
    brought = brought_table(table("cm\tS\tM\tL\tXL\nHalf chest\t47.5\t50\t52.5\t56\n"), PULLOVER)
    assert brought.writes == {
        ("garment", "measures_cm", "half_chest"): 50.0,
        ("garment", "hand_set_cm", "XL", "half_chest"): 56.0,
    }
    ways = [way(brought, size, "half_chest") for size in ("S", "M", "L", "XL", "3XL")]
    assert ways == [Way.GRADED, Way.BASE, Way.GRADED, Way.BY_HAND, Way.GRADED]
    assert way(brought, "M", "half_hem") is Way.FOLLOWS


def test_a_point_that_follows_from_others_stays_where_the_table_says_so():
    free = document_table(with_garment(measures_cm={"half_chest": 49.0}))
    text = f"cm\tM\nHalf chest\t52\nHalf hem\t{free.value_cm('M', 'half_hem'):.1f}\n"
    brought = brought_table(table(text), with_garment(measures_cm={"half_chest": 49.0}))
    assert brought.writes["garment", "measures_cm", "half_hem"] == pytest.approx(free.value_cm("M", "half_hem"))
    assert way(brought, "M", "half_hem") in (None, Way.BASE)


def test_a_measure_in_other_words_goes_out_for_the_point_that_is_written():
    brought = brought_table(table("cm\tM\nArmhole, straight\t20\n"), PULLOVER)
    assert brought.writes == {
        ("garment", "measures_cm", "armhole_depth"): None,
        ("garment", "measures_cm", "armhole_straight"): 20.0,
    }
    assert "armhole_depth" not in brought.document["garment"]["measures_cm"]
    paths = [("garment", "measures_cm", "armhole_straight"), ("garment", "sizes"), ("style", "name")]
    assert said_in_other_words(PULLOVER, paths) == (("garment", "measures_cm", "armhole_depth"),)


def test_a_base_size_set_by_hand_is_set_by_hand_again_and_carries_nothing():
    document = with_garment(hand_set_cm={"M": {"half_chest": 50.0}})
    brought = brought_table(table("cm\tM\tL\nHalf chest\t50.5\t51.5\n"), document)
    assert brought.writes == {("garment", "hand_set_cm", "M", "half_chest"): 50.5}
    assert brought.after.value_cm("L", "half_chest") == pytest.approx(51.5)


def test_a_measure_that_no_garment_has_is_left_out_with_its_limit():
    brought = brought_table(table("cm\tS\tM\nHalf cuff at join\t0\t11\n"), PULLOVER)
    assert [(each.size, each.point) for each in brought.kept] == [("S", "half_cuff")]
    assert "300 cm" in brought.kept[0].reason
    assert brought.same == (("M", "half_cuff"),)


def test_tolerances_of_the_table_are_told_and_not_taken():
    brought = brought_table(table("cm\tTol\tM\nHalf chest\t1.5\t49\nAcross shoulder\t0.5\t38\n"), PULLOVER)
    assert [(each.point, each.theirs_cm, each.ours_cm) for each in brought.tolerances] == [("half_chest", 1.5, 1.0)]


def test_measures_that_contradict_each_other_are_told():
    brought = brought_table(table("cm\tL\nNeck width\t60\n"), PULLOVER)
    assert "60.0 cm leaves no shoulder" in brought.contradictions[0].what
    assert brought_table(table("cm\tL\nNeck width\t60\n"), brought.document).contradictions == ()
    with pytest.raises(Problem, match="leaves no shoulder"):
        brought_table(table("cm\tM\nNeck width\t60\n"), PULLOVER)


def test_a_style_without_a_garment_has_no_table_to_bring_one_into():
    with pytest.raises(Problem, match="no size table yet"):
        brought_table(table("cm\tM\nHalf chest\t50\n"), {"style": {"name": "Scarf"}})
