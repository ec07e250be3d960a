"""Remarks for the margin: what a reader of a section asks next, each generated from the study.

In: `StyleStudy`, the size on show. Out: notes. No arithmetic of the trade happens here beyond a share or a difference
of two finished values.
"""

from __future__ import annotations

from loopwright.figure import Basis, Figure, plain
from loopwright.garment.measures import tolerance_cm, words_of
from loopwright.report import tables
from loopwright.report.blocks import Note
from loopwright.shaping.panel import Work
from loopwright.study.carriers import parking_of
from loopwright.study.checks import chance_words, linking_dial
from loopwright.study.knitting import SizeStudy
from loopwright.study.pricing import Pricing
from loopwright.study.study import StyleStudy

Notes = tuple[Note, ...]


def fabric_notes(study: StyleStudy) -> Notes:
    """Which swatch is behind the fabric, or that there is none and what one would settle."""
    made = []
    for zones, fabric in tables.distinct_fabrics(study.fabrics).items():
        swatch = study.style.zones[name].counts if (name := zones.partition(",")[0]) in study.style.zones else None
        if swatch is not None:
            made.append(Note(tables.capital(swatch.name), f"Counted {swatch.state}, used for {zones}."))
        else:
            width = fabric.geometry.wales_per_cm
            text = f"No swatch of {zones} yet: its width is known as {width.text()}, {width.basis.value}."
            made.append(Note(f"Knit next: {fabric.structure.name}", text))
    return tuple(made)


def size_notes(study: StyleStudy) -> Notes:
    """Cells set by hand beside what the grade would say, and why tolerances matter."""
    table = study.size_table
    if table is None:
        return ()
    made = []
    for name in table.names:
        cells = [size for size in table.sizes if table.is_hand_set(size, name)]
        if cells:
            said = ", ".join(f"{plain(table.value_cm(size, name), 1)} in {size}" for size in cells)
            made.append(Note(words_of(name), f"Set by hand: {said}. The grade leaves these cells alone."))
    first = table.names[1]
    of_it = f"{words_of(first)} ± {tolerance_cm(first):g} cm"
    made.append(Note("Tolerance", f"{of_it}; every point carries its own in the second column."))
    return tuple(made)


def panel_notes(study: StyleStudy, size: SizeStudy) -> Notes:
    """How the seams close, what rounding did, how full the bed is."""
    made = [Note("Closes", tables.closing_line(size))] if size.plan.facts else []
    real, wanted = size.plan.real_cm, size.plan.measures.by_name
    said = " ".join(
        f"{words_of(name).partition(',')[0]} {plain(real[name], 1)} cm, wanted {plain(wanted[name], 1)}."
        for name in [each for each in real if each in wanted][:2]
    )
    made.append(Note("Real against wanted", f"{said} Whole needles and courses cost the difference."))
    if compared := tables.exact_line(size):
        made.append(Note("Exact against two-rate", f"{tables.capital(compared)}."))
    if study.machine is not None:
        widest = max(size.panels, key=lambda panel: panel.plan.widest).plan
        made.append(Note("Bed", f"{widest.name.capitalize()} {widest.widest} of {study.machine.needles} needles."))
    return tuple(made)


def minute_notes(study: StyleStudy, size: SizeStudy) -> Notes:
    """Where the time goes, and what the order asks of machines."""
    timed = [(panel.plan, panel.timeline) for panel in size.panels if panel.timeline is not None]
    total = sum(plan.pieces * timeline.total_s for plan, timeline in timed)
    narrowing = sum(plan.pieces * timeline.seconds_by_kind().get(Work.NARROWING, 0.0) for plan, timeline in timed)
    made = []
    if narrowing:
        share = plain(100 * narrowing / total, 0)
        said = f"Narrowing takes {plain(narrowing, 0)} of {plain(total, 0)} seconds: {share} %."
        made.append(Note("Where it goes", said))
    made += [Note("The order", line) for line in tables.order_lines(study)]
    made += [Note("Carriers", line) for line in tables.carrier_lines(study)]
    made += [
        Note("Parking", f"{zone.capitalize()}: {parked.words}") for zone, parked in parking_of(study, size).items()
    ]
    return tuple(made)


def makeup_notes(study: StyleStudy, size: SizeStudy) -> Notes:
    """What to ask the factory first, and the dial."""
    loose = [each for each in size.makeup.seams if each.minutes.basis in (Basis.COMMON_PRACTICE, Basis.ASSUMED)]
    made = []
    if loose:
        first = max(loose, key=lambda each: each.minutes.spread)
        said = f"Minutes of the {first.seam.name}: {first.minutes.text()}, {first.minutes.basis.value}."
        made.append(Note("Ask first", said))
    dial = linking_dial(study.style)
    if dial:
        made.append(Note("Dial", f"{dial:g} points per inch take the loops of this gauge."))
    return tuple(made)


def price_notes(study: StyleStudy, pricing: Pricing) -> Notes:
    """Target, quote and rates."""
    targets, made = study.style.targets, []
    chance = pricing.drawn.fob.chance
    if targets.price is not None and chance is not None:
        tail = f" {pricing.meets_target.words}" if pricing.meets_target else ""
        title = f"Target {plain(targets.price, 2)}"
        made.append(Note(title, f"Met in {chance_words(chance)}.{tail}"))
    if targets.quoted_price is not None:
        gap = targets.quoted_price - pricing.sheet.fob.figure.value
        side = "above" if gap > 0 else "below"
        said = f"{plain(abs(gap), 2)} {pricing.sheet.currency} {side} our reading; the findings say what to ask."
        made.append(Note(f"Asked {plain(targets.quoted_price, 2)}", said))
    landed = pricing.sheet.landed.figure
    made.append(Note("Landed", f"{landed.text()} a piece at the buyer's door, without value added tax."))
    made.append(Note("Rates", "Rates that you did not give are an invented example; type over them in the brief."))
    return tuple(made)


def known_as(figures: list[Figure]) -> str:
    """ "4 measured · 2 published": how many values of each kind stand in a section."""
    counts = {basis: sum(figure.basis is basis for figure in figures) for basis in Basis}
    return " · ".join(f"{count} {basis.value}" for basis, count in counts.items() if count and basis.letter)
