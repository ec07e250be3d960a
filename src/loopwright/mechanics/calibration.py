"""Fitting the yarn to swatches, and predicting other loop lengths and structures of it.

In: one or more `Swatch` of yarns of one spinning. Out: `Calibration`: packing, held set, share of set, residual twist
and bending rigidity as figures with their band, a `Finish` for `simulated_cloth`, predictions whose spread is what the
swatches left, and how well each swatch is predicted from the others. Method: weights on a grid of packing and held set
(`posterior`), closed forms for the rest (`fitted`). Valid: relaxed cloth in the atlas.
Not covered: a set that differs between swatches (dry and washed swatches are calibrated apart), friction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loopwright.fabric.geometry import StitchGeometry
from loopwright.figure import Basis, Figure, State, banded
from loopwright.mechanics.cloth import Finish, SimulatedCloth, simulated_cloth, washed
from loopwright.mechanics.fitted import SOURCE, residual_twist, rigidity, share_of
from loopwright.mechanics.posterior import (
    HELD_SETS,
    Posterior,
    Reading,
    diameters,
    log_counts,
    model_sd,
    packing_grid,
    posterior_of,
    readings,
)
from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Problem
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn

LEAST_KNOWN = 0.5  # of the weight that must lie inside the atlas for a prediction


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A swatch predicted from the others, and from none: errors of wales and courses per cm in per cent of counted."""

    name: str
    wales_percent: float
    courses_percent: float
    wales_without_percent: float
    courses_without_percent: float


@dataclass(frozen=True, slots=True)
class LeaveOneOut:
    """How well every swatch is predicted from the others; `words` says what is missing when there is nothing to say."""

    swatches: tuple[LeftOut, ...]
    words: str

    @property
    def rms_percent(self) -> float | None:
        """Root mean square of all errors; none without two swatches."""
        return _rms([each for row in self.swatches for each in (row.wales_percent, row.courses_percent)])

    @property
    def rms_without_percent(self) -> float | None:
        """The same without any calibration, for comparison."""
        return _rms(
            [each for row in self.swatches for each in (row.wales_without_percent, row.courses_without_percent)]
        )

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "words": self.words,
            "root_mean_square_percent": self.rms_percent,
            "root_mean_square_without_calibration_percent": self.rms_without_percent,
            "swatches": [
                {
                    "name": row.name,
                    "wales_error_percent": row.wales_percent,
                    "courses_error_percent": row.courses_percent,
                    "wales_error_without_calibration_percent": row.wales_without_percent,
                    "courses_error_without_calibration_percent": row.courses_without_percent,
                }
                for row in self.swatches
            ],
        }


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """What swatches say of a yarn and its finishing. `scatter` is the factor on the model's tabled spread."""

    swatches: tuple[Swatch, ...]
    posterior: Posterior
    packing: Figure
    diameter_mm: Figure
    held_set: Figure
    share: Figure
    residual_turns_per_m: Figure | None
    rigidity_n_mm2: Figure | None
    scatter: Figure
    leave_one_out: LeaveOneOut
    missing: tuple[str, ...]

    @property
    def finish(self) -> Finish:
        """The finish of the first swatch's yarn."""
        return self.finish_of(self.swatches[0].yarn)

    def finish_of(self, yarn: Yarn) -> Finish:
        """The finish of a yarn: its diameter is fitted when it is spun like the swatches', else its own stands."""
        is_kin = yarn.spinning == self.swatches[0].yarn.spinning
        return Finish(
            share=self.share,
            held_set=self.held_set.value,
            residual_turns_per_m=self.residual_turns_per_m,
            diameter_mm=_diameter(yarn, self.posterior, self.swatches) if is_kin else None,
            rigidity_n_mm2=self.rigidity_n_mm2 if is_kin else None,
        )

    def figures(self) -> dict[str, Figure]:
        """All figures by a key whose tail is the unit."""
        found = {
            "fitted_packing": self.packing,
            "fitted_diameter_mm": self.diameter_mm,
            "held_set": self.held_set,
            "set_share": self.share,
            "residual_twist_turns_per_m": self.residual_turns_per_m,
            "bending_rigidity_n_mm2": self.rigidity_n_mm2,
            "scatter_over_tabled": self.scatter,
        }
        return {key: figure for key, figure in found.items() if figure is not None}

    def predict(self, structure: Structure, yarn: Yarn, loop_length_mm: Figure) -> SimulatedCloth | None:
        """The cloth with the calibrated spread; none when it isn't in the atlas at this loop length."""
        cloth = simulated_cloth(structure, yarn, loop_length_mm, self.finish_of(yarn))
        if cloth is None or yarn.spinning != self.swatches[0].yarn.spinning:
            return cloth
        geometry = _geometry(self.posterior, self.swatches, structure, yarn, loop_length_mm)
        return cloth if geometry is None else replace(cloth, geometry=geometry)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "swatches": [swatch.name for swatch in self.swatches],
            "figures": {key: figure.as_dict() for key, figure in self.figures().items()},
            "leave_one_out": self.leave_one_out.as_dict(),
            "missing": list(self.missing),
        }


def calibrated(swatches: Sequence[Swatch]) -> Calibration:
    """The calibration that swatches give.

    Raises:
        Problem: no swatch, yarns of different spinning, a structure or loop length that is not in the atlas, counts
            that contradict the yarn or each other, a strip stretched past what its loops give.
    """
    _require_kin(swatches)
    made, first = tuple(swatches), swatches[0].yarn
    posterior = posterior_of(made, first.packing)
    missing: list[str] = []
    share = share_of(made, posterior)
    if share is None:
        missing.append("set: no roll was measured on a cloth that rolls, so it is taken as washed")
    share = share or washed().share
    twist = residual_twist(made, posterior, share.value)
    if twist is None:
        missing.append("residual twist: no lean was measured on a cloth that leans")
    stiff = rigidity(made, posterior)
    if stiff is None:
        missing.append("bending rigidity: no strip was stretched under a known weight, so there are no newtons")
    return Calibration(
        swatches=made,
        posterior=posterior,
        packing=_packing(posterior, made),
        diameter_mm=_diameter(first, posterior, made),
        held_set=_held_set(posterior, made),
        share=share,
        residual_turns_per_m=twist,
        rigidity_n_mm2=stiff,
        scatter=_scatter(posterior, made),
        leave_one_out=_leave_one_out(made),
        missing=tuple(missing),
    )


def _require_kin(swatches: Sequence[Swatch]) -> None:
    if not swatches:
        raise Problem("swatch", "there is none to calibrate on.", tries=["count wales and courses of one swatch"])
    for swatch in swatches:
        if swatch.yarn.spinning != swatches[0].yarn.spinning:
            raise Problem(
                swatch.name,
                f"its yarn is {_spoken(swatch.yarn)}, that of {swatches[0].name} {_spoken(swatches[0].yarn)}; "
                "packing is a matter of spinning.",
                tries=["calibrate yarns of different spinning apart"],
            )


def _spoken(yarn: Yarn) -> str:
    return yarn.spinning.replace("_", " ")


def _named(swatches: Sequence[Swatch]) -> str:
    return ", ".join(swatch.name for swatch in swatches)


def _fitted(name: str, unit: str, at: np.ndarray[Any, Any], weights: np.ndarray[Any, Any], words: str) -> Figure:
    """A figure from values and their weights: mean, and nine in ten."""
    order = np.argsort(at)
    values, share = at[order], weights[order] / weights.sum()
    mean = float(values @ share)
    below = np.cumsum(share) - share / 2
    low, high = (float(np.interp(each, below, values)) for each in (0.05, 0.95))
    return banded(
        name,
        mean,
        unit,
        low=min(low, mean),
        high=max(high, mean),
        basis=Basis.SIMULATED,
        words=words,
        source=SOURCE,
    )


def _packing(posterior: Posterior, swatches: Sequence[Swatch]) -> Figure:
    words = f"the packing with which the model counts like {_named(swatches)}"
    return _fitted("packing", "", posterior.packings, posterior.weights.sum(axis=1), words)


def _diameter(yarn: Yarn, posterior: Posterior, swatches: Sequence[Swatch]) -> Figure:
    words = f"from count, fibre and the packing fitted to {_named(swatches)}"
    at = diameters(yarn, posterior.packings)
    return _fitted("yarn diameter", "mm", at, posterior.weights.sum(axis=1), words)


def _held_set(posterior: Posterior, swatches: Sequence[Swatch]) -> Figure:
    words = f"set taken while the cloth was held firm, with which slack cloth counts like {_named(swatches)}"
    return _fitted("set taken in the held state", "", HELD_SETS, posterior.weights.sum(axis=0), words)


def _scatter(posterior: Posterior, swatches: Sequence[Swatch]) -> Figure:
    """How far swatches scatter about the model, over what is tabled; the band is that of so few swatches."""
    arm = 1 / math.sqrt(2 * posterior.degrees)
    return banded(
        "scatter of the swatches over the tabled",
        posterior.factor,
        "",
        low=posterior.factor * math.exp(-1.645 * arm),
        high=posterior.factor * math.exp(1.645 * arm),
        basis=Basis.MEASURED,
        words=f"below 1 the model fits {_named(swatches)} better than was expected, above 1 worse",
        source=SOURCE,
    )


def _geometry(
    posterior: Posterior, swatches: Sequence[Swatch], structure: Structure, yarn: Yarn, loop_length_mm: Figure
) -> StitchGeometry | None:
    logs = log_counts(structure, yarn, loop_length_mm.value, posterior.packings)
    if min(posterior.share_known(each) for each in logs.values()) < LEAST_KNOWN:
        return None
    ratio = loop_length_mm.value / yarn.diameter_mm.value
    figures = []
    for name, way in (("wales per cm", "wale"), ("courses per cm", "course")):
        error, left = posterior.error((structure.notation, way), model_sd(structure, ratio, f"{way}s"))
        mean, sd = posterior.mean_and_sd(logs[way] + error)
        arm = posterior.reach * math.hypot(sd, posterior.factor * left)
        figures.append(
            banded(
                name,
                math.exp(mean),
                "per cm",
                low=math.exp(mean - arm),
                high=math.exp(mean + arm),
                basis=Basis.SIMULATED,
                words=f"calibrated on {_named(swatches)}: packing, held set, the model's error there",
                source=SOURCE,
                state=State.FULLY_RELAXED,
            )
        )
    return StitchGeometry(structure, loop_length_mm, figures[0], figures[1], State.FULLY_RELAXED)


def _leave_one_out(swatches: Sequence[Swatch]) -> LeaveOneOut:
    if len(swatches) < 2:
        return LeaveOneOut((), "needs a second swatch: one cannot be predicted from the others")
    packings, _ = packing_grid(swatches[0].yarn.packing)
    read = [readings(swatch, packings) for swatch in swatches]
    rows = tuple(_left_out(swatches, read, place) for place in range(len(swatches)))
    return LeaveOneOut(rows, f"each of {len(swatches)} swatches predicted from the others")


def _left_out(swatches: Sequence[Swatch], read: Sequence[Sequence[Reading]], place: int) -> LeftOut:
    """A swatch from the others, and as it is simulated without a swatch: tabled packing, no held set."""
    others = [each for each in range(len(swatches)) if each != place]
    posterior = posterior_of(
        [swatches[each] for each in others], swatches[0].yarn.packing, [read[each] for each in others]
    )
    wales, courses = (
        _error(posterior.mean_and_sd(each.said + posterior.error(each.kind, each.own_sd)[0])[0], each.measured)
        for each in read[place][:2]
    )
    middle = len(posterior.packings) // 2
    bare = [_error(float(each.said[middle, 0]), each.measured) for each in read[place][:2]]
    return LeftOut(swatches[place].name, wales, courses, bare[0], bare[1])


def _error(log_predicted: float, log_counted: float) -> float:
    return 100 * (math.exp(log_predicted - log_counted) - 1)


def _rms(errors: Sequence[float]) -> float | None:
    known = [each for each in errors if math.isfinite(each)]
    return math.sqrt(sum(each**2 for each in known) / len(known)) if known else None
