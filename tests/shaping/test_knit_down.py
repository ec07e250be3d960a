"""The order of work read as a technician reads it: the needles that it leaves on the bed are those drafted off."""

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tomllib import loads

import pytest

from loopwright.report.blocks import Steps
from loopwright.report.tables import knit_down_blocks
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLES = Path(__file__).parents[2] / "examples"
STYLES = ("guard-cardigan", "kitchen-vest", "crew-skirt", "keepsake-beanie", "lounge-dress", "attendant-pullover")
ONE_BY_ONE = r"(\d+) needles? each time, one number for the courses before each: ([\d, ]+)"


@cache
def studied(name: str) -> StyleStudy:
    return study_style(read_style(loads((EXAMPLES / f"{name}.toml").read_text("utf-8"))))


def works(name: str) -> Mapping[str, list[tuple[str, str]]]:
    study = studied(name)
    assert study.base is not None
    blocks = [each for each in knit_down_blocks(study, study.base) if isinstance(each, Steps)]
    return {each.heading.split(": ")[1].split(",")[0]: list(each.lines) for each in blocks}


def needles_moved(steps: str) -> int:
    """Needles of narrowings or widenings in any of the three ways in which they are written."""
    if run := re.search(ONE_BY_ONE, steps):
        return int(run[1]) * len(run[2].split(","))
    if "in order" in steps:
        return sum(int(each) for each in re.findall(r"(\d+)/\d+", steps))
    return sum(int(times) * int(each) for times, each in re.findall(r"(\d+) × \((\d+) needles? / \d+ courses", steps))


def needles_left(lines: list[tuple[str, str]]) -> int:
    """Needles with loops on them when all lines are worked: held ones stay, moved and bound-off ones are gone."""
    needles = 0
    for _, said in lines:
        if start := re.search(r"draw-thread on (\d+) needles", said):
            needles = int(start[1])
        elif darts := re.search(r"narrow in each of (\d+) darts (.+)", said):
            needles -= int(darts[1]) * needles_moved(darts[2])
        elif shaped := re.search(r"(narrow|widen) at (each side|the left|the outer edge|the front edge)", said):
            moved = (2 if shaped[2] == "each side" else 1) * needles_moved(said)
            needles += moved if shaped[1] == "widen" else -moved
        elif off := re.search(r"bind off (\d+)( needles at each side)?", said):
            needles -= int(off[1]) * (2 if off[2] else 1)
    return needles


@pytest.mark.parametrize("name", STYLES)
def test_the_order_of_work_ends_on_the_needles_that_it_drafts_off(name):
    for panel, lines in works(name).items():
        finish = dict(lines)["finish"]
        assert needles_left(lines) == int(re.search(r"on (\d+) needle", finish)[1]), panel


def test_a_sideways_skirt_has_its_gores_where_they_are_knitted():
    lines = [said for what, said in works("crew-skirt")["skirt"] if what == "skirt"]
    course = 1
    for said in lines:
        if straight := re.fullmatch(r"(\d+) courses straight on 402 needles", said):
            course += int(straight[1])
            continue
        assert f"before course {course} from the join" in said
        course += 76  # 38 pairs of courses, as the first says
    assert [said.split(",")[0] for said in lines[1::2]] == [f"gore {number}" for number in range(1, 9)]
    told = re.search(r"38 pairs of courses in short rows, held at the right, .+: ([\d, ]+);", lines[1])
    needles = [int(each) for each in told[1].split(", ")]
    assert len(needles) == 38
    assert needles == sorted(needles, reverse=True)
    assert sum("as gore 1" in said for said in lines) == 7


def test_a_cap_in_the_flat_has_neither_underarm_nor_top_to_notch():
    assert dict(works("keepsake-beanie")["beanie"])["marks"].endswith("linking notch every 50 courses")


def test_the_held_top_of_a_raglan_sleeve_takes_all_needles_that_are_left():
    lines = works("guard-cardigan")["sleeve"]
    held = next(said for _, said in lines if said.startswith("hold at the right"))
    assert needles_moved(held) == needles_left(lines)
