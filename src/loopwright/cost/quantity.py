"""Price and quantity: what is spent once is shared by all pieces, what is spent on each piece is not.

In: `CostInputs`, quantities, a target price. Out: the law price(q) = variable + fixed / q of the FOB price, breaks with
their spread, the curve, the quantity that meets a target, and the quantity at which two constructions cost the same.
Main assumption: no rate changes with quantity; yarn is not cheaper by the tonne, hands do not get faster.
Not covered: minimum quantities of mills and factories; capacity (`planning`). Sources: production reference 7.3.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.cost.money import Money, to_the_cent
from loopwright.cost.piece import CostInputs
from loopwright.cost.propagate import derived, slopes, values_of
from loopwright.cost.sheet import cost_formula
from loopwright.figure import Figure, Term
from loopwright.problems import Problem

LAW = "price(q) = variable + fixed / q"
CURVE_POINTS = 24
USUAL_BREAKS = (50, 100, 300, 1000, 3000)
MANY = 10**9  # beyond this many pieces a target is as good as never met


@dataclass(frozen=True, slots=True)
class PriceLaw:
    """price(q) = variable + fixed / q, both in the currency."""

    variable: float
    fixed: float
    currency: str

    def price(self, pieces: int) -> Money:
        """Price of a piece in an order of `pieces`, to the cent.

        >>> PriceLaw(15.91, 1182, "EUR").price(1000).text()    # 7.3
        '17.09\\xa0EUR'

        Raises:
            Problem: less than one piece.
        """
        if pieces < 1:
            raise Problem(
                "quantity breaks", f"{pieces} pieces; the least is 1.", tries=["give a quantity of 1 or more"]
            )
        return to_the_cent(self.variable + self.fixed / pieces, self.currency)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"variable": self.variable, "fixed": self.fixed, "currency": self.currency}


@dataclass(frozen=True, slots=True)
class QuantityBreak:
    """FOB price at one quantity: to the cent, and the Figure with its spread."""

    pieces: int
    price: Money
    figure: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"pieces": self.pieces, "price": self.price.as_dict(), "figure": self.figure.as_dict()}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity that was looked for; `pieces` is None when there is none, and `words` say why."""

    pieces: int | None
    words: str

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"pieces": self.pieces, "words": self.words}


def price_law(inputs: CostInputs) -> PriceLaw:
    """How the FOB price of these inputs depends on the quantity: 7.3 has 15.91 + 1 182 / q."""
    formula, values = cost_formula(inputs), values_of(inputs.figures())
    variable = formula({**values, "order_share": 0.0})["fob"]
    with_all = formula({**values, "order_share": 1.0})["fob"]
    return PriceLaw(variable, with_all - variable, inputs.rates.currency)


def quantity_breaks(inputs: CostInputs, quantities: Sequence[int] = USUAL_BREAKS) -> tuple[QuantityBreak, ...]:
    """FOB price with its spread at each quantity; every slope follows the same law as the price.

    Raises:
        Problem: less than one piece.
    """
    law, formula, figures = price_law(inputs), cost_formula(inputs), inputs.figures()
    each_piece, once = (slopes(formula, figures, order_share=share) for share in (0.0, 1.0))
    found = []
    for pieces in quantities:
        price = law.price(pieces)
        terms = [
            Term(key, figures[key], slope["fob"] + (once[key]["fob"] - slope["fob"]) / pieces)
            for key, slope in each_piece.items()
        ]
        exact, words = law.variable + law.fixed / pieces, f"FOB price at {pieces} pieces"
        found.append(QuantityBreak(pieces, price, derived(words, exact, law.currency, terms, words=words, formula=LAW)))
    return tuple(found)


def curve_quantities(fewest: int, most: int, points: int = CURVE_POINTS) -> tuple[int, ...]:
    """Quantities for a drawn curve, from fewest to most in steps that multiply, each once.

    >>> curve_quantities(50, 3000, 4)
    (50, 196, 766, 3000)

    Raises:
        Problem: fewer than one piece, or an empty stretch.
    """
    if not 1 <= fewest < most:
        raise Problem(
            "price curve",
            f"From {fewest} to {most} pieces is no stretch.",
            tries=["1 piece or more, the smaller first"],
        )
    ratio = most / fewest
    return tuple(dict.fromkeys(round(fewest * ratio ** (step / (points - 1))) for step in range(points)))


def pieces_for_price(law: PriceLaw, target: Money) -> Quantity:
    """The smallest quantity whose price, to the cent, is at or under the target.

    >>> from decimal import Decimal
    >>> pieces_for_price(PriceLaw(15.91, 1182, "EUR"), Money(Decimal("19.85"), "EUR")).pieces
    300
    """
    if not law.price(MANY) <= target:
        floor = to_the_cent(law.variable, law.currency).text()
        return Quantity(None, f"{target.text()} is never met: however many pieces, one costs {floor} or more.")
    pieces = 1 + bisect_left(range(1, MANY), True, key=lambda quantity: law.price(quantity) <= target)
    return Quantity(pieces, f"{target.text()} is met from {pieces} pieces.")


def break_even(first: PriceLaw, second: PriceLaw) -> Quantity:
    """The quantity from which the construction with the lower variable cost is the cheaper: (F₂ − F₁) / (v₁ − v₂).

    >>> break_even(PriceLaw(9.0, 350, "EUR"), PriceLaw(7.8, 950, "EUR")).pieces    # P-56
    500

    Raises:
        Problem: the two are in different currencies.
    """
    if first.currency != second.currency:
        raise Problem(
            "break-even",
            f"One price is in {first.currency}, the other in {second.currency}.",
            tries=["give both in one currency"],
        )
    saved_each, spent_once = first.variable - second.variable, second.fixed - first.fixed
    if spent_once * saved_each <= 0:
        cheaper = "first" if saved_each < 0 or spent_once > 0 else "second"
        same = saved_each == 0 == spent_once
        words = "Both cost the same at every quantity." if same else f"The {cheaper} is cheaper at every quantity."
        return Quantity(None, words)
    pieces = math.ceil(round(spent_once / saved_each, 9))
    cheaper = "second" if saved_each > 0 else "first"
    return Quantity(max(1, pieces), f"From {max(1, pieces)} pieces the {cheaper} is no dearer than the other.")
