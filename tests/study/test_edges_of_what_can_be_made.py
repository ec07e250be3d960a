"""Measures, gauges and swatches at the edge of what can be made: a study with a sentence, never a half answer.

Each of these once stopped a whole study, or gave a panel with courses that no needle knits.
"""

import re
from typing import Any

import numpy as np
import pytest

from loopwright.problems import Sign
from loopwright.shaping.knitdown import Cloth, knit_down
from loopwright.shaping.panel import PanelPlan
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

CLOTH = Cloth("plain", 1, 1, 6.0)


def studied(garment: dict[str, Any], gauge: float = 12, **parts: Any) -> StyleStudy:
    zones = {"body": {"structure": "plain"}, "hem": {"structure": "2x1 rib"}}
    yarns = {"wool": {"count": "2/80 Nm" if gauge > 20 else "2/30 Nm", "fibres": {"wool": 100}}}
    return study_style(
        read_style({"yarns": yarns, "zones": zones, "machine": {"gauge": gauge}, "garment": garment, **parts})
    )


def panel_of(study: StyleStudy, name: str) -> PanelPlan:
    return next(panel for panel in study.sizes[0].plan.panels if panel.name == name)


# (garment, construction, words that the message of the size must hold); size S is unchanged and must be worked
STOPPED = {
    "a front band wider than its half front": (
        {"block": "cardigan", "hand_set_cm": {"M": {"front_band": 30}}},
        {},
        ["front, size M", "15.0 cm", "a narrower front band"],
    ),
    "a saddle wider than the upper arm": (
        {"sleeve": "saddle", "hand_set_cm": {"M": {"saddle_width": 50}}},
        {},
        ["sleeve cap", "a top of 50.0 cm", "a narrower top"],
    ),
    "a neckband of less than a course": (
        {"hand_set_cm": {"M": {"neckband": 0.1}}, "neckband_doubled": False},
        {},
        ["neckband, size M", "0 courses", "at least 2 of each"],
    ),
    "a scarf of less than a course": (
        {"block": "scarf", "hand_set_cm": {"M": {"panel_length": 0.1}}},
        {},
        ["scarf, size M", "0 courses", "at least 2 of each"],
    ),
    "a raglan sleeve with nothing to narrow": (
        {"sleeve": "raglan", "hand_set_cm": {"M": {"sleeve_top": 33, "half_upper_arm": 17}}},
        {"fashioning": "two-rate"},
        ["raglan of the sleeve, size M", "needles too few", "a narrower neck or top"],
    ),
}


@pytest.mark.parametrize("case", STOPPED)
def test_one_size_that_cannot_be_made_says_why_and_the_others_are_studied(case):
    garment, construction, words = STOPPED[case]
    study = studied({"sizes": ["S", "M"], "base_size": "S", **garment}, construction=construction)
    told = " ".join(problem.sentence() for problem in study.refused)
    assert all(each in told for each in words), told
    assert [size.size for size in study.sizes] == ["S"]


def test_a_gauge_finer_than_every_linking_dial_is_told_and_the_rest_is_studied():
    study = studied({"sizes": ["M"]}, gauge=24)
    assert study.sizes
    assert study.minutes is not None
    told = [finding for finding in study.findings if finding.where == "linking dial"]
    assert [finding.sign for finding in told] == [Sign.DECIDE]
    assert "24 needles per inch" in told[0].sentence
    assert "20 points" in told[0].sentence


def test_a_swatch_denser_than_its_fibre_is_refused_with_both_densities():
    swatch = {"loop_length_mm": 6, "courses_per_cm": 8, "wales_per_cm": 6, "mass_g_per_m2": 900, "thickness_mm": 0.1}
    study = studied({"sizes": ["M"]}, zones={"body": {"structure": "plain", "swatch": swatch}})
    told = " ".join(problem.sentence() for problem in study.refused)
    assert "9.0 g/cm³" in told
    assert "1.3" in told
    assert not study.sizes


@pytest.mark.parametrize("neck", ["crew", "V", "boat", "square", "hood"])
@pytest.mark.parametrize("block", ["pullover", "cardigan"])
@pytest.mark.parametrize("sleeve", ["raglan", "compound raglan"])
def test_some_needle_knits_in_every_course_of_a_raglan(sleeve, block, neck):
    study = studied({"block": block, "sleeve": sleeve, "neck": neck, "sizes": ["M"]})
    for name in ("back", "front"):
        panel = panel_of(study, name)
        assert int((panel.span - panel.held).min()) > 0


@pytest.mark.parametrize("sleeve", ["set-in", "raglan"])
def test_the_line_of_a_v_neck_takes_the_needles_that_a_cardigans_front_has_beside_its_band(sleeve):
    panel = panel_of(studied({"block": "cardigan", "sleeve": sleeve, "neck": "V", "sizes": ["M"]}), "front")
    line = next(each.text for each in knit_down(panel, rib=CLOTH, main=CLOTH) if each.label == "neck")
    assert "narrow at the front edge" in line
    course = int(re.search(r"\(course (\d+) from the join\)", line)[1]) - 1
    reached = np.zeros(panel.courses + 1, dtype=int)
    for needles, courses in narrowings_in(line):
        course += courses
        reached[course:] += needles
    assert np.array_equal(reached[:-1], panel.held_right)


def narrowings_in(line: str) -> list[tuple[int, int]]:
    """Needles and courses of every narrowing, as a technician reads them out of a line in any of its forms."""
    if runs := re.findall(r"(\d+) × \((\d+) needles? / (\d+) courses\)", line):
        return [(int(needles), int(courses)) for times, needles, courses in runs for _ in range(int(times))]
    if pairs := re.search(r"needles / courses, in order: ([\d/, ]+)", line):
        return [(int(needles), int(courses)) for needles, courses in re.findall(r"(\d+)/(\d+)", pairs[1])]
    if alike := re.search(r"(\d+) needles? each time, one number for the courses before each: ([\d, ]+)", line):
        return [(int(alike[1]), int(courses)) for courses in alike[2].split(", ")]
    spaced = re.search(r"these needles, one number for each (\d+) courses: ([\d, ]+)", line)
    assert spaced is not None, line
    return [(int(needles), int(spaced[1])) for needles in spaced[2].split(", ")]


def test_a_part_that_stops_in_two_sizes_is_told_once_with_both():
    crown = studied(
        {"block": "beanie", "sizes": ["S", "M", "L"], "hand_set_cm": {each: {"half_girth": 0.5} for each in ("S", "M")}}
    )
    told = [finding for finding in crown.findings if finding.sign is Sign.STOPS]
    assert [(each.where, each.sentence.rpartition(". ")[2]) for each in told] == [
        ("crown, darts, size S", "Likewise in M.")
    ]
    assert [size.size for size in crown.sizes] == ["L"]


@pytest.mark.parametrize("fashioning", ["exact", "two-rate", "line"])
def test_narrowings_that_do_not_fit_name_their_edge_and_their_size(fashioning):
    shallow = {"neck": "V", "sizes": ["M"], "measures_cm": {"front_neck_drop": 0.5}}
    told = studied(shallow, construction={"fashioning": fashioning, "courses_between": 4}).refused
    assert [problem.where for problem in told] == ["neck, size M"]
    assert told[0].tries
