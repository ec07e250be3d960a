"""The skirt: flared by narrowings, by the length of its loops on the same needles, or by gores of short rows.

In: measures, densities, rules. Out: `GarmentPlan`. Narrowed and loop-flared skirts are a front and a back from hem to
waist; a sideways skirt is one piece with courses round the body and one seam, its hem at the left edge of the bed.
The waistband is a strip on its own needles. Whether the fabric stretches as far as the waist needs is not known here:
the extension is told. Assumption of the loop flare: wale and course spacing both follow the loop length (w = k_w/l,
c = k_c/l). Source: production reference 2, 3.1, 3.4, 3.8.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from loopwright.figure import plain
from loopwright.garment.blocks.skirt import FLARED, SIDEWAYS, outlines, skirt_of
from loopwright.garment.measures import Measures, tolerance_cm
from loopwright.problems import Finding, Problem, Sign
from loopwright.shaping.bands import band_needles, strip
from loopwright.shaping.edges import Drafted, Edge, Foot, Insert, Stretch, assemble, interleaved
from loopwright.shaping.joins import Join
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant
from loopwright.shaping.shortrows import wedge
from loopwright.shaping.sides import Stage, side_of
from loopwright.shaping.stretch import must_stretch
from loopwright.sources.table import Row, table

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
    band_gauge = gauges.panel("neckband", "neckband")
    needles = band_needles(seam_cm=waist_cm, rib_needles_per_cm=band_gauge.rib_needles_per_cm, pick_up=1.0)
    height = measures["waistband"] * (2 if band_is_doubled else 1)
    band = strip("waistband", size, needles=needles, height_cm=height, gauge=band_gauge)
    stretch = must_stretch("waist", size, waist_cm, measures["waist_stretched"], over="the hip and 2 cm")
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=refuse_scant((*made.panels, band), size),
        joins=(*made.joins, Join("waistband", "band to waist", points=needles)),
        closures=(),
        real=tuple({**made.real, "waistband": band.rib_length_cm * measures["waistband"] / height}.items()),
        wanted=outlines(measures),
        facts=(*made.facts, stretch.sentence),
        findings=(*made.findings, stretch),
        compared=made.compared,
    )


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


@dataclass(frozen=True, slots=True)
class FlareStep:
    """A setting of the stitch cam: height in cm, and loop length over the zone's."""

    height_cm: float
    slack: float


def _flared(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Made:
    """Front and back on the same needles all the way: loops lengthen from waist to hem."""
    del rules
    _check_loops(measures, size)
    needles = nearest_even(measures["half_hip"] * gauge.needles_per_cm)
    rib = nearest_even(measures["hem_rib"] * gauge.rib_courses_per_cm)
    steps = flare_steps(measures, needles, gauge)
    courses = _courses_of(steps, gauge)
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


def _check_loops(measures: Measures, size: str) -> None:
    """Refuse more flare than one stitch cam gives."""
    row, waist = quantity("flat_loop_ratio"), measures["half_waist"]
    widest = max(measures["half_hem"], measures["half_hip"])
    if widest <= row["value"] * waist + 1e-9:
        return
    what = (
        f"half hem {widest:.1f} cm over half waist {waist:.1f} cm on the same needles asks for loops "
        f"{widest / waist:.2f} times as long at the hem as at the waist."
    )
    limit = f"{row['value']:g} times; stitch cams reach {row['value_low']:g} to {row['value_high']:g}, common practice"
    tries = ['skirt = "narrowed"', 'skirt = "sideways"', f"a half hem of {row['value'] * waist:.1f} cm at most"]
    raise Problem(f"skirt, size {size}", what, limit=limit, tries=tries)


def flare_steps(measures: Measures, needles: int, gauge: PanelGauge) -> tuple[FlareStep, ...]:
    """Settings of the stitch cam from hem to waist: each reaches half way to its neighbours, so the area is kept."""
    rib, length = measures["hem_rib"], measures["skirt_length"]
    hip_at = length - measures["hip_level"]
    hem, hip, waist = measures["half_hem"], measures["half_hip"], measures["half_waist"]
    nodes = [*_nodes(rib, hem, hip_at, hip)[:-1], *_nodes(hip_at, hip, length, waist)]
    heights = [height for height, _ in nodes]
    bounds = [rib, *((low + high) / 2 for low, high in pairwise(heights)), length]
    return tuple(
        FlareStep(top - bottom, width * gauge.needles_per_cm / needles)
        for (bottom, top), (_, width) in zip(pairwise(bounds), nodes, strict=True)
    )


def _nodes(low: float, wide: float, high: float, narrow: float) -> list[tuple[float, float]]:
    """(height, half width) at even distances, as many as keep the width steps small."""
    count = max(1, math.ceil(abs(wide - narrow) / quantity("flare_step_cm")["value"]))
    return [(low + (high - low) * step / count, wide + (narrow - wide) * step / count) for step in range(count + 1)]


def _courses_of(steps: Sequence[FlareStep], gauge: PanelGauge) -> list[int]:
    """Even courses of every setting; what one rounds off the next takes up."""
    courses, wanted, real = [], 0.0, 0.0
    for step in steps:
        wanted += step.height_cm
        course_cm = step.slack / gauge.courses_per_cm
        count = max(0, nearest_even((wanted - real) / course_cm))
        real += count * course_cm
        courses.append(count)
    return courses


@dataclass(frozen=True, slots=True)
class Gores:
    """A sideways skirt: needles of its length; gore by gore its courses at the waist and its pairs of short rows."""

    needles: int
    waist: tuple[int, ...]
    pairs: tuple[int, ...]

    @property
    def hem(self) -> tuple[int, ...]:
        """Courses at the hem, gore by gore."""
        return tuple(waist + 2 * pairs for waist, pairs in zip(self.waist, self.pairs, strict=True))


def gores_of(
    *, waist_cm: float, hem_cm: float, length_cm: float, gauge: PanelGauge, count: int, tolerance_cm: float
) -> Gores:
    """Gores of a sideways skirt; courses run round the body, needles along its length.

    Gores are alike while both girths stay within `tolerance_cm`; else some have two courses more than others.

    >>> gauge = PanelGauge(5.0, 7.0, 5.0, 7.0)
    >>> gores = gores_of(
    ...     waist_cm=74, hem_cm=150, length_cm=60, gauge=gauge, count=8, tolerance_cm=2
    ... )    # P-23
    >>> gores.needles, set(gores.waist), set(gores.hem), set(gores.pairs)
    (300, {64}, {132}, {34})
    """
    c = gauge.courses_per_cm
    waist, hem = (_round_the_body(girth, count, c, tolerance_cm) for girth in (waist_cm, hem_cm))
    pairs = tuple(max(0, below - above) // 2 for above, below in zip(waist, hem, strict=True))
    return Gores(nearest_even(length_cm * gauge.needles_per_cm), waist, pairs)


def _round_the_body(girth_cm: float, count: int, courses_per_cm: float, tolerance_cm: float) -> tuple[int, ...]:
    """Even courses of every gore."""
    alike = nearest_even(girth_cm * courses_per_cm / count)
    if abs(count * alike / courses_per_cm - girth_cm) <= tolerance_cm:
        return (alike,) * count
    return tuple(2 * pairs for pairs in interleaved(nearest_even(girth_cm * courses_per_cm) // 2, count))


def _sideways(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Made:
    """One piece with courses round the body; in the middle of each gore the needles of the waist hold."""
    del rules
    gores = gores_of(
        waist_cm=2 * measures["half_waist"], hem_cm=2 * measures["half_hem"], length_cm=measures["skirt_length"],
        gauge=gauge, count=int(quantity("gores")["value"]), tolerance_cm=2 * tolerance_cm("half_waist"),
    )  # fmt: skip
    _check_gores(gores, size)
    half, c = gores.needles // 2, gauge.courses_per_cm
    edge = Edge(half, (Stretch("skirt", sum(gores.waist)),))
    foot = Foot(gores.needles, 0)
    inserts = tuple(_wedges(gores))
    piece = assemble(Drafted("skirt", size, edge, edge, foot, gauge, finish_needles=gores.needles, inserts=inserts))
    real = {
        "half_waist": sum(gores.waist) / c / 2,
        "half_hem": sum(gores.hem) / c / 2,
        "skirt_length": gores.needles / gauge.needles_per_cm,
    }
    seam = Join("back seam", "last course to first", points=gores.needles)
    return _Made((piece,), (seam,), real, (_gores_in_words(gores),), findings=_hip_findings(measures, real, size))


def _wedges(gores: Gores) -> Iterator[Insert]:
    """Short rows in the middle of every gore, from the hem at the left edge."""
    half, start = gores.needles // 2, 0
    for place, (courses, pairs) in enumerate(zip(gores.waist, gores.pairs, strict=True), start=1):
        knits = tuple((half, knit - half) for knit in wedge(gores.needles, pairs))
        yield Insert(f"gore {place}", start + 2 * (courses // 4), knits)
        start += courses


def _gores_in_words(gores: Gores) -> str:
    waist, hem, pairs = (
        " or ".join(str(each) for each in sorted(set(every))) for every in (gores.waist, gores.hem, gores.pairs)
    )
    return (
        f"Knitted sideways in {len(gores.waist)} gores of {waist} courses at the waist and {hem} at the hem: "
        f"{pairs} pairs of short rows in each on {gores.needles} needles."
    )


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


def _check_gores(gores: Gores, size: str) -> None:
    """Refuse gores without a course between their short rows, and steeper than one needle to a pair."""
    where = f"skirt, size {size}"
    if min(gores.waist) < MIDDLE:
        what = f"{min(gores.waist)} courses in one of {len(gores.waist)} gores at the waist."
        raise Problem(where, what, limit=f"at least {MIDDLE}", tries=["a wider waist", "a finer gauge"])
    if max(gores.pairs) >= gores.needles:
        what = f"{max(gores.pairs)} pairs of short rows in a gore of {gores.needles} needles."
        tries = ["a longer skirt", "a closer hem"]
        raise Problem(where, what, limit="fewer pairs than needles", tries=tries)


MIDDLE = 4  # courses of a gore before and after its short rows, so that two gores do not meet


def quantity(name: str) -> Row:
    """A row of the table of these blocks."""
    return table("loopwright.shaping", "other_blocks").by("quantity")[name]
