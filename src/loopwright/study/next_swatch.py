"""Which swatch to knit next: `next_swatches(study) -> Advice`, ranked by what an hour of it makes surer.

In: `StyleStudy`, and a goal ("price", "lean", "width", or "" for the least known). Out: candidates (each cloth
of the garment at its loop length and 5 % to either side, washed or not, few or many readings) with the spread that each
would leave, in closed form, and the hours that it takes. The spread left does not depend on what will be read.
Not covered: what it costs in money, waiting times. Sources: house (tables `swatch_work`, `swatch_readings`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from loopwright.fabric.fabric import Fabric
from loopwright.figure import Basis, State, is_money, plain
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.study.drawer import own_observations
from loopwright.study.goals import Goal, cloth_of_fabric, distinct, goal_of, goals_of, named_zones
from loopwright.study.study import StyleStudy
from loopwright.swatch.learning.drawer import Drawer, Planned, learnt, reading_of
from loopwright.swatch.learning.levels import Cloth
from loopwright.swatch.observed import Observed, Quantity

LOOP_STEPS = (0.0, -0.05, 0.05)
READINGS = (5, 10)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A swatch to knit: its cloth, the zones made of it, whether it is washed, readings of each quantity, and hours."""

    zones: tuple[str, ...]
    cloth: Cloth
    is_washed: bool
    readings: int
    planned: tuple[Planned, ...]
    hours: float

    @property
    def words(self) -> str:
        """ "Hem, 2×1 rib, loop 5.60 mm, washed, 5 readings"."""
        washed = "washed" if self.is_washed else "unwashed"
        cloth = f"{self.cloth.structure.name}, loop {plain(self.cloth.loop_length_mm, 2)} mm"
        return f"{named_zones(self.zones)}, {cloth}, {washed}, {self.readings} readings"


@dataclass(frozen=True, slots=True)
class NextSwatch:
    """A candidate with the spread before and after it, and the part of the doubt that sits in its cloth."""

    candidate: Candidate
    before: float
    after: float
    share: float
    reason: str

    @property
    def gain(self) -> float:
        """By how much the spread falls."""
        return self.before - self.after

    @property
    def gain_per_hour(self) -> float:
        """The same for an hour of machine, wash and bench."""
        return self.gain / self.candidate.hours

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        cloth = self.candidate.cloth
        return {
            "zones": list(self.candidate.zones),
            "structure": cloth.structure.key,
            "structure_name": cloth.structure.name,
            "yarn": cloth.yarn.name,
            "loop_length_mm": cloth.loop_length_mm,
            "washed": self.candidate.is_washed,
            "readings": self.candidate.readings,
            "hours": self.candidate.hours,
            "spread_before": self.before,
            "spread_after": self.after,
            "spread_falls_by": self.gain,
            "spread_falls_by_per_hour": self.gain_per_hour,
            "share_of_doubt_in_this_cloth": self.share,
            "words": self.candidate.words,
            "reason": self.reason,
        }


@dataclass(frozen=True, slots=True, eq=False)
class Advice:
    """What to knit for: the goal, how sure it is, and the candidates, best hour first."""

    goal: Goal
    spread: float
    risk: float | None
    swatches: tuple[NextSwatch, ...]

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "for": self.goal.key,
            "name": self.goal.name,
            "unit": self.goal.unit,
            "value": self.goal.value,
            "spread": self.spread,
            "well_enough_at": self.goal.yardstick,
            "risk_over_limit": self.risk,
            "limit": self.goal.limit,
            "swatches": [each.as_dict() for each in self.swatches],
        }


def next_swatches(study: StyleStudy, wanted: str = "", outside: Sequence[Observed] = ()) -> Advice:
    """Swatches to knit next, the best hour first. `outside` are observations that the study was given.

    Raises:
        Problem: nothing of that name to knit for, or no cloth yet.
    """
    drawer = planning_drawer(study, outside)
    goal = goal_of(goals_of(study, drawer), wanted, drawer)
    if not study.fabrics:
        raise Problem("next swatch", "there is no cloth yet.", tries=["name a yarn"])
    candidates = tuple(candidates_of(study.fabrics))
    now = drawer.joint(goal.wanted).covariance
    before, shares = goal.spread(now), goal.shares(now)
    left = drawer.variance_after(goal.wanted, [each.planned for each in candidates])
    made = [
        _judged(goal, candidate, before, goal.spread(covariance), _share(shares, candidate))
        for candidate, covariance in zip(candidates, left, strict=True)
    ]
    return Advice(goal, before, goal.risk(before), tuple(sorted(made, key=lambda each: -each.gain_per_hour)))


def planning_drawer(study: StyleStudy, outside: Sequence[Observed] = ()) -> Drawer:
    """What is known before the next swatch: the drawer, and the counts of zones that name a swatch."""
    told = (*own_observations(study.style), *outside)
    return learnt((*told, *_named_counts(study, told)))


def _named_counts(study: StyleStudy, told: Sequence[Observed]) -> Iterator[Observed]:
    """Counts of the zones whose swatch is none of the drawer's, read as usual."""
    names = {each.swatch for each in told}
    for zone, fabric in distinct(study.fabrics).items():
        geometry = fabric.geometry
        learnt_here = study.making.cloth.learnt.get(zone)
        is_learnt = learnt_here is not None and learnt_here.known.geometry is not None
        is_told = is_learnt or geometry.wales_per_cm.why.source in names
        if geometry.wales_per_cm.basis is not Basis.MEASURED or is_told:
            continue
        cloth = cloth_of_fabric(fabric)
        for quantity, figure in ((Quantity.WALES, geometry.wales_per_cm), (Quantity.COURSES, geometry.courses_per_cm)):
            error = _scatter(quantity) / math.sqrt(READINGS[0]) * figure.value
            name = f"{zone}'s own swatch"
            yield Observed(
                name, cloth.structure, cloth.yarn, cloth.loop_length_mm, cloth.state, quantity, figure.value, error
            )


def candidates_of(fabrics: Mapping[str, Fabric]) -> Iterator[Candidate]:
    """Every swatch worth thinking of."""
    for zone, fabric in distinct(fabrics).items():
        own = cloth_of_fabric(fabric)
        zones = tuple(other for other, each in fabrics.items() if cloth_of_fabric(each) == own) or (zone,)
        for step in LOOP_STEPS:
            for is_washed in (True, False):
                for readings in READINGS:
                    cloth = replace(
                        own,
                        loop_length_mm=own.loop_length_mm * (1 + step),
                        state=own.state if is_washed else State.DRY_RELAXED,
                        swatch="the next swatch",
                    )
                    planned = planned_readings(cloth, readings, is_washed)
                    yield Candidate(zones, cloth, is_washed, readings, planned, hours_of(readings, is_washed))


def planned_readings(cloth: Cloth, readings: int, is_washed: bool) -> tuple[Planned, ...]:
    """Counts and mass, and the lean once it is washed; each so many times."""
    quantities = [Quantity.WALES, Quantity.COURSES, Quantity.MASS, *([Quantity.LEAN] if is_washed else [])]
    return tuple(reading_of(cloth, each, _scatter(each) / math.sqrt(readings)) for each in quantities)


def _scatter(quantity: Quantity) -> float:
    """Scatter of single readings: a part of the value, or points of a lean."""
    percent = table(__package__, "swatch_readings").by("quantity")[quantity.value]["scatter_percent"]
    return percent if quantity is Quantity.LEAN else percent / 100


def hours_of(readings: int, is_washed: bool) -> float:
    """Hours of machine, wash and bench."""
    minutes = {name: row["minutes"] for name, row in table(__package__, "swatch_work").by("work").items()}
    made = minutes["set_up"] + minutes["knit"] + readings * (minutes["count"] + minutes["weigh"])
    return (made + (minutes["wash"] + readings * minutes["lean"] if is_washed else 0.0)) / 60


def _share(shares: Mapping[str, float], candidate: Candidate) -> float:
    return sum(part for zone, part in shares.items() if zone in candidate.zones)


def _judged(goal: Goal, candidate: Candidate, before: float, after: float, share: float) -> NextSwatch:
    digits, unit = 2 if is_money(goal.unit) else 1, f" {goal.unit}"
    reason = (
        f"takes the spread of the {goal.name} from ± {plain(before, digits)} to ± {plain(after, digits)}{unit} "
        f"in {plain(candidate.hours, 1)} h"
    )
    reason += f"; {plain(100 * share, 0)} % of its doubt sits in this cloth"
    return NextSwatch(candidate, before, after, share, f"{candidate.words}: {reason}.")
