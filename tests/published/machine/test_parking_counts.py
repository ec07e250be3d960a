"""Stripes against P-36, P-37 and the count of section 4.2 (production reference 4.2 and 11), by the exact search.

The counts of P-36 are those with both carriers at one side; from opposite sides the search finds one traverse fewer
where a single course makes a carrier wait.
"""

import pytest

from loopwright.machine.parking import best_parking


@pytest.mark.parametrize(
    ("stripes", "repeats", "traverses", "fewest"),
    [((("a", 1), ("b", 1)), 50, 150, 149), ((("a", 2), ("b", 2)), 25, 100, 100), ((("a", 3), ("b", 1)), 25, 125, 124)],
)
def test_stripes_on_one_system_p36(stripes, repeats, traverses, fewest):
    found = best_parking(stripes, repeats=repeats, systems=1)
    assert found.from_one_side == traverses
    assert found.traverses == fewest


def test_stripes_of_two_courses_on_two_systems_want_their_carriers_on_opposite_sides():
    found = best_parking((("a", 2), ("b", 2)), repeats=25, systems=2)
    assert (found.traverses, found.from_one_side) == (51, 100)
    assert {side for _, side in found.start.carriers} == {0, 1}


@pytest.mark.parametrize(("systems", "traverses"), [(3, 400), (2, 600), (1, 1200)])
def test_three_colours_in_every_row_p37(systems, traverses):
    """400 design rows; four carriers of each colour, so that one is always at hand as the rate form assumes."""
    held = dict.fromkeys("abc", 4)
    found = best_parking((("a", 1), ("b", 1), ("c", 1)), repeats=400, systems=systems, carriers=held)
    assert found.traverses == traverses
