"""The knit-down: the lines that a technician reads, in knitting order.

In: `PanelPlan` and the words for its rib and main fabric. Out: (label, text) lines. Not covered: drawing (`draw`).
Source: production reference 3.10 for the order of lines.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.figure import plain
from loopwright.shaping.fashioning import Steps, deviation_mm
from loopwright.shaping.panel import BindOff, Fold, Narrowing, PanelPlan, Section, ShortRows, Whole
from loopwright.shaping.rules import rule_row


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the knit-down."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Cloth:
    """A fabric as the knit-down names it: words with loop length, beds, repeat in needles, loop length."""

    words: str
    beds: int
    repeat: int
    loop_length_mm: float


def knit_down(panel: PanelPlan, *, rib: Cloth, main: Cloth) -> tuple[Line, ...]:
    """Lines of one panel."""
    return tuple(_lines(panel, rib, main))


def _lines(panel: PanelPlan, rib: Cloth, main: Cloth) -> Iterator[Line]:
    first = panel.rib_needles or (int(panel.span[0]) if panel.courses else 0)
    yield Line("start", f"comb, waste yarn, draw-thread on {first} needles")
    if panel.rib_courses:
        yield Line(
            "rib", f"{panel.rib_courses} courses {rib.words} on {panel.rib_needles} needles{_repeats(panel, rib)}"
        )
    if panel.courses:
        how = "transfer to" if main.beds < rib.beds else "change to"
        course = (
            f"; 100 needles take {plain(100 * main.loop_length_mm, 0)} mm of yarn a course" if main.beds == 1 else ""
        )
        yield Line("join", f"{how} {main.words}{course}")
        for section in panel.sections:
            yield from _section(panel, section)
        yield from _neck(panel)
        yield Line("marks", _marks(panel))
    yield Line("finish", f"draft off with waste courses on {_needles(panel.finish_needles)}")
    yield Line("lengths", _lengths(panel))


def _repeats(panel: PanelPlan, rib: Cloth) -> str:
    """How the repeat of the rib falls on the needles; edge needles take the seam."""
    if rib.repeat == 1:
        return ""
    repeats, edge = divmod(panel.rib_needles, rib.repeat)
    rest = f" and {_needles(edge)} at the edge for the seam" if edge else ""
    return f" ({repeats} repeats of {rib.repeat}{rest})"


def _section(panel: PanelPlan, section: Section) -> Iterator[Line]:
    for bound in panel.bind_offs:
        if bound.course == section.start:
            yield Line(section.name, _bound_off(bound))
    rows = [each for each in panel.short_rows if section.start <= each.start < section.start + section.courses]
    fashionings = Counter(each for each in panel.fashionings if each.name == section.name)
    for fashioning, times in fashionings.items():
        yield Line(section.name, _fashioning(fashioning, section, panel, times))
    here = [each for each in panel.gathers if section.start <= each.course < section.start + section.courses]
    if here:
        yield Line(section.name, _folds(panel, here))
    at = section.start
    for each in rows:
        if not fashionings:
            yield from _straight(panel, section.name, at, each.start)
        yield Line(section.name, _short_rows(panel, each) if each.returns else _held_off(panel, section))
        at = each.start + each.courses
    if not fashionings:
        yield from _straight(panel, section.name, at, section.start + section.courses)


def _straight(panel: PanelPlan, name: str, start: int, end: int) -> Iterator[Line]:
    """Courses between two events of a section that nothing shapes."""
    if end > start:
        yield Line(name, f"{end - start} courses straight on {int(panel.span[start])} needles")


def _bound_off(bound: BindOff) -> str:
    if bound.left == bound.right:
        return f"bind off {bound.left} needles at each side"
    sides = [f"{needles} at the {side}" for side, needles in (("left", bound.left), ("right", bound.right)) if needles]
    return f"bind off {' and '.join(sides)}"


def _folds(panel: PanelPlan, folds: list[Fold]) -> str:
    """Ruching: the same fold again and again."""
    spacing = folds[1].course - folds[0].course if len(folds) > 1 else folds[0].course
    needles = int(panel.span[folds[0].course])
    return (
        f"ruching: {len(folds)} × after {spacing} courses knit {folds[0].courses} courses on the front bed alone, over "
        f"{needles} needles, while the back bed holds the loops of every fold"
    )


def _short_rows(panel: PanelPlan, rows: ShortRows) -> str:
    """Short rows that come back to the full width; said once where others before them are the same."""
    knits = _knits(panel, rows)
    where = f"before course {rows.start + 1} from the join"
    alike = next((each for each in panel.short_rows if each.returns and _knits(panel, each) == knits), rows)
    if alike is not rows:
        return f"{rows.name}, {where}: as {alike.name}"
    left, right = (any(one != knits[0][side] for one in each) for side, each in enumerate(zip(*knits, strict=True)))
    side = "at each side" if left is right else f"at the {'left' if left else 'right'}"
    return (
        f"{rows.name}, {where}: {len(knits)} pairs of courses in short rows, held {side}, on "
        f"{_one_by_one([sum(each) for each in knits], 2)}; turning needles are wrapped"
    )


def _knits(panel: PanelPlan, rows: ShortRows) -> list[tuple[int, int]]:
    """Needles left and right of the centre that every pair of courses knits."""
    pairs = slice(rows.start, rows.start + rows.courses, 2)
    return list(zip(panel.left[pairs].tolist(), panel.right[pairs].tolist(), strict=True))


def _fashioning(fashioning: Narrowing, section: Section, panel: PanelPlan, times: int) -> str:
    """Fashioning of the edges; one that is there several times is that of pairs of darts, one at each side."""
    verb = "widen" if fashioning.widening else "narrow"
    shaped = sum(step.times * step.courses for step in fashioning.steps)
    straight = (
        section.courses
        - shaped
        - sum(
            each.courses for each in panel.short_rows if section.start <= each.start < section.start + section.courses
        )
    )
    where = panel.side_words(fashioning.side) if times == 1 else f"in each of {2 * times} darts"
    text = f"{verb} {where} {steps_text(fashioning.steps)} = {shaped} courses"
    if fashioning.name != "cap" and times == 1:  # a cap is an S on purpose
        off = deviation_mm(fashioning.steps, needles_per_cm=panel.gauge.needles_per_cm)
        text = f"{text} (within {plain(off, 1)} mm of a line)"
    return f"{text}, then {straight} courses straight" if straight > 0 else text


def steps_text(steps: Steps) -> str:
    """Steps in one line, in the shortest form that a hand can follow: runs when they are few, else one by one.

    >>> from loopwright.shaping.fashioning import Step
    >>> steps_text((Step(9, 2, 6), Step(1, 2, 4)))
    '9 × (2 needles / 6 courses) + 1 × (2 needles / 4 courses)'
    >>> steps_text((Step(1, 1, 10), Step(2, 1, 8), Step(1, 1, 10), Step(1, 1, 8), Step(1, 1, 10)))
    '1 needle each time, one number for the courses before each: 10, 8, 8, 10, 8, 10'
    """
    if len(steps) <= FEW_RUNS:
        return " + ".join(step.text for step in steps)
    each = [step for step in steps for _ in range(step.times)]
    if len({step.needles for step in steps}) == 1:
        courses = ", ".join(str(step.courses) for step in each)
        return f"{_needles(steps[0].needles)} each time, one number for the courses before each: {courses}"
    if len({step.courses for step in steps}) == 1:
        return _one_by_one([step.needles for step in each], steps[0].courses)
    return f"needles / courses, in order: {', '.join(f'{step.needles}/{step.courses}' for step in each)}"


def _one_by_one(needles: Sequence[int], courses: int) -> str:
    return f"these needles, one number for each {courses} courses: {', '.join(str(each) for each in needles)}"


def _held_off(panel: PanelPlan, section: Section) -> str:
    """Short rows that end the panel: needles held in steps at the edges that slope, the last ones with all others."""
    pairs = slice(section.start, section.start + section.courses, 2)
    right, last = panel.right[pairs], int(panel.span[pairs][-1]) - panel.neck_needles
    if section.name == "shoulder" and not panel.is_half:
        last, where = last // 2, "at each side"
    else:
        where = "at the armhole side" if panel.is_half else "at the right"
    steps = [*(-np.diff(right)).tolist(), last]
    return f"hold {where} {_held_steps(steps)}; all off on waste for linking"


def _neck(panel: PanelPlan) -> Iterator[Line]:
    fashioned = panel.fashioning("neck")
    if fashioned is not None:
        depth = panel.courses - fashioned.start
        yield Line(
            "neck",
            f"{depth} courses before the top (course {fashioned.start + 1} from the join): {_parted(panel)} "
            f"{steps_text(fashioned.steps)}",
        )
        return
    at = np.flatnonzero(panel.held)
    if not len(at) or not panel.neck_needles:
        return
    if panel.is_half:
        yield Line("neck", _half_neck(panel, at))
        return
    first, count = int(at[0]), len(at)
    held = panel.held[first::2]
    after = [int(each) // 2 for each in np.diff(held)]
    yield Line(
        "neck",
        f"{count} courses before the top (course {first + 1} from the join): hold {int(held[0])} needles at the "
        f"centre, split; then hold at each side {_held_steps(after) or 'none'}",
    )


def _parted(panel: PanelPlan) -> str:
    return "narrow at the front edge" if panel.is_half else "split at the centre, narrow at each side of the neck"


def _half_neck(panel: PanelPlan, at: Whole) -> str:
    held = panel.held[int(at[0]) :: 2]
    after = [int(each) for each in np.diff(held)]
    return (
        f"{len(at)} courses before the top (course {int(at[0]) + 1} from the join): hold {_needles(int(held[0]))} "
        f"at the front edge, then {_held_steps(after) or 'none'}"
    )


def _held_steps(needles: list[int]) -> str:
    """Steps of two courses in order: in the form of narrowings when few, else needle by needle, one number a step."""
    runs = _runs(needles)
    if len(runs) > FEW_RUNS:
        return _one_by_one(needles, 2)
    return " + ".join(
        f"{times} × ({_needles(each)} / 2 courses)" if each else f"{2 * times} courses straight" for each, times in runs
    )


FEW_RUNS = 4


def _needles(count: int) -> str:
    return f"{count} needle{'s' if count != 1 else ''}"


def _runs(values: list[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for value in values:
        if runs and runs[-1][0] == value:
            runs[-1] = (value, runs[-1][1] + 1)
        else:
            runs.append((value, 1))
    return runs


def _marks(panel: PanelPlan) -> str:
    spacing = int(rule_row("notch_spacing_courses")["value"])
    fashioning = f"loops moved {panel.mark_needles} needles in from the edge; " if panel.fashionings else ""
    names = {section.name for section in panel.sections}
    places = [f"linking notch every {spacing} courses"]
    above = {"cap", "top", "raglan"} if panel.zone == "sleeve" else {"armhole", "raglan"}
    places += ["at the underarm"] if names & above else []
    if panel.neck_needles:
        places.append("at the neck centre")
    elif panel.zone == "sleeve" and names & above:
        places.append("at the centre of its top")
    listed = places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"
    return f"{fashioning}{listed}"


def _lengths(panel: PanelPlan) -> str:
    return f"finished {plain(panel.length_cm, 1)} cm long, {panel.rib_courses + panel.courses} courses"
