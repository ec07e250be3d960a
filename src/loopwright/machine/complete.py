"""Complete garments: body and sleeves knitted as tubes side by side on every second needle, then joined in the yoke.

The front of a tube lies on one bed and its back on the other; the needle opposite each loop stays empty so that it can
receive it, and so the fabric has half the machine's gauge. In: flat widths in wales (half of each round), courses, the
narrowings of the yoke; `VBed`. Out: needles and width on the bed, seconds section by section, minutes with spread.
Main assumptions: each tube course takes one traverse to and one fro over the whole width in work; in the yoke the
narrowings are spread evenly; short rows lay one course a traverse over the mean width of the yoke; the join and start
counts are assumed by us. Not covered: which structures can be knitted so (`half_gauge`), hem ribs knitted slower than
the tube, the stitch-by-stitch plan.
Source: spencer_2001 (principle); production reference 4.5.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.figure import Figure, Term, linear
from loopwright.machine.machine import VBed, carriage, carriage_figure
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.units import SECONDS_PER_MINUTE

NEEDLES_PER_WALE = 2  # every second needle knits
SIDES = 2  # front and back of a tube
EDGES_OF_A_BED = 4  # two joining lines on each bed, body and sleeve narrowed at each
MM_PER_M = 1000


@dataclass(frozen=True, slots=True)
class TubePlan:
    """A pullover in tubes; widths are flat, in wales of one bed (half the round).

    Args:
        body_wales, sleeve_wales: widths at the underarm.
        body_courses, sleeve_courses: tube courses from the edge to the underarm.
        yoke_courses: tube courses from the underarm to the neck.
        neck_wales: width at the neck.
        narrowings: narrowing events in the yoke, each on both beds.
        underarm_wales: wales of body and of sleeve joined off at each underarm, on one bed.
        short_row_courses: courses that raise the back neck.
        neck_courses: tube courses of the neck trim.

    Raises:
        Problem: widths or narrowings that do not go together.
    """

    body_wales: int
    sleeve_wales: int
    body_courses: int
    sleeve_courses: int
    yoke_courses: int
    neck_wales: int
    narrowings: int
    underarm_wales: int = 0
    short_row_courses: int = 0
    neck_courses: int = 0

    def __post_init__(self) -> None:
        least = min(self.body_wales, self.sleeve_wales, self.body_courses, self.sleeve_courses, self.yoke_courses)
        extras = min(self.narrowings, self.underarm_wales, self.short_row_courses, self.neck_courses)
        if least < 1 or extras < 0:
            raise Problem(
                "complete garment",
                f"a width or a length of {min(least, extras)}.",
                limit="at least 1 wale and 1 course of body, sleeve and yoke, and nothing below 0",
            )
        if not 0 < self.neck_wales <= self.joined_wales:
            raise Problem(
                "complete garment, yoke",
                f"the neck has {self.neck_wales} wales and the joined yoke {self.joined_wales}.",
                limit="the neck is no wider than the yoke that it closes",
                tries=["fewer wales joined off at the underarm", "a narrower neck"],
            )
        if self.narrowings > self.yoke_courses:
            raise Problem(
                "complete garment, yoke",
                f"{self.narrowings} narrowings in {self.yoke_courses} courses.",
                limit="one narrowing to a course",
                tries=["a longer yoke", "more wales to a narrowing"],
            )
        most = EDGES_OF_A_BED * int(_value("wales_per_edge"))
        if self.lost_wales > most * self.narrowings:
            raise Problem(
                "complete garment, yoke",
                f"{self.narrowings} narrowings have to take {self.lost_wales} wales from each bed.",
                limit=f"{most} wales to a narrowing, {most * self.narrowings} in all",
                tries=[f"{math.ceil(self.lost_wales / most)} narrowings", "more wales joined off at the underarm"],
            )

    @property
    def joined_wales(self) -> int:
        """Wales of one bed right after body and sleeves are joined."""
        return self.body_wales + SIDES * self.sleeve_wales - 4 * self.underarm_wales

    @property
    def lost_wales(self) -> int:
        """Wales that the yoke's narrowings take from one bed."""
        return self.joined_wales - self.neck_wales

    @property
    def knitting_needles(self) -> int:
        """Needles under the three tubes, gaps left out: 2·(body + 2·sleeve)."""
        return NEEDLES_PER_WALE * (self.body_wales + SIDES * self.sleeve_wales)


@dataclass(frozen=True, slots=True)
class Section:
    """Traverses of one part of the work: `width_m` summed over them, `speed_m_per_s`, racks, seconds standing."""

    name: str
    traverses: float
    width_m: float
    speed_m_per_s: float
    racks: float = 0.0
    still_s: float = 0.0

    def seconds(self, machine: VBed) -> float:
        """Σ (width + X)/v + t_r, racks and standing added."""
        travel = (self.width_m + self.traverses * machine.overrun.value) / self.speed_m_per_s
        return travel + self.traverses * machine.reversal.value + self.racks * machine.rack.value + self.still_s


@dataclass(frozen=True, slots=True)
class CompleteKnitting:
    """A complete garment on its machine: needles of bed it takes, sections in knitting order, minutes."""

    needles: int
    width_m: float
    sections: tuple[Section, ...]
    net: Figure
    standard: Figure

    def section(self, name: str) -> Section:
        """A section by its name."""
        return next(section for section in self.sections if section.name == name)


def complete_garment(plan: TubePlan, machine: VBed, *, courses_per_round_trip: float = 1.0) -> CompleteKnitting:
    """Needles, sections and minutes of a complete garment.

    `courses_per_round_trip`: tube courses that one traverse to and one fro lay in every tube; 1 unless several
    systems feed each tube.

    Raises:
        Problem: the bed is too narrow, or more courses to a round trip than systems.
    """
    if not 0 < courses_per_round_trip <= machine.systems:
        raise Problem(
            "complete garment",
            f"{courses_per_round_trip:g} tube courses to a round trip.",
            limit=f"{machine.systems} systems",
            tries=["1"],
        )
    gaps_m = SIDES * _value("gap") / MM_PER_M
    needles = plan.knitting_needles + math.ceil(gaps_m / machine.pitch_m)
    if needles > machine.needles:
        raise Problem(
            "complete garment",
            f"body and sleeves side by side take {needles} needles.",
            limit=f"{machine.needles} needles of bed ({machine.bed_in:g} in at {machine.gauge:g} gauge)",
            tries=["a longer bed", "sleeves knitted apart and linked on", "fewer wales"],
        )
    sections = tuple(_sections(plan, machine, gaps_m, SIDES / courses_per_round_trip))
    width_m = plan.knitting_needles * machine.pitch_m + gaps_m
    return CompleteKnitting(
        needles,
        width_m,
        sections,
        _minutes(sections, machine, with_stops=False),
        _minutes(sections, machine, with_stops=True),
    )


def _sections(plan: TubePlan, machine: VBed, gaps_m: float, per_course: float) -> Sequence[Section]:
    """Everything in knitting order; `per_course` traverses lay one tube course."""
    wale_m = NEEDLES_PER_WALE * machine.pitch_m
    tube, slow = machine.speed_plain.value * _tube_speed_share(), machine.speed("transfer")
    full_m = plan.knitting_needles * machine.pitch_m + gaps_m
    yoke_m = _yoke_widths(plan) * wale_m
    neck_m = plan.neck_wales * wale_m
    alone = max(plan.body_courses - plan.sleeve_courses, 0)  # the body waits for nobody: longer, it starts alone
    together = max(plan.body_courses, plan.sleeve_courses) - alone
    tubes_m = together * full_m + alone * plan.body_wales * wale_m
    before_m = float(yoke_m[_event_courses(plan) - 1].sum())
    moves = SIDES * plan.neck_wales * carriage("bind_off_moves")
    passes = _value("narrowing_traverses")
    rounds = plan.neck_courses * per_course
    return (
        Section("start", _value("start_traverses"), _value("start_traverses") * full_m, slow),
        Section("tubes to the underarm", (together + alone) * per_course, tubes_m * per_course, tube),
        Section("join", _value("join_traverses"), _value("join_traverses") * full_m, slow),
        Section("yoke", plan.yoke_courses * per_course, float(yoke_m.sum()) * per_course, tube),
        Section(
            "narrowing in the yoke",
            plan.narrowings * passes,
            passes * before_m,
            slow,
            plan.narrowings * _value("narrowing_racks"),
        ),
        Section("short rows", plan.short_row_courses, plan.short_row_courses * _mean(yoke_m, neck_m), tube),
        Section("neck", rounds, rounds * neck_m, tube),
        Section(
            "finish",
            _value("finish_traverses"),
            _value("finish_traverses") * neck_m,
            machine.speed("plain"),
            still_s=moves * carriage("bind_off_move"),
        ),
    )


def _event_courses(plan: TubePlan) -> NDArray[np.int64]:
    """Yoke courses after which loops are moved, 1 to `yoke_courses`, evenly spread, the last after the last course."""
    events = np.arange(1, plan.narrowings + 1)
    return np.ceil(events * plan.yoke_courses / max(plan.narrowings, 1) - 1e-9).astype(np.int64)


def _yoke_widths(plan: TubePlan) -> NDArray[np.float64]:
    """Wales of one bed in each course of the yoke, shape (yoke_courses,)."""
    done = np.searchsorted(_event_courses(plan), np.arange(plan.yoke_courses), side="right")
    return plan.joined_wales - plan.lost_wales * done / max(plan.narrowings, 1)


def _mean(widths: NDArray[np.float64], otherwise: float) -> float:
    return float(widths.mean()) if len(widths) else otherwise


def _minutes(sections: Sequence[Section], machine: VBed, *, with_stops: bool) -> Figure:
    running = machine.running_share.value if with_stops else 1.0
    scale = 1 / (SECONDS_PER_MINUTE * running)
    value = sum(section.seconds(machine) for section in sections) * scale
    by_name = {section.name: section for section in sections}
    travel = sum((each.width_m + each.traverses * machine.overrun.value) / each.speed_m_per_s for each in sections)
    narrowing = by_name["narrowing in the yoke"]
    passes_s = narrowing.seconds(machine) - narrowing.racks * machine.rack.value
    terms = [
        Term("v", machine.speed_plain, -travel / machine.speed_plain.value * scale),
        Term("X", machine.overrun, sum(each.traverses / each.speed_m_per_s for each in sections) * scale),
        Term("tᵣ", machine.reversal, sum(each.traverses for each in sections) * scale),
        Term("t_rack", machine.rack, narrowing.racks * scale),
        Term("n_narrow", _figure("narrowing_traverses"), passes_s / _value("narrowing_traverses") * scale),
        Term("n_join", _figure("join_traverses"), _each(by_name["join"], machine) * scale),
        Term("n_start", _figure("start_traverses"), _each(by_name["start"], machine) * scale),
        Term("t_bind", carriage_figure("bind_off_move"), by_name["finish"].still_s / carriage("bind_off_move") * scale),
    ]
    if with_stops:
        terms.append(Term("η", machine.running_share, -value / running))
    stops = ", over the running share" if with_stops else ""
    return linear(
        "knitting of a complete garment",
        value,
        "min",
        terms,
        words=f"every carriage traverse from the first row to the neck, added up{stops}",
        formula="Σ [(N·p + X)/v + tᵣ] / (60·η)" if with_stops else "Σ [(N·p + X)/v + tᵣ] / 60",
        source="production reference 4.5",
    )


def _each(section: Section, machine: VBed) -> float:
    return section.seconds(machine) / section.traverses


def _tube_speed_share() -> float:
    """Speed of a tube over that of plain."""
    return _value("speed_tube") / carriage("speed_plain")


def _value(name: str) -> float:
    return table(__package__, "complete").by("quantity")[name]["value"]


def _figure(name: str) -> Figure:
    row = table(__package__, "complete").by("quantity")[name]
    return row.figure(name.replace("_", " "), "value", "", words="counted by habit; watch one garment to settle it")
