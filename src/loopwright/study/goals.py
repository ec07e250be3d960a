"""What one more swatch could make surer: the price, the lean after washing, the width after washing.

In: `StyleStudy` and its drawer. Out: `Goal`: an outcome as a sum of learnt quantities, each times its slope, and the
variance that no swatch can take away. The price feels the cloth through the mass of each fabric (that is how its
spread is computed); the width of the body through its wales; the lean is itself learnt. Valid near the study as it is.
Not covered: candidates and their order (`next_swatch`). Sources: identity; limits of `fabric` and `garment`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from loopwright.cost.piece import kg_key
from loopwright.fabric.fabric import Fabric
from loopwright.figure import NINE_IN_TEN_SD, Figure
from loopwright.garment.measures import tolerance_cm
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.study.study import StyleStudy
from loopwright.swatch.learning.drawer import Drawer, Floats, Wanted
from loopwright.swatch.learning.levels import Cloth
from loopwright.swatch.observed import Quantity

GOALS = ("price", "lean", "width")
PRICE_YARDSTICK = 0.05  # prior: a price that is known to 5 % is known well enough to quote


@dataclass(frozen=True, slots=True, eq=False)
class Goal:
    """An outcome: value = … + Σ slope · quantity (on its scale), with `rest` of the variance from elsewhere.

    `yardstick` is the spread with which it would be known well enough. `limit` is that of a lean; none otherwise.
    """

    key: str
    name: str
    unit: str
    value: float
    wanted: tuple[Wanted, ...]
    zones: tuple[str, ...]
    slopes: Floats
    rest: float
    yardstick: float
    limit: float | None = None

    def spread(self, covariance: Floats) -> float:
        """Half width of the nine-in-ten band with a covariance of the wanted."""
        return NINE_IN_TEN_SD * math.sqrt(self.rest + float(self.slopes @ covariance @ self.slopes))

    def unsure(self, drawer: Drawer) -> float:
        """The spread that sits in the cloth, over the one that would do."""
        covariance = drawer.joint(self.wanted).covariance
        return NINE_IN_TEN_SD * math.sqrt(float(self.slopes @ covariance @ self.slopes)) / self.yardstick

    def spread_of(self, drawer: Drawer) -> float:
        """The same with what a drawer knows."""
        return self.spread(drawer.joint(self.wanted).covariance)

    def shares(self, covariance: Floats) -> Mapping[str, float]:
        """Which part of the variance sits in the cloth of which zone."""
        pulled = covariance @ self.slopes * self.slopes
        total = self.rest + float(pulled.sum())
        return {zone: float(part) / total for zone, part in zip(self.zones, pulled, strict=True)}

    def risk(self, spread: float) -> float | None:
        """Chance of lying beyond the limit, either way; none without a limit."""
        if self.limit is None:
            return None
        known = NormalDist(self.value, spread / NINE_IN_TEN_SD)
        return known.cdf(-self.limit) + 1 - known.cdf(self.limit)


def cloth_of_fabric(fabric: Fabric) -> Cloth:
    """The cloth of a zone as the learning names it."""
    geometry = fabric.geometry
    return Cloth(fabric.structure, fabric.yarn, geometry.loop_length_mm.value, geometry.state)


def distinct(fabrics: Mapping[str, Fabric]) -> dict[str, Fabric]:
    """One zone for each cloth: structure, yarn, loop length."""
    found: dict[Cloth, str] = {}
    for zone, fabric in fabrics.items():
        found.setdefault(cloth_of_fabric(fabric), zone)
    return {zone: fabrics[zone] for zone in found.values()}


def goals_of(study: StyleStudy, drawer: Drawer) -> dict[str, Goal]:
    """Every goal that this study can have."""
    made = {"price": _price(study), "lean": _lean(study, drawer), "width": _width(study)}
    return {key: goal for key, goal in made.items() if goal is not None}


def goal_of(goals: Mapping[str, Goal], wanted: str, drawer: Drawer) -> Goal:
    """The goal asked for, or the one whose cloth is furthest from known well enough.

    Raises:
        Problem: no such goal, or the study has not come so far.
    """
    if not wanted and goals:
        return max(goals.values(), key=lambda goal: goal.unsure(drawer))
    if wanted in goals:
        return goals[wanted]
    if wanted in GOALS:
        raise Problem("next swatch", f"this style is not described far enough for its {wanted}.", tries=list(goals))
    raise Problem("next swatch", f"“{wanted}” is nothing to knit for.", limit=", ".join(GOALS), tries=list(goals))


def _price(study: StyleStudy) -> Goal | None:
    """The FOB price: its slope on the kilograms of each yarn, and their part in each fabric."""
    if study.pricing is None:
        return None
    price = study.pricing.sheet["fob"].figure
    fabrics = distinct(study.fabrics)
    grams = _grams_by_cloth(study, fabrics)
    slopes = np.array([_price_slope(price, fabrics[zone].yarn.name) for zone in fabrics])
    kg = np.array([grams[zone] / 1000 for zone in fabrics])
    wanted = tuple(Wanted(cloth_of_fabric(fabric), Quantity.MASS) for fabric in fabrics.values())
    by_mass = slopes * kg * np.array([_issued_over_grams(study, fabrics[zone].yarn.name) for zone in fabrics])
    now = sum((slope * _log_sd(fabric.mass)) ** 2 for slope, fabric in zip(by_mass, fabrics.values(), strict=True))
    sd = price.spread / NINE_IN_TEN_SD
    return Goal(
        key="price",
        name="price",
        unit=price.unit,
        value=price.value,
        wanted=wanted,
        zones=tuple(fabrics),
        slopes=by_mass,
        rest=max(sd**2 - float(now), 0.0),
        yardstick=PRICE_YARDSTICK * price.value,
    )


def _log_sd(figure: Figure) -> float:
    return math.log(figure.high / figure.low) / (2 * NINE_IN_TEN_SD)


def _grams_by_cloth(study: StyleStudy, fabrics: Mapping[str, Fabric]) -> dict[str, float]:
    """Grams of each cloth in a mean piece."""
    named = {cloth_of_fabric(fabric): zone for zone, fabric in fabrics.items()}
    grams = dict.fromkeys(fabrics, 0.0)
    for size in study.sizes:
        for panel in size.panels:
            for part in panel.yarn:
                zone = named[cloth_of_fabric(study.fabrics[part.zone])]
                grams[zone] += study.shares[size.size] * panel.plan.pieces * part.grams
    return grams


def _price_slope(price: Figure, yarn: str) -> float:
    """Price per kilogram issued, from the part of the variance that the kilograms carry."""
    for each in price.why.inputs:
        if each.symbol == kg_key(yarn) and each.figure.spread > 0:
            return math.sqrt(each.share) * price.spread / each.figure.spread
    return 0.0


def _issued_over_grams(study: StyleStudy, yarn: str) -> float:
    """Kilograms issued for a kilogram in the panels."""
    assert study.pricing is not None
    issued = next(line.kg.value for line in study.pricing.inputs.piece.yarn_lines if line.name == yarn)
    in_panels = sum(study.shares[size.size] * size.grams_by_yarn[yarn].value for size in study.sizes) / 1000
    return issued / in_panels


def _width(study: StyleStudy) -> Goal | None:
    """The width of the body in the base size: needles over wales, so that its logarithm is that of the wales turned."""
    base, sizes = study.base, study.size_table
    if base is None or sizes is None or "body" not in study.fabrics:
        return None
    measure = next((name for name in WIDTHS if name in sizes.names), None)
    if measure is None:
        return None
    width_cm = sizes.value_cm(base.size, measure)
    return Goal(
        key="width",
        name=f"{measure.replace('_', ' ')} after washing",
        unit="cm",
        value=width_cm,
        wanted=(Wanted(cloth_of_fabric(study.fabrics["body"]), Quantity.WALES),),
        zones=("body",),
        slopes=np.array([-width_cm]),
        rest=0.0,
        yardstick=tolerance_cm(measure),
    )


WIDTHS = ("half_chest", "half_hip", "panel_width")  # the first that the garment has


def _lean(study: StyleStudy, drawer: Drawer) -> Goal | None:
    """The lean of the zone that is likeliest to pass the limit."""
    limit = table("loopwright.fabric", "spirality").by("quantity")["limit_percent"]["value"]
    goals = [_lean_of(zone, fabric, limit, drawer) for zone, fabric in distinct(study.fabrics).items()]
    return max(goals, key=lambda goal: goal.risk(goal.spread_of(drawer)) or 0.0, default=None)


def _lean_of(zone: str, fabric: Fabric, limit: float, drawer: Drawer) -> Goal:
    wanted = (Wanted(cloth_of_fabric(fabric), Quantity.LEAN),)
    return Goal(
        key="lean",
        name="lean after washing",
        unit="%",
        value=float(drawer.joint(wanted).mean[0]),
        wanted=wanted,
        zones=(zone,),
        slopes=np.ones(1),
        rest=0.0,
        yardstick=limit,
        limit=limit,
    )


def named_zones(zones: Sequence[str]) -> str:
    """ "Hem, cuff"."""
    words = ", ".join(zones)
    return f"{words[:1].upper()}{words[1:]}"
