"""What a back-up file holds, field by field: the form that a file from anywhere is held against.

In: the JSON of a file. Out: frozen values with texts on one line and documents of their own. Not covered: whether a
history fits its document (`stacks`), whether a document is a style (`kinds`).
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field

from loopwright.store.document import plain
from loopwright.store.rows import one_line
from loopwright.store.values import Action, Kind, Step

FORMAT = "loopwright shelf"
VERSION = 1
_EARLIEST, _LATEST = datetime(1970, 1, 2, tzinfo=UTC), datetime(9998, 1, 1, tzinfo=UTC)

Line = Annotated[str, AfterValidator(one_line)]
At = Annotated[AwareDatetime, Field(ge=_EARLIEST, le=_LATEST)]
Version = Annotated[int, Field(ge=1, le=10**9, strict=True)]
Tables = Annotated[dict[str, Any], AfterValidator(plain)]


def _step(value: Any) -> Any:
    """A step from its list of path, before and after."""
    match value:
        case [[str(), *_] as path, before, after] if all(isinstance(key, str) for key in path):
            return Step(tuple(path), plain(before), plain(after))
    raise ValueError("not a step")


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


class KeptItem(_Kept):
    """An item with its history, oldest first."""

    kind: Kind
    version: Version
    document: Tables
    archived: bool = Field(strict=True)
    made_at: At
    changed_at: At
    changed_by: Line
    changes: tuple[KeptChange, ...]


class BackUpFile(_Kept):
    """A whole file."""

    format: Literal["loopwright shelf"]
    version: Literal[1]
    written_at: At
    items: tuple[KeptItem, ...]
