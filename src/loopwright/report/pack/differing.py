"""What differs between the pages of two packs, as a technician looks for it: leaf, place on it, what was and what is.

In: two documents of pages (`pages.pages_document`). Out: `Difference`s in the order of the newer pages, and the pages
with each changed cell and step marked. Leaves are matched by title, tables by their first head, rows by label, columns
by head, steps by what is done, lines by their text. Numbers are compared as they are printed, with spread and letter.
Not covered: what an issue is (`issued`); where in a drawing it changed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import groupby
from typing import Any, TypeVar

NOT_THERE = "not there"
TAKEN_OUT = "taken out"
DRAWING_CHANGED = "drawing changed"
OF_ISSUE = "of_issue"  # marks leaves and blocks that tell of the issue itself, which are not compared
REGIONS = ("main", "side", "flow")

Pages = Mapping[str, Any]
Spot = tuple[int, str, int, tuple[int, ...]]  # leaf, region, block, cell or line in it
K = TypeVar("K", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Difference:
    """One place that says something else: the leaf, where on it, what was there and what is now.

    `where` is a row of a table, and `column` the cell in it; a place that is no cell has no column.
    """

    leaf: str
    where: str
    old: str
    new: str
    column: str = ""

    @property
    def place(self) -> str:
        """Row and column in one."""
        return f"{self.where}, {self.column}" if self.column else self.where

    @property
    def is_drawing(self) -> bool:
        """Whether it is a drawing, of which only that it changed is known."""
        return self.new == DRAWING_CHANGED

    @property
    def is_figure(self) -> bool:
        """Whether a number stands in what was or is."""
        return not self.is_drawing and any(sign.isdigit() for sign in self.old + self.new)

    def as_dict(self) -> dict[str, str]:
        """JSON form."""
        return {"leaf": self.leaf, "where": self.where, "column": self.column, "old": self.old, "new": self.new}


@dataclass(frozen=True, slots=True)
class Found:
    """A difference and its spot on the newer pages; none for what has no cell there of its own, or is not there."""

    difference: Difference
    spot: Spot | None = None


def differences(old: Pages, new: Pages) -> tuple[Difference, ...]:
    """All that differs from the old pages to the new ones."""
    return tuple(found.difference for found in compared(old, new))


def in_rows(found: Iterable[Difference]) -> Iterator[tuple[str, str, str]]:
    """Place, what was, what is: the cells of one row together.

    >>> rib, long = Difference("Back", "Size: S", "54", "52", "rib"), Difference("Back", "Size: S", "60", "64", "cm")
    >>> list(in_rows([rib, long]))
    [('Size: S: rib, cm', '54, 60', '52, 64')]
    """
    for _, within in groupby(found, key=lambda each: (each.leaf, each.where)):
        cells = list(within)
        if all(each.column for each in cells) and len(cells) > 1:
            columns = ", ".join(each.column for each in cells)
            yield f"{cells[0].where}: {columns}", ", ".join(c.old for c in cells), ", ".join(c.new for c in cells)
        else:
            yield from ((each.place, each.old, each.new) for each in cells)


def counted(found: Iterable[Difference]) -> str:
    """How many places differ, in words; empty when none does.

    >>> figure = Difference("Back", "neck", "12 cm", "13 cm")
    >>> counted([figure, Difference("Back", "outline", "drawing", DRAWING_CHANGED)])
    '1 figure and 1 drawing differ'
    >>> counted([Difference("Make-up", "side seam", "linked", "cup-seamed")])
    '1 line of words differs'
    """
    kinds = Counter("drawing" if each.is_drawing else "figure" if each.is_figure else "words" for each in found)
    names = (("figure", "figure", "figures"), ("words", "line of words", "lines of words"))
    said = [
        f"{kinds[kind]} {one if kinds[kind] == 1 else many}"
        for kind, one, many in (*names, ("drawing", "drawing", "drawings"))
        if kinds[kind]
    ]
    if not said:
        return ""
    words = said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
    return f"{words} {'differs' if kinds.total() == 1 else 'differ'}"


def compared(old: Pages, new: Pages) -> Iterator[Found]:
    """What differs, each with its spot on the new pages."""
    for key, where in (("line", "head"), ("foot", "foot")):
        if old[key] != new[key]:
            yield Found(Difference("Every leaf", where, _plain(old[key]), _plain(new[key])))
    before, now = _leaves(old), _leaves(new)
    for one, other in _matched([leaf["title"] for leaf in before], [leaf["title"] for leaf in now]):
        if other is None:
            assert one is not None
            yield Found(Difference(before[one]["title"], "the whole leaf", "there", TAKEN_OUT))
        elif one is None:
            yield Found(Difference(now[other]["title"], "the whole leaf", NOT_THERE, "new"))
        else:
            yield from _of_leaf(before[one], now[other], new["leaves"].index(now[other]))


def marked(pages: Pages, found: Iterable[Found]) -> dict[str, Any]:
    """The pages with every changed cell, step and line marked by what it was."""
    whole: dict[str, Any] = deepcopy(dict(pages))
    for each in found:
        if each.spot is not None:
            leaf, region, block, cell = each.spot
            changed = whole["leaves"][leaf][region][block].setdefault("changed", [])
            changed.append({"at": list(cell), "was": each.difference.old})
    return whole


def _leaves(pages: Pages) -> list[Any]:
    return [leaf for leaf in pages["leaves"] if not leaf.get(OF_ISSUE)]


def _of_leaf(old: Any, new: Any, leaf: int) -> Iterator[Found]:
    title = new["title"]
    if old["note"] != new["note"]:
        yield Found(Difference(title, "under the title", _plain(old["note"]), _plain(new["note"])))
    before, now = list(_blocks(old)), list(_blocks(new))
    for one, other in _matched([_name(block) for _, _, block in before], [_name(block) for _, _, block in now]):
        if one is None or other is None:
            gone = other is None
            block = before[one][2] if one is not None and gone else now[other or 0][2]
            was, now_is = ("there", TAKEN_OUT) if gone else (NOT_THERE, "new")
            yield Found(Difference(title, _place_of(block), was, now_is))
            continue
        region, number, block = now[other]
        for told in _COMPARE[block["kind"]](before[one][2], block):
            spot = None if told.cell is None else (leaf, region, number, told.cell)
            yield Found(
                Difference(title, _plain(told.where), _plain(told.old), _plain(told.new), _plain(told.column)), spot
            )


def _blocks(leaf: Any) -> Iterator[tuple[str, int, Any]]:
    """Region, number in it, and block, of every block that tells of the style."""
    for region in REGIONS:
        for number, block in enumerate(leaf[region]):
            if not block.get(OF_ISSUE):
                yield region, number, block


def _name(block: Any) -> tuple[str, str]:
    """By what a block is found again on the other pages; those without a heading go by their order."""
    if block["kind"] == "table":
        return "table", _first_head(block)
    return block["kind"], block.get("heading", "")


def _first_head(table: Any) -> str:
    return next((head for head in table["head"] if head), "")


def _place_of(block: Any) -> str:
    """What a whole block is called."""
    words = {"picture": "a drawing", "findings": "points", "cautions": "cautions", "lines": "a remark"}
    kind, name = _name(block)
    return _plain(name) or words.get(kind, kind)


@dataclass(frozen=True, slots=True)
class Told:
    """What differs in a block, and the cell or line of the newer one that it stands in."""

    where: str
    old: str
    new: str
    cell: tuple[int, ...] | None = None
    column: str = ""


def _of_table(old: Any, new: Any) -> Iterator[Told]:
    """Cell by cell; a row, or a column, that only one table has is told once."""
    lead = next((at for at, head in enumerate(new["head"]) if head), 0)
    columns = list(_columns(old["head"], new["head"], lead))
    table = _first_head(new)
    for one, other in columns:
        was, now = _at(old["head"], one), _at(new["head"], other)
        if was != now:
            yield Told(f"{table}, column", was or NOT_THERE, now or TAKEN_OUT)
    before, now_rows = [_label(row, lead) for row in old["rows"]], [_label(row, lead) for row in new["rows"]]
    for above, below in _matched(before, now_rows):
        if above is None or below is None:
            row, label = (old["rows"][above], before[above]) if above is not None else _row_of(new, now_rows, below)
            said = " · ".join(filter(None, map(cell_text, row[lead + 1 :]))) or "there"
            if below is None:
                yield Told(f"{table}: {label}", said, TAKEN_OUT)
            else:
                yield Told(f"{table}: {label}", NOT_THERE, said, (below, lead))
            continue
        for one, other in columns:
            if one is None or other is None:
                continue
            was, now = cell_text(old["rows"][above][one]), cell_text(new["rows"][below][other])
            if was != now:
                column = new["head"][other] if len(columns) > 1 else ""
                yield Told(f"{table}: {now_rows[below]}", was or "–", now or "–", (below, other), column)
    if old["caption"] != new["caption"]:
        yield Told(f"{table}, remark under it", old["caption"] or NOT_THERE, new["caption"] or TAKEN_OUT)


def _row_of(table: Any, labels: Sequence[str], at: int | None) -> tuple[Any, str]:
    assert at is not None
    return table["rows"][at], labels[at]


def _columns(old: Sequence[str], new: Sequence[str], lead: int) -> Iterator[tuple[int | None, int | None]]:
    """Pairs of columns behind the label: those of one head, then those left over when they are as many."""
    pairs = list(_matched(old[lead + 1 :], new[lead + 1 :]))
    gone = [one for one, other in pairs if one is not None and other is None]
    come = [other for one, other in pairs if one is None]
    renamed = dict(zip(come, gone, strict=True)) if len(gone) == len(come) else {}
    for one, other in pairs:
        if other is None and one in renamed.values():
            continue
        before = renamed.get(other, one)
        yield None if before is None else before + lead + 1, None if other is None else other + lead + 1


def _at(words: Sequence[str], at: int | None) -> str:
    return "" if at is None else words[at]


def _label(row: Sequence[Any], lead: int) -> str:
    """What a row is called: its cells up to the first column that has a head."""
    return " ".join(filter(None, map(cell_text, row[: lead + 1])))


def cell_text(cell: Any) -> str:
    """A cell in a line of text: value, spread and unit, letter.

    >>> cell_text({"text": "6.8", "spread": " ± 0.3 per cm", "letter": "P", "basis": "published"})
    '6.8 ± 0.3 per cm, P'
    """
    if isinstance(cell, str):
        return _plain(cell)
    letter = f", {cell['letter']}" if cell["letter"] else ""
    return _plain(f"{cell['text']}{cell['spread']}{letter}")


def _of_lines(pairs: Callable[[Any], list[tuple[str, str]]], name: Callable[[Any], str]) -> Callable[[Any, Any], Any]:
    """How blocks of named lines are compared: in their order, each line by its name."""

    def compare(old: Any, new: Any) -> Iterator[Told]:
        before, now, head = pairs(old), pairs(new), name(new)
        place = f"{head}: " if head else ""
        for one, other in _in_order([what for what, _ in before], [what for what, _ in now]):
            if one is None:
                assert other is not None
                yield Told(f"{place}{now[other][0]}", NOT_THERE, now[other][1], (other,))
            elif other is None:
                yield Told(f"{place}{before[one][0]}", before[one][1], TAKEN_OUT)
            elif before[one][1] != now[other][1]:
                yield Told(f"{place}{now[other][0]}", before[one][1], now[other][1], (other,))

    return compare


def _remarks(old: Any, new: Any) -> Iterator[Told]:
    """Sentences: those that stay are found by their text, others stand in for each other in their order."""
    lines = old["lines"], new["lines"]
    for what, start, end, first, last in SequenceMatcher(None, *lines, autojunk=False).get_opcodes():
        if what == "equal":
            continue
        for step in range(max(end - start, last - first)):
            was = lines[0][start + step] if start + step < end else NOT_THERE
            has = first + step < last
            yield Told("remark", was, lines[1][first + step] if has else TAKEN_OUT, (first + step,) if has else None)


def _of_picture(old: Any, new: Any) -> Iterator[Told]:
    if old["svg"] != new["svg"]:
        words = new["alt"].partition(",")[0].partition(":")[0]
        yield Told(words, "drawing", DRAWING_CHANGED)


def _finding(item: Mapping[str, str]) -> tuple[str, str]:
    return item["where"], " ".join(filter(None, (f"{item['sign']}:", item["sentence"], item["tries"])))


_COMPARE: Mapping[str, Callable[[Any, Any], Iterable[Told]]] = {
    "table": _of_table,
    "picture": _of_picture,
    "lines": _remarks,
    "steps": _of_lines(lambda block: [(what, said) for what, said in block["lines"]], lambda block: block["heading"]),
    "findings": _of_lines(lambda block: [_finding(item) for item in block["items"]], lambda _: ""),
    "cautions": _of_lines(
        lambda block: [(item["title"], f"{item['text']} {item['source']}") for item in block["items"]],
        lambda block: block["heading"],
    ),
}


def _matched(old: Sequence[K], new: Sequence[K]) -> Iterator[tuple[int | None, int | None]]:
    """Pairs of places that hold the same, the first with the first, the second with the second; then what is gone."""
    before = {key: at for at, key in enumerate(_numbered(old))}
    keys = list(_numbered(new))
    for at, key in enumerate(keys):
        yield before.get(key), at
    there = set(keys)
    yield from ((at, None) for key, at in before.items() if key not in there)


def _numbered(keys: Iterable[K]) -> Iterator[tuple[K, int]]:
    """Each key with how often it came before."""
    seen: Counter[K] = Counter()
    for key in keys:
        yield key, seen[key]
        seen[key] += 1


def _in_order(old: Sequence[str], new: Sequence[str]) -> Iterator[tuple[int | None, int | None]]:
    """Pairs of places along two rows of names, so that one put between moves no other."""
    for what, start, end, first, last in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if what == "equal":
            yield from zip(range(start, end), range(first, last), strict=True)
        else:
            yield from ((at, None) for at in range(start, end))
            yield from ((None, at) for at in range(first, last))


def _plain(text: str) -> str:
    """Text without the room to break that only pages need."""
    return text.replace("\u200b", "")
