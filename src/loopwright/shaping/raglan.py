"""Raglan edges: body and sleeve narrowed over the same courses, planned together so that their marks meet in the seam.

In: needles to narrow on the body's edge and on the sleeve's, the courses of both, densities, rules. Out: `Fashioned`
for each edge. With the exact rule both edges are one programme: a course in which both narrow counts as less, since its
marks then meet in the seam; each edge may leave its line a little to gain that. Edges too large for one programme are
planned each by itself, as the classic rules do.
Not covered: the panels (`body`, `sleeve`). Source: production reference 2, 3.7.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopwright.garment.measures import Measures
from loopwright.garment.sleeves import sleeve_of
from loopwright.shaping.exact_pair import EdgePair, together
from loopwright.shaping.fashion import (
    STEP,
    Fashioned,
    costs_of,
    curve_length_cm,
    fashioned,
    limits_of,
    wanted_line,
    with_enough_needles,
)
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge
from loopwright.shaping.rules import EXACT, ShapingRules, rule_row

MOST_STATES = 700_000  # of one programme for both edges: about a tenth of a second


@dataclass(frozen=True, slots=True)
class RaglanEdge:
    """One edge of a raglan seam: needles to narrow, densities."""

    needles: int
    gauge: PanelGauge


def raglan_corner(measures: Measures) -> tuple[float, float] | None:
    """Where the edges of a compound raglan break: shares of courses and of needles; none when they are straight."""
    share, reached = sleeve_of(measures.shape).rates
    return (share, reached) if share else None


def sleeve_edge(measures: Measures, bind_off: int, gauge: PanelGauge) -> RaglanEdge:
    """The edge of the sleeve: upper arm less its top and what is bound off at the underarm."""
    upper = nearest_even(measures["upper_arm"] * gauge.needles_per_cm)
    top = nearest_even(measures["sleeve_top"] * gauge.needles_per_cm)
    return RaglanEdge((upper - top) // 2 - bind_off, gauge)


def tied(
    body: RaglanEdge, sleeve: RaglanEdge, courses: int, rules: ShapingRules, corner: tuple[float, float] | None
) -> tuple[Fashioned, Fashioned]:
    """Both edges of the seam.

    Raises:
        Problem: an edge has more narrowings than its courses hold.
    """
    enough = [with_enough_needles(rules, edge.needles, courses, corner) for edge in (body, sleeve)]
    states = (courses // STEP) * (body.needles + 1) * (sleeve.needles + 1)
    if rules.fashioning != EXACT or min(body.needles, sleeve.needles) < 1 or states > MOST_STATES:
        one, other = (
            fashioned(edge.needles, courses, name="raglan", gauge=edge.gauge, rules=own, corner=corner)
            for edge, own in zip((body, sleeve), enough, strict=True)
        )
        return one, other
    lines = [wanted_line("raglan", edge.needles, courses, edge.gauge, corner) for edge in (body, sleeve)]
    limits = [limits_of(own, own.narrow_needles) for own in enough]
    of_edge = costs_of(rules, widening=False)
    costs = replace(of_edge, per_mm2=2 * of_edge.per_mm2)  # each panel has the edge on both its sides
    both = 2 * rules.narrowing_strokes - rule_row("marks_meet_strokes")["value"]
    plan = together(EdgePair(lines[0], lines[1], limits[0], limits[1], costs), both)
    shared = f"{plan.shared_courses} of its narrowings meet one of the sleeve in the seam"
    return (
        Fashioned(plan.left.steps, curve_length_cm(lines[0]), shared),
        Fashioned(plan.right.steps, curve_length_cm(lines[1])),
    )
