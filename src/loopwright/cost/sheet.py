"""The cost sheet: yarn to landed cost of one piece, line by line, each with its calculation and its spread.

In: `CostInputs`. Out: a `CostSheet` of lines and totals; every line has an amount to the cent and the unrounded Figure.
Main assumption on cents: each line is rounded by itself; direct cost, cost and landed cost are the sums of the rounded
lines above them; the FOB price is rounded from the exact price, and what that leaves over is the line "rounding".
Landed cost is reckoned from the FOB price as quoted, in cents.
Not covered: how the price moves with quantity (`quantity`), the distribution (`uncertainty`).
Sources: cost_sheet_practice; production reference 7.1 and 7.3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, partial
from itertools import takewhile
from string import Formatter
from typing import Any, cast

from loopwright.cost.lines import all_lines, conversion_base, landed_lines, yarn_key
from loopwright.cost.money import Money, add_up, to_the_cent
from loopwright.cost.piece import CostInputs, kg_key, price_key
from loopwright.cost.propagate import Formula, derived, slopes, values_of
from loopwright.cost.rates import MarginRule
from loopwright.figure import Figure, Term, plain
from loopwright.sources.table import Row, table

PRICE_LINES = ("finance", "agent", "margin")
LANDED_LINES = ("freight", "duty", "clearance")
NO_SOCIAL_COST, USUAL_LEVEL = " × (1 + 0)", " × 1"  # factors that change nothing are not printed
SAID_DIGITS = 4


@dataclass(frozen=True, slots=True)
class CostLine:
    """A line or a total of the sheet: `part` is direct, overhead, price, landed or total."""

    key: str
    part: str
    words: str
    calculation: str
    amount: Money
    figure: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "key": self.key,
            "part": self.part,
            "words": self.words,
            "calculation": self.calculation,
            "amount": self.amount.as_dict(),
            "figure": self.figure.as_dict(),
        }


@dataclass(frozen=True, slots=True)
class CostSheet:
    """Cost of one piece of an order of `pieces`; `lines` and totals in printed order."""

    pieces: int
    currency: str
    lines: tuple[CostLine, ...]

    def __getitem__(self, key: str) -> CostLine:
        """A line or total by key: `knitting`, `yarn main`, `direct` …"""
        return next(line for line in self.lines if line.key == key)

    def part(self, part: str) -> tuple[CostLine, ...]:
        """The lines of one part in order."""
        return tuple(line for line in self.lines if line.part == part)

    @property
    def direct(self) -> CostLine:
        """Direct cost."""
        return self["direct"]

    @property
    def cost(self) -> CostLine:
        """Direct cost and overhead."""
        return self["cost"]

    @property
    def fob(self) -> CostLine:
        """The price free on board."""
        return self["fob"]

    @property
    def landed(self) -> CostLine:
        """Cost at the buyer's door, without value added tax."""
        return self["landed"]

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"pieces": self.pieces, "currency": self.currency, "lines": [line.as_dict() for line in self.lines]}


def cost_formula(inputs: CostInputs) -> Formula:
    """All lines and totals of these inputs as a formula over plain values."""
    return cast("Formula", partial(all_lines, yarns=inputs.yarn_names, rule=inputs.rates.margin_rule))


def order_share(pieces: int) -> float:
    """Part of a cost of the whole order that one piece carries."""
    return 1 / pieces


@dataclass(frozen=True, slots=True)
class _Reckoning:
    """All lines of a piece, exact, with their slopes; the words and cents come after."""

    inputs: CostInputs
    figures: Mapping[str, Figure]
    exact: Mapping[str, float]
    steep: Mapping[str, Mapping[str, float]]

    @classmethod
    def of(cls, inputs: CostInputs) -> _Reckoning:
        figures, share, formula = inputs.figures(), order_share(inputs.piece.pieces), cost_formula(inputs)
        exact = formula({**values_of(figures), "order_share": share})
        return cls(inputs, figures, exact, slopes(formula, figures, order_share=share))

    @property
    def currency(self) -> str:
        return self.inputs.rates.currency

    def figure(self, key: str, row: Row) -> Figure:
        """The unrounded amount with its spread and reason: inputs named in the calculation, then others that carry."""
        named = [name for name in _fields(key, row).values() if name in self.figures]
        carrying = [name for name, by_line in self.steep.items() if by_line.get(key) and name not in named]
        terms = [Term(name, self.figures[name], self.steep.get(name, {}).get(key, 0.0)) for name in (*named, *carrying)]
        value, words = self.exact.get(key, 0.0), row.text("words")
        return derived(words, value, self.currency, terms, words=words, formula=row.text("formula"), source=row.source)

    def calculation(self, key: str, row: Row, base: Money) -> str:
        """The calculation of a line with the numbers filled in; `base` is what overhead stands on."""
        said = {"pieces": plain(self.inputs.piece.pieces, 0), "base": base.text()}
        filled = {
            name: said[name] if name in said else _said(self.figures[source], self.currency)
            for name, source in _fields(key, row).items()
        }
        sentence = row.text("calculation").format(**filled)
        return sentence.replace(NO_SOCIAL_COST, "").removesuffix(USUAL_LEVEL)


def cost_sheet(inputs: CostInputs) -> CostSheet:
    """The cost sheet of a piece."""
    reckoning = _Reckoning.of(inputs)
    amounts = _in_cents(reckoning)
    listed = {key: float(amounts[key].amount) for key in _direct_keys(reckoning.exact)}
    base = to_the_cent(float(conversion_base(listed, inputs.yarn_names)), reckoning.currency)
    lines = []
    for key, row in _rows_in_order(inputs):
        words = f"yarn, {key.partition(' ')[2]}" if row.text("line") == "yarn" else row.text("words")
        calculation = reckoning.calculation(key, row, base)
        lines.append(CostLine(key, row.text("part"), words, calculation, amounts[key], reckoning.figure(key, row)))
    return CostSheet(inputs.piece.pieces, reckoning.currency, tuple(lines))


def _in_cents(reckoning: _Reckoning) -> dict[str, Money]:
    """Every line and total to the cent, so that the lines add up (see the module's note on cents)."""
    currency, exact = reckoning.currency, reckoning.exact
    amounts = {key: to_the_cent(value, currency) for key, value in exact.items()}
    amounts["direct"] = add_up((amounts[key] for key in _direct_keys(exact)), currency)
    amounts["cost"] = amounts["direct"] + amounts["overhead"]
    listed = add_up((amounts[key] for key in ("cost", *PRICE_LINES)), currency)
    amounts["rounding"] = amounts["fob"] - listed
    landed = landed_lines(values_of(reckoning.figures), float(amounts["fob"].amount))
    amounts |= {key: to_the_cent(float(landed[key]), currency) for key in LANDED_LINES}
    amounts["landed"] = add_up((amounts[key] for key in ("fob", *LANDED_LINES)), currency)
    return amounts


def _direct_keys(exact: Mapping[str, float]) -> list[str]:
    """Keys of the direct lines: those before the first total."""
    return list(takewhile(lambda key: key != "direct", exact))


def _rows_in_order(inputs: CostInputs) -> Iterator[tuple[str, Row]]:
    """Key and row of every line to print; the yarn row once for each yarn."""
    for line, row in _rows(inputs.rates.margin_rule):
        if line == "yarn":
            yield from ((yarn_key(yarn), row) for yarn in inputs.yarn_names)
        else:
            yield line, row


@cache
def _rows(rule: MarginRule) -> tuple[tuple[str, Row], ...]:
    """Key and row of every line of the table; margin and price as the rule has them."""
    others = tuple(f" {other}" for other in MarginRule if other is not rule)
    rows = [row for row in table(__package__, "lines") if not row.text("line").endswith(others)]
    return tuple((row.text("line").removesuffix(f" {rule}"), row) for row in rows)


def _fields(key: str, row: Row) -> dict[str, str]:
    """Placeholders of a calculation, and the input each stands for."""
    yarn = key.partition(" ")[2]
    of_yarn = {"kg": kg_key(yarn), "price": price_key(yarn)}
    return {name: of_yarn.get(name, name) for name in _placeholders(row.text("calculation"))}


@cache
def _placeholders(template: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for _, name, _, _ in Formatter().parse(template) if name))


def _said(figure: Figure, currency: str) -> str:
    """A number of a calculation: money with two decimals, all else with four digits at most."""
    if figure.unit == currency:
        return f"{plain(figure.value, 2)}\u00a0{currency}"
    digits = max(0, SAID_DIGITS - 1 - math.floor(math.log10(abs(figure.value)))) if figure.value else 0
    number = plain(figure.value, digits)
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{number}\u00a0{figure.unit}" if figure.unit else number
