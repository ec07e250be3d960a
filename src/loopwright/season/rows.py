"""One style as a row of the season: what it costs, knits and asks for, and what it still misses.

In: a key and a `StyleStudy`. Out: `StyleRow`. A half-described or refused style is a row too; figures that it does not
give are none, and `misses` says in trade words what would bring them.
Not covered: sums over styles (`season`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from loopwright.figure import Figure
from loopwright.problems import Finding, Sign
from loopwright.season.adding import Part, sum_of, times
from loopwright.study.study import StyleStudy

Key = str


@dataclass(frozen=True, slots=True)
class StyleRow:
    """A style in the season. `value` is price times pieces; `chance` that of meeting the target price, 0 to 1."""

    key: Key
    number: str
    name: str
    structure: str
    gauge: float | None
    pieces: int | None
    currency: str
    price: Figure | None
    target: float | None
    chance: float | None
    value: Figure | None
    yarn_kg: Figure | None
    hours: Figure | None
    minutes: Figure | None
    grams: Figure | None
    counts: Mapping[Sign, int]
    next: Finding | None
    misses: tuple[str, ...]
    refused: tuple[str, ...]

    @property
    def label(self) -> str:
        """What the style is called where there is little room."""
        return self.number if self.number != UNNUMBERED else self.name

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        figures = {
            "price": self.price,
            "value": self.value,
            "yarn_kg": self.yarn_kg,
            "hours": self.hours,
            "minutes": self.minutes,
            "grams": self.grams,
        }
        return {
            "key": self.key,
            "number": self.number,
            "name": self.name,
            "structure": self.structure,
            "gauge": self.gauge,
            "pieces": self.pieces,
            "currency": self.currency,
            "target": self.target,
            "chance": self.chance,
            **{name: figure.as_dict() if figure else None for name, figure in figures.items()},
            "findings": {sign.word.lower(): count for sign, count in self.counts.items()},
            "next": self.next.as_dict() if self.next else None,
            "misses": list(self.misses),
            "refused": list(self.refused),
        }


UNNUMBERED = "unnumbered"  # what a style is called before it has a number


def labels_of(rows: Sequence[StyleRow]) -> dict[Key, str]:
    """What each style is called where there is little room; a number that two have is told apart by the key."""
    used = Counter(row.label for row in rows)
    return {row.key: row.label if used[row.label] == 1 else f"{row.label}, {row.key}" for row in rows}


def row_of(key: Key, study: StyleStudy) -> StyleRow:
    """The row of one style."""
    style, pricing = study.style, study.pricing
    pieces = style.order.pieces if style.order else None
    price = pricing.sheet.fob.figure if pricing else None
    return StyleRow(
        key=key,
        number=style.style.number,
        name=style.style.name,
        structure=study.fabrics["body"].structure.name if "body" in study.fabrics else "",
        gauge=style.machine.gauge if style.machine else None,
        pieces=pieces,
        currency=pricing.sheet.currency if pricing else "",
        price=price,
        target=style.targets.price,
        chance=pricing.drawn.fob.chance if pricing else None,
        value=_value(key, price, pieces),
        yarn_kg=_yarn_kg(study),
        hours=study.machine_hours,
        minutes=study.minutes,
        grams=study.grams,
        counts=MappingProxyType({sign: sum(each.sign is sign for each in study.findings) for sign in Sign}),
        next=study.findings[0] if study.findings else None,
        misses=_misses(study),
        refused=tuple(problem.where for problem in study.refused),
    )


def _value(key: Key, price: Figure | None, pieces: int | None) -> Figure | None:
    if price is None or pieces is None:
        return None
    words = f"{pieces} pieces at the price free on board"
    return times("value of the order", Part(key, price, pieces), price.unit, words=words)


def _yarn_kg(study: StyleStudy) -> Figure | None:
    orders = study.pricing.yarn_orders if study.pricing else ()
    if not orders:
        return None
    parts = [Part(order.colour, order.kg) for order in orders]
    return sum_of("yarn of the order", parts, "kg", words="yarn to buy in all colours, losses included")


def _misses(study: StyleStudy) -> tuple[str, ...]:
    """What was left out, in the order in which a developer would add it."""
    style = study.style
    without = {
        "a yarn": not style.yarns,
        "a garment": style.garment is None,
        "a machine": style.machine is None,
        "an order": style.order is None,
        "a price of its yarn": bool(style.yarns) and all(spec.price_per_kg is None for spec in style.yarns.values()),
    }
    return tuple(words for words, is_open in without.items() if is_open)
