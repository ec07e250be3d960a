"""A machine named by its model: what it gave to the style, and what it cannot do that the plan asks for.

In: `Style` with a named model, the plan of a size, the fabrics. Out: assumptions, findings with both numbers.
Main assumption: the listed models are invented; a mill's own machine takes their place by its gauge, bed and systems.
Not covered: the bed (`shaping.limits`), half gauge (`ways.complete`). Source: production reference 3.3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loopwright.fabric.fabric import Fabric
from loopwright.machine.models import FlatModel, flat_model
from loopwright.problems import Finding, Problem, Sign
from loopwright.shaping.panel import PanelPlan, Work
from loopwright.shaping.plan import GarmentPlan
from loopwright.study.parts import Assumptions
from loopwright.study.style import Style

GIVEN = {"gauge": "gauge: E {:g}", "bed_in": "bed: {:g} in", "systems": "knitting systems: {:g}"}


def model_of(style: Style) -> FlatModel | None:
    """The model that the style names; none when it names none."""
    return flat_model(style.machine.model) if style.machine and style.machine.model else None


def note_model(style: Style, assumptions: Assumptions) -> None:
    """List what the named model gave and the style did not say."""
    model = model_of(style)
    if model is None or style.machine is None:
        return
    for name, words in GIVEN.items():
        if name not in style.machine.model_fields_set:
            value = getattr(style.machine, name)
            assumptions.note(f"machine.{name}", f"{words.format(value)}, as “{model.name}” (an invented machine)")


def model_findings(style: Style, plan: GarmentPlan, fabrics: Mapping[str, Fabric]) -> list[Finding]:
    """What the named model cannot do that this size asks for."""
    model = model_of(style)
    if model is None or style.machine is None:
        return []
    each = style.machine.carriers or model.systems
    yarns = {zone: len(fabric.structure.anatomy.yarns) for zone, fabric in fabrics.items()}
    asked = max((count if count > 1 else each for count in yarns.values()), default=0)
    return [*_narrowings(model, plan), *_held(model, plan), *_narrow(model, plan), *_carriers(model, asked)]


def _narrowings(model: FlatModel, plan: GarmentPlan) -> Iterator[Finding]:
    """The edge that narrows sooner after itself than the machine does, the soonest of all panels."""
    least = model.least_courses_between_narrowings
    soonest = [
        (step.courses, panel, fashioning.name)
        for panel in plan.panels
        for fashioning in panel.fashionings
        if not fashioning.widening
        for step in fashioning.steps
        if 0 < step.courses < least
    ]
    if not soonest:
        return
    courses, panel, name = min(soonest, key=lambda each: each[0])
    sentence = (
        f"“{model.name}” narrows the same edge again after {least} courses at the soonest; the {name} of the "
        f"{panel.name} asks for it after {courses}."
    )
    tries = (f"courses_between = {least}", "more needles at a narrowing", "a machine that holds loops down")
    yield Finding(Sign.DECIDE, f"machine, {panel.name}", sentence, tries, weight=least / courses, source=model.source)


def _held(model: FlatModel, plan: GarmentPlan) -> Iterator[Finding]:
    """The short rows over which a needle waits longer than its loop stays down."""
    waits = [(held_courses(panel), panel) for panel in plan.panels]
    courses, panel = max(waits, key=lambda each: each[0])
    if courses <= model.most_held_courses:
        return
    sentence = (
        f"“{model.name}” lets a needle hold its loop over {model.most_held_courses} courses while others knit; short "
        f"rows of the {panel.name} ask for {courses}."
    )
    tries = ("bind off in steps instead", "a machine that holds loops down")
    weight = courses / model.most_held_courses
    yield Finding(
        Sign.DECIDE, f"machine, {panel.name}, short rows", sentence, tries, weight=weight, source=model.source
    )


def held_courses(panel: PanelPlan) -> int:
    """Courses over which the first needle held in short rows waits, after its own two."""
    rows = [each.courses for each in panel.short_rows]
    rows.append(int((panel.work == Work.SHORT_ROWS).sum()))
    return max(max(rows) - 2, 0)


def _narrow(model: FlatModel, plan: GarmentPlan) -> Iterator[Finding]:
    for panel in plan.panels:
        if panel.widest < model.fewest_needles:
            try:
                model.check_needles(panel.widest)
            except Problem as problem:
                yield _finding(problem, f"machine, {panel.name}")


def _carriers(model: FlatModel, asked: int) -> Iterator[Finding]:
    try:
        model.check_carriers(asked)
    except Problem as problem:
        yield _finding(problem, "machine, carriers")


def _finding(problem: Problem, where: str) -> Finding:
    return Finding(Sign.DECIDE, where, f"{problem.what} Limit: {problem.limit}.", problem.tries, weight=1.0)
