"""`loopwright compare`: read by a person, by a program, as pages and as a workbook; bad input refused in words."""

import json
from io import BytesIO
from pathlib import Path

import openpyxl
import pypdf
import pytest
from typer.testing import CliRunner

from loopwright.cli import app

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
ONE, TWO = EXAMPLES / "attendant-pullover.toml", EXAMPLES / "guard-pullover.toml"
SMALL = '[yarns.main]\ncount = "2/30 Nm merino"\n[garment]\nsizes = ["M"]\n[machine]\ngauge = 12\n'


def run(*words: str | Path):
    return CliRunner().invoke(app, ["compare", *map(str, words)])


@pytest.fixture(scope="module")
def told():
    return json.loads(run(ONE, TWO, "--json").stdout)


def test_the_sheet_says_differences_first_then_both_in_one_layout():
    text = run(ONE, TWO).stdout
    places = [
        text.index(f"\n{words}") for words in ("What differs", "Decided otherwise", "Price   line", "Fabric", "Sizes")
    ]
    assert places == sorted(places)
    assert "N7-021 costs" in text
    assert "not surely different" in text
    assert text.index("Differences first") < text.index("Alike in both")
    assert text.index("Only in N7-014") < text.index("Only in N7-021")


def test_every_difference_in_the_data_is_the_second_less_the_first(told):
    met = 0
    for row in told["quantities"]:
        if row["difference"]:
            apart = row["second"]["value"] - row["first"]["value"]
            assert row["difference"]["value"] == pytest.approx(apart, abs=1e-9), row["key"]
            holds = row["difference"]["low"] <= 0 <= row["difference"]["high"]
            assert row["verdict"] == "alike" or holds == (row["verdict"] == "not surely different"), row["key"]
            met += 1
    assert met > 20


def test_measures_apart_are_those_of_the_two_size_tables(told):
    tables = [json.loads(CliRunner().invoke(app, ["sizes", str(path), "--json"]).stdout) for path in (ONE, TWO)]
    cells = [{point["point"]: point["cells"] for point in table["points"]} for table in tables]
    assert list(told["measures_apart_cm"]) == ["S", "M", "L", "XL"]
    for size, points in told["measures_apart_cm"].items():
        for name, apart in points.items():
            assert apart == pytest.approx(cells[1][name][size]["cm"] - cells[0][name][size]["cm"], abs=2e-4)


def test_the_pages_say_the_same(tmp_path):
    answer = run(ONE, TWO, "--out", tmp_path / "both.pdf")
    assert answer.exit_code == 0, answer.output
    pages = pypdf.PdfReader(tmp_path / "both.pdf").pages
    text = " ".join(page.extract_text() for page in pages)
    for words in ("What differs", "N7-021 costs", "Alike in both", "Only in N7-014", "not surely different"):
        assert words in text, words
    assert len(pages) < 12


def test_the_workbook_subtracts_by_formula(tmp_path, told):
    assert run(ONE, TWO, "--out", tmp_path / "both.xlsx").exit_code == 0
    book = openpyxl.load_workbook(BytesIO((tmp_path / "both.xlsx").read_bytes()))
    assert book.sheetnames == ["Compared", "Measures", "Only in one"]
    sheet = book["Compared"]
    assert sheet.max_row == 1 + len(told["quantities"])
    for row, quantity in enumerate(told["quantities"], start=2):
        assert sheet.cell(row, 1).value == quantity["words"]
        if quantity["difference"]:
            assert sheet.cell(row, 11).value == f"=G{row}-C{row}"
            assert sheet[f"G{row}"].value - sheet[f"C{row}"].value == pytest.approx(quantity["difference"]["value"])


def test_the_page_to_keep_asks_nobody(tmp_path):
    assert run(ONE, TWO, "--out", tmp_path / "both.html").exit_code == 0
    html = (tmp_path / "both.html").read_text("utf-8")
    assert "default-src 'none'" in html
    assert "What differs" in html


def test_one_style_on_both_sides_is_refused():
    answer = run(ONE, EXAMPLES / "." / ONE.name)
    assert answer.exit_code == 2
    assert "both sides" in answer.stderr


def test_an_ending_that_nothing_is_written_with_is_refused_before_anything_is_studied(tmp_path):
    answer = run(ONE, TWO, "--out", tmp_path / "both.docx")
    assert answer.exit_code == 2
    assert ".pdf" in answer.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_half_described_style_is_compared_with_what_it_has(tmp_path):
    (tmp_path / "half.toml").write_text(SMALL, "utf-8")
    answer = run(ONE, tmp_path / "half.toml")
    assert answer.exit_code == 0, answer.output
    assert "The prices cannot be compared: the second has none. The second takes" in " ".join(answer.stdout.split())
    assert "Yarn in a piece" in answer.stdout


def test_a_style_to_be_mended_is_compared_but_not_written(tmp_path):
    (tmp_path / "wrong.toml").write_text(SMALL + "[order]\npieces = 300\n[rates]\nline_efficiency = 75\n", "utf-8")
    answer = run(ONE, tmp_path / "wrong.toml", "--out", tmp_path / "both.pdf")
    assert answer.exit_code == 2
    assert "To be mended first" in answer.stdout
    assert "Yarn in a piece" in answer.stdout
    assert not (tmp_path / "both.pdf").exists()
    told = json.loads(run(ONE, tmp_path / "wrong.toml", "--json").stdout)
    assert told["second"]["refused"]
    assert told["written"] == []


def test_a_file_that_is_no_style_is_refused(tmp_path):
    (tmp_path / "odd.toml").write_text("[hat]\nsize = 3\n", "utf-8")
    answer = run(ONE, tmp_path / "odd.toml")
    assert answer.exit_code == 2
    assert "hat" in answer.stderr


def test_names_of_a_person_stay_words_in_every_format(tmp_path):
    odd = '=1+1 <b>&"{}[]$*_`@ style'
    for name, number in (("one", "=1+1"), ("two", "@2")):
        header = f"[style]\nname = '{odd}'\nnumber = '{number}'\n"
        (tmp_path / f"{name}.toml").write_text(header + SMALL, "utf-8")
    pair = (tmp_path / "one.toml", tmp_path / "two.toml")
    for ending in ("pdf", "xlsx", "html"):
        answer = run(*pair, "--out", tmp_path / f"both.{ending}")
        assert answer.exit_code == 0, answer.output
    html = (tmp_path / "both.html").read_text("utf-8")
    assert "<b>&" not in html
    for sheet in openpyxl.load_workbook(tmp_path / "both.xlsx"):
        for row in sheet.iter_rows():
            assert not [cell for cell in row if cell.data_type == "f" and "1+1" in str(cell.value)]


def test_two_yarns_alone_are_tried_in_one_garment(tmp_path):
    """The mass of a fabric at one tightness grows with the root of the count, so the heavier yarn makes the heavier."""
    files = []
    for name, count in (("thin", "2/48 Nm"), ("stout", "2/24 Nm")):
        files.append(tmp_path / f"{name}.toml")
        files[-1].write_text(f'[yarns.y]\ncount = "{count}"\nfibres = "merino"\nprice_per_kg = 30\n', "utf-8")
    told = CliRunner().invoke(app, ["compare", *map(str, files), "--json"])
    assert told.exit_code == 0, told.output
    document = json.loads(told.output)
    assert [document[each]["name"] for each in ("first", "second")] == ["thin", "stout"]
    mass = next(each for each in document["quantities"] if each["key"].endswith("mass_g_per_m2"))
    assert mass["difference"]["value"] > 0
