"""What a drawer of swatches has taught, and which swatch to knit next: blocks to be read, and the same as JSON.

In: `Drawer` with predictions, `Advice`. Out: blocks, documents. Every prediction stands before and after the swatches,
with the swatches that moved it; every swatch is predicted from the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from loopwright import __version__
from loopwright.figure import plain
from loopwright.report.blocks import Block, Cell, Findings, Lines, Table
from loopwright.study.next_swatch import Advice
from loopwright.swatch.learning.agreement import (
    Agreement,
    agreements,
    disagreement_findings,
    root_mean_square_off,
)
from loopwright.swatch.learning.drawer import Drawer
from loopwright.swatch.learning.predict import NAMES, Prediction
from loopwright.swatch.observed import Quantity

LEARNING_FORMAT, NEXT_FORMAT = "loopwright learning 1", "loopwright next 1"
FOOT = "Spread: nine cases in ten. M measured on this cloth; P, C, A as tabled, moved by the swatches named."
MOST_ADVICE = 8


def learning_document(drawer: Drawer, predictions: Sequence[Prediction]) -> dict[str, Any]:
    """The drawer as JSON."""
    return {
        "format": LEARNING_FORMAT,
        "program_version": __version__,
        "swatches": list(drawer.swatches),
        "observations": len(drawer.observations),
        "left_out_on_machine": len(drawer.left_out),
        "predictions": [each.as_dict() for each in predictions],
        "agreement": [each.as_dict() for each in agreements(drawer)],
        "root_mean_square_error": {
            quantity.value: {"from_the_others": off[0], "from_the_tables": off[1]}
            for quantity in Quantity
            if (off := root_mean_square_off(drawer, quantity)) is not None
        },
        "size_of_departures": size_of_departures(drawer),
        "findings": [each.as_dict() for each in disagreement_findings(drawer)],
    }


def size_of_departures(drawer: Drawer) -> dict[str, dict[str, float]]:
    """Standard deviations between and within cloths, over the tabled, by block of quantities."""
    return {
        name: {
            "between_cloths": sum(node.scale.weight * node.scale.between**0.5 for node in block.nodes),
            "within_a_cloth": sum(node.scale.weight * node.scale.within**0.5 for node in block.nodes),
        }
        for name, block in drawer.blocks.items()
    }


def learning_blocks(drawer: Drawer, predictions: Sequence[Prediction]) -> list[Block]:
    """The drawer to be read."""
    blocks: list[Block] = []
    for cloth, told in groupby(predictions, key=lambda each: each.cloth):
        heading = f"{cloth.structure.name}, {cloth.yarn.name}, loop {plain(cloth.loop_length_mm, 2)} mm"
        blocks.append(_before_and_after(f"{heading}, {cloth.state.value}", list(told)))
    found = disagreement_findings(drawer)
    if found:
        blocks.append(Findings(found))
    if len(drawer.swatches) > 1:
        blocks.append(_agreement_table(agreements(drawer)))
    blocks.append(Lines((f"{len(drawer.swatches)} swatches, {len(drawer.observations)} readings.", FOOT)))
    return blocks


def _before_and_after(heading: str, told: Sequence[Prediction]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (_opening(NAMES[each.quantity]), each.prior, each.posterior, moved_words(each)) for each in told
    ]
    return Table((heading, "before", "after", "moved by"), tuple(rows), words=(0, 3))


def _opening(name: str) -> str:
    return name[:1].upper() + name[1:]


def moved_words(prediction: Prediction) -> str:
    """ "N7 swatch 1 (82 %), N7 swatch 2 (18 %)": parts of the narrowing; nothing when none was."""
    if not prediction.is_moved:
        return ""
    named = [each for each in prediction.moves if each.swatch in prediction.moved_by][:3]
    return ", ".join(f"{each.swatch} ({plain(100 * min(each.share, 1.0), 0)} %)" for each in named)


def _agreement_table(found: Sequence[Agreement]) -> Table:
    """The reading of each swatch that is furthest off."""
    rows: list[tuple[Cell, ...]] = []
    for each in found:
        worst = each.worst
        name, unit = NAMES[worst.observed.quantity], worst.observed.quantity.unit
        rows.append(
            (
                each.swatch,
                f"{name}, {unit}",
                plain(worst.observed.value, 2),
                plain(worst.predicted, 2),
                plain(worst.off, 1),
            )
        )
    head = ("Swatch", "furthest off", "measured", "from the others", "standard deviations")
    return Table(head, tuple(rows), caption="Each swatch predicted from all the others.", words=(0, 1))


def next_document(advice: Advice) -> dict[str, Any]:
    """What to knit next as JSON."""
    return {"format": NEXT_FORMAT, "program_version": __version__, **advice.as_dict()}


def next_blocks(advice: Advice) -> list[Block]:
    """What to knit next, to be read."""
    goal = advice.goal
    digits = 2 if goal.key == "price" else 1
    lines = [f"For the {goal.name}: {plain(goal.value, digits)} ± {plain(advice.spread, digits)} {goal.unit}."]
    if advice.risk is not None and goal.limit is not None:
        lines.append(f"Chance of lying beyond ± {goal.limit:g} %: {plain(100 * advice.risk, 0)} %.")
    rows: list[tuple[Cell, ...]] = [
        (
            each.candidate.words,
            f"± {plain(each.after, digits)}",
            f"{plain(100 * each.share, 0)} %",
            plain(each.candidate.hours, 1),
            plain(each.gain_per_hour, digits + 1),
        )
        for each in advice.swatches[:MOST_ADVICE]
    ]
    head = ("Swatch", f"spread after, {goal.unit}", "doubt in this cloth", "hours", "less per hour")
    best = (advice.swatches[0].reason,) if advice.swatches else ()
    return [Lines((*lines, *best)), Table(head, tuple(rows), words=(0,))]
