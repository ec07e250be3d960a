"""Stocking and tights, knitted flat and fully fashioned: a leg from its top to the tip of its toe, seamed at the back.

In: measures, densities, rules. Out: `GarmentPlan`: the leg twice; tights also a gusset. The leg starts with its welt,
narrows over knee and calf to the ankle, turns the heel in short rows and narrows into the toe. The seam lies at the
back, so each edge knits half a heel, from the edge in to a third and back; the left half follows two courses after
the right one.
Not covered: the leg on a cylinder (`tube`). Source: production reference 2, 3.4.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.figure import plain
from loopwright.garment.blocks.leg import levels, outlines
from loopwright.garment.measures import Measures
from loopwright.garment.taken import parts_of
from loopwright.problems import Problem
from loopwright.shaping.blocks.scarf import rectangle
from loopwright.shaping.darts import Darts, darts_of, with_darts
from loopwright.shaping.edges import Drafted, Edge, Foot, Insert, Stretch, assemble
from loopwright.shaping.fashioning import total_needles
from loopwright.shaping.joins import Join
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import Narrowing, PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant
from loopwright.shaping.shortrows import heel_rows
from loopwright.shaping.sides import Stage, side_of
from loopwright.shaping.stretch import must_stretch
from loopwright.sources.table import table

BLOCKS = ("stocking", "tights")
BETWEEN_HALVES = 2  # courses of the whole width between the two halves of a heel


def plan(measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, band_is_doubled: bool) -> GarmentPlan:
    """Every panel of one size.

    Raises:
        Problem: a stretch of the leg is too short for its narrowings.
    """
    del band_is_doubled
    gauge = gauges.panel("body", "hem")
    made = _leg(measures, gauge, rules, size)
    leg = made.panel
    is_tights = measures.shape.block == "tights"
    panels, findings = [leg], []
    if is_tights:
        side = measures["gusset"]
        panels.append(rectangle("gusset", size, width_cm=side, length_cm=side, gauge=gauge))
        welt_cm = 2 * leg.rib_needles / (gauge.rib_needles_per_cm if leg.rib_courses else gauge.needles_per_cm)
        findings.append(must_stretch("waist", size, welt_cm, measures["waist_stretched"], over="the hip and 2 cm"))
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=refuse_scant(panels, size),
        joins=tuple(_joins(measures, leg)),
        closures=(),
        real=tuple(_real(measures, leg).items()),
        wanted=outlines(measures),
        facts=(*made.facts, *(finding.sentence for finding in findings)),
        findings=tuple(findings),
        compared=tuple(("leg", words) for words in made.compared),
    )


@dataclass(frozen=True, slots=True)
class _Leg:
    """A leg; what the exact plan gains in it, and lines about it."""

    panel: PanelPlan
    compared: tuple[str, ...]
    facts: tuple[str, ...]


def _leg(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Leg:
    """One leg."""
    w, c, where = gauge.needles_per_cm, gauge.courses_per_cm, f"leg, size {size}"
    welt, *below = levels(measures)
    stages, before = [], 0
    for level in [each for each in below if each.name not in FOOT]:
        down = nearest_even((level.down_cm - welt.down_cm) * c)
        stages.append(Stage(level.name, nearest_even(level.width_cm * w) // 2, down - before))
        before = down
    top = nearest_even(welt.width_cm * w)
    side = side_of(top // 2, stages, gauge=gauge, rules=rules, where=where)
    foot = Foot(top, nearest_even(welt.down_cm * gauge.rib_courses_per_cm))
    if not measures["foot_length"]:
        plain_end = Drafted("leg", size, side.edge, side.edge, foot, gauge, 2, rules.mark_needles, 2 * side.edge.end)
        return _Leg(assemble(plain_end), side.compared, side.notes)
    toe = _toe(measures, 2 * side.edge.end, gauge)
    straight = nearest_even(measures["foot_length"] * c) - toe.courses
    _check_foot(straight, where)
    edge = Edge(
        top // 2,
        (*side.edge.stretches, Stretch("foot", straight), Stretch("toe", toe.courses, steps=toe.edge_steps)),
    )
    heel = _heel(side.edge.end, side.edge.courses + BETWEEN_HALVES)
    draft = Drafted("leg", size, edge, edge, foot, gauge, 2, rules.mark_needles, toe.left, inserts=heel)
    panel = with_darts(assemble(draft), "toe", toe)
    return _Leg(panel, side.compared, (*side.notes, *_heel_in_words(panel)))


def _toe(measures: Measures, needles: int, gauge: PanelGauge) -> Darts:
    """Darts of the toe at both sides of the foot, two needles at each."""
    parts = parts_of("women")
    height = parts["toe_over_foot"] * measures["foot_length"]
    return darts_of(
        needles, height_cm=height, courses_per_cm=gauge.courses_per_cm, count=TOE_DARTS, left_share=parts["toe_left"]
    )


TOE_DARTS = 4  # two at each side of the foot, before and behind its edge
FOOT = ("foot", "toe")


def _check_foot(courses: int, where: str) -> None:
    least = 3 * BETWEEN_HALVES
    if courses < least:
        what = f"the foot has {courses} courses before its toe."
        tries = ["a longer foot", "a finer gauge", "foot_length = 0, without a foot"]
        raise Problem(where, what, limit=f"at least {least}, between which the heel turns", tries=tries)


def _heel(half: int, course: int) -> tuple[Insert, ...]:
    """Both halves of the heel, each at its edge."""
    share = table("loopwright.shaping", "other_blocks").by("quantity")["heel_share"]["value"]
    knits = [needles for needles, _ in heel_rows(max(1, round(share * half)))]
    right = tuple((needles - half, half) for needles in knits)
    left = tuple((half, needles - half) for needles in knits)
    return (Insert("heel, right half", course, right), Insert("heel, left half", course + BETWEEN_HALVES, left))


def _heel_courses(leg: PanelPlan) -> int:
    """Courses of one half of the heel; each edge has those of its own half."""
    return next((each.courses for each in leg.short_rows), 0)


def _joins(measures: Measures, leg: PanelPlan) -> list[Join]:
    """The seams in the order of work; a pair of legs."""
    c = leg.gauge.courses_per_cm
    whole = leg.length_cm - _heel_courses(leg) / c
    rise = leg.rib_length_cm + leg.section("rise").courses / c if "rise" in measures.by_name else 0.0
    made = [Join("toes", "half to half", points=leg.finish_needles // 2, count=2)] if measures["foot_length"] else []
    made.append(Join("back seams", "leg to itself", length_cm=whole - rise, count=2))
    if rise:
        made.append(Join("rise", "leg to leg, front and back", length_cm=rise, count=2))
        made.append(Join("gusset", "gusset to legs", length_cm=measures["gusset"], count=4))
    return made


def _real(measures: Measures, leg: PanelPlan) -> dict[str, float]:
    """What the rounded leg measures, by point of measure."""
    w, c = leg.gauge.needles_per_cm, leg.gauge.courses_per_cm
    ends = {each.name: each for each in leg.sections}

    def half_at_end(name: str) -> float:
        section = ends[name]
        moved = leg.fashioning(name)
        last = int(leg.span[section.start])
        return (last - (0 if moved is None else _moved(moved))) / w / 2

    widths = {"half_lower_thigh": "thigh", "half_calf": "knee", "half_ankle": "calf"}
    real = {point: half_at_end(name) for point, name in widths.items()}
    down = sum(ends[name].courses for name in widths.values()) / c
    if "rise" in ends:
        real |= {
            "half_thigh": half_at_end("rise"),
            "half_hip": leg.rib_needles / w,
            "rise": leg.rib_length_cm + ends["rise"].courses / c,
            "leg_length": down,
        }
    else:
        real |= {"half_thigh": leg.rib_needles / w / 2, "leg_length": leg.rib_length_cm + down}
    real["welt"] = leg.rib_length_cm
    if measures["foot_length"]:
        rows = sum(ends[name].courses for name in FOOT) - 2 * _heel_courses(leg)
        real["foot_length"] = rows / c
    return real


def _moved(moved: Narrowing) -> int:
    """Needles that both edges lose (win: negative)."""
    return (-2 if moved.widening else 2) * total_needles(moved.steps)


def _heel_in_words(leg: PanelPlan) -> list[str]:
    if not leg.short_rows:
        return []
    depth = _heel_courses(leg) / 2 / leg.gauge.courses_per_cm
    return [
        f"Heel in two halves beside the seam, {_heel_courses(leg)} courses of short rows each: "
        f"a pocket {plain(depth, 1)} cm deep."
    ]
