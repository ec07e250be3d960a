"""The machine hour: what an hour of knitting costs when the machine's year is spread over its productive hours.

In: price, resale value, life, interest, maintenance, needles, power, floor, operator, productive hours. Out: the sums
of a year, line by line, and the rate per productive hour as a Figure.
Main assumption: straight-line depreciation, interest on the mean value; power and staff run with the hours, all else
with the year. Utilisation dominates: at half the hours the rate of the example rises from 2.67 to 4.74.
Not covered: stops and efficiency, which are in the knitting minutes already.
Sources: production_example_b (example, invented), machine_hour_exercise (check); production reference 7.2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from loopwright.cost.limits import taken
from loopwright.cost.money import check_currency
from loopwright.cost.propagate import derived, slopes, values_of
from loopwright.figure import Figure, Term
from loopwright.problems import Problem
from loopwright.sources.table import Row, table


@dataclass(frozen=True, slots=True)
class MachineHour:
    """Sums of a year by name, in the currency, and the rate per productive hour."""

    yearly_sums: Mapping[str, float]
    rate: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"yearly_sums": dict(self.yearly_sums), "rate": self.rate.as_dict()}


def machine_hour(currency: str, given: Mapping[str, float | Figure] = MappingProxyType({})) -> MachineHour:
    """The machine hour from its parameters; those not given are the packaged example.

    >>> round(machine_hour("EUR").rate.value, 3)    # P-50: 15 994 a year over 6 000 h
    2.666

    Raises:
        Problem: an unknown parameter, one outside its limits, or a resale value above the price.
    """
    check_currency(currency)
    rows = table(__package__, "machine_defaults").by("parameter")
    for name in given:
        if name not in rows:
            raise Problem("machine hour", f"“{name}” is no parameter of it.", tries=[f"one of {', '.join(rows)}"])
    inputs = {name: taken(row, given.get(name), currency) for name, row in rows.items()}
    purchase, resale = inputs["purchase"], inputs["resale"]
    if resale.value > purchase.value:
        raise Problem(
            "machine hour",
            f"The machine is sold for {resale.value:g} {currency} and was bought for {purchase.value:g}.",
            tries=["swap the two", "give 0 when nothing is left at the end"],
        )
    return MachineHour(MappingProxyType(yearly_sums(values_of(inputs))), _rate(inputs, rows, currency))


def _rate(inputs: Mapping[str, Figure], rows: Mapping[str, Row], currency: str) -> Figure:
    steep = slopes(_hourly, inputs)
    terms = [Term(name, inputs[name], steep.get(name, {}).get("rate", 0.0)) for name in rows]
    return derived(
        "machine hour",
        _hourly(values_of(inputs))["rate"],
        f"{currency}/h",
        terms,
        words="sums of the machine's year over the hours it knits",
        formula="[(P−V)/n + i·(P+V)/2 + maintenance·P + needles + kW·price·h + m²·rent + wage·h/machines] / h",
        source=rows["purchase"].source,
    )


def _hourly(values: Mapping[str, float]) -> dict[str, float]:
    return {"rate": rate_per_hour(yearly_sums(values).values(), values["productive_hours"])}


def yearly_sums(values: Mapping[str, float]) -> dict[str, float]:
    """What a machine costs in a year, by name, in the currency of its price."""
    hours = values["productive_hours"]
    purchase, resale = values["purchase"], values["resale"]
    return {
        "depreciation": (purchase - resale) / values["life_years"],
        "interest": values["interest_share"] * (purchase + resale) / 2,
        "maintenance": values["maintenance_share"] * purchase,
        "needles": values["needles_per_year"],
        "power": values["power_kw"] * values["price_per_kwh"] * hours,
        "floor": values["floor_m2"] * values["rent_per_m2"],
        "operator": values["operator_wage"] * hours / values["machines_per_operator"],
    }


def rate_per_hour(sums: Iterable[float], productive_hours: float) -> float:
    """Rate of an hour from the sums of a year: Σ / h.

    >>> round(rate_per_hour([1800, 450, 90, 2400, 5400, 2160, 216, 675], 1800), 2)    # P-51, published exercise
    7.33
    """
    return sum(sums) / productive_hours
