"""Issuing a pack: its pages with what changed since the issue before, its files, and its record.

In: a study, the document of its style, what the one who issues says, the last issue. Out: `Issued` and the files by
name, the record among them. The record in the files leaves money, targets and records out, as the rest of the pack
does; the one that is returned has the whole style.
Not covered: what an issue holds (`issued`), how pages are compared (`differing`), where issues are kept (`store`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from itertools import groupby
from typing import Any

from loopwright import __version__
from loopwright.problems import Problem
from loopwright.report.blocks import Block, Lines, Steps, Table
from loopwright.report.pack.differing import OF_ISSUE, Difference, compared, counted, in_rows, marked
from loopwright.report.pack.issued import ISSUE_FILE, Before, Change, Handed, Issued, day_words
from loopwright.report.pack.leaves import Leaf, is_of_money, pack_of
from loopwright.report.pack.pages import leaf_document, pages_document, pages_pdf, require_paper
from loopwright.report.pack.writing import FORMATS, pack_files, style_for_the_factory
from loopwright.study.study import StyleStudy

PAGES_FILE = "specification.pdf"
MOST_OF_A_LEAF = 16  # rows told of one leaf; the rest is marked on the leaf itself, and stands in the record


def issue_pack(
    study: StyleStudy,
    document: Mapping[str, Any],
    said: Handed,
    *,
    last: Issued | None = None,
    formats: Sequence[str] = FORMATS,
    paper: str = "A4",
    language: str = "en",
) -> tuple[Issued, dict[str, bytes]]:
    """An issue and its files.

    Raises:
        Problem: what stops a pack, or a number that does not follow the last issue.
    """
    require_paper(paper)
    if last is not None and said.number <= last.number:
        raise Problem("issue", f"issue {said.number} does not follow issue {last.number}.", limit=f"{last.number + 1}")
    plain = pages_document(pack_of(study), paper)
    found = tuple(compared(last.pages, plain)) if last else ()
    changes = tuple(each.difference for each in found)
    pages = _with_issue(marked(plain, found), said, last, changes, decided(last.inputs, document) if last else ())
    files = pack_files(study, formats, paper=paper, language=language, pages=pages)
    issued = Issued(
        **said.model_dump(),
        program_version=__version__,
        paper=paper,
        language=language,
        replaces=Before(number=last.number, when=last.when) if last else None,
        changes=tuple(Change(**each.as_dict()) for each in changes),
        inputs=dict(document),
        pages=pages,
        files={name: sha256(data).hexdigest() for name, data in files.items()},
    )
    return issued, {**files, ISSUE_FILE: for_the_factory(issued).as_json()}


def for_the_factory(issued: Issued) -> Issued:
    """The record as it leaves the house: without money, targets and records of swatches and samples."""
    return issued.model_copy(update={"inputs": style_for_the_factory(issued.inputs)})


def issue_pdf(issued: Issued) -> bytes:
    """The pages of an issue from its record.

    Raises:
        Problem: the pages cannot be set.
    """
    return pages_pdf(issued.pages, issued.language)


def differs_from(study: StyleStudy, last: Issued) -> tuple[Difference, ...]:
    """What has changed in a study since an issue.

    Raises:
        Problem: what stops a pack.
    """
    now = pages_document(pack_of(study), last.paper)
    return tuple(each.difference for each in compared(last.pages, now))


def _with_issue(
    pages: dict[str, Any],
    said: Handed,
    last: Issued | None,
    changes: Sequence[Difference],
    decisions: Sequence[tuple[str, str]],
) -> dict[str, Any]:
    """Pages that name their issue in the head and tell of it first."""
    box = _told(Leaf("", "", (_box(said),)))["main"][0]
    replaces = f"replaces issue {last.number} of {day_words(last.when)}" if last else "first issue"
    heads = {
        "issue": f"Issue {said.number} · {day_words(said.when)}",
        "replaces": " · ".join(filter(None, (replaces, pages["replaces"]))),
    }
    if last is None:
        first, *rest = pages["leaves"]
        leaves = [{**first, "flow": [box, *first["flow"]]}, *rest]
    else:
        leaves = [_changes_leaf(said, last, changes, decisions), *pages["leaves"]]
    return {**pages, **heads, "leaves": leaves}


def _told(leaf: Leaf) -> dict[str, Any]:
    """A leaf of the issue itself, marked as such with all its blocks."""
    whole = leaf_document(leaf)
    return {**whole, OF_ISSUE: True, "main": [{**block, OF_ISSUE: True} for block in whole["main"]]}


def _box(said: Handed) -> Steps:
    """Who gives it to whom."""
    lines = (
        ("for", "; ".join(said.recipients)),
        ("from", said.by),
        ("version of the style", str(said.style_version)),
        ("note", said.note.strip()),
    )
    return Steps(f"Issue {said.number}", tuple((what, words) for what, words in lines if words))


def _changes_leaf(
    said: Handed, last: Issued, changes: Sequence[Difference], decisions: Sequence[tuple[str, str]]
) -> dict[str, Any]:
    """The first leaf of a later issue."""
    blocks: list[Block] = [_box(said), Lines(tuple(_summary(last, changes)))]
    if decisions:
        blocks.append(Steps("Decided otherwise", tuple(decisions)))
    if changes:
        blocks.append(changes_table(changes))
    return _told(Leaf(f"What changed since issue {last.number}", "", tuple(blocks)))


def _summary(last: Issued, changes: Sequence[Difference]) -> Iterator[str]:
    """What the leaf says before its table."""
    if not changes:
        yield nothing_differs(last)
        return
    words = counted(changes)
    yield f"{words}. Nothing else. Changed cells and steps have a ground and a frame, and say what they were."
    if last.program_version != __version__:
        yield (
            f"Issue {last.number} was made by version {last.program_version} of the program, this one by "
            f"{__version__}: some of it may come from there."
        )


def nothing_differs(last: Issued) -> str:
    """The sentence of an issue that says what the last one said."""
    return f"Nothing differs from issue {last.number} of {day_words(last.when)}."


def decided(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """What the style's author set otherwise, as far as the factory is told: place, and its value before and after.

    >>> decided({"garment": {"measures_cm": {"length": 62}}}, {"garment": {"measures_cm": {"length": 66.5}}})
    (('garment, measures, length, cm', '62 → 66.5'),)
    """
    before, after = dict(_fields(style_for_the_factory(old))), dict(_fields(style_for_the_factory(new)))
    places = [path for path in dict.fromkeys((*before, *after)) if before.get(path) != after.get(path)]
    return tuple(
        (_place_words(path), f"{before.get(path, LEFT_OUT)} → {after.get(path, LEFT_OUT)}")
        for path in places
        if not is_of_money(".".join(path))
    )


LEFT_OUT = "left out"
UNITS = ("cm", "mm", "deg", "g", "percent")  # at the end of a field's name


def _fields(table: Mapping[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every field with its value in words."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _fields(value, (*path, key))
        elif isinstance(value, list | tuple):
            yield (*path, key), ", ".join(map(_value_words, value))
        else:
            yield (*path, key), _value_words(value)


def _value_words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return ", ".join(said for _, said in _fields(value)) if isinstance(value, Mapping) else str(value)


def _place_words(path: Sequence[str]) -> str:
    """A field in words, its unit last."""
    parts, unit = [], ""
    for part in path:
        name, _, end = part.rpartition("_")
        if name and end in UNITS:
            part, unit = name, end
        parts.append(part.replace("_", " "))
    return ", ".join(filter(None, (*parts, unit)))


def changes_table(changes: Sequence[Difference], most: int = MOST_OF_A_LEAF) -> Table:
    """Where, what was, what is; each leaf named over its own, with `most` rows of one that changed throughout."""
    rows: list[tuple[str, str, str]] = []
    strong: set[int] = set()
    for leaf, within in groupby(changes, key=lambda each: each.leaf):
        strong.add(len(rows))
        rows.append((leaf, "", ""))
        told = list(in_rows(within))
        rows += told[:most]
        if more := told[most:]:
            rows.append((f"and {len(more)} more on this leaf, each marked there", "", ""))
    return Table(("Where", "was", "is now"), tuple(rows), words=(0, 1, 2), strong=frozenset(strong))
