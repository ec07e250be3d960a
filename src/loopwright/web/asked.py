"""What the JSON door is asked: edits, new items, versions, the three answers of a first style; each checked at once.

Not covered: what the door answers (`told`), whether a document makes sense (`store`, `study`).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Annotated, Literal, TypeVar

from fastapi import Query
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue

from loopwright.problems import Problem
from loopwright.store.values import Document, Edit, Kind, Path
from loopwright.study.brought_table import said_in_other_words
from loopwright.web.fields import label_of, text_of, value_typed

Key = Annotated[str, Field(min_length=1, max_length=200)]
Second = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Paper = Annotated[str, Field(max_length=20)]  # of a pack; which there are the pack knows, and says
Language = Annotated[str, Field(max_length=20)]
Number = Annotated[int, Field(ge=1, le=2**31 - 1)]  # as far as both databases count
V = TypeVar("V")
TableUnit = Literal["cm", "mm", "in"] | None
Place = Annotated[int, Query(ge=0, le=2**31 - 1)]


def whole_signs(value: V) -> V:
    """JSON whose texts are whole: half a sign (a lone surrogate) can be escaped in JSON, but neither kept nor shown."""
    try:
        json.dumps(value, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("a text in it holds half a sign") from None
    return value


Value = Annotated[JsonValue, AfterValidator(whole_signs)]


class Asked(BaseModel):
    """Base of what is sent: no field that we do not know."""

    model_config = ConfigDict(extra="forbid")


class TypedEdit(Asked):
    """One field: its path, and either the text a person typed or the value a program sends (null: take it out)."""

    path: Annotated[list[Key], Field(min_length=1, max_length=8)]
    typed: Annotated[str, Field(max_length=20000)] | None = None
    value: Value = None


class Edits(Asked):
    """Edits of one item, saved together; `base_version` is the version that the sender looked at."""

    base_version: Number
    edits: Annotated[list[TypedEdit], Field(min_length=1, max_length=2000)]
    window: Annotated[str, Field(max_length=64)] = ""
    label: Annotated[str, Field(max_length=200)] = ""


class New(Asked):
    """A new item: its kind and document."""

    kind: Kind
    document: Annotated[dict[str, JsonValue], AfterValidator(whole_signs)]


class PastedTable(Asked):
    """A measurement table as text, and its unit where it names none."""

    text: Annotated[str, Field(min_length=1, max_length=1_000_000), AfterValidator(whole_signs)]
    unit: TableUnit = None


class VersionOf(Asked):
    """A version of an item."""

    version: Number


class FirstStyle(Asked):
    """The three answers that make a first study."""

    garment: Annotated[str, Field(max_length=200)]
    yarn: Annotated[str, Field(max_length=200)]
    gauge: Annotated[str, Field(max_length=40)]


class CellsRefused(Problem):
    """Some of many cells that were sent together cannot be read; `cells` has each with its own problem."""

    def __init__(self, cells: Sequence[tuple[Path, Problem]]) -> None:
        first = cells[0][1]
        super().__init__(first.where, first.what, limit=first.limit, tries=first.tries)
        self.cells = tuple(cells)


def edits_of(asked: Edits) -> list[Edit]:
    """The edits with their values; text is read as its field's kind.

    Raises:
        Problem: a text that cannot be read; `CellsRefused` where it is one of many.
    """
    edits: list[Edit] = []
    refused: list[tuple[Path, Problem]] = []
    for each in asked.edits:
        path = tuple(each.path)
        try:
            edits.append(Edit(path, value_typed(path, each.typed) if each.typed is not None else each.value))
        except Problem as problem:
            refused.append((path, problem))
    if refused:
        raise refused[0][1] if len(asked.edits) == 1 else CellsRefused(refused)
    return edits


def said_once(edits: list[Edit], document: Document) -> list[Edit]:
    """The edits, and those that take out of the document what says the same measures in other words."""
    asked = {edit.path for edit in edits}
    try:
        others = said_in_other_words(document, asked)
    except Problem:  # no size table to tell by: the study says what is wrong with it
        return edits
    return [*(Edit(path, None) for path in others if path not in asked), *edits]


def label_for(edits: list[Edit]) -> str:
    """What undo will call these edits."""
    if len(edits) == 1:
        edit = edits[0]
        said = text_of(edit.value)
        return f"{label_of(edit.path)}: {said[:60]}" if said else f"{label_of(edit.path)} left out"
    labels = list(dict.fromkeys(label_of(edit.path).partition(",")[0] for edit in edits))
    return f"{len(edits)} cells of {', '.join(labels[:2])}{' and others' if len(labels) > 2 else ''}"
