"""The size specification as a file: written as CSV, and read back or taken from a buyer as CSV or XLSX.

In: a size table, or the bytes of a file with its name and the points of the garment. Out: bytes; or `FileRead`, the
table in cm with what could not be used.
Not covered: writing XLSX (`size_workbook`), files as such (`table_files`), reading the numbers (`garment.table_text`).
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Sequence

from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import how_to_measure, letter_of_point, tolerance_cm, words_of
from loopwright.garment.table_text import TableRead, table_of_rows, table_of_text
from loopwright.report.table_files import FileRead, table_of_file

CSV_DECIMALS = 3  # a hundredth of a millimetre

_FORMULA_SIGNS = ("=", "+", "-", "@")


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
) -> FileRead[TableRead]:
    """The size table in a CSV or XLSX file; `points`, `sizes`, `unit` as in `table_of_text`.

    Raises:
        Problem: no such file, one that is too large, protected or damaged, or no size table in it.
    """
    return table_of_file(
        data,
        name,
        "size table",
        of_text=lambda text: table_of_text(text, points, sizes=sizes, unit=unit),
        of_rows=lambda rows: table_of_rows(rows, points, sizes=sizes, unit=unit),
    )
