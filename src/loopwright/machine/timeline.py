"""The stroke timeline of a panel: every carriage traverse with its kind, needles, feeds and seconds, as arrays.

Per traverse t = (N·p + X)/v + t_r, with N the span of needles in work (widest of its courses), X the overrun, v the
speed of the kind of work, t_r the reversal. Narrowings, racks, joins and bind-offs are counted as the carriage table
says. In: `PanelPlan`, the structures, `VBed`. Out: `Timeline`. Assumptions: an unworked neck inside the span is not
deducted; sleeve cap, neck split and short rows lay one course per traverse (a neck split on one
system lays its halves one after the other); transfer passes of a structure stand after the feeds of their stretch.
Not covered: stops (`minutes` divides by the running share). Source: production reference 4.1-4.3.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.machine.machine import VBed, carriage
from loopwright.machine.traverses import Beds, lay, parked_left
from loopwright.shaping.panel import PanelPlan, Side, Whole, Work
from loopwright.structure.library import Structure
from loopwright.structure.notation import Feed, Move

Seconds = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Timeline:
    """Traverses of one piece in knitting order; all arrays have shape (traverses,).

    `kind` as `Work`, `needles` the span, `speed_m_per_s`, `racks` made at the end, `still_s` seconds not moving across
    (bind-off moves), `seconds` the total. A bind-off is one entry whose time is all in `still_s`.
    """

    kind: Whole
    needles: Whole
    feeds: Whole
    speed_m_per_s: Seconds
    racks: Whole
    still_s: Seconds
    seconds: Seconds

    @property
    def total_s(self) -> float:
        """Seconds of the piece."""
        return float(self.seconds.sum())

    @property
    def traverses(self) -> int:
        """Carriage traverses (bind-off moves not counted)."""
        return int(np.count_nonzero(self.speed_m_per_s))

    def seconds_by_kind(self) -> dict[Work, float]:
        """Seconds of each kind of work that occurs."""
        sums = np.bincount(self.kind, weights=self.seconds, minlength=len(Work))
        return {Work(kind): float(sums[kind]) for kind in np.unique(self.kind).tolist()}

    def stretches(self) -> list[tuple[Work, float, float]]:
        """(kind, start second, end second) of each run of one kind, in order: what a picture draws."""
        edges = np.flatnonzero(np.diff(self.kind)) + 1
        starts = np.concatenate([[0], edges])
        ends = np.concatenate([edges, [len(self.kind)]])
        clock = np.concatenate([[0.0], np.cumsum(self.seconds)])
        return [
            (Work(int(self.kind[start])), float(clock[start]), float(clock[end]))
            for start, end in zip(starts, ends, strict=True)
        ]


@dataclass(frozen=True, slots=True)
class _Block:
    """Traverses of one kind before they are timed."""

    kind: Work
    needles: Whole
    feeds: Whole
    speed: str
    racks: int = 0
    still_s: float = 0.0


def panel_timeline(panel: PanelPlan, main: Structure, rib: Structure, machine: VBed) -> Timeline:
    """Walk every traverse of one piece of a panel."""
    return _timed(list(_blocks(panel, main, rib, machine)), machine)


def _blocks(panel: PanelPlan, main: Structure, rib: Structure, machine: VBed) -> Iterator[_Block]:
    family = "neckband" if not panel.courses else "sleeve" if panel.zone == "sleeve" else "body"
    first = panel.rib_needles if panel.rib_courses or not panel.courses else int(panel.span[0])
    yield _passes(Work.START, first, int(carriage(f"start_{family}")), "transfer")
    if panel.rib_courses:
        widths = np.full(panel.rib_courses, panel.rib_needles, dtype=np.int64)
        yield from _Walk(rib, machine).knit(Work.RIB, widths)
    if panel.courses:
        if panel.rib_courses and main.anatomy.beds < rib.anatomy.beds:
            yield _passes(Work.TRANSFER, panel.rib_needles, int(carriage("join_traverses")), "join")
        yield from _main(panel, main, machine)
    yield _passes(Work.FINISH, panel.finish_needles, int(carriage(f"finish_{family}")), "plain")


def _main(panel: PanelPlan, main: Structure, machine: VBed) -> Iterator[_Block]:
    """Main fabric cut at every event and change of work; the carriers keep their places across the cuts."""
    events = _events(panel, main.anatomy.beds)
    changes = (np.flatnonzero(np.diff(panel.work)) + 1).tolist()
    folds = {fold.course: fold.courses for fold in panel.gathers}
    cuts = sorted({0, panel.courses, *changes, *folds, *(course for course in events if course <= panel.courses)})
    walk = _Walk(main, machine)
    for start, end in zip(cuts, [*cuts[1:], None], strict=True):
        yield from events.get(start, ())
        if start in folds:
            widths = np.full(folds[start], int(panel.span[start]), dtype=np.int64)
            yield from walk.knit(Work.SHORT_ROWS, widths)
        if end is not None and end > start:
            kind = Work(int(panel.work[start]))
            yield from walk.knit(kind, panel.span[start:end])


def _events(panel: PanelPlan, beds: int) -> dict[int, list[_Block]]:
    """Bind-offs and narrowings by the course before which they happen; loops of both beds have to be moved."""
    events: dict[int, list[_Block]] = {}
    for bound in panel.bind_offs:
        moves = bound.needles * carriage("bind_off_moves")
        still = np.zeros(1, dtype=np.int64)
        events.setdefault(bound.course, []).append(
            _Block(Work.BIND_OFF, still, still, "still", still_s=moves * carriage("bind_off_move"))
        )
    for course, share in narrowing_places(panel).items():
        before = int(panel.span[course - 1])
        traverses, racks = (round(share * carriage(f"narrowing_{each}")) for each in ("traverses", "racks"))
        events.setdefault(course, []).append(
            _passes(Work.NARROWING, before, beds * traverses, "transfer", beds * racks)
        )
    return events


def narrowing_places(panel: PanelPlan) -> dict[int, float]:
    """Courses of the narrowings, each with its share of the strokes that both edges take together.

    Both edges at one course are one event; an edge alone takes less, but more than half.
    """
    alone = carriage("narrowing_share_one_side")
    shares: dict[int, float] = {}
    sides: dict[int, set[Side]] = {}
    for fashioning in panel.fashionings:
        if fashioning.widening:
            continue
        for course in fashioning.places().tolist():
            if fashioning.side in (Side.LEFT, Side.RIGHT):
                sides.setdefault(course, set()).add(fashioning.side)
            else:
                shares[course] = shares.get(course, 0.0) + 1.0
    for course, found in sides.items():
        shares[course] = shares.get(course, 0.0) + (1.0 if len(found) > 1 else alone)
    return shares


class _Walk:
    """Lays the feeds of a structure over stretches of courses, keeping carriers and pattern phase between them."""

    def __init__(self, structure: Structure, machine: VBed) -> None:
        self.structure = structure
        self.machine = machine
        anatomy = structure.anatomy
        self.beds: Beds = parked_left(anatomy.yarns, machine.carriers if len(anatomy.yarns) == 1 else 1)
        self.pattern = tuple(feed.yarn for feed in structure.notation.feeds)
        self.phase = 0
        self.courses = 0
        self.speed = "plain" if anatomy.beds == 1 and not anatomy.tucks and not anatomy.moved_loops else "rib"
        if anatomy.moved_loops:
            self.speed = "transfer"

    def knit(self, kind: Work, widths: Whole) -> Iterator[_Block]:
        """Traverses for courses of these widths."""
        if kind is Work.SPLIT and self.machine.systems == 1:
            widths = np.repeat((widths + 1) // 2, 2)  # one carrier knits the halves one after the other
        systems = 1 if kind in (Work.CAP, Work.SPLIT, Work.SHORT_ROWS) else self.machine.systems
        per_course = self.structure.anatomy.passes_per_course
        before, self.courses = self.courses, self.courses + len(widths)
        feeds = round(per_course * self.courses) - round(per_course * before)
        if not feeds:
            return
        course_of_feed = np.minimum((np.arange(feeds) / per_course).astype(np.int64), len(widths) - 1)
        laid = lay(self.pattern, self.phase, feeds, systems, self.beds)
        self.beds = laid.beds
        self.phase = (self.phase + feeds) % len(self.pattern)
        counts = np.array(laid.feeds, dtype=np.int64)
        yield _Block(kind, _widest(widths[course_of_feed], counts), counts, self.speed)
        yield from self._moves(feeds, widths)

    def _moves(self, feeds: int, widths: Whole) -> Iterator[_Block]:
        """Transfer passes that the structure makes in these feeds, at their mean width."""
        notation = self.structure.notation
        passes = sum(isinstance(step, Move) for step in notation.steps)
        if passes:
            repeats = feeds / sum(isinstance(step, Feed) for step in notation.steps)
            count = round(passes * repeats)
            racks = round(self.structure.anatomy.racks * repeats)
            width = int(np.ceil(widths.mean()))
            needles = np.full(count, width, dtype=np.int64)
            yield _Block(Work.TRANSFER, needles, np.zeros(count, dtype=np.int64), "transfer", racks=racks)


def _widest(widths: Whole, counts: Whole) -> Whole:
    """Widest feed of each traverse; an empty traverse has the width of the feed before it."""
    ends = np.cumsum(counts)
    starts = np.minimum(ends - counts, len(widths) - 1)
    widest = np.maximum.reduceat(widths, starts) if len(starts) else widths
    single = counts == 0
    widest[single] = widths[np.maximum(ends[single] - 1, 0)]
    return widest


def _passes(kind: Work, needles: int, count: int, speed: str, racks: int = 0) -> _Block:
    each = np.full(count, needles, dtype=np.int64)
    return _Block(kind, each, np.zeros(count, dtype=np.int64), speed, racks)


def _timed(blocks: list[_Block], machine: VBed) -> Timeline:
    blocks = [block for block in blocks if len(block.needles)]
    sizes = [len(block.needles) for block in blocks]
    speeds = [0.0 if block.speed == "still" else machine.speed(block.speed) for block in blocks]
    kind = np.repeat(np.array([block.kind for block in blocks], dtype=np.int64), sizes)
    needles = np.concatenate([block.needles for block in blocks])
    feeds = np.concatenate([block.feeds for block in blocks])
    speed = np.repeat(np.array(speeds), sizes)
    last = np.cumsum(sizes) - 1
    racks = np.zeros(len(kind), dtype=np.int64)
    racks[last] = [block.racks for block in blocks]
    still = np.zeros(len(kind))
    still[last] = [block.still_s for block in blocks]
    moving = speed > 0
    travel = np.divide(needles * machine.pitch_m + machine.overrun.value, speed, out=np.zeros(len(kind)), where=moving)
    seconds = travel + machine.reversal.value * moving + racks * machine.rack.value + still
    empty = moving & (feeds == 0) & np.isin(kind, (Work.RIB, Work.PLAIN, Work.CAP, Work.SPLIT, Work.SHORT_ROWS))
    kind[empty] = Work.EMPTY
    return Timeline(kind, needles, feeds, speed, racks, still, seconds)
