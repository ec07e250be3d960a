"""Yarn of a season by lot: styles that share a yarn and a colour buy it together, which can lift it over a dye lot.

In: styles and their studies. Out: `Lot`: kilograms with losses and what is ordered over, cones, the part of every
style, and how it stands to the least that a dyer takes.
Main assumptions: two yarns are one when name, count and fibre agree; ends at the needle and twist are not asked. A
colour that a style does not name is its own lot. Every style knits on a machine of its own, with a cone at each of its
carriers. The least dye lot is trade habit until the dyer says it.
Not covered: prices of small lots (`rates.dye_lot_surcharge` of a style), stock of earlier seasons, delivery.
Sources: common_practice; production reference 5, 7.6 and 8.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import cycle
from typing import Any

from loopwright.cost.yarn_purchase import WHOLE, YarnOrder
from loopwright.figure import Figure
from loopwright.season.adding import Part, sum_of
from loopwright.season.rows import Key
from loopwright.sources.table import table
from loopwright.study.pricing import CONE_KG
from loopwright.study.study import StyleStudy
from loopwright.study.style import Order
from loopwright.units import whole_parts
from loopwright.yarn.yarn import Yarn


class Standing(StrEnum):
    """How a lot stands to the least that is dyed: under it, over it at some dyers only, over it everywhere."""

    SHORT = "short"
    SOME = "enough for some dyers"
    ENOUGH = "enough"


@dataclass(frozen=True, slots=True)
class Lot:
    """One yarn in one colour. `is_named` is false when its style names no colour."""

    yarn: str
    count: str
    fibre: str
    colour: str
    is_named: bool
    kg: Figure
    cones: int
    parts: tuple[tuple[Key, Figure], ...]
    pieces: int
    least_kg: Figure

    @property
    def standing(self) -> Standing:
        """How it stands to the least dye lot."""
        if self.kg.value < self.least_kg.value:
            return Standing.SHORT
        return Standing.SOME if self.kg.value < self.least_kg.high else Standing.ENOUGH

    @property
    def short_kg(self) -> float:
        """Kilograms that are missing to the least dye lot; 0 when it is reached."""
        return max(0.0, self.least_kg.value - self.kg.value)

    @property
    def is_lifted(self) -> bool:
        """Whether its styles reach the least dye lot together and none of them alone."""
        alone = max(figure.value for _, figure in self.parts)
        return len(self.parts) > 1 and alone < self.least_kg.value <= self.kg.value

    @property
    def shares(self) -> dict[Key, float]:
        """Part of every style in the lot; they add to one."""
        total = math.fsum(figure.value for _, figure in self.parts)
        return {key: figure.value / total if total else 1 / len(self.parts) for key, figure in self.parts}

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "yarn": self.yarn,
            "count": self.count,
            "fibre": self.fibre,
            "colour": self.colour,
            "is_named": self.is_named,
            "kg": self.kg.as_dict(),
            "cones": self.cones,
            "parts": [{"key": key, "kg": figure.as_dict()} for key, figure in self.parts],
            "shares": self.shares,
            "pieces": self.pieces,
            "least_kg": self.least_kg.as_dict(),
            "standing": self.standing.value,
            "short_kg": self.short_kg,
        }


@dataclass(frozen=True, slots=True)
class _Bought:
    """What one style buys of one yarn in one colour."""

    key: Key
    yarn: Yarn
    order: YarnOrder
    is_named: bool
    pieces: int
    feeders: int

    @property
    def lot(self) -> tuple[str, str, str, str, str]:
        """What it shares with others of its lot; an unnamed colour is shared with none."""
        own = "" if self.is_named else self.key
        return (
            _plain(self.yarn.name),
            self.yarn.count.label,
            self.yarn.blend.label,
            _plain(self.order.colour),
            own,
        )


def least_dye_lot() -> Figure:
    """The least that is dyed of a yarn in one colour, by trade habit."""
    return _least("package_dyeing")


def least_of_a_stock_colour() -> Figure:
    """The least that is sold of a colour that the spinner keeps, by trade habit."""
    return _least("stock_colour")


def _least(lot: str) -> Figure:
    row = table(__package__, "dye_lots").by("lot")[lot]
    return row.figure(row.text("words"), "kg", "kg", words="trade habit; the dyer's own figure replaces it")


def lots_of(studies: Sequence[tuple[Key, StyleStudy]], least_kg: Figure) -> tuple[Lot, ...]:
    """Lots of all styles, the heaviest first."""
    lots: dict[tuple[str, ...], list[_Bought]] = {}
    for bought in _bought(studies):
        lots.setdefault(bought.lot, []).append(bought)
    found = [_lot(together, least_kg) for together in lots.values()]
    return tuple(sorted(found, key=lambda lot: (-lot.kg.value, lot.yarn, lot.colour)))


def _bought(studies: Sequence[tuple[Key, StyleStudy]]) -> Iterator[_Bought]:
    for key, study in studies:
        order = study.style.order
        if study.pricing is None or order is None:
            continue
        yarns = {yarn.name: yarn for yarn in study.yarns.values()}
        feeders = study.style.machine.systems if study.style.machine else 1
        for each, pieces in zip(study.pricing.yarn_orders, cycle(_pieces_by_colour(order))):
            yield _Bought(key, yarns[each.yarn], each, bool(order.colours), pieces, feeders)


def _pieces_by_colour(order: Order) -> list[int]:
    """Pieces of the colours that get some, in the order in which the style buys them for each yarn."""
    total = sum(colour.share for colour in order.colours)
    split = whole_parts(order.pieces, [colour.share / total for colour in order.colours]) if total else [order.pieces]
    return [pieces for pieces in split if pieces]


def _lot(together: Sequence[_Bought], least_kg: Figure) -> Lot:
    first = together[0]
    name = f"{first.yarn.name}, {first.order.colour}"
    kg = sum_of(name, [Part(each.key, each.order.kg) for each in together], "kg", words="what its styles buy together")
    keys = dict.fromkeys(each.key for each in together)
    feeders = {each.key: each.feeders for each in together}
    return Lot(
        yarn=first.yarn.name,
        count=first.yarn.count.label,
        fibre=first.yarn.blend.label,
        colour=first.order.colour,
        is_named=first.is_named,
        kg=kg,
        cones=max(math.ceil(kg.value / CONE_KG - WHOLE), sum(feeders.values())),
        parts=tuple((key, _of_style(key, together)) for key in keys),
        pieces=sum(each.pieces for each in together),
        least_kg=least_kg,
    )


def _of_style(key: Key, together: Sequence[_Bought]) -> Figure:
    """What one style puts into a lot; a colour that it names twice is one."""
    parts = [Part(key, each.order.kg) for each in together if each.key == key]
    return parts[0].figure if len(parts) == 1 else sum_of("yarn in the lot", parts, "kg", words="colours of one name")


def _plain(words: str) -> str:
    """A name without what makes no difference: case and spaces."""
    return " ".join(words.casefold().split())
