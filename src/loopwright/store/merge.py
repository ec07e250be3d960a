"""Two people at one item: which edits go together, and which contradict.

Compared are three documents: the one the editor saw, the one on the shelf now, and the edit. Fields that nobody
touched since are merged; a field set to the same value twice is no contradiction; neither is one that was changed and
changed back. What the same window saved earlier is known to it and never contradicts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from loopwright.store.document import same, stepped_back, value_at
from loopwright.store.values import Action, Change, Conflict, Document, Edit, Path

LEAVE_THE_DOCUMENT = {Action.SET_ASIDE, Action.ARCHIVED, Action.UNARCHIVED, Action.MADE, Action.IMPORTED}


def touches(change: Change) -> bool:
    """Whether a change record is one of the document."""
    return change.action not in LEAVE_THE_DOCUMENT


def document_before(document: Document, changes: Sequence[Change]) -> Document:
    """The document before the changes, given newest first."""
    return stepped_back(document, [step for each in reversed(changes) if touches(each) for step in each.steps])


def conflicts(edits: Sequence[Edit], seen: Document, now: Document, others: Sequence[Change]) -> tuple[Conflict, ...]:
    """The edits that contradict what others changed (newest first) since the document was `seen`."""
    return tuple(_conflicts(edits, seen, now, others))


def _conflicts(edits: Sequence[Edit], seen: Document, now: Document, others: Sequence[Change]) -> Iterator[Conflict]:
    for edit in edits:
        there = value_at(now, edit.path)
        if same(there, edit.value):
            continue
        for change, path in _touched(others):
            if _related(path, edit.path) and not _untouched(path, edit.path, seen, now):
                yield Conflict(edit.path, edit.value, there, change.version, change.at, change.by)
                break


def _touched(changes: Sequence[Change]) -> Iterator[tuple[Change, Path]]:
    return ((change, step.path) for change in changes for step in change.steps)


def _related(one: Path, other: Path) -> bool:
    """Whether one is the other, or a table around it."""
    length = min(len(one), len(other))
    return one[:length] == other[:length]


def _untouched(changed: Path, wanted: Path, seen: Document, now: Document) -> bool:
    """Whether a change left the wanted field as it was seen; a table that is new may be filled by both."""
    around = changed if len(changed) < len(wanted) else wanted
    before, after = value_at(seen, around), value_at(now, around)
    if around != wanted and before is None and isinstance(after, dict):
        before, after = value_at(seen, wanted), value_at(now, wanted)
    return same(before, after)
