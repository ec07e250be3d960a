"""What goes between the desk of issues, its door and the page: what is asked, what was found, what there is."""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.report.pack.differing import Difference
from loopwright.store.values import Issue, Question


@dataclass(frozen=True, slots=True)
class Compared:
    """What differs from one issue to another, or to the style as it stands (no second number)."""

    first: int
    second: int | None
    says: str
    decided: tuple[tuple[str, str], ...]
    changes: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the person says who issues: paper, language, formats, for whom, a note; the last issue that was shown."""

    paper: str
    language: str
    formats: tuple[str, ...]
    recipients: tuple[str, ...]
    note: str
    after: int
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Handed:
    """What was issued of a style, newest first; what was asked; whether the style moved on; places to ask about."""

    issues: tuple[Issue, ...]
    questions: tuple[Question, ...]
    moved_on: str
    places: tuple[str, ...]
