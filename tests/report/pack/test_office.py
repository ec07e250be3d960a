"""The workbooks of a pack and of a comparison in another program: LibreOffice reckons them anew and agrees with us.

Our own results are taken out of the files first (openpyxl saves formulas alone), so that nothing can be read back that
was not reckoned there.
"""

import shutil
import subprocess
import tomllib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from loopwright.garment.measures import words_of
from loopwright.report.comparison_files import comparison_workbook
from loopwright.report.pack.writing import pack_files
from loopwright.study.compared import compare
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "attendant-pullover.toml"
PROGRAM = shutil.which("soffice") or shutil.which("libreoffice")
PATIENCE_S = 1800  # a busy machine that starts it for the first time
OTHER_HOUR = 20.0
pytestmark = pytest.mark.skipif(not PROGRAM, reason="no LibreOffice: apt-get install libreoffice-calc-nogui")

Change = Callable[[openpyxl.Workbook], None]


def nothing(_: openpyxl.Workbook) -> None:
    """A book as it is."""


def cost_row(book: openpyxl.Workbook, sheet: str, words: str) -> int:
    return next(row for row in range(5, book[sheet].max_row + 1) if book[sheet].cell(row, 1).value == words)


def dearer_hour(book: openpyxl.Workbook) -> None:
    given = "Rates and amounts"
    book[given].cell(cost_row(book, given, "machine hour"), 2).value = OTHER_HOUR


@pytest.fixture(scope="module")
def study() -> StyleStudy:
    return study_style(read_style(tomllib.loads(EXAMPLE.read_text("utf-8"))))


@pytest.fixture(scope="module")
def files(study: StyleStudy) -> dict[str, bytes]:
    other = study_style(read_style(tomllib.loads((EXAMPLE.parent / "guard-pullover.toml").read_text("utf-8"))))
    return pack_files(study, ("xlsx",), with_cost=True) | {"both.xlsx": comparison_workbook(compare(study, other))}


@pytest.fixture(scope="module")
def reckoned(files: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> dict[str, openpyxl.Workbook]:
    """Each workbook as LibreOffice saves it, and the cost of a dearer machine hour; all in one start of the program."""
    folder = tmp_path_factory.mktemp("office")
    changes: dict[str, tuple[str, Change]] = {
        "specification.xlsx": ("specification.xlsx", nothing),
        "cost-confidential.xlsx": ("cost-confidential.xlsx", nothing),
        "both.xlsx": ("both.xlsx", nothing),
        "dearer.xlsx": ("cost-confidential.xlsx", dearer_hour),
    }
    for name, (source, change) in changes.items():
        book = openpyxl.load_workbook(BytesIO(files[source]))
        change(book)
        book.save(folder / name)
        assert all(not has_result(cell) for cell in formulas(folder / name))
    own = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    names = [str(folder / name) for name in changes]
    words = [str(PROGRAM), own, "--headless", "--norestore", "--convert-to", "xlsx", "--outdir", str(folder / "out")]
    told = subprocess.run([*words, *names], capture_output=True, text=True, timeout=PATIENCE_S, check=False)
    made = {name: folder / "out" / name for name in changes}
    assert all(path.exists() for path in made.values()), told.stdout + told.stderr
    return {name: openpyxl.load_workbook(path, data_only=True) for name, path in made.items()}


def formulas(file: Path | BytesIO) -> list[tuple[str, str, str]]:
    """(sheet, cell, result that stands in the file) of every formula."""
    if isinstance(file, Path):
        file = BytesIO(file.read_bytes())
    asked, told = openpyxl.load_workbook(file), openpyxl.load_workbook(file, data_only=True)
    return [
        (sheet.title, cell.coordinate, told[sheet.title][cell.coordinate].value)
        for sheet in asked
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]


def has_result(formula: tuple[str, str, str]) -> bool:
    return formula[2] is not None


@pytest.mark.parametrize(
    ("name", "least"), [("specification.xlsx", 60), ("cost-confidential.xlsx", 40), ("both.xlsx", 80)]
)
def test_every_formula_comes_to_the_figure_that_the_study_wrote_beside_it(files, reckoned, name, least):
    written = formulas(BytesIO(files[name]))
    assert len(written) >= least
    for sheet, cell, ours in written:
        assert reckoned[name][sheet][cell].value == pytest.approx(ours, rel=1e-9, abs=1e-6), (sheet, cell)


def test_the_price_is_the_study_s_line_by_line_and_to_the_cent(study, reckoned):
    book = reckoned["cost-confidential.xlsx"]
    for line in study.pricing.sheet.lines:
        row = cost_row(book, "Cost", line.words)
        assert book["Cost"].cell(row, 3).value == pytest.approx(float(line.amount.amount), abs=1e-9), line.key


def test_another_machine_hour_gives_the_price_that_the_study_gives_for_it(study, reckoned):
    document = study.style.model_dump(mode="json", exclude_none=True)
    document["rates"] = {**document.get("rates", {}), "machine_hour": OTHER_HOUR}
    other = study_style(read_style(document)).pricing.sheet.fob.amount.amount
    book = reckoned["dearer.xlsx"]
    assert book["Cost"].cell(cost_row(book, "Cost", "FOB price"), 3).value == pytest.approx(float(other), abs=1e-9)
    assert other != study.pricing.sheet.fob.amount.amount


def test_every_measure_of_every_size_is_the_study_s(study, reckoned):
    sheet, table = reckoned["specification.xlsx"]["Size specification"], study.size_table
    words = {cell.value: cell for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)}
    heads = {str(cell.value).removesuffix(" (base)"): cell.column for cell in sheet[words["XS"].row]}
    for name in table.names:
        row = words[words_of(name)].row
        for size in table.sizes:
            column = heads[size]
            assert sheet.cell(row, column).value == pytest.approx(table.value_cm(size, name), abs=5e-5), (name, size)


def test_the_kilograms_of_the_order_are_the_study_s(study, reckoned):
    sheet = reckoned["specification.xlsx"]["Yarn"]
    last = len(study.sizes) + 2
    assert sheet.cell(2, last).value == study.style.order.pieces
    wanted = study.style.order.pieces * study.grams.value / 1000
    assert sheet.cell(4, last).value == pytest.approx(wanted, rel=2e-3)  # sizes in whole pieces
