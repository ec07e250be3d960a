"""Drawers of swatches with a known truth, for the tests and benchmarks of what is learnt from swatches.

Two makers. `drawn_from_prior`: exactly what the learning believes, sizes of the effects included. `another_house`: a
house that the learning does not know: its own formulas, every kind of departure with a size of its own between half
and twice the tabled variance, and heavier tails (Student t with 4 degrees of freedom). Swatches beyond the first `kept`
are held out: their true values are what a prediction must cover.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.fabric.geometry import constants
from loopwright.fabric.mass import piece_lengths, yarn_per_repeat_mm
from loopwright.figure import NINE_IN_TEN_SD, State
from loopwright.structure.library import Structure, library
from loopwright.swatch.learning.levels import Cloth, family, rule, slackness
from loopwright.swatch.learning.prior import Unknown, belief
from loopwright.swatch.learning.scale import from_scale, slope
from loopwright.swatch.observed import Observed, Quantity
from loopwright.yarn.yarn import Yarn, yarn_from_words

YARNS = ("2/30 Nm merino", "2/28 Nm wool", "Ne 30/2 cotton", "2/15 Nm cashmere", "2/24 Nm acrylic")
STRUCTURES = ("plain", "rib-1x1", "rib-2x1", "interlock", "half-cardigan", "full-milano")
READ_SD = {Quantity.LEAN: 0.5, Quantity.WIDTH_CHANGE: 0.005, Quantity.LENGTH_CHANGE: 0.005}
COUNTED_SD = 0.008
COUNTS = (Quantity.WALES, Quantity.COURSES, Quantity.MASS)


@dataclass(frozen=True, slots=True)
class Held:
    """A held-out number: its cloth, its quantity, its true value."""

    cloth: Cloth
    quantity: Quantity
    true: float


@dataclass(frozen=True, slots=True)
class SimulatedDrawer:
    """What was read on the swatches kept, and the truth of those held out."""

    observations: tuple[Observed, ...]
    held: tuple[Held, ...]


def cloths(rng: np.random.Generator, count: int) -> list[Cloth]:
    """Swatches of a studio: a few yarns and structures, loop lengths about the usual, now and then another lot."""
    yarns = [yarn_from_words(words) for words in rng.choice(YARNS, 3, replace=False)]
    structures = [library()[str(key)] for key in rng.choice(STRUCTURES, 4, replace=False)]
    made = []
    for number in range(count):
        yarn, structure = yarns[rng.integers(3)], structures[rng.integers(4)]
        loop = 10 * math.sqrt(yarn.count.tex) / 13.0 * math.exp(0.08 * rng.normal())
        lot = "A" if rng.random() < 0.7 else "B"
        made.append(Cloth(structure, yarn, loop, State.FULLY_RELAXED, lot, f"swatch {number + 1}"))
    return made


def drawn_from_prior(
    seed: int, count: int, kept: int, quantities: Sequence[Quantity] = COUNTS, *, known_size: bool = False
) -> SimulatedDrawer:
    """A drawer exactly as the learning believes drawers to be."""
    rng = np.random.default_rng(seed)
    sd = 0.0 if known_size else rule("scale_sd")
    sizes = {side: math.exp(rng.normal(-(sd**2) / 2, sd) / 2) for side in (True, False)}
    drawn: dict[Unknown, float] = {}
    truths = []
    for cloth in cloths(rng, count):
        for quantity in quantities:
            known = belief(cloth, quantity)
            for unknown in known.effects:
                drawn.setdefault(unknown, rng.normal() * sizes[unknown[0] is True])
            scaled = known.mean + sum(part * drawn[unknown] for unknown, part in known.effects.items())
            truths.append(Held(cloth, quantity, from_scale(quantity, scaled)))
    return _read(rng, truths, kept * len(quantities))


def _read(rng: np.random.Generator, truths: Sequence[Held], kept: int) -> SimulatedDrawer:
    return SimulatedDrawer(tuple(read(rng, each) for each in truths[:kept]), tuple(truths[kept:]))


def read(rng: np.random.Generator, held: Held) -> Observed:
    """A reading of a true value by a careful person."""
    sd = READ_SD.get(held.quantity, COUNTED_SD) * slope(held.quantity, held.true)
    cloth = held.cloth
    return Observed(
        cloth.swatch,
        cloth.structure,
        cloth.yarn,
        cloth.loop_length_mm,
        cloth.state,
        held.quantity,
        held.true + sd * rng.normal(),
        sd,
        lot=cloth.lot,
        days_old=cloth.days_old,
    )


class _House:
    """Departures of a house the learning does not know; each level is drawn once and remembered."""

    TAILS = 4.0

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.known: dict[tuple[object, ...], float] = {}
        self.sizes: dict[str, float] = {}

    def depart(self, kind: str, sd: float, *level: object) -> float:
        """How far a level departs: heavy-tailed, of the house's own size for this kind of departure."""
        size = self.sizes.setdefault(kind.split()[0], math.exp(self.rng.uniform(-1, 1) * math.log(2) / 2))
        if (kind, *level) not in self.known:
            unit = self.rng.standard_t(self.TAILS) / math.sqrt(self.TAILS / (self.TAILS - 2))
            self.known[kind, *level] = sd * size * unit
        return self.known[kind, *level]


def another_house(seed: int, count: int, kept: int) -> SimulatedDrawer:
    """Counts and masses of a house with its own formulas, sizes of departure and tails."""
    rng = np.random.default_rng(seed)
    house = _House(rng)
    truths = []
    for cloth in cloths(rng, count):
        wales, courses = _true_counts(house, cloth)
        truths += [
            Held(cloth, Quantity.WALES, wales),
            Held(cloth, Quantity.COURSES, courses),
            Held(cloth, Quantity.MASS, _true_mass(house, cloth, wales, courses)),
        ]
    return _read(rng, truths, kept * len(COUNTS))


def _true_counts(house: _House, cloth: Cloth) -> tuple[float, float]:
    """Counts by area and shape: loops in an area, and courses over wales, each departing on its own."""
    structure, yarn = cloth.structure, cloth.yarn
    kc, kw = constants(structure, cloth.state)
    band = max(math.log(each.high / each.low) / (2 * NINE_IN_TEN_SD) for each in (kc, kw))
    common = math.sqrt(max(band**2 - 0.02**2, (0.4 * band) ** 2))
    parts = (
        ("structure", 0.8 * common, (structure.key,)),
        ("family", 0.6 * common, (family(structure),)),
        ("fibre", _carried_sd(structure, yarn), (yarn.blend.main_fibre, yarn.spinning)),
        ("yarn", 0.011, (yarn.name,)),
        ("pair", 0.010, (yarn.name, structure.key)),
        ("lot", 0.008, (yarn.name, cloth.lot)),
    )
    area = sum(house.depart(f"{name} area", 1.67 * sd, *level) for name, sd, level in parts)
    shape = sum(house.depart(f"{name} shape", 1.1 * sd, *level) for name, sd, level in parts)
    area += house.depart("swatch area", 0.012, cloth.swatch)
    shape += house.depart("swatch shape", 0.016, cloth.swatch)
    shape += house.depart("slope shape", 0.22, structure.key) * slackness(cloth)
    counted = 10 / cloth.loop_length_mm
    wales = kw.value * counted * math.exp((area - shape) / 2)
    return wales, kc.value * counted * math.exp((area + shape) / 2)


def _carried_sd(structure: Structure, yarn: Yarn) -> float:
    """Constants of wool and cotton hold for their own fibre; elsewhere they are carried over."""
    is_own = structure.key in ("plain", "interlock") and ("wool" in yarn.name) == (structure.key == "plain")
    return 0.01 if is_own or structure.key not in ("plain", "interlock") else 0.03


def _true_mass(house: _House, cloth: Cloth, wales: float, courses: float) -> float:
    anatomy = cloth.structure.anatomy
    lengths = piece_lengths(cloth.structure, loop_length_mm=cloth.loop_length_mm, wales_per_cm=wales)
    yarn_mm = sum(yarn_per_repeat_mm(cloth.structure, lengths).values())
    repeats_per_cm2 = wales * courses / (anatomy.visible_wales * anatomy.visible_courses)
    off = house.depart("mass yarn", 0.01, cloth.yarn.name) + house.depart("mass lot", 0.012, cloth.yarn.name, cloth.lot)
    off += house.depart("mass swatch", 0.008, cloth.swatch)
    if anatomy.tucks or cloth.structure.ratios:
        off += house.depart("tuck", 0.025, cloth.structure.key)
    return repeats_per_cm2 * yarn_mm * cloth.yarn.tex.value / 100 * math.exp(off)
