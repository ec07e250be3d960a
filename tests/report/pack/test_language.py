"""A pack in the languages of factories: nothing but words changes, no gap is lost, names stay, unknown words are told.

Fibre names of the label: EU regulation 1007/2011, annex I, in the languages of the Union (from memory).
"""

import json
import re
import tomllib
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.problems import Problem
from loopwright.report import faces
from loopwright.report.pack import language
from loopwright.report.pack.issued import handed, read_issue
from loopwright.report.pack.issuing import issue_pack, issue_pdf
from loopwright.report.pack.language import LANGUAGES, Tongue, in_language, require_language
from loopwright.report.pack.leaves import pack_of
from loopwright.report.pack.pages import pack_pdf, pages_document
from loopwright.report.pack.writing import pack_files
from loopwright.sources.table import table
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLES = sorted((Path(__file__).resolve().parents[3] / "examples").glob("*.toml"))
OTHERS = [key for key in LANGUAGES if key != "en"]
IN_ENGLISH = {"svg", "kind", "basis", "letter"}


def studied(path: Path) -> StyleStudy:
    return study_style(read_style(tomllib.loads(path.read_text("utf-8"))))


@pytest.fixture(scope="module", params=EXAMPLES[:3], ids=lambda path: path.stem)
def document(request: pytest.FixtureRequest) -> dict[str, Any]:
    return pages_document(pack_of(studied(request.param)), "A4")


@pytest.fixture(scope="module")
def pullover() -> StyleStudy:
    return studied(EXAMPLES[0])


def texts(value: Any, key: str = "") -> list[tuple[str, str]]:
    """Every text of the data with the key it stands under, words of drawings among them."""
    if isinstance(value, str):
        if key == "svg":
            return [("svg", each) for each in re.findall(r"<(?:text|tspan)[^>]*>([^<]+)<", value)]
        return [(key, value)] if key not in IN_ENGLISH else []
    if isinstance(value, dict):
        return [pair for each, inner in value.items() for pair in texts(inner, each)]
    return [pair for inner in value for pair in texts(inner, key)] if isinstance(value, list) else []


def numbers(text: str) -> list[str]:
    return sorted(re.findall(r"\d+(?:[.,/]\d+)*", text))


@pytest.mark.parametrize("key", OTHERS)
def test_every_figure_of_a_text_stands_in_its_translation(document, key):
    """No number is lost, made or changed, whatever the order of words."""
    tongue = Tongue(key)
    changed = 0
    for _, text in texts(document):
        said = tongue.text(text)
        assert numbers(said) == numbers(text), (text, said)
        changed += said != text
    assert changed > 100


@pytest.mark.parametrize("key", OTHERS)
def test_titles_heads_and_labels_are_all_known(document, key):
    names = {document["title"], *document["line"].split(" · ")}
    tongue = Tongue(key)
    for where, text in texts(document):
        if where in ("title", "head", "heading", "note", "foot", "sign", "what", "issue") and text not in names:
            tongue.text(text)
    named = re.compile(r"Needles of|^\d")  # structures and cones may have names of their own
    assert not [text for text in tongue.left if not named.search(text)]


def test_the_list_keeps_every_gap_in_every_language():
    for row in table(language.__package__, "terms"):
        gaps = sorted(re.findall(r"\{\w\}", row.text("english")))
        for key in OTHERS:
            assert row.text(key).strip(), (row.text("english"), key)
            assert sorted(re.findall(r"\{\w\}", row.text(key))) == gaps, (row.text("english"), key)


def test_the_list_says_each_thing_once():
    english = [row.text("english") for row in table(language.__package__, "terms")]
    assert len(english) == len(set(english))
    whole = [re.sub(r"^\w", lambda first: first[0].lower(), each) for each in english if "{" not in each]
    assert len(whole) == len(set(whole))


@pytest.mark.parametrize(
    ("english", "de", "it", "pt"),
    [
        ("wool", "Wolle", "lana", "lã"),
        ("cotton", "Baumwolle", "cotone", "algodão"),
        ("silk", "Seide", "seta", "seda"),
        ("linen", "Leinen", "lino", "linho"),
        ("hemp", "Hanf", "canapa", "cânhamo"),
        ("viscose", "Viskose", "viscosa", "viscose"),
        ("polyamide", "Polyamid", "poliammide", "poliamida"),
        ("elastane", "Elastan", "elastan", "elastano"),
    ],
)
def test_fibres_are_called_as_the_regulation_calls_them(english, de, it, pt):
    assert [Tongue(key).text(f"50 % {english}") for key in ("de", "it", "pt")] == [
        f"50 % {each}" for each in (de, it, pt)
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1×1 rib, every other needle", "Rippe 1×1, jede zweite Nadel"),
        ("body, sleeve: plain", "Rumpf, Ärmel: rechts-links glatt"),
        ("B Half chest", "B Halbe Brustweite"),
        ("Neckband", "Halsbündchen"),
        ("bind off 16 needles at each side", "an jeder Seite 16 Nadeln abketteln"),
        (
            "narrow at each side 3 × (2 needles / 4 courses) + 1 × (1 needle / 2 courses) = 14 courses",
            "mindern an jeder Seite 3 × (2 Nadeln / 4 Reihen) + 1 × (1 Nadel / 2 Reihen) = 14 Reihen",
        ),
        ("Fernweh merino", "Fernweh merino"),  # a name
        ("{n} needles {0}", "{n} needles {0}"),  # a name that looks like a gap
        ("E 12", "E 12"),
        ("", ""),
    ],
)
def test_a_text_is_known_whole_by_its_phrase_or_by_its_parts(text, said):
    assert Tongue("de").text(text) == said


def test_a_capital_i_has_its_dot_in_turkish():
    assert Tongue("tr").text("Yarn") == "İplik"


def test_english_stays_as_it_is(document):
    assert in_language(document, "en") == {**document, "language": "en"}


def test_the_pages_in_german_say_that_their_terms_are_to_be_checked(pullover):
    data = pack_pdf(pack_of(pullover), language="de")
    reader = pypdf.PdfReader(BytesIO(data))
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]
    assert "bitte mit dem Werk prüfen" in pages[0]
    assert "Begriffe dieser Mappe" in pages[-1]
    assert re.search(r"Half chest ?Halbe Brustweite", pages[-1] + pages[-2])
    assert "Maßtabelle" in " ".join(pages)
    assert reader.trailer["/Root"]["/Lang"].startswith("de")
    assert data == pack_pdf(pack_of(pullover), language="de")


def test_chinese_is_printed_where_a_face_has_its_letters(pullover):
    if faces.han_face() is None:
        pytest.skip("no face for Simplified Chinese on this machine")
    words = " ".join(
        page.extract_text() for page in pypdf.PdfReader(BytesIO(pack_pdf(pack_of(pullover), "A4", "zh"))).pages
    )
    assert "尺寸规格表" in words
    assert "羊毛" in words


def test_chinese_without_a_face_says_so_before_anything_is_set(pullover, tmp_path, monkeypatch):
    monkeypatch.setattr(faces, "FONT_FOLDERS", (str(tmp_path),))
    (tmp_path / "not-a-han.otf").write_bytes(b"no font at all")
    faces.han_face.cache_clear()
    try:
        with pytest.raises(Problem, match="need a type face with its letters") as refused:
            pack_files(pullover, ("pdf",), language="zh")
        assert "install a font for Simplified Chinese" in refused.value.tries
        assert pack_files(pullover, ("xlsx",), language="zh")
    finally:
        faces.han_face.cache_clear()


def test_an_issue_tells_in_its_language_what_changed(pullover):
    document = tomllib.loads(EXAMPLES[0].read_text("utf-8"))
    first, _ = issue_pack(pullover, document, handed(number=1, style_version=1, when="2026-11-18"), language="de")
    document["zones"]["hem"]["loop_length_mm"] = 5.7
    later = study_style(read_style(document))
    saying = handed(number=2, style_version=2, when="2026-11-19", note="Danke")
    second, files = issue_pack(later, document, saying, last=first, formats=("pdf",), language="de")
    words = " ".join(pypdf.PdfReader(BytesIO(files["specification.pdf"])).pages[0].extract_text().split())
    assert "Ausgabe 2 · 19. November 2026" in words
    assert "Was sich seit Ausgabe 1 geändert hat" in words
    assert issue_pdf(read_issue(second.as_json())) == files["specification.pdf"]
    with pytest.raises(Problem, match="no language of a pack"):
        read_issue(second.as_json().replace(b'"language": "de"', b'"language": "xx"'))


def test_the_workbook_speaks_the_language_and_its_sums_stay(pullover):
    english, german = (
        openpyxl.load_workbook(BytesIO(pack_files(pullover, ("xlsx",), language=key)["specification.xlsx"]))
        for key in ("en", "de")
    )
    assert german["Needles and courses"]["A1"].value == "Teil"
    for sheet in english:
        other = german[sheet.title]
        assert other.dimensions == sheet.dimensions
        for row in sheet.iter_rows():
            for cell in row:
                if not isinstance(cell.value, str) or cell.data_type == "f":
                    assert other[cell.coordinate].value == cell.value


@pytest.mark.parametrize("said", ["xx", "", "DE ", "deutsch"])
def test_a_language_that_is_none_is_told_with_those_that_are(said):
    with pytest.raises(Problem, match="no language of a pack") as refused:
        require_language(said)
    assert "Türkçe" in refused.value.tries[0]


def test_the_command_writes_a_pack_in_a_language(tmp_path):
    told = CliRunner().invoke(
        app, ["pack", str(EXAMPLES[0]), "--out", str(tmp_path), "--only", "pdf,json", "--language", "it"]
    )
    assert told.exit_code == 0, told.output
    text = pypdf.PdfReader(tmp_path / "specification.pdf").pages[0].extract_text()
    assert "Scheda tecnica" in text
    assert json.loads((tmp_path / "pack.json").read_text("utf-8"))["style"]  # data stay as they are
    wrong = CliRunner().invoke(app, ["pack", str(EXAMPLES[0]), "--out", str(tmp_path), "--language", "xx"])
    assert wrong.exit_code == 2
    assert "no language of a pack" in wrong.output
