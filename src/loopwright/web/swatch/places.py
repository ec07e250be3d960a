"""Where a person measures on a swatch, in the order of the work with a ruler, and what each place has so far.

In: the document's sitting and its checked values. Out: places with their question, unit, readings and running result.
Assumption: a mean is said with the spread of nine in ten that travels on (`swatch.statistics`), never from the readings
alone while they are few. Not covered: saving (`readings`), the form (`measure`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.figure import plain
from loopwright.store.document import value_at
from loopwright.store.values import Path
from loopwright.study.swatch_parts import SittingSpec
from loopwright.swatch.lean import from_diagonals, from_offsets
from loopwright.swatch.statistics import WANTED_ERROR_PERCENT, summary, usual_spread
from loopwright.web.fields import Field, Kind, field_at, text_of


@dataclass(frozen=True, slots=True)
class Place:
    """One place to measure: its path under the sitting, what is asked, and whose usual spread its readings have."""

    name: str
    asks: str
    spread: str = ""
    is_count: bool = False

    @property
    def path(self) -> Path:
        """Its path under the sitting."""
        return tuple(self.name.split("."))


PLACES: tuple[Place, ...] = (
    Place("wales", "Wales in {over} cm", "wales_per_cm", is_count=True),
    Place("courses", "Courses in {over} cm", "courses_per_cm", is_count=True),
    Place("width_cm", "Width", "size_cm"),
    Place("length_cm", "Length", "size_cm"),
    Place("mass_g", "Weight", "mass_g_per_m2"),
    Place("thickness_mm", "Thickness", "thickness_mm"),
    Place("unroved.loops", "Loops of an unroved course"),
    Place("unroved.lengths_mm", "Its yarn, straightened", "loop_length_mm"),
    Place("marks_width_mm", "Between the marks, across", "size_cm"),
    Place("marks_length_mm", "Between the marks, along", "size_cm"),
    Place("mark_offset_mm", "Offset of a wale, over its height"),
    Place("diagonals_mm", "Diagonals of the marked square"),
    Place("lean_deg", "Lean"),
)
BY_NAME: Mapping[str, Place] = {place.name: place for place in PLACES}


@dataclass(frozen=True, slots=True)
class Taken:
    """What a place has so far: the readings as typed, the running result, and how many more are wanted."""

    place: Place
    field: Field
    asks: str
    readings: tuple[str, ...]
    result: str
    wanted: str


def field_of(swatch: str, sitting: str, place: Place) -> Field:
    """The field of a place in the document."""
    field = field_at(("swatches", swatch, "sittings", sitting, *place.path))
    assert field is not None, place.name
    return field


def is_list(field: Field) -> bool:
    """Whether a place takes several readings."""
    return field.kind in (Kind.READINGS, Kind.PAIRS)


def taken_at(swatch: str, sitting: str, raw: Mapping[str, Any], spec: SittingSpec, place: Place) -> Taken:
    """What a place has so far."""
    field = field_of(swatch, sitting, place)
    typed = value_at(dict(raw), place.path)
    several = typed if isinstance(typed, list) else [] if typed is None else [typed]
    said = tuple(text_of([each]) if isinstance(each, list) else text_of(each) for each in several)
    asks = place.asks.format(over=text_of(spec.count_over_cm))
    result, wanted = _running(place, spec) if several and is_list(field) else ("", "")
    return Taken(place, field, asks, said, result, wanted)


def _running(place: Place, spec: SittingSpec) -> tuple[str, str]:
    """Mean ± spread in the unit typed, and how many readings are wanted."""
    if place.name == "mark_offset_mm":
        return _lean(from_offsets(_pairs(spec.mark_offset_mm), spec.side)), ""
    if place.name == "diagonals_mm":
        return _lean(from_diagonals(_pairs(spec.diagonals_mm), spec.side)), ""
    values = _values(place, spec)
    if not values:
        return "", ""
    if not place.spread:
        return f"mean {plain(sum(values) / len(values), 1)}", ""
    return _mean(place, values, spec.count_over_cm)


def _pairs(pairs: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((first, second) for first, second in pairs)


def _lean(percents: Sequence[float]) -> str:
    return f"lean {plain(sum(percents) / len(percents), 1)} %" if percents else ""


def _values(place: Place, spec: SittingSpec) -> list[float]:
    found: Any = spec
    for key in place.path:
        found = getattr(found, key, None)
    return [float(each) for each in found] if isinstance(found, list) else []


def _mean(place: Place, values: Sequence[float], over_cm: float) -> tuple[str, str]:
    """The mean with nine in ten, and the readings that would bring it within two per cent."""
    scale = over_cm if place.is_count else 1.0
    scaled = [value / scale for value in values]
    found = summary(scaled, usual_spread(place.spread, sum(scaled) / len(scaled)))
    result = with_spread(found.mean * scale, found.estimate.half_90 * scale)
    if not place.is_count or found.needed is None:
        return result, ""
    more = max(0, found.needed - found.n)
    return result, f"{f'{more} more' if more else 'enough'} for ± {WANTED_ERROR_PERCENT:g} %"


def with_spread(value: float, half: float) -> str:
    """A count with its half width, to two places of the spread at most.

    >>> with_spread(65.42, 0.38), with_spread(14.821, 0.04)
    ('65.4 ± 0.4', '14.82 ± 0.04')
    """
    digits = 0 if half >= 10 else 1 if half >= 0.1 else 2
    return f"{plain(value, digits)} ± {plain(half, digits)}"
