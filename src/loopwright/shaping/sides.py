"""The side of a panel that passes through given widths, one stretch after the other, both edges alike.

In: half needles and courses of every stage, densities, rules. Out: `SidePlan`: the edge, and what the exact plan gains
over the two-rate rule. Not covered: armholes, caps, necks (`body`, `sleeve`). Source: production reference 3.1, 3.2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.problems import Problem
from loopwright.shaping.edges import Edge, Stretch
from loopwright.shaping.fashion import fashioned
from loopwright.shaping.panel import PanelGauge
from loopwright.shaping.rules import ShapingRules


@dataclass(frozen=True, slots=True)
class Stage:
    """A stretch of a side: what it is called, half needles at its end, its courses."""

    name: str
    half_needles: int
    courses: int


@dataclass(frozen=True, slots=True)
class SidePlan:
    """The edge of both sides; in words what the exact plan gains, stage by stage, and what more a stage needed."""

    edge: Edge
    compared: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def side_of(foot_half: int, stages: Sequence[Stage], *, gauge: PanelGauge, rules: ShapingRules, where: str) -> SidePlan:
    """The side from `foot_half` needles through every stage; a stage without courses and needles is left out.

    Raises:
        Problem: a stage is too short for its narrowings or widenings.
    """
    needles = foot_half
    stretches: list[Stretch] = []
    compared: list[str] = []
    notes: list[str] = []
    for stage in stages:
        moved = needles - stage.half_needles
        used = _rules_for(stage, moved, rules, where)
        if used is not rules:
            notes.append(
                f"The {stage.name} narrows {used.narrow_needles} needles at a time: {abs(moved)} needles at each side "
                f"in {stage.courses} courses leave no room for fewer."
            )
        if stage.courses:
            made = fashioned(abs(moved), stage.courses, name=stage.name, gauge=gauge, rules=used, widening=moved < 0)
            stretches.append(Stretch(stage.name, stage.courses, steps=made.steps, widening=moved < 0))
            if made.compared:
                compared.append(f"{stage.name}: {made.compared}")
        needles = stage.half_needles
    return SidePlan(Edge(foot_half, tuple(stretches)), tuple(compared), tuple(notes))


MOST_NEEDLES = 3  # at a time on a flat bed; four are an exception


def _rules_for(stage: Stage, moved: int, rules: ShapingRules, where: str) -> ShapingRules:
    """The rules, with as many more needles at a time as a stage's narrowings need."""
    events = stage.courses // max(2, rules.courses_between)
    most = rules.widen_needles if moved < 0 else max(rules.narrow_needles, MOST_NEEDLES)
    if abs(moved) > events * most:
        what = f"{abs(moved)} needles at each side do not fit into {stage.courses} courses of the {stage.name}."
        limit = f"{events * most} needles, {most} at a time in {events} events"
        tries = ["a longer stretch there", "widths that lie nearer to each other"]
        raise Problem(where, what, limit=limit, tries=tries)
    if moved <= events * rules.narrow_needles:
        return rules
    return replace(rules, narrow_needles=-(-moved // events))
