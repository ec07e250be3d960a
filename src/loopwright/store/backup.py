"""The whole shelf as one file, and back: every item, every document, every change record, every issue with its pages.

The file is JSON, packed with gzip, and names its format and version. It fits a shelf of either database. What comes
back gets numbers of its own and overwrites nothing. A file may come from anywhere: its size, its documents and its
histories are checked before anything is kept. Not covered: people and their passwords, which stay where they are; the
files of issues but for their pages, which are printed again from the record.
"""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, Engine, Table, insert, select

from loopwright.problems import Problem
from loopwright.store.backup_file import FORMAT, VERSION, BackUpFile, KeptItem
from loopwright.store.database import reading, writing
from loopwright.store.document import text_of
from loopwright.store.rows import lists_of, one_line
from loopwright.store.saving import new_columns
from loopwright.store.stacks import stacks_of
from loopwright.store.tables import change, issue, item, question
from loopwright.store.values import Action, Counts, Kind

MOST_PACKED = 64_000_000
MOST_UNPACKED = 512_000_000
_CHUNK = 1_000_000
_ROWS = 500  # sent to the database together
_WHERE = "back-up"
_ITEM_FIELDS = ("kind", "version", "document", "archived", "made_at", "changed_at", "changed_by")
_ISSUE_FIELDS = ("number", "version", "at", "by", "recipients", "note", "record")
_QUESTION_FIELDS = ("issue", "place", "text", "by", "at", "answer", "answered_by", "answered_at")
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
            issues = _by_item(connection, issue, (issue.c.item_id, issue.c.number), _ISSUE_FIELDS)
            questions = _by_item(connection, question, (question.c.item_id, question.c.id), _QUESTION_FIELDS)
        kept = [
            {
                **_plain(each, _ITEM_FIELDS),
                "changes": histories[each["id"]],
                "issues": issues.get(each["id"], []),
                "questions": questions.get(each["id"], []),
            }
            for each in items
        ]
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
        changes, issues = (sum(len(getattr(each, name)) for each in kept) for name in ("changes", "issues"))
        return Counts(len(kept), changes, issues)


def _by_item(
    connection: Connection, table: Table, order: Iterable[Any], fields: Sequence[str]
) -> dict[int, list[dict[str, Any]]]:
    """Rows of a table by their item, in their order."""
    found: dict[int, list[dict[str, Any]]] = {}
    columns = [table.c.item_id, *(table.c[name] for name in fields)]
    for record in connection.execute(select(*columns).order_by(*order)).mappings():
        found.setdefault(record["item_id"], []).append(_plain(record, fields))
    return found


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


@dataclass(frozen=True, slots=True)
class _Prepared:
    """The row of an item, and those of its history, its issues and its questions, which don't know its number yet."""

    row: dict[str, Any]
    of_item: Mapping[Table, list[dict[str, Any]]]


def _prepared(kept: KeptItem, number: int, by: str) -> _Prepared:
    """The rows of an item and of its history, which ends with who brought it here."""
    _require_issues(kept, f"{_WHERE}, item {number}")
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
    issues = [{**each.model_dump(), "recipients": list(each.recipients)} for each in kept.issues]
    return _Prepared(row, {change: changes, issue: issues, question: [each.model_dump() for each in kept.questions]})


def _require_issues(kept: KeptItem, where: str) -> None:
    """Check that issues are numbered as they were made, and that each question is about one of them.

    Raises:
        Problem: they are not.
    """
    numbers = [each.number for each in kept.issues]
    if numbers != list(range(1, len(numbers) + 1)) or any(each.version > kept.version for each in kept.issues):
        raise Problem(where, "its issues do not follow each other.")
    if numbers and kept.kind is not Kind.STYLE:
        raise Problem(where, "only a style has issues.")
    if any(each.issue not in numbers for each in kept.questions):
        raise Problem(where, "a question in it is about an issue that is not there.")
    for each in kept.questions:
        if len({each.answer is None, each.answered_by is None, each.answered_at is None}) > 1:
            raise Problem(where, "an answer in it does not say who gave it, or when.")


def _insert(connection: Connection, prepared: list[_Prepared]) -> None:
    numbered = insert(item).returning(item.c.id, sort_by_parameter_order=True)
    for start in range(0, len(prepared), _ROWS):
        part = prepared[start : start + _ROWS]
        ids = connection.execute(numbered, [each.row for each in part]).scalars().all()
        for table in (change, issue, question):
            records = [
                {**each, "item_id": new} for new, whole in zip(ids, part, strict=True) for each in whole.of_item[table]
            ]
            for first in range(0, len(records), _ROWS):
                connection.execute(insert(table), records[first : first + _ROWS])
