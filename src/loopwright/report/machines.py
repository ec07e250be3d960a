"""The generic machines as tables and as one document: V-beds, circular machines, hosiery cylinders.

In: a gauge, or none for all. Out: `Table`s, JSON form (docs/json.md). All are invented, and say so.
"""

from __future__ import annotations

from typing import Any

from loopwright.figure import plain
from loopwright.machine.circular import CircularMachine
from loopwright.machine.hosiery import Cylinder
from loopwright.machine.models import (
    FlatModel,
    circular_models,
    cylinders,
    flat_models,
    flat_models_of_gauge,
)
from loopwright.report.blocks import Block, Table


def machines_tables(gauge: float | None = None) -> tuple[Block, ...]:
    """A table of every kind of machine that there is of a gauge.

    Raises:
        Problem: no V-bed of that gauge.
    """
    flat, circular, hosiery = _listed(gauge)
    made = [_flat_table(flat)]
    if circular:
        made.append(_circular_table(circular))
    if hosiery:
        made.append(_cylinder_table(hosiery))
    return tuple(made)


def machines_document(gauge: float | None = None) -> dict[str, Any]:
    """All of them by kind and name.

    Raises:
        Problem: no V-bed of that gauge.
    """
    flat, circular, hosiery = _listed(gauge)
    return {
        "flat": {model.name: _flat(model) for model in flat},
        "circular": {name: _circular(machine) for name, machine in circular.items()},
        "hosiery": {each.name: _cylinder(each) for each in hosiery},
    }


def _listed(gauge: float | None) -> tuple[list[FlatModel], dict[str, CircularMachine], list[Cylinder]]:
    if gauge is None:
        return list(flat_models().values()), dict(circular_models()), list(cylinders().values())
    circular = {name: machine for name, machine in circular_models().items() if machine.gauge == gauge}
    return list(flat_models_of_gauge(gauge)), circular, []


def _flat(model: FlatModel) -> dict[str, Any]:
    return {
        "gauge_needles_per_inch": model.gauge,
        "bed_in": model.bed_in,
        "needles": model.most_needles,
        "systems": model.systems,
        "carriers": model.carriers,
        "intarsia_carriers": model.intarsia_carriers,
        "holds_loops_down": model.holds_down,
        "most_held_courses": model.most_held_courses,
        "least_courses_between_narrowings": model.least_courses_between_narrowings,
        "complete_garments": model.knits_complete_garments,
        "fewest_needles": model.fewest_needles,
        "source": model.source,
    }


def _circular(machine: CircularMachine) -> dict[str, Any]:
    return {
        "kind": machine.kind,
        "gauge_needles_per_inch": machine.gauge,
        "diameter_in": machine.diameter_in,
        "needles": machine.needles,
        "feeds": machine.feeds,
        "turns": machine.rpm.as_dict(),
        "running_share": machine.running_share.as_dict(),
    }


def _cylinder(cylinder: Cylinder) -> dict[str, Any]:
    return {
        "gauge_needles_per_inch": cylinder.gauge,
        "diameter_in": cylinder.diameter_in,
        "needles": cylinder.needles,
        "feeds": cylinder.feeds,
        "most_turns_per_min": cylinder.most_rpm,
    }


def _flat_table(models: list[FlatModel]) -> Table:
    head = ("V-bed", "gauge", "bed", "needles", "systems", "carriers", "narrows again after", "knits")
    rows = tuple(
        (
            model.name,
            f"E {model.gauge:g}",
            f"{model.bed_in:g} in",
            plain(model.most_needles, 0),
            str(model.systems),
            str(model.carriers) + (f", {model.intarsia_carriers} for intarsia" if model.intarsia_carriers else ""),
            f"{model.least_courses_between_narrowings} course{'s' * (model.least_courses_between_narrowings > 1)}",
            "panels, complete garments" if model.knits_complete_garments else "panels",
        )
        for model in models
    )
    return Table(head, rows, words=(0, 7))


def _circular_table(machines: dict[str, CircularMachine]) -> Table:
    head = ("Circular machine", "cloth", "gauge", "diameter", "needles", "feeds", "turns")
    rows = tuple(
        (
            name,
            machine.kind,
            f"E {machine.gauge:g}",
            f"{machine.diameter_in:g} in",
            plain(machine.needles, 0),
            str(machine.feeds),
            machine.rpm,
        )
        for name, machine in machines.items()
    )
    return Table(head, rows, words=(0, 1))


def _cylinder_table(listed: list[Cylinder]) -> Table:
    head = ("Hosiery cylinder", "gauge", "diameter", "needles", "feeds", "most turns")
    rows = tuple(
        (
            each.name,
            f"E {plain(each.gauge, 1)}",
            f"{each.diameter_in:g} in",
            str(each.needles),
            str(each.feeds),
            f"{each.most_rpm:g} per min",
        )
        for each in listed
    )
    return Table(head, rows)
