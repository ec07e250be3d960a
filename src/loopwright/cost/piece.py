"""What one piece takes: yarn, knitting, make-up, programming and the order it belongs to, as plain inputs of its cost.

In: masses, minutes and hours as Figures, weighted by the size mix of the order. Out: `CostInputs`, a piece and a rate
card that fit together, and the same with the spread of an early quote.
Main assumption: every figure is independent of the others. Yarn prices are delivered at the factory.
Not covered: how minutes and masses come about (machine, make-up, `yarn_purchase`); rates (`rates`).
Sources: production reference 7.1 and 7.4.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from loopwright.cost.limits import checked
from loopwright.cost.rates import RateCard
from loopwright.cost.spreads import drivers, with_early_spread
from loopwright.figure import Basis, Figure, exact
from loopwright.makeup.operations import GROUPS
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

CHARGED_GROUPS = ("linking", "hand finish", "press", "check")  # wash is charged by the piece, not by the minute
KNOWN_BASES = (Basis.ENTERED, Basis.IDENTITY)


@dataclass(frozen=True, slots=True)
class YarnLine:
    """One yarn of the piece: kg issued for a piece, losses included, and its price per kg."""

    name: str
    kg: Figure
    price_per_kg: Figure


@dataclass(frozen=True, slots=True)
class PieceInputs:
    """One piece of an order of `pieces`. `makeup_minutes` by group of make-up; a group left out takes no minutes."""

    yarn_lines: tuple[YarnLine, ...]
    knitting_minutes: Figure
    makeup_minutes: Mapping[str, Figure]
    programming_hours: Figure
    pieces: int

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: no pieces, two yarns of one name, an unknown group of make-up.
        """
        row = _rows()["pieces"]
        if not row["least"] <= self.pieces <= row["most"]:
            raise Problem(
                "order",
                f"{self.pieces} pieces; a price can be reckoned for {row['least']:.0f} to {row['most']:.0f}.",
                tries=["give the quantity of the order"],
            )
        names = [line.name for line in self.yarn_lines]
        if len(set(names)) < len(names):
            raise Problem("yarn", f"{len(names)} yarns, but {len(set(names))} names.", tries=["a name for each yarn"])
        for group in self.makeup_minutes:
            if group not in GROUPS:
                raise Problem("make-up", f"“{group}” is no group of make-up.", tries=[f"one of {', '.join(GROUPS)}"])


@dataclass(frozen=True, slots=True)
class CostInputs:
    """A piece and the rate card it is priced with."""

    piece: PieceInputs
    rates: RateCard

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: a mass, price, minute or hour outside its limits, or a yarn price in another currency.
        """
        for line in self.piece.yarn_lines:
            written = line.price_per_kg.unit.partition("/")[0]
            if written != self.rates.currency:
                raise Problem(
                    f"yarn {line.name}",
                    f"The price is in {written}, the rate card in {self.rates.currency}.",
                    tries=[f"give the yarn price in {self.rates.currency}", "change the currency of the rate card"],
                )
        for name, figure in self.piece_figures().items():
            self._check(name, figure)

    def _check(self, name: str, figure: Figure) -> None:
        kind = "makeup_minutes" if name.endswith("_minutes") and name != "knitting_minutes" else name.partition(" ")[0]
        try:
            checked(_rows()[kind], figure, self.rates.currency)
        except Problem as problem:
            raise problem.at(figure.name) from None

    def piece_figures(self) -> dict[str, Figure]:
        """What the piece takes, by name: `kg main`, `price main`, `knitting_minutes`, `linking_minutes` …"""
        piece = self.piece
        found = {}
        for line in piece.yarn_lines:
            found[kg_key(line.name)] = line.kg.named(f"mass of {line.name}")
            found[price_key(line.name)] = line.price_per_kg.named(f"price of {line.name}")
        found["knitting_minutes"] = piece.knitting_minutes.named("knitting minutes")
        found["programming_hours"] = piece.programming_hours.named("programming hours")
        for group in CHARGED_GROUPS:
            none = exact(group, 0.0, "min", words="none of this work in the garment")
            found[minutes_key(group)] = piece.makeup_minutes.get(group, none).named(f"{group} minutes")
        return found

    def figures(self) -> dict[str, Figure]:
        """All inputs of the cost by name: those of the piece, then the rates."""
        return {**self.piece_figures(), **self.rates.figures()}

    def at_quantity(self, pieces: int) -> CostInputs:
        """The same piece in an order of another size."""
        return replace(self, piece=replace(self.piece, pieces=pieces))

    @property
    def yarn_names(self) -> tuple[str, ...]:
        """Names of the yarns in order."""
        return tuple(line.name for line in self.piece.yarn_lines)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        inputs = {name: figure.as_dict() for name, figure in self.piece_figures().items()}
        return {"pieces": self.piece.pieces, "inputs": inputs, "rate_card": self.rates.as_dict()}


def early_quote(inputs: CostInputs, firm: Collection[str] = ()) -> CostInputs:
    """The inputs with the usual spread of an early quote on all that has none of its own and was not measured.

    A mass that was typed or counted is taken as known from a washed swatch, any other as predicted before one.

    Args:
        inputs: a piece and its rate card.
        firm: drivers that are agreed and have no spread ("yarn_price" under a signed offer).

    Raises:
        Problem: `firm` names no driver.
    """
    for driver in firm:
        if driver not in drivers():
            raise Problem("early quote", f"“{driver}” carries no spread.", tries=[f"one of {', '.join(drivers())}"])
    piece = inputs.piece

    def spread(driver: str, figure: Figure) -> Figure:
        return figure if driver in firm else with_early_spread(driver, figure)

    minutes = dict(piece.makeup_minutes)
    if "linking" in minutes:
        minutes["linking"] = spread("linking_minutes", minutes["linking"])
    changed = replace(
        piece,
        yarn_lines=tuple(
            replace(
                line, kg=spread(_mass_driver(line.kg), line.kg), price_per_kg=spread("yarn_price", line.price_per_kg)
            )
            for line in piece.yarn_lines
        ),
        knitting_minutes=spread("knitting_minutes", piece.knitting_minutes),
        makeup_minutes=MappingProxyType(minutes),
        programming_hours=spread("programming_hours", piece.programming_hours),
    )
    return CostInputs(changed, inputs.rates.with_early_spreads(firm))


def _mass_driver(kg: Figure) -> str:
    return "yarn_mass" if kg.basis in KNOWN_BASES else "yarn_mass_before_swatch"


def kg_key(yarn: str) -> str:
    """Name of a yarn's mass among the inputs."""
    return f"kg {yarn}"


def price_key(yarn: str) -> str:
    """Name of a yarn's price among the inputs."""
    return f"price {yarn}"


def minutes_key(group: str) -> str:
    """Name of a make-up group's minutes among the inputs."""
    return f"{group.replace(' ', '_')}_minutes"


def _rows() -> Mapping[str, Row]:
    return table(__package__, "piece_limits").by("input")
