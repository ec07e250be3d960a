"""Carriers of stripes: where they should wait before the first course, when that saves traverses.

In: `StyleStudy`, a worked size. Out: `Parking` by zone. Stripes are the feeds of the structure's repeat in their order,
as often as the zone's longest panel has them. Main assumption: a feed of the repeat is laid as a course of a stripe.
Not covered: the order of the stripes, which is the design's. Source: production reference 4.2.
"""

from __future__ import annotations

from itertools import groupby

from loopwright.fabric.fabric import Fabric
from loopwright.machine.parking import Parking, Stripes, best_parking
from loopwright.study.knitting import SizeStudy
from loopwright.study.study import StyleStudy

MOST_FEEDS = 600  # feeds of one panel that are searched; more repeats save in the same proportion
MOST_YARNS = 8


def parking_of(study: StyleStudy, size: SizeStudy) -> dict[str, Parking]:
    """The best start of the carriers by zone, where it needs fewer traverses than one side."""
    if study.machine is None:
        return {}
    courses: dict[str, int] = {}
    for panel in size.panels:
        if panel.plan.courses:
            courses[panel.plan.zone] = max(courses.get(panel.plan.zone, 0), panel.plan.courses)
    found = {}
    for zone, knitted in courses.items():
        stripes = stripes_of(study.fabrics[zone])
        if not 1 < len({yarn for yarn, _ in stripes}) <= MOST_YARNS:
            continue
        feeds = sum(count for _, count in stripes)
        asked = round(knitted * study.fabrics[zone].structure.anatomy.passes_per_course)
        repeats = max(1, min(asked, MOST_FEEDS) // feeds)
        parked = best_parking(stripes, repeats=repeats, systems=study.machine.systems)
        if parked.saved:
            found[zone] = parked
    return found


def stripes_of(fabric: Fabric) -> Stripes:
    """The feeds of a repeat as stripes: each yarn with the feeds it lays in a row."""
    yarns = [feed.yarn for feed in fabric.structure.notation.feeds]
    return tuple((yarn, len(list(feeds))) for yarn, feeds in groupby(yarns))
