"""A way of making the style: what it takes, and what a piece then costs at the order's quantity and rates.

In: `StyleStudy`, and what the way needs for a mean piece (`Needs`): yarn in the garment, its losses, minutes, hours.
Out: `Way`, with yarn issued, waste and price as figures; or why it cannot be made. One rate card prices every way, so
the machine hour of the style stands for every machine, which the way says.
Not covered: what each way needs (the other files of this package). Source: production reference 5, 5.1, 7.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from loopwright.cost.money import Money
from loopwright.cost.piece import PieceInputs
from loopwright.cost.quantity import PriceLaw, price_law
from loopwright.cost.sheet import CostSheet, cost_sheet
from loopwright.cost.yarn_purchase import yarn_issued
from loopwright.figure import Figure, Term, linear
from loopwright.problems import Finding, Problem
from loopwright.study.pricing import quoted, yarn_lines
from loopwright.study.study import StyleStudy

G_PER_KG = 1000


@dataclass(frozen=True, slots=True)
class Kind:
    """A way by its key, its name, and what is done, in a sentence."""

    key: str
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Supply:
    """Yarn of a part of the garment: grams in the finished piece, and the shares lost from the cone to it."""

    yarn: str
    grams: Figure
    losses: tuple[Figure, ...]

    @property
    def kg(self) -> Figure:
        """Kilograms issued."""
        return yarn_issued(self.grams, self.losses)


@dataclass(frozen=True, slots=True)
class Needs:
    """What a mean piece takes in one way; minutes are none without a machine.

    `rests_on` says in words what minutes and losses rest on.
    """

    supplies: tuple[Supply, ...]
    knitting_minutes: Figure | None
    makeup: Mapping[str, Figure]
    makeup_minutes: Figure
    programming_hours: Figure
    rests_on: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """One way of making. `why_not` says why it cannot be made, and then it has no figures.

    Cost sheet and law are none without an order and prices; minutes without a machine. `is_own` marks the way that the
    style has chosen.
    """

    kind: Kind
    is_own: bool
    needs: Needs | None = None
    yarn_g: Figure | None = None
    waste_g: Figure | None = None
    waste_share: Figure | None = None
    sheet: CostSheet | None = None
    law: PriceLaw | None = None
    why_not: Problem | None = None

    @property
    def price(self) -> Figure | None:
        """FOB price of a piece."""
        return self.sheet.fob.figure if self.sheet else None

    @property
    def amount(self) -> Money | None:
        """FOB price to the cent."""
        return self.sheet.fob.amount if self.sheet else None

    def as_dict(self) -> dict[str, Any]:
        """JSON form (docs/json.md)."""
        needs = self.needs
        return {
            "key": self.kind.key,
            "name": self.kind.name,
            "words": self.kind.words,
            "chosen": self.is_own,
            "why_not": self.why_not.as_dict() if self.why_not else None,
            "yarn_issued_g": _maybe(self.yarn_g),
            "waste_g": _maybe(self.waste_g),
            "waste_share": _maybe(self.waste_share),
            "knitting_min": _maybe(needs.knitting_minutes if needs else None),
            "makeup_min": _maybe(needs.makeup_minutes if needs else None),
            "programming_h": _maybe(needs.programming_hours if needs else None),
            "price": _maybe(self.price),
            "amount": self.amount.as_dict() if self.amount else None,
            "law": self.law.as_dict() if self.law else None,
            "rests_on": list(needs.rests_on) if needs else [],
            "findings": [finding.as_dict() for finding in needs.findings] if needs else [],
        }


def _maybe(figure: Figure | None) -> dict[str, Any] | None:
    return figure.as_dict() if figure else None


def made(study: StyleStudy, kind: Kind, needs: Needs, *, is_own: bool) -> Way:
    """A way that can be made, weighed and, where the study has a price, priced.

    Raises:
        Problem: a mass, a minute or an hour outside its limits.
    """
    kg = _kg_by_yarn(needs.supplies)
    yarn_g, waste_g, waste_share = _weighed(needs.supplies, kg)
    way = Way(kind, is_own, needs, yarn_g, waste_g, waste_share)
    if study.pricing is None or needs.knitting_minutes is None:
        return way
    rates = study.pricing.inputs.rates
    piece = PieceInputs(
        yarn_lines=yarn_lines(study.style, kg, rates.currency),
        knitting_minutes=needs.knitting_minutes,
        makeup_minutes=needs.makeup,
        programming_hours=needs.programming_hours,
        pieces=study.pricing.sheet.pieces,
    )
    inputs = quoted(study.style, piece, rates)
    return replace(way, sheet=cost_sheet(inputs), law=price_law(inputs))


def _kg_by_yarn(supplies: Sequence[Supply]) -> dict[str, Figure]:
    """Kilograms issued of every yarn, all its parts together."""
    names = dict.fromkeys(supply.yarn for supply in supplies)
    return {name: _together([each.kg for each in supplies if each.yarn == name], name) for name in names}


def _together(parts: Sequence[Figure], name: str) -> Figure:
    if len(parts) == 1:
        return parts[0]
    terms = [Term("m", part) for part in parts]
    words = f"{name} issued for all parts of the piece"
    return linear("yarn issued", sum(part.value for part in parts), "kg", terms, words=words, formula="Σ m / Π(1−w)")


def _weighed(supplies: Sequence[Supply], kg: Mapping[str, Figure]) -> tuple[Figure, Figure, Figure]:
    """Yarn issued, waste, and waste as a share of what is issued: 1 − Σ m / Σ issued."""
    issued = G_PER_KG * sum(each.value for each in kg.values())
    net = sum(supply.grams.value for supply in supplies)
    slopes = [(loss, G_PER_KG * supply.kg.value / (1 - loss.value)) for supply in supplies for loss in supply.losses]
    lost = [Term("w", loss, slope) for loss, slope in slopes]
    held = [Term("m", each.grams, G_PER_KG * each.kg.value / each.grams.value) for each in supplies if each.grams.value]
    yarn = linear(
        "yarn issued",
        issued,
        "g",
        [*held, *lost],
        words="yarn of the garment over what every loss leaves",
        formula="Σ m / Π(1−w)",
    )
    waste = linear(
        "waste",
        issued - net,
        "g",
        lost,
        words="yarn issued less yarn in the garment",
        formula="Σ issued − Σ m",
    )
    share = linear(
        "waste share",
        1 - net / issued if issued else 0.0,
        "",
        [Term("w", loss, slope * net / issued**2) for loss, slope in slopes] if issued else [],
        words="share of the yarn issued that never reaches the garment",
        formula="1 − Σ m / Σ issued",
    )
    return yarn, waste, share
