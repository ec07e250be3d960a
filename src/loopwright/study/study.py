"""`study_style(style) -> StyleStudy`: the one place where the domains meet. Pure: no file, clock, network or database.

It reads like a table of contents: yarns, fabrics, sizes, panels, strokes, make-up, price, findings, cautions. A part
that cannot be computed becomes a finding that stops it; the rest goes on, and what was taken is listed as assumptions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright.cost.planning import Need, Shift, linkers_needed, machines_needed, work_hours
from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure
from loopwright.garment.measures import tolerance_cm
from loopwright.garment.sizes import girth_of_size
from loopwright.garment.spec import SizeTable, body_of_size, minimum_neck_cm
from loopwright.machine.machine import VBed
from loopwright.makeup.inspection import SamplingPlan, sampling_plan
from loopwright.problems import Collector, Finding, Problem, Sign
from loopwright.shaping.limits import (
    bed_findings,
    closure_findings,
    needles_findings,
    rounding_findings,
    slope_findings,
)
from loopwright.study.cautions import Caution, cautions
from loopwright.study.checks import (
    child_findings,
    curl_findings,
    linking_dial,
    linking_findings,
    neck_findings,
    once_per_place,
    order_findings,
    price_findings,
    rib_findings,
    state_findings,
    target_findings,
)
from loopwright.study.knitting import SizeStudy, weighted
from loopwright.study.machines import model_findings, note_model
from loopwright.study.making import Making, making_of
from loopwright.study.parts import (
    Assumptions,
    note_settings,
)
from loopwright.study.pricing import Pricing, price_style
from loopwright.study.style import Style
from loopwright.study.taken_swatch import taken_findings, with_counts
from loopwright.swatch.observed import Observed
from loopwright.yarn.yarn import Yarn

AQL_MAJOR, AQL_MINOR = 2.5, 4.0  # common practice for garments


@dataclass(frozen=True, slots=True)
class StyleStudy:
    """Everything that follows from a style; parts that could not be computed are empty or none.

    `refused` is what was given wrongly and has to be mended; each also stands among the findings as a stop.
    `shares` is the share of each size in the order (they add to 1). Figures of a mean piece are none without sizes.
    """

    style: Style
    making: Making
    yarns: Mapping[str, Yarn]
    fabrics: Mapping[str, Fabric]
    machine: VBed | None
    size_table: SizeTable | None
    sizes: tuple[SizeStudy, ...]
    shares: Mapping[str, float]
    grams: Figure | None
    minutes: Figure | None
    makeup_minutes: Figure | None
    machine_hours: Figure | None
    machines: Need | None
    linkers: Need | None
    pricing: Pricing | None
    inspection: Mapping[str, SamplingPlan]
    findings: tuple[Finding, ...]
    refused: tuple[Problem, ...]
    cautions: tuple[Caution, ...]
    assumptions: Mapping[str, str]

    @property
    def base(self) -> SizeStudy | None:
        """The base size, or the first that could be worked through."""
        wanted = self.size_table.base_size if self.size_table else ""
        return next((size for size in self.sizes if size.size == wanted), self.sizes[0] if self.sizes else None)


def study_style(style: Style, drawer_observations: Sequence[Observed] = ()) -> StyleStudy:
    """All answers to one style; `drawer_observations` are swatches from elsewhere, learnt with the style's own."""
    taken = tuple(taken_findings(style))
    style = with_counts(style)
    making = making_of(style, drawer_observations)
    notes, collector = (
        Assumptions(dict(making.cloth.assumptions)),
        Collector(list(making.findings), list(making.refused)),
    )
    cloth, table, sizes = making.cloth, making.size_table, making.sizes
    yarns, machine, fabrics = cloth.yarns, cloth.machine, used_fabrics(making)
    collector.findings = [each for each in collector.findings if not _is_of_no_cloth(each, cloth.fabrics, fabrics)]
    note_model(style, notes)
    note_settings(style, machine, notes, is_shaped=bool(sizes))
    shares = _shares(style, [size.size for size in sizes], notes, collector)
    mix = [(shares[size.size], size) for size in sizes]
    pricing = _pricing(style, mix, fabrics, notes, collector)
    minutes = _mean("knitting minutes", [(share, size.minutes) for share, size in mix], "min")
    grams = _mean("mass of a piece", [(share, size.grams) for share, size in mix], "g")
    makeup = _mean("make-up minutes", [(share, size.makeup.total) for share, size in mix], "min")
    hours = work_hours(minutes, style.order.pieces) if minutes and style.order else None
    shift = _shift(style)
    collector.add(_across(style, table, sizes, fabrics, pricing, minutes, grams))
    collector.add(taken)
    if notes.lines:
        collector.add([_assumed(notes)])
    return StyleStudy(
        style=style,
        making=making,
        yarns=yarns,
        fabrics=fabrics,
        machine=machine,
        size_table=table,
        sizes=sizes,
        shares=shares,
        grams=grams,
        minutes=minutes,
        makeup_minutes=makeup,
        machine_hours=hours,
        machines=machines_needed(hours, shift) if hours and shift else None,
        linkers=_linkers(style, mix, pricing),
        pricing=pricing,
        inspection=_inspection(style),
        findings=_in_order(collector, table),
        refused=tuple(collector.refused),
        cautions=_cautions(style, table, fabrics),
        assumptions=notes.lines,
    )


def used_fabrics(making: Making) -> Mapping[str, Fabric]:
    """The fabrics that the panels are knitted of; all of them while there are no panels."""
    used = {zone.zone for size in making.sizes for panel in size.panels for zone in panel.yarn}
    return {zone: fabric for zone, fabric in making.cloth.fabrics.items() if zone in used or not used}


def _is_of_no_cloth(finding: Finding, fabrics: Mapping[str, Fabric], used: Mapping[str, Fabric]) -> bool:
    """Whether a finding is about a fabric that no panel is knitted of."""
    fabric = fabrics.get(finding.where)
    return fabric is not None and all(fabric.identity != other.identity for other in used.values())


def _shift(style: Style) -> Shift | None:
    """The time that the order has for knitting; none when it was not said."""
    order = style.order
    if order is None or order.knitting_days is None:
        return None
    return Shift(days=order.knitting_days, hours_per_day=order.hours_per_day, share_worked=order.share_worked)


def _linkers(style: Style, mix: Sequence[tuple[float, SizeStudy]], pricing: Pricing | None) -> Need | None:
    """People who link the order in its days, one shift of eight hours at the line's efficiency."""
    order = style.order
    linking = _mean("linking", [(share, size.makeup.group_minutes["linking"]) for share, size in mix], "min")
    if order is None or order.knitting_days is None or linking is None or pricing is None:
        return None
    efficiency = min(pricing.inputs.rates.line_efficiency.value, 1.0)
    shift = Shift(days=order.knitting_days, hours_per_day=LINKING_HOURS_A_DAY, share_worked=efficiency)
    return linkers_needed(linking, order.pieces, shift)


LINKING_HOURS_A_DAY = 8.0  # common practice: linking works one shift


def _shares(style: Style, sizes: Sequence[str], notes: Assumptions, collector: Collector) -> dict[str, float]:
    """Share of each worked size in the order."""
    if not sizes:
        return {}
    mix = style.order.size_mix if style.order else {}
    unknown = [size for size in mix if style.garment and size not in style.garment.sizes]
    if unknown:
        known = ", ".join(style.garment.sizes) if style.garment else ""
        words = f"{', '.join(unknown)} is ordered and not among the sizes."
        collector.stops(
            Problem("order.size_mix", words, limit=f"sizes: {known}", tries=["add the size to the garment"])
        )
    weights = {size: mix.get(size, 0.0) for size in sizes}
    total = sum(weights.values())
    if total <= 0:
        if len(sizes) > 1:
            notes.note("order.size_mix", "all sizes in equal numbers")
        return {size: 1 / len(sizes) for size in sizes}
    return {size: weight / total for size, weight in weights.items()}


def _mean(name: str, parts: Sequence[tuple[float, Figure | None]], unit: str) -> Figure | None:
    known = [(share, figure) for share, figure in parts if figure is not None]
    return weighted(name, known, unit) if known else None


def _pricing(
    style: Style,
    mix: Sequence[tuple[float, SizeStudy]],
    fabrics: Mapping[str, Fabric],
    notes: Assumptions,
    collector: Collector,
) -> Pricing | None:
    if style.order is None or not mix:
        return None
    try:
        return price_style(style, style.order, mix, fabrics, notes)
    except Problem as problem:
        collector.stops(problem)
        return None


def _across(
    style: Style,
    table: SizeTable | None,
    sizes: Sequence[SizeStudy],
    fabrics: Mapping[str, Fabric],
    pricing: Pricing | None,
    minutes: Figure | None,
    grams: Figure | None,
) -> list[Finding]:
    """Findings that need more than one part."""
    found: list[Finding] = [*_gaps(style), *order_findings(style, _real_ease_cm(style, table))]
    if table is not None and sizes:
        names = [size.size for size in sizes]
        per_size = [
            finding
            for size in sizes
            for finding in _size_findings(
                style, size, fabrics, style.targets.minimum_neck_cm or minimum_neck_cm(table.population, size.size)
            )
        ]
        found += once_per_place(per_size, names)
        found += rounding_findings([size.plan for size in sizes], table.tolerances_cm)
        base = next((size for size in sizes if size.size == table.base_size), sizes[0])
        found += linking_findings(style, base.plan, fabrics)
        found += model_findings(style, base.plan, fabrics)
        found += state_findings(fabrics["body"])
        found += curl_findings(fabrics)
        found += child_findings(
            style, max(girth_of_size(table.population, size) for size in names) if table.is_child else None
        )
    if pricing is not None:
        found += price_findings(style, pricing)
    if grams is not None:
        found += target_findings(style, minutes.value if minutes else None, grams.value)
    return found


def _gaps(style: Style) -> list[Finding]:
    """Parts that were not described, and what stays open without them."""
    found = []
    if style.garment is None:
        sentence = "No garment is described: no sizes, panels, minutes or price."
        found.append(Finding(Sign.KNOW, "garment", sentence, ('[garment] with sizes = ["M"]',), weight=0.3))
    elif style.order is None:
        sentence = "No order is described: no price, no yarn to buy."
        found.append(Finding(Sign.KNOW, "order", sentence, ("[order] with pieces = 300",), weight=0.3))
    return found


def _in_order(collector: Collector, table: SizeTable | None) -> tuple[Finding, ...]:
    """Findings in order of consequence; what stops several sizes alike is said once."""
    sizes = table.sizes if table else ()
    merged = Collector(once_per_place(collector.findings, sizes))
    return merged.in_order()


def _real_ease_cm(style: Style, table: SizeTable | None) -> float | None:
    """Ease of the base size as the table has it; none when the half chest was not typed."""
    if table is None or style.garment is None or "half_chest" not in table.names:
        return None
    if "half_chest" not in style.garment.measures_cm:
        return None
    body = body_of_size(table.population, table.base_size)
    return 2 * table.value_cm(table.base_size, "half_chest") - body.girth_cm


def _size_findings(style: Style, size: SizeStudy, fabrics: Mapping[str, Fabric], minimum_cm: float) -> list[Finding]:
    gauge = style.machine.gauge if style.machine else None
    bed = bed_findings(size.plan, gauge=style.machine.gauge, bed_in=style.machine.bed_in) if style.machine else []
    return [
        *bed,
        *size.plan.findings,
        *closure_findings(size.plan),
        *needles_findings(size.plan, style.construction.narrow_needles),
        *slope_findings(size.plan),
        *(rib_findings(size.plan, fabrics["hem"], tolerance_cm("half_hem"), gauge) if "hem" in fabrics else ()),
        *neck_findings(size.plan, fabrics, minimum_cm, linking_dial(style)),
    ]


def _inspection(style: Style) -> dict[str, SamplingPlan]:
    if style.order is None:
        return {}
    return {
        "major": sampling_plan(style.order.pieces, AQL_MAJOR),
        "minor": sampling_plan(style.order.pieces, AQL_MINOR),
    }


def _cautions(style: Style, table: SizeTable | None, fabrics: Mapping[str, Fabric]) -> tuple[Caution, ...]:
    garment = style.garment
    return cautions(
        is_child=bool(garment and garment.population == "children") or bool(table and table.is_child),
        has_raised_surface=bool(garment and garment.raised_surface),
        fabrics=fabrics.values(),
    )


def _assumed(notes: Assumptions) -> Finding:
    kinds = {
        "rates are an invented example": ("rates.",),
        "settings are the trade's": ("machine.", "construction.", "yarns."),
    }
    counted = {words: sum(name.startswith(starts) for name in notes.lines) for words, starts in kinds.items()}
    known = tuple(start for starts in kinds.values() for start in starts)
    others = [words for name, words in notes.lines.items() if not name.startswith(known)]
    parts = [f"{count} {words}" for words, count in counted.items() if count]
    sentence = f"Ours until you type over: {'; '.join([*parts, *others])}."
    return Finding(Sign.KNOW, "assumptions", sentence, ("see the list of assumptions",), weight=0.05)
