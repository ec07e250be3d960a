"""Two styles as files: pages to print, a workbook whose differences are formulas, one HTML page, each by its ending.

In: `Compared`. Out: bytes, the same for the same input. Not covered: what is said (`comparison`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]
from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from loopwright.figure import Figure
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.problems import Problem
from loopwright.report.blocks import Block, Findings, Lines, Section
from loopwright.report.comparison import OF_DIFFERENCES, comparison_sheet
from loopwright.report.pack.leaves import BASIS_FOOT, LONGEST_IN_HEAD, Leaf, Pack, in_head
from loopwright.report.pack.pages import pack_pdf
from loopwright.report.page import page
from loopwright.report.tables import capital
from loopwright.report.workbooks import workbook_of, write_heads, write_words
from loopwright.study.compared import Compared

COMPARED, MEASURES, FINDINGS = "Compared", "Measures", "Only in one"
PAGES = (("differences", "decided"), ("price", "minutes"), ("yarn", "fabric"), ("sizes",))  # sections that share a page
REST = "Findings"


def comparison_pdf(compared: Compared, paper: str = "A4") -> bytes:
    """The comparison as pages.

    Raises:
        Problem: no such paper, or letters that no face has a form for.
    """
    sheet = comparison_sheet(compared)
    by_key = {section.key: section for section in sheet.sections}
    groups = [[by_key.pop(key) for key in keys if key in by_key] for keys in PAGES]
    leaves = [_leaf(group, capital(", ".join(each.heading.lower() for each in group))) for group in groups if group]
    leaves += [_leaf(list(by_key.values()), REST)] if by_key else []
    first = Leaf(leaves[0].title, leaves[0].note, (sheet.lede, *leaves[0].main))
    pack = Pack(
        title=sheet.title,
        line=in_head(sheet.subtitle, 2 * LONGEST_IN_HEAD),
        issue="Compared",
        replaces="",
        foot=f"{BASIS_FOOT} {OF_DIFFERENCES}",
        leaves=(first, *leaves[1:]),
    )
    return pack_pdf(pack, paper)


def _leaf(sections: Sequence[Section], title: str) -> Leaf:
    """Sections on one page; those after the first begin with their heading when their blocks do not say it."""
    blocks: list[Block] = []
    for section in sections:
        if section.key.startswith(("only", "refused")) or isinstance(section.blocks[0], Findings | Lines):
            blocks.append(Lines((f"{section.heading}:",)))
        blocks += section.blocks
    return Leaf(title, sections[0].tally, tuple(blocks))


def comparison_workbook(compared: Compared) -> bytes:
    """The comparison as XLSX; differences are formulas of the two values."""

    def fill(book: Workbook) -> None:
        forms = {
            "text": book.add_format({"text_wrap": True}),
            "head": book.add_format({"bold": True, "text_wrap": True, "bottom": 1}),
            "number": book.add_format({"num_format": "0.0###"}),
        }
        _quantities(book.add_worksheet(COMPARED), forms, compared)
        _measures(book, forms, compared)
        _findings(book, forms, compared)

    return workbook_of(COMPARED, fill)


def _write(sheet: Worksheet, forms: Mapping[str, Format], row: int, cells: Iterable[str | float | None]) -> None:
    for column, cell in enumerate(cells):
        if isinstance(cell, str):
            write_words(sheet, row, column, cell, forms["text"])
        elif cell is not None:
            sheet.write_number(row, column, cell, forms["number"])


def _quantities(sheet: Worksheet, forms: Mapping[str, Format], compared: Compared) -> None:
    """Every quantity in a row of its own, as ranked."""
    of_each = ("", "low", "high", "known as")
    named = [f"{name} {what}".strip() for name in compared.names for what in of_each]
    apart = f"{compared.names[1]} less {compared.names[0]}"
    heads = ("What", "unit", *named, apart, "low", "high", "how sure")
    write_heads(sheet, forms["head"], heads, (36, 16, 12))
    for place, row in enumerate(compared.rows, start=1):
        unit = next((figure.unit for figure in (row.first, row.second) if figure), "")
        _write(sheet, forms, place, (row.words, unit, *_figure(row.first), *_figure(row.second)))
        gap, column = row.difference, len(named) + 2
        if gap is not None:
            one, two = (xl_rowcol_to_cell(place, 2 + each * len(of_each)) for each in (0, 1))
            sheet.write_formula(place, column, f"={two}-{one}", forms["number"], gap.value)
            sheet.write_number(place, column + 1, gap.low, forms["number"])
            sheet.write_number(place, column + 2, gap.high, forms["number"])
        write_words(sheet, place, column + 3, row.missing or row.verdict.value, forms["text"])


def _figure(figure: Figure | None) -> tuple[str | float | None, ...]:
    return (figure.value, figure.low, figure.high, figure.basis.value) if figure else (None,) * 4


def _measures(book: Workbook, forms: Mapping[str, Format], compared: Compared) -> None:
    """Measures of every common size, one row each: both, and the difference as a formula."""
    one, two = compared.first.size_table, compared.second.size_table
    if one is None or two is None:
        return
    sheet = book.add_worksheet(MEASURES)
    write_heads(sheet, forms["head"], ("Size", "", "Measure, cm", *compared.names, "apart"), (8, 6, 32, 12))
    row = 0
    for size in (size for size in one.sizes if size in two.sizes):
        for name in (name for name in one.names if name in two.names):
            row += 1
            values = [table.value_cm(size, name) for table in (one, two)]
            _write(sheet, forms, row, (size, letter_of_point(name), words_of(name), *values))
            first, second = (xl_rowcol_to_cell(row, column) for column in (3, 4))
            sheet.write_formula(row, 5, f"={second}-{first}", forms["number"], values[1] - values[0])


def _findings(book: Workbook, forms: Mapping[str, Format], compared: Compared) -> None:
    told = [
        (name, each.sign.word, each.where, each.sentence, "; ".join(each.tries))
        for name, findings in zip(compared.names, (compared.only_first, compared.only_second), strict=True)
        for each in findings
    ]
    if told:
        sheet = book.add_worksheet(FINDINGS)
        write_heads(sheet, forms["head"], ("Only in", "", "where", "what", "try"), (14, 10, 20, 80, 40))
        for row, cells in enumerate(told, start=1):
            _write(sheet, forms, row, cells)


def comparison_page(compared: Compared) -> bytes:
    """The comparison as one HTML page that needs nothing else."""
    return page(comparison_sheet(compared)).encode("utf-8")


MAKERS: Mapping[str, Callable[[Compared], bytes]] = {
    ".pdf": comparison_pdf,
    ".xlsx": comparison_workbook,
    ".html": comparison_page,
}


def maker_for(path: Path) -> Callable[[Compared], bytes]:
    """What writes a file of this ending.

    Raises:
        Problem: no comparison is written with such an ending.
    """
    made = MAKERS.get(path.suffix.lower())
    if made is None:
        raise Problem("out", f"“{path.name}” ends in nothing that a comparison is written as.", tries=list(MAKERS))
    return made
