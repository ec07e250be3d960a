"""The brief: what the developer decided, as a ticket of trade facts beside the study."""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.figure import plain
from loopwright.garment.blocks import shape_words
from loopwright.garment.ease import fit_of_ease
from loopwright.study.study import StyleStudy

Pairs = tuple[tuple[str, str], ...]


def groups(study: StyleStudy) -> tuple[tuple[str, Pairs], ...]:
    """(group, (label, value) pairs) in reading order; groups with nothing to say are left out."""
    made = (
        ("Order", tuple(_order(study))),
        ("Yarn", tuple(_yarn(study))),
        ("Structure and gauge", tuple(_structure(study))),
        ("Garment", tuple(_garment(study))),
        ("Targets", tuple(_targets(study))),
    )
    return tuple((name, pairs) for name, pairs in made if pairs)


def _order(study: StyleStudy) -> Iterator[tuple[str, str]]:
    order, garment = study.style.order, study.style.garment
    if order is not None:
        yield "Pieces", plain(order.pieces, 0)
    if garment is not None:
        sizes = garment.sizes
        yield "Sizes", f"{sizes[0]}–{sizes[-1]}" if len(sizes) > 1 else sizes[0]
    if order is not None:
        if order.colours:
            yield "Colours", ", ".join(colour.name for colour in order.colours)
        if order.ship_date:
            yield "Ship", order.ship_date
        if order.terms:
            yield "Terms", order.terms


def _yarn(study: StyleStudy) -> Iterator[tuple[str, str]]:
    for key, yarn in study.yarns.items():
        ends = f", {yarn.ends} ends" if yarn.ends > 1 else ""
        yield yarn.name, f"{yarn.count.label}{ends}"
        yield "Fibre", yarn.blend.label
        price = study.style.yarns[key].price_per_kg
        if price is not None:
            yield "Price", f"{plain(price, 2)} {study.style.rates.get('currency', 'EUR')}/kg"


def _structure(study: StyleStudy) -> Iterator[tuple[str, str]]:
    for zone, fabric in study.fabrics.items():
        length = plain(fabric.geometry.loop_length_mm.value, 2)
        yield zone.capitalize(), f"{fabric.structure.name}, {length} mm"
    machine = study.style.machine
    if machine is not None:
        yield "Machine", f"E {machine.gauge:g}, {machine.bed_in:g} in, {machine.systems} systems"


def _garment(study: StyleStudy) -> Iterator[tuple[str, str]]:
    garment = study.style.garment
    if garment is None:
        return
    yield "Block", shape_words(garment.shape)
    yield "Worn by", garment.population
    if garment.chest_ease_cm is not None:
        yield "Ease on chest", f"{garment.chest_ease_cm:+g} cm, {fit_of_ease(garment.chest_ease_cm)}"
    elif garment.fit:
        yield "Fit", garment.fit
    yield "Making", study.style.construction.method


def _targets(study: StyleStudy) -> Iterator[tuple[str, str]]:
    targets, currency = study.style.targets, study.style.rates.get("currency", "EUR")
    if targets.price is not None:
        yield "Price", f"{plain(targets.price, 2)} {currency}"
    if targets.quoted_price is not None:
        yield "Quoted", f"{plain(targets.quoted_price, 2)} {currency}"
    if targets.minutes is not None:
        yield "Minutes", plain(targets.minutes, 1)
    if targets.piece_mass_g is not None:
        yield "Mass", f"{plain(targets.piece_mass_g, 0)} g"
