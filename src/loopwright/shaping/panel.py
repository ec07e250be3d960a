"""A knitted panel as it comes off the bed: needles in work in every course, and where loops are moved or held.

`PanelPlan` is what the machine, the yarn, the make-up and the drawing all read; nothing about a panel is kept twice.
Counting rule: a bind-off acts before its first course; a narrowing or widening acts after its interval; shoulder step
j is held after courses 2j; neck needles are taken before their two courses. All panels here are symmetrical.
Not covered: how a panel is planned (`body`, `sleeve`, `band`), its time (`machine`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from loopwright.shaping.fashioning import Steps, event_places

Whole = NDArray[np.int64]


class Work(IntEnum):
    """What the carriage does in a course or a pass; the timeline uses the same kinds."""

    START = 0
    RIB = 1
    PLAIN = 2
    CAP = 3
    SPLIT = 4
    SHORT_ROWS = 5
    NARROWING = 6
    TRANSFER = 7
    BIND_OFF = 8
    FINISH = 9
    EMPTY = 10

    @property
    def words(self) -> str:
        """As the reader sees it."""
        return {
            Work.RIB: "rib",
            Work.PLAIN: "body",
            Work.CAP: "sleeve cap",
            Work.SPLIT: "split at neck",
            Work.SHORT_ROWS: "short rows",
            Work.BIND_OFF: "binding off",
            Work.FINISH: "finish",
            Work.EMPTY: "empty traverse",
        }.get(self, self.name.lower())


@dataclass(frozen=True, slots=True)
class PanelGauge:
    """Needle places and visible courses per cm of the finished fabric of a panel, and of its rib."""

    needles_per_cm: float
    courses_per_cm: float
    rib_needles_per_cm: float
    rib_courses_per_cm: float


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the panel in main fabric: its name, first course and number of courses."""

    name: str
    start: int
    courses: int


@dataclass(frozen=True, slots=True)
class Narrowing:
    """Fashioning on both edges: `steps` from course `start` on; `widening` says which way."""

    name: str
    start: int
    steps: Steps
    widening: bool = False

    def places(self) -> Whole:
        """Courses of the main fabric knitted before each event."""
        return self.start + event_places(self.steps)[0]


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """A symmetrical panel.

    Args:
        name: "back", "front", "sleeve", "neckband".
        size: size of the garment.
        pieces: how many of it one garment takes.
        rib_needles, rib_courses: the rib that it starts with (0 courses: none).
        span: needle places from first to last in work, per course of the main fabric, shape (courses,).
        held: needles at the centre that do not knit in that course (neck), shape (courses,).
        work: kind of each course as `Work`, shape (courses,).
        sections: stretches by name.
        fashionings: narrowings and widenings.
        bind_offs: (course, needles on each side) bound off before a course.
        gauge: densities of the finished fabric.
        mark_needles: where loops are moved, in from the edge.
        neck_needles: needles of the whole neck edge.
        finish_needles: needles that the draft-off goes over.
    """

    name: str
    size: str
    pieces: int
    rib_needles: int
    rib_courses: int
    span: Whole
    held: Whole
    work: Whole
    sections: tuple[Section, ...]
    fashionings: tuple[Narrowing, ...]
    bind_offs: tuple[tuple[int, int], ...]
    gauge: PanelGauge
    mark_needles: int = 0
    neck_needles: int = 0
    finish_needles: int = 0

    @property
    def courses(self) -> int:
        """Courses of the main fabric."""
        return len(self.span)

    @property
    def loops(self) -> int:
        """Needle places × courses that knit in the main fabric of one piece."""
        return int(np.sum(self.span - self.held))

    @property
    def rib_loops(self) -> int:
        """Needle places × courses of the rib of one piece."""
        return self.rib_needles * self.rib_courses

    @property
    def widest(self) -> int:
        """Needles that the panel takes on the bed at its widest."""
        return int(max(self.rib_needles, self.span.max(initial=0)))

    @property
    def length_cm(self) -> float:
        """Real finished length, rib included."""
        return self.rib_length_cm + self.courses / self.gauge.courses_per_cm

    @property
    def rib_length_cm(self) -> float:
        """Real finished height of the rib."""
        return self.rib_courses / self.gauge.rib_courses_per_cm

    def section(self, name: str) -> Section:
        """A stretch by its name."""
        return next(section for section in self.sections if section.name == name)

    def fashioning(self, name: str) -> Narrowing | None:
        """A narrowing or widening by its name; none when the panel has none there."""
        return next((each for each in self.fashionings if each.name == name), None)

    def width_cm(self, course: int) -> float:
        """Real width at a course of the main fabric, first to last needle in work."""
        return float(self.span[course]) / self.gauge.needles_per_cm
