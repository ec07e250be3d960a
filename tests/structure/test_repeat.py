"""The same cloth written otherwise: a repeat drawn wider, higher, or begun elsewhere."""

import pytest

from loopwright.structure.library import library
from loopwright.structure.notation import Notation, read
from loopwright.structure.repeat import beginnings, smallest

every_structure = pytest.mark.parametrize(
    "notation", [each.notation for each in library().values()], ids=list(library())
)


def drawn_larger(notation: Notation, times: int) -> Notation:
    """The same lines, each sign run repeated, and all of it once more above."""
    lines = []
    for line in notation.lines():
        words = [
            f"{name}:{times * signs}" if signs else name for name, _, signs in (w.partition(":") for w in line.split())
        ]
        lines.append(" ".join(words))
    return read(times * lines, notation.gating.value)


@every_structure
def test_what_a_smallest_repeat_says_is_what_the_library_says(notation):
    small = smallest(notation)
    assert notation.needles % small.needles == 0
    assert len(notation.steps) % len(small.steps) == 0
    assert smallest(small) == small


@pytest.mark.parametrize("lines", [["F:K B:-"], ["F:K B:K"], ["F:KT B:KK", "F:KK B:TK"], ["F:K- B:-K", "F:-K B:K-"]])
def test_a_repeat_drawn_larger_is_the_same(lines):
    notation = read(lines)
    assert smallest(drawn_larger(notation, 2)) == smallest(notation)
    assert smallest(drawn_larger(notation, 3)) == smallest(notation)


def test_a_repeat_that_needs_all_its_needles_keeps_them():
    notation = read(["F:KK- B:-KK", "F:KK- B:-KK"])
    assert smallest(notation).lines() == ("F:KK- B:-KK",)


@every_structure
def test_a_notation_begins_first_where_it_begins(notation):
    all_ways = list(beginnings(notation))
    assert all_ways[0] == notation
    assert len(all_ways) == notation.needles * len(notation.steps)


def test_a_repeat_begun_elsewhere_is_among_its_beginnings():
    assert read(["F:-K B:K-", "F:K- B:-K"]) in list(beginnings(read(["F:K- B:-K", "F:-K B:K-"])))
    assert read(["F:-KK B:K--"]) in list(beginnings(read(["F:KK- B:--K"])))
