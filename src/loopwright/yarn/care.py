"""Usual care of fibres, in words: washing, bleaching, drying, ironing, professional care.

In: the fibres of a garment. Out: the five lines in the order of ISO 3758, those of the most delicate one.
Main assumption: dyes, trims and finish stand what the fibre stands; only tests of the garment show it.
Not covered: the symbols, which are registered marks and come from the label printer. Source: iso_3758 (defaults of
common practice); production reference 10.3.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from loopwright.sources.table import table

STEPS = ("washing", "bleaching", "drying", "ironing", "professional")


@dataclass(frozen=True, slots=True)
class Care:
    """The usual care of a family of fibres: (step, words) in the order of the standard."""

    family: str
    lines: tuple[tuple[str, str], ...]


def care_of(fibres: Iterable[str]) -> Care:
    """The usual care of the most delicate of these fibres (keys).

    >>> care_of(["cotton", "wool_combed"]).family
    'wool and hair'
    """
    met = set(fibres)
    row = next(row for row in table(__package__, "care") if set(row.text("fibres").split()) & met)
    return Care(row.text("family"), tuple((step, row.text(step)) for step in STEPS))
