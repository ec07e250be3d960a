"""Saving: every edit becomes a change record in the same transaction that changes the item.

In: a connection inside a writing transaction. An item is locked before it is read, so two writers queue and none
overwrites the other. Undo is linear: an item points at the record that undo would take, each record at the one below.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from loopwright.problems import Problem
from loopwright.store.document import differences, edited, plain, reverse, stepped_back, text_of
from loopwright.store.kinds import checked
from loopwright.store.merge import conflicts, document_before, touches
from loopwright.store.rows import change_of, item_with, lists_of, nothing_there, one_line, steps_of, title_columns
from loopwright.store.tables import change, item
from loopwright.store.values import Action, Change, Clash, Document, Edit, Item, Kind, Saved, Step


def add(connection: Connection, kind: Kind, document: Document, by: str, action: Action = Action.MADE) -> Item:
    """A new item."""
    document = plain(document)
    columns = new_columns(kind, document)
    now = datetime.now(UTC)
    row = {**columns, "version": 1, "archived": False, "made_at": now, "changed_at": now, "changed_by": one_line(by)}
    identity = connection.execute(insert(item).values(row).returning(item.c.id)).scalar_one()
    _record(connection, identity, version=1, at=now, by=by, action=action, label=columns["name"])
    return item_with(connection, identity)


def new_columns(kind: Kind, document: Document) -> dict[str, Any]:
    """The columns of an item that follow from its document."""
    title = checked(kind, document)
    text_of(document)
    return {"kind": str(kind), "document": document, **title_columns(title)}


def locked(connection: Connection, item_id: int) -> Row[Any]:
    """The row of an item that nobody else can change until the end of this transaction."""
    row = connection.execute(select(item).where(item.c.id == item_id).with_for_update()).one_or_none()
    if row is None:
        raise nothing_there(item_id)
    return row


def save_edits(
    connection: Connection, item_id: int, edits: Sequence[Edit], *, base_version: int, by: str, window: str, label: str
) -> Saved:
    """Edits that were made to the document of `base_version`, put into today's document."""
    edits = [Edit(each.path, plain(each.value)) for each in edits]
    row = locked(connection, item_id)
    if not 1 <= base_version <= row.version:
        raise Problem(row.name, f"there is no version {base_version} of it.", limit=f"1 to {row.version}")
    since = [each for each in changes_since(connection, item_id, base_version) if touches(each)]
    others = [each for each in since if not window or each.window != window]
    found = conflicts(edits, document_before(row.document, since), row.document, others)
    if found:
        raise Clash(found, row.version)
    document, steps = edited(row.document, edits)
    if not steps:
        return Saved(item_with(connection, item_id), None, bool(others))
    saved = _save(connection, row, document, steps, by=by, window=window, label=label or label_of(steps))
    return Saved(item_with(connection, item_id), saved, bool(others))


def changes_since(connection: Connection, item_id: int, version: int) -> list[Change]:
    """The change records after a version, newest first."""
    later = (change.c.item_id == item_id) & (change.c.version > version)
    return [change_of(row) for row in connection.execute(select(change).where(later).order_by(change.c.version.desc()))]


def document_at(connection: Connection, row: Item | Row[Any], version: int) -> Document:
    """The document as it was at a version."""
    if not 1 <= version <= row.version:
        raise Problem(row.name, f"there is no version {version} of it.", limit=f"1 to {row.version}")
    return document_before(row.document, changes_since(connection, row.id, version))


def restore(connection: Connection, item_id: int, version: int, by: str) -> Saved:
    """The document of an earlier version, as a new change."""
    row = locked(connection, item_id)
    document = document_at(connection, row, version)
    steps = differences(row.document, document)
    if not steps:
        return Saved(item_with(connection, item_id), None)
    saved = _save(connection, row, document, steps, by=by, action=Action.RESTORED, label=f"version {version}")
    return Saved(item_with(connection, item_id), saved)


def _save(
    connection: Connection, row: Row[Any], document: Document, steps: Sequence[Step], *,
    by: str, label: str, window: str = "", action: Action = Action.EDITED,
) -> Change:  # fmt: skip
    """A new edit: on top of the stack of undo, and nothing to redo any more."""
    pointers = {"undo_version": row.version + 1, "redo_version": None}
    _write(connection, row, {**new_columns(Kind(row.kind), document), **pointers}, by)
    return _next_record(
        connection, row, by=by, window=window, label=label, action=action, steps=steps, below=row.undo_version
    )


def undo(connection: Connection, item_id: int, by: str) -> Saved:
    """The newest edit taken back."""
    row = locked(connection, item_id)
    if row.undo_version is None:
        raise Problem(row.name, "there is nothing to undo.")
    last = _record_at(connection, item_id, row.undo_version)
    pointers = {"undo_version": last.below, "redo_version": row.version + 1}
    return _take_back(connection, row, last, pointers, Action.UNDONE, row.redo_version, by)


def redo(connection: Connection, item_id: int, by: str) -> Saved:
    """The newest undo taken back."""
    row = locked(connection, item_id)
    if row.redo_version is None:
        raise Problem(row.name, "there is nothing to redo.")
    last = _record_at(connection, item_id, row.redo_version)
    pointers = {"undo_version": row.version + 1, "redo_version": last.below}
    return _take_back(connection, row, last, pointers, Action.REDONE, row.undo_version, by)


def _take_back(
    connection: Connection, row: Row[Any], last: Row[Any], pointers: dict[str, Any], action: Action,
    below: int | None, by: str,
) -> Saved:  # fmt: skip
    """The document before a change record that is the newest of its stack."""
    steps = steps_of(last.steps)
    document = stepped_back(row.document, steps)
    _write(connection, row, {**new_columns(Kind(row.kind), document), **pointers}, by)
    saved = _next_record(
        connection, row, by=by, label=last.label, action=action, steps=reverse(steps), undoes=last.version, below=below
    )
    return Saved(item_with(connection, row.id), saved)


def note(
    connection: Connection, item_id: int, action: Action, *, by: str, window: str = "", steps: Sequence[Step] = (),
    **columns: Any,
) -> Change:  # fmt: skip
    """A change record that leaves the document as it is."""
    row = locked(connection, item_id)
    connection.execute(update(item).where(item.c.id == item_id).values(version=row.version + 1, **columns))
    label = label_of(steps) if steps else row.name
    return _next_record(connection, row, by=by, window=window, label=label, action=action, steps=steps)


def set_aside(connection: Connection, item_id: int, edits: Sequence[Edit], by: str, window: str) -> Change:
    """Edits that lost a clash, kept in the history only."""
    document = locked(connection, item_id).document
    steps = edited(document, edits)[1]
    text_of(lists_of(steps))
    return note(connection, item_id, Action.SET_ASIDE, by=by, window=window, steps=steps)


def _write(connection: Connection, row: Row[Any], columns: dict[str, Any], by: str) -> None:
    """Today's document; the version says once more that it is the one that was read."""
    values = {**columns, "version": row.version + 1, "changed_at": datetime.now(UTC), "changed_by": one_line(by)}
    connection.execute(update(item).where(item.c.id == row.id, item.c.version == row.version).values(values))


def _next_record(connection: Connection, row: Row[Any], **values: Any) -> Change:
    return _record(connection, row.id, version=row.version + 1, at=datetime.now(UTC), **values)


def _record(
    connection: Connection, item_id: int, *, version: int, at: datetime, by: str, action: Action, label: str,
    window: str = "", steps: Sequence[Step] = (), undoes: int | None = None, below: int | None = None,
) -> Change:  # fmt: skip
    words = {"by": one_line(by), "window": one_line(window), "label": one_line(label)}
    row = {"item_id": item_id, "version": version, "at": at, **words, "action": str(action)}
    row |= {"steps": lists_of(steps), "undoes": undoes, "below": below}
    return change_of(connection.execute(insert(change).values(row).returning(change)).one())


def _record_at(connection: Connection, item_id: int, version: int) -> Row[Any]:
    wanted = (change.c.item_id == item_id) & (change.c.version == version)
    return connection.execute(select(change).where(wanted)).one()


def label_of(steps: Sequence[Step]) -> str:
    """What a change is called when nobody named it: its first field, and how many more."""
    first = ".".join(steps[0].path)
    return first if len(steps) == 1 else f"{first} and {len(steps) - 1} more"
