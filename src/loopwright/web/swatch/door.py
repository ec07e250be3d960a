"""The bench's own part of the JSON door: a reading into its place, a new sitting.

In: what was typed, at which place of which sitting. Out: what saving did, and the place with its running result. Each
reading is a change record of its own. A reading that is sent again, because its answer was lost, is known by its key
and kept once; readings of two windows at one place are both kept.
Not covered: what a reading becomes (`readings`), pictures (`photo_door`).
"""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import FastAPI, Request
from pydantic import Field

from loopwright.store.shelf import Shelf
from loopwright.store.values import Clash, Item, Saved
from loopwright.study.style import read_style
from loopwright.web.asked import Asked, Key, Number
from loopwright.web.house import House
from loopwright.web.swatch.measure import place_html
from loopwright.web.swatch.places import BY_NAME, taken_at
from loopwright.web.swatch.readings import new_sitting, reading_written, swatch_of
from loopwright.web.told import saved_dict

TRIES = 5  # two windows typing at one place: the later one goes behind the earlier
RECENT = 60  # changes among which a reading sent twice is looked for
SendKey = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9.-]+$")]


class Reading(Asked):
    """A reading as typed; `number` replaces the one that stands there; `key` names the sending."""

    sitting: Key
    place: Key
    typed: Annotated[str, Field(max_length=2000)]
    key: SendKey
    number: Annotated[int, Field(ge=1, le=10000)] | None = None


class NewSitting(Asked):
    """A new sitting: the state of the swatch and the washes behind it."""

    state: Key
    washes: Annotated[int, Field(ge=0, le=200)] = 0


def add_swatch_door(api: FastAPI, house: House) -> None:
    """Put the bench's ways into the application behind /api."""
    shelf, desk, who = house.shelf, house.desk, house.who

    @api.post("/items/{item_id}/readings")
    async def reading(item_id: Number, asked: Reading, request: Request) -> dict[str, Any]:
        """Save one reading at its place."""
        saved = await asyncio.to_thread(_keep, shelf, item_id, asked, who(request))
        desk.changed(item_id)
        return saved_dict(saved) | {"place": place_of(saved.item, asked.sitting, asked.place)}

    @api.post("/items/{item_id}/sittings", status_code=201)
    async def sitting(item_id: Number, asked: NewSitting, request: Request) -> dict[str, Any]:
        """Begin a new sitting."""
        saved, name = await asyncio.to_thread(_begin, shelf, item_id, asked, who(request))
        desk.changed(item_id)
        return saved_dict(saved) | {"sitting": name}


def place_of(item: Item, sitting: str, name: str) -> str:
    """HTML of a place as it now stands."""
    key, raw = swatch_of(item.document)
    spec = read_style(item.document).swatches[key].sittings[sitting]
    return place_html(taken_at(key, sitting, raw["sittings"][sitting], spec, BY_NAME[name]), may_edit=True)


def _keep(shelf: Shelf, item_id: int, asked: Reading, by: str) -> Saved:
    """Save a reading behind those that are there now.

    Raises:
        Problem: what was typed is no reading, or the place is not there.
        Clash: others typed at the same place again and again.
    """
    for left in reversed(range(TRIES)):
        item = shelf.load(item_id)
        if any(change.window == asked.key for change in shelf.history(item_id, limit=RECENT)):
            return Saved(item, None)
        written = reading_written(item.document, asked.sitting, asked.place, asked.typed, asked.number)
        try:
            return shelf.change(
                item_id, [written.edit], base_version=item.version, by=by, window=asked.key, label=written.label
            )
        except Clash:
            if not left:
                raise
    raise AssertionError("unreachable")


def _begin(shelf: Shelf, item_id: int, asked: NewSitting, by: str) -> tuple[Saved, str]:
    item = shelf.load(item_id)
    today = datetime.now(UTC).date().isoformat()
    name, edit = new_sitting(item.document, asked.state, asked.washes, on=today, by=by)
    label = f"New sitting {name}: {asked.state.replace('-', ' ')}"
    return shelf.change(item_id, [edit], base_version=item.version, by=by, label=label), name
