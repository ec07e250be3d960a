"""A drawer of swatches, learnt: `learnt(observations) -> Drawer`, which predicts any cloth from all of them.

In: `Observed` numbers. Out: `Drawer`: predictions with the reason (which swatch moved it), the joint spread of several
quantities, the spread that a swatch to come would leave, and how each swatch agrees with the others. A swatch that is
not in the list does not count; nothing is remembered from before. Readings on the machine are left out: no constants
describe that state. A drawer is factorised once and kept by its content.
Not covered: which swatch to knit next (`study.next_swatch`). Sources: house (table `effects`); F-rules of section 14.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from loopwright.figure import State
from loopwright.structure.library import Structure
from loopwright.swatch.learning.levels import Cloth, rule
from loopwright.swatch.learning.posterior import Answer, Block, conditioned
from loopwright.swatch.learning.predict import Prediction, prediction
from loopwright.swatch.learning.prior import BLOCK, Belief, belief
from loopwright.swatch.learning.scale import reading_sd, require_readable, to_scale
from loopwright.swatch.observed import Observed, Quantity
from loopwright.yarn.yarn import Yarn

Floats = NDArray[np.float64]
KEPT = 32  # drawers kept


@dataclass(frozen=True, slots=True)
class Wanted:
    """A quantity of a cloth that is asked for."""

    cloth: Cloth
    quantity: Quantity


@dataclass(frozen=True, slots=True)
class Planned:
    """A reading of a swatch to come: of which cloth, and its standard deviation on the scale of the quantity."""

    cloth: Cloth
    quantity: Quantity
    sd: float


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """Several quantities together on their scales: means (m,), covariance (m, m)."""

    wanted: tuple[Wanted, ...]
    mean: Floats
    covariance: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Drawer:
    """Everything learnt. `blocks` by name, `places` the observations (their numbers) of each block in order."""

    observations: tuple[Observed, ...]
    left_out: tuple[Observed, ...]
    blocks: Mapping[str, Block]
    places: Mapping[str, tuple[int, ...]]

    @property
    def swatches(self) -> tuple[str, ...]:
        """Names of the swatches in the order of the drawer."""
        return tuple(dict.fromkeys(each.swatch for each in self.observations))

    def predict(
        self,
        structure: Structure,
        yarn: Yarn,
        loop_length_mm: float,
        state: State,
        quantity: Quantity,
        lot: str = "",
    ) -> Prediction:
        """A quantity of a cloth to be knitted, before and after the swatches."""
        return self.predict_all([Wanted(Cloth(structure, yarn, loop_length_mm, state, lot), quantity)])[0]

    def predict_all(self, wanted: Sequence[Wanted]) -> list[Prediction]:
        """Several at once, each as `predict` has it."""
        made: dict[int, Prediction] = {}
        for name, numbers in _by_block([each.quantity for each in wanted]).items():
            asked = [wanted[number] for number in numbers]
            beliefs = [belief(each.cloth, each.quantity) for each in asked]
            answer = self._answer(name, beliefs)
            told = [self.observations[place] for place in self.places.get(name, ())]
            for row, number in enumerate(numbers):
                made[number] = prediction(asked[row].cloth, asked[row].quantity, beliefs[row].mean, answer, row, told)
        return [made[number] for number in range(len(wanted))]

    def joint(self, wanted: Sequence[Wanted]) -> Joint:
        """How several quantities are known together, on their scales (`scale.to_scale`)."""
        mean, covariance = np.zeros(len(wanted)), np.zeros((len(wanted), len(wanted)))
        for name, numbers in _by_block([each.quantity for each in wanted]).items():
            beliefs = [belief(wanted[number].cloth, wanted[number].quantity) for number in numbers]
            answer = self._answer(name, beliefs)
            mean[numbers] = [each.mean for each in beliefs] + answer.mean
            covariance[np.ix_(numbers, numbers)] = answer.covariance
        return Joint(tuple(wanted), mean, covariance)

    def variance_after(self, wanted: Sequence[Wanted], candidates: Sequence[Sequence[Planned]]) -> list[Floats]:
        """Covariance (m, m) of the wanted that each candidate, a swatch with its planned readings, would leave.

        It does not depend on what the readings will say: in a linear normal model only on what they are of.
        """
        planned = [Wanted(each.cloth, each.quantity) for readings in candidates for each in readings]
        covariance, count = self.joint([*wanted, *planned]).covariance, len(wanted)
        left, start = [], count
        for readings in candidates:
            at = np.arange(start, start + len(readings))
            start += len(readings)
            shared = covariance[:count, at]
            read = covariance[np.ix_(at, at)] + np.diag([each.sd**2 for each in readings])
            left.append(covariance[:count, :count] - shared @ np.linalg.solve(read, shared.T))
        return left

    def _answer(self, block: str, beliefs: Sequence[Belief]) -> Answer:
        known = self.blocks.get(block) or conditioned([], np.zeros(0), np.zeros(0))
        return known.ask([each.effects for each in beliefs])


def _by_block(quantities: Sequence[Quantity]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for number, quantity in enumerate(quantities):
        found.setdefault(BLOCK[quantity], []).append(number)
    return found


def learnt(observations: Sequence[Observed]) -> Drawer:
    """Learn from a drawer.

    Raises:
        Problem: a reading that no cloth has.
    """
    return _learnt(tuple(observations))


@lru_cache(maxsize=KEPT)
def _learnt(observations: tuple[Observed, ...]) -> Drawer:
    for each in observations:
        require_readable(each)
    kept = tuple(each for each in observations if each.state is not State.ON_MACHINE)
    left_out = tuple(each for each in observations if each.state is State.ON_MACHINE)
    blocks, places = {}, {}
    for name, numbers in _by_block([each.quantity for each in kept]).items():
        told = [kept[number] for number in numbers]
        beliefs = [belief(cloth_of(each), each.quantity) for each in told]
        means = np.array([each.mean for each in beliefs])
        away = np.array([to_scale(each.quantity, each.value) for each in told]) - means
        noise = np.array([reading_sd(each) ** 2 for each in told])
        blocks[name] = conditioned([each.effects for each in beliefs], away, noise)
        places[name] = tuple(numbers)
    return Drawer(kept, left_out, blocks, places)


def cloth_of(observed: Observed) -> Cloth:
    """What a number was read on."""
    return Cloth(
        observed.structure,
        observed.yarn,
        observed.loop_length_mm,
        observed.state,
        observed.lot,
        observed.swatch,
        observed.days_old,
    )


def reading_of(cloth: Cloth, quantity: Quantity, relative: float) -> Planned:
    """A planned reading whose standard error is a part of its value, or points of a change or lean in per cent."""
    sd = relative if quantity.is_ratio or quantity is Quantity.LEAN else relative / 100
    least = rule("reading_least_lean" if quantity is Quantity.LEAN else "reading_least")
    return Planned(cloth, quantity, max(sd, least))
