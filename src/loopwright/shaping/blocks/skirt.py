"""The skirt: flared by narrowings, by the length of its loops on the same needles, or by gores of short rows.

In: measures, densities, rules. Out: `GarmentPlan`. Narrowed and loop-flared skirts are a front and a back from hem to
waist; a sideways skirt is one piece with courses round the body and one seam, its hem at the left edge of the bed.
The waistband is two strips on their own needles. Whether the fabric stretches as far as the waist needs is not known
here: the extension is told.
Not covered: the settings of a loop flare (`flare`), the wedges of gores (`gores`).
Source: production reference 2, 3.1, 3.4, 3.8.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loopwright.figure import plain
from loopwright.garment.blocks.skirt import FLARED, SIDEWAYS, outlines, skirt_of
from loopwright.garment.measures import Measures, tolerance_cm
from loopwright.problems import Finding, Sign
from loopwright.shaping.bands import band_needles, strip
from loopwright.shaping.edges import Drafted, Edge, Foot, Stretch, assemble
from loopwright.shaping.flare import check_loops, courses_of, flare_steps
from loopwright.shaping.gores import check_gores, gores_in_words, gores_of, usual_gores, wedges_of
from loopwright.shaping.joins import Join
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant
from loopwright.shaping.sides import Stage, side_of
from loopwright.shaping.stretch import must_stretch

BLOCKS = ("skirt",)


@dataclass(frozen=True, slots=True)
class _Made:
    """The panels of a skirt without its waistband, its seams, what it measures, what to know of it."""

    panels: tuple[PanelPlan, ...]
    joins: tuple[Join, ...]
    real: dict[str, float]
    facts: tuple[str, ...] = ()
    compared: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()


def plan(measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, band_is_doubled: bool) -> GarmentPlan:
    """Every panel of one size.

    Raises:
        Problem: a panel cannot be made.
    """
    planners = {FLARED: _flared, SIDEWAYS: _sideways}
    gauge = gauges.panel("body", "hem")
    made = planners.get(skirt_of(measures.shape), _narrowed)(measures, gauge, rules, size)
    waist_cm = 2 * made.real["half_waist"]
    band = _half_band(measures, waist_cm / 2, gauges.panel("neckband", "neckband"), size, doubled=band_is_doubled)
    stretch = must_stretch("waist", size, waist_cm, measures["waist_stretched"], over="the hip and 2 cm")
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=refuse_scant((*made.panels, band), size),
        joins=(
            *made.joins,
            Join("waistband ends", "half to half", length_cm=band.rib_length_cm, count=2),
            Join("waistband", "band to waist", points=band.rib_needles, count=2),
        ),
        closures=(),
        real=tuple({**made.real, "waistband": band.rib_length_cm / (2 if band_is_doubled else 1)}.items()),
        wanted=outlines(measures),
        facts=(*made.facts, stretch.sentence),
        findings=(*made.findings, stretch),
        compared=made.compared,
    )


def _half_band(measures: Measures, half_waist_cm: float, gauge: PanelGauge, size: str, *, doubled: bool) -> PanelPlan:
    """Half of the waistband; two of them fit a bed that a whole one does not."""
    needles = band_needles(seam_cm=half_waist_cm, rib_needles_per_cm=gauge.rib_needles_per_cm, pick_up=1.0)
    height = measures["waistband"] * (2 if doubled else 1)
    return strip("waistband", size, needles=needles, height_cm=height, gauge=gauge, pieces=2)


def _narrowed(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Made:
    """Front and back whose sides narrow from hem over hip to waist."""
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    hem, hip, waist = (nearest_even(measures[name] * w) for name in ("half_hem", "half_hip", "half_waist"))
    rib = nearest_even(measures["hem_rib"] * gauge.rib_courses_per_cm)
    level = nearest_even(measures["hip_level"] * c)
    below = nearest_even((measures["skirt_length"] - measures["hem_rib"]) * c) - level
    stages = [Stage("skirt", hip // 2, below), Stage("hip", waist // 2, level)]
    side = side_of(hem // 2, stages, gauge=gauge, rules=rules, where=f"skirt, size {size}")
    foot = Foot(hem, rib)
    back = assemble(
        Drafted("back", size, side.edge, side.edge, foot, gauge, mark_needles=rules.mark_needles, finish_needles=waist)
    )
    real = {
        "half_hem": hem / (gauge.rib_needles_per_cm if rib else w),
        "half_hip": hip / w,
        "half_waist": waist / w,
        "hip_level": level / c,
        "skirt_length": back.length_cm,
        "hem_rib": back.rib_length_cm,
    }
    compared = tuple(("back", words) for words in side.compared)
    return _Made((back, replace(back, name="front")), _sides(back), real, side.notes, compared)


def _sides(panel: PanelPlan) -> tuple[Join, ...]:
    return (Join("sides", "back to front", length_cm=panel.length_cm, count=2),)


def _flared(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Made:
    """Front and back on the same needles all the way: loops lengthen from waist to hem."""
    del rules
    check_loops(measures, size)
    needles = nearest_even(measures["half_hip"] * gauge.needles_per_cm)
    rib = nearest_even(measures["hem_rib"] * gauge.rib_courses_per_cm)
    steps = flare_steps(measures, needles, gauge)
    courses = courses_of(steps, gauge)
    kept = [(step, count) for step, count in zip(steps, courses, strict=True) if count]
    names = [f"setting {place}, loops × {step.slack:.3f}" for place, (step, _) in enumerate(kept, start=1)]
    edge = Edge(needles // 2, tuple(Stretch(name, count) for name, (_, count) in zip(names, kept, strict=True)))
    plain_back = assemble(Drafted("back", size, edge, edge, Foot(needles, rib), gauge, finish_needles=needles))
    slack = tuple((name, step.slack) for name, (step, _) in zip(names, kept, strict=True))
    back = replace(plain_back, slack=slack)
    real = {
        "half_hem": needles / gauge.rib_needles_per_cm if rib else back.width_cm(0),
        "half_hip": measures["half_hip"],
        "half_waist": back.width_cm(-1),
        "skirt_length": back.length_cm,
        "hem_rib": back.rib_length_cm,
    }
    fact = (
        f"The same {needles} needles all the way: loops of {plain(slack[-1][1], 2)} times the length of the zone's "
        f"at the waist to {plain(slack[0][1], 2)} times at the hem, in {len(slack)} settings of the stitch cam."
    )
    return _Made((back, replace(back, name="front")), _sides(back), real, (fact,))


def _sideways(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Made:
    """One piece with courses round the body; in the middle of each gore the needles of the waist hold."""
    del rules
    gores = gores_of(
        waist_cm=2 * measures["half_waist"], hem_cm=2 * measures["half_hem"], length_cm=measures["skirt_length"],
        gauge=gauge, count=usual_gores(), tolerance_cm=2 * tolerance_cm("half_waist"),
    )  # fmt: skip
    check_gores(gores, size)
    half, c = gores.needles // 2, gauge.courses_per_cm
    edge = Edge(half, (Stretch("skirt", sum(gores.waist)),))
    foot = Foot(gores.needles, 0)
    inserts = tuple(wedges_of(gores))
    piece = assemble(Drafted("skirt", size, edge, edge, foot, gauge, finish_needles=gores.needles, inserts=inserts))
    real = {
        "half_waist": sum(gores.waist) / c / 2,
        "half_hem": sum(gores.hem) / c / 2,
        "skirt_length": gores.needles / gauge.needles_per_cm,
    }
    seam = Join("back seam", "last course to first", points=gores.needles)
    return _Made((piece,), (seam,), real, (gores_in_words(gores),), findings=_hip_findings(measures, real, size))


def _hip_findings(measures: Measures, real: Mapping[str, float], size: str) -> tuple[Finding, ...]:
    """A cone that is another width at the hip than the hip wanted."""
    share = measures["hip_level"] / measures["skirt_length"]
    cone, wanted = real["half_waist"] + share * (real["half_hem"] - real["half_waist"]), measures["half_hip"]
    if abs(cone - wanted) <= tolerance_cm("half_hip"):
        return ()
    sentence = (
        f"Size {size}: a sideways skirt is a straight cone, half {plain(cone, 1)} cm wide at the hip; "
        f"{plain(wanted, 1)} cm is wanted."
    )
    tries = ("a wider hem", "a wider waist") if cone < wanted else ("a closer hem", "accept the wider hip")
    sign = Sign.DECIDE if cone < wanted else Sign.KNOW
    return (Finding(sign, f"half hip, size {size}", sentence, tries, weight=abs(cone - wanted) / wanted),)
