"""Edges of a panel as stretches, and how stretches become needles in work course by course.

In: needles at the foot of an edge, and stretches upwards: so many courses, needles bound off before them, fashioning
within them, or needles held every two courses (short rows). Out: `PanelPlan`, assembled from a left and a right edge of
the same courses. Parts of a garment (side, armhole, shoulder, cap …) each give stretches; nothing else knows arrays.
Counting rule: a bind-off acts before its stretch; an event acts after its interval; a held step acts after its courses.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from loopwright.shaping.fashioning import Step, Steps, grouped, needles_moved, total_needles
from loopwright.shaping.panel import (
    BindOff,
    Fold,
    Narrowing,
    PanelGauge,
    PanelPlan,
    Section,
    ShortRows,
    Side,
    Whole,
    Work,
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of one edge.

    Args:
        name: what the knit-down calls it; the same name on both edges.
        courses: courses of the main fabric.
        bind_off: needles bound off before its first course.
        steps: fashioning within it, narrowing unless `widening`.
        widening: whether the steps add needles.
        hold: needles held after each two courses (short rows); they stay held to the end of the panel.
        work: what the carriage does here.
        opposite: steps of the opposite edge where both alternate; none when it has the same.
    """

    name: str
    courses: int
    bind_off: int = 0
    steps: Steps = ()
    widening: bool = False
    hold: tuple[int, ...] = ()
    work: Work = Work.PLAIN
    opposite: Steps | None = None

    @property
    def taken(self) -> int:
        """Needles that the edge moves in over the stretch (out: negative)."""
        moved = total_needles(self.steps)
        return self.bind_off + sum(self.hold) + (-moved if self.widening else moved)


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge from its foot up: needles from the centre line at the foot, and its stretches."""

    needles: int
    stretches: tuple[Stretch, ...]

    @property
    def courses(self) -> int:
        """Courses of the main fabric."""
        return sum(stretch.courses for stretch in self.stretches)

    @property
    def end(self) -> int:
        """Needles from the centre line after the last course."""
        return self.needles - sum(stretch.taken for stretch in self.stretches)

    def in_work(self) -> Whole:
        """Needles from the centre line in every course, shape (courses,)."""
        parts, needles = [np.zeros(0, dtype=np.int64)], self.needles
        for stretch in self.stretches:
            parts.append(needles - stretch.bind_off - _taken(stretch))
            needles -= stretch.taken
        return np.concatenate(parts)

    @property
    def facing(self) -> Edge:
        """The opposite edge of a symmetrical panel: the same needles, in courses of its own where both alternate."""
        turned = (
            replace(each, steps=each.steps if each.opposite is None else each.opposite, opposite=None)
            for each in self.stretches
        )
        return Edge(self.needles, tuple(turned))

    def width_at(self, name: str) -> int:
        """Needles from the centre line before a stretch."""
        needles = self.needles
        for stretch in self.stretches:
            if stretch.name == name:
                break
            needles -= stretch.taken
        return needles


def _taken(stretch: Stretch) -> Whole:
    """Needles moved in by fashioning and holding before each course of a stretch."""
    moved = needles_moved(stretch.steps, stretch.courses)
    taken = -moved if stretch.widening else moved
    if stretch.hold:
        held = np.cumsum(np.array(stretch.hold, dtype=np.int64)) - np.array(stretch.hold, dtype=np.int64)
        taken = taken + np.repeat(held, 2)[: stretch.courses]
    return taken


@dataclass(frozen=True, slots=True)
class Foot:
    """How a panel starts: needles and courses of its rib, and the zones of rib and main fabric."""

    rib_needles: int
    rib_courses: int
    zone: str = "body"
    rib_zone: str = "hem"


@dataclass(frozen=True, slots=True)
class Opening:
    """A neck: needles held beside the centre line in every course, on each side; needles of the whole neck edge.

    `courses` is its depth from the top, `steps` its fashioning. `how`: "split" (both halves knitted apart), "scoop"
    (apart only below the short rows of the shoulder), "edge" (at the edge of a half, nothing is apart).
    """

    left: Whole
    right: Whole
    needles: int
    courses: int
    how: str = "split"
    steps: Steps = ()


@dataclass(frozen=True, slots=True)
class Insert:
    """Short rows put in before a course: needles left and right of the centre that each pair of courses knits."""

    name: str
    course: int
    pairs: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Drafted:
    """A panel before it is assembled."""

    name: str
    size: str
    left: Edge
    right: Edge
    foot: Foot
    gauge: PanelGauge
    pieces: int = 1
    mark_needles: int = 0
    finish_needles: int = 0
    opening: Opening | None = None
    inserts: tuple[Insert, ...] = field(default=())
    is_half: bool = False
    gathers: tuple[Fold, ...] = ()


def assemble(draft: Drafted) -> PanelPlan:
    """The panel of two edges.

    Raises:
        ValueError: edges of different courses.
    """
    left, right = draft.left.in_work(), draft.right.in_work()
    if len(left) != len(right):
        raise ValueError(f"{draft.name}: {len(left)} courses at the left, {len(right)} at the right")
    work = np.concatenate(
        [np.zeros(0, dtype=np.int64), *(np.full(each.courses, each.work) for each in draft.right.stretches)]
    ).astype(np.int64)
    nothing = np.zeros(len(left), dtype=np.int64)
    held_left, held_right = nothing, nothing
    if draft.opening is not None:
        held_left, held_right = draft.opening.left, draft.opening.right
        work = _with_opening(work, draft.opening)
    plan = PanelPlan(
        name=draft.name,
        size=draft.size,
        pieces=draft.pieces,
        zone=draft.foot.zone,
        rib_zone=draft.foot.rib_zone,
        rib_needles=draft.foot.rib_needles,
        rib_courses=draft.foot.rib_courses,
        left=left,
        right=right,
        held_left=held_left,
        held_right=held_right,
        work=work,
        sections=_sections(draft.right),
        fashionings=(*_fashionings(draft.left, draft.right), *_of_neck(draft.opening, len(left))),
        bind_offs=_bind_offs(draft.left, draft.right),
        gauge=draft.gauge,
        mark_needles=draft.mark_needles,
        neck_needles=draft.opening.needles if draft.opening else 0,
        finish_needles=draft.finish_needles,
        short_rows=_held_rows(draft.right, draft.left),
        is_half=draft.is_half,
        gathers=draft.gathers,
    )
    for insert in sorted(draft.inserts, key=lambda each: -each.course):
        plan = with_insert(plan, insert)
    return plan


def _with_opening(work: Whole, opening: Opening) -> Whole:
    """Courses of a neck: a front is split from its lowest course on; a back only where no short rows are knitted."""
    in_neck = np.arange(len(work)) >= len(work) - opening.courses
    changed = work.copy()
    if opening.how != "edge":
        changed[in_neck if opening.how == "split" else in_neck & (work != Work.SHORT_ROWS)] = Work.SPLIT
    return changed


def _starts(edge: Edge) -> list[tuple[int, Stretch]]:
    starts, at = [], 0
    for stretch in edge.stretches:
        starts.append((at, stretch))
        at += stretch.courses
    return starts


def _sections(edge: Edge) -> tuple[Section, ...]:
    return tuple(Section(stretch.name, at, stretch.courses) for at, stretch in _starts(edge) if stretch.courses)


def _fashionings(left: Edge, right: Edge) -> tuple[Narrowing, ...]:
    """Narrowings and widenings; where both edges do the same it is said once."""
    found: list[Narrowing] = []
    sides = {
        side: [Narrowing(each.name, at, each.steps, each.widening, side) for at, each in _starts(edge) if each.steps]
        for side, edge in ((Side.LEFT, left), (Side.RIGHT, right))
    }
    for one in sides[Side.RIGHT]:
        twin = Narrowing(one.name, one.start, one.steps, one.widening, Side.LEFT)
        both = twin in sides[Side.LEFT]
        if both:
            sides[Side.LEFT].remove(twin)
        side = Side.BOTH if both else Side.RIGHT
        found.append(Narrowing(one.name, one.start, one.steps, one.widening, side))
    return tuple(sorted([*found, *sides[Side.LEFT]], key=lambda each: each.start))


def _of_neck(opening: Opening | None, courses: int) -> tuple[Narrowing, ...]:
    if opening is None or not opening.steps:
        return ()
    return (Narrowing("neck", courses - opening.courses, opening.steps, side=Side.NECK),)


def _bind_offs(left: Edge, right: Edge) -> tuple[BindOff, ...]:
    needles: dict[int, list[int]] = {}
    for index, edge in enumerate((left, right)):
        for at, stretch in _starts(edge):
            if stretch.bind_off:
                needles.setdefault(at, [0, 0])[index] = stretch.bind_off
    return tuple(BindOff(at, *both) for at, both in sorted(needles.items()))


def _held_rows(*edges: Edge) -> tuple[ShortRows, ...]:
    rows = [ShortRows(each.name, at, each.courses) for edge in edges for at, each in _starts(edge) if each.hold]
    return tuple(dict.fromkeys(rows))


def with_insert(plan: PanelPlan, insert: Insert) -> PanelPlan:
    """The panel with short rows put in: the needles outside them are held meanwhile, so its sides do not grow."""
    at, rows = insert.course, 2 * len(insert.pairs)
    if not rows:
        return plan
    left = np.repeat(np.array([pair[0] for pair in insert.pairs], dtype=np.int64), 2)
    right = np.repeat(np.array([pair[1] for pair in insert.pairs], dtype=np.int64), 2)
    nothing = np.zeros(rows, dtype=np.int64)
    moved = [_shifted(section, at, rows) for section in plan.sections]
    return replace(
        plan,
        left=np.concatenate([plan.left[:at], left, plan.left[at:]]),
        right=np.concatenate([plan.right[:at], right, plan.right[at:]]),
        held_left=np.concatenate([plan.held_left[:at], nothing, plan.held_left[at:]]),
        held_right=np.concatenate([plan.held_right[:at], nothing, plan.held_right[at:]]),
        work=np.concatenate([plan.work[:at], np.full(rows, Work.SHORT_ROWS, dtype=np.int64), plan.work[at:]]),
        sections=tuple(moved),
        fashionings=tuple(
            Narrowing(each.name, each.start + rows * (each.start >= at), each.steps, each.widening, each.side)
            for each in plan.fashionings
        ),
        gathers=tuple(Fold(each.course + rows * (each.course >= at), each.courses) for each in plan.gathers),
        bind_offs=tuple(
            BindOff(each.course + rows * (each.course >= at), each.left, each.right) for each in plan.bind_offs
        ),
        short_rows=tuple(
            sorted(
                [
                    ShortRows(insert.name, at, rows, returns=True),
                    *(replace(each, start=each.start + rows * (each.start >= at)) for each in plan.short_rows),
                ],
                key=lambda each: each.start,
            )
        ),
    )


def _shifted(section: Section, at: int, rows: int) -> Section:
    """A section after rows are put in: later ones move up, the one that holds them grows."""
    if section.start >= at and at:
        return Section(section.name, section.start + rows, section.courses)
    holds = section.start == 0 if at == 0 else section.start + section.courses >= at
    return Section(section.name, section.start + rows * (at == 0 and not holds), section.courses + rows * holds)


def spread_evenly(needles: int, steps: int) -> tuple[int, ...]:
    """Needles of each of `steps` steps, as even as whole needles allow, the larger ones first."""
    few, more = divmod(needles, steps)
    return (few + 1,) * more + (few,) * (steps - more)


def interleaved(needles: int, steps: int) -> tuple[int, ...]:
    """Needles of each of `steps` steps, as even as whole needles allow, the larger ones spread among the smaller.

    >>> made = interleaved(300, 35)    # P-23: 20 of 9 and 15 of 8
    >>> made.count(9), made.count(8)
    (20, 15)
    """
    places = [step * needles // steps for step in range(steps + 1)]
    return tuple(after - before for before, after in pairwise(places))


def split_edge(edge: Edge, courses: int, name: str) -> tuple[Stretch, ...]:
    """The last stretch of an edge in two at `courses` from its start, the upper one under another name."""
    *before, last = edge.stretches
    lower: list[Step] = []
    upper: list[Step] = []
    at = 0
    for step in last.steps:
        for _ in range(step.times):
            at += step.courses
            if at <= courses:
                lower.append(Step(1, step.needles, step.courses))
            else:
                since = at - courses if not upper else step.courses
                upper.append(Step(1, step.needles, since))
    runs = [grouped([(step.needles, step.courses) for step in part]) for part in (lower, upper)]
    return (
        *before,
        Stretch(last.name, courses, last.bind_off, runs[0], work=last.work),
        Stretch(name, last.courses - courses, 0, runs[1], work=last.work),
    )
