"""Commercial regain: the moisture that trade agrees to pay for, and the mass on an invoice.

In: oven-dry or delivered mass in kg, regains in per cent of the oven-dry mass. Out: the conditioned ("correct
invoice") mass. Assumption: the agreed regain of one market; it is a legal convention, not a measurement, and the
conventions of two markets are never mixed in one blend (C-02). Regain is on dry mass; moisture content, on wet mass,
is another number.
Not covered: the blend that the regain is taken of (`fibre`), freight and tare (`cost`).
Sources: eu_1007_2011, canola_2020 and astm_d1909 for the agreed figures; identity (eq 1.6).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from loopwright.problems import Problem
from loopwright.sources.table import Row, table

Market = Literal["EU", "US"]
MARKETS: Mapping[str, str] = {"EU": "agreed allowances of the European Union", "US": "commercial regains of ASTM D1909"}


def invoice_mass_from_dry_kg(oven_dry_mass_kg: float, regain_percent: float) -> float:
    """Mass payable for an oven-dry mass: m_dry·(1 + R/100) (eq 1.6).

    >>> round(invoice_mass_from_dry_kg(100, 14.65), 2)    # F-12
    114.65
    """
    return oven_dry_mass_kg * (1 + regain_percent / 100)


def invoice_mass_from_delivery_kg(
    delivered_mass_kg: float, *, regain_percent: float, actual_regain_percent: float
) -> float:
    """Mass payable for a delivery weighed at its actual regain: m·(1 + R/100)/(1 + R_a/100) (eq 1.6).

    >>> round(invoice_mass_from_delivery_kg(1000, regain_percent=8.5, actual_regain_percent=9.5), 1)    # F-13
    990.9
    """
    oven_dry_mass_kg = delivered_mass_kg / (1 + actual_regain_percent / 100)
    return invoice_mass_from_dry_kg(oven_dry_mass_kg, regain_percent)


def agreed_regain(fibre: str, label: str, market: str) -> Row:
    """The row of a fibre's agreed regain in a market (column `regain_percent`).

    Raises:
        Problem: no such market, or this market has no agreed figure for the fibre.
    """
    if market not in MARKETS:
        tries = [f"“{key}” for the {words}" for key, words in MARKETS.items()]
        raise Problem("market", f"“{market}” is no market whose regains are known here.", tries=tries)
    rows = table(__package__, "regains").by("fibre", "market")
    if (fibre, market) not in rows:
        others = [other for other in MARKETS if (fibre, other) in rows]
        raise Problem(
            "regain",
            f"There is no agreed regain for {label} in the {market} market.",
            limit=f"{MARKETS[market]}; figures of two markets are not mixed in one blend",
            tries=[f"invoice the whole blend by “{other}”" for other in others],
        )
    return rows[fibre, market]
