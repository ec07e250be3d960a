"""The packaged tables of garment: the order that bodies and trade demand (provenance: `tests/test_tables.py`)."""

from itertools import pairwise

import pytest

from loopwright.garment.measures import POINTS
from loopwright.sources.table import Row, table
from loopwright.units import quantity

PACKAGE = "loopwright.garment"


def rows(name: str) -> tuple[Row, ...]:
    return table(PACKAGE, name).rows


@pytest.mark.parametrize("column", [name for name in rows("women_by_bust")[0].cells if name.endswith("_cm")])
def test_a_larger_bust_goes_with_a_larger_body(column):
    """Over the whole survey; neighbouring bins at its thin ends may trade places."""
    values = [row[column] for row in rows("women_by_bust") if row["n"] >= 40]
    assert values[-1] > values[0]


def test_misses_grow_from_size_to_size():
    for column in [name for name in rows("misses_inches")[0].cells if name.endswith("_in")]:
        inches = [quantity(row.text(column), "in") for row in rows("misses_inches")]
        assert all(first <= second for first, second in pairwise(inches)), column


def test_children_grow_with_height():
    for column in ("height_cm", "chest_cm", "waist_cm", "arm_cm"):
        values = [row[column] for row in rows("children") if row.has(column)]
        assert all(first <= second for first, second in pairwise(values)), column


@pytest.mark.parametrize("population", ["women", "men"])
def test_letters_grow(population):
    girths = [row["girth_cm"] for row in rows("letters") if row.text("population") == population]
    assert all(first < second for first, second in pairwise(girths))
    assert len(girths) == 10


@pytest.mark.parametrize("population", ["women", "men", "children"])
def test_every_measure_has_a_grade(population):
    graded = [row.text("measure") for row in rows("grade") if row.text("population") == population]
    assert sorted(graded) == sorted(POINTS)


def test_ease_classes_meet_without_gaps():
    assert all(first["upper_cm"] == second["lower_cm"] for first, second in pairwise(rows("ease")))
    assert all(row["lower_cm"] <= row["usual_cm"] < row["upper_cm"] for row in rows("ease"))


@pytest.mark.parametrize("quantity_name", [row.text("quantity") for row in rows("block")])
def test_block_defaults_lie_in_their_range(quantity_name):
    row = table(PACKAGE, "block").by("quantity")[quantity_name]
    assert row["value_low"] <= row["value"] <= row["value_high"]
