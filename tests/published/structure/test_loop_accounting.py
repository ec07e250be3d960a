"""Loops, courses, yarn and passes of structures, counted from their notation, against printed accounting tables.

Source: loop accounting per repeat (fabric reference 3.3: exact by definition; Milano counts after university slides on
double-knit structures, cardigan sequences after a spinner's note) and jacquard backings (12.2, by counting).
Tolerance: exact.
"""

import pytest

from loopwright.structure.library import library

# structure: feeds, visible courses front, back, passes per visible front course
ACCOUNTING = [
    ("plain", 1, 1, 0, 1.0),
    ("rib-1x1", 1, 1, 1, 1.0),
    ("half-cardigan", 2, 2, 1, 1.0),
    ("full-cardigan", 2, 1, 1, 2.0),
    ("half-milano", 2, 2, 1, 1.0),
    ("full-milano", 3, 2, 2, 1.5),
    ("interlock", 2, 1, 1, 2.0),
    ("ponte", 4, 2, 2, 2.0),
    ("tubular", 2, 1, 1, 2.0),
]

# structure: knit-role loops, plain-role loops, tucks, per repeat and per needle pair (one front plus one back needle)
YARN = [
    ("plain", 1, 0, 0),
    ("rib-1x1", 2, 0, 0),
    ("half-cardigan", 3, 0, 1),
    ("full-cardigan", 2, 0, 2),
    ("half-milano", 2, 1, 0),
    ("full-milano", 2, 2, 0),
    ("interlock", 2, 0, 0),
    ("ponte", 2, 2, 0),
    ("tubular", 2, 0, 0),
]

# structure: loops per face loop (1 + B), feeds per design row
JACQUARD = [
    ("float-jacquard-2", 1.0, 2),
    ("striped-jacquard-2", 3.0, 2),
    ("striped-jacquard-3", 4.0, 3),
    ("striped-jacquard-4", 5.0, 4),
    ("birdseye-2", 2.0, 2),
    ("birdseye-3", 2.5, 3),
    ("birdseye-4", 3.0, 4),
    ("tubular-jacquard-2", 2.0, 2),
]


@pytest.mark.parametrize(("key", "feeds", "front", "back", "passes"), ACCOUNTING)
def test_visible_courses_and_passes_follow_from_the_notation(key, feeds, front, back, passes):
    counted = library()[key].anatomy
    assert (counted.feeds, counted.front_courses, counted.back_courses) == (feeds, front, back)
    assert counted.passes_per_course == passes


@pytest.mark.parametrize(("key", "knit", "plain", "tucks"), YARN)
def test_yarn_per_needle_pair_is_the_printed_sum_of_loops(key, knit, plain, tucks):
    counted = library()[key].anatomy
    by_role: dict[str, int] = {}
    for (_, role), parts in counted.parts.items():
        by_role[role] = by_role.get(role, 0) + parts.loops
    assert by_role.get("knit", 0) == knit * counted.needles
    assert by_role.get("plain", 0) == plain * counted.needles
    assert counted.tucks == tucks * counted.needles
    assert counted.floats == 0


@pytest.mark.parametrize(("key", "loops", "feeds_per_row"), JACQUARD)
def test_backing_adds_the_printed_loops_per_face_loop(key, loops, feeds_per_row):
    """F-57 and F-58 are the rows striped 2, bird's-eye 2, tubular 2 and bird's-eye 4."""
    counted = library()[key].anatomy
    assert counted.loops_per_visible_loop == loops
    assert counted.feeds / counted.visible_courses == feeds_per_row


@pytest.mark.parametrize("key", ["birdseye-2", "birdseye-3", "birdseye-4"])
def test_every_back_needle_of_birdseye_knits_every_colour(key):
    """A back needle that kept one colour would show vertical stripes (fabric reference 13.4)."""
    notation = library()[key].notation
    for needle in range(notation.needles):
        colours = {feed.yarn for feed in notation.feeds if feed.back[needle] == "K"}
        assert colours == {feed.yarn for feed in notation.feeds}


@pytest.mark.parametrize("key", [key for key in library() if "jacquard" in key or "birdseye" in key])
def test_every_face_needle_of_a_jacquard_knits_once_per_design_row(key):
    structure = library()[key]
    colours = len(structure.anatomy.yarns)
    feeds = structure.notation.feeds
    for row in range(0, len(feeds), colours):
        for needle in range(structure.notation.needles):
            assert sum(feed.front[needle] == "K" for feed in feeds[row : row + colours]) == 1
