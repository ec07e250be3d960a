"""The size specification as a file: written, computed anew, read back by another library, and hostile files refused."""

import codecs
import datetime
import io
import re
import struct
import zipfile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils import column_index_from_string

from loopwright.garment.grading import Cell, Origin, SizeTable
from loopwright.garment.measures import words_of
from loopwright.problems import Problem
from loopwright.report.size_files import size_csv, size_table_of_file
from loopwright.report.size_workbook import size_workbook

SIZES = ("XS", "S", "M", "L", "XL", "2XL")
NAMES = SizeTable("women", "M", (), {}).names
HALF_A_TENTH_OF_A_MM = 0.005
FORMULA = re.compile(r"=\$?([A-Z]+)(\d+)\+Grade!\$?([A-Z]+)(\d+)\*Grade!([A-Z]+)(\d+)")
SHEET = "xl/worksheets/sheet1.xml"


def size_table(values: dict[tuple[str, str], float], by_hand: set[tuple[str, str]], sizes=SIZES) -> SizeTable:
    cells = {
        cell: Cell(value, Origin.HAND_SET if cell in by_hand else Origin.GRADED, "") for cell, value in values.items()
    }
    return SizeTable("women", "M", sizes, cells)


@st.composite
def size_tables(draw) -> SizeTable:
    """Any base measures, any change of any size, any cells set by hand."""
    length = st.floats(1, 120)
    values = {(size, name): draw(length) for name in NAMES[:4] for size in SIZES}
    values |= {(size, name): 10.0 for name in NAMES[4:] for size in SIZES}
    by_hand = draw(st.sets(st.sampled_from(sorted(values)), max_size=12))
    return size_table(values, {cell for cell in by_hand if cell[0] != "M"})


def graded(steps_cm: dict[str, float], by_hand: dict[tuple[str, str], float]) -> SizeTable:
    """A table in which half chest and half hem take half a centimetre more above XL."""
    values = {}
    for number, name in enumerate(NAMES):
        for place, size in enumerate(SIZES, start=-2):
            above = 0.5 if size == "2XL" and name in ("half_chest", "half_hem") else 0.0
            values[size, name] = 20.0 + number + place * steps_cm.get(name, 0.0) + above
    return size_table({**values, **by_hand}, set(by_hand))


PULLOVER = graded({"half_chest": 2.5, "half_hem": 2.5, "neck_width": 0.4}, {("L", "half_chest"): 27.0})


def placed(data: bytes) -> dict[tuple[str, str], tuple[str, object]]:
    """(cell name, content as openpyxl reads it) by size and point on the first sheet."""
    sheet = openpyxl.load_workbook(io.BytesIO(data)).worksheets[0]
    head = next(row for row in range(1, 20) if sheet.cell(row, 1).value == "Letter")
    found = {}
    for column, size in enumerate(SIZES, start=5):
        assert str(sheet.cell(head, column).value).removesuffix(" (base)") == size
        for row, name in enumerate(NAMES, start=head + 1):
            assert sheet.cell(row, 2).value == words_of(name)
            cell = sheet.cell(row, column)
            found[size, name] = (cell.coordinate, cell.value)
    return found


def computed(data: bytes) -> dict[tuple[str, str], float]:
    """Every measure as a spreadsheet computes it: figures as they stand, formulas worked out from both sheets."""
    measures, grade = openpyxl.load_workbook(io.BytesIO(data)).worksheets
    worked = {}
    for cell, (_, content) in placed(data).items():
        if isinstance(content, str):
            base, step, times = FORMULA.fullmatch(content).group(1, 2), *_pairs(content)
            content = _at(measures, *base) + _at(grade, *step) * _at(grade, *times)
        worked[cell] = content
    return worked


def _pairs(formula: str):
    match = FORMULA.fullmatch(formula)
    return match.group(3, 4), match.group(5, 6)


def _at(sheet, letters: str, row: str) -> float:
    return sheet.cell(int(row), column_index_from_string(letters)).value


@given(size_tables())
def test_a_spreadsheet_computes_the_same_measures_and_leaves_those_set_by_hand(table):
    data = size_workbook(table)
    worked, contents = computed(data), placed(data)
    for cell, (_, content) in contents.items():
        assert worked[cell] == pytest.approx(table.value_cm(*cell), abs=HALF_A_TENTH_OF_A_MM / 100)
        is_formula = isinstance(content, str)
        assert is_formula == (cell[0] != "M" and not table.is_hand_set(*cell))


def test_a_changed_step_and_a_changed_base_move_the_graded_sizes_alone():
    book = openpyxl.load_workbook(io.BytesIO(size_workbook(PULLOVER)))
    measures, grade = book.worksheets
    row = 1 + NAMES.index("half_chest") + 1
    assert grade.cell(row, 3).value == 2.5
    grade.cell(row, 3).value = 3.0
    base = placed(size_workbook(PULLOVER))["M", "half_chest"][0]
    measures[base] = 22.0
    changed = io.BytesIO()
    book.save(changed)
    worked = computed(changed.getvalue())
    assert worked["S", "half_chest"] == pytest.approx(22.0 - 3.0)
    assert worked["XL", "half_chest"] == pytest.approx(22.0 + 2 * 3.0)
    assert worked["L", "half_chest"] == 27.0
    assert worked["S", "half_hem"] == pytest.approx(PULLOVER.value_cm("S", "half_hem"))


@given(size_tables())
def test_what_is_written_is_read_back_within_half_a_tenth_of_a_millimetre(table):
    for name, data in (("spec.xlsx", size_workbook(table)), ("spec.csv", size_csv(table))):
        read = size_table_of_file(data, name, NAMES, sizes=SIZES).table
        assert read.refused == ()
        assert (read.unit, read.is_unit_said, read.sizes) == ("cm", True, SIZES)
        assert read.measures_cm.keys() == table.cells.keys()
        for cell, value in read.measures_cm.items():
            assert value == pytest.approx(table.value_cm(*cell), abs=HALF_A_TENTH_OF_A_MM)
        assert read.tolerances_cm == table.tolerances_cm


def test_another_library_reads_the_same_measures_from_the_workbook():
    sheet = openpyxl.load_workbook(io.BytesIO(size_workbook(PULLOVER)), data_only=True).worksheets[0]
    for cell, (at, _) in placed(size_workbook(PULLOVER)).items():
        assert sheet[at].value == pytest.approx(PULLOVER.value_cm(*cell), abs=HALF_A_TENTH_OF_A_MM)


def test_a_measure_set_by_hand_is_bold_and_named_beside_its_row_and_the_base_size_is_marked():
    sheet = openpyxl.load_workbook(io.BytesIO(size_workbook(PULLOVER, ["Crew pullover"]))).worksheets[0]
    contents = placed(size_workbook(PULLOVER, ["Crew pullover"]))
    bold = {cell for cell, (at, _) in contents.items() if sheet[at].font.bold}
    assert bold == {("L", "half_chest")}
    row = sheet[contents["L", "half_chest"][0]].row
    assert sheet.cell(row, 5 + len(SIZES)).value == "L"
    base = sheet[contents["M", "half_chest"][0]]
    assert (base.border.left.style, base.border.right.style) == ("medium", "medium")
    assert "M (base)" in [cell.value for cell in sheet[base.row - 2]]


def test_the_sheet_prints_across_one_page_and_keeps_its_head():
    for sheet in openpyxl.load_workbook(io.BytesIO(size_workbook(PULLOVER))).worksheets:
        assert (sheet.page_setup.orientation, int(sheet.page_setup.paperSize)) == ("landscape", 9)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert (int(sheet.page_setup.fitToWidth or 1), int(sheet.page_setup.fitToHeight)) == (1, 0)
        assert sheet.freeze_panes is not None
        assert sheet.print_title_rows is not None


def test_words_that_start_like_a_formula_stay_words():
    titles = ["=1+1", "+49 spec", "-5 stitches", "@season"]
    sheet = openpyxl.load_workbook(io.BytesIO(size_workbook(PULLOVER, titles))).worksheets[0]
    cells = [sheet.cell(row, 1) for row in range(2, 6)]
    assert [cell.value for cell in cells] == titles
    with zipfile.ZipFile(io.BytesIO(size_workbook(PULLOVER, titles))) as packed:
        xml = packed.read(SHEET).decode()
    assert all(f'<c r="A{row}" t="s"' in re.sub(r' s="\d+"', "", xml) for row in range(2, 6))
    odd = size_table({(size, name): 10.0 for size in ("=1+1", "M") for name in NAMES}, set(), ("=1+1", "M"))
    assert ",'=1+1,M," in size_csv(odd).decode("utf-8-sig")


def test_equal_input_gives_equal_bytes():
    assert size_workbook(PULLOVER, ["a"]) == size_workbook(PULLOVER, ["a"])
    assert size_workbook(PULLOVER, ["a"]) != size_workbook(PULLOVER, ["b"])


def test_a_title_that_no_cell_can_hold_is_refused():
    with pytest.raises(Problem, match="40000 letters"):
        size_workbook(PULLOVER, ["x" * 40_000])


@pytest.mark.parametrize("title", ["2 by 1 inch rib", "12 needles per inch", '<b>&"', "a\x01b", "\ud83dtorn", "in"])
def test_a_title_of_any_words_leaves_the_table_readable_in_cm(title):
    read = size_table_of_file(size_workbook(PULLOVER, [title]), "spec.xlsx", NAMES).table
    assert (read.unit, read.refused, len(read.measures_cm)) == ("cm", (), len(NAMES) * len(SIZES))


TEXT = "measure;S;M\nHalf chest;18¼;19 1/4\n"


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_csv_is_read_in_the_codings_that_spreadsheets_write(coding):
    read = size_table_of_file(TEXT.encode(coding), "spec.csv", NAMES, unit="in")
    assert read.table.measures_cm["M", "half_chest"] == pytest.approx(48.895)
    assert read.findings == ()


def test_a_western_csv_is_read_with_a_finding_that_says_so():
    read = size_table_of_file(TEXT.encode("cp1252"), "spec.csv", NAMES, unit="in")
    assert read.table.measures_cm["S", "half_chest"] == pytest.approx(18.25 * 2.54)
    assert "Western European" in read.findings[0].sentence


def workbook(**sheets: list[list[object]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    whole = io.BytesIO()
    book.save(whole)
    return whole.getvalue()


TABLE = [["measure (in)", "S", "M"], ["Half chest", 18.25, "19 1/4"], ["Neck width", 7, "7¼"]]


def test_the_first_sheet_that_holds_a_size_table_is_read_and_the_others_are_told():
    read = size_table_of_file(workbook(Cover=[["Crew pullover"]], Sizes=TABLE, Yarn=[["wool"]]), "s.xlsx", NAMES)
    assert read.sheet == "Sizes"
    assert read.table.measures_cm["M", "half_chest"] == pytest.approx(48.895)
    assert [finding.where for finding in read.findings] == ["sheet Cover", "sheet Sizes"]
    assert "Yarn" in read.findings[1].sentence


def test_dates_errors_and_formulas_that_were_never_worked_out_are_refused_cell_by_cell():
    rows = [
        ["measure, cm", "S", "M", "L"],
        ["Half chest", 46.5, datetime.date(2026, 1, 4), "=B2*2"],
        ["Neck width", "#REF!", True, 18],
    ]
    read = size_table_of_file(workbook(Sizes=rows), "spec.xlsx", NAMES).table
    assert read.measures_cm == {("S", "half_chest"): 46.5, ("L", "neck_width"): 18.0}
    said = {(note.row, note.column): note.reason for note in read.refused}
    assert "is a date" in said[2, 3]
    assert "never worked out" in said[2, 4]
    assert "error of a formula" in said[3, 2]
    assert "no number" in said[3, 3]


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def packed(parts: dict[str, bytes]) -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as made:
        for name, part in parts.items():
            made.writestr(name, part)
    return whole.getvalue()


def with_part(name: str, old: bytes, new: bytes) -> bytes:
    parts = parts_of(size_workbook(PULLOVER))
    assert old in parts[name]
    return packed({**parts, name: parts[name].replace(old, new, 1)})


def lying_about_a_size() -> bytes:
    """A part of forty megabytes that the list of parts gives as a hundred bytes."""
    data = bytearray(packed({**parts_of(workbook(Sizes=TABLE)), "xl/zzz.xml": b"<a>" + b" " * 40_000_000 + b"</a>"}))
    entry = data.rfind(b"xl/zzz.xml") - 46
    struct.pack_into("<I", data, entry + 24, 100)
    return bytes(data)


def hidden() -> bytes:
    parts = parts_of(size_workbook(PULLOVER))
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b"<sheet ", b'<sheet state="hidden" ')
    return packed(parts)


FAR_CELL = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
FAR_ROW = b'<row r="1048576"><c><v>1</v></c></row></sheetData>'
ENTITY = b'<!DOCTYPE x [<!ENTITY a "b">]><worksheet'
HOSTILE = {
    "empty": (b"", "it is empty"),
    "blank": (b" \n", "it is empty"),
    "large": (b"x;" * 3_000_000, "it has 6.0 MB"),
    "old workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), "of the kind before XLSX"),
    "protected": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(900) + "EncryptedPackage".encode("utf-16-le"),
        "protected by a password",
    ),
    "drawing": (b"%PDF-1.7 ...", "is a PDF"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not known here|no text"),
    "half a wide text": (codecs.BOM_UTF16_LE + b"a", "not known here"),
    "noughts": (b"measure;S\x00", "no text and no workbook"),
    "other document": (packed({"content.xml": b"<a/>"}), "holds no XLSX sheets"),
    "torn": (workbook(Sizes=TABLE)[:900], "damaged"),
    "no zip": (b"PK\x03\x04 and so on", "damaged"),
    "bomb": (packed({"xl/workbook.xml": b" " * 30_000_000}), "unpacks to 30 MB"),
    "lying": (lying_about_a_size(), "damaged"),
    "far cell": (with_part(SHEET, b"</sheetData>", FAR_CELL), "far larger than a size table"),
    "far row": (with_part(SHEET, b"</sheetData>", FAR_ROW), "far larger than a size table|no size"),
    "entities": (with_part(SHEET, b"<worksheet", ENTITY), "damaged"),
    "no such cell": (with_part(SHEET, b'r="B8"', b'r="&#66;8x"'), "damaged"),
    "long text": (
        with_part("xl/sharedStrings.xml", b"</sst>", b"<si>" + b"x" * 15_000_000 + b"</si></sst>"),
        "far larger",
    ),
    "no sheet part": (with_part("xl/_rels/workbook.xml.rels", b"sheet1.xml", b"sheet9.xml"), "damaged"),
    "hidden": (hidden(), "shows no sheet"),
    "no table": (workbook(A=[["wool"]], B=[["cotton"]]), "none of its 2 sheets holds a size table"),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_wrong_or_hostile_file_is_refused_in_trade_words(kind):
    data, said = HOSTILE[kind]
    with pytest.raises(Problem, match=said) as refused:
        size_table_of_file(data, "spec.xlsx", NAMES)
    assert refused.value.where.startswith("file spec.xlsx")
    assert refused.value.tries


@given(st.data())
def test_a_workbook_with_damage_anywhere_is_read_or_refused(data):
    parts = parts_of(workbook(Sizes=TABLE))
    name = data.draw(st.sampled_from(sorted(parts)))
    start = data.draw(st.integers(0, len(parts[name]) - 1))
    gone, new = data.draw(st.integers(0, 20)), data.draw(st.binary(max_size=8))
    parts[name] = parts[name][:start] + new + parts[name][start + gone :]
    try:
        values = size_table_of_file(packed(parts), "spec.xlsx", NAMES).table.measures_cm.values()
    except Problem:
        values = ()
    assert all(0 <= value <= 300 for value in values)
