"""The size table, and a buyer's table brought into it, as JSON and as tables of the sheet.

In: `SizeTable`, `Brought`, `FileRead`. Out: dictionaries whose keys are documented in docs/json.md, blocks, sentences.
Cm throughout. Not covered: files (`size_files`, `size_workbook`), the page (`web.size_preview`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import letter_of_point, tolerance_cm, words_of
from loopwright.garment.table_layout import CellNote
from loopwright.garment.table_text import TableRead
from loopwright.problems import Finding
from loopwright.report.blocks import Table
from loopwright.report.table_files import FileRead
from loopwright.report.tables import cm_text
from loopwright.study.brought_table import Brought, Way

CM_DECIMALS = 4
UNIT_WORDS = {"cm": "cm", "mm": "mm", "in": "inches"}


def size_table_document(table: SizeTable) -> dict[str, Any]:
    """The size table as JSON; `set` says whether a cell is typed, from the body, graded or set by hand."""
    return {
        "population": table.population,
        "base_size": table.base_size,
        "sizes": list(table.sizes),
        "points": [
            {
                "point": name,
                "letter": letter_of_point(name),
                "words": words_of(name),
                "tolerance_cm": tolerance_cm(name),
                "cells": {
                    size: {"cm": _cm(table.value_cm(size, name)), "set": table.cell(size, name).origin.value}
                    for size in table.sizes
                },
            }
            for name in table.names
        ],
    }


def brought_document(brought: Brought, file: FileRead[TableRead] | None = None) -> dict[str, Any]:
    """What a table would change, as JSON."""
    read = brought.read
    return {
        "sheet": file.sheet if file else "",
        "unit": read.unit,
        "is_unit_said": read.is_unit_said,
        "changes": [
            {
                "size": each.size,
                "point": each.point,
                "old_cm": _cm(each.old_cm),
                "new_cm": _cm(each.new_cm),
                "way": each.way.value,
            }
            for each in brought.changes
        ],
        "same": _cells(brought.same),
        "not_given": _cells(brought.not_given),
        "unknown_sizes": list(brought.unknown_sizes),
        "not_taken": [{"size": each.size, "point": each.point, "reason": each.reason} for each in brought.kept],
        "refused": _notes(read.refused),
        "passed_over": _notes(read.passed_over),
        "other_tolerances": [
            {"point": each.point, "theirs_cm": _cm(each.theirs_cm), "ours_cm": each.ours_cm}
            for each in brought.tolerances
        ],
        "contradictions": [problem.as_dict() for problem in brought.contradictions],
        "findings": [finding.as_dict() for finding in file.findings] if file else [],
    }


def _cm(value: float) -> float:
    return round(value, CM_DECIMALS)


def _cells(cells: Iterable[tuple[str, str]]) -> list[dict[str, str]]:
    return [{"size": size, "point": point} for size, point in cells]


def _notes(notes: Iterable[CellNote]) -> list[dict[str, Any]]:
    return [{"row": each.row, "column": each.column, "text": each.text, "reason": each.reason} for each in notes]


def size_table_block(table: SizeTable) -> Table:
    """Points of measure of every size, cm; hand-set cells marked."""
    rows, by_hand = [], set()
    for row, name in enumerate(table.names):
        cells = [cm_text(table.value_cm(size, name)) for size in table.sizes]
        by_hand |= {(row, column + 3) for column, size in enumerate(table.sizes) if table.is_hand_set(size, name)}
        rows.append((letter_of_point(name), words_of(name), f"± {tolerance_cm(name):g}", *cells))
    sizes = (f"{size} (base)" if size == table.base_size else size for size in table.sizes)
    caption = "* set by hand; the grade leaves it alone." if by_hand else ""
    head = ("", "Point of measure, cm", "tolerance", *sizes)
    return Table(head, tuple(rows), caption=caption, words=(0, 1), hand_set=frozenset(by_hand))


def changes_block(brought: Brought) -> Table:
    """Every cell that differs: point, size, cm before and after, and how it comes to it."""
    rows, by_hand, last = [], set(), ""
    for row, each in enumerate(brought.changes):
        words = words_of(each.point) if each.point != last else ""
        rows.append((words, each.size, cm_text(each.old_cm), cm_text(each.new_cm), each.way.value))
        by_hand |= {(row, 3)} if each.way is Way.BY_HAND else set()
        last = each.point
    head = ("Point of measure, cm", "size", "now", "then", "how")
    return Table(head, tuple(rows), words=(0, 1, 4), hand_set=frozenset(by_hand))


def refused_block(brought: Brought) -> Table:
    """Cells that gave no measure: row and column as a spreadsheet counts, what stands there, the reason."""
    rows = [(str(each.row), column_letters(each.column), each.text, each.reason) for each in brought.read.refused]
    rows += [("", each.size, words_of(each.point), each.reason) for each in brought.kept]
    return Table(("row", "column", "not taken", "reason"), tuple(rows), words=(1, 2, 3))


def column_letters(column: int) -> str:
    """The name of a column as spreadsheets have it, from 1.

    >>> column_letters(1), column_letters(27)
    ('A', 'AA')
    """
    letters = ""
    while column:
        column, place = divmod(column - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def outcome(brought: Brought) -> str:
    """What a table would change, in one sentence."""
    read, changes = brought.read, brought.changes
    if not read.measures_cm:
        return "No measure in the table can be taken."
    if not changes:
        return f"Nothing differs: all {len(read.measures_cm)} measures are in the style already, to half a millimetre."
    counts = {way: sum(each.way is way for each in changes) for way in Way}
    parts = [f"{count} {_WAYS[way]}" for way, count in counts.items() if count]
    what = "cell differs" if len(changes) == 1 else "cells differ"
    return f"{len(changes)} {what}: {', '.join(parts)}."


_WAYS = {
    Way.BASE: "of the base size",
    Way.BY_HAND: "set by hand",
    Way.GRADED: "graded with the base size",
    Way.FOLLOWS: "following from others",
}


def remarks(brought: Brought, findings: Sequence[Finding] = ()) -> Iterator[str]:
    """What else a person should know of a table before taking it."""
    read = brought.read
    if brought.same:
        yield f"{_counted(len(brought.same), 'cell')} of the table {_say(len(brought.same))} what the style says."
    unit = UNIT_WORDS[read.unit]
    yield f"Read in {unit}." if read.is_unit_said else f"The table names no unit: {unit} were taken."
    for size in brought.unknown_sizes:
        yield f"Size {size} is not among the sizes of the style; its column is left out."
    if brought.not_given:
        left_out = _counted(len(brought.not_given), "cell")
        yield f"The table leaves out {left_out} of the style: they stay, or follow from the others."
    for each in brought.tolerances:
        ours = f"the style has ± {each.ours_cm:g}"
        yield f"{words_of(each.point)}: the table's tolerance is ± {cm_text(each.theirs_cm)} cm, {ours} and keeps it."
    for finding in findings:
        yield finding.sentence


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _say(count: int) -> str:
    return "says" if count == 1 else "say"
