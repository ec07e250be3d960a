"""The sketch shows each point of measure as long as it is measured, in the view where it is measured."""

import math
import re

import pytest

from loopwright.draw.sketch import marks_of, sketch_picture
from loopwright.garment.measures import Measures, letter_of_point
from loopwright.study.study import study_style
from loopwright.study.style import read_style


@pytest.fixture(scope="module")
def measures() -> Measures:
    document = {
        "yarns": {"main": {"count": "2/28 Nm wool"}},
        "zones": {"body": {"structure": "plain"}},
        "garment": {"sizes": ["M"]},
        "machine": {"gauge": 12},
    }
    return study_style(read_style(document)).sizes[0].plan.measures


STRAIGHT = (
    "length",
    "half_chest",
    "half_hem",
    "neck_width",
    "front_neck_drop",
    "across_shoulder",
    "back_neck_drop",
    "shoulder_drop",
    "hem_rib",
    "cuff_rib",
)


@pytest.mark.parametrize("name", STRAIGHT)
def test_a_point_is_drawn_as_long_as_it_is(name, measures):
    mark = next(mark for mark in marks_of(measures) if mark.name == name)
    assert math.dist(mark.start, mark.end) == pytest.approx(measures[name], abs=1e-6)


def test_every_letter_stands_on_the_sketch_once(measures):
    names = [mark.name for mark in marks_of(measures)]
    svg, drawn = sketch_picture(measures, names)
    assert drawn == set(names)
    letters = re.findall(r"<text[^>]*font-weight=\"600\"[^>]*>([A-Z]\d?)</text>", svg)
    assert sorted(letters) == sorted(letter_of_point(name) for name in names)


def test_only_what_is_asked_for_is_drawn(measures):
    svg, drawn = sketch_picture(measures, ["length"])
    assert drawn == {"length"}
    assert ">front<" in svg
    assert ">back<" not in svg


@pytest.mark.parametrize("name", ["half_girth", "cap_depth", "turn_up", "brim_rib"])
def test_a_cap_is_measured_on_its_sketch(name):
    document = {
        "yarns": {"main": {"count": "2/28 Nm wool"}},
        "zones": {"body": {"structure": "plain"}},
        "garment": {"block": "beanie", "sizes": ["M"]},
        "machine": {"gauge": 12},
    }
    cap = study_style(read_style(document)).sizes[0].plan.measures
    mark = next(mark for mark in marks_of(cap) if mark.name == name)
    assert math.dist(mark.start, mark.end) == pytest.approx(cap[name], abs=1e-6)
