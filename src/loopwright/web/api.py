"""The JSON door of the workroom: what the page asks for and sends, open to a person's own programs as well.

Each endpoint checks, calls the shelf or the desk once, and answers with values. What a person can mend comes back as
`{"problem": {where, what, limit, tries}}` with status 422, a clash of two windows with status 409 and both values.
Not covered: who may come in (`guard`, `sign_in`).
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Iterable
from typing import Annotated, Any

import orjson
from fastapi import FastAPI, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, PlainTextResponse
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue

from loopwright import __version__
from loopwright.draw.strokes import strokes_picture
from loopwright.problems import Problem
from loopwright.report.files import study_json, study_page, timed_rows
from loopwright.report.sheet import shown_size
from loopwright.store.document import cells
from loopwright.store.shelf import Shelf
from loopwright.store.values import Change, Clash, Edit, Item, Kind, Line, Saved, Step
from loopwright.web.desk import Desk
from loopwright.web.fields import label_of, text_of, value_typed
from loopwright.web.house import House
from loopwright.web.start import demo_documents, first_style

Key = Annotated[str, Field(min_length=1, max_length=200)]
Second = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Number = Annotated[int, Field(ge=1, le=2**31 - 1)]  # as far as both databases count
Place = Annotated[int, Query(ge=0, le=2**31 - 1)]


def _whole_signs(value: JsonValue) -> JsonValue:
    """JSON whose texts are whole: half a sign (a lone surrogate) can be escaped in JSON, but neither kept nor shown."""
    try:
        json.dumps(value, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("a text in it holds half a sign") from None
    return value


Value = Annotated[JsonValue, AfterValidator(_whole_signs)]


class Asked(BaseModel):
    """Base of what is sent: no field that we do not know."""

    model_config = ConfigDict(extra="forbid")


class TypedEdit(Asked):
    """One field: its path, and either the text a person typed or the value a program sends (null: take it out)."""

    path: Annotated[list[Key], Field(min_length=1, max_length=8)]
    typed: Annotated[str, Field(max_length=20000)] | None = None
    value: Value = None


class Edits(Asked):
    """Edits of one item, saved together; `base_version` is the version that the sender looked at."""

    base_version: Number
    edits: Annotated[list[TypedEdit], Field(min_length=1, max_length=2000)]
    window: Annotated[str, Field(max_length=64)] = ""
    label: Annotated[str, Field(max_length=200)] = ""


class New(Asked):
    """A new item: its kind and document."""

    kind: Kind
    document: Annotated[dict[str, JsonValue], AfterValidator(_whole_signs)]


class VersionOf(Asked):
    """A version of an item."""

    version: Number


class FirstStyle(Asked):
    """The three answers that make a first study."""

    garment: Annotated[str, Field(max_length=200)]
    yarn: Annotated[str, Field(max_length=200)]
    gauge: Annotated[str, Field(max_length=40)]


_TEXT = {"type": "string"}
_PROBLEM = {"where": _TEXT, "what": _TEXT, "limit": _TEXT, "tries": {"type": "array", "items": _TEXT}}
_CONFLICT = {
    "path": {"type": "array", "items": _TEXT}, "label": _TEXT, "here": _TEXT, "there": _TEXT,
    "version": {"type": "integer"}, "at": {**_TEXT, "format": "date-time"}, "by": _TEXT,
}  # fmt: skip


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    """The schema of an object that has all these properties and no other."""
    return {
        "type": "object", "properties": properties, "required": list(properties), "additionalProperties": False
    }  # fmt: skip


def _told(words: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": schema}}}


_CONFLICTS = {"version": {"type": "integer"}, "conflicts": {"type": "array", "items": _object(_CONFLICT)}}
_REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"description": "not JSON, or not text"},
    403: {"description": "only looking is allowed, or a page from elsewhere"},
    409: _told("another window set the same field; both values", _object(_CONFLICTS)),
    413: {"description": "larger than anything here needs"},
    415: {"description": "neither JSON nor a file"},
    422: _told("something that a person can mend: where, what, limit, tries", _object({"problem": _object(_PROBLEM)})),
}


class Toml(PlainTextResponse):
    """A style file."""

    media_type = "application/toml"


class Drawing(Response):
    """A picture."""

    media_type = "image/svg+xml"


class Packed(Response):
    """A back-up."""

    media_type = "application/gzip"


def api_of(house: House) -> FastAPI:
    """The application behind /api."""
    shelf, desk, who = house.shelf, house.desk, house.who
    api = FastAPI(title="Loopwright workroom", version=__version__, docs_url=None, redoc_url=None, responses=_REFUSALS)
    api.add_exception_handler(Problem, _problem)
    api.add_exception_handler(Clash, _clash)
    api.add_exception_handler(RequestValidationError, _not_understood)
    _items(api, shelf, desk, who)
    _versions(api, shelf, desk, who)
    _answers(api, desk)
    _seasons(api, house)
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
        edits = [Edit(tuple(each.path), _value(each)) for each in asked.edits]
        label = asked.label or _label(edits)
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
        edits = [Edit(tuple(each.path), _value(each)) for each in asked.edits]
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
        return _step_dicts(shelf.differences(item_id, first, second))


def _answers(api: FastAPI, desk: Desk) -> None:
    @api.get("/items/{item_id}/study")
    async def study(item_id: Number) -> Response:
        """The study as JSON (docs/json.md)."""
        return Response(await _with_study(desk, item_id, study_json), media_type="application/json")

    @api.get("/items/{item_id}/sheet", response_class=HTMLResponse)
    async def sheet(item_id: Number) -> Response:
        """The study as one HTML page to keep."""
        return HTMLResponse(await _with_study(desk, item_id, study_page))

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
        text = _text(await request.body())
        return [item_dict(item) for item in await asyncio.to_thread(shelf.import_toml, text, by=who(request))]

    @api.get("/backup", response_class=Packed)
    def backup() -> Response:
        """The whole shelf as one file."""
        return Packed(shelf.back_up())

    @api.post("/backup", status_code=201, openapi_extra=_FILE)
    async def restore_backup(request: Request) -> dict[str, int]:
        """Bring a backup back, beside what is there."""
        counts = await asyncio.to_thread(shelf.restore_backup, await request.body(), by=who(request))
        return {"items": counts.items, "changes": counts.changes}

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


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Problem("this file", "it is not a text file in UTF-8.", tries=["export it again as TOML"]) from None


_FILE = {"requestBody": {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}


async def _with_study(desk: Desk, item_id: Number, write: Callable[..., Any]) -> Any:
    answer = await desk.answer(item_id)
    if answer.study is None:
        raise answer.problem or Problem("the style", "it cannot be read.")
    return await asyncio.to_thread(write, answer.study)


def _value(edit: TypedEdit) -> Any:
    return value_typed(tuple(edit.path), edit.typed) if edit.typed is not None else edit.value


def _label(edits: list[Edit]) -> str:
    """What undo will call these edits."""
    if len(edits) == 1:
        edit = edits[0]
        said = text_of(edit.value)
        return f"{label_of(edit.path)}: {said[:60]}" if said else f"{label_of(edit.path)} left out"
    labels = list(dict.fromkeys(label_of(edit.path).partition(",")[0] for edit in edits))
    return f"{len(edits)} cells of {', '.join(labels[:2])}{' and others' if len(labels) > 2 else ''}"


def item_dict(item: Item) -> dict[str, Any]:
    """An item as JSON."""
    return {
        "id": item.id,
        "kind": item.kind.value,
        "number": item.number,
        "name": item.name,
        "season": item.season,
        "version": item.version,
        "archived": item.archived,
        "changed_at": item.changed_at.isoformat(),
        "changed_by": item.changed_by,
        "undo": item.can_undo,
        "redo": item.can_redo,
        "document": item.document,
    }


def line_dict(line: Line) -> dict[str, Any]:
    """A line of a list as JSON."""
    return {
        "id": line.id,
        "kind": line.kind.value,
        "number": line.number,
        "name": line.name,
        "season": line.season,
        "detail": line.detail,
        "version": line.version,
        "changed_at": line.changed_at.isoformat(),
        "changed_by": line.changed_by,
        "archived": line.archived,
    }


def saved_dict(saved: Saved) -> dict[str, Any]:
    """What saving did, as the page needs it."""
    item, change = saved.item, saved.change
    return {
        "version": item.version,
        "merged": saved.merged,
        "changed_at": item.changed_at.isoformat(),
        "label": change.label if change else "",
        "steps": _step_dicts(change.steps) if change else [],
        "undo": item.can_undo,
        "redo": item.can_redo,
    }


def change_dict(change: Change) -> dict[str, Any]:
    """A change as JSON."""
    return {
        "version": change.version,
        "at": change.at.isoformat(),
        "by": change.by,
        "label": change.label,
        "action": change.action.value,
        "steps": _step_dicts(change.steps),
    }


def _step_dicts(steps: Iterable[Step]) -> list[dict[str, Any]]:
    """Steps field by field: a table that came whole is told by what it holds."""
    return [_step_dict(cell) for step in steps for cell in cells(step)]


def _step_dict(step: Step) -> dict[str, Any]:
    return {
        "path": list(step.path),
        "label": label_of(step.path),
        "before": text_of(step.before),
        "after": text_of(step.after),
    }


async def _problem(_request: Request, problem: Exception) -> Response:
    assert isinstance(problem, Problem)
    return _json({"problem": problem.as_dict()}, 422)


async def _clash(_request: Request, clash: Exception) -> Response:
    assert isinstance(clash, Clash)
    conflicts = [
        {
            "path": list(each.path),
            "label": label_of(each.path),
            "here": text_of(each.here),
            "there": text_of(each.there),
            "version": each.version,
            "at": each.at.isoformat(),
            "by": each.by,
        }
        for each in clash.conflicts
    ]
    return _json({"version": clash.version, "conflicts": conflicts}, 409)


async def _not_understood(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    what = first["msg"].removeprefix("Value error, ")
    problem = Problem(where, f"{what[0].lower()}{what[1:]}.", tries=["see /api/openapi.json"])
    return _json({"problem": problem.as_dict()}, 422)


def _json(content: Any, status: int) -> Response:
    return Response(orjson.dumps(content), status, media_type="application/json")
