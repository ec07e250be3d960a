"""What swatches leave possible: a grid over packing of the yarn and held set, with a weight at every point.

Prior: packing lognormal in the band of its spinning, held set flat from 0 to 0.95. Likelihood: logarithms of counts and
thickness scatter about the model by the measuring spread and the model's own spread together. Of the latter the share
`ALIKE` is the same in every swatch of a structure (a frictionless model errs the same way each time), so that swatches
also say by how much the model errs. How large the scatter really is, is not known beforehand: its variance is the
tabled one times a factor (scaled inverse chi squared, `SCALE_DEGREES` degrees of freedom), integrated out in closed
form. Swatches that agree narrow what is said, swatches that disagree widen it. Arrays are (packings, sets).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from loopwright.fabric.kin import element
from loopwright.figure import NINE_IN_TEN_SD, Figure
from loopwright.mechanics import atlas
from loopwright.mechanics.fields import SETS
from loopwright.mechanics.stored import Page, Stored, page_at
from loopwright.mechanics.swatches import Swatch
from loopwright.mechanics.trust import trust_of
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.structure.library import Structure
from loopwright.structure.notation import Notation
from loopwright.yarn.diameter import diameter_mm
from loopwright.yarn.yarn import Yarn

Floats = NDArray[np.float64]
PACKINGS, REACH_SD = 49, 3.2  # points over packing, and how far they go
HELD_SETS: Floats = np.linspace(0.0, 0.95, 20)
SCALE_DEGREES = 4.0  # how firmly the tabled spread of the model is believed (prior)
ALIKE = 0.7  # share of the model's own variance that is common to all swatches of a structure (prior)
QUANTITIES = ("wale", "course")


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One measured number: its logarithm, what every grid point says (packings, sets), and its standard deviations.

    `own_sd` is the model's, `measured_sd` the person's. Readings of one `kind` (structure, quantity) err alike.
    """

    kind: tuple[Notation, str]
    measured: float
    said: Floats
    own_sd: float
    measured_sd: float

    @property
    def sd(self) -> float:
        """Both together."""
        return math.hypot(self.own_sd, self.measured_sd)


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Weights (packings, sets) that add to 1, the readings behind them, the factor on their tabled scatter."""

    packings: Floats
    weights: Floats
    readings: tuple[Reading, ...]
    factor: float
    degrees: float

    @property
    def reach(self) -> float:
        """Half width of nine in ten in standard deviations, for a scatter known from so few swatches."""
        return float(stdtrit(self.degrees, 0.95))

    def mean_and_sd(self, values: Floats) -> tuple[float, float]:
        """Mean and standard deviation of a quantity (packings, sets); points where it is unknown are left out."""
        known = np.isfinite(values)
        weights = np.where(known, self.weights, 0.0)
        weights = weights / weights.sum()
        filled = np.where(known, values, 0.0)
        mean = float((weights * filled).sum())
        return mean, math.sqrt(max(0.0, float((weights * (filled - mean) ** 2).sum())))

    def share_known(self, values: Floats) -> float:
        """How much of the weight lies where a quantity is known."""
        return float(self.weights[np.isfinite(values)].sum())

    def error(self, kind: tuple[Notation, str], own_sd: float) -> tuple[Floats | float, float]:
        """By how much the model errs on a kind (packings, sets), and the standard deviation that is left of it."""
        alike = [each for each in self.readings if each.kind == kind]
        if not alike:
            return 0.0, own_sd
        shared = ALIKE * own_sd * np.array([each.own_sd for each in alike])
        pull = np.linalg.solve(_covariance(alike), shared)
        away = np.array([each.measured - each.said for each in alike])
        left = own_sd**2 - float(pull @ shared)
        return np.asarray(np.tensordot(pull, away, axes=1)), math.sqrt(left)


def _covariance(alike: Sequence[Reading]) -> Floats:
    """Covariance (n, n) of readings of one kind."""
    own = np.array([each.own_sd for each in alike])
    own_part = np.outer(own, own) * (ALIKE + (1 - ALIKE) * np.eye(len(alike)))
    return np.asarray(own_part + np.diag([each.measured_sd**2 for each in alike]))


def packing_grid(packing: Figure) -> tuple[Floats, Floats]:
    """Packings and the logarithm of their prior density."""
    sd = math.log(packing.high / packing.low) / (2 * NINE_IN_TEN_SD)
    steps = np.linspace(-REACH_SD, REACH_SD, PACKINGS)
    return packing.value * np.exp(sd * steps), -0.5 * steps**2


def pages_at(structure: Structure, yarn: Yarn, loop_length_mm: float, packings: Floats) -> list[Page | None]:
    """The page of the atlas at every packing."""
    chapter = chapter_of(structure)
    return [page_at(chapter, loop_length_mm / d) for d in diameters(yarn, packings)]


def chapter_of(structure: Structure) -> Stored:
    """The chapter of a structure.

    Raises:
        Problem: it isn't in the atlas, so that nothing can be fitted to it.
    """
    chapter = atlas.chapter_for(structure.notation)
    if chapter is None:
        raise Problem(
            "swatch",
            f"{structure.name} is not among the simulated structures, so no yarn can be fitted to its swatch.",
            limit=f"simulated: {', '.join(atlas.header()['chapters'])}",
            tries=["a swatch in plain or in 1×1 rib of the same yarn"],
        )
    return chapter


def diameters(yarn: Yarn, packings: Floats) -> Floats:
    """Yarn diameter in mm at every packing."""
    return np.array([diameter_mm(yarn.tex.value, yarn.density.value, float(each)) for each in packings])


def log_counts(structure: Structure, yarn: Yarn, loop_length_mm: float, packings: Floats) -> dict[str, Floats]:
    """Logarithm of wales ("wale") and courses ("course") per cm over the grid; nan outside the atlas."""
    pages = pages_at(structure, yarn, loop_length_mm, packings)
    made = {way: np.full((len(packings), len(HELD_SETS)), math.nan) for way in QUANTITIES}
    for row, (page, d) in enumerate(zip(pages, diameters(yarn, packings), strict=True)):
        if page is not None:
            for way in QUANTITIES:
                made[way][row] = np.log(10 / d) - _log_spacings(page, way)
    return made


def _log_spacings(page: Page, way: str) -> Floats:
    """Logarithm of a spacing at every held set; sets that did not settle are bridged."""
    at = np.array((0.0, *SETS))
    values = np.array([page.spacing(way).value, *(page[f"held_{way}_{n}"].value for n in range(len(SETS)))])
    known = np.isfinite(values) & (values > 0)
    if not known.any():
        return np.full(len(HELD_SETS), math.nan)
    return np.asarray(np.log(np.interp(HELD_SETS, at[known], values[known])))


def readings(swatch: Swatch, packings: Floats) -> list[Reading]:
    """What a swatch says, number by number."""
    said = log_counts(swatch.structure, swatch.yarn, swatch.loop_length_mm, packings)
    count_spread = element("swatch_count_spread")["value"]
    told = [("wale", swatch.wales_per_cm), ("course", swatch.courses_per_cm)]
    found = [_reading(swatch, way, value, said[way], f"{way}s", count_spread) for way, value in told]
    if swatch.thickness_mm is not None:
        pages = pages_at(swatch.structure, swatch.yarn, swatch.loop_length_mm, packings)
        depth = np.array([page["depth"].value if page else math.nan for page in pages])
        depth *= diameters(swatch.yarn, packings)
        grid = np.repeat(np.log(depth)[:, None], len(HELD_SETS), axis=1)
        thick = swatch.thickness_mm
        found.append(_reading(swatch, "thickness", thick, grid, "thickness", measuring("thickness")))
    return found


def _reading(swatch: Swatch, name: str, value: float, said: Floats, quantity: str, spread: float) -> Reading:
    ratio = swatch.loop_length_mm / swatch.yarn.diameter_mm.value
    return Reading(
        kind=(swatch.structure.notation, name),
        measured=math.log(value),
        said=said,
        own_sd=model_sd(swatch.structure, ratio, quantity),
        measured_sd=math.log1p(spread) / NINE_IN_TEN_SD,
    )


def measuring(quantity: str) -> float:
    """How closely a person measures (nine in ten), relative or in its unit."""
    return table(__package__, "measuring").by("quantity")[quantity]["spread"]


def model_sd(structure: Structure, loop_over_diameter: float, quantity: str) -> float:
    """Standard deviation of the model itself, in logarithms, as tabled."""
    return math.log1p(trust_of(quantity, structure, loop_over_diameter)["spread"]) / NINE_IN_TEN_SD


def posterior_of(swatches: Sequence[Swatch], packing: Figure, read: Sequence[Sequence[Reading]] = ()) -> Posterior:
    """Weights after all swatches; `read` are their readings where they were made before.

    Raises:
        Problem: a structure isn't in the atlas, a loop length lies outside it, or counts that no packing gives.
    """
    packings, log_prior = packing_grid(packing)
    prior = np.repeat(log_prior[:, None], len(HELD_SETS), axis=1)
    by_swatch = read or [readings(swatch, packings) for swatch in swatches]
    _require_possible(swatches, by_swatch, prior)
    told = tuple(each for found in by_swatch for each in found)
    misfit = sum(_misfit([each for each in told if each.kind == kind]) for kind in {each.kind for each in told})
    log_weight = prior - (SCALE_DEGREES + len(told)) / 2 * np.log(SCALE_DEGREES + misfit)
    log_weight = np.where(np.isfinite(log_weight), log_weight, -math.inf)
    weights = np.exp(log_weight - log_weight.max())
    weights /= weights.sum()
    degrees = SCALE_DEGREES + len(told)
    factor = math.sqrt((SCALE_DEGREES + float((weights * np.nan_to_num(misfit)).sum())) / degrees)
    return Posterior(packings, weights, told, factor, degrees)


def _misfit(alike: Sequence[Reading]) -> Floats:
    """Squared distance (packings, sets) of readings of one kind from the model, in their scatter."""
    away = np.array([each.measured - each.said for each in alike])
    inverse = np.linalg.inv(_covariance(alike))
    return np.asarray(np.einsum("iab,ij,jab->ab", away, inverse, away))


MOST_AWAY = 4.0  # standard deviations past which a swatch and a yarn do not belong together


def _require_possible(swatches: Sequence[Swatch], by_swatch: Sequence[Sequence[Reading]], prior: Floats) -> None:
    """Refuse loop lengths outside the atlas, counts that no packing and set give, swatches that contradict others.

    Raises:
        Problem: any of these, naming the first swatch with which it is so.
    """
    cost = -2 * prior
    worst = np.zeros_like(prior)
    for number, (swatch, found) in enumerate(zip(swatches, by_swatch, strict=True)):
        for each in found:
            away = np.abs(each.said - each.measured) / each.sd
            cost, worst = cost + away**2, np.maximum(worst, away)
        if not np.isfinite(cost).any():
            raise _out_of_reach(swatch)
        at = np.unravel_index(int(np.nanargmin(cost)), cost.shape)
        if worst[at] > MOST_AWAY:
            raise _impossible(swatch, float(np.exp(found[0].said[at])), float(np.exp(found[1].said[at])), number > 0)


def _out_of_reach(swatch: Swatch) -> Problem:
    ratio = swatch.loop_length_mm / swatch.yarn.diameter_mm.value
    low, high = chapter_of(swatch.structure).reach
    return Problem(
        swatch.name,
        f"its loop of {swatch.loop_length_mm:g} mm is about {ratio:.0f} yarn diameters long.",
        limit=f"{swatch.structure.name} is simulated from {low:g} to {high:g}",
        tries=["check the loop length: unrove a hundred loops and measure", "check the count of the yarn"],
    )


def _impossible(swatch: Swatch, wales: float, courses: float, has_others: bool) -> Problem:
    others = ", with the other swatches as they are" if has_others else ""
    return Problem(
        swatch.name,
        f"{swatch.wales_per_cm:.3g} wales and {swatch.courses_per_cm:.3g} courses per cm at a loop of "
        f"{swatch.loop_length_mm:g} mm; the nearest that this yarn can give is {wales:.1f} and {courses:.1f}{others}.",
        limit="whatever the packing of the yarn and its set",
        tries=[
            "count again on the washed, flat swatch",
            "unrove a hundred loops for the loop length",
            "check the count of the yarn and its ends",
        ],
    )
