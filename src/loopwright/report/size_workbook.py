"""The size specification as an XLSX workbook that computes: graded cells are formulas, hand-set cells are figures.

In: a size table and title lines. Out: bytes, the same for the same input. The first sheet holds the measures in cm; on
the sheet "Grade" each point has its step in cm and each graded cell the steps it lies from the base size, so that a
changed step or base measure moves the graded sizes and leaves those set by hand. Hand-set cells are bold and named in
a column of their own.
Not covered: CSV and reading back (`size_files`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]
from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import how_to_measure, letter_of_point, tolerance_cm, words_of
from loopwright.report.workbooks import workbook_of, write_words

CM_DECIMALS, STEP_DECIMALS = 6, 9  # far below what a thread measures, and so that step × steps is as near
MEASURES, GRADE = "Size specification", "Grade"
FIRST_SIZE, FIRST_STEP = 4, 3  # columns of the first size on the two sheets
A4 = 9


@dataclass(frozen=True, slots=True)
class PointGrade:
    """The grade of one point: cm per step, and by size how many steps it lies from the base; hand-set sizes are out."""

    step_cm: float
    steps: Mapping[str, float]


def point_grade(table: SizeTable, name: str) -> PointGrade:
    """The grade that the cells of a table follow: the step is that from the base size to the nearest graded size.

    A point that does not grade has a step of nothing and counts sizes by their place.
    """
    places = {size: place - table.sizes.index(table.base_size) for place, size in enumerate(table.sizes)}
    graded = [size for size in table.sizes if size != table.base_size and not table.is_hand_set(size, name)]
    base = table.value_cm(table.base_size, name)
    change = {size: round(table.value_cm(size, name) - base, CM_DECIMALS) for size in graded}
    nearest = min(
        (size for size in graded if change[size]), key=lambda size: (abs(places[size]), -places[size]), default=""
    )
    if not nearest:
        return PointGrade(0.0, {size: float(places[size]) for size in graded})
    step = round(change[nearest] / places[nearest], CM_DECIMALS)
    return PointGrade(step, {size: round(change[size] / step, STEP_DECIMALS) for size in graded})


def size_workbook(table: SizeTable, titles: Sequence[str] = ()) -> bytes:
    """The size specification as XLSX; `titles` are lines above the table, such as the name of the style.

    Raises:
        Problem: a title line longer than a cell can hold.
    """
    return workbook_of(MEASURES, lambda book: add_size_sheets(book, table, titles))


def add_size_sheets(book: Workbook, table: SizeTable, titles: Sequence[str] = ()) -> None:
    """The two sheets of the size specification in a workbook.

    Raises:
        Problem: a title line longer than a cell can hold.
    """
    forms = _forms(book)
    measures, grade = book.add_worksheet(MEASURES), book.add_worksheet(GRADE)
    head = _write_titles(measures, forms, [MEASURES, *titles, *_explained(table)])
    _write_measures(measures, forms, table, head)
    _write_grade(grade, forms, table)


def _forms(book: Workbook) -> dict[str, Format]:
    line = {"bottom": 1}
    return {
        "title": book.add_format({"bold": True, "font_size": 14}),
        "text": book.add_format({}),
        "words": book.add_format({"text_wrap": True}),
        "head": book.add_format({"bold": True, "text_wrap": True, **line}),
        "size": book.add_format({"bold": True, "align": "right", **line}),
        "base head": book.add_format({"bold": True, "align": "right", "left": 2, "right": 2, **line}),
        "measure": book.add_format({"num_format": "0.0##"}),
        "base": book.add_format({"num_format": "0.0##", "left": 2, "right": 2}),
        "by hand": book.add_format({"num_format": "0.0##", "bold": True}),
        "base by hand": book.add_format({"num_format": "0.0##", "bold": True, "left": 2, "right": 2}),
        "steps": book.add_format({"num_format": "0.###"}),
        "note": book.add_format({"align": "right", "italic": True}),
    }


def _explained(table: SizeTable) -> list[str]:
    return [
        "All measures in cm: flat, relaxed, unstretched, closed.",
        f"Base size: {table.base_size}, between thick lines. Bold: set by hand, the grade leaves it alone.",
        f"The other sizes are the base size and the steps of the sheet {GRADE}.",
    ]


def _write_titles(sheet: Worksheet, forms: Mapping[str, Format], lines: Sequence[str]) -> int:
    """Write the lines above the table; the row of its head."""
    for row, line in enumerate(lines):
        write_words(sheet, row, 0, line, forms["text" if row else "title"])
    return len(lines) + 1


def _write_measures(sheet: Worksheet, forms: Mapping[str, Format], table: SizeTable, head: int) -> None:
    last = FIRST_SIZE + len(table.sizes)
    for column, words in enumerate(("Letter", "Point of measure, cm", "How to measure", "Tolerance ±")):
        write_words(sheet, head, column, words, forms["head"])
    heads = {size: f"{size} (base)" if size == table.base_size else size for size in table.sizes}
    _write_heads(sheet, forms, heads, (head, FIRST_SIZE), base=table.base_size)
    write_words(sheet, head, last, "Set by hand", forms["head"])
    for row, name in enumerate(table.names):
        _write_point(sheet, forms, table, name, (head + 1 + row, 1 + row))
    _set_up(sheet, head, frozen_columns=2)
    for columns, width in (((0, 0), 7), ((1, 1), 30), ((2, 2), 44), ((3, last - 1), 11), ((last, last), 22)):
        sheet.set_column(*columns, width)


def _write_heads(
    sheet: Worksheet, forms: Mapping[str, Format], heads: Mapping[str, str], at: tuple[int, int], *, base: str
) -> None:
    """Write the head of each size from a row and column on."""
    for column, (size, words) in enumerate(heads.items(), start=at[1]):
        write_words(sheet, at[0], column, words, forms["base head" if size == base else "size"])


def _write_point(
    sheet: Worksheet, forms: Mapping[str, Format], table: SizeTable, name: str, rows: tuple[int, int]
) -> None:
    """One point on the sheet of measures; `rows` are its rows here and on the sheet of the grade."""
    row, grade_row = rows
    for column, words in enumerate((letter_of_point(name), words_of(name), how_to_measure(name))):
        write_words(sheet, row, column, words, forms["words"])
    sheet.write_number(row, FIRST_SIZE - 1, tolerance_cm(name), forms["measure"])
    steps = point_grade(table, name).steps
    base = xl_rowcol_to_cell(row, FIRST_SIZE + table.sizes.index(table.base_size), col_abs=True)
    for place, size in enumerate(table.sizes):
        value, column = round(table.value_cm(size, name), CM_DECIMALS), FIRST_SIZE + place
        by_hand = table.is_hand_set(size, name)
        kind = (
            ("base by hand" if by_hand else "base") if size == table.base_size else "by hand" if by_hand else "measure"
        )
        if size in steps:
            step = xl_rowcol_to_cell(grade_row, FIRST_STEP - 1, col_abs=True)
            times = xl_rowcol_to_cell(grade_row, FIRST_STEP + place)
            sheet.write_formula(row, column, f"={base}+{GRADE}!{step}*{GRADE}!{times}", forms[kind], value)
        else:
            sheet.write_number(row, column, value, forms[kind])
    by_hand_sizes = [size for size in table.sizes if table.is_hand_set(size, name)]
    write_words(sheet, row, FIRST_SIZE + len(table.sizes), ", ".join(by_hand_sizes), forms["words"])


def _write_grade(sheet: Worksheet, forms: Mapping[str, Format], table: SizeTable) -> None:
    for column, words in enumerate(("Letter", "Point of measure", "Step, cm")):
        write_words(sheet, 0, column, words, forms["head"])
    heads = {size: f"base {size}" if size == table.base_size else f"steps to {size}" for size in table.sizes}
    _write_heads(sheet, forms, heads, (0, FIRST_STEP), base=table.base_size)  # no bare sizes: these are no measures
    for row, name in enumerate(table.names, start=1):
        grade = point_grade(table, name)
        write_words(sheet, row, 0, letter_of_point(name), forms["words"])
        write_words(sheet, row, 1, words_of(name), forms["words"])
        sheet.write_number(row, 2, grade.step_cm, forms["measure"])
        for column, size in enumerate(table.sizes, start=FIRST_STEP):
            if size in grade.steps:
                sheet.write_number(row, column, grade.steps[size], forms["steps"])
            elif size != table.base_size:
                write_words(sheet, row, column, "by hand", forms["note"])
    note = "Under each size: how many steps it lies from the base size. Measure = base size + step × steps."
    write_words(sheet, len(table.names) + 2, 0, note, forms["text"])
    _set_up(sheet, 0, frozen_columns=3)
    for columns, width in (((0, 0), 7), ((1, 1), 30), ((2, FIRST_STEP + len(table.sizes)), 11)):
        sheet.set_column(*columns, width)


def _set_up(sheet: Worksheet, head: int, *, frozen_columns: int) -> None:
    """Panes that stay while one scrolls; A4 across, one page wide, the head on every page."""
    sheet.freeze_panes(head + 1, frozen_columns)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(head)
    sheet.set_footer("&L&A&RPage &P of &N")
