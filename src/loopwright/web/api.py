"""The JSON door of the workroom: what the page asks for and sends, open to a person's own programs as well.

Each endpoint checks, calls the shelf or the desk once, and answers with values. What a person can mend comes back as
`{"problem": {where, what, limit, tries}}` with status 422, a clash of two windows with status 409 and both values.
Not covered: who may come in (`guard`, `sign_in`).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse
from pydantic import Field

from loopwright import __version__
from loopwright.draw.strokes import strokes_picture
from loopwright.problems import Problem
from loopwright.report.files import study_json, study_page, timed_rows
from loopwright.report.sheet import shown_size
from loopwright.store.shelf import Shelf
from loopwright.store.values import Clash, Kind, Saved
from loopwright.web.asked import (
    Edits,
    FirstStyle,
    Key,
    New,
    Number,
    Place,
    Second,
    VersionOf,
    edits_of,
    label_for,
    said_once,
)
from loopwright.web.comparing import add_compare_door
from loopwright.web.desk import Desk
from loopwright.web.handing.door import add_issue_door
from loopwright.web.house import House
from loopwright.web.loop.door import add_loop_door
from loopwright.web.pack_door import add_pack_door
from loopwright.web.size_door import add_size_door
from loopwright.web.start import demo_documents, first_style
from loopwright.web.swatch.door import add_swatch_door
from loopwright.web.swatch.next_door import add_next_door
from loopwright.web.swatch.photo_door import add_photo_door
from loopwright.web.swatch.pieces_door import add_pieces_door
from loopwright.web.told import (
    REFUSALS,
    Drawing,
    Packed,
    Toml,
    change_dict,
    clash_told,
    item_dict,
    line_dict,
    not_understood_told,
    problem_told,
    saved_dict,
    step_dicts,
)


def api_of(house: House) -> FastAPI:
    """The application behind /api."""
    shelf, desk, who = house.shelf, house.desk, house.who
    api = FastAPI(title="Loopwright workroom", version=__version__, docs_url=None, redoc_url=None, responses=REFUSALS)
    api.add_exception_handler(Problem, problem_told)
    api.add_exception_handler(Clash, clash_told)
    api.add_exception_handler(RequestValidationError, not_understood_told)
    _items(api, shelf, desk, who)
    _versions(api, shelf, desk, who)
    _answers(api, desk)
    add_pack_door(api, desk)
    add_compare_door(api, house.comparisons)
    add_issue_door(api, house.issues, who, house.may_edit)
    _seasons(api, house)
    add_size_door(api, shelf)
    add_loop_door(api, house)
    add_swatch_door(api, house)
    add_photo_door(api, house.photos, desk.changed, who)
    add_next_door(api, house.next_swatches)
    add_pieces_door(api, desk)
    _whole_shelf(api, shelf, who)
    return api


Who = Callable[[Request], str]


def _items(api: FastAPI, shelf: Shelf, desk: Desk, who: Who) -> None:
    @api.get("/items")
    def listed(
        kind: Kind, find: Annotated[str, Query(max_length=200)] = "", archived: bool = False, offset: Place = 0
    ) -> list[dict[str, Any]]:
        """Items of a kind, newest change first, 200 at a time."""
        return [line_dict(line) for line in shelf.lines(kind, find=find, archived=archived, offset=offset)]

    @api.post("/items", status_code=201)
    def add(new: New, request: Request) -> dict[str, Any]:
        """Put a new item on the shelf."""
        return item_dict(shelf.add(new.kind, new.document, by=who(request)))

    @api.get("/items/{item_id}")
    def item(item_id: Number) -> dict[str, Any]:
        """One item with its document."""
        return item_dict(shelf.load(item_id))

    @api.post("/items/{item_id}/changes")
    async def change(item_id: Number, asked: Edits, request: Request) -> dict[str, Any]:
        """Save edits at once."""
        edits = edits_of(asked)
        label = asked.label or label_for(edits)
        if any(edit.path[0] == "garment" for edit in edits):
            edits = said_once(edits, (await asyncio.to_thread(shelf.load, item_id)).document)
        saved = await asyncio.to_thread(
            shelf.change,
            item_id,
            edits,
            base_version=asked.base_version,
            by=who(request),
            window=asked.window,
            label=label,
        )
        desk.changed(item_id)
        return saved_dict(saved)

    @api.post("/items/{item_id}/set-aside")
    async def set_aside(item_id: Number, asked: Edits, request: Request) -> dict[str, Any]:
        """Keep the side of a clash that was not taken in the history."""
        edits = edits_of(asked)
        await asyncio.to_thread(shelf.set_aside, item_id, edits, by=who(request), window=asked.window)
        desk.changed(item_id)
        return item_dict(await asyncio.to_thread(shelf.load, item_id))

    @api.post("/items/{item_id}/duplicate", status_code=201)
    def duplicate(item_id: Number, request: Request) -> dict[str, Any]:
        """A copy under a free number."""
        return item_dict(shelf.duplicate(item_id, by=who(request)))

    @api.post("/items/{item_id}/archive")
    def archive(item_id: Number, request: Request) -> dict[str, Any]:
        """Take an item off the lists; it can be brought back."""
        shelf.archive(item_id, by=who(request))
        return item_dict(shelf.load(item_id))

    @api.post("/items/{item_id}/unarchive")
    def unarchive(item_id: Number, request: Request) -> dict[str, Any]:
        """Bring an item back."""
        shelf.unarchive(item_id, by=who(request))
        return item_dict(shelf.load(item_id))


def _versions(api: FastAPI, shelf: Shelf, desk: Desk, who: Who) -> None:
    async def stepped(item_id: Number, step: Callable[[], Saved]) -> dict[str, Any]:
        saved = await asyncio.to_thread(step)
        desk.changed(item_id)
        return saved_dict(saved)

    @api.post("/items/{item_id}/undo")
    async def undo(item_id: Number, request: Request) -> dict[str, Any]:
        """Take the last change back."""
        return await stepped(item_id, lambda: shelf.undo(item_id, by=who(request)))

    @api.post("/items/{item_id}/redo")
    async def redo(item_id: Number, request: Request) -> dict[str, Any]:
        """Do the change that was taken back again."""
        return await stepped(item_id, lambda: shelf.redo(item_id, by=who(request)))

    @api.post("/items/{item_id}/restore")
    async def restore(item_id: Number, asked: VersionOf, request: Request) -> dict[str, Any]:
        """Make an older version the newest."""
        return await stepped(item_id, lambda: shelf.restore(item_id, asked.version, by=who(request)))

    @api.get("/items/{item_id}/history")
    def history(item_id: Number) -> list[dict[str, Any]]:
        """Changes of an item, newest first."""
        return [change_dict(change) for change in shelf.history(shelf.load(item_id).id)]

    @api.get("/items/{item_id}/differences")
    def differences(item_id: Number, first: Number, second: Number) -> list[dict[str, Any]]:
        """Fields that differ between two versions."""
        return step_dicts(shelf.differences(item_id, first, second))


def _answers(api: FastAPI, desk: Desk) -> None:
    @api.get("/items/{item_id}/study")
    async def study(item_id: Number) -> Response:
        """The study as JSON (docs/json.md)."""
        return Response(await desk.with_study(item_id, study_json), media_type="application/json")

    @api.get("/items/{item_id}/sheet", response_class=HTMLResponse)
    async def sheet(item_id: Number) -> Response:
        """The study as one HTML page to keep."""
        return HTMLResponse(await desk.with_study(item_id, study_page))

    @api.get("/items/{item_id}/strokes", response_class=Drawing)
    async def strokes(
        item_id: Number,
        size: Annotated[str, Query(max_length=40)] = "",
        start_s: Second = 0,
        end_s: Second | None = None,
    ) -> Response:
        """The stroke timeline of a size between two seconds, as SVG."""
        answer = await desk.answer(item_id)
        shown = shown_size(answer.study, size) if answer.study else None
        rows = timed_rows(shown) if shown else []
        if shown is None or not rows:
            raise Problem("strokes", "there is no timeline yet.", tries=["name a machine"])
        until = end_s if end_s is not None else max(timeline.total_s for _, _, timeline in rows)
        if not start_s < until:
            raise Problem("strokes", f"nothing lies from {start_s:g} to {until:g} s.", tries=["the whole timeline"])
        svg = await asyncio.to_thread(strokes_picture, rows, size=shown.size, start_s=start_s, end_s=until)
        return Drawing(svg)

    @api.get("/items/{item_id}/why/{key}", response_class=HTMLResponse)
    async def why(item_id: Number, key: Annotated[str, Field(max_length=40)]) -> Response:
        """Why a figure on the page is what it is."""
        answer = desk.known(item_id) or await desk.answer(item_id)
        reason = answer.reason(key)
        if reason is None:
            raise Problem("this figure", "it is not on the page any more.", tries=["press it again"])
        return HTMLResponse(reason)


def _seasons(api: FastAPI, house: House) -> None:
    @api.get("/season/why", response_class=HTMLResponse)
    def season_why(key: Key, season: Annotated[str, Query(max_length=400)] = "") -> Response:
        """Why a figure of a season is what it is."""
        answer = house.seasons.answers.get(season)
        reason = answer.reason(key) if answer else None
        if reason is None:
            raise Problem("this figure", "it is not on the page any more.", tries=["load the page again"])
        return HTMLResponse(reason)


def _whole_shelf(api: FastAPI, shelf: Shelf, who: Who) -> None:
    @api.get("/items/{item_id}/toml", response_class=Toml)
    def toml(item_id: Number) -> Response:
        """The item as the TOML of the command line."""
        return Toml(shelf.export_toml(item_id), media_type="application/toml; charset=utf-8")

    @api.post("/import", status_code=201, openapi_extra=_FILE)
    async def bring_in(request: Request) -> list[dict[str, Any]]:
        """Items from a TOML file, sent as application/octet-stream."""
        made = await asyncio.to_thread(shelf.import_toml, await request.body(), by=who(request))
        return [item_dict(item) for item in made]

    @api.get("/backup", response_class=Packed)
    def backup() -> Response:
        """The whole shelf as one file."""
        return Packed(shelf.back_up())

    @api.post("/backup", status_code=201, openapi_extra=_FILE)
    async def restore_backup(request: Request) -> dict[str, int]:
        """Bring a backup back, beside what is there."""
        counts = await asyncio.to_thread(shelf.restore_backup, await request.body(), by=who(request))
        return {"items": counts.items, "changes": counts.changes, "issues": counts.issues}

    @api.post("/demo", status_code=201)
    def demo(request: Request) -> list[dict[str, Any]]:
        """Put the invented example on the shelf."""
        made = [shelf.add(kind, document, by=who(request)) for kind, document in demo_documents()]
        return [item_dict(item) for item in made]

    @api.post("/start", status_code=201)
    def start(asked: FirstStyle, request: Request) -> dict[str, Any]:
        """A first style from garment, yarn and gauge."""
        document = first_style(asked.garment, asked.yarn, asked.gauge)
        return item_dict(shelf.add(Kind.STYLE, document, by=who(request)))


_FILE = {"requestBody": {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}
