"""Yarn to buy: from grams in the piece to grams issued, to kilograms and cones ordered.

In: grams of yarn in a piece, losses as shares, pieces, cone weight. Out: kilograms issued for a piece, an order in
kilograms and cones for each colour.
Main assumption: losses are counted on what is put in, so the mass is divided by (1 − loss); a quote that multiplies by
(1 + waste) keeps its own rule. Masses of the sizes are weighted by the order before they come here.
Not covered: yarn in a piece (`shaping.consumption`), size mix (study), conditioned mass and regain (yarn).
Sources: the rows of `losses`; production reference 5 and 8.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.cost.propagate import derived
from loopwright.figure import Figure, Term, exact
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

G_PER_KG = 1000
WHOLE = 1e-9  # an order this little above a whole cone is that cone


@dataclass(frozen=True, slots=True)
class YarnOrder:
    """What is bought of one yarn in one colour."""

    yarn: str
    colour: str
    kg: Figure
    cones: int

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"yarn": self.yarn, "colour": self.colour, "kg": self.kg.as_dict(), "cones": self.cones}


def issued_mass(net: float, losses: Iterable[float]) -> float:
    """Mass put in so that `net` is left after losses counted on the input: net / Π(1 − w).

    >>> round(issued_mass(209.32, [0.05, 0.01]), 1), round(issued_mass(5.03, [0.06]), 2)    # P-46, P-47
    (222.6, 5.35)
    """
    return net / math.prod(1 - loss for loss in losses)


def yarn_issued(net: Figure, losses: Sequence[Figure]) -> Figure:
    """Kilograms of yarn issued for a piece whose garment holds `net` grams, after losses on the input.

    Raises:
        Problem: a loss below nothing, or one that leaves nothing.
    """
    for loss in losses:
        if not 0 <= loss.value < 1:
            raise Problem(
                f"loss, {loss.name}",
                f"A loss of {loss.value:.0%} of the yarn; it lies between 0% and less than 100%.",
                tries=["give the loss as a part of one: 5 % is 0.05"],
            )
    shares = [loss.value for loss in losses]
    kg = issued_mass(net.value, shares) / G_PER_KG
    terms = [Term("m", net, issued_mass(1, shares) / G_PER_KG)]
    terms += [Term(f"w{place}", loss, kg / (1 - loss.value)) for place, loss in enumerate(losses, 1)]
    words = "yarn in the garment over what is left after each loss"
    return derived("yarn issued", kg, "kg", terms, words=words, formula="m / Π(1−w)")


def usual_losses(construction: str) -> tuple[Figure, ...]:
    """Losses of a construction from cone to garment, in order.

    >>> [loss.value for loss in usual_losses("fully fashioned")]    # production reference 12.2
    [0.05, 0.01]

    Raises:
        Problem: no such construction.
    """
    rows = [row for row in table(__package__, "losses") if row.has("chain")]
    found = tuple(_loss_figure(row) for row in rows if row.text("chain") == construction)
    if not found:
        known = ", ".join(dict.fromkeys(row.text("chain") for row in rows))
        raise Problem("yarn losses", f"No usual losses for “{construction}”.", tries=[f"one of {known}"])
    return found


def usual_loss(key: str) -> Figure:
    """One row of the table of losses: `over_order`, `whole_chain` …"""
    return _loss_figure(table(__package__, "losses").by("loss")[key])


def _loss_figure(row: Row) -> Figure:
    """A loss as a figure, a part of one."""
    return row.figure(row.text("words"), "share", "", words="share of the yarn put in; your own figure replaces it")


def yarn_order(
    yarn: str,
    colour: str,
    *,
    kg_per_piece: Figure,
    pieces: int,
    cone_kg: float,
    feeders: int = 1,
    machines: int = 1,
    over_order: Figure | None = None,
) -> YarnOrder:
    """What to buy of a yarn in one colour: pieces · kg issued · (1 + over-order), and at least a cone for each feeder.

    Args:
        yarn: name of the yarn.
        colour: name of the colour.
        kg_per_piece: kilograms issued for a piece.
        pieces: pieces in this colour.
        cone_kg: kilograms on a cone.
        feeders: yarn carriers that take it on one machine.
        machines: machines that knit the order at once.
        over_order: share ordered over for matching and repairs; none when left out.

    Raises:
        Problem: no pieces, or no weight on the cone.
    """
    if pieces < 1 or not cone_kg > 0:
        raise Problem(
            f"yarn {yarn}, {colour}",
            f"{pieces} pieces from cones of {cone_kg:g} kg; both must be above 0.",
            tries=["give the pieces in this colour", "weigh a cone without its tube"],
        )
    extra = over_order or exact("over-order", 0.0, "", words="nothing ordered over")
    factor = 1 + extra.value
    kg = derived(
        f"{yarn}, {colour}",
        pieces * kg_per_piece.value * factor,
        "kg",
        [Term("m", kg_per_piece, pieces * factor), Term("w", extra, pieces * kg_per_piece.value)],
        words=f"{pieces} pieces of {kg_per_piece.value:.4g} kg issued, and what is ordered over",
        formula="q·m·(1+w)",
    )
    cones = max(math.ceil(kg.value / cone_kg - WHOLE), feeders * machines)
    return YarnOrder(yarn, colour, kg, cones)
