"""How each block is planned, one file each, found by itself: `BLOCKS` names the blocks it plans, `plan` plans one size.

In: measures, densities, rules. Out: `GarmentPlan`.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from types import MappingProxyType

from loopwright.garment.measures import Measures
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules

Planner = Callable[[Measures, ZoneGauges, ShapingRules, str, bool], GarmentPlan]


@cache
def planners() -> Mapping[str, Planner]:
    """The planner of every block."""
    found: dict[str, Planner] = {}
    for module in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        made = import_module(f"{__name__}.{module}")
        found |= dict.fromkeys(made.BLOCKS, made.plan)
    return MappingProxyType(found)


def plan_garment(
    measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, *, band_is_doubled: bool = True
) -> GarmentPlan:
    """Plan every panel of one size.

    Raises:
        Problem: a panel cannot be made; the message says which, with both numbers and what to try.
    """
    return planners()[measures.shape.block](measures, gauges, rules, size, band_is_doubled)
