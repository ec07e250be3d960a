"""An XLSX workbook unpacked with care, before any reader lays its sheets out in full.

In: the bytes of a file. Out: `PackedWorkbook`, the same parts packed anew without pictures, and what stands in each
sheet that a reader of values would drop without a word: errors of formulas, and formulas that were never worked out.
Guarded: bytes that unpack to far more than a size table holds, one cell at the far end of a sheet (a reader lays out
every cell before it), one long text used in very many cells, entities in the XML.
Not covered: the values (`size_files`).
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

from loopwright.problems import Problem

MOST_UNPACKED_BYTES = 20_000_000
MOST_PARTS = 2_000
MOST_CELLS = 200_000  # rows times columns up to the last filled cell of a sheet
MOST_TEXT_BYTES = 100_000_000  # cells with text times the longest text of the workbook

_CELL_NAME = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_WORKBOOK = "xl/workbook.xml"
_RELATIONS = "xl/_rels/workbook.xml.rels"
_TEXTS = "xl/sharedStrings.xml"


@dataclass(frozen=True, slots=True)
class PackedSheet:
    """A sheet of figures: its name, whether it is shown and small enough to be read, and the cells without a value.

    `silent`: text of such cells, by (row, column) from 0: the error, or the formula.
    """

    name: str
    is_shown: bool
    is_small: bool
    silent: Mapping[tuple[int, int], str]


@dataclass(frozen=True, slots=True)
class PackedWorkbook:
    """A workbook packed anew, and its sheets in order."""

    data: bytes
    sheets: tuple[PackedSheet, ...]


def packed_workbook(data: bytes) -> PackedWorkbook:
    """The workbook in the bytes of an XLSX file.

    Raises:
        Problem: no workbook, a damaged one, or one that unpacks to too much.
    """
    parts = _parts(data)
    if _WORKBOOK not in parts or _RELATIONS not in parts:
        raise Problem("workbook", "it is packed like a workbook and holds no XLSX sheets.", tries=["save it as XLSX"])
    try:
        sheets = tuple(_sheets(parts))
    except (ElementTree.ParseError, LookupError, ValueError):
        raise _damaged() from None
    return PackedWorkbook(_packed(parts), sheets)


def _damaged() -> Problem:
    return Problem("workbook", "it is damaged and cannot be read.", tries=["open it in a spreadsheet and save it anew"])


def _parts(data: bytes) -> dict[str, bytes]:
    """The XML parts of a packed file by name, their sizes looked at before anything is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            listed = [part for part in packed.infolist() if part.filename.endswith((".xml", ".rels"))]
            size = sum(part.file_size for part in listed)
            if size > MOST_UNPACKED_BYTES or len(listed) > MOST_PARTS:
                what = f"it unpacks to {size / 1e6:.0f} MB in {len(listed)} parts."
                limit = f"{MOST_UNPACKED_BYTES / 1e6:.0f} MB in {MOST_PARTS} parts"
                raise Problem("workbook", what, limit=limit, tries=["a workbook with the size table alone"])
            return {part.filename: packed.read(part) for part in listed}
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError):
        raise _damaged() from None


def _packed(parts: Mapping[str, bytes]) -> bytes:
    """The parts packed anew, so that a reader meets exactly the bytes that were looked at."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as packed:
        for name, part in parts.items():
            packed.writestr(name, part)
    return whole.getvalue()


def _sheets(parts: Mapping[str, bytes]) -> Iterator[PackedSheet]:
    relations = {each.get("Id", ""): each.attrib for each in _tree(parts[_RELATIONS])}
    longest_bytes = _longest_text_bytes(parts.get(_TEXTS, b""))
    for sheet in _tree(parts[_WORKBOOK]).iter():
        if _local(sheet.tag) != "sheet":
            continue
        relation = relations[{_local(name): value for name, value in sheet.attrib.items()}["id"]]
        if relation["Type"].endswith("/worksheet"):
            path = posixpath.normpath(posixpath.join("/xl", relation["Target"])).lstrip("/")
            is_shown = sheet.get("state", "visible") == "visible"
            yield _sheet(sheet.attrib["name"], parts[path], longest_bytes, is_shown=is_shown)


def _sheet(name: str, xml: bytes, longest_bytes: int, *, is_shown: bool) -> PackedSheet:
    last_row = last_column = texts = 0
    silent: dict[tuple[int, int], str] = {}
    for row, column, cell in _cells(xml):
        if len(cell):
            last_row, last_column = max(last_row, row + 1), max(last_column, column + 1)
            texts += cell.get("t") in ("s", "inlineStr", "str")
            if (text := _silent_text(cell)) is not None:
                silent[row, column] = text
    is_small = last_row * last_column <= MOST_CELLS and texts * longest_bytes <= MOST_TEXT_BYTES
    return PackedSheet(name, is_shown, is_small, silent)


def _cells(xml: bytes) -> Iterator[tuple[int, int, ElementTree.Element]]:
    """(row, column, cell) of a sheet from 0; a cell that does not say where it stands follows the one before."""
    row = -1
    _require_plain(xml)
    for _, line in ElementTree.iterparse(io.BytesIO(xml)):
        if _local(line.tag) != "row":
            continue
        row, column = int(line.get("r", row + 2)) - 1, -1
        for cell in line:
            at = cell.get("r")
            row, column = (row, column + 1) if at is None else _place(at)
            yield row, column, cell
        line.clear()  # a large sheet is looked at row by row


def _place(name: str) -> tuple[int, int]:
    """(row, column) from 0 of a cell by its name.

    >>> _place("B7")
    (6, 1)
    """
    match = _CELL_NAME.fullmatch(name)
    if match is None:
        raise ValueError(f"no cell: {name}")
    column = 0
    for letter in match[1]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(match[2]) - 1, column - 1


def _silent_text(cell: ElementTree.Element) -> str | None:
    """The error or the formula of a cell that has no value to read."""
    inside = {_local(part.tag): part.text or "" for part in cell}
    if cell.get("t") == "e":
        return inside.get("v") or "#ERROR"
    if "f" in inside and not inside.get("v") and "is" not in inside and cell.get("t") != "str":
        return f"={inside['f']}"
    return None


def _longest_text_bytes(xml: bytes) -> int:
    """Bytes of the longest text that cells share, its mark-up counted with it."""
    return max(len(text) for text in re.split(rb"<(?:[\w.-]+:)?si\b", xml))


def _tree(xml: bytes) -> ElementTree.Element:
    """The root of an XML part."""
    _require_plain(xml)
    return ElementTree.fromstring(xml)


def _require_plain(xml: bytes) -> None:
    """Refuse a part that declares entities of its own: no spreadsheet writes such a part."""
    if b"<!" in xml.replace(b"<!--", b"") or b"\x00" in xml:
        raise ValueError("declarations, raw text or two-byte signs in a part of a workbook")


def _local(tag: str) -> str:
    """A name without its namespace."""
    return tag.rpartition("}")[2]
