"""Usual care of a blend, in words: washing, bleaching, drying, ironing, professional care.

In: blend. Out: the five lines in the order of ISO 3758, those of its most delicate fibre.
Main assumption: dyes, trims and finish stand what the fibre stands; only tests of the garment show it.
Not covered: the symbols, which are registered marks and come from the label printer. Source: iso_3758 (defaults of
common practice); production reference 10.3.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.sources.table import table
from loopwright.yarn.fibre import Blend

STEPS = ("washing", "bleaching", "drying", "ironing", "professional")


@dataclass(frozen=True, slots=True)
class Care:
    """The usual care of a family of fibres: (step, words) in the order of the standard."""

    family: str
    lines: tuple[tuple[str, str], ...]
    source: str


def care_of(blend: Blend) -> Care:
    """The usual care of the most delicate fibre of a blend.

    >>> from loopwright.yarn.fibre import Blend
    >>> care_of(Blend({"cotton": 0.9, "wool_combed": 0.1})).family
    'wool and hair'
    """
    row = next(row for row in table(__package__, "care") if set(row.text("fibres").split()) & set(blend.fractions))
    return Care(row.text("family"), tuple((step, row.text(step)) for step in STEPS), row.source)
