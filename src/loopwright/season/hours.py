"""Machine hours of a season by gauge: a gauge cannot stand in for another, so each is added and planned alone.

In: styles and their studies. Out: `GaugeHours`: hours with their spread and every style's part, days of one machine,
and machines when the styles say how many days the knitting has.
Main assumption: work can be shared evenly among machines of a gauge, and all styles of a gauge are knitted in the same
days, so their needs add up. Each style keeps its own hours a day and share worked.
Not covered: which week a style is knitted in; beds of different width in one gauge; machines that a factory has.
Sources: common_practice; production reference 8.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.cost.planning import WHOLE, Need
from loopwright.figure import Figure
from loopwright.season.adding import Part, sum_of
from loopwright.season.rows import Key
from loopwright.study.study import StyleStudy


@dataclass(frozen=True, slots=True)
class GaugeHours:
    """Hours of one gauge. `undated` are the styles that say no days; they are in the hours and not in the machines.

    `one_machine_hours` is what one machine works in the days of the styles that say them, and `days_given` those days
    when all say the same.
    """

    gauge: float
    hours: Figure
    parts: tuple[tuple[Key, Figure], ...]
    days: Figure
    machines: Need | None
    one_machine_hours: float | None
    days_given: float | None
    undated: tuple[Key, ...]

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "gauge": self.gauge,
            "hours": self.hours.as_dict(),
            "parts": [{"key": key, "hours": figure.as_dict()} for key, figure in self.parts],
            "machine_days": self.days.as_dict(),
            "machines": self.machines.as_dict() if self.machines else None,
            "one_machine_hours": self.one_machine_hours,
            "days_given": self.days_given,
            "undated": list(self.undated),
        }


@dataclass(frozen=True, slots=True)
class _Work:
    """Knitting of one style on its gauge."""

    key: Key
    gauge: float
    hours: Figure
    hours_a_day: float
    days: float | None
    machines: Figure | None


def hours_by_gauge(studies: Sequence[tuple[Key, StyleStudy]]) -> tuple[GaugeHours, ...]:
    """Hours of every gauge, the most first; a style without hours is not in them."""
    works = [work for key, study in studies if (work := _work(key, study)) is not None]
    gauges = dict.fromkeys(work.gauge for work in works)
    found = [_of_gauge(gauge, [work for work in works if work.gauge == gauge]) for gauge in gauges]
    return tuple(sorted(found, key=lambda each: (-each.hours.value, each.gauge)))


def _work(key: Key, study: StyleStudy) -> _Work | None:
    order, machine = study.style.order, study.style.machine
    if order is None or machine is None or study.machine_hours is None:
        return None
    need = study.machines.figure if study.machines else None
    a_day = order.hours_per_day * order.share_worked
    return _Work(key, machine.gauge, study.machine_hours, a_day, order.knitting_days, need)


def _of_gauge(gauge: float, works: Sequence[_Work]) -> GaugeHours:
    parts = [Part(work.key, work.hours) for work in works]
    dated = [work for work in works if work.machines is not None]
    days = [Part(work.key, work.hours, 1 / work.hours_a_day) for work in works]
    machines = _machines(dated)
    given = {work.days for work in dated}
    return GaugeHours(
        gauge=gauge,
        hours=sum_of(f"machine hours, {gauge:g} gauge", parts, "h", words="hours of its styles", formula="Σ q·t / 60"),
        parts=tuple((work.key, work.hours) for work in works),
        days=sum_of(
            f"days of one machine, {gauge:g} gauge",
            days,
            "days",
            words="hours of each style over the hours that a machine works in its day",
            formula="Σ H / (hours a day · share)",
        ),
        machines=machines,
        one_machine_hours=_one_machine(dated, machines),
        days_given=given.pop() if len(given) == 1 else None,
        undated=tuple(work.key for work in works if work.machines is None),
    )


def _machines(dated: Sequence[_Work]) -> Need | None:
    """Machines of the gauge, all styles in the same days; rounded up once, after adding."""
    parts = [Part(work.key, work.machines) for work in dated if work.machines is not None]
    if not parts:
        return None
    figure = sum_of("machines", parts, "", words="machines of each style, knitted in the same days", formula="Σ n")
    return Need(math.ceil(figure.value - WHOLE), figure)


def _one_machine(dated: Sequence[_Work], machines: Need | None) -> float | None:
    """Hours that one machine works in the days given: the hours over the machines that they need."""
    if machines is None or machines.figure.value <= 0:
        return None
    return math.fsum(work.hours.value for work in dated) / machines.figure.value
