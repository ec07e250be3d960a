"""What a season asks of the person: lots under the least dye lot, styles that stop, gaps, money that cannot be added.

In: rows, gauges and lots. Out: findings in order of consequence. Findings of one style stay with its study.
Sources: common_practice; production reference 7.6.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from loopwright.figure import plain
from loopwright.problems import Collector, Finding, Sign
from loopwright.season.hours import GaugeHours
from loopwright.season.lots import Lot, Standing, least_of_a_stock_colour
from loopwright.season.rows import StyleRow, labels_of


def season_findings(rows: Sequence[StyleRow], gauges: Sequence[GaugeHours], lots: Sequence[Lot]) -> tuple[Finding, ...]:
    """Findings of the season in order of consequence."""
    labels = labels_of(rows)
    collector = Collector()
    collector.add(finding for row in rows for finding in _of_row(row, labels[row.key]))
    collector.add(finding for lot in lots for finding in _of_lot(lot, lots, labels))
    collector.add(_unnamed_colours(lots, labels))
    collector.add(_undated(gauges, labels))
    collector.add(_currencies(rows))
    return collector.in_order()


def _of_row(row: StyleRow, label: str) -> Iterator[Finding]:
    stops = row.counts[Sign.STOPS]
    if row.misses:
        sentence = f"{label} has not named {' and '.join(row.misses)}; it is in no sum that needs it."
        yield Finding(Sign.KNOW, label, sentence, ("open the style and add it",), weight=0.4)
    if row.refused or (not row.misses and (row.price is None or stops)):
        first = row.next.sentence if row.next and stops else "It has no price."
        also = "It is in no sum of money or yarn" if row.price is None else "It is in the sums as far as it goes"
        yield Finding(Sign.STOPS, label, f"{first} {also}.", row.next.tries if row.next else (), weight=1.0)


def _of_lot(lot: Lot, lots: Sequence[Lot], labels: dict[str, str]) -> Iterator[Finding]:
    where, least = f"{lot.yarn}, {lot.colour}", lot.least_kg
    together = _listed([labels[key] for key, _ in lot.parts])
    weighs = f"{plain(lot.kg.value, 0)} kg"
    if lot.standing is Standing.SHORT:
        sentence = f"{weighs} for {together}; a dye lot is usually {plain(least.value, 0)} kg or more ({_ends(lot)})."
        share = lot.short_kg / least.value
        consequence = f"−{plain(lot.short_kg, 0)} kg"
        yield Finding(Sign.DECIDE, where, sentence, tuple(_tries(lot, lots)), consequence, share, least.why.source)
    elif lot.is_lifted:
        parts = _listed([f"{plain(figure.value, 0)} kg of {labels[key]}" for key, figure in lot.parts])
        sentence = (
            f"{parts} are bought together: {weighs}, over a dye lot of {plain(least.value, 0)} that none fills alone."
        )
        yield Finding(Sign.HOLDS, where, sentence, weight=0.5, source=least.why.source)
    if lot.standing is Standing.SOME:
        sentence = f"{weighs} for {together}; some dyers take {plain(least.high, 0)} kg or more in one colour."
        yield Finding(Sign.KNOW, where, sentence, ("ask the dyer for the least lot",), "", 0.2, least.why.source)


def _listed(names: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _ends(lot: Lot) -> str:
    return f"{plain(lot.least_kg.low, 0)} to {plain(lot.least_kg.high, 0)}"


def _tries(lot: Lot, lots: Sequence[Lot]) -> Iterator[str]:
    """What brings a lot over the least, with what each would come to."""
    same = [other for other in lots if other is not lot and _is_same_yarn(other, lot)]
    for other in sorted(same, key=lambda each: -each.kg.value)[:1]:
        yield f"one colour with {other.colour}: {plain(lot.kg.value + other.kg.value, 0)} kg together"
    if lot.kg.value > 0:
        more = math.ceil(lot.pieces * lot.short_kg / lot.kg.value)
        if more <= MOST_MORE * lot.pieces:
            yield f"{plain(more, 0)} pieces more in this colour"
    stock = least_of_a_stock_colour()
    yield f"a stock colour of the spinner, sold from about {plain(stock.value, 0)} kg"
    yield "the dyer's surcharge, typed as rates.dye_lot_surcharge"


MOST_MORE = 1.0  # times the pieces: to ask for more than that again is no advice


def _is_same_yarn(one: Lot, other: Lot) -> bool:
    return (one.yarn, one.count, one.fibre) == (other.yarn, other.count, other.fibre)


def _unnamed_colours(lots: Sequence[Lot], labels: dict[str, str]) -> Iterator[Finding]:
    """Styles in one yarn of which some name no colour: they might be one lot."""
    open_lots = [lot for lot in lots if not lot.is_named]
    for lot in open_lots:
        others = [other for other in lots if other is not lot and _is_same_yarn(other, lot)]
        if others:
            label = labels[lot.parts[0][0]]
            sentence = f"{label} names no colour, so its {lot.yarn} is bought apart from that of other styles."
            yield Finding(Sign.KNOW, f"{lot.yarn}, colour", sentence, ("name the colour in its order",), weight=0.3)


def _undated(gauges: Sequence[GaugeHours], labels: dict[str, str]) -> Iterator[Finding]:
    for gauge in gauges:
        if gauge.undated:
            names = ", ".join(labels[key] for key in gauge.undated)
            sentence = f"{names} says no days for its knitting: its hours are added, machines are not counted for it."
            tries = ("order.knitting_days = 15",)
            yield Finding(Sign.KNOW, f"{gauge.gauge:g} gauge", sentence, tries, weight=0.2)


def _currencies(rows: Sequence[StyleRow]) -> Iterator[Finding]:
    found = dict.fromkeys(row.currency for row in rows if row.currency)
    if len(found) > 1:
        sentence = (
            f"Prices are in {' and '.join(found)}; each is added by itself, for no rate of exchange is known here."
        )
        yield Finding(Sign.KNOW, "money", sentence, ("give all rates in one currency",), weight=0.3)
