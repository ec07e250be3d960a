"""Gores: wedges of short rows that flare a piece knitted sideways.

In: girths at waist and hem, length, densities. Out: `Gores`; their short rows as `Insert`s; lines in words.
Assumption: courses run round the body, needles along its length, the hem lies at the left edge.
Not covered: skirts flared otherwise (`flare`, `blocks.skirt`). Source: production reference 3.4, 3.8.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.problems import Problem
from loopwright.shaping.edges import Insert, interleaved
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge
from loopwright.shaping.shortrows import wedge
from loopwright.sources.table import table


@dataclass(frozen=True, slots=True)
class Gores:
    """A sideways skirt: needles of its length; gore by gore its courses at the waist and its pairs of short rows."""

    needles: int
    waist: tuple[int, ...]
    pairs: tuple[int, ...]

    @property
    def hem(self) -> tuple[int, ...]:
        """Courses at the hem, gore by gore."""
        return tuple(waist + 2 * pairs for waist, pairs in zip(self.waist, self.pairs, strict=True))


def gores_of(
    *, waist_cm: float, hem_cm: float, length_cm: float, gauge: PanelGauge, count: int, tolerance_cm: float
) -> Gores:
    """Gores of a sideways skirt; courses run round the body, needles along its length.

    Gores are alike while both girths stay within `tolerance_cm`; else some have two courses more than others.

    >>> gauge = PanelGauge(5.0, 7.0, 5.0, 7.0)
    >>> gores = gores_of(
    ...     waist_cm=74, hem_cm=150, length_cm=60, gauge=gauge, count=8, tolerance_cm=2
    ... )    # P-23
    >>> gores.needles, set(gores.waist), set(gores.hem), set(gores.pairs)
    (300, {64}, {132}, {34})
    """
    c = gauge.courses_per_cm
    waist, hem = (_round_the_body(girth, count, c, tolerance_cm) for girth in (waist_cm, hem_cm))
    pairs = tuple(max(0, below - above) // 2 for above, below in zip(waist, hem, strict=True))
    return Gores(nearest_even(length_cm * gauge.needles_per_cm), waist, pairs)


def _round_the_body(girth_cm: float, count: int, courses_per_cm: float, tolerance_cm: float) -> tuple[int, ...]:
    """Even courses of every gore."""
    alike = nearest_even(girth_cm * courses_per_cm / count)
    if abs(count * alike / courses_per_cm - girth_cm) <= tolerance_cm:
        return (alike,) * count
    return tuple(2 * pairs for pairs in interleaved(nearest_even(girth_cm * courses_per_cm) // 2, count))


def wedges_of(gores: Gores) -> Iterator[Insert]:
    """Short rows in the middle of every gore, from the hem at the left edge."""
    half, start = gores.needles // 2, 0
    for place, (courses, pairs) in enumerate(zip(gores.waist, gores.pairs, strict=True), start=1):
        knits = tuple((half, knit - half) for knit in wedge(gores.needles, pairs))
        yield Insert(f"gore {place}", start + 2 * (courses // 4), knits)
        start += courses


def gores_in_words(gores: Gores) -> str:
    """How a sideways skirt is knitted, in one line."""
    waist, hem, pairs = (
        " or ".join(str(each) for each in sorted(set(every))) for every in (gores.waist, gores.hem, gores.pairs)
    )
    return (
        f"Knitted sideways in {len(gores.waist)} gores of {waist} courses at the waist and {hem} at the hem: "
        f"{pairs} pairs of short rows in each on {gores.needles} needles."
    )


def check_gores(gores: Gores, size: str) -> None:
    """Refuse gores without a course between their short rows, and steeper than one needle to a pair.

    Raises:
        Problem: with both numbers.
    """
    where = f"skirt, size {size}"
    if min(gores.waist) < MIDDLE:
        what = f"{min(gores.waist)} courses in one of {len(gores.waist)} gores at the waist."
        raise Problem(where, what, limit=f"at least {MIDDLE}", tries=["a wider waist", "a finer gauge"])
    if max(gores.pairs) >= gores.needles:
        what = f"{max(gores.pairs)} pairs of short rows in a gore of {gores.needles} needles."
        tries = ["a longer skirt", "a closer hem"]
        raise Problem(where, what, limit="fewer pairs than needles", tries=tries)


MIDDLE = 4  # courses of a gore before and after its short rows, so that two gores do not meet


def usual_gores() -> int:
    """Gores of a sideways skirt where nothing else is said."""
    return int(table(__package__, "other_blocks").by("quantity")["gores"]["value"])
