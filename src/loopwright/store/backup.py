"""The whole shelf as one file, and back: every item, every document, every change record.

The file is JSON, packed with gzip, and names its format and version. It fits a shelf of either database. What comes
back gets numbers of its own and overwrites nothing. A file may come from anywhere: its size, its documents and its
histories are checked before anything is kept. Not covered: people and their passwords, which stay where they are.
"""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, Engine, insert, select

from loopwright.problems import Problem
from loopwright.store.backup_file import FORMAT, VERSION, BackUpFile, KeptItem
from loopwright.store.database import reading, writing
from loopwright.store.document import text_of
from loopwright.store.rows import lists_of, one_line
from loopwright.store.saving import new_columns
from loopwright.store.stacks import stacks_of
from loopwright.store.tables import change, item
from loopwright.store.values import Action, Counts

MOST_PACKED = 64_000_000
MOST_UNPACKED = 512_000_000
_CHUNK = 1_000_000
_ROWS = 500  # sent to the database together
_WHERE = "back-up"
_ITEM_FIELDS = ("kind", "version", "document", "archived", "made_at", "changed_at", "changed_by")
_CHANGE_FIELDS = ("version", "at", "by", "window", "label", "action", "steps", "undoes")


class BackUp:
    """The part of the shelf that makes and reads back-ups."""

    engine: Engine

    def back_up(self) -> bytes:
        """Everything on the shelf as one file, as it was at one moment."""
        with reading(self.engine) as connection:
            items = connection.execute(select(item).order_by(item.c.id)).mappings().all()
            ordered = select(change).order_by(change.c.item_id, change.c.version)
            histories: dict[int, list[dict[str, Any]]] = {each["id"]: [] for each in items}
            for record in connection.execute(ordered).mappings():
                histories[record["item_id"]].append(_plain(record, _CHANGE_FIELDS))
        kept = [{**_plain(each, _ITEM_FIELDS), "changes": histories[each["id"]]} for each in items]
        document = {"format": FORMAT, "version": VERSION, "written_at": _instant(datetime.now(UTC)), "items": kept}
        return gzip.compress(json.dumps(document, ensure_ascii=False).encode("utf-8"))

    def restore_backup(self, data: bytes, *, by: str) -> Counts:
        """Put everything of a back-up on the shelf, beside what is there; each item's history says who brought it.

        Raises:
            Problem: the file is not a whole back-up, or something in it is wrong; then nothing is kept.
        """
        kept = _file_of(data).items
        prepared = [_prepared(each, number, by) for number, each in enumerate(kept, 1)]
        with writing(self.engine) as connection:
            _insert(connection, prepared)
        return Counts(len(kept), sum(len(each.changes) for each in kept))


def _plain(row: Mapping[Any, Any], fields: Iterable[str]) -> dict[str, Any]:
    return {name: _instant(row[name]) if isinstance(row[name], datetime) else row[name] for name in fields}


def _instant(at: datetime) -> str:
    return at.isoformat()


def _file_of(data: bytes) -> BackUpFile:
    try:
        document = json.loads(_unpacked(data))
    except (ValueError, RecursionError):
        raise _not_whole() from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise _not_whole()
    version = document.get("version")
    if isinstance(version, int) and version > VERSION:
        tries = ["install the newest version of this program"]
        raise Problem(_WHERE, "it was written by a newer version of the program.", tries=tries)
    try:
        return BackUpFile.model_validate(document)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"]))[:200]
        raise Problem(_WHERE, f"it is damaged: {where} is not what a back-up holds there.") from None


def _not_whole() -> Problem:
    return Problem(_WHERE, "this is not a whole back-up of a shelf.", tries=["take the file as it was written"])


def _unpacked(data: bytes) -> bytes:
    """The text of the file, after its size is known to be bearable."""
    if len(data) > MOST_PACKED:
        raise Problem(_WHERE, f"it is {len(data) / 1e6:.0f} MB long.", limit=f"{MOST_PACKED / 1e6:g} MB")
    try:
        with gzip.open(BytesIO(data)) as stream:
            size = 0
            while chunk := stream.read(_CHUNK):
                size += len(chunk)
                if size > MOST_UNPACKED:
                    raise Problem(_WHERE, "unpacked it is far too long.", limit=f"{MOST_UNPACKED / 1e6:g} MB")
        return gzip.decompress(data)
    except (OSError, EOFError, zlib.error):
        raise _not_whole() from None


def _prepared(kept: KeptItem, number: int, by: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The rows of an item and of its history, which ends with who brought it here."""
    try:
        for each in kept.changes:
            text_of(lists_of(each.steps))
        stacks = stacks_of(kept.document, kept.version, kept.changes)
        columns = new_columns(kept.kind, kept.document)
    except ValueError:
        raise Problem(f"{_WHERE}, item {number}", "its history does not fit its document.") from None
    except Problem as problem:
        raise problem.at(f"{_WHERE}, item {number}") from None
    below = stacks.below
    changes = [
        {**each.model_dump(exclude={"steps"}), "steps": lists_of(each.steps), "below": below.get(each.version)}
        for each in kept.changes
    ]
    arrival = {"version": kept.version + 1, "at": datetime.now(UTC), "by": one_line(by), "window": "", "steps": []}
    changes.append({**arrival, "label": columns["name"], "action": Action.IMPORTED, "undoes": None, "below": None})
    times = {"made_at": kept.made_at, "changed_at": kept.changed_at, "changed_by": kept.changed_by}
    pointers = {"undo_version": stacks.undo, "redo_version": stacks.redo}
    row = {**columns, **times, **pointers, "version": kept.version + 1, "archived": kept.archived}
    return row, changes


def _insert(connection: Connection, prepared: list[tuple[dict[str, Any], list[dict[str, Any]]]]) -> None:
    numbered = insert(item).returning(item.c.id, sort_by_parameter_order=True)
    for start in range(0, len(prepared), _ROWS):
        part = prepared[start : start + _ROWS]
        ids = connection.execute(numbered, [row for row, _ in part]).scalars().all()
        records = [{**each, "item_id": new} for new, (_, changes) in zip(ids, part, strict=True) for each in changes]
        for first in range(0, len(records), _ROWS):
            connection.execute(insert(change), records[first : first + _ROWS])
