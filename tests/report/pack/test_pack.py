"""The factory pack read back by other programs: pages by pypdf, drawing by ezdxf, workbooks by openpyxl.

A workbook's formulas are worked out again here, by a reader of sums of our own, beside the study's figures.
"""

import json
import re
import tomllib
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from io import BytesIO, StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import openpyxl
import pypdf
import pytest
from shapely.geometry import Polygon
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.problems import Problem
from loopwright.report.pack.leaves import pack_of
from loopwright.report.pack.pages import missing_letters, pack_pdf
from loopwright.report.pack.writing import pack_document, pack_files
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "attendant-pullover.toml"
SMALL: dict[str, Any] = {
    "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 30}},
    "zones": {"body": {"structure": "plain"}, "hem": {"structure": "rib-2x1"}},
    "garment": {"sizes": ["M"]},
    "machine": {"gauge": 12},
    "order": {"pieces": 300},
}
ODD = '=1+1 <b>&"#{}[]$*_`@\\ style'


@pytest.fixture(scope="module")
def study() -> StyleStudy:
    return study_style(read_style(tomllib.loads(EXAMPLE.read_text("utf-8"))))


@pytest.fixture(scope="module")
def files(study: StyleStudy) -> dict[str, bytes]:
    return pack_files(study, with_cost=True)


@pytest.fixture(scope="module")
def pages(files: dict[str, bytes]) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(files["specification.pdf"]))


@pytest.fixture(scope="module")
def words(pages: pypdf.PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages.pages))


def odd(**style: Any) -> StyleStudy:
    return study_style(read_style({**SMALL, "style": style}))


def test_seven_sizes_make_fewer_than_forty_pages_and_three_megabytes(study, files, pages):
    assert len(study.sizes) == 7
    assert len(pages.pages) < 40
    assert len(files["specification.pdf"]) < 3_000_000


def test_the_pages_are_tagged_have_a_title_and_a_language(pages):
    """ISO 14289-1 (PDF/UA-1), from memory: marked content, a tree of structure, a shown title, a language."""
    root = pages.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  an object of the reader
    assert root["/StructTreeRoot"]["/K"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert root["/Lang"].startswith("en")
    assert "pdfuaid" in root["/Metadata"].get_data().decode("utf-8")


def test_every_face_is_inside(pages):
    met = 0
    for page in pages.pages:
        for font in page["/Resources"].get_object().get("/Font", {}).values():
            whole = font.get_object()
            for each in whole.get("/DescendantFonts", [whole]):
                kept = each.get_object()["/FontDescriptor"].get_object()
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(kept)
                met += 1
    assert met


def test_a_stranger_finds_needles_and_courses_of_every_panel_in_every_size(study, words):
    for size in study.sizes:
        for panel in size.panels:
            plan = panel.plan
            assert f"Knit-down: {plan.name}, size {size.size}" in words
            assert f"{plan.rib_needles} needles" in words
            assert str(plan.courses) in words
    for part in (
        "Size specification",
        "Make-up",
        "ISO 4915",
        "100 % wool",
        "100% wool",
        "AQL 2.5",
        "Needles and metal",
    ):
        assert part in words, part


def test_no_price_and_no_target_stands_in_what_the_factory_gets(study, files, words):
    assert study.pricing is not None
    price = study.pricing.sheet.fob.amount.text()
    secret = ["29.50", "23.50", "25.80", price.split()[0], "EUR"]
    told = json.loads(files["pack.json"])
    sheets = openpyxl.load_workbook(BytesIO(files["specification.xlsx"]))
    cells = [str(cell.value) for sheet in sheets for row in sheet.iter_rows() for cell in row if cell.value is not None]
    for each in secret:
        assert words.find(each) < 0, each
        assert " ".join(cells).find(each) < 0, each
        assert json.dumps({key: told[key] for key in ("style", "findings", "assumptions")}).find(each) < 0, each
    assert "price" not in told
    cost = pypdf.PdfReader(BytesIO(files["cost-confidential.pdf"]))
    assert price.split()[0] in " ".join(page.extract_text() for page in cost.pages)


@pytest.mark.parametrize(
    "more",
    [
        {"targets": {"minutes": 1, "piece_mass_g": 10, "price": 5, "quoted_price": 6}},
        {"yarns": {"main": {"count": "2/30 Nm merino"}}},
        {"order": {"pieces": 300, "terms": "CIF"}},
        {"machine": {"gauge": 12, "speed_m_per_s": 1.0}, "rates": {"margin": 0.2}},
        {"order": None},
    ],
    ids=["limits of the developer", "a yarn without a price", "terms", "a rate", "nothing ordered"],
)
def test_what_the_developer_keeps_to_himself_is_told_nowhere(more):
    document = {key: value for key, value in {**SMALL, **more}.items() if value is not None}
    study = study_style(read_style(document))
    pack = pack_of(study)
    blocks = [block for leaf in pack.leaves for block in (*leaf.main, *leaf.flow, *leaf.side)]
    told = " ".join(map(str, blocks)) + json.dumps(pack_document(study), default=str)
    for word in ("your limit", "EUR", "margin", "has no price", "price line", "quoted_price", "[order]"):
        at = told.find(word)
        assert at < 0, (word, told[max(0, at - 200) : at + 200])


def test_a_drawing_taller_than_a_page_is_made_to_fit_one():
    scarf = study_style(read_style({**SMALL, "garment": {"block": "scarf", "sizes": ["M"]}}))
    reader = pypdf.PdfReader(BytesIO(pack_pdf(pack_of(scarf), "Letter")))
    assert "10 cm on the cloth" in " ".join(page.extract_text() for page in reader.pages)
    assert len(reader.pages) < 40


def test_forty_sizes_stand_in_tables_that_are_no_wider_than_the_page():
    """Words of one line of the size table are told apart by their places: none begins before the last one ends."""
    sizes = [str(chest) for chest in range(76, 156, 2)]
    garment = {"block": "vest", "sizes": sizes}
    pages = pypdf.PdfReader(BytesIO(pack_pdf(pack_of(study_style(read_style({**SMALL, "garment": garment})))))).pages
    first = pages[0].extract_text()
    assert "sizes 76–154" in first
    places: dict[float, list[tuple[float, str]]] = {}

    def place(text: str, where: list[float], _text_matrix: Any, _font: Any, _size: float) -> None:
        if re.fullmatch(r"\d\d\.\d", text.strip()):
            places.setdefault(round(where[5]), []).append((where[4], text))

    sheet = next(page for page in pages if "tolerance" in page.extract_text())
    sheet.extract_text(visitor_text=place)
    rows = [sorted(x for x, _ in row) for row in places.values() if len(row) > 5]
    assert rows
    assert all(right - left > 15 for row in rows for left, right in pairwise(row))  # points: four digits of 9 pt


def test_a_name_longer_than_the_head_stands_whole_on_the_first_page_alone():
    name = " ".join(f"word{number}" for number in range(28))
    reader = pypdf.PdfReader(BytesIO(pack_pdf(pack_of(odd(name=name, number="7")))))
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]
    assert name in pages[0]
    assert all("word5" in page and "word27" not in page for page in pages[1:])


def test_the_rib_of_a_cardigan_front_is_drawn_from_edge_to_edge():
    study = study_style(read_style({**SMALL, "garment": {"block": "cardigan", "sizes": ["M"]}}))
    drawing = ezdxf.read(StringIO(pack_files(study, ("dxf",))["panels.dxf"].decode("utf-8")))
    front = next(panel.plan for panel in study.sizes[0].panels if panel.plan.is_half)
    (rib,) = drawing.blocks.get(f"M {front.name}").query('LINE[layer=="RIB"]')
    width_mm = 10 * front.rib_needles / front.gauge.rib_needles_per_cm
    assert rib.dxf.start.distance(rib.dxf.end) == pytest.approx(width_mm, rel=0.15)


def test_a_cost_sheet_that_no_format_can_hold_is_refused(study):
    with pytest.raises(Problem, match="neither was asked for"):
        pack_files(study, ("dxf",), with_cost=True)


def test_a_style_with_something_refused_has_no_pack():
    with pytest.raises(Problem):
        pack_files(study_style(read_style({**SMALL, "rates": {"line_efficiency": 75}})), ("csv",))


def test_the_same_study_gives_the_same_bytes(study, files):
    again = pack_files(study, with_cost=True)
    assert [name for name in files if files[name] != again[name]] == []


def test_a_drawing_program_finds_no_fault_and_the_panels_as_large_as_their_loops(study, files):
    """Area of a panel's main fabric = loops / (needle places × courses per cm²), by the polygon area of shapely."""
    drawing = ezdxf.read(StringIO(files["panels.dxf"].decode("utf-8")))
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.units == ezdxf.units.MM
    for size in study.sizes:
        for panel in size.panels:
            plan = panel.plan
            block = drawing.blocks.get(f"{size.size} {plan.name}")
            (outline,) = block.query("LWPOLYLINE")
            area_cm2 = Polygon(outline.get_points("xy")).area / 100
            rib_cm2 = plan.rib_needles / plan.gauge.rib_needles_per_cm * plan.rib_length_cm
            loops = float((plan.span * plan.slack_of_courses).sum()) if plan.courses else 0.0
            main_cm2 = loops / plan.gauge.needles_per_cm / plan.gauge.courses_per_cm
            if not plan.neck_needles:
                assert area_cm2 == pytest.approx(rib_cm2 + main_cm2, rel=1e-3), (size.size, plan.name)
            assert area_cm2 <= (rib_cm2 + main_cm2) * 1.001
            assert outline.closed


def worked_out(book: openpyxl.Workbook) -> Callable[[str, str], float]:
    """The value of a cell, its formulas worked out from the given numbers alone."""

    def value(sheet: str, cell: str) -> float:
        content = book[sheet][cell].value
        if not isinstance(content, str) or not content.startswith("="):
            return float(content or 0)
        text = content[1:].replace("$", "")
        text = re.sub(r"SUM\(([A-Z]+)(\d+):([A-Z]+)\2\)", _added, text)
        text = re.sub(
            r"(?:'([^']+)'!|\b(\w+)!)?\b([A-Z]{1,2}\d+)\b",
            lambda found: f"value({(found[1] or found[2] or sheet)!r}, {found[3]!r})",
            text,
        )
        return float(eval(text, {"value": value, "ROUND": _rounded}))  # sums of our own file

    return value


def _added(found: re.Match[str]) -> str:
    first, last = (openpyxl.utils.column_index_from_string(each) for each in (found[1], found[3]))
    cells = [f"{openpyxl.utils.get_column_letter(column)}{found[2]}" for column in range(first, last + 1)]
    return f"({'+'.join(cells)})"


def _rounded(number: float, digits: int) -> float:
    return float(Decimal(f"{number:.9f}").quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP))


def test_the_cost_workbook_computes_the_study_s_own_price_line_by_line(study, files):
    book = openpyxl.load_workbook(BytesIO(files["cost-confidential.xlsx"]))
    value = worked_out(book)
    sheet = book["Cost"]
    rows = {sheet.cell(row, 1).value: row for row in range(5, sheet.max_row + 1)}
    for line in study.pricing.sheet.lines:
        assert value("Cost", f"C{rows[line.words]}") == pytest.approx(float(line.amount.amount), abs=1e-9), line.key
        if line.key != "rounding":
            assert value("Cost", f"B{rows[line.words]}") == pytest.approx(line.figure.value, rel=1e-9, abs=1e-12)
    formulas = sum(str(cell.value).startswith("=") for row in sheet.iter_rows() for cell in row)
    assert formulas >= 2 * len(study.pricing.sheet.lines) - 1


def test_another_rate_typed_over_gives_what_the_study_gives_for_it(study, files):
    """The same change made in the workbook and in the style: a machine hour of another price."""
    book = openpyxl.load_workbook(BytesIO(files["cost-confidential.xlsx"]))
    given = book["Rates and amounts"]
    row = next(row for row in range(5, given.max_row + 1) if given.cell(row, 1).value == "machine hour")
    given.cell(row, 2).value = 20.0
    document = study.style.model_dump(mode="json", exclude_none=True)
    document["rates"] = {**document.get("rates", {}), "machine_hour": 20.0}
    other = study_style(read_style(document)).pricing
    sheet = book["Cost"]
    rows = {sheet.cell(row, 1).value: row for row in range(5, sheet.max_row + 1)}
    assert worked_out(book)("Cost", f"C{rows['FOB price']}") == pytest.approx(float(other.sheet.fob.amount.amount))


def test_the_specification_workbook_computes_kilograms(study, files):
    book = openpyxl.load_workbook(BytesIO(files["specification.xlsx"]))
    assert book.sheetnames == ["Size specification", "Grade", "Needles and courses", "Knit-down", "Yarn"]
    value, yarn = worked_out(book), book["Yarn"]
    last = openpyxl.utils.get_column_letter(len(study.sizes) + 2)
    pieces = value("Yarn", f"{last}2")
    assert pieces == study.style.order.pieces
    assert value("Yarn", f"{last}4") == pytest.approx(pieces * study.grams.value / 1000, rel=2e-3)
    assert yarn["A1"].value.startswith("Yarn in the pieces")


def test_every_drawing_is_a_picture_of_its_own(files):
    drawn = [name for name in files if name.endswith(".svg")]
    assert {"sketch.svg", "panel-front.svg", "panel-sleeve.svg", "makeup.svg", "point-1.svg"} <= set(drawn)
    for name in drawn:
        assert ElementTree.fromstring(files[name]).tag == "{http://www.w3.org/2000/svg}svg"


def test_signs_of_markup_and_formulas_stay_words_in_every_format():
    study = odd(name=ODD, number="@7", season="-2", note="+" + ODD)
    files = pack_files(study, with_cost=True)
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(files["specification.pdf"])).pages)
    assert '=1+1 <b>&"#{}[]$*_`@' in re.sub(r"\s+", " ", text)
    for name in ("specification.xlsx", "cost-confidential.xlsx"):
        for sheet in openpyxl.load_workbook(BytesIO(files[name])):
            for row in sheet.iter_rows():
                for cell in row:
                    if isinstance(cell.value, str) and "style" in cell.value and "=1+1" in cell.value:
                        assert cell.data_type == "s"
    assert not ezdxf.read(StringIO(files["panels.dxf"].decode("utf-8"))).audit().errors
    assert json.loads(files["pack.json"])["style"]["style"]["name"] == ODD


def test_a_very_long_word_is_broken_and_not_lost():
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(BytesIO(pack_pdf(pack_of(odd(note="x" * 900))))).pages
    )
    assert text.count("x") >= 900


@pytest.mark.parametrize("name", ["𒀀𒁀 crew", "زي الطاقم", "🧶 crew"])
def test_letters_without_a_form_are_told_before_anything_is_set(name):
    assert missing_letters(name)
    with pytest.raises(Problem, match="no form for"):
        pack_files(odd(name=name), ("pdf",))
    files = pack_files(odd(name=name), ("xlsx", "dxf", "json"))
    assert json.loads(files["pack.json"])["style"]["style"]["name"] == name
    assert not ezdxf.read(StringIO(files["panels.dxf"].decode("utf-8"))).audit().errors


def test_letter_paper_is_letter_paper():
    page = pypdf.PdfReader(BytesIO(pack_pdf(pack_of(odd(name="Skirt")), "Letter"))).pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == (612, 792)  # ANSI/ASME Y14.1 size A


def test_a_style_without_a_panel_has_no_pack_and_says_why():
    with pytest.raises(Problem, match="no panel to knit"):
        pack_of(study_style(read_style({"yarns": {"main": {"count": "2/30 Nm"}}})))


def run(*words: str | Path):
    return CliRunner().invoke(app, ["pack", *map(str, words)])


def test_the_command_writes_what_is_asked_for_and_names_it(tmp_path):
    answer = run(EXAMPLE, "-o", tmp_path / "out", "--only", "dxf, CSV", "--json")
    assert answer.exit_code == 0, answer.output
    written = json.loads(answer.stdout)["written"]
    assert sorted(Path(each).name for each in written) == ["panels.dxf", "sizes.csv"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["panels.dxf", "sizes.csv"]


@pytest.mark.parametrize(
    ("words", "said"),
    [(("--only", "docx"), "no format"), (("--only", ""), "no format"), (("--paper", "B5"), "no paper")],
)
def test_what_is_not_known_is_refused_and_nothing_is_written(words, said, tmp_path):
    answer = run(EXAMPLE, "-o", tmp_path / "out", *words)
    assert answer.exit_code == 2
    assert said in answer.stderr
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_leaves_no_half_file(tmp_path):
    (tmp_path / "out").write_text("a file", "utf-8")
    answer = run(EXAMPLE, "-o", tmp_path / "out", "--only", "csv")
    assert answer.exit_code == 2
    assert "nothing can be written" in answer.stderr
    assert (tmp_path / "out").read_text("utf-8") == "a file"
