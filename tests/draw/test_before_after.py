"""Before and after a swatch: two humps of one area, both said in words, the limit as a thread with its word."""

import math
import re
from xml.etree import ElementTree

import pytest

from loopwright.draw import theme
from loopwright.draw.before_after import Hump, before_after_picture
from loopwright.figure import Basis, banded


def lean(value: float, spread: float, basis: Basis):
    return banded("lean", value, "%", low=value - spread, high=value + spread, basis=basis, words="lean")


@pytest.mark.parametrize("sd", [0.05, 0.4, 2.1])
def test_a_narrower_belief_stands_higher_and_has_the_same_area(sd):
    hump, step = Hump(7.2, sd), sd / 200
    area = sum(hump.at(7.2 + number * step) * step for number in range(-1600, 1601))
    assert area == pytest.approx(math.sqrt(2 * math.pi), rel=1e-6)  # of the normal curve without its factor


def test_both_are_said_in_words_and_the_limit_is_a_thread():
    svg = before_after_picture(lean(2.2, 2.1, Basis.PUBLISHED), lean(7.1, 0.7, Basis.MEASURED), [-5.0, 5.0], key="b1")
    root = ElementTree.fromstring(svg)
    said = " ".join(root.itertext())
    assert "before 2 ±" in said
    assert "after 7.1" in said
    assert "limit 5" in said
    assert svg.count(theme.THREAD) >= 2
    (dashed,) = re.findall(r"<path[^>]*stroke-dasharray[^>]*>", svg)
    assert 'fill="none"' in dashed


def test_a_limit_far_away_does_not_flatten_the_picture():
    svg = before_after_picture(lean(2, 0.4, Basis.PUBLISHED), lean(2.1, 0.1, Basis.MEASURED), [60.0], key="b1")
    assert "limit" not in svg
