"""Hosiery: seconds and minutes to knit a leg, zone by zone, on a small cylinder.

In: zones with courses, feeds at work and turns a minute; seconds for the changes between them. Out: seconds, and
minutes of a leg or of a pair as a figure with spread; `Cylinder` refuses what it cannot turn.
Main assumption: each feed at work lays one course in each turn; changes (yarns, cams, pressing off) are told as one
sum of seconds. Not covered: toe closing and making up (`makeup`). Sources: common_practice; production reference 4.7.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loopwright.figure import Figure, Term, exact, linear
from loopwright.machine.circular import rows_per_minute
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.units import SECONDS_PER_MINUTE


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch of a leg: welt, leg, heel, foot, toe.

    Raises:
        Problem: courses below 0, or no feed or turn at work.
    """

    name: str
    courses: int
    feeds: int
    rpm: float

    def __post_init__(self) -> None:
        if self.courses < 0 or self.feeds < 1 or not self.rpm > 0:
            raise Problem(
                f"hosiery, {self.name}",
                f"{self.courses} courses by {self.feeds} feeds at {self.rpm:g} turns a minute cannot be knitted.",
                tries=["at least 1 feed and some turns", "leave the zone out"],
            )

    @property
    def seconds(self) -> float:
        """Seconds of the zone: 60·courses/(F·rpm)."""
        rows = rows_per_minute(feeds=self.feeds, turns_per_min=self.rpm, running_share=1)
        return SECONDS_PER_MINUTE * self.courses / rows


def leg_seconds(zones: Sequence[Zone], *, change_s: float) -> float:
    """Running seconds of one leg: Σ 60·courses/(F·rpm) + changes.

    >>> leg = [Zone("welt", 120, 2, 300), Zone("leg", 2300, 4, 900), Zone("toe", 60, 2, 300)]
    >>> round(leg_seconds(leg, change_s=15), 1)    # P-43
    71.3
    """
    return sum(zone.seconds for zone in zones) + change_s


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A hosiery cylinder: needles on its way round, feeds, and the most turns a minute."""

    name: str
    diameter_in: float
    needles: int
    feeds: int
    most_rpm: float

    @property
    def gauge(self) -> float:
        """Needles per inch of the way round."""
        return hosiery_gauge(needles=self.needles, diameter_in=self.diameter_in)

    def check(self, zones: Sequence[Zone]) -> None:
        """Refuse zones that ask for more feeds or turns than the cylinder has.

        Raises:
            Problem: with both numbers.
        """
        for zone in zones:
            if zone.feeds > self.feeds or zone.rpm > self.most_rpm:
                raise Problem(
                    f"hosiery, {zone.name}",
                    f"{zone.feeds} feeds at {zone.rpm:g} turns a minute on “{self.name}”.",
                    limit=f"{self.feeds} feeds, {self.most_rpm:g} turns a minute",
                    tries=["fewer feeds or turns in this zone"],
                )


def hosiery_gauge(*, needles: int, diameter_in: float) -> float:
    """Gauge of a cylinder from its needles: N/(π·D) needles per inch.

    >>> round(hosiery_gauge(needles=400, diameter_in=4), 1)    # F-18
    31.8
    """
    return needles / (math.pi * diameter_in)


def leg_minutes(zones: Sequence[Zone], *, change_s: float | None = None, legs: int = 1) -> Figure:
    """Minutes of one or more legs with stops; changes left out take the usual seconds.

    The spread is that of the pace (one for all zones), the changes and the running share.

    Raises:
        Problem: no zones.
    """
    if not zones:
        raise Problem("hosiery", "0 zones; a leg has at least 1.", tries=["welt, leg, toe"])
    usual = table(__package__, "hosiery_settings").by("quantity")
    change = usual["changes"].figure("changes", "value", "s", words="between zones, and pressing off")
    if change_s is not None:
        change = exact("changes", change_s, "s", words="given")
    pace = usual["pace"].figure("pace reached", "value", "", words="share of the turns given that the leg really runs")
    share = usual["running_share"].figure("running share of the time", "value", "", words="stops and mending taken off")
    turning_s = leg_seconds(zones, change_s=0)
    scale = legs / (SECONDS_PER_MINUTE * share.value)
    value = (turning_s / pace.value + change.value) * scale
    terms = [
        Term("t_c", change, scale),
        Term("pace", pace, -turning_s / pace.value**2 * scale),
        Term("η", share, -value / share.value),
    ]
    name = "knitting of a leg" if legs == 1 else f"knitting of {legs} legs"
    words = "courses of every zone over feeds and turns, and the changes, over the running share"
    return linear(name, value, "min", terms, words=words, formula="(Σ courses/(F·rpm) + t_c)/η")
