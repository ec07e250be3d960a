"""One quantity of one cloth before and after the swatches, with the reason.

In: the answer of a block (`posterior`). Out: `Prediction`: both figures (nine in ten), mean and standard deviation on
the scale of the quantity for drawing both, and which swatch moved it. The figure counts as measured when swatches of
the very cloth (structure, yarn, settled state, loop length within the reach of a swatch) on which this quantity was
measured carry at least half of the narrowing; otherwise it stays what it was, published or assumed, and names the
swatches that moved it. Not covered: findings (`agreement`). Sources: fabric reference 14 (reach of a swatch).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.fabric.bulk import thickness
from loopwright.fabric.geometry import predicted_geometry
from loopwright.fabric.kin import element
from loopwright.fabric.mass import fabric_mass, piece_lengths
from loopwright.fabric.relaxation import change_between
from loopwright.fabric.spirality import SIGNED, spirality
from loopwright.fabric.stretch import stretch_of
from loopwright.figure import NINE_IN_TEN_SD, Basis, Figure, banded, entered
from loopwright.swatch.learning.levels import Cloth, rule, structure_key, yarn_key
from loopwright.swatch.learning.posterior import Answer
from loopwright.swatch.learning.prior import BEFORE
from loopwright.swatch.learning.scale import from_scale
from loopwright.swatch.observed import Observed, Quantity

NAMES = {
    Quantity.WALES: "wales per cm",
    Quantity.COURSES: "courses per cm",
    Quantity.MASS: "mass per area",
    Quantity.THICKNESS: "thickness at 1 kPa",
    Quantity.WIDTH_CHANGE: "width change",
    Quantity.LENGTH_CHANGE: "length change",
    Quantity.LEAN: "spirality after washing",
    Quantity.WIDTH_STRETCH: "width stretch",
    Quantity.LENGTH_STRETCH: "length stretch",
}


@dataclass(frozen=True, slots=True)
class Move:
    """What one swatch did: by how much it moved the value (in its unit), its part of the narrowing (all add to 1)."""

    swatch: str
    shift: float
    share: float
    is_own: bool

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"swatch": self.swatch, "shift": self.shift, "share": self.share, "is_of_this_cloth": self.is_own}


@dataclass(frozen=True, slots=True)
class Prediction:
    """A quantity before (`prior`) and after (`posterior`) the swatches.

    `prior_mean` … `sd` are on the scale of the quantity: logarithms for counts, mass, thickness, stretch; the logarithm
    of the length ratio for changes; per cent for lean. `narrowing` is the part by which the band shrank.
    """

    cloth: Cloth
    quantity: Quantity
    prior: Figure
    posterior: Figure
    prior_mean: float
    prior_sd: float
    mean: float
    sd: float
    moves: tuple[Move, ...]

    @property
    def narrowing(self) -> float:
        """By which part the spread shrank; below nil when swatches that disagree widened it."""
        return 1 - self.sd / self.prior_sd

    @property
    def is_moved(self) -> bool:
        """Whether the swatches say something else than the tables, or the same more closely."""
        shift = abs(self.mean - self.prior_mean) / self.prior_sd
        return self.narrowing >= rule("least_narrowing") or shift >= rule("least_shift")

    @property
    def is_measured(self) -> bool:
        """Whether swatches of the very cloth carry it."""
        return self.posterior.basis is Basis.MEASURED

    @property
    def moved_by(self) -> tuple[str, ...]:
        """Swatches that are worth naming, the strongest first."""
        return tuple(each.swatch for each in self.moves if each.share >= rule("told_share"))

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "quantity": self.quantity.value,
            "structure": self.cloth.structure.key,
            "yarn": self.cloth.yarn.name,
            "loop_length_mm": self.cloth.loop_length_mm,
            "state": self.cloth.state.value,
            "lot": self.cloth.lot,
            "before": self.prior.brief(),
            "after": self.posterior.as_dict(),
            "scale": "logarithm"
            if self.quantity.is_ratio
            else "plain"
            if self.quantity is Quantity.LEAN
            else "log ratio",
            "before_mean": self.prior_mean,
            "before_sd": self.prior_sd,
            "after_mean": self.mean,
            "after_sd": self.sd,
            "narrowing": self.narrowing,
            "moved_by": [each.as_dict() for each in self.moves],
        }


def prediction(
    cloth: Cloth, quantity: Quantity, mean: float, answer: Answer, row: int, told: Sequence[Observed]
) -> Prediction:
    """The prediction in row `row` of an answer; `told` are the observations of its block."""
    after, sd = mean + float(answer.mean[row]), math.sqrt(answer.covariance[row, row])
    before_sd = math.sqrt(answer.before[row, row])
    tabled = tabled_figure(cloth, quantity)
    prior = _figure(quantity, mean, before_sd, tabled.basis, tabled.why.words, tabled.why.source, cloth)
    moves = _moves(cloth, quantity, mean, answer, row, told)
    made = Prediction(cloth, quantity, prior, prior, mean, before_sd, after, sd, moves)
    if not made.is_moved:
        return made
    basis, words, source = _standing(made, tabled)
    posterior = _figure(quantity, after, sd, basis, words, source, cloth)
    return Prediction(cloth, quantity, prior, posterior, mean, before_sd, after, sd, moves)


def _figure(quantity: Quantity, mean: float, sd: float, basis: Basis, words: str, source: str, cloth: Cloth) -> Figure:
    low, high = (from_scale(quantity, mean + side * NINE_IN_TEN_SD * sd) for side in (-1, 1))
    return banded(
        NAMES[quantity],
        from_scale(quantity, mean),
        quantity.unit,
        low=low,
        high=high,
        basis=basis,
        words=f"{words}; {SIGNED}" if quantity is Quantity.LEAN else words,
        source=source,
        state=cloth.state,
    )


def _standing(made: Prediction, tabled: Figure) -> tuple[Basis, str, str]:
    """Basis, words and source of a figure that swatches moved."""
    names = made.moved_by or tuple(each.swatch for each in made.moves[:1])
    own = [each.swatch for each in made.moves if each.is_own and each.share >= rule("told_share")]
    if sum(each.share for each in made.moves if each.is_own) >= rule("own_share"):
        others = [name for name in names if name not in own]
        helped = f", with {_listed(others)}" if others else ""
        return Basis.MEASURED, f"measured on {_listed(own)}{helped}", _listed(own)
    words = f"{tabled.why.words}; moved by {_listed(names)}"
    return tabled.basis, words, f"{tabled.why.source}; {_listed(names)}"


MOST_NAMED = 3


def _listed(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMED:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"


def _moves(
    cloth: Cloth, quantity: Quantity, mean: float, answer: Answer, row: int, told: Sequence[Observed]
) -> tuple[Move, ...]:
    total = float(answer.narrows[row].sum())
    if total <= 0:
        return ()
    shifts: dict[str, float] = {}
    shares: dict[str, float] = {}
    own: set[str] = set()
    for place, each in enumerate(told):
        shifts[each.swatch] = shifts.get(each.swatch, 0.0) + float(answer.moves[row, place])
        shares[each.swatch] = shares.get(each.swatch, 0.0) + float(answer.narrows[row, place]) / total
        if each.quantity is quantity and is_of(each, cloth):
            own.add(each.swatch)
    start = from_scale(quantity, mean)
    found = [
        Move(name, from_scale(quantity, mean + shift) - start, shares[name], name in own)
        for name, shift in shifts.items()
    ]
    return tuple(sorted(found, key=lambda each: -each.share))


def is_of(observed: Observed, cloth: Cloth) -> bool:
    """Whether a swatch is of the very cloth: structure, yarn, settled state, loop length within its reach."""
    own = Cloth(observed.structure, observed.yarn, observed.loop_length_mm, observed.state)
    reach = element("swatch_length_reach")["value"]
    return (
        structure_key(own.structure) == structure_key(cloth.structure)
        and yarn_key(own.yarn) == yarn_key(cloth.yarn)
        and own.settled is cloth.settled
        and abs(cloth.loop_length_mm / own.loop_length_mm - 1) <= reach
    )


def tabled_figure(cloth: Cloth, quantity: Quantity) -> Figure:
    """The figure that holds without a swatch."""
    structure, loop = cloth.structure, entered("loop length", cloth.loop_length_mm, "mm")
    match quantity:
        case Quantity.THICKNESS:
            return thickness(structure, cloth.yarn)
        case Quantity.LEAN:
            return spirality(structure, cloth.yarn, loop)
        case Quantity.WIDTH_STRETCH:
            return stretch_of(structure, cloth.state).width_percent
        case Quantity.LENGTH_STRETCH:
            return stretch_of(structure, cloth.state).length_percent
        case Quantity.WIDTH_CHANGE:
            return change_between(structure, BEFORE, cloth.state).width_percent
        case Quantity.LENGTH_CHANGE:
            return change_between(structure, BEFORE, cloth.state).length_percent
    geometry = predicted_geometry(structure, loop, cloth.state, fibre=cloth.yarn.blend.main_fibre)
    if quantity is Quantity.WALES:
        return geometry.wales_per_cm
    if quantity is Quantity.COURSES:
        return geometry.courses_per_cm
    lengths = piece_lengths(structure, loop_length_mm=loop.value, wales_per_cm=geometry.wales_per_cm.value)
    return fabric_mass(geometry, cloth.yarn, lengths)
