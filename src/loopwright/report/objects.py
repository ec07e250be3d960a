"""What is said of one thing of the shelf by itself: a yarn, a machine, a rate card, a size table, a structure.

In: the study of a document that holds little more than that thing. Out: a lede and sections of the same blocks that a
whole style has. No arithmetic of the trade happens here.
"""

from __future__ import annotations

from loopwright.cost.rates import rate_rows
from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.figure import Figure
from loopwright.machine.machine import VBed
from loopwright.problems import Problem
from loopwright.report import tables
from loopwright.report.blocks import Lines, Section, Sentence, Table
from loopwright.structure.library import library
from loopwright.study.parts import Assumptions, zone_structure
from loopwright.study.pricing import rates_of
from loopwright.study.study import StyleStudy
from loopwright.study.style import Zone


def object_lede(study: StyleStudy, *, is_structure: bool = False) -> Sentence | None:
    """One sentence for a document that is no style; none when nothing can be said."""
    style = study.style
    if is_structure:
        return _structure_lede(study)
    if study.yarns:
        return _yarn_lede(study)
    if study.machine is not None:
        return _machine_lede(study.machine)
    if study.size_table is not None:
        sizes, base = study.size_table.sizes, study.size_table.base_size
        return Sentence((f"{len(sizes)} sizes, graded from {base} for {study.size_table.population}.",))
    if style.rates or style.make_up_minutes:
        count = sum(name in rate_rows() for name in style.rates) + len(style.make_up_minutes)
        return Sentence((f"{count} rates of your own; the packaged example, marked A, stands in for the rest.",))
    return None


def _yarn_lede(study: StyleStudy) -> Sentence:
    yarn = next(iter(study.yarns.values()))
    counts = yarn.counts()
    parts: list[str | Figure] = [f"{yarn.name} is ", counts["tex"], " at the needle and ", yarn.diameter_mm, " thick."]
    if "body" in study.fabrics:
        fabric = study.fabrics["body"]
        parts += [f" In {fabric.structure.name} it weighs ", fabric.mass, "."]
    return Sentence(tuple(parts))


def _structure_lede(study: StyleStudy) -> Sentence:
    key = next(iter(study.style.structures))
    try:
        structure = zone_structure(study.style, Zone(structure=key))
    except Problem:
        return Sentence(("The notation cannot be knitted as it stands; what stops it stands below.",))
    anatomy = structure.anatomy
    feeds = f"{tables.feeds_per_course(anatomy)} feeds lay one visible course"
    beds = "both beds" if anatomy.beds > 1 else "one bed"
    parts: list[str | Figure] = [f"{tables.capital(structure.name)} uses {beds}; {feeds}."]
    if "body" in study.fabrics:
        parts += [f" In {study.fabrics['body'].yarn.name} it weighs ", study.fabrics["body"].mass, "."]
    return Sentence(tuple(parts))


def _machine_lede(machine: VBed) -> Sentence:
    return Sentence(
        (f"E {machine.gauge:g} with {machine.needles} needles: plain at ", machine.speed_plain, ", turning in ",
         machine.reversal, ", running ", machine.running_share, " of the time."),
    )  # fmt: skip


def object_sections(study: StyleStudy) -> tuple[Section, ...]:
    """Sections about a machine or a rate card, for documents that are no style."""
    made = []
    if study.style.structures and not study.sizes and (beside := neighbours_section(study)):
        made.append(beside)
    if study.machine is not None and not study.sizes:
        made.append(machine_section(study.machine))
    if study.style.rates and study.pricing is None:
        made.append(rates_section(study))
    return tuple(made)


NEIGHBOURS = ("plain", "rib-1x1", "rib-2x1", "interlock", "half-cardigan", "full-cardigan", "half-milano")


def neighbours_section(study: StyleStudy) -> Section | None:
    """A structure beside others in the same yarn, each at its usual loop; none before there is a fabric."""
    own = study.fabrics.get("body")
    if own is None:
        return None
    others = [fabric_of(library()[key], own.yarn, state=own.geometry.state) for key in NEIGHBOURS]
    beside = [own, *(each for each in others if each.structure.notation != own.structure.notation)]
    rows = tuple(_neighbour(fabric) for fabric in beside)
    head = ("Same yarn", "mass", "wales", "stretch across", "curl of sides", "feeds a course")
    said = Lines(("Each at its usual loop length in this yarn, where nothing else is said.",))
    table = Table(head, rows, strong=frozenset({0}))
    return Section("neighbours", "Beside its neighbours", own.yarn.count.label, (table, said), short=str(len(rows)))


def _neighbour(fabric: Fabric) -> tuple[str | Figure, ...]:
    return (
        tables.capital(fabric.structure.name),
        fabric.mass,
        fabric.geometry.wales_per_cm,
        fabric.stretch.width_percent,
        fabric.curl.sides,
        tables.feeds_per_course(fabric.structure.anatomy),
    )


def machine_section(machine: VBed) -> Section:
    """Settings of a machine, each with its reason."""
    rows: list[tuple[str | Figure, ...]] = [
        (tables.capital(figure.name), figure)
        for figure in (machine.speed_plain, machine.overrun, machine.reversal, machine.rack, machine.running_share)
    ]
    rows.append(("Needles of the bed", str(machine.needles)))
    rows.append(("Carriers", str(machine.carriers)))
    table = Table(("Setting", "value"), tuple(rows))
    said = Lines(("Time two panels of different width to put your own speed and reversal in the place of these.",))
    return Section("machine", "Machine", f"{machine.systems} knitting systems", (table, said))


def rates_section(study: StyleStudy) -> Section:
    """The whole rate card, given and assumed."""
    _, card = rates_of(study.style, Assumptions())
    rows = tuple((tables.capital(figure.name), figure) for figure in card.figures().values())
    given = sum(name in study.style.rates for name in card.figures())
    return Section("rates", "Rates", f"{given} of {len(rows)} are yours", (Table(("Rate", "value"), rows),))
