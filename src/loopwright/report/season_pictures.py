"""The pictures of a season, from its finished values to bars: machine hours by gauge, yarn by lot.

In: a `Season`. Out: SVG texts by name, and the words that the pictures share with the tables.
"""

from __future__ import annotations

from loopwright.draw.season import Bar, hours_picture, yarn_picture
from loopwright.figure import plain, shown
from loopwright.season.hours import GaugeHours
from loopwright.season.lots import Lot, Standing
from loopwright.season.season import Season


def season_pictures(season: Season) -> dict[str, str]:
    """The pictures of a season by name; one that has nothing to show is left out."""
    pictures, styles = {}, list(season.labels.values())
    if any(gauge.hours.value > 0 for gauge in season.gauges):
        pictures["season-hours"] = hours_picture([_hours_bar(gauge, season) for gauge in season.gauges], styles)
    if season.lots:
        bars = [_lot_bar(lot, season) for lot in season.lots]
        pictures["season-yarn"] = yarn_picture(bars, styles, season.lots[0].least_kg)
    return pictures


def _hours_bar(gauge: GaugeHours, season: Season) -> Bar:
    labels = season.labels
    days = f" in {gauge.days_given:g} days" if gauge.days_given else " in the styles' days"
    return Bar(
        label=gauge_words(gauge.gauge),
        under=f"{shown(gauge.days)} days of one machine",
        parts=tuple((labels[key], figure.value) for key, figure in gauge.parts),
        total=gauge.hours,
        said=machine_words(gauge) or "days not said",
        limit=gauge.one_machine_hours,
        limit_words=f"one machine{days}",
    )


def _lot_bar(lot: Lot, season: Season) -> Bar:
    labels = season.labels
    short = f"{plain(lot.short_kg, 0)} kg short"
    return Bar(
        label=lot.yarn,
        under=colour_words(lot),
        parts=tuple((labels[key], figure.value) for key, figure in lot.parts),
        total=lot.kg,
        said=short if lot.standing is Standing.SHORT else "",
    )


def gauge_words(gauge: float) -> str:
    """A gauge as it is called."""
    return f"{gauge:g} gauge"


def machine_words(gauge: GaugeHours) -> str:
    """Machines of a gauge in whole numbers; nothing when no style says its days."""
    if gauge.machines is None:
        return ""
    return f"{gauge.machines.whole} machine{'s' * (gauge.machines.whole != 1)}"


def colour_words(lot: Lot) -> str:
    """The colour of a lot, or that its style names none."""
    return lot.colour if lot.is_named else "colour not named"
