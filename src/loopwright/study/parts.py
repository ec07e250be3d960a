"""From the style document to the values of the trade: yarns, fabrics of the zones, machine, shaping rules, rates.

In: `Style`. Out: domain values. What the style left out takes a stated default, and the default is listed as an
assumption. Each function raises `Problem` for its own part only, so that the rest of the study goes on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loopwright.cost.yarn_purchase import usual_losses
from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.fabric.geometry import SwatchCounts
from loopwright.fabric.known import NOTHING, BetterKnown
from loopwright.fabric.tightness import loop_length_mm_for_tightness
from loopwright.figure import Basis, Figure, State, Term, entered, power_law
from loopwright.garment.blocks import block_of
from loopwright.machine.machine import VBed, calibrate, carriage, timed_figures, v_bed
from loopwright.problems import Problem
from loopwright.shaping.rules import ShapingRules, usual_rules
from loopwright.structure.library import Structure, find_structure, structure_from
from loopwright.study.style import Construction, Machine, Style, YarnSpec, Zone
from loopwright.study.swatch_parts import SwatchSpec
from loopwright.units import quantity
from loopwright.yarn.twist import Twist
from loopwright.yarn.yarn import Yarn, yarn_from_words

ALL_ZONES = ("body", "hem", "sleeve", "cuff", "neckband")
FOLLOWS = {"sleeve": "body", "cuff": "hem", "neckband": "hem"}  # a zone left out is made like this one
USUAL_GAUGE = 12.0  # for shaping defaults while no machine is named


@dataclass(slots=True)
class Assumptions:
    """What the study took because the style did not say; each line names the field that replaces it."""

    lines: dict[str, str] = field(default_factory=dict)

    def note(self, field_name: str, words: str) -> None:
        """Remember an assumption once."""
        self.lines.setdefault(field_name, words)


def yarn_of(key: str, spec: YarnSpec) -> Yarn:
    """A yarn from its words.

    Raises:
        Problem: the count is ambiguous, the fibre is not known, a twist is impossible.
    """
    twist = Twist(spec.singles_twist_tpm, spec.singles_direction, spec.fold_twist_tpm, spec.fold_direction)
    try:
        return yarn_from_words(
            spec.count,
            name=spec.name or key,
            fibre=_fibre_words(spec),
            spinning=spec.spinning or "",
            ends=spec.ends,
            twist=None if twist == Twist() else twist,
        )
    except Problem as problem:
        problem.is_gap = spec.fibres is None and problem.where == "yarn fibre"
        raise problem.at(f"yarns.{key}") from None


def _fibre_words(spec: YarnSpec) -> str:
    if isinstance(spec.fibres, dict):
        return " ".join(f"{percent:g} {name}" for name, percent in spec.fibres.items())
    return spec.fibres or ""


def zone_of(style: Style, name: str, assumptions: Assumptions) -> Zone:
    """A zone as the style names it, or as the zone it follows, or as a plain pullover has it."""
    if name in style.zones:
        return style.zones[name]
    if name in FOLLOWS:
        return zone_of(style, FOLLOWS[name], assumptions)
    structure = "plain" if name == "body" else "rib-2x1"
    assumptions.note(f"zones.{name}", f"{name} is taken as {structure} in the first yarn")
    return Zone.model_validate({"structure": structure})


def zone_fabric(
    style: Style,
    name: str,
    yarns: Mapping[str, Yarn],
    assumptions: Assumptions,
    *,
    gauge: float | None,
    known: BetterKnown = NOTHING,
) -> Fabric:
    """The fabric of a zone; `known` are figures that are better known than the constants.

    Raises:
        Problem: no yarn, an unknown structure, or a loop length that contradicts itself.
    """
    zone = zone_of(style, name, assumptions)
    place = f"zones.{name}"
    try:
        structure = zone_structure(style, zone)
        yarn = _zone_yarn(zone, yarns, place, assumptions)
        return fabric_of(
            structure,
            yarn,
            _loop_length(zone, yarn, place),
            State(style.state),
            gauge=gauge,
            swatch=swatch_counts(zone.counts, structure, place) if zone.counts else None,
            known=known,
            own_lengths_mm=zone.other_loops_mm,
            place=name,
        )
    except Problem as problem:
        raise problem if problem.where.startswith("zones") else problem.at(place) from None


def zone_structure(style: Style, zone: Zone) -> Structure:
    """The structure of a zone: the style's own notation first, then the library by any trade name."""
    if zone.structure in style.structures:
        spec = style.structures[zone.structure]
        entry = {**spec.model_dump(), "name": spec.name or zone.structure}
        return structure_from(zone.structure, entry)
    return find_structure(zone.structure)


def _zone_yarn(zone: Zone, yarns: Mapping[str, Yarn], place: str, assumptions: Assumptions) -> Yarn:
    if zone.yarn is not None:
        if zone.yarn not in yarns:
            known = ", ".join(yarns) or "none yet"
            raise Problem(f"{place}.yarn", f"“{zone.yarn}” is no yarn of this style.", limit=f"yarns here: {known}")
        return yarns[zone.yarn]
    if not yarns:
        raise Problem(place, "no yarn is named.", tries=['[yarns.main] with count = "2/30 Nm merino"'], is_gap=True)
    first = next(iter(yarns))
    if len(yarns) > 1:
        assumptions.note(f"{place}.yarn", f"{place.removeprefix('zones.')} is knitted in the first yarn, {first}")
    return yarns[first]


def _loop_length(zone: Zone, yarn: Yarn, place: str) -> Figure | None:
    """The loop length that the zone names by length or by tightness; the swatch's own otherwise; none when open."""
    if zone.loop_length_mm is not None and zone.tightness is not None:
        raise Problem(place, "both a loop length and a tightness are named.", tries=["keep one of the two"])
    if zone.loop_length_mm is not None:
        return entered("loop length", zone.loop_length_mm, "mm")
    if zone.tightness is not None and zone.tightness < PER_MM_SCALE:
        raise Problem(
            f"{place}.tightness",
            f"{zone.tightness:g} is on the scale per mm; here it is per cm.",
            limit="usual tightness is 9 to 16 √tex/cm",
            tries=[f"{10 * zone.tightness:g}"],
        )
    if zone.tightness is not None:
        tightness = entered("tightness factor", zone.tightness, "√tex/cm")
        length = loop_length_mm_for_tightness(count_tex=yarn.tex.value, tightness=zone.tightness)
        terms = [Term("T", yarn.tex, 0.5), Term("K", tightness, -1)]
        return power_law("loop length", length, "mm", terms, words="from the tightness wanted", formula="l = 10·√T / K")
    if zone.counts is not None:
        return entered("loop length", zone.counts.loop_length_mm, "mm", words=f"as {zone.counts.name} was knitted")
    return None


PER_MM_SCALE = 3.0  # tightness factors below this were meant per mm (1.3 for 13)


def swatch_counts(spec: SwatchSpec, structure: Structure, place: str) -> SwatchCounts:
    """Counts of a swatch per visible wale, whichever way the person counted.

    Raises:
        Problem: neither or both of the two ways to count the width are given.
    """
    if (spec.wales_per_cm is None) == (spec.needles_per_cm is None):
        raise Problem(
            f"{place}.swatch",
            "the width is counted once: as visible wales or as needle places.",
            tries=["wales_per_cm = 6.5", "needles_per_cm = 6.9 for a rib counted over all its needles"],
        )
    anatomy = structure.anatomy
    wales = spec.wales_per_cm or (spec.needles_per_cm or 0) * anatomy.visible_wales / anatomy.needles
    return SwatchCounts(
        spec.name,
        wales,
        spec.courses_per_cm,
        spec.loop_length_mm,
        State(spec.state),
        spec.mass_g_per_m2,
        spec.thickness_mm,
    )


def machine_of(spec: Machine) -> VBed:
    """The machine with its settings: given, timed, or the trade's defaults.

    Raises:
        Problem: timed panels that contradict each other.
    """
    given = {
        "speed_plain": spec.speed_m_per_s,
        "overrun": spec.overrun_m,
        "reversal": spec.reversal_s,
        "running_share": spec.running_share,
    }
    machine = v_bed(
        gauge=spec.gauge,
        bed_in=spec.bed_in,
        systems=spec.systems,
        carriers=spec.carriers,
        settings={name: value for name, value in given.items() if value is not None},
    )
    if not spec.timed:
        return machine
    timed = [(each.needles, each.seconds) for each in spec.timed]
    found = timed_figures(calibrate(timed, gauge=spec.gauge, overrun_m=machine.overrun.value))
    return replace(machine, speed_plain=found["speed_plain"], reversal=found["reversal"])


_OWN_RULES: Mapping[str, tuple[str, str]] = {  # settings that a style may set itself: words, unit
    "narrow_needles": ("needles at each narrowing", ""),
    "widen_needles": ("needles at each widening", ""),
    "courses_between": ("least courses between narrowings", ""),
    "mark_needles": ("needles from a moved loop to the edge", ""),
    "fashioning": ("rule of fashioning", ""),
    "armhole_base_cm": ("armhole bound off at its base", " cm"),
    "cap_ease_cm": ("ease of the sleeve cap", " cm"),
    "band_pick_up": ("points of a band over those of its edge", ""),
    "stroke_worth_mm2": ("deviation that a saved stroke is worth", " mm²"),
    "sides": ("both edges narrowed", ""),
    "even_courses": ("narrowed on even courses alone", ""),
    "armhole_slope_share": ("share of the armhole's depth that slopes", ""),
    "sleeve_straight_cm": ("sleeve straight below the underarm", " cm"),
}


def zones_of(style: Style) -> tuple[str, ...]:
    """Zones of fabric that a style needs: those of its block, or those it describes, the body at least."""
    if style.garment is not None:
        return block_of(style.garment.shape).zones
    return tuple(zone for zone in ALL_ZONES if zone in style.zones or zone == "body")


def rules_of(spec: Construction, gauge: float | None) -> ShapingRules:
    """Shaping rules: the trade's for the gauge, with what the style sets in their place."""
    usual = usual_rules(
        gauge or USUAL_GAUGE,
        narrowing_strokes=carriage("narrowing_traverses"),
        one_side_share=carriage("narrowing_share_one_side"),
    )
    given = {name: value for name in _OWN_RULES if (value := getattr(spec, name)) is not None}
    return replace(usual, **given)


def fabric_from_words(
    structure: str,
    yarn_words: str,
    *,
    loop_length: str | None = None,
    tightness: float | None = None,
    state: str = "fully-relaxed",
    gauge: float | None = None,
) -> Fabric:
    """A fabric from trade words, as the command line gives them.

    Raises:
        Problem: a word that is not understood, or a length and a tightness that contradict each other.
    """
    made = find_structure(structure)
    yarn = yarn_from_words(yarn_words)
    known = [each.value for each in State if each is not State.ON_MACHINE]
    if state not in known:
        raise Problem("state", f"“{state}” is no state of relaxation.", limit=", ".join(known), tries=["fully-relaxed"])
    if gauge is not None and not 0 < gauge <= MOST_GAUGE:
        raise Problem("gauge", f"{gauge:g} needles per inch.", limit=f"above 0, at most {MOST_GAUGE:g}", tries=["12"])
    length = quantity(loop_length, "mm") if loop_length is not None else None
    for name, value, most in (("loop length", length, 1000.0), ("tightness", tightness, 60.0)):
        if value is not None and not 0 < value <= most:
            raise Problem(name, f"{value:g} is out of reach.", limit=f"above 0, at most {most:g}")
    zone = Zone(structure=structure, loop_length_mm=length, tightness=tightness)
    return fabric_of(made, yarn, _loop_length(zone, yarn, "fabric"), State(state), gauge=gauge)


MOST_GAUGE = 60.0  # finer than any needle bed


def note_settings(style: Style, machine: VBed | None, assumptions: Assumptions, *, is_shaped: bool) -> None:
    """List the settings that the style left to the trade's defaults."""
    if machine is not None and style.machine is not None:
        for name in ("speed_plain", "overrun", "reversal", "running_share"):
            figure: Figure = getattr(machine, name)
            if figure.basis not in (Basis.ENTERED, Basis.MEASURED):
                assumptions.note(f"machine.{_MACHINE_FIELDS[name]}", f"{figure.name}: {figure.text()}")
    if not is_shaped:
        return
    rules = rules_of(style.construction, style.machine.gauge if style.machine else None)
    for name, (words, unit) in _OWN_RULES.items():
        if getattr(style.construction, name) is None and getattr(rules, name) is not None:
            value = getattr(rules, name)
            said = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
            assumptions.note(f"construction.{name}", f"{words}: {said}{unit}")
    if "state" not in style.model_fields_set:
        assumptions.note("state", f"the cloth is taken as {style.state}")
    for key, spec in style.yarns.items():
        if spec.knitting_loss is None:
            losses = ", ".join(f"{100 * loss.value:g} % {loss.name}" for loss in usual_losses("fully fashioned"))
            assumptions.note(f"yarns.{key}.knitting_loss", f"losses: {losses}")


_MACHINE_FIELDS = {
    "speed_plain": "speed_m_per_s",
    "overrun": "overrun_m",
    "reversal": "reversal_s",
    "running_share": "running_share",
}
