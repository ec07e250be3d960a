"""What is believed before a swatch: the tabled value of a quantity, and how cloth departs from it, effect by effect.

In: a `Cloth` and a `Quantity`. Out: `Belief`: its mean on the scale of the quantity, and its departures as a sum of
effects: coefficients of independent standard normal unknowns, each named by block, effect and level. Two numbers are
correlated where they share unknowns. Mass is wales × courses × yarn of a repeat, so what is learnt of counts moves it;
a change is a count before over the same count after. Errors of wales and courses share unknowns as the table says.
The variances of the effects of counts, thickness and stretch add up to the published band. The lean has the mean nil:
its size is tabled, its direction is not; twist of known direction lets an S yarn learn from a Z yarn.
Not covered: readings (`scale`), conditioning (`posterior`). Sources: those of `fabric`; tables `effects`, `families`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from loopwright.fabric.bulk import thickness
from loopwright.fabric.geometry import constants, fibre_family, predicted_geometry
from loopwright.fabric.kin import element
from loopwright.fabric.mass import piece_lengths, repeat_mass_g_per_m2, yarn_per_repeat_mm
from loopwright.fabric.spirality import spirality
from loopwright.fabric.stretch import stretch_of
from loopwright.figure import NINE_IN_TEN_SD, Figure, State, entered
from loopwright.structure.library import Structure
from loopwright.swatch.learning.levels import (
    Cloth,
    effects,
    family,
    fibre_key,
    slackness,
    structure_key,
    yarn_key,
)
from loopwright.swatch.observed import Quantity
from loopwright.yarn.yarn import Yarn

Unknown = tuple[object, ...]  # (within?, block, effect, part, level …)
Effects = dict[Unknown, float]
BLOCK = {
    Quantity.WALES: "counts",
    Quantity.COURSES: "counts",
    Quantity.MASS: "counts",
    Quantity.WIDTH_CHANGE: "counts",
    Quantity.LENGTH_CHANGE: "counts",
    Quantity.THICKNESS: "thickness",
    Quantity.LEAN: "lean",
    Quantity.WIDTH_STRETCH: "width stretch",
    Quantity.LENGTH_STRETCH: "length stretch",
}
WALES, COURSES = 0, 1
BEFORE = State.DRY_RELAXED  # changes are told from the cloth off the machine, at rest
LEAST_SHARE = 0.1  # of a published band that is left to the structure when the other effects would fill it
DAYS_OF_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Belief:
    """A number before a swatch: mean on its scale, and the effects that it departs by."""

    mean: float
    effects: Mapping[Unknown, float]


def belief(cloth: Cloth, quantity: Quantity) -> Belief:
    """What is believed of a quantity of a cloth."""
    match quantity:
        case Quantity.WALES:
            return Belief(_log_count(cloth, WALES), count_effects(cloth)[WALES])
        case Quantity.COURSES:
            return Belief(_log_count(cloth, COURSES), count_effects(cloth)[COURSES])
        case Quantity.MASS:
            return _mass(cloth)
        case Quantity.WIDTH_CHANGE:
            return _change(cloth, WALES)
        case Quantity.LENGTH_CHANGE:
            return _change(cloth, COURSES)
        case Quantity.THICKNESS:
            figure = _thickness(cloth.structure, cloth.yarn)
            return Belief(math.log(figure.value), dict(_banded(cloth, "thickness", "thickness", _log_sd(figure))))
        case Quantity.LEAN:
            return Belief(0.0, dict(_lean_effects(cloth)))
        case Quantity.WIDTH_STRETCH | Quantity.LENGTH_STRETCH:
            stretch = stretch_of(cloth.structure, cloth.state)
            figure = stretch.width_percent if quantity is Quantity.WIDTH_STRETCH else stretch.length_percent
            return Belief(math.log(figure.value), dict(_banded(cloth, "stretch", BLOCK[quantity], _log_sd(figure))))


def _log_sd(figure: Figure) -> float:
    """Standard deviation of the logarithm behind a nine-in-ten band."""
    return math.log(figure.high / figure.low) / (2 * NINE_IN_TEN_SD)


@dataclass(frozen=True, slots=True)
class _Departure:
    """An effect on both counts: what its first unknown moves in wales and courses, and its second in courses alone."""

    name: str
    is_within: bool
    wales: float
    courses: float
    courses_alone: float


@dataclass(frozen=True, slots=True)
class _Counts:
    """Logarithms of the constants of wales and courses, and how cloth departs from them."""

    log: tuple[float, float]
    departures: tuple[_Departure, ...]


@lru_cache(maxsize=512)
def _counts(structure: Structure, state: State, fibre: str) -> _Counts:
    """The published band of both constants, shared out among the effects."""
    kc, kw = constants(structure, state)
    kc_settled, kw_settled = constants(structure, State.FULLY_RELAXED)
    known = predicted_geometry(structure, entered("loop length", 10.0, "mm"), state, fibre=fibre)
    wales = _variances(kw_settled, kw, known.wales_per_cm)
    courses = _variances(kc_settled, kc, known.courses_per_cm)
    departures = tuple(
        _Departure(
            each.name,
            each.is_within,
            math.sqrt(wales[each.name]),
            each.alike * math.sqrt(courses[each.name]),
            math.sqrt((1 - each.alike**2) * courses[each.name]),
        )
        for each in effects("counts")
    )
    return _Counts((math.log(kw.value), math.log(kc.value)), departures)


def _variances(settled: Figure, there: Figure, in_fibre: Figure) -> dict[str, float]:
    """Variance of every effect from the band of a constant: fully relaxed, in the state, and carried to the fibre."""
    base = _log_sd(settled) ** 2
    rest = _rest(base, "counts")
    made = {each.name: each.sd**2 + each.share * rest for each in effects("counts")}
    state = next(each for each in effects("counts") if each.name == "state")
    made["state"] = (state.share * base + max(_log_sd(there) ** 2 - base, 0.0)) / 2  # of two levels
    made["fibre"] += max(_log_sd(in_fibre) ** 2 - _log_sd(there) ** 2, 0.0)
    return made


def _rest(variance: float, block: str) -> float:
    """What a published band leaves to structure and family after the other effects."""
    rows = [each for each in effects(block) if each.name not in ("slope", "age")]
    others = sum(each.sd**2 + (each.share * variance if each.name == "state" else 0.0) for each in rows)
    return max(variance - others, LEAST_SHARE * variance)


def _of(cloth: Cloth) -> _Counts:
    return _counts(cloth.structure, cloth.settled, fibre_family(cloth.yarn.blend.main_fibre))


def _log_count(cloth: Cloth, way: int) -> float:
    return _of(cloth).log[way] - math.log(cloth.loop_length_mm / 10)


@lru_cache(maxsize=1024)
def count_effects(cloth: Cloth) -> tuple[Effects, Effects]:
    """How wales and courses depart from their constants."""
    wales, courses, levels = Effects(), Effects(), _levels(cloth)
    for each in _of(cloth).departures:
        reach = _reach(cloth, each.name)
        for level in levels[each.name] if reach else ():
            first = (each.is_within, 1, "counts", *level)
            wales[first], courses[first] = reach * each.wales, reach * each.courses
            courses[each.is_within, 2, "counts", *level] = reach * each.courses_alone
    return wales, courses


def _reach(cloth: Cloth, name: str) -> float:
    """The factor on an effect that grows: with the way from the usual loop length, with the root of the age."""
    if name == "slope":
        return slackness(cloth)
    return math.sqrt(cloth.days_old / DAYS_OF_YEAR) if name == "age" else 1.0


def _levels(cloth: Cloth) -> dict[str, tuple[Unknown, ...]]:
    """The levels of a cloth by effect; a state has two, of the house and of the structure."""
    structure, yarn = structure_key(cloth.structure), yarn_key(cloth.yarn)
    own = cloth.swatch or (yarn, structure, cloth.lot)
    return {
        "state": (("state", "", cloth.settled), ("state", structure, cloth.settled)),
        "family": (("family", family(cloth.structure)),),
        "structure": (("structure", structure),),
        "slope": (("slope", structure),),
        "fibre": (("fibre", *fibre_key(cloth.yarn)),),
        "yarn": (("yarn", yarn),),
        "pair": (("pair", yarn, structure),),
        "lot": (("lot", yarn, cloth.lot),),
        "swatch": (("swatch", own),),
        "age": (("age", own),),
        "twist": (("twist",),),
    }


def _mass(cloth: Cloth) -> Belief:
    """Wales × courses × yarn of a repeat: the effects of both counts, and of yarn and tuck length."""
    counts = [_log_count(cloth, way) for way in (WALES, COURSES)]
    wales, courses = count_effects(cloth)
    made = dict(wales)
    for unknown, coefficient in courses.items():
        made[unknown] = made.get(unknown, 0.0) + coefficient
    levels = _levels(cloth)
    for effect in effects("mass"):
        made[effect.is_within, 0, "mass", *levels[effect.name][0]] = effect.sd
    yarn_mm, log_band = _yarn_of_repeat(cloth, math.exp(counts[WALES]))
    if log_band:
        made[False, 0, "mass", "structure", structure_key(cloth.structure)] = log_band
    anatomy = cloth.structure.anatomy
    mass = repeat_mass_g_per_m2(
        yarn_mm=yarn_mm,
        count_tex=cloth.yarn.count.tex * cloth.yarn.ends,
        height_mm=10 * anatomy.visible_courses / math.exp(counts[COURSES]),
        width_mm=10 * anatomy.visible_wales / math.exp(counts[WALES]),
    )
    return Belief(math.log(mass), made)


def _yarn_of_repeat(cloth: Cloth, wales_per_cm: float) -> tuple[float, float]:
    """Yarn in a repeat, mm, and the standard deviation of its logarithm from the lengths that were not unroved."""
    structure = cloth.structure
    lengths = piece_lengths(structure, loop_length_mm=cloth.loop_length_mm, wales_per_cm=wales_per_cm)
    yarn_mm, tuck, variance = sum(yarn_per_repeat_mm(structure, lengths).values()), element("tuck_over_knit_loop"), 0.0
    share = structure.anatomy.tucks * lengths.tuck_mm / yarn_mm
    variance += (share * math.log(tuck["value_high"] / tuck["value_low"])) ** 2
    for (_, role), parts in structure.anatomy.parts.items():
        if role in structure.ratios:
            _, shortest, longest = structure.ratios[role]
            share = parts.loops * lengths.loop_mm[role] / yarn_mm
            variance += (share * math.log(longest / shortest)) ** 2
    return yarn_mm, math.sqrt(variance) / (2 * NINE_IN_TEN_SD)


def _change(cloth: Cloth, way: int) -> Belief:
    """The count before over the count after: what they share cancels; the rest is shrinkage of yarn, and the wash."""
    before = replace(cloth, state=BEFORE)
    made = dict(count_effects(before)[way])
    for unknown, coefficient in count_effects(cloth)[way].items():
        made[unknown] = made.get(unknown, 0.0) - coefficient
    made = {unknown: coefficient for unknown, coefficient in made.items() if coefficient}
    if cloth.settled is not BEFORE:
        levels = _levels(cloth)
        for effect in effects("change"):
            level = levels[effect.name][0]
            made[effect.is_within, 1, "change", *level] = effect.sd * (1.0 if way == WALES else effect.alike)
            if way == COURSES:
                made[effect.is_within, 2, "change", *level] = effect.sd * math.sqrt(1 - effect.alike**2)
    return Belief(_log_count(before, way) - _log_count(cloth, way), made)


@lru_cache(maxsize=512)
def _thickness(structure: Structure, yarn: Yarn) -> Figure:
    return thickness(structure, yarn)


def _banded(cloth: Cloth, rows: str, block: str, sd: float) -> Iterator[tuple[Unknown, float]]:
    """Effects of a quantity whose band is tabled by structure."""
    rest, levels = _rest(sd**2, rows), _levels(cloth)
    for effect in effects(rows):
        coefficient = _reach(cloth, effect.name) * math.sqrt(effect.sd**2 + effect.share * rest)
        if coefficient:
            yield (effect.is_within, 0, block, *levels[effect.name][-1]), coefficient


def _lean_effects(cloth: Cloth) -> Iterator[tuple[Unknown, float]]:
    """Effects of the lean, in its tabled size; without a known direction of twist the yarn carries the twist's part."""
    size = lean_size(cloth)
    beds = cloth.structure.anatomy.beds
    sign = {"Z": 1.0, "S": -1.0, None: 0.0}[cloth.yarn.singles_direction]
    levels = _levels(cloth) | {"state": (("state", yarn_key(cloth.yarn), cloth.settled),)}
    sds = {effect.name: effect.sd for effect in effects("lean")}
    sds["yarn"] = sds["yarn"] if sign else math.hypot(sds["yarn"], sds["twist"])
    sds["twist"] *= sign
    for effect in effects("lean"):
        coefficient = _reach(cloth, effect.name) * size * sds[effect.name]
        if coefficient:
            yield (effect.is_within, 0, "lean", beds, *levels[effect.name][-1]), coefficient


def lean_size(cloth: Cloth) -> float:
    """Standard deviation of the signed lean before a swatch, %: its tabled high end is reached one time in ten."""
    return _spirality(cloth.structure, cloth.yarn, cloth.loop_length_mm).high / NINE_IN_TEN_SD


@lru_cache(maxsize=512)
def _spirality(structure: Structure, yarn: Yarn, loop_length_mm: float) -> Figure:
    return spirality(structure, yarn, entered("loop length", loop_length_mm, "mm"))
