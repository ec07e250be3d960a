"""`season_of(name, studies) -> Season`: many styles side by side, and what they cost, knit and buy together. Pure.

In: studies of styles, each under its key. Out: `Season`: a row a style in order of what it costs, value of the orders
by currency, machine hours by gauge, yarn by lot, findings. Nothing here depends on the order in which styles are given.
Main assumption on spread: what two styles share (a rate left open, a speed, a constant of the same cloth) is one
unknown and moves both; what is a style's own (its swatch, the price of its yarn) averages out (`adding`).
Not covered: weeks, delivery, cash and stock, which no style says; money of two currencies is never added.
Sources: identity; common_practice; production reference 7.6 and 8.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.figure import Figure
from loopwright.problems import Finding, Problem
from loopwright.season.adding import Part, sum_of
from loopwright.season.findings import season_findings
from loopwright.season.hours import GaugeHours, hours_by_gauge
from loopwright.season.lots import Lot, least_dye_lot, lots_of
from loopwright.season.rows import Key, StyleRow, labels_of, row_of
from loopwright.study.study import StyleStudy


@dataclass(frozen=True, slots=True)
class OrdersValue:
    """Value free on board of all orders priced in one currency: how many styles and pieces, and how much."""

    currency: str
    styles: int
    pieces: int
    figure: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "currency": self.currency,
            "styles": self.styles,
            "pieces": self.pieces,
            "value": self.figure.as_dict(),
        }


@dataclass(frozen=True, slots=True)
class Season:
    """A season: rows in order of what they cost, then the sums, none where no style gives any."""

    name: str
    rows: tuple[StyleRow, ...]
    pieces: int
    values: tuple[OrdersValue, ...]
    hours: Figure | None
    gauges: tuple[GaugeHours, ...]
    yarn_kg: Figure | None
    lots: tuple[Lot, ...]
    findings: tuple[Finding, ...]

    def __getitem__(self, key: Key) -> StyleRow:
        """The row of a style."""
        return next(row for row in self.rows if row.key == key)

    @property
    def labels(self) -> dict[Key, str]:
        """What each style is called where there is little room; a number that two have is told apart by the key."""
        return labels_of(self.rows)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "name": self.name,
            "styles": [row.as_dict() for row in self.rows],
            "pieces": self.pieces,
            "values": [value.as_dict() for value in self.values],
            "machine_hours": self.hours.as_dict() if self.hours else None,
            "gauges": [gauge.as_dict() for gauge in self.gauges],
            "yarn_kg": self.yarn_kg.as_dict() if self.yarn_kg else None,
            "lots": [lot.as_dict() for lot in self.lots],
            "findings": [finding.as_dict() for finding in self.findings],
        }


def season_of(
    name: str, studies: Sequence[tuple[Key, StyleStudy]], *, least_dye_lot_kg: Figure | None = None
) -> Season:
    """The season of these styles. `least_dye_lot_kg` is the dyer's own least lot; left out, it is trade habit.

    Raises:
        Problem: two styles under one key.
    """
    keys = [key for key, _ in studies]
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice is not None:
        what = f"“{twice}” stands for {keys.count(twice)} styles; a style is counted once."
        raise Problem("season", what, tries=["a key of its own for each style"])
    by_key = dict(studies)
    rows = tuple(sorted((row_of(key, study) for key, study in studies), key=_by_cost))
    in_order = [(row.key, by_key[row.key]) for row in rows]
    gauges = hours_by_gauge(in_order)
    lots = lots_of(in_order, least_dye_lot_kg or least_dye_lot())
    return Season(
        name=name,
        rows=rows,
        pieces=sum(row.pieces or 0 for row in rows),
        values=_values(rows),
        hours=_sum("machine hours", "h", [(row.key, row.hours) for row in rows], "hours of every style"),
        gauges=gauges,
        yarn_kg=_sum("yarn to buy", "kg", [(row.key, row.yarn_kg) for row in rows], "yarn of every style, with losses"),
        lots=lots,
        findings=season_findings(rows, gauges, lots),
    )


def _by_cost(row: StyleRow) -> tuple[bool, str, float, Key]:
    """Priced styles first, the dearest order of a currency at its head."""
    return row.value is None, row.currency, -row.value.value if row.value else 0.0, row.key


def _values(rows: Sequence[StyleRow]) -> tuple[OrdersValue, ...]:
    """Value of the orders, each currency by itself."""
    values = []
    for currency in dict.fromkeys(row.currency for row in rows if row.currency):
        priced = [row for row in rows if row.currency == currency and row.price is not None and row.pieces]
        parts = [Part(row.key, row.price, row.pieces) for row in priced if row.price and row.pieces]
        words = "price free on board times pieces, added over the styles"
        figure = sum_of("value of the orders", parts, currency, words=words, formula="Σ q·p")
        values.append(OrdersValue(currency, len(priced), sum(row.pieces or 0 for row in priced), figure))
    return tuple(values)


def _sum(name: str, unit: str, figures: Sequence[tuple[Key, Figure | None]], words: str) -> Figure | None:
    parts = [Part(key, figure) for key, figure in figures if figure is not None]
    return sum_of(name, parts, unit, words=words) if parts else None
