"""Curl of cut edges: the way the words say, more roll for a higher rank, and never a radius."""

import math
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.draw.curl import curl_picture, edge_line
from loopwright.fabric.fabric import fabric_of
from loopwright.structure.library import library
from loopwright.yarn.yarn import yarn_from_words

SVG = "{http://www.w3.org/2000/svg}"
MERINO = yarn_from_words("2/28 Nm merino")
KEYS = sorted(library())


def said(key: str) -> list[str]:
    root = ElementTree.fromstring(curl_picture(fabric_of(library()[key], MERINO)))
    return [each.text or "" for each in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("key", KEYS)
def test_every_structure_says_that_its_rolls_are_ranks_and_not_radii(key):
    assert any("ranks of 5, not radii" in text for text in said(key))


@pytest.mark.parametrize("key", KEYS)
def test_side_edges_go_the_way_that_the_words_of_the_study_say(key):
    fabric = fabric_of(library()[key], MERINO)
    sides = next(text for text in said(key) if text.startswith("Side edge"))
    words = fabric.curl.words.split(",")[0]
    if fabric.curl.sides.value == 0:
        assert sides.endswith("lies flat")
    else:
        assert sides.endswith("back") is ("back" in words)


@pytest.mark.parametrize("key", ["plain", "half-cardigan", "half-milano", "tuck-mesh"])
def test_ends_roll_the_other_way_than_sides(key):
    sides, ends = (next(text for text in said(key) if text.startswith(start)) for start in ("Side", "Top"))
    assert sides.endswith("to the back")
    assert ends.endswith("to the face")


def test_a_balanced_rib_lies_flat():
    assert sum(text.endswith("lies flat") for text in said("rib-2x2")) == 2


def turned(points: list[tuple[float, float]]) -> float:
    angles = [math.atan2(y2 - y1, x2 - x1) for (x1, y1), (x2, y2) in pairwise(points)]
    return sum((after - before + math.pi) % (2 * math.pi) - math.pi for before, after in pairwise(angles))


@given(st.floats(0.2, 5), st.floats(0.2, 5))
def test_a_higher_rank_never_turns_less(first, second):
    low, high = sorted((first, second))
    assert turned(edge_line(low, 1)) <= turned(edge_line(high, 1)) + 1e-9


@given(st.floats(0.2, 5))
def test_rolls_to_the_face_and_to_the_back_mirror_each_other(rank):
    up, down = edge_line(rank, 1), edge_line(rank, -1)
    assert [(x, -y) for x, y in up] == down
    assert max(y for _, y in up) > 0
