"""A table in a file that a person sends: CSV in any usual writing, or the first sheet of a workbook that holds one.

In: the bytes of a file, its name, what kind of table is looked for, and how its rows are read. Out: `FileRead`, what
the reading gave, the sheet it stood on, and findings about the file. A CSV is read as UTF-8 or UTF-16; other bytes are
taken as Western European with a finding. Not covered: what the cells mean (`garment.table_text`, `garment.pieces`).
"""

from __future__ import annotations

import codecs
import datetime
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from python_calamine import CalamineError, CalamineWorkbook

from loopwright.garment.table_layout import Cell
from loopwright.problems import Finding, Problem, Sign
from loopwright.report.packed_workbook import PackedSheet, packed_workbook

T = TypeVar("T")
MOST_BYTES = 5_000_000

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # compound file: the workbooks before XLSX, and protected ones
_PROTECTED = "EncryptedPackage".encode("utf-16-le")


@dataclass(frozen=True, slots=True)
class FileRead(Generic[T]):
    """A table from a file, the sheet it stood on (empty for CSV), and what is worth knowing about the file."""

    table: T
    sheet: str
    findings: tuple[Finding, ...]


def table_of_file(
    data: bytes,
    name: str,
    what: str,
    *,
    of_text: Callable[[str], T],
    of_rows: Callable[[Sequence[Sequence[Cell]]], T],
) -> FileRead[T]:
    """The table in a CSV or XLSX file; `what` is its kind in words ("size table").

    Raises:
        Problem: no such file, one that is too large, protected or damaged, or no such table in it.
    """
    try:
        _require_table_file(data, what)
        if data.startswith(b"PK"):
            return _of_workbook(data, what, of_rows)
        text, findings = _decoded(data, what)
        return FileRead(of_text(text), "", findings)
    except Problem as problem:
        raise problem.at(f"file {name}") from None


def _require_table_file(data: bytes, what: str) -> None:
    tries = [f"save the {what} as XLSX or CSV"]
    if not data.strip():
        raise Problem("", "it is empty.", tries=tries)
    if len(data) > MOST_BYTES:
        size, limit = f"it has {len(data) / 1e6:.1f} MB.", f"{MOST_BYTES / 1e6:.0f} MB"
        raise Problem("", size, limit=limit, tries=[f"a file with the {what} alone, without pictures"])
    if data.startswith(_OLD_WORKBOOK):
        if _PROTECTED in data:
            raise Problem("", "it is protected by a password.", tries=["save it without the password"])
        raise Problem("", "it is a workbook of the kind before XLSX.", tries=tries)
    if data.startswith(b"%PDF"):
        raise Problem("", "it is a PDF, which holds drawn words and no cells.", tries=tries)


def _decoded(data: bytes, what: str) -> tuple[str, tuple[Finding, ...]]:
    """The text of a file and, where its letters had to be guessed, a finding that says so."""
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
        findings: tuple[Finding, ...] = ()
    except UnicodeDecodeError:
        text, findings = _western(data, what, is_wide=wide)
    if "\x00" in text:
        raise Problem("", "it is no text and no workbook.", tries=[f"save the {what} as XLSX or CSV"])
    return text, findings


def _western(data: bytes, what: str, *, is_wide: bool) -> tuple[str, tuple[Finding, ...]]:
    try:
        text = data.decode("utf-16" if is_wide else "cp1252")
    except UnicodeDecodeError:
        letters, ways = "its letters are written in a way that is not known here.", ["save it as XLSX or CSV in UTF-8"]
        raise Problem("", letters, tries=ways) from None
    sentence = "The file is not UTF-8; its letters were taken as Western European (Windows-1252)."
    tries = ("look at fractions and accented letters", "save it as CSV in UTF-8")
    return text, (Finding(Sign.KNOW, what, sentence, tries),)


def _of_workbook(data: bytes, what: str, of_rows: Callable[[Sequence[Sequence[Cell]]], T]) -> FileRead[T]:
    """The table of the first shown sheet that holds one."""
    packed = packed_workbook(data)
    refused: dict[str, Problem] = {}
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(packed.data)) as workbook:
            for sheet in packed.sheets:
                if not sheet.is_shown:
                    continue
                try:
                    read = of_rows(_rows(workbook, sheet, what))
                except Problem as problem:
                    refused[sheet.name] = problem
                else:
                    return FileRead(read, sheet.name, tuple(_about_sheets(packed.sheets, sheet.name, refused)))
    except CalamineError:
        damaged = "it is damaged and cannot be read."
        raise Problem("workbook", damaged, tries=["open it in a spreadsheet and save it anew"]) from None
    raise _no_sheet(refused, what)


def _rows(workbook: CalamineWorkbook, sheet: PackedSheet, what: str) -> list[list[Cell]]:
    """The cells of a sheet from its first row and column, errors and unworked formulas put in as texts."""
    if not sheet.is_small:
        large = f"the sheet is far larger than a {what}, or a cell stands at its far end."
        raise Problem(what, large, tries=[f"a sheet with the {what} alone"])
    rows = [[_cell(value) for value in row] for row in workbook.get_sheet_by_name(sheet.name).to_python(False)]
    for (row, column), text in sheet.silent.items():
        rows.extend([] for _ in range(len(rows), row + 1))
        rows[row].extend([None] * (column + 1 - len(rows[row])))
        rows[row][column] = text
    return rows


def _cell(value: object) -> Cell:
    """A value of a sheet as text or number; dates and times as the text that says what they are."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, (int, float)):
        return float(value)
    if isinstance(value, datetime.date):  # a date with a time of day among them
        return value.isoformat()
    return str(value) if value != "" else None


def _about_sheets(sheets: Sequence[PackedSheet], read: str, refused: Mapping[str, Problem]) -> Iterator[Finding]:
    """Which sheet was read, and why those before it were not."""
    for name, problem in refused.items():
        yield Finding(Sign.KNOW, f"sheet {name}", f"Nothing was read from it: {problem.what}", problem.tries)
    others = [sheet.name for sheet in sheets if sheet.name != read and sheet.name not in refused]
    if others:
        yield Finding(Sign.KNOW, f"sheet {read}", f"It was read; not looked at: {', '.join(others)}.")


def _no_sheet(refused: Mapping[str, Problem], what: str) -> Problem:
    if len(refused) == 1:
        ((name, problem),) = refused.items()
        return problem.at(f"sheet {name}")
    if not refused:
        return Problem("workbook", "it shows no sheet with cells.", tries=[f"unhide the sheet with the {what}"])
    first, problem = next(iter(refused.items()))
    none = f"none of its {len(refused)} sheets holds a {what} ({', '.join(refused)}). On {first}: {problem.what}"
    return Problem("workbook", none, limit=problem.limit, tries=problem.tries)
