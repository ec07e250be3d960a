"""What the JSON door answers: items, lists, changes and refusals as JSON, and how its description speaks of them.

Not covered: what it is asked (`asked`), the endpoints (`api`).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import orjson
from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import PlainTextResponse

from loopwright.problems import Problem
from loopwright.store.document import cells
from loopwright.store.values import Change, Clash, Item, Line, Saved, Step
from loopwright.web.asked import CellsRefused
from loopwright.web.fields import label_of, text_of

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
_CELL = {"path": {"type": "array", "items": _TEXT}, "problem": _object(_PROBLEM)}
_REFUSED = _object({"problem": _object(_PROBLEM)})
_REFUSED["properties"]["cells"] = {"type": "array", "items": _object(_CELL)}  # where many were sent, those refused
REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"description": "not JSON, or not text"},
    403: {"description": "only looking is allowed, or a page from elsewhere"},
    409: _told("another window set the same field; both values", _object(_CONFLICTS)),
    413: {"description": "larger than anything here needs"},
    415: {"description": "neither JSON nor a file"},
    422: _told("something that a person can mend: where, what, limit, tries", _REFUSED),
}


class Toml(PlainTextResponse):
    """A style file."""

    media_type = "application/toml"


class Csv(PlainTextResponse):
    """A table for a spreadsheet."""

    media_type = "text/csv"


class Workbook(Response):
    """A workbook."""

    media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class Drawing(Response):
    """A picture."""

    media_type = "image/svg+xml"


class Painted(Response):
    """A picture in points."""

    media_type = "image/png"


class Pages(Response):
    """Pages to print."""

    media_type = "application/pdf"


class Zipped(Response):
    """Several files in one."""

    media_type = "application/zip"


class Packed(Response):
    """A back-up."""

    media_type = "application/gzip"


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
        "steps": step_dicts(change.steps) if change else [],
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
        "steps": step_dicts(change.steps),
    }


def step_dicts(steps: Iterable[Step]) -> list[dict[str, Any]]:
    """Steps field by field: a table that came whole is told by what it holds."""
    return [_step_dict(cell) for step in steps for cell in cells(step)]


def _step_dict(step: Step) -> dict[str, Any]:
    return {
        "path": list(step.path),
        "label": label_of(step.path),
        "before": text_of(step.before),
        "after": text_of(step.after),
    }


async def problem_told(_request: Request, problem: Exception) -> Response:
    """What a person can mend, with status 422."""
    assert isinstance(problem, Problem)
    told: dict[str, Any] = {"problem": problem.as_dict()}
    if isinstance(problem, CellsRefused):
        told["cells"] = [{"path": list(path), "problem": each.as_dict()} for path, each in problem.cells]
    return _json(told, 422)


async def clash_told(_request: Request, clash: Exception) -> Response:
    """Two windows on one field: both values, with status 409."""
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


async def not_understood_told(_request: Request, error: Exception) -> Response:
    """What was sent has another form than the door asks for, with status 422."""
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    what = first["msg"].removeprefix("Value error, ")
    problem = Problem(where, f"{what[0].lower()}{what[1:]}.", tries=["see /api/openapi.json"])
    return _json({"problem": problem.as_dict()}, 422)


def _json(content: Any, status: int) -> Response:
    return Response(orjson.dumps(content), status, media_type="application/json")
