"""Readings put into a sitting one by one, as edits of the style document, and a new sitting.

In: the document of a swatch, a place, what was typed. Out: the edit with its label. A reading goes behind those that
are there, whoever typed them; with its number it takes the place of one, and emptied it goes. A pair may be typed with
a space between. Not covered: saving (`door`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from loopwright.problems import Problem
from loopwright.store.document import value_at
from loopwright.store.values import Document, Edit, Path
from loopwright.study.swatch_parts import MOST_READINGS
from loopwright.web.fields import Field, Kind, text_of, value_typed
from loopwright.web.swatch.places import BY_NAME, Place, field_of, is_list

SHORT = {
    "off-machine": "off",
    "dry-relaxed": "dry",
    "wet-relaxed": "wet",
    "fully-relaxed": "relaxed",
    "finished": "finished",
}


@dataclass(frozen=True, slots=True)
class Written:
    """An edit and what undo will call it."""

    edit: Edit
    label: str


def swatch_of(document: Document) -> tuple[str, Mapping[str, Any]]:
    """The one swatch of a document of the shelf, by its key.

    Raises:
        Problem: it holds none with sittings.
    """
    swatches = document.get("swatches") or {}
    if len(swatches) != 1:
        raise Problem("swatch", "this is no swatch with sittings.", tries=["a new swatch on the shelf"])
    return next(iter(swatches.items()))


def path_of(document: Document, sitting: str, *rest: str) -> Path:
    """The path of something in a sitting.

    Raises:
        Problem: there is no such sitting.
    """
    key, swatch = swatch_of(document)
    sittings = swatch.get("sittings") or {}
    if sitting not in sittings:
        known = ", ".join(sittings) or "none yet"
        raise Problem("sitting", f"“{sitting[:60]}” is no sitting of this swatch.", limit=f"sittings here: {known}")
    return ("swatches", key, "sittings", sitting, *rest)


def reading_written(document: Document, sitting: str, name: str, typed: str, number: int | None) -> Written:
    """The edit that puts a reading into its place; `number` counts from 1 and replaces.

    Raises:
        Problem: no such sitting or place, or no reading in what was typed.
    """
    place = BY_NAME.get(name)
    if place is None:
        raise Problem("place", f"“{name[:60]}” is no place to measure.", limit=", ".join(BY_NAME))
    path = path_of(document, sitting, *place.path)
    field = field_of(path[1], sitting, place)
    if not is_list(field):
        value = value_typed(path, typed)
        return Written(Edit(path, value), f"{place_words(place)}: {text_of(value) or 'left out'}")
    before = value_at(document, path)
    readings = before if isinstance(before, list) else [] if before is None else [before]
    return _in_list(place, path, readings, _readings(path, field, typed), number)


def _readings(path: Path, field: Field, typed: str) -> list[Any]:
    """The readings in a line; two numbers with a space between are a pair where pairs are read."""
    if field.kind is Kind.PAIRS:
        typed = re.sub(r"(?<=\d)\s+(?=[-−+]?\d)", " × ", typed.strip())
    value = value_typed(path, typed)
    return value if isinstance(value, list) else []


def _in_list(place: Place, path: Path, before: list[Any], new: list[Any], number: int | None) -> Written:
    if number is None:
        if not new:
            raise Problem(place_words(place), "nothing was typed.", tries=["65", "65 1/2"])
        after, at = [*before, *new], len(before) + 1
    else:
        if not 1 <= number <= len(before):
            raise Problem(place_words(place), f"there is no reading {number} any more.", tries=["type it as a new one"])
        after, at = [*before[: number - 1], *new, *before[number:]], number
    if len(after) > MOST_READINGS:
        raise Problem(place_words(place), "there are more readings than a place holds.", limit=f"{MOST_READINGS}")
    said = text_of(new) if new else "taken out"
    return Written(Edit(path, after or None), f"{place_words(place)}, reading {at}: {said}")


def place_words(place: Place) -> str:
    """A place in a label."""
    return place.asks.partition(" in {")[0]


def new_sitting(document: Document, state: str, washes: int, *, on: str, by: str) -> tuple[str, Edit]:
    """A name for a new sitting, and the edit that begins it; it takes over what seldom changes from the last one.

    Raises:
        Problem: no swatch with sittings, or no such state.
    """
    key, swatch = swatch_of(document)
    if state not in SHORT:
        raise Problem("state", f"“{state[:60]}” is no state of a swatch.", limit=", ".join(SHORT))
    sittings = swatch.get("sittings") or {}
    name = stem = f"washed-{washes}" if washes else SHORT[state]
    number = 2
    while name in sittings:
        name, number = f"{stem}-{number}", number + 1
    last: Mapping[str, Any] = next(reversed(sittings.values()), {}) if sittings else {}
    kept = {each: last[each] for each in ("count_over_cm", "side") if each in last}
    sitting = {"state": state, "washes": washes, "on": on, "by": by, **kept}
    return name, Edit(("swatches", key, "sittings", name), sitting)
