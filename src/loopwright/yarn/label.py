"""Fibre labels: the words and whole per cents that a garment has to carry in a market.

In: oven-dry mass by fibre key, market. Out: generic names in descending order with per cents of the **conditioned**
mass (agreed regain of that market), rounded to whole per cents by the largest remainder so that they add to 100.
Main assumption: everything weighed is fibre; what is under half a per cent falls to "other fibres".
Not covered: names in other languages, sections labelled apart, trimmings left out, maker, origin, care.
Sources: eu_1007_2011 (annex I and IX), cfr_303; production reference 10.2. Local rules come first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.units import whole_parts
from loopwright.yarn.fibre import fibres
from loopwright.yarn.regain import agreed_regain, invoice_mass_from_dry_kg

OTHER = {"EU": "other fibres", "US": "other fibers"}
US_NAMED_FROM = 5.0  # per cent; below it a fibre is "other" unless it has a clear use (16 CFR 303.3)
US_NAMED_ALWAYS = frozenset({"spandex", "wool"})  # stretch is a use; wool is named at any share


@dataclass(frozen=True, slots=True)
class FibreLabel:
    """What a label says in a market: (name, whole per cent) in the order of the label, and the exact shares behind it.

    `exact_percent` has every generic name before rounding and before small shares became "other".
    """

    market: str
    parts: tuple[tuple[str, int], ...]
    exact_percent: Mapping[str, float]

    @property
    def text(self) -> str:
        """As it is printed: "70 % wool, 30 % polyamide" (EU), "70% wool, 30% nylon" (US)."""
        space = " " if self.market == "EU" else ""
        return ", ".join(f"{percent}{space}% {name}" for name, percent in self.parts)

    @property
    def worst_rounding(self) -> float:
        """Largest difference between a printed share and its exact one, percentage points ("other" as one share)."""
        named = {name for name, _ in self.parts}
        other = math.fsum(share for name, share in self.exact_percent.items() if name not in named)
        return max(abs(percent - self.exact_percent.get(name, other)) for name, percent in self.parts)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "market": self.market,
            "text": self.text,
            "parts": [{"name": name, "percent": percent} for name, percent in self.parts],
            "exact_percent": dict(self.exact_percent),
        }


def fibre_label(dry_mass_g: Mapping[str, float], market: str) -> FibreLabel:
    """The label of a garment from its oven-dry fibre masses, g by fibre key.

    >>> from loopwright.yarn.regain import agreed_regain
    >>> dry = {"acetate": 0.96 / 1.065, "elastane": 0.04 / 1.013}    # 96 and 4 g with the regains of ASTM D1909
    >>> fibre_label(dry, "US").text    # the example of 16 CFR 303.3
    '96% acetate, 4% spandex'

    Raises:
        Problem: no mass, an unknown fibre or market, or a fibre without an agreed regain in that market.
    """
    conditioned: dict[str, float] = {}
    for fibre, dry in dry_mass_g.items():
        if fibre not in fibres():
            raise Problem("label", f"“{fibre}” is no fibre known here.", tries=sorted(fibres()))
        regain = agreed_regain(fibre, fibres()[fibre].text("label"), market)["regain_percent"]
        name = table(__package__, "label_names").by("fibre", "market")[fibre, market].text("name")
        conditioned[name] = conditioned.get(name, 0.0) + invoice_mass_from_dry_kg(dry, regain)
    whole = math.fsum(conditioned.values())
    if not whole > 0:
        raise Problem("label", "There is no fibre mass to take shares of.", tries=["give the fibres of the yarn"])
    exact = {name: 100 * mass / whole for name, mass in conditioned.items()}
    shown, other = {}, 0.0
    for name, share in exact.items():
        if share < 0.5 or (market == "US" and share < US_NAMED_FROM and name not in US_NAMED_ALWAYS):
            other += share
        else:
            shown[name] = share
    ordered = sorted(shown.items(), key=lambda part: -part[1])
    if other >= 0.5 or not ordered:
        ordered.append((OTHER[market], other))
    percents = whole_percents([share for _, share in ordered])
    return FibreLabel(
        market, tuple((name, percent) for (name, _), percent in zip(ordered, percents, strict=True)), exact
    )


def whole_percents(shares: list[float]) -> list[int]:
    """Shares as whole per cents that add to 100, the largest remainders rounded up; equal ones in the order given.

    >>> whole_percents([33.4, 33.3, 33.3]), whole_percents([1, 1, 1])
    ([34, 33, 33], [34, 33, 33])
    """
    total = math.fsum(shares)
    return whole_parts(100, [share / total for share in shares])
