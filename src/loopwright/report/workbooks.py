"""What every XLSX workbook of ours has: one face, a fixed day for the sake of equal bytes, words that stay words.

Not covered: what stands in a workbook (`size_workbook`, `comparison_files`, `pack.workbook`, `pack.cost_workbook`).
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable, Mapping, Sequence

from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from loopwright.problems import Problem

CREATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
LONGEST_TEXT = 32_767  # letters a cell of a workbook can hold
FACE: Mapping[str, object] = {"font_name": "Arial", "font_size": 10}
FACE_AT_TOP = {**FACE, "valign": "top"}  # where cells of several lines stand beside cells of one


def workbook_of(
    title: str,
    fill: Callable[[Workbook], None],
    *,
    face: Mapping[str, object] = FACE_AT_TOP,
    kind: type[Workbook] = Workbook,
) -> bytes:
    """A workbook that `fill` puts its sheets into, as bytes."""
    whole = io.BytesIO()
    own = dict(face)  # the writer adds to it
    with kind(whole, {"in_memory": True, "default_format_properties": own}) as book:
        book.set_properties({"title": title, "created": CREATED})
        book.set_calc_mode("auto")
        fill(book)
    return whole.getvalue()


def write_words(sheet: Worksheet, row: int, column: int, words: str, form: Format) -> None:
    """Write words as words, whatever sign they start with.

    Raises:
        Problem: more letters than a cell can hold.
    """
    if len(words) > LONGEST_TEXT:
        what = f"a line of {len(words)} letters for a cell."
        raise Problem("size specification", what, limit=f"{LONGEST_TEXT} letters", tries=["a shorter line"])
    whole = words.encode("utf-8", "replace").decode("utf-8")  # half a sign, left by a torn paste, cannot be written
    sheet.write_string(row, column, whole, form)


def write_heads(sheet: Worksheet, form: Format, heads: Sequence[str], widths: Sequence[float]) -> None:
    """The heads of the columns in the first row, which stays in view; the last width is that of all further columns."""
    for column, words in enumerate(heads):
        write_words(sheet, 0, column, words, form)
        sheet.set_column(column, column, widths[min(column, len(widths) - 1)])
    sheet.freeze_panes(1, 1)
