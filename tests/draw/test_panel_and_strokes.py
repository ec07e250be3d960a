"""Marks on panels and strokes: each says a sentence with its true numbers; a window shows its seconds only."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from loopwright.draw.panel import panels_picture
from loopwright.draw.strokes import strokes_picture
from loopwright.study.study import study_style
from loopwright.study.style import read_style

SVG = "{http://www.w3.org/2000/svg}"
DOCUMENT = {
    "yarns": {"main": {"count": "2/28 Nm", "fibres": {"wool": 100}}},
    "zones": {"body": {"structure": "plain"}},
    "garment": {"population": "women", "sizes": ["M"]},
    "machine": {"gauge": 12},
}
BASE = study_style(read_style(DOCUMENT)).sizes[0]
PLANS = [panel.plan for panel in BASE.panels]
ROWS = [(panel.plan.name, panel.plan.pieces, panel.timeline) for panel in BASE.panels if panel.timeline]


def marks(text: str) -> list[ElementTree.Element]:
    return [each for each in ElementTree.fromstring(text).iter(f"{SVG}g") if each.get("class") == "mark"]


PANELS = marks(panels_picture(PLANS, size="M", wanted=BASE.plan.wanted))
SAID = [each.get("data-says") for each in PANELS]


def test_every_mark_of_a_panel_says_a_sentence_to_pointer_and_script_alike():
    steps = sum(len(each.steps) for plan in PLANS for each in plan.fashionings)
    bind_offs = sum(len(plan.bind_offs) for plan in PLANS)
    necks, ribs = sum(bool(plan.neck_needles) for plan in PLANS), sum(bool(plan.rib_courses) for plan in PLANS)
    shoulders = sum(section.name == "shoulder" for plan in PLANS for section in plan.sections)
    assert len(SAID) == steps + bind_offs + necks + ribs + shoulders
    for each in PANELS:
        assert each.find(f"{SVG}title").text == each.get("data-says")
        assert each.get("data-says").endswith(".")
        assert each.get("tabindex") is None


def test_a_bind_off_says_how_many_needles_become_how_many():
    back = PLANS[0]
    course, needles = back.bind_offs[0].course, back.bind_offs[0].left
    sentence = next(text for text in SAID if text.startswith("Bind off"))
    before, after = map(int, re.search(r"(\d+) needles become (\d+)", sentence).groups())
    assert before == back.span[course - 1]
    assert after == back.span[course]
    assert f"Bind off {needles} needles at each side before course {course + 1}" in sentence


def test_narrowings_name_needles_that_the_knit_down_has():
    back = PLANS[0]
    said = [text for text in SAID if text.startswith("Armhole")][: len(back.fashionings[0].steps)]
    needles = [tuple(map(int, re.search(r"(\d+) needles become (\d+)", text).groups())) for text in said]
    assert needles[0][0] == back.span[back.fashionings[0].start]
    assert needles[-1][1] == back.span[back.fashionings[0].places()[-1]]
    for (_, after), (before, _) in pairwise(needles):
        assert after == before


def test_widenings_end_on_the_needles_of_the_upper_arm():
    sleeve = next(plan for plan in PLANS if plan.name == "sleeve")
    said = [text for text in SAID if "widen" in text]
    assert int(re.search(r"become (\d+)", said[-1]).group(1)) == sleeve.span.max()


def test_the_rib_says_its_size_as_it_lies():
    back = PLANS[0]
    sentence = next(text for text in SAID if text.startswith("Rib"))
    high, wide = map(float, re.search(r"([\d.]+) cm high and ([\d.]+) cm wide", sentence).groups())
    assert high == pytest.approx(back.rib_courses / back.gauge.rib_courses_per_cm, abs=0.06)
    assert wide == pytest.approx(back.rib_needles / back.gauge.rib_needles_per_cm, abs=0.06)


def test_crowded_marks_are_met_on_an_unseen_line_eight_px_wide_on_both_sides():
    for each in PANELS:
        if each.get("data-says").startswith("Rib"):
            continue
        hits = [path for path in each.iter(f"{SVG}path") if path.get("class") == "hit"]
        assert len(hits) >= (1 if each.get("data-says").startswith("Hold") else 2)
        assert all(path.get("stroke") == "transparent" and path.get("stroke-width") == "8" for path in hits)


def seconds(sentence: str) -> float:
    return float(re.search(r", ([\d.]+) s,", sentence).group(1))


def test_every_stretch_of_work_says_its_seconds():
    drawn = marks(strokes_picture(ROWS, size="M"))
    stretches = [stretch for _, _, timeline in ROWS for stretch in timeline.stretches()]
    assert len(drawn) == len(stretches)
    total = sum(timeline.total_s for _, _, timeline in ROWS)
    assert sum(seconds(each.get("data-says")) for each in drawn) == pytest.approx(total, abs=0.05 * len(drawn))


def in_window(start: float, end: float) -> int:
    return sum(first < end and last > start for _, _, timeline in ROWS for _, first, last in timeline.stretches())


@pytest.mark.parametrize(("start", "end"), [(0, 60), (200, 260), (250, 250.5), (100, 1e6), (1e5, 2e5)])
def test_a_window_shows_the_stretches_in_it_and_no_others(start, end):
    text = strokes_picture(ROWS, size="M", start_s=start, end_s=end)
    assert len(marks(text)) == in_window(start, end)
    for each in marks(text):
        for box in each.iter(f"{SVG}rect"):
            assert 112 <= float(box.get("x")) <= 760 - 46
            assert float(box.get("x")) + float(box.get("width")) <= 760 - 46 + 1.3


def test_the_axis_of_a_short_window_counts_seconds():
    root = ElementTree.fromstring(strokes_picture(ROWS, size="M", start_s=180, end_s=225))
    said = [each.text for each in root.iter(f"{SVG}text")]
    assert "3:00 min" in said
    assert "3:30" in said
    assert "Shown: 3.00 to 3.75 min." in root.find(f"{SVG}desc").text


def test_two_halves_of_the_time_add_up_to_the_whole():
    longest = max(timeline.total_s for _, _, timeline in ROWS)
    cut = longest / 3

    def legend(**window: float) -> float:
        root = ElementTree.fromstring(strokes_picture(ROWS, size="M", **window))
        texts = (each.text or "" for each in root.iter(f"{SVG}text"))
        return sum(float(text.removesuffix(" s").split()[-1]) for text in texts if text.endswith(" s"))

    assert legend(end_s=cut) + legend(start_s=cut) == pytest.approx(legend(), abs=10)
    total = sum(pieces * timeline.total_s for _, pieces, timeline in ROWS)
    assert legend() == pytest.approx(total, abs=6)


def test_a_window_that_ends_before_it_begins_is_refused():
    with pytest.raises(ValueError, match="window"):
        strokes_picture(ROWS, size="M", start_s=50, end_s=20)


def test_a_zoomed_stretch_keeps_its_true_seconds_in_words():
    whole = {each.get("data-says") for each in marks(strokes_picture(ROWS, size="M"))}
    zoomed = {each.get("data-says") for each in marks(strokes_picture(ROWS, size="M", start_s=200, end_s=260))}
    assert zoomed < whole
    assert np.all([seconds(text) > 0 for text in zoomed])
