"""The cost sheet as an XLSX workbook that computes: rates and amounts are cells, every line is a formula of them.

In: `Pricing`. Out: bytes, the same for the same input. The formulas are not written by hand: the arithmetic of
`cost.lines` is run once on cells instead of numbers, so that the sheet cannot say another sum than the study. Lines are
rounded to the cent as the study rounds them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from xlsxwriter.format import Format  # type: ignore[import-untyped]
from xlsxwriter.workbook import Workbook  # type: ignore[import-untyped]
from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

from loopwright.cost.lines import all_lines, landed_lines
from loopwright.cost.sheet import LANDED_LINES
from loopwright.report.workbooks import FACE, workbook_of, write_words
from loopwright.study.pricing import Pricing

COST, GIVEN = "Cost", "Rates and amounts"
HEAD = 3  # row of the head of both sheets


@dataclass(frozen=True, eq=False)
class Sum:
    """A sum in the making: what `+ - * /` leave of it is the formula of a cell. `place` is a cell that holds it."""

    sign: str = ""
    left: Any = 0
    right: Any = 0
    place: str = ""

    def __add__(self, other: Any) -> Sum:
        return Sum("+", self, other)

    def __radd__(self, other: Any) -> Sum:
        return self if other == 0 else Sum("+", other, self)

    def __sub__(self, other: Any) -> Sum:
        return Sum("-", self, other)

    def __rsub__(self, other: Any) -> Sum:
        return Sum("-", other, self)

    def __mul__(self, other: Any) -> Sum:
        return Sum("*", self, other)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Sum:
        return Sum("/", self, other)

    def __rtruediv__(self, other: Any) -> Sum:
        return Sum("/", other, self)


def formula_of(value: Any, places: Mapping[int, str], *, top: bool = True) -> str:
    """A sum as a formula; a part that has a cell of its own (`places`, by identity) is named by it.

    >>> a, b = Sum(place="A1"), Sum(place="B1")
    >>> formula_of((1 - a) * b / 60, {})
    '(1-A1)*B1/60'
    """
    if not isinstance(value, Sum):
        return f"{value:.15g}"
    if not top and id(value) in places:
        return places[id(value)]
    if value.place:
        return value.place
    left, right = (formula_of(each, places, top=False) for each in (value.left, value.right))
    if value.sign in "*/":
        left = f"({left})" if _is_loose(value.left, places) else left
        right = (
            f"({right})"
            if _is_loose(value.right, places) or (value.sign == "/" and _is_open(value.right, places))
            else right
        )
    elif value.sign == "-" and _is_loose(value.right, places):
        right = f"({right})"
    return f"{left}{value.sign}{right}"


def _is_open(value: Any, places: Mapping[int, str]) -> bool:
    return isinstance(value, Sum) and not value.place and id(value) not in places


def _is_loose(value: Any, places: Mapping[int, str]) -> bool:
    """Whether a part is a sum or difference that needs brackets inside a product."""
    return _is_open(value, places) and value.sign in "+-"


def cost_workbook(pricing: Pricing, titles: tuple[str, ...] = ()) -> bytes:
    """The cost of a piece as XLSX: a sheet of what was given, a sheet of lines that follow from it."""

    def fill(book: Workbook) -> None:
        forms = {
            "title": book.add_format({"bold": True, "font_size": 14}),
            "text": book.add_format({}),
            "head": book.add_format({"bold": True, "bottom": 1}),
            "given": book.add_format({"num_format": "0.0####"}),
            "exact": book.add_format({"num_format": "0.0000"}),
            "cents": book.add_format({"num_format": "0.00"}),
            "total": book.add_format({"num_format": "0.00", "bold": True, "top": 1}),
            "total words": book.add_format({"bold": True, "top": 1}),
        }
        cost, given = book.add_worksheet(COST), book.add_worksheet(GIVEN)
        values = _write_given(given, forms, pricing)
        _write_cost(cost, forms, pricing, values, titles)

    return workbook_of(COST, fill, face=FACE)


def _heads(sheet: Worksheet, forms: Mapping[str, Format], lines: tuple[str, ...], heads: tuple[str, ...]) -> None:
    for row, line in enumerate(lines[:HEAD]):
        write_words(sheet, row, 0, line, forms["text" if row else "title"])
    for column, words in enumerate(heads):
        write_words(sheet, HEAD, column, words, forms["head"])
    sheet.freeze_panes(HEAD + 1, 1)
    sheet.set_column(0, 0, 44)
    sheet.set_column(1, len(heads), 18)


def _write_given(sheet: Worksheet, forms: Mapping[str, Format], pricing: Pricing) -> dict[str, Sum]:
    """Every rate and amount in a row of its own; each as the cell that later formulas name."""
    lines = (GIVEN, "Change a value: the sheet of the cost follows.")
    _heads(sheet, forms, lines, ("What", "value", "unit", "low, nine in ten", "high", "known as", "source"))
    cells: dict[str, Sum] = {}
    row = HEAD + 1
    pieces = pricing.sheet.pieces
    write_words(sheet, row, 0, "pieces of the order", forms["text"])
    sheet.write_number(row, 1, pieces, forms["given"])
    cells["order_share"] = 1 / Sum(place=_given_cell(row))
    for name, figure in pricing.inputs.figures().items():
        row += 1
        write_words(sheet, row, 0, figure.name, forms["text"])
        sheet.write_number(row, 1, figure.value, forms["given"])
        write_words(sheet, row, 2, figure.unit, forms["text"])
        sheet.write_number(row, 3, figure.low, forms["given"])
        sheet.write_number(row, 4, figure.high, forms["given"])
        write_words(sheet, row, 5, figure.basis.value, forms["text"])
        write_words(sheet, row, 6, figure.why.source, forms["text"])
        cells[name] = Sum(place=_given_cell(row))
    return cells


def _given_cell(row: int) -> str:
    return f"'{GIVEN}'!$B${row + 1}"


def _write_cost(
    sheet: Worksheet, forms: Mapping[str, Format], pricing: Pricing, values: Mapping[str, Any], titles: tuple[str, ...]
) -> None:
    """Lines in printed order: exact amount, then to the cent, so that the column of cents adds up."""
    cost = pricing.sheet
    lines = (COST, *titles[:1], f"{cost.currency}, confidential: not for the factory")
    _heads(sheet, forms, lines, ("A piece", "exact", "to the cent"))
    rows = {line.key: HEAD + 1 + place for place, line in enumerate(cost.lines)}
    sums = all_lines(values, pricing.inputs.yarn_names, pricing.inputs.rates.margin_rule)
    places = {id(each): f"$B${rows[key] + 1}" for key, each in sums.items() if isinstance(each, Sum) and not each.place}
    amount = {line.key: float(line.amount.amount) for line in cost.lines}
    cents = _cents(pricing, values, rows)
    for line in cost.lines:
        row, is_total = rows[line.key], line.part == "total"
        write_words(sheet, row, 0, line.words, forms["total words" if is_total else "text"])
        if line.key in sums:
            sheet.write_formula(row, 1, f"={formula_of(sums[line.key], places)}", forms["exact"], line.figure.value)
        sheet.write_formula(row, 2, cents[line.key], forms["total" if is_total else "cents"], amount[line.key])


def _cents(pricing: Pricing, values: Mapping[str, Any], where: Mapping[str, int]) -> dict[str, str]:
    """The formula of every line to the cent: totals add the lines above them, the FOB price is rounded by itself.

    What follows the FOB price is reckoned from it as quoted, in cents.
    """

    def cell(key: str) -> str:
        return f"$C${where[key] + 1}"

    direct = [line.key for line in pricing.sheet.lines if line.part == "direct"]
    formulas = {key: f"=ROUND($B${row + 1},2)" for key, row in where.items()}
    formulas["direct"] = "=" + "+".join(cell(key) for key in direct)
    formulas["cost"] = f"={cell('direct')}+{cell('overhead')}"
    above = "+".join(cell(key) for key in ("cost", "finance", "agent", "margin"))
    formulas["rounding"] = f"={cell('fob')}-({above})"
    for key, each in landed_lines(values, cast("Any", Sum(place=cell("fob")))).items():
        if key in LANDED_LINES:
            formulas[key] = f"=ROUND({formula_of(each, {})},2)"
    formulas["landed"] = "=" + "+".join(cell(key) for key in ("fob", *LANDED_LINES))
    return formulas
