"""The specification as an XLSX workbook: sizes and grade, needles and courses, knit-down, yarn, with live formulas.

In: `StyleStudy`. Out: bytes, the same for the same input. Words of a person stay words, whatever sign they start with.
Not covered: the cost, which is a workbook of its own (`cost_workbook`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]
from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from loopwright.report import tables
from loopwright.report.blocks import Steps, Table
from loopwright.report.pack.language import Tongue
from loopwright.report.size_workbook import add_size_sheets
from loopwright.report.workbooks import workbook_of, write_heads, write_words
from loopwright.study.study import StyleStudy

NEEDLES, KNIT_DOWN, YARN = "Needles and courses", "Knit-down", "Yarn"
G_PER_KG = 1000


def specification_workbook(study: StyleStudy, titles: Sequence[str] = (), language: str = "en") -> bytes:
    """The workbook of a study; `titles` are lines above the size table. Names of its sheets stay English."""

    def fill(book: Workbook) -> None:
        forms = {
            "text": book.add_format({"text_wrap": True}),
            "head": book.add_format({"bold": True, "text_wrap": True, "bottom": 1}),
            "whole": book.add_format({"num_format": "0"}),
            "tenths": book.add_format({"num_format": "0.0"}),
            "kg": book.add_format({"num_format": "0.00"}),
        }
        if study.size_table is not None:
            add_size_sheets(book, study.size_table, titles)
        if study.sizes:
            _needles(book.add_worksheet(NEEDLES), forms, study)
            _knit_down(book.add_worksheet(KNIT_DOWN), forms, study)
            _yarn(book.add_worksheet(YARN), forms, study)

    return workbook_of("Specification", fill, kind=_book_in(language))


def _book_in(language: str) -> type[Workbook]:
    """A kind of workbook whose words are put into a language as they are written."""
    tongue = Tongue(language)

    class Sheet(Worksheet):  # type: ignore[misc]
        def write_string(self, row: int, column: int, words: str, form: Format | None = None) -> int:
            return super().write_string(row, column, tongue.text(words), form)  # type: ignore[no-any-return]

    class Book(Workbook):  # type: ignore[misc]
        worksheet_class = Sheet

    return Book


def _needles(sheet: Worksheet, forms: Mapping[str, Format], study: StyleStudy) -> None:
    """Counts of every panel in every size, as the sheet has them."""
    table: Table = tables.panel_table(study, study.sizes)
    write_heads(sheet, forms["head"], table.head, (24, 14))
    for row, cells in enumerate(table.rows, start=1):
        for column, cell in enumerate(cells):
            text = str(cell)
            number = _number(text) if column else None
            if number is None:
                write_words(sheet, row, column, text, forms["text"])
            else:
                sheet.write_number(row, column, number, forms["tenths" if "." in text else "whole"])


def _number(text: str) -> float | None:
    """The number that a printed cell holds; none for words."""
    plain = text.replace("\u202f", "").replace("\u00a0", "").replace("\u2212", "-")
    try:
        return float(plain)
    except ValueError:
        return None


def _knit_down(sheet: Worksheet, forms: Mapping[str, Format], study: StyleStudy) -> None:
    write_heads(sheet, forms["head"], ("Size", "Panel", "Step", "What to knit"), (8, 14, 14, 110))
    row = 1
    for size in study.sizes:
        blocks = [block for block in tables.knit_down_blocks(study, size) if isinstance(block, Steps)]
        for panel, block in zip(size.panels, blocks, strict=True):
            for label, words in block.lines:
                for column, text in enumerate((size.size, panel.plan.name, label, words)):
                    write_words(sheet, row, column, text, forms["text"])
                row += 1


def _yarn(sheet: Worksheet, forms: Mapping[str, Format], study: StyleStudy) -> None:
    """Yarn in a piece by size, pieces ordered, and what that makes: kilograms in the garments are formulas."""
    sizes = [size.size for size in study.sizes]
    write_heads(sheet, forms["head"], ("Yarn in the pieces, without losses", *sizes, "all"), (36, 12))
    counts = tables.counts_by_size(study)
    write_words(sheet, 1, 0, "Pieces ordered", forms["text"])
    for column, size in enumerate(sizes, start=1):
        sheet.write_number(1, column, counts.get(size, 0), forms["whole"])
    _total(sheet, forms["whole"], 1, len(sizes), sum(counts.values()))
    row = 2
    for name in study.sizes[0].grams_by_yarn:
        write_words(sheet, row, 0, f"{name}, g a piece", forms["text"])
        write_words(sheet, row + 1, 0, f"{name}, kg in the order", forms["text"])
        whole = 0.0
        for column, worked in enumerate(study.sizes, start=1):
            grams = round(worked.grams_by_yarn[name].value, 2)
            kg = grams * counts.get(worked.size, 0) / G_PER_KG
            whole += kg
            sheet.write_number(row, column, grams, forms["tenths"])
            given, ordered = xl_rowcol_to_cell(row, column), xl_rowcol_to_cell(1, column)
            sheet.write_formula(row + 1, column, f"={given}*{ordered}/{G_PER_KG}", forms["kg"], kg)
        _total(sheet, forms["kg"], row + 1, len(sizes), whole)
        row += 2


def _total(sheet: Worksheet, form: Format, row: int, count: int, value: float) -> None:
    first, last = xl_rowcol_to_cell(row, 1), xl_rowcol_to_cell(row, count)
    sheet.write_formula(row, count + 1, f"=SUM({first}:{last})", form, value)
