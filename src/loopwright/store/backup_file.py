"""What a back-up file holds, field by field: the form that a file from anywhere is held against.

In: the JSON of a file. Out: frozen values with texts on one line and documents of their own. Not covered: whether a
history fits its document (`stacks`), whether a document is a style (`kinds`).
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field

from loopwright.problems import Problem
from loopwright.store.document import plain
from loopwright.store.issues import require_record
from loopwright.store.rows import one_line, some_lines
from loopwright.store.values import Action, Kind, Step

FORMAT = "loopwright shelf"
VERSION = 2  # 1 knew no issues
_EARLIEST, _LATEST = datetime(1970, 1, 2, tzinfo=UTC), datetime(9998, 1, 1, tzinfo=UTC)

Line = Annotated[str, AfterValidator(one_line)]
At = Annotated[AwareDatetime, Field(ge=_EARLIEST, le=_LATEST)]
Text = Annotated[str, AfterValidator(some_lines)]
Version = Annotated[int, Field(ge=1, le=10**9, strict=True)]
Tables = Annotated[dict[str, Any], AfterValidator(plain)]


def _step(value: Any) -> Any:
    """A step from its list of path, before and after."""
    match value:
        case [[str(), *_] as path, before, after] if all(isinstance(key, str) for key in path):
            return Step(tuple(path), plain(before), plain(after))
    raise ValueError("not a step")


def _kept_record(value: dict[str, Any]) -> dict[str, Any]:
    """A record as it was written, once it is known that it can be kept."""
    try:
        require_record(value)
    except Problem as problem:
        raise ValueError(problem.what) from None
    return value


class _Kept(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class KeptChange(_Kept):
    """A change record."""

    version: Version
    at: At
    by: Line
    window: Line
    label: Line
    action: Action
    steps: tuple[Annotated[Step, BeforeValidator(_step)], ...]
    undoes: Version | None = None


class KeptIssue(_Kept):
    """An issue with its record; its files stay where they were made."""

    number: Version
    version: Version
    at: At
    by: Line
    recipients: tuple[Line, ...]
    note: Text
    record: Annotated[dict[str, Any], AfterValidator(_kept_record)]


class KeptQuestion(_Kept):
    """A question about an issue, and its answer where there is one."""

    issue: Version
    place: Line
    text: Text
    by: Line
    at: At
    answer: Text | None
    answered_by: Line | None
    answered_at: At | None


class KeptItem(_Kept):
    """An item with its history, oldest first, its issues by number, and the questions about them."""

    kind: Kind
    version: Version
    document: Tables
    archived: bool = Field(strict=True)
    made_at: At
    changed_at: At
    changed_by: Line
    changes: tuple[KeptChange, ...]
    issues: tuple[KeptIssue, ...] = ()
    questions: tuple[KeptQuestion, ...] = ()


class BackUpFile(_Kept):
    """A whole file."""

    format: Literal["loopwright shelf"]
    version: Literal[1, 2]
    written_at: At
    items: tuple[KeptItem, ...]
