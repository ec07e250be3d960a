"""The table in which a person types the garments that came back: a row a piece, any usual writing, nothing lost."""

import pytest

from loopwright.garment.pieces import MOST_PIECES, FaultClass, pieces_of_rows
from loopwright.problems import Problem

POINTS = ["half_chest", "length", "across_shoulder"]
SIZES = ["S", "M", "L"]


def read(*rows, **more):
    return pieces_of_rows(rows, POINTS, sizes=SIZES, **more)


def test_a_row_is_a_piece_with_its_measures_mass_colour_and_faults():
    (piece,) = read(
        ["Piece", "Size", "Colour", "Half chest", "A", "Weight", "Critical", "Major", "Minor"],
        ["12", "m", "navy", "49,5", 62, "214 g", "", "ladder at the cuff", "none"],
    ).pieces
    assert (piece.name, piece.size, piece.colour, piece.mass_g) == ("12", "M", "navy", 214.0)
    assert piece.measures_cm == {"half_chest": 49.5, "length": 62.0}
    assert piece.faults == ((FaultClass.MAJOR, "ladder at the cuff"),)


def test_inches_of_the_title_hold_for_all_columns_but_those_that_name_their_own_unit():
    read_in = read(["All in inches"], ["Size", "Half chest", "Across shoulder (cm)"], ["M", "19 1/2", "38"])
    assert read_in.unit == "in"
    assert read_in.pieces[0].measures_cm == {"half_chest": pytest.approx(49.53), "across_shoulder": 38.0}


@pytest.mark.parametrize(
    ("cell", "reason"),
    [("x", "no number"), ("-3", "less than nothing"), ("9999", "0 to 300 cm"), ("4 kg", "in “kg”")],
)
def test_a_cell_that_cannot_be_read_is_told_with_its_place_and_the_rest_of_the_piece_stays(cell, reason):
    found = read(["Size", "Half chest", "Length"], ["M", cell, "62"])
    assert [(note.row, note.column) for note in found.refused] == [(2, 2)]
    assert reason in found.refused[0].reason
    assert found.pieces[0].measures_cm == {"length": 62.0}


def test_a_piece_of_an_unknown_size_is_left_out_and_told():
    found = read(["Size", "Half chest"], ["XXS", "40"], ["L", "51"])
    assert [piece.size for piece in found.pieces] == ["L"]
    assert "S, M, L" in found.refused[0].reason


@pytest.mark.parametrize(
    "rows",
    [[], [["Size", "Half chest"]], [["nothing", "here"], ["M", "50"]], [["Half chest"], ["50"]]],
    ids=["empty", "no piece", "no head", "no size"],
)
def test_a_table_without_pieces_or_head_is_refused_with_a_try(rows):
    with pytest.raises(Problem) as refused:
        read(*rows)
    assert refused.value.tries


def test_more_pieces_than_anybody_measures_are_refused():
    with pytest.raises(Problem, match=str(MOST_PIECES)):
        read(["Size", "Half chest"], *[["M", "49"]] * (MOST_PIECES + 1))
