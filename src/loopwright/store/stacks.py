"""Undo and redo of a history that comes from a file: read again from its records, which must fit the document.

In: today's document and all its change records, oldest first. Out: what undo and redo would take, and what lies below
each record. Not covered: the same stacks while a person works, which saving keeps up to date (`saving`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from loopwright.store.backup_file import KeptChange
from loopwright.store.document import reverse, same, stepped_back
from loopwright.store.merge import LEAVE_THE_DOCUMENT
from loopwright.store.rows import lists_of
from loopwright.store.values import Action, Document


@dataclass(slots=True)
class Stacks:
    """The newest record that undo, and that redo, would take; and the record below each."""

    undo: int | None = None
    redo: int | None = None
    below: dict[int, int | None] = field(default_factory=dict)

    def take(self, record: KeptChange) -> int | None:
        """Put the next record on its stack; the version it takes back, if it takes one back."""
        match record.action:
            case Action.UNDONE:
                taken = _matching(record, self.undo)
                self.below[record.version] = self.redo
                self.undo, self.redo = self.below[taken], record.version
            case Action.REDONE:
                taken = _matching(record, self.redo)
                self.below[record.version] = self.undo
                self.undo, self.redo = record.version, self.below[taken]
            case Action.EDITED | Action.RESTORED:
                self.below[record.version] = self.undo
                self.undo, self.redo = record.version, None
                return None
            case _:
                return None
        return taken


def _matching(record: KeptChange, top: int | None) -> int:
    if top is None or record.undoes != top:
        raise _no_fit()
    return top


def stacks_of(document: Document, version: int, records: Sequence[KeptChange]) -> Stacks:
    """The stacks of a history.

    Raises:
        ValueError: the records do not lead to the document one by one.
    """
    _require([each.version for each in records] == list(range(1, version + 1)))
    _require(records[0].action in (Action.MADE, Action.IMPORTED))
    touching = [each for each in records if each.action not in LEAVE_THE_DOCUMENT]
    stepped_back(document, [step for each in touching for step in each.steps])
    stacks = Stacks()
    for each in records:
        taken = stacks.take(each)
        if taken:
            _require(same(lists_of(each.steps), lists_of(reverse(records[taken - 1].steps))))
    return stacks


def _require(fact: bool) -> None:
    if not fact:
        raise _no_fit()


def _no_fit() -> ValueError:
    return ValueError("a history that does not fit")
