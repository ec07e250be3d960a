"""How each swatch agrees with the others: every swatch predicted from all but itself.

In: a `Drawer`. Out: errors of every reading when its swatch is left out, and a finding for each swatch that is further
off than chance lets it. The swatch still counts; a person decides whether it is unreliable. Not covered: outliers among
the readings of one swatch (`statistics`). Sources: identity (closed-form leave-one-out of a linear normal model).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.special import chdtrc

from loopwright.figure import plain
from loopwright.problems import Finding, Sign
from loopwright.swatch.learning.drawer import Drawer, cloth_of
from loopwright.swatch.learning.levels import rule
from loopwright.swatch.learning.predict import NAMES
from loopwright.swatch.learning.prior import belief
from loopwright.swatch.learning.scale import from_scale, to_scale
from loopwright.swatch.observed import Observed, Quantity


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A reading predicted from the other swatches. `off` is how far it lies from that, in standard deviations."""

    observed: Observed
    predicted: float
    off: float
    without_any: float

    def as_dict(self) -> dict[str, Any]:
        """JSON form; `tabled` is what was said before any swatch."""
        return {
            "swatch": self.observed.swatch,
            "quantity": self.observed.quantity.value,
            "measured": self.observed.value,
            "predicted_from_the_others": self.predicted,
            "tabled": self.without_any,
            "standard_deviations_off": self.off,
        }


@dataclass(frozen=True, slots=True)
class Agreement:
    """One swatch beside the others: its readings, and the chance of being so far off."""

    swatch: str
    readings: tuple[LeftOut, ...]
    chance: float

    @property
    def worst(self) -> LeftOut:
        """The reading that is furthest off."""
        return max(self.readings, key=lambda each: abs(each.off))

    @property
    def disagrees(self) -> bool:
        """Whether chance alone hardly puts it so far off."""
        return self.chance < rule("disagrees_chance")

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "swatch": self.swatch,
            "chance": self.chance,
            "disagrees": self.disagrees,
            "readings": [each.as_dict() for each in self.readings],
        }


@lru_cache(maxsize=32)
def agreements(drawer: Drawer) -> tuple[Agreement, ...]:
    """Every swatch beside the others, in the order of the drawer."""
    return tuple(_agreement(drawer, name) for name in drawer.swatches)


def _agreement(drawer: Drawer, swatch: str) -> Agreement:
    found, distance, count = [], 0.0, 0
    for name, places in drawer.places.items():
        rows = [row for row, place in enumerate(places) if drawer.observations[place].swatch == swatch]
        if not rows:
            continue
        away, spread = drawer.blocks[name].left_out(rows)
        distance += float(away @ np.linalg.solve(spread, away))
        count += len(rows)
        for index, row in enumerate(rows):
            observed = drawer.observations[places[row]]
            found.append(_left_out(observed, float(away[index]), math.sqrt(spread[index, index])))
    return Agreement(swatch, tuple(found), float(chdtrc(count, distance)))


def _left_out(observed: Observed, away: float, sd: float) -> LeftOut:
    quantity = observed.quantity
    predicted = from_scale(quantity, to_scale(quantity, observed.value) - away)
    return LeftOut(observed, predicted, away / sd, from_scale(quantity, belief(cloth_of(observed), quantity).mean))


def disagreement_findings(drawer: Drawer) -> tuple[Finding, ...]:
    """Swatches that disagree with the others, said; they still count."""
    return tuple(_finding(each) for each in agreements(drawer) if each.disagrees)


def _finding(agreement: Agreement) -> Finding:
    worst = agreement.worst
    name, unit = NAMES[worst.observed.quantity], worst.observed.quantity.unit
    digits = 1 if abs(worst.observed.value) >= DIGITS_FROM else 2
    sentence = (
        f"{agreement.swatch} disagrees with the other swatches: {name} {plain(worst.observed.value, digits)} {unit}, "
        f"where the others and the tables say {plain(worst.predicted, digits)}. It counts until you mark it unreliable."
    )
    tries = ("measure it again", "check its yarn, loop length and state", "mark it as unreliable")
    return Finding(Sign.DECIDE, agreement.swatch, sentence, tries, weight=abs(worst.off), source="leave-one-out")


DIGITS_FROM = 10.0


def root_mean_square_off(drawer: Drawer, quantity: Quantity) -> tuple[float, float] | None:
    """Root mean square error of a quantity from the others and from the tables alone, on its scale."""
    rows = [each for found in agreements(drawer) for each in found.readings if each.observed.quantity is quantity]
    if len({each.observed.swatch for each in rows}) < 2:
        return None
    off = [_scaled(each, each.predicted) for each in rows]
    bare = [_scaled(each, each.without_any) for each in rows]
    return math.sqrt(float(np.mean(np.square(off)))), math.sqrt(float(np.mean(np.square(bare))))


def _scaled(each: LeftOut, said: float) -> float:
    quantity = each.observed.quantity
    return to_scale(quantity, said) - to_scale(quantity, each.observed.value)
