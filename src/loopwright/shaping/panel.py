"""A knitted panel as it comes off the bed: needles in work in every course, and where loops are moved or held.

`PanelPlan` is what the machine, the yarn, the make-up and the drawing all read; nothing about a panel is kept twice.
Counting rule: a bind-off acts before its first course; a narrowing or widening acts after its interval; shoulder step
j is held after courses 2j; neck needles are taken before their two courses.
Not covered: how a panel is planned (`edges`, `body`, `sleeve`, `blocks`), its time (`machine`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from functools import cached_property

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


class Side(StrEnum):
    """Which edges of a panel a fashioning is on."""

    BOTH = "both"
    LEFT = "left"
    RIGHT = "right"
    NECK = "neck"

    @property
    def words(self) -> str:
        """As the knit-down says it."""
        both = {Side.BOTH: "at each side", Side.NECK: "at each side of the neck"}
        return both.get(self, f"at the {self.value}")


@dataclass(frozen=True, slots=True)
class Narrowing:
    """Fashioning of an edge: `steps` from course `start` on; `widening` says which way, `side` on which edges."""

    name: str
    start: int
    steps: Steps
    widening: bool = False
    side: Side = Side.BOTH

    def places(self) -> Whole:
        """Courses of the main fabric knitted before each event."""
        return self.start + event_places(self.steps)[0]


@dataclass(frozen=True, slots=True)
class BindOff:
    """Needles bound off before a course, at the left and at the right edge."""

    course: int
    left: int
    right: int

    @property
    def needles(self) -> int:
        """Both edges together."""
        return self.left + self.right


@dataclass(frozen=True, slots=True)
class ShortRows:
    """Courses that only a part of the needles knits: what they are for, first course, how many.

    `returns` says whether all needles knit again afterwards (a dart, a dropped hem) or stay held (a shoulder).
    """

    name: str
    start: int
    courses: int
    returns: bool = False


@dataclass(frozen=True, slots=True)
class Fold:
    """A fold of ruching: courses that one bed knits before a course while the other bed holds its loops."""

    course: int
    courses: int


@dataclass(frozen=True)
class PanelPlan:
    """A panel. Needles are counted to the left and to the right of its centre line (a half front: of its front edge).

    Args:
        name: "back", "front", "sleeve", "neckband".
        size: size of the garment.
        pieces: how many of it one garment takes; two of a panel that is not symmetrical are mirrored.
        zone, rib_zone: zones of its main fabric and of the rib it starts with.
        rib_needles, rib_courses: the rib that it starts with (0 courses: none).
        left, right: needle places in work to each side of the centre line, per course of the main fabric, shape
            (courses,); either may be negative where the other reaches over the line.
        held_left, held_right: needles beside the centre line that do not knit in that course (neck), shape (courses,).
        work: kind of each course as `Work`, shape (courses,).
        sections: stretches by name.
        fashionings: narrowings and widenings.
        bind_offs: needles bound off before a course.
        gauge: densities of the finished fabric.
        mark_needles: where loops are moved, in from the edge.
        neck_needles: needles of the whole neck edge.
        finish_needles: needles that the draft-off goes over.
        short_rows: partial courses by what they are for.
        is_half: whether it is one half of a body, with its straight edge at the origin.
        gathers: folds of ruching.
        slack: loop length over the loop length of its zone, by section; a section that is not named has 1.
    """

    name: str
    size: str
    pieces: int
    rib_needles: int
    rib_courses: int
    left: Whole
    right: Whole
    held_left: Whole
    held_right: Whole
    work: Whole
    sections: tuple[Section, ...]
    fashionings: tuple[Narrowing, ...]
    bind_offs: tuple[BindOff, ...]
    gauge: PanelGauge
    zone: str = "body"
    rib_zone: str = "hem"
    mark_needles: int = 0
    neck_needles: int = 0
    finish_needles: int = 0
    short_rows: tuple[ShortRows, ...] = ()
    is_half: bool = False
    gathers: tuple[Fold, ...] = ()
    slack: tuple[tuple[str, float], ...] = ()

    @cached_property
    def span(self) -> Whole:
        """Needle places from first to last in work, per course of the main fabric, shape (courses,)."""
        return self.left + self.right

    @cached_property
    def held(self) -> Whole:
        """Needles within the span that do not knit in that course, shape (courses,)."""
        return self.held_left + self.held_right

    @property
    def is_symmetrical(self) -> bool:
        """Whether its left half is the mirror of its right half."""
        return bool(np.array_equal(self.left, self.right) and np.array_equal(self.held_left, self.held_right))

    @property
    def courses(self) -> int:
        """Courses of the main fabric."""
        return len(self.left)

    @property
    def loops(self) -> int:
        """Needle places × courses that knit in the main fabric of one piece, gathered ones included."""
        gathered = sum(fold.courses * int(self.span[fold.course]) for fold in self.gathers)
        return int(np.sum(self.span - self.held)) + gathered

    @cached_property
    def slack_of_courses(self) -> NDArray[np.float64]:
        """Loop length over the zone's in every course, shape (courses,); loops are as much wider and higher."""
        slack, named = np.ones(self.courses), dict(self.slack)
        for section in self.sections:
            slack[section.start : section.start + section.courses] = named.get(section.name, 1.0)
        return slack

    @property
    def mean_slack(self) -> float:
        """Mean loop length of the main fabric over the zone's."""
        if not self.slack or not self.loops:
            return 1.0
        return float(np.average(self.slack_of_courses, weights=self.span - self.held))

    @property
    def rib_loops(self) -> int:
        """Needle places × courses of the rib of one piece."""
        return self.rib_needles * self.rib_courses

    @property
    def widest(self) -> int:
        """Needles that the panel takes on the bed at its widest."""
        reach = int(self.left.max(initial=0)) + int(self.right.max(initial=0))
        return max(self.rib_needles, reach)

    @property
    def length_cm(self) -> float:
        """Real finished length along its longest wale, rib included."""
        return self.rib_length_cm + self._longest_wale / self.gauge.courses_per_cm

    @cached_property
    def _longest_wale(self) -> float:
        """Most courses that one needle knits, each as high as its loops are long; beside a neck all of them."""
        if not self.courses or self.neck_needles:
            return float(self.slack_of_courses.sum())
        origin = int(self.left.max())
        starts, ends = np.zeros(origin + int(self.right.max()) + 1), np.zeros(origin + int(self.right.max()) + 1)
        np.add.at(starts, origin - self.left, self.slack_of_courses)
        np.add.at(ends, origin + self.right, self.slack_of_courses)
        return float(np.cumsum(starts - ends).max())

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

    def side_words(self, side: Side) -> str:
        """Which edges a fashioning is on, as the knit-down says it; a half has one edge that is shaped."""
        return "at the outer edge" if self.is_half and side is Side.RIGHT else side.words

    def width_cm(self, course: int) -> float:
        """Real width at a course of the main fabric, first to last needle in work."""
        return float(self.span[course] * self.slack_of_courses[course]) / self.gauge.needles_per_cm
