"""Ways side by side: in order of price, and each against the one that the style has chosen.

In: `Way` values. Out: their order, `Against`: what a piece costs more or less, where that comes from in direct cost,
and from which quantity the other is the cheaper. Source: production reference 7.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from loopwright.cost.quantity import PriceLaw, Quantity, break_even
from loopwright.cost.sheet import CostSheet
from loopwright.figure import plain
from loopwright.study.ways.way import Way

GROUPS = {  # lines of direct cost that are told together
    "yarn": ("yarn", "dye_lots"),
    "knitting": ("knitting",),
    "make-up": ("linking", "hand_finish", "wash", "press", "check"),
    "programming": ("programming",),
}
LEAST = Decimal("0.005")  # what is less prints as nothing


@dataclass(frozen=True, slots=True)
class Against:
    """A way beside the chosen one: what a piece is dearer (below 0: cheaper), direct cost by group, break-even."""

    way: Way
    dearer: Decimal
    by_group: tuple[tuple[str, Decimal], ...]
    quantity: Quantity
    words: str

    @property
    def cost_words(self) -> str:
        """Where the difference comes from: "yarn +2.85, make-up −4.12"."""
        parts = [f"{name} {_signed(amount)}" for name, amount in self.by_group if abs(amount) >= LEAST]
        return ", ".join(parts) or "the same direct cost"

    def as_dict(self) -> dict[str, Any]:
        """JSON form; amounts in the currency of the price."""
        return {
            "dearer": float(self.dearer),
            "direct_cost": {name: float(amount) for name, amount in self.by_group},
            "break_even_pieces": self.quantity.pieces,
            "words": self.words,
        }


def in_order(ways: Sequence[Way]) -> list[Way]:
    """Ways that can be made, the cheapest first; without prices in the order given."""
    able = [way for way in ways if way.why_not is None]
    return sorted(able, key=lambda way: way.sheet.fob.figure.value if way.sheet else math.inf)


def against_own(ways: Sequence[Way]) -> tuple[Against, ...]:
    """Every other priced way beside the chosen one, in order of price; none when the chosen one has no price."""
    own = next((way for way in ways if way.is_own), None)
    if own is None or own.sheet is None or own.law is None:
        return ()
    return tuple(
        _against(way, way.sheet, way.law, own.sheet, own.law)
        for way in in_order(ways)
        if way is not own and way.sheet is not None and way.law is not None
    )


def _against(way: Way, sheet: CostSheet, law: PriceLaw, own: CostSheet, own_law: PriceLaw) -> Against:
    by_group = tuple((name, _sum(sheet, keys) - _sum(own, keys)) for name, keys in GROUPS.items())
    quantity = break_even(own_law, law)
    return Against(
        way, sheet.fob.amount.amount - own.fob.amount.amount, by_group, quantity, _words(law, own_law, quantity)
    )


def _sum(sheet: CostSheet, keys: Sequence[str]) -> Decimal:
    """Lines of a group together; every yarn has a line of its own."""
    return sum((line.amount.amount for line in sheet.lines if line.key.partition(" ")[0] in keys), Decimal(0))


def _words(law: PriceLaw, own: PriceLaw, quantity: Quantity) -> str:
    """From which quantity the way is the cheaper."""
    if math.isclose(law.variable, own.variable) and math.isclose(law.fixed, own.fixed):
        return "the same at every quantity"
    if quantity.pieces is None or quantity.pieces <= 1:
        return f"{'cheaper' if law.variable + law.fixed < own.variable + own.fixed else 'dearer'} at every quantity"
    pieces = plain(quantity.pieces, 0)
    return f"cheaper from {pieces} pieces" if law.variable < own.variable else f"dearer from {pieces} pieces"


def _signed(amount: Decimal) -> str:
    return f"{'+' if amount > 0 else '−'}{plain(float(abs(amount)), 2)}"
