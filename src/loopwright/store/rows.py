"""Rows of the database as values, and the questions that fetch them.

An item comes with the labels of what undo and redo would take, fetched in the same query.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, select

from loopwright.problems import Problem
from loopwright.store.kinds import Title
from loopwright.store.tables import change, item
from loopwright.store.values import Action, Change, Item, Kind, Line, Step

LONGEST_LINE = 200
LONGEST_TEXT = 5000
_undo, _redo = change.alias("to_undo"), change.alias("to_redo")


def items() -> Select[Any]:
    """The question for whole items."""
    to_undo = and_(_undo.c.item_id == item.c.id, _undo.c.version == item.c.undo_version)
    to_redo = and_(_redo.c.item_id == item.c.id, _redo.c.version == item.c.redo_version)
    labels = (_undo.c.label.label("can_undo"), _redo.c.label.label("can_redo"))
    return select(item, *labels).select_from(item.outerjoin(_undo, to_undo).outerjoin(_redo, to_redo))


def item_of(row: Row[Any]) -> Item:
    """An item from its row."""
    return Item(
        row.id, Kind(row.kind), row.number, row.name, row.season, row.version, row.document, row.archived,
        row.made_at, row.changed_at, row.changed_by, row.can_undo, row.can_redo,
    )  # fmt: skip


def item_with(connection: Connection, item_id: int) -> Item:
    """One item.

    Raises:
        Problem: it is not on the shelf.
    """
    row = connection.execute(items().where(item.c.id == item_id)).one_or_none()
    if row is None:
        raise nothing_there(item_id)
    return item_of(row)


def nothing_there(item_id: int) -> Problem:
    """The refusal for an item that is not there."""
    return Problem("shelf", f"there is nothing under number {item_id}.", tries=["open it from its list"])


LINE_COLUMNS = (
    item.c.id, item.c.kind, item.c.number, item.c.name, item.c.season, item.c.detail, item.c.version,
    item.c.changed_at, item.c.changed_by, item.c.archived,
)  # fmt: skip


def line_of(row: tuple[Any, ...]) -> Line:
    """A line of a list from its row."""
    identity, kind, *rest = tuple(row)
    return Line(identity, Kind(kind), *rest)


def change_of(row: Row[Any]) -> Change:
    """A change record from its row."""
    return Change(
        row.number, row.item_id, row.version, row.at, row.by, row.window, row.label, Action(row.action),
        steps_of(row.steps), row.undoes,
    )  # fmt: skip


def steps_of(lists: Sequence[Sequence[Any]]) -> tuple[Step, ...]:
    """Steps from their JSON form, lists of path, before and after."""
    return tuple(Step(tuple(path), before, after) for path, before, after in lists)


def lists_of(steps: Sequence[Step]) -> list[list[Any]]:
    """The JSON form of steps."""
    return [[list(step.path), step.before, step.after] for step in steps]


def title_columns(title: Title) -> dict[str, str]:
    """The columns that a list shows and searches."""
    shown = {name: one_line(getattr(title, name)) for name in Title.__slots__}
    return {**shown, "search": folded("\n".join(shown.values()))}


def folded(text: str) -> str:
    """Text as it is searched: forms of a letter and its capitals made one, in every script."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())


def one_line(text: str) -> str:
    """Text on one line of a list, without signs that no database keeps."""
    kept = "".join(sign if unicodedata.category(sign) not in ("Cc", "Cs") else " " for sign in text)
    return " ".join(kept.split())[:LONGEST_LINE]


def some_lines(text: str) -> str:
    """Text of a person's own on some lines, without signs that no database keeps."""
    kept = "".join(sign if sign == "\n" or unicodedata.category(sign) not in ("Cc", "Cs") else " " for sign in text)
    return kept.strip()[:LONGEST_TEXT]


def has_words(find: str) -> ColumnElement[bool]:
    """The condition that every word stands somewhere in number, name, season or detail."""
    words = folded(one_line(find)).split()
    return and_(*(item.c.search.contains(word, autoescape=True) for word in words)) if words else item.c.id.is_not(None)
