"""Circular machines: needles, metres and kilograms an hour, open width, and whether the cylinder turns too fast.

In: gauge in needles per inch, cylinder diameter in inches, feeds, turns a minute, running share; of the cloth courses
and wales per cm, loop length in mm, count in tex. Out: `CircularMachine` and figures with spread.
Main assumption: every feed knits in every turn, and the cloth leaves as it is counted (give the courses and wales of
the state in which it is measured). Not covered: stripers, and cutting of the cloth (`makeup.marker`).
Sources: circular_calculation, jersey_nominal_2011, circular_capacity, common_practice; production reference 4.6.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.figure import Figure, Term, entered, plain, power_law
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import Row, table
from loopwright.units import MINUTES_PER_HOUR, MM_PER_INCH, SECONDS_PER_MINUTE

CM_PER_M = 100
MM_PER_M = 1000
MG_PER_KG = 1e6


def cylinder_needles(*, gauge: float, diameter_in: float) -> int:
    """Needles of a cylinder, π·D·G to the nearest even number; makers may round otherwise by a few.

    >>> cylinder_needles(gauge=18, diameter_in=30)    # P-42 counts π·D·G = 1 696.5
    1696
    """
    return 2 * math.floor(math.pi * diameter_in * gauge / 2 + 0.5)


def rows_per_minute(*, feeds: float, turns_per_min: float, running_share: float, feeds_per_row: float = 1) -> float:
    """Rows a minute of any machine, P = F·R·η/C; on a flat bed each traverse counts as a turn.

    >>> rows = rows_per_minute(feeds=1, turns_per_min=2 * 25, running_share=0.9)    # P-33: 25 strokes there and back
    >>> round(rows * 60), round(rows * 60 / 250, 1)    # courses an hour, pieces of 250 courses an hour
    (2700, 10.8)
    """
    return feeds * turns_per_min * running_share / feeds_per_row


def length_m_per_h(
    *, feeds: float, rpm: float, running_share: float, courses_per_cm: float, feeds_per_course: float = 1
) -> float:
    """Metres of cloth an hour: rpm·F·60·η / (F_c·c·100).

    >>> an_hour = length_m_per_h(feeds=108, rpm=36, running_share=0.87, courses_per_cm=20)
    >>> round(8 * an_hour, 1)    # P-40, a shift of 8 h
    811.8
    """
    rows = rows_per_minute(feeds=feeds, turns_per_min=rpm, running_share=running_share, feeds_per_row=feeds_per_course)
    return rows * MINUTES_PER_HOUR / (courses_per_cm * CM_PER_M)


def mass_kg_per_h(
    *, loops_per_turn: float, feeds: float, rpm: float, loop_length_mm: float, count_tex: float, running_share: float
) -> float:
    """Kilograms of cloth an hour: loops·F·rpm·60·l·T·η·10⁻⁹, loops counted for one feed and one turn.

    >>> jersey = mass_kg_per_h(
    ...     loops_per_turn=2260, feeds=90, rpm=26, loop_length_mm=4, count_tex=590.54 / 24, running_share=0.85
    ... )
    >>> round(jersey, 2)    # P-41
    26.55
    """
    metres = loops_per_turn * feeds * rpm * MINUTES_PER_HOUR * running_share * loop_length_mm / MM_PER_M
    return metres * count_tex / MG_PER_KG


def rim_speed_m_per_s(*, diameter_in: float, rpm: float) -> float:
    """Speed of the cylinder's rim: π·D·rpm/60.

    >>> round(rim_speed_m_per_s(diameter_in=30, rpm=35), 3)    # production reference 12.1
    1.396
    """
    return math.pi * diameter_in * MM_PER_INCH / MM_PER_M * rpm / SECONDS_PER_MINUTE


@dataclass(frozen=True, slots=True)
class CircularMachine:
    """A circular machine; `needles` are those of the cylinder, `rpm` and `running_share` figures with spread."""

    kind: str
    gauge: float
    diameter_in: float
    needles: int
    feeds: int
    rpm: Figure
    running_share: Figure

    @property
    def loops_per_turn(self) -> float:
        """Loops that one feed knits in one turn, dial included."""
        return self.needles * kinds()[self.kind]["loops_per_needle"]

    @property
    def feeds_per_course(self) -> float:
        """Feeds that make one visible course."""
        return kinds()[self.kind]["feeds_per_course"]

    def metres_per_hour(self, courses_per_cm: Figure) -> Figure:
        """Metres of cloth an hour."""
        value = length_m_per_h(
            feeds=self.feeds,
            rpm=self.rpm.value,
            running_share=self.running_share.value,
            courses_per_cm=courses_per_cm.value,
            feeds_per_course=self.feeds_per_course,
        )
        terms = [*self._speed_terms(), Term("c", courses_per_cm, -1)]
        words = "courses of all feeds in an hour over the courses in a metre"
        return power_law("cloth an hour", value, "m/h", terms, words=words, formula="rpm·F·60·η/(F_c·c·100)")

    def kilograms_per_hour(self, loop_length_mm: Figure, count_tex: Figure) -> Figure:
        """Kilograms of cloth an hour."""
        value = mass_kg_per_h(
            loops_per_turn=self.loops_per_turn,
            feeds=self.feeds,
            rpm=self.rpm.value,
            loop_length_mm=loop_length_mm.value,
            count_tex=count_tex.value,
            running_share=self.running_share.value,
        )
        terms = [*self._speed_terms(), Term("l", loop_length_mm), Term("T", count_tex)]
        words = "loops of all feeds in an hour, by the yarn in a loop"
        return power_law("cloth an hour, mass", value, "kg/h", terms, words=words, formula="N·F·rpm·60·l·T·η·10⁻⁹")

    def open_width_m(self, wales_per_cm: Figure) -> Figure:
        """Width of the cloth slit open: N/(w·100)."""
        value = self.needles / (wales_per_cm.value * CM_PER_M)
        terms = [Term("w", wales_per_cm, -1)]
        words = "wales of the whole round side by side, nothing lost at the slit"
        return power_law("open width", value, "m", terms, words=words, formula="N/(w·100)")

    def minutes_for_length(self, length_m: Figure, courses_per_cm: Figure) -> Figure:
        """Minutes, stops included, for a length of cloth."""
        pace = self.metres_per_hour(courses_per_cm)
        terms = [Term("L", length_m), Term("P", pace, -1)]
        value = MINUTES_PER_HOUR * length_m.value / pace.value
        return power_law("knitting of the cloth", value, "min", terms, words="length over pace", formula="60·L/P")

    def speed_findings(self) -> tuple[Finding, ...]:
        """What to know when the rim runs faster than machines of this kind usually do; empty when it does not."""
        row = kinds()[self.kind]
        rim = rim_speed_m_per_s(diameter_in=self.diameter_in, rpm=self.rpm.value)
        usual = row["rim_m_per_s_high"]
        if rim <= usual:
            return ()
        slower = math.floor(self.rpm.value * usual / rim)
        sentence = (
            f"{self.rpm.value:g} turns a minute on {self.diameter_in:g} in move the needles at {plain(rim, 2)} m/s; "
            f"{self.kind} usually runs up to {plain(usual, 1)} m/s."
        )
        tries = (f"{slower} turns a minute", "ask the mill what it runs")
        return (Finding(Sign.KNOW, "circular machine", sentence, tries, weight=rim / usual - 1, source=row.source),)

    def _speed_terms(self) -> list[Term]:
        return [Term("rpm", self.rpm), Term("η", self.running_share)]


def circular_machine(
    *,
    kind: str,
    gauge: float,
    diameter_in: float,
    feeds: int,
    rpm: float | None = None,
    running_share: float | None = None,
    needles: int | None = None,
) -> CircularMachine:
    """A circular machine; turns and running share left out take the usual ones of its kind.

    Raises:
        Problem: no such kind, no feeds, or a running share that is none.
    """
    row = kind_row(kind)
    if not (gauge > 0 and diameter_in > 0 and feeds >= 1):
        raise Problem(
            "circular machine",
            f"{feeds} feeds on {diameter_in:g} in at gauge {gauge:g}; each must be above 0.",
            tries=["about 3 feeds for an inch of diameter"],
        )
    if running_share is not None and not 0 < running_share <= 1:
        raise Problem("circular machine", f"running {running_share:g} of the time.", limit="above 0, at most 1")
    share = row.figure("running share of the time", "running_share", "", words="stops and mending taken off")
    return CircularMachine(
        kind=kind,
        gauge=gauge,
        diameter_in=diameter_in,
        needles=needles or cylinder_needles(gauge=gauge, diameter_in=diameter_in),
        feeds=feeds,
        rpm=_usual_rpm(row, diameter_in) if rpm is None else entered("turns a minute", rpm, "1/min"),
        running_share=share if running_share is None else entered(share.name, running_share, ""),
    )


def _usual_rpm(row: Row, diameter_in: float) -> Figure:
    """Turns a minute at the usual rim speed."""
    rim = row.figure("speed of the rim", "rim_m_per_s", "m/s", words="usual for the kind of machine")
    value = rim.value / rim_speed_m_per_s(diameter_in=diameter_in, rpm=1)
    words = "usual speed of the rim over its way round"
    return power_law("turns a minute", value, "1/min", [Term("v", rim)], words=words, formula="60·v/(π·D)")


def kinds() -> Mapping[str, Row]:
    """Kinds of circular machine: "single jersey", "rib", "interlock"."""
    return table(__package__, "circular_kinds").by("kind")


def kind_row(kind: str) -> Row:
    """The row of a kind of circular machine.

    Raises:
        Problem: no such kind.
    """
    if kind not in kinds():
        raise Problem("circular machine", f"“{kind}” is no kind known here.", tries=[f"one of {', '.join(kinds())}"])
    return kinds()[kind]
