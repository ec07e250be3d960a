"""The rate card: what a factory and a buyer reckon with, every rate a Figure.

In: what a person gave, in one currency. Out: a `RateCard` with all rates of the cost sheet; what was left out is the
packaged example, invented, visible as assumed, with the spread of an early quote.
Main assumption: overhead stands on conversion cost (direct cost without yarn, dye lots, trims and packing), not on
material.
Margin is a share of the price unless the card says markup on cost.
Not covered: yarn prices (`piece`), the machine hour from its parameters (`machine_hour`), value added tax.
Sources: production_example_b; production reference 7.1 to 7.3.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from loopwright.cost.limits import checked, taken
from loopwright.cost.machine_hour import machine_hour
from loopwright.cost.money import check_currency
from loopwright.cost.spreads import drivers, with_early_spread
from loopwright.figure import Figure
from loopwright.problems import Problem
from loopwright.sources.table import Row, table


class MarginRule(StrEnum):
    """What the margin is a share of. Ask which one is meant: 10 % is a factor 1.111 or 1.10."""

    ON_PRICE = "on price"
    ON_COST = "on cost"


@dataclass(frozen=True, slots=True)
class RateCard:
    """All rates. Words, units and limits of each stand in the table of rate defaults; shares are parts of one."""

    currency: str
    machine_hour: Figure
    dye_lot_surcharge: Figure
    programming_rate: Figure
    sample_cost: Figure
    makeup_wage: Figure
    social_share: Figure
    line_efficiency: Figure
    wash_per_piece: Figure
    press_wage: Figure
    press_efficiency: Figure
    check_wage: Figure
    check_efficiency: Figure
    finishing_level: Figure
    testing_cost: Figure
    trims: Figure
    packing: Figure
    reject_share: Figure
    overhead_share: Figure
    finance_share: Figure
    agent_share: Figure
    margin: Figure
    freight_share: Figure
    freight_per_piece: Figure
    duty_share: Figure
    clearance_per_piece: Figure
    margin_rule: MarginRule = MarginRule.ON_PRICE

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: a rate outside its limits or in another currency, or shares that leave nothing of the price.
        """
        check_currency(self.currency)
        for name, row in rate_rows().items():
            checked(row, getattr(self, name), self.currency)
        shares = self.finance_share.value + self.agent_share.value
        if self.margin_rule is MarginRule.ON_PRICE:
            shares += self.margin.value
        if shares >= 1:
            raise Problem(
                "margin",
                f"Margin, finance and agent take {shares:.0%} of the price; less than 100% must be left for the cost.",
                tries=["give a smaller share", "reckon the margin as markup on cost"],
            )

    def figures(self) -> dict[str, Figure]:
        """The rates by name, each under its words."""
        return {name: getattr(self, name).named(row.text("words")) for name, row in rate_rows().items()}

    def with_early_spreads(self, firm: Collection[str] = ()) -> RateCard:
        """The card with the usual spread on every rate that has none, except those that are `firm`."""
        loose = {name for name in drivers() if name not in firm}
        rates = {name: getattr(self, name) for name in rate_rows()}
        rates = {name: with_early_spread(name, rate) if name in loose else rate for name, rate in rates.items()}
        return RateCard(currency=self.currency, margin_rule=self.margin_rule, **rates)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        rates = {name: figure.as_dict() for name, figure in self.figures().items()}
        return {"currency": self.currency, "margin_rule": self.margin_rule.value, "rates": rates}


def rate_rows() -> Mapping[str, Row]:
    """Rows of the table of rate defaults by rate."""
    return table(__package__, "rate_defaults").by("rate")


def rate_card(
    currency: str = "EUR",
    given: Mapping[str, float | Figure] = MappingProxyType({}),
    *,
    margin_rule: MarginRule = MarginRule.ON_PRICE,
    machine: Mapping[str, float | Figure] = MappingProxyType({}),
) -> RateCard:
    """A rate card from what a person gave; the rest is the packaged example.

    Args:
        currency: three-letter code of every sum on the card.
        given: rates by name; a plain number is taken as entered.
        margin_rule: what the margin is a share of.
        machine: parameters of the machine hour, used when `given` has no `machine_hour`.

    Raises:
        Problem: an unknown rate, or one outside its limits.
    """
    for name in given:
        if name not in rate_rows():
            raise Problem("rate card", f"“{name}” is no rate.", tries=[f"one of {', '.join(rate_rows())}"])
    derived = {} if "machine_hour" in given else {"machine_hour": machine_hour(currency, machine).rate}
    rates = {name: taken(row, {**derived, **given}.get(name), currency) for name, row in rate_rows().items()}
    card = RateCard(currency=currency, margin_rule=margin_rule, **rates)
    return card.with_early_spreads(firm=given)  # an assumption is never exact; what a person gave stays as it is
