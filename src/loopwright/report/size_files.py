"""The size specification as a file: written as CSV, and read back or taken from a buyer as CSV or XLSX.

In: a size table, or the bytes of a file with its name and the points of the garment. Out: bytes; or `FileRead`, the
table in cm with what could not be used, the sheet it stood on, and findings about the file. A CSV is read as UTF-8 or
UTF-16; other bytes are taken as Western European with a finding.
Not covered: writing XLSX (`size_workbook`), reading the numbers (`garment.table_text`).
"""

from __future__ import annotations

import codecs
import csv
import datetime
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from python_calamine import CalamineError, CalamineWorkbook

from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import how_to_measure, letter_of_point, tolerance_cm, words_of
from loopwright.garment.table_layout import Cell
from loopwright.garment.table_text import TableRead, table_of_rows, table_of_text
from loopwright.problems import Finding, Problem, Sign
from loopwright.report.packed_workbook import PackedSheet, packed_workbook

MOST_BYTES = 5_000_000
CSV_DECIMALS = 3  # a hundredth of a millimetre

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # compound file: the workbooks before XLSX, and protected ones
_PROTECTED = "EncryptedPackage".encode("utf-16-le")
_FORMULA_SIGNS = ("=", "+", "-", "@")


@dataclass(frozen=True, slots=True)
class FileRead:
    """A table from a file, the sheet it stood on (empty for CSV), and what is worth knowing about the file."""

    table: TableRead
    sheet: str
    findings: tuple[Finding, ...]


def size_csv(table: SizeTable) -> bytes:
    """The size specification as CSV in cm: UTF-8 with its mark, commas, decimal points, hand-set sizes named last."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    sizes = [_stays_text(size) for size in table.sizes]
    writer.writerow(["letter", "measure, cm", "how to measure", "tolerance ±, cm", *sizes, "set by hand"])
    for name in table.names:
        words = (letter_of_point(name), words_of(name), how_to_measure(name))
        values = [_number(table.value_cm(size, name)) for size in table.sizes]
        by_hand = ", ".join(size for size in table.sizes if table.is_hand_set(size, name))
        writer.writerow([*map(_stays_text, words), _number(tolerance_cm(name)), *values, _stays_text(by_hand)])
    return codecs.BOM_UTF8 + text.getvalue().encode("utf-8")


def _stays_text(words: str) -> str:
    """Words that no spreadsheet takes for a formula."""
    return f"'{words}" if words.startswith(_FORMULA_SIGNS) else words


def _number(value: float) -> str:
    return f"{value:.{CSV_DECIMALS}f}".rstrip("0").rstrip(".")


def size_table_of_file(
    data: bytes, name: str, points: Sequence[str], *, sizes: Sequence[str] = (), unit: str | None = None
) -> FileRead:
    """The size table in a CSV or XLSX file; `points`, `sizes`, `unit` as in `table_of_text`.

    Raises:
        Problem: no such file, one that is too large, protected or damaged, or no size table in it.
    """
    try:
        _require_table_file(data)
        if data.startswith(b"PK"):
            return _of_workbook(data, points, sizes, unit)
        return _of_text(data, points, sizes, unit)
    except Problem as problem:
        raise problem.at(f"file {name}") from None


def _require_table_file(data: bytes) -> None:
    tries = ["save the size table as XLSX or CSV"]
    if not data.strip():
        raise Problem("", "it is empty.", tries=tries)
    if len(data) > MOST_BYTES:
        what, limit = f"it has {len(data) / 1e6:.1f} MB.", f"{MOST_BYTES / 1e6:.0f} MB"
        raise Problem("", what, limit=limit, tries=["a file with the size table alone, without pictures"])
    if data.startswith(_OLD_WORKBOOK):
        if _PROTECTED in data:
            raise Problem("", "it is protected by a password.", tries=["save it without the password"])
        raise Problem("", "it is a workbook of the kind before XLSX.", tries=tries)
    if data.startswith(b"%PDF"):
        raise Problem("", "it is a PDF, which holds drawn words and no cells.", tries=tries)


def _of_text(data: bytes, points: Sequence[str], sizes: Sequence[str], unit: str | None) -> FileRead:
    text, findings = _decoded(data)
    return FileRead(table_of_text(text, points, sizes=sizes, unit=unit), "", findings)


def _decoded(data: bytes) -> tuple[str, tuple[Finding, ...]]:
    """The text of a file and, where its letters had to be guessed, a finding that says so."""
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
        findings: tuple[Finding, ...] = ()
    except UnicodeDecodeError:
        text, findings = _western(data, is_wide=wide)
    if "\x00" in text:
        raise Problem("", "it is no text and no workbook.", tries=["save the size table as XLSX or CSV"])
    return text, findings


def _western(data: bytes, *, is_wide: bool) -> tuple[str, tuple[Finding, ...]]:
    try:
        text = data.decode("utf-16" if is_wide else "cp1252")
    except UnicodeDecodeError:
        what, ways = "its letters are written in a way that is not known here.", ["save it as XLSX or as CSV in UTF-8"]
        raise Problem("", what, tries=ways) from None
    sentence = "The file is not UTF-8; its letters were taken as Western European (Windows-1252)."
    tries = ("look at fractions and accented letters", "save it as CSV in UTF-8")
    return text, (Finding(Sign.KNOW, "size table", sentence, tries),)


def _of_workbook(data: bytes, points: Sequence[str], sizes: Sequence[str], unit: str | None) -> FileRead:
    """The table of the first shown sheet that holds one."""
    packed = packed_workbook(data)
    refused: dict[str, Problem] = {}
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(packed.data)) as workbook:
            for sheet in packed.sheets:
                if not sheet.is_shown:
                    continue
                try:
                    read = table_of_rows(_rows(workbook, sheet), points, sizes=sizes, unit=unit)
                except Problem as problem:
                    refused[sheet.name] = problem
                else:
                    return FileRead(read, sheet.name, tuple(_about_sheets(packed.sheets, sheet.name, refused)))
    except CalamineError:
        what = "it is damaged and cannot be read."
        raise Problem("workbook", what, tries=["open it in a spreadsheet and save it anew"]) from None
    raise _no_sheet(refused)


def _rows(workbook: CalamineWorkbook, sheet: PackedSheet) -> list[list[Cell]]:
    """The cells of a sheet from its first row and column, errors and unworked formulas put in as texts."""
    if not sheet.is_small:
        what = "the sheet is far larger than a size table, or a cell stands at its far end."
        raise Problem("size table", what, tries=["a sheet with the size table alone"])
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


def _no_sheet(refused: Mapping[str, Problem]) -> Problem:
    if len(refused) == 1:
        ((name, problem),) = refused.items()
        return problem.at(f"sheet {name}")
    if not refused:
        return Problem("workbook", "it shows no sheet with cells.", tries=["unhide the sheet with the size table"])
    first, problem = next(iter(refused.items()))
    what = f"none of its {len(refused)} sheets holds a size table ({', '.join(refused)}). On {first}: {problem.what}"
    return Problem("workbook", what, limit=problem.limit, tries=problem.tries)
