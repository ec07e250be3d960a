"""Fibres and blends: what a yarn is made of, its density and its agreed regain.

In: fractions of oven-dry mass by fibre key (`wool_combed`, `cotton`, `polyamide_staple` …). Out: density in g/cm³ at
65 % relative humidity and commercial regain in per cent, as figures. Assumption: fibres lie side by side without
reacting, so volumes add; the dry fractions stand for those at 65 %, which moves the density of a wool and polyamide
blend by less than 0.5 %.
Not covered: the words for fibres (`naming`), invoice mass (`regain`), how closely fibres are packed (`diameter`).
Sources: morton_hearle for density, eu_1007_2011 and astm_d1909 for regain; section 1.5 of the fabric reference, eq 1.6.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache

from loopwright.figure import Basis, Figure, Term, linear, power_law
from loopwright.problems import Problem
from loopwright.sources.table import Row, table
from loopwright.yarn.regain import agreed_regain

WHOLE_TOLERANCE = 0.005  # fractions of a blend may miss the whole by so much: percentages are printed rounded


@dataclass(frozen=True, slots=True, init=False)
class Blend:
    """Fibres by their fraction of the oven-dry mass, in the order given; small rounding is scaled to the whole.

    >>> blend = Blend({"wool_combed": 0.7, "polyamide_staple": 0.3})
    >>> blend.label, round(blend.regain_percent("EU").value, 2)    # F-12
    ('70 % wool, combed; 30 % polyamide, staple', 14.65)
    """

    parts: tuple[tuple[str, float], ...]

    def __init__(self, fractions: Mapping[str, float]) -> None:
        """Fractions by fibre key.

        Raises:
            Problem: an unknown fibre, a fraction that is not positive, or fractions that do not add to the whole.
        """
        _require_whole(fractions)
        total = math.fsum(fractions.values())
        object.__setattr__(self, "parts", tuple((key, fraction / total) for key, fraction in fractions.items()))

    @classmethod
    def from_conditioned(cls, fractions: Mapping[str, float], market: str = "EU") -> Blend:
        """The blend whose fractions were declared by mass with the agreed regain of `market` in it: converted to dry.

        >>> half = Blend.from_conditioned({"wool_combed": 0.5, "polyester": 0.5})    # more dry polyester than wool
        >>> round(half.fractions["polyester"] / half.fractions["wool_combed"], 4) == round(1.1825 / 1.015, 4)
        True
        """
        _require_whole(fractions)
        dry = {
            key: fraction / (1 + agreed_regain(key, fibres()[key].text("label"), market)["regain_percent"] / 100)
            for key, fraction in fractions.items()
        }
        total = math.fsum(dry.values())
        return cls({key: mass / total for key, mass in dry.items()})

    @property
    def fractions(self) -> dict[str, float]:
        """Fraction of the oven-dry mass by fibre key."""
        return dict(self.parts)

    @property
    def main_fibre(self) -> str:
        """The fibre with the largest fraction (the first named of two alike)."""
        return max(self.parts, key=lambda part: part[1])[0]

    @property
    def words(self) -> str:
        """The blend in keys, as a style file holds it: "70 wool_combed 30 polyamide_staple", or one key alone."""
        if len(self.parts) == 1:
            return self.parts[0][0]
        percents = [f"{100 * fraction:.6f}".rstrip("0").rstrip(".") for _, fraction in self.parts]
        return " ".join(f"{percent} {key}" for percent, (key, _) in zip(percents, self.parts, strict=True))

    @property
    def label(self) -> str:
        """The blend as a person reads it."""
        return "; ".join(f"{100 * fraction:.3g} % {fibres()[key].text('label')}" for key, fraction in self.parts)

    def density_g_per_cm3(self) -> Figure:
        """Density at 65 % relative humidity: 1/Σ(x_i/ρ_i), the volumes of the fibres added."""
        densities = {key: density_of(key) for key in self.fractions}
        value = 1 / math.fsum(fraction / densities[key].value for key, fraction in self.parts)
        terms = [
            Term(f"ρ {key}", densities[key], fraction * value / densities[key].value) for key, fraction in self.parts
        ]
        figure = power_law(
            "fibre density",
            value,
            "g/cm³",
            terms,
            words=f"volumes of the fibres added: {self.label}",
            formula="ρ = 1/Σ(x_i/ρ_i)",
            source=_cited(fibres()[key] for key in self.fractions),
        )
        return _no_better_than_its_rows(figure, terms)

    def regain_percent(self, market: str = "EU") -> Figure:
        """Agreed regain of the blend in a market: Σ x_i·R_i, x_i the fractions of oven-dry mass (eq 1.6).

        Raises:
            Problem: no such market, or a fibre without an agreed figure in it.
        """
        rows = {key: agreed_regain(key, fibres()[key].text("label"), market) for key in self.fractions}
        terms = [Term(f"R {key}", _regain_figure(key, rows[key]), fraction) for key, fraction in self.parts]
        figure = linear(
            f"agreed regain, {market}",
            math.fsum(term.weight * term.figure.value for term in terms),
            "%",
            terms,
            words=f"agreed regains of the {market} market by oven-dry mass: {self.label}",
            formula="R = Σ x_i·R_i",
            source=_cited(rows.values()),
        )
        return _no_better_than_its_rows(figure, terms)


def density_of(fibre: str) -> Figure:
    """Density of a fibre at 65 % relative humidity, g/cm³.

    >>> density_of("cotton").value, density_of("wool_combed").value    # Morton and Hearle's table 5.1
    (1.52, 1.31)
    """
    row = fibres()[fibre]
    return row.figure(f"density of {row.text('label')}", "density_g_per_cm3", "g/cm³", words="at 65 % humidity")


@cache
def fibres() -> Mapping[str, Row]:
    """All fibres by key."""
    return table(__package__, "fibres").by("fibre")


def _regain_figure(fibre: str, row: Row) -> Figure:
    return row.figure(
        f"agreed regain of {fibres()[fibre].text('label')}", "regain_percent", "%", words="agreed, not measured"
    )


def _require_whole(fractions: Mapping[str, float]) -> None:
    for key, fraction in fractions.items():
        if key not in fibres():
            raise Problem("blend", f"“{key}” is no fibre known here.", tries=[f"one of {', '.join(fibres())}"])
        if not (math.isfinite(fraction) and fraction > 0):
            raise Problem(
                "blend", f"{fraction:g} of {key} is no fraction.", tries=["leave out a fibre that is not there"]
            )
    total = math.fsum(fractions.values())
    if abs(total - 1) > WHOLE_TOLERANCE:
        raise Problem(
            "blend",
            f"The fibres add to {100 * total:.4g} %, and a yarn is 100 %.",
            limit=f"within {100 * WHOLE_TOLERANCE:g} % for rounding",
            tries=["give the fibre that is missing", "correct the percentages"],
        )


def _no_better_than_its_rows(figure: Figure, terms: Iterable[Term]) -> Figure:
    """The figure with the weakest mark of its rows where no row has a band: a printed number is not arithmetic."""
    weakest = max((term.figure.basis for term in terms), key=lambda basis: basis.rank)
    return replace(figure, basis=weakest) if figure.basis is Basis.IDENTITY else figure


def _cited(rows: Iterable[Row]) -> str:
    return "; ".join(dict.fromkeys(row.source for row in rows))
