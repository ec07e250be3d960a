"""What is made, before any money: yarns, machine, fabrics, size table, and every size worked through.

In: `Style`, and observations of swatches from elsewhere. Out: `Making`. It depends on a part of the style and on what
its swatches say, so an edit of the order, the rates, the targets or the words of a style finds it again among the last
few instead of walking every stroke anew. Still pure: the same part of a style always gives the same answer.
Not covered: the order, the price, findings across parts (`study`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.known import NOTHING
from loopwright.garment.measures import Measures
from loopwright.garment.spec import SizeTable
from loopwright.machine.machine import VBed
from loopwright.problems import Collector, Finding, Problem
from loopwright.shaping.rules import ShapingRules
from loopwright.study.drawer import LearntCloth, better_of, drawer_of, learnt_cloth
from loopwright.study.garment_table import garment_table
from loopwright.study.knitting import EDGES, SizeStudy, study_size, zone_gauges
from loopwright.study.parts import (
    Assumptions,
    machine_of,
    rules_of,
    swatch_counts,
    yarn_of,
    zone_fabric,
    zone_of,
    zones_of,
)
from loopwright.study.simulation import Simulation, better_known, simulations_of
from loopwright.study.style import Garment, Style
from loopwright.swatch.learning.agreement import disagreement_findings
from loopwright.swatch.learning.drawer import Drawer
from loopwright.swatch.observed import Observed
from loopwright.yarn.yarn import Yarn

KEPT, KEPT_SIZES = 8, 100  # answers kept: a few styles that are worked on at once, each some megabytes


@dataclass(frozen=True, eq=False)
class Cloth:
    """Yarns, machine and fabrics, with what was found and taken on the way; equal only to itself, a key.

    `drawer` is none without swatches; `learnt` holds by zone what it says.
    """

    yarns: Mapping[str, Yarn]
    machine: VBed | None
    fabrics: Mapping[str, Fabric]
    simulations: Mapping[str, Simulation]
    findings: tuple[Finding, ...]
    refused: tuple[Problem, ...]
    assumptions: Mapping[str, str]
    drawer: Drawer | None = None
    learnt: Mapping[str, LearntCloth] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Making:
    """Everything that follows from the style without its order and rates; parts that failed are left out.

    Two are equal when they are one and the same, so that what is drawn of it can be kept beside it.
    """

    cloth: Cloth
    size_table: SizeTable | None
    sizes: tuple[SizeStudy, ...]
    findings: tuple[Finding, ...]
    refused: tuple[Problem, ...]


def making_of(style: Style, outside: Sequence[Observed] = ()) -> Making:
    """What a style makes, with what its own swatches say and those of an `outside` drawer."""
    return _making(style.model_dump_json(exclude=_NO_PART), drawer_of(style, tuple(outside)))


_NO_PART: dict[str, Any] = {
    "style": True,
    "order": True,
    "rates": True,
    "targets": True,
    "swatches": True,
    "samples": True,
    "yarns": {"__all__": {"price_per_kg", "knitting_loss"}},
}
_NO_CLOTH = {"construction", "make_up_minutes"}


@lru_cache(maxsize=KEPT)
def _making(document: str, drawer: Drawer | None) -> Making:
    style, collector = Style.model_validate_json(document), Collector()
    shape = {"garment": Garment(block=style.garment.block)} if style.garment else {}
    cloth = _cloth(style.model_copy(update=shape).model_dump_json(exclude=_NO_CLOTH), drawer)
    table = _size_table(style, collector)
    sizes = _sizes(style, table, cloth, collector)
    findings, refused = (*cloth.findings, *collector.findings), (*cloth.refused, *collector.refused)
    return Making(cloth, table, tuple(sizes), findings, refused)


@lru_cache(maxsize=KEPT)
def _cloth(document: str, drawer: Drawer | None) -> Cloth:
    style = Style.model_validate_json(document)
    notes, collector = Assumptions(), Collector()
    yarns = _yarns(style, collector)
    machine = _machine(style, collector, notes)
    gauge = style.machine.gauge if style.machine else None
    published = _fabrics(style, yarns, notes, collector, gauge)
    simulations = _simulations(style, published, notes, collector)
    learnt = {name: learnt_cloth(drawer, fabric) for name, fabric in published.items()} if drawer else {}
    known = {
        name: better_of(better_known(simulations[name]), learnt[name].known if name in learnt else NOTHING)
        for name in published
    }
    fabrics = {
        name: published[name]
        if known[name] == NOTHING
        else zone_fabric(style, name, yarns, notes, gauge=gauge, known=known[name])
        for name in published
    }
    simulations = {
        name: simulations[name] if fabric is published[name] else replace(simulations[name], fabric=fabric)
        for name, fabric in fabrics.items()
    }
    _tell(fabrics, simulations, collector)
    if drawer:
        collector.add(disagreement_findings(drawer))
    return Cloth(
        yarns=yarns,
        machine=machine,
        fabrics=fabrics,
        simulations=simulations,
        findings=tuple(collector.findings),
        refused=tuple(collector.refused),
        assumptions=notes.lines,
        drawer=drawer,
        learnt=learnt,
    )


def _yarns(style: Style, collector: Collector) -> dict[str, Yarn]:
    yarns: dict[str, Yarn] = {}
    for key, spec in style.yarns.items():
        try:
            yarns[key] = _named_once(key, yarn_of(key, spec), yarns)
        except Problem as problem:
            collector.stops(problem)
    return yarns


def _named_once(key: str, yarn: Yarn, others: Mapping[str, Yarn]) -> Yarn:
    """The yarn itself. Two of one name would be weighed and priced as one.

    Raises:
        Problem: another yarn of the style has its name.
    """
    for other, known in others.items():
        if known.name == yarn.name:
            what = f"“{yarn.name}” is the name of yarns.{other} too; two yarns of one name cannot be told apart."
            raise Problem(f"yarns.{key}.name", what, tries=["a name of its own for each yarn"])
    return yarn


def _machine(style: Style, collector: Collector, notes: Assumptions) -> VBed | None:
    if style.machine is None:
        if style.garment is not None:
            notes.note("machine", "no machine is named: no minutes, no price; shaping as for 12 gauge")
        return None
    try:
        return machine_of(style.machine)
    except Problem as problem:
        collector.stops(problem)
        return None


def _fabrics(
    style: Style, yarns: Mapping[str, Yarn], notes: Assumptions, collector: Collector, gauge: float | None
) -> dict[str, Fabric]:
    """Fabrics of the zones, from the swatch of the zone or from the constants."""
    fabrics: dict[str, Fabric] = {}
    for name in zones_of(style):
        if style.yarns and not _has_its_yarn(style, name, yarns, notes):
            continue  # its yarn already stopped; one message is enough
        try:
            fabrics[name] = zone_fabric(style, name, yarns, notes, gauge=gauge)
        except Problem as problem:
            collector.stops(problem)
            if not style.yarns:
                break  # nothing can be knitted of no yarn; one message is enough
    return fabrics


def _tell(fabrics: Mapping[str, Fabric], simulations: Mapping[str, Simulation], collector: Collector) -> None:
    """Findings of every distinct fabric, once."""
    told: list[tuple[object, ...]] = []
    for name, fabric in fabrics.items():
        if fabric.identity not in told:
            told.append(fabric.identity)
            collector.add(fabric.findings)
            collector.add(simulations[name].findings)


def _simulations(
    style: Style, fabrics: Mapping[str, Fabric], notes: Assumptions, collector: Collector
) -> dict[str, Simulation]:
    """The fabrics as simulated, calibrated on the style's own swatches."""
    swatches = {
        name: swatch_counts(counts, fabric.structure, f"zones.{name}")
        for name, fabric in fabrics.items()
        if (counts := zone_of(style, name, notes).counts) is not None
    }
    simulations, refused = simulations_of(fabrics, swatches)
    collector.add(refused)
    return simulations


def _has_its_yarn(style: Style, zone_name: str, yarns: Mapping[str, Yarn], notes: Assumptions) -> bool:
    """Whether the yarn of a zone could be made, or is none of the style's own."""
    named = zone_of(style, zone_name, notes).yarn
    return bool(yarns) if named is None else named in yarns or named not in style.yarns


def _size_table(style: Style, collector: Collector) -> SizeTable | None:
    if style.garment is None:
        return None
    try:
        table = garment_table(style.garment)
    except Problem as problem:
        collector.stops(problem.at("garment"))
        return None
    collector.add(table.findings)
    return table


def _sizes(style: Style, table: SizeTable | None, cloth: Cloth, collector: Collector) -> list[SizeStudy]:
    if table is None or len(cloth.fabrics) < len(zones_of(style)) or style.garment is None:
        return []
    rules = rules_of(style.construction, style.machine.gauge if style.machine else None)
    own_makeup = tuple(style.make_up_minutes.items())
    sizes = []
    for size in table.sizes:
        try:
            measures, doubled = table.measures(size), style.garment.neckband_doubled
            edges = EDGES[style.construction.method]
            sizes.append(_worked(cloth, size, measures, rules, doubled, style.garment.buttons, own_makeup, edges))
        except Problem as problem:
            collector.stops(_in_size(problem, size))
    return sizes


def _in_size(problem: Problem, size: str) -> Problem:
    """The same problem with the size that it stops at the end of its place; a field of the style stays as it is."""
    bare = re.sub(rf", size {re.escape(size)}(?=,|$)", "", problem.where)
    if set("._") & set(bare):
        return problem
    where = f"{bare}, size {size}"
    return Problem(where, problem.what, limit=problem.limit, tries=problem.tries, is_gap=problem.is_gap)


@lru_cache(maxsize=KEPT_SIZES)
def _worked(
    cloth: Cloth,
    size: str,
    measures: Measures,
    rules: ShapingRules,
    band_is_doubled: bool,
    buttons: int,
    own_makeup: tuple[tuple[str, float], ...],
    edges: str,
) -> SizeStudy:
    """One size; a size whose measures did not change is found again while others are typed."""
    return study_size(
        size,
        measures,
        cloth.fabrics,
        rules,
        cloth.machine,
        band_is_doubled=band_is_doubled,
        own_makeup=dict(own_makeup),
        makeup_counts=button_counts(buttons),
        gauges=zone_gauges(cloth.fabrics),
        edges=edges,
    )


def button_counts(count: int) -> dict[str, int]:
    """Buttons and their holes, as the make-up counts them."""
    return {"button": count, "buttonhole": count} if count else {}
