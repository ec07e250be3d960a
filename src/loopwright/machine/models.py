"""Generic machines to start from: V-beds, circular machines and hosiery cylinders, by name or by gauge.

All are invented and say so; a mill's own list takes their place. In: a name or a gauge. Out: `FlatModel` (with its
`VBed`), `CircularMachine`, `Cylinder`. A flat model knows what it cannot take: needles, carriers, colour areas.
Not covered: speeds (`machine`), prices (`cost.machine_hour`). Sources: house; bed widths of production reference 3.1.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

from loopwright.machine.circular import CircularMachine, circular_machine
from loopwright.machine.hosiery import Cylinder
from loopwright.machine.machine import VBed, v_bed
from loopwright.problems import Problem
from loopwright.sources.table import Row, table
from loopwright.units import quantity


@dataclass(frozen=True, slots=True)
class FlatModel:
    """A V-bed machine to choose.

    `carriers` of all kinds, `intarsia_carriers` of them for colour areas. `holds_down`: sinkers or a presser keep held
    loops down; what that changes stands in `most_held_courses` (courses a needle may hold its loop while others knit)
    and `least_courses_between_narrowings` of one edge.
    """

    name: str
    gauge: float
    bed_in: float
    systems: int
    carriers: int
    intarsia_carriers: int
    holds_down: bool
    most_held_courses: int
    least_courses_between_narrowings: int
    knits_complete_garments: bool
    fewest_needles: int
    source: str

    @property
    def most_needles(self) -> int:
        """Needles of a bed."""
        return self.v_bed().needles

    def v_bed(self, settings: Mapping[str, float] | None = None) -> VBed:
        """The machine for the timeline, with the trade's settings and the person's own in their place."""
        return v_bed(gauge=self.gauge, bed_in=self.bed_in, systems=self.systems, settings=settings)

    def check_needles(self, needles: int) -> None:
        """Refuse a panel wider than the bed, or too narrow to take down evenly.

        Raises:
            Problem: with the needles asked and the limit.
        """
        if needles > self.most_needles:
            limit, tries = f"{self.most_needles} needles of bed", ("a longer bed", "two pieces with a seam")
        elif needles < self.fewest_needles:
            limit, tries = f"at least {self.fewest_needles} needles", ("two pieces side by side", "a finer gauge")
        else:
            return
        raise Problem(f"machine {self.name}", f"{needles} needles asked.", limit=limit, tries=tries)

    def check_carriers(self, carriers: int) -> None:
        """Refuse a structure that asks for more yarn carriers than there are.

        Raises:
            Problem: with both numbers.
        """
        if carriers > self.carriers:
            raise Problem(
                f"machine {self.name}",
                f"{carriers} yarn carriers asked.",
                limit=f"{self.carriers} on this machine",
                tries=["fewer colours", "one carrier for each colour"],
            )

    def check_intarsia(self, areas: int) -> None:
        """Refuse more colour areas in a course than there are intarsia carriers.

        Raises:
            Problem: with both numbers.
        """
        if areas > self.intarsia_carriers:
            raise Problem(
                f"machine {self.name}",
                f"{areas} colour areas in one course.",
                limit=f"{self.intarsia_carriers} intarsia carriers",
                tries=["fewer areas", "jacquard instead of intarsia", "a machine for intarsia"],
            )


@cache
def flat_models() -> Mapping[str, FlatModel]:
    """All V-beds by name, coarse to fine."""
    return MappingProxyType({row.text("name"): _flat(row) for row in table(__package__, "flat_machines")})


def _flat(row: Row) -> FlatModel:
    return FlatModel(
        name=row.text("name"),
        gauge=row["gauge"],
        bed_in=quantity(row.text("bed_in"), "in"),
        systems=int(row["systems"]),
        carriers=int(row["carriers"]),
        intarsia_carriers=int(row["intarsia_carriers"]),
        holds_down=row.text("holds_down") == "yes",
        most_held_courses=int(row["most_held_courses"]),
        least_courses_between_narrowings=int(row["least_courses_between_narrowings"]),
        knits_complete_garments=row.text("complete_garment") == "yes",
        fewest_needles=int(row["fewest_needles"]),
        source=row.source,
    )


def flat_model(name: str) -> FlatModel:
    """A V-bed by its name.

    >>> flat_model("compact 12").v_bed().systems
    2

    Raises:
        Problem: no such machine.
    """
    return flat_models()[_known(name, flat_models(), "V-bed")]


def flat_models_of_gauge(gauge: float) -> tuple[FlatModel, ...]:
    """V-beds of a gauge, widest bed last.

    Raises:
        Problem: no machine of that gauge.
    """
    found = [model for model in flat_models().values() if model.gauge == gauge]
    if not found:
        gauges = sorted({model.gauge for model in flat_models().values()})
        nearest = min(gauges, key=lambda each: abs(each - gauge))
        raise Problem(
            "machine.gauge",
            f"no V-bed of {gauge:g} gauge is listed.",
            limit=f"listed gauges {', '.join(f'{each:g}' for each in gauges)}",
            tries=[f"{nearest:g} gauge", "enter your own machine"],
        )
    return tuple(sorted(found, key=lambda model: model.bed_in))


@cache
def circular_models() -> Mapping[str, CircularMachine]:
    """All circular machines by name."""
    return MappingProxyType({row.text("name"): _circular(row) for row in table(__package__, "circular_machines")})


def _circular(row: Row) -> CircularMachine:
    machine = circular_machine(
        kind=row.text("kind"),
        gauge=row["gauge"],
        diameter_in=quantity(row.text("diameter_in"), "in"),
        feeds=int(row["feeds"]),
    )
    return replace(machine, rpm=row.figure("turns a minute", "rpm", "1/min", words="of an invented machine"))


@cache
def cylinders() -> Mapping[str, Cylinder]:
    """All hosiery cylinders by name."""
    return MappingProxyType({row.text("name"): _cylinder(row) for row in table(__package__, "hosiery_cylinders")})


def _cylinder(row: Row) -> Cylinder:
    return Cylinder(
        name=row.text("name"),
        diameter_in=quantity(row.text("diameter_in"), "in"),
        needles=int(row["needles"]),
        feeds=int(row["feeds"]),
        most_rpm=row["rpm"],
    )


def cylinder(name: str) -> Cylinder:
    """A hosiery cylinder by its name.

    Raises:
        Problem: no such cylinder.
    """
    return cylinders()[_known(name, cylinders(), "hosiery cylinder")]


def _known(name: str, names: Iterable[str], what: str) -> str:
    """The listed name that is meant, whatever its case and spaces."""
    wanted = " ".join(name.casefold().split())
    known = list(names)
    if wanted in known:
        return wanted
    near = difflib.get_close_matches(wanted, known, n=3, cutoff=0.4) or known[:3]
    raise Problem("machine", f"no {what} here is called “{name}”.", tries=[f"one of {', '.join(near)}"])
