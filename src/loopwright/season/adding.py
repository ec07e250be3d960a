"""Adding figures of several styles: an unknown that two styles share is one unknown, and does not average out.

In: figures with their reasons, each with a weight. Out: their weighted sum with its spread. Every figure is followed
through its reason down to the values that carry its spread (a rate, a speed, a constant of the cloth). Where two
styles rest on the same such value, their parts of the spread add up plainly; all others add as squares.
Main assumption: two values are the same unknown when name, unit, value, band and basis agree, and it moves all styles
in the same direction. So the band of a sum lies between that of independent styles and that of styles that move as one.
Sources: identity.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from loopwright.cost.propagate import derived, has_spread
from loopwright.figure import Basis, Figure, Input, Term

Unknown = tuple[str, str, float, float, float, Basis]

LEAST_SHARE = 0.005  # of the variance: below it an unknown is not listed among the reasons of a sum


@dataclass(frozen=True, slots=True)
class Part:
    """One figure of a sum: the mark of its style, the figure, and how many times it counts."""

    mark: str
    figure: Figure
    times: float = 1.0

    @property
    def value(self) -> float:
        """What it adds to the sum."""
        return self.times * self.figure.value


@dataclass(slots=True)
class _Arm:
    """What one unknown does to the sum: how far down and how far up."""

    figure: Figure
    down: float = 0.0
    up: float = 0.0


def sum_of(name: str, parts: Sequence[Part], unit: str, *, words: str, formula: str = "") -> Figure:
    """The weighted sum of figures whose common unknowns move together.

    Raises:
        ValueError: nothing to add, or a weight below nothing (mistakes of ours).
    """
    if not parts or any(part.times < 0 for part in parts):
        raise ValueError(f"{name}: nothing to add, or a weight below nothing")
    if len(parts) == 1:
        return times(name, parts[0], unit, words=words)
    value = math.fsum(part.value for part in parts)
    arms = sorted((arm for arm in _arms(parts).values() if arm.down + arm.up), key=lambda arm: -(arm.down + arm.up))
    terms = [Term("", replace(arm.figure, value=0.0, low=-arm.down, high=arm.up)) for arm in arms]
    terms += [Term("", part.figure, 0.0) for part in parts if not arms]
    total = derived(name, value, unit, terms, words=words, formula=formula)
    given = [Input(part.mark, part.figure) for part in parts]
    shares = [each.share for each in total.why.inputs]
    carrying = [Input("", arm.figure, share) for arm, share in zip(arms, shares, strict=False) if share >= LEAST_SHARE]
    return replace(total, why=replace(total.why, inputs=(*given, *carrying)))


def times(name: str, part: Part, unit: str, *, words: str) -> Figure:
    """One figure a number of times, as it stands in a sum."""
    return derived(name, part.value, unit, [Term(part.mark, part.figure, part.times)], words=words)


def _arms(parts: Sequence[Part]) -> dict[Unknown, _Arm]:
    """How far each unknown moves the sum, over all parts."""
    arms: dict[Unknown, _Arm] = {}
    for part in parts:
        below = part.times * (part.figure.value - part.figure.low)
        above = part.times * (part.figure.high - part.figure.value)
        for figure, share in _shares(part.figure).values():
            arm = arms.setdefault(_unknown(figure), _Arm(figure))
            arm.down += math.sqrt(share) * below
            arm.up += math.sqrt(share) * above
    return arms


def _shares(figure: Figure) -> dict[Unknown, tuple[Figure, float]]:
    """Share of each unknown in the variance of a figure; they add to one."""
    shares: dict[Unknown, tuple[Figure, float]] = {}
    for unknown, share in _followed(figure, 1.0):
        key = _unknown(unknown)
        known = shares.get(key, (unknown, 0.0))
        shares[key] = (known[0], known[1] + share)
    return shares


def _followed(figure: Figure, share: float) -> Iterator[tuple[Figure, float]]:
    """The values at the ends of a reason, each with its part; what no input carries stays with the figure."""
    if not has_spread(figure):
        return
    left = share
    for each in figure.why.inputs:
        if each.share > 0 and has_spread(each.figure):
            left -= share * each.share
            yield from _followed(each.figure, share * each.share)
    if left > ROUNDING * share:
        yield figure, left


ROUNDING = 1e-9


def _unknown(figure: Figure) -> Unknown:
    return figure.name, figure.unit, figure.value, figure.low, figure.high, figure.basis
