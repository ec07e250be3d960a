"""An issue of a pack: what was handed over, to whom, when and by whom, with its pages as they were printed.

In: what the one who issues says, the study, the issue before. Out: `Issued`, its record as JSON, and the same PDF from
that record again, byte for byte. A record that comes from a file is checked whole before anything is made of it.
Not covered: what differs (`differing`), keeping issues (`store`), writing folders (`report.files`).
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Annotated, Any, Literal

import orjson
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from loopwright.problems import Problem
from loopwright.report.files import document_json
from loopwright.report.pack.differing import Difference
from loopwright.report.pack.language import LANGUAGES
from loopwright.report.pack.pages import PAPERS

FORMAT: Literal["loopwright issue 1"] = "loopwright issue 1"
ISSUE_FILE = "issue.json"
MOST_BYTES = 32_000_000
MOST_RECIPIENTS = 20
_WHERE = ISSUE_FILE
_OWN = "loopwright issue "


def _instant(text: str) -> str:
    datetime.datetime.fromisoformat(text)
    return text


def _whole(text: str) -> str:
    """Text without half a sign, which can be typed on a command line, but neither printed nor kept."""
    text.encode("utf-8")
    return text


def _words(text: str) -> str:
    """Text on one line."""
    return " ".join(_whole(text).split())


Line = Annotated[str, AfterValidator(_words), Field(max_length=200)]
Text = Annotated[str, AfterValidator(_whole), Field(max_length=5000)]
When = Annotated[str, Field(max_length=40), AfterValidator(_instant)]
Count = Annotated[int, Field(ge=1, le=10**9, strict=True)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Part(BaseModel):
    """A part of a record: what it is said to be, and nothing else."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class _Shape(BaseModel):
    """A part of the pages; further keys are the template's own matter."""

    model_config = ConfigDict(extra="allow", strict=True)


class _FigureCell(_Shape):
    text: str
    spread: str
    letter: str
    basis: str


class _Change(_Shape):
    at: list[Annotated[int, Field(ge=0)]]
    was: str


class _TableBlock(_Shape):
    kind: Literal["table"]
    head: Annotated[list[str], Field(min_length=1)]
    rows: list[list[str | _FigureCell]]
    words: Annotated[list[int], Field(min_length=1)]
    strong: list[int]
    base: int | None
    hand: list[Any]
    caption: str
    changed: list[_Change] = []

    @model_validator(mode="after")
    def _every_row_fits(self) -> _TableBlock:
        if any(len(row) != len(self.head) for row in self.rows):
            raise ValueError("a row has not as many cells as the head")
        return self


class _StepsBlock(_Shape):
    kind: Literal["steps"]
    heading: str
    lines: list[Annotated[list[str], Field(min_length=2, max_length=2)]]
    is_short: bool
    changed: list[_Change] = []


class _PictureBlock(_Shape):
    kind: Literal["picture"]
    svg: str
    alt: str
    width_pt: float


class _FindingsBlock(_Shape):
    kind: Literal["findings"]
    items: list[_FindingItem]


class _FindingItem(_Shape):
    sign: str
    where: str
    sentence: str
    tries: str


class _CautionsBlock(_Shape):
    kind: Literal["cautions"]
    heading: str
    deference: str
    items: list[_CautionItem]


class _CautionItem(_Shape):
    title: str
    text: str
    source: str


class _LinesBlock(_Shape):
    kind: Literal["lines"]
    lines: list[str]
    changed: list[_Change] = []


_Block = Annotated[
    _TableBlock | _StepsBlock | _PictureBlock | _FindingsBlock | _CautionsBlock | _LinesBlock,
    Field(discriminator="kind"),
]


class _LeafShape(_Shape):
    title: str
    note: str
    main: list[_Block]
    side: list[_Block]
    flow: list[_Block]


class _PagesShape(_Shape):
    title: str
    line: str
    issue: str
    replaces: str
    foot: str
    paper: str
    confidential: bool
    colours: dict[str, str]
    leaves: Annotated[list[_LeafShape], Field(min_length=1)]


def _pages(value: dict[str, Any]) -> dict[str, Any]:
    """Pages that the template can set, as they were: nothing in them is touched."""
    _PagesShape.model_validate(value)
    return value


def _style_document(value: dict[str, Any]) -> dict[str, Any]:
    """The document of a style, as far as it is read again: its yarns are tables."""
    yarns = value.get("yarns", {})
    if not isinstance(yarns, dict) or not all(isinstance(each, dict) for each in yarns.values()):
        raise ValueError("its yarns are no tables")
    return value


class Before(_Part):
    """The issue that is replaced."""

    number: Count
    when: When


class Change(_Part):
    """A difference in a record."""

    leaf: str
    where: str
    old: str
    new: str
    column: str = ""


class Handed(_Part):
    """What the one who issues says, beside the style: which issue it is, of which version, for whom.

    `when` is a date or an instant as ISO 8601 has it.
    """

    number: Count
    style_version: Count
    when: When
    by: Line = ""
    recipients: Annotated[tuple[Line, ...], Field(max_length=MOST_RECIPIENTS)] = ()
    note: Text = ""


class Issued(Handed):
    """An issue: what was said of it, the document of the style, its pages as printed, and the hash of every file."""

    format: Literal["loopwright issue 1"] = FORMAT
    program_version: Line
    paper: str
    language: str = "en"
    replaces: Before | None = None
    changes: tuple[Change, ...] = ()
    inputs: Annotated[dict[str, Any], AfterValidator(_style_document)]
    pages: Annotated[dict[str, Any], AfterValidator(_pages)]
    files: dict[Line, Hash]

    @property
    def differences(self) -> tuple[Difference, ...]:
        """What had changed since the issue before."""
        return tuple(Difference(each.leaf, each.where, each.old, each.new, each.column) for each in self.changes)

    def as_json(self) -> bytes:
        """The record as JSON."""
        return document_json(self.model_dump())


def handed(**said: Any) -> Handed:
    """What the one who issues says, checked.

    Raises:
        Problem: a name or the note is too long or holds half a sign, or there are too many names.
    """
    try:
        return Handed(**said)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = f"issue, {first['loc'][0]}"
        if "too_long" not in first["type"]:
            raise Problem(where, "this holds signs that cannot be kept.", tries=["type it again"]) from None
        limit = _LIMITS.get(str(first["loc"][0]), "200 signs")
        raise Problem(where, "this is too long.", limit=limit, tries=["say it shorter"]) from None


_LIMITS = {"recipients": f"{MOST_RECIPIENTS} names of 200 signs", "note": "5000 signs"}


def read_issue(data: bytes, where: str = _WHERE) -> Issued:
    """The record of an issue from its JSON.

    Raises:
        Problem: it is no record, not whole, or written by a newer program.
    """
    if len(data) > MOST_BYTES:
        raise Problem(where, f"it is {len(data) / 1e6:.0f} MB long.", limit=f"{MOST_BYTES / 1e6:g} MB")
    try:
        document = orjson.loads(data)
    except orjson.JSONDecodeError:
        raise _no_issue(where) from None
    return issue_of(document, where)


def issue_of(document: Any, where: str = _WHERE) -> Issued:
    """The record of an issue from its values.

    Raises:
        Problem: it is no record, not whole, or written by a newer program.
    """
    said = document.get("format") if isinstance(document, Mapping) else None
    if not isinstance(said, str) or not said.startswith(_OWN):
        raise _no_issue(where)
    if said != FORMAT:
        tries = ["install the newest version of this program"]
        raise Problem(where, f"it is a “{said[:60]}”, and this program knows “{FORMAT}”.", tries=tries)
    try:
        issued = Issued.model_validate(document)
    except (ValidationError, RecursionError) as error:
        first = error.errors(include_url=False, include_input=False)[0]["loc"] if hasattr(error, "errors") else ()
        place = ".".join(map(str, first))[:200] or "its pages"
        raise Problem(where, f"it is damaged: {place} is not what an issue holds there.", tries=[_WHOLE]) from None
    if issued.language not in LANGUAGES:
        raise Problem(where, f"it is damaged: “{issued.language[:20]}” is no language of a pack.", tries=[_WHOLE])
    if issued.pages["paper"] != PAPERS.get(issued.paper):
        raise Problem(where, "it is damaged: its paper is not that of its pages.", tries=[_WHOLE])
    return issued


_WHOLE = "take the file as it was written"


def _no_issue(where: str) -> Problem:
    return Problem(where, "this is not the whole record of an issue.", tries=[_WHOLE])


def day_words(when: str) -> str:
    """The day of an instant as it is printed.

    >>> day_words("2026-11-18T09:30:00+00:00"), day_words("2026-11-08")
    ('18 November 2026', '8 November 2026')
    """
    at = datetime.datetime.fromisoformat(when)
    return f"{at.day} {at:%B %Y}"
