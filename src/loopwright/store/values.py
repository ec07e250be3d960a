"""What goes onto the shelf and comes off it: frozen values, no database in sight.

Everything kept is a partial style document: the very tables that the TOML style file has, whole for a style, one part
for a yarn, a machine, a structure, a rate card, a size table or a swatch. A field that is not there is said as None
(TOML has no null): `Edit(path, None)` takes a field out, `Step(path, None, 5)` put one in. A path leads through tables
only; a list is one value. Not covered: what a document may hold (`study.style`), which parts make which kind (`kinds`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

Path = tuple[str, ...]
Document = dict[str, Any]


class Kind(StrEnum):
    """What an item of the shelf is."""

    STYLE = "style"
    YARN = "yarn"
    MACHINE = "machine"
    STRUCTURE = "structure"
    RATES = "rates"
    SIZES = "sizes"
    SWATCH = "swatch"

    @property
    def words(self) -> str:
        """With its article, as in a sentence."""
        return {"rates": "a rate card", "sizes": "a size table"}.get(self.value, f"a {self.value}")


class Action(StrEnum):
    """What a change record tells."""

    MADE = "made"
    EDITED = "edited"
    UNDONE = "undone"
    REDONE = "redone"
    RESTORED = "restored"
    IMPORTED = "imported"
    SET_ASIDE = "set aside"
    ARCHIVED = "archived"
    UNARCHIVED = "unarchived"


class Role(StrEnum):
    """What a person of the team may do."""

    VIEW = "view"
    EDIT = "edit"


@dataclass(frozen=True, slots=True)
class Edit:
    """A field and the value it shall have; None takes the field out."""

    path: Path
    value: Any


@dataclass(frozen=True, slots=True)
class Step:
    """A field with its value before and after; None where there was, or is, no such field.

    A field in a table that was not there yet is recorded as the whole new table.
    """

    path: Path
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Change:
    """One line of an item's history.

    `number` counts the records of the whole shelf, `version` those of the item. `undoes` is the version of this item
    that an "undone" took back, or the version of the "undone" that a "redone" took back.
    """

    number: int
    item_id: int
    version: int
    at: datetime
    by: str
    window: str
    label: str
    action: Action
    steps: tuple[Step, ...]
    undoes: int | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """An item with its document; `can_undo` and `can_redo` hold the label of what would be taken back or done again."""

    id: int
    kind: Kind
    number: str
    name: str
    season: str
    version: int
    document: Document
    archived: bool
    made_at: datetime
    changed_at: datetime
    changed_by: str
    can_undo: str | None = None
    can_redo: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """An item as a list shows it; `detail` says the rest in one line of trade words."""

    id: int
    kind: Kind
    number: str
    name: str
    season: str
    detail: str
    version: int
    changed_at: datetime
    changed_by: str
    archived: bool


@dataclass(frozen=True, slots=True)
class Saved:
    """An item after saving. `change` is None when nothing differed.

    `merged` tells that other fields were changed by somebody else meanwhile, so the page shows an older document.
    """

    item: Item
    change: Change | None
    merged: bool = False


@dataclass(frozen=True, slots=True)
class Conflict:
    """One field that two people set differently: `here` is what was not saved, `there` what the shelf holds."""

    path: Path
    here: Any
    there: Any
    version: int
    at: datetime
    by: str


class Clash(Exception):
    """The same field was set to another value meanwhile; nothing of the call was saved.

    Args:
        conflicts: each such field with both values, who set it and when.
        version: the version of the item now; saving again with this base overrules.
    """

    def __init__(self, conflicts: Sequence[Conflict], version: int) -> None:
        self.conflicts = tuple(conflicts)
        self.version = version
        super().__init__("; ".join(f"{'.'.join(each.path)} was set by {each.by}" for each in self.conflicts))


@dataclass(frozen=True, slots=True)
class Issue:
    """What was handed over of a style: which issue, of which version, when, by whom, for whom.

    Its record and its files are fetched apart; nothing of them changes any more.
    """

    item_id: int
    number: int
    version: int
    at: datetime
    by: str
    recipients: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked about a place of an issue, and what was answered; `answer` is None while it is open."""

    id: int
    item_id: int
    issue: int
    place: str
    text: str
    by: str
    at: datetime
    answer: str | None = None
    answered_by: str | None = None
    answered_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """A person of the team."""

    name: str
    password_hash: str
    role: Role
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Counts:
    """How much a back-up brought."""

    items: int
    changes: int
    issues: int = 0
