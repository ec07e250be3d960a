"""What the developer keeps at home, planted with odd values and looked for in every file that the factory gets."""

import json
import re
import tomllib
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pytest

from loopwright.cost.rates import rate_rows
from loopwright.report.pack.issued import ISSUE_FILE, handed, read_issue
from loopwright.report.pack.issuing import issue_pack
from loopwright.report.pack.language import LANGUAGES
from loopwright.report.pack.writing import FORMATS, pack_files
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "guard-pullover.toml"
WHISPER = "whispered"  # stands in every note of a record
CURRENCY = "QQX"


def planted(digits: str) -> dict[str, Any]:
    """The example with the digits in every field of money, and a word in all that a record says but its name."""
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    sum_of, share = float(f"{digits[0]}{digits}.1379"), float(f"0.0{digits}1379")
    for yarn in document["yarns"].values():
        yarn["price_per_kg"] = sum_of
    document["rates"] = {"currency": CURRENCY} | {
        name: sum_of if "¤" in row.text("unit") else share for name, row in rate_rows().items()
    }
    document["targets"] = {
        "price": sum_of, "quoted_price": sum_of, "minutes": float(f"{digits}.1379"), "piece_mass_g": sum_of,
    }  # fmt: skip
    sitting = {"state": "finished", "by": WHISPER, "note": f"{WHISPER} {digits}", "wales": [27.0], "courses": [64, 65]}
    document["swatches"] = {
        "third": {
            "name": "swatch 7", "structure": "half cardigan", "yarn": "lambswool", "lot": WHISPER,
            "loop_length_mm": 8.6, "note": f"{WHISPER} {digits}", "sittings": {"washed": sitting},
        }
    }  # fmt: skip
    document["samples"] = {
        "first": {"name": f"{WHISPER} {digits}", "note": WHISPER, "pieces": [{"size": "M", "major": WHISPER}]}
    }
    return document


SECRETS = re.compile(
    rf"(?<![\d.])(?:777|888)[.,]1(?:379|4)(?!\d)|(?:77|88)[.,]1379|771379|881379|{WHISPER}|{CURRENCY}"
)  # as typed, as rounded to cents, as a share


def told(name: str, data: bytes) -> str:
    """All words of a file: of every page and its data, of every part of a workbook."""
    if name.endswith(".pdf"):
        reader = pypdf.PdfReader(BytesIO(data))
        return " ".join(page.extract_text() for page in reader.pages) + str(reader.metadata)
    if name.endswith(".xlsx"):
        with zipfile.ZipFile(BytesIO(data)) as parts:
            return " ".join(parts.read(each).decode("utf-8") for each in parts.namelist())
    return data.decode("latin-1" if name.endswith(".glb") else "utf-8")


@pytest.fixture(scope="module")
def study() -> StyleStudy:
    found = study_style(read_style(planted("77")))
    assert found.pricing is not None
    assert not found.refused
    return found


def prices(study: StyleStudy) -> list[str]:
    """The prices that the study comes to, as they are printed."""
    assert study.pricing is not None
    sheet = study.pricing.sheet
    return [f"{sheet.fob.figure.value:.2f}", f"{sheet.landed.figure.value:.2f}"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_file_of_a_pack_tells_money_or_records(study, language):
    formats = FORMATS if language == "en" else ("pdf", "xlsx", "svg")
    for name, data in pack_files(study, formats, language=language).items():
        words = told(name, data)
        found = SECRETS.search(words)
        assert found is None, (name, words[max(0, found.start() - 200) : found.end() + 100])
        assert not any(price in words for price in prices(study)), name


def test_the_confidential_sheet_tells_what_the_others_keep(study):
    name = "cost-confidential.xlsx"
    words = told(name, pack_files(study, ("xlsx",), with_cost=True)[name])
    assert {each[0] for each in SECRETS.finditer(words)} >= {"777.1379", "771379", CURRENCY}


def test_an_issue_of_changed_money_says_that_nothing_was_decided_otherwise(study):
    old, new = planted("77"), planted("88")
    first, _ = issue_pack(study, old, handed(number=1, style_version=1, when="2026-11-10"), formats=("csv",))
    second, files = issue_pack(
        study_style(read_style(new)), new, handed(number=2, style_version=2, when="2026-11-11"), last=first
    )
    assert second.changes == ()
    for name, data in files.items():
        words = told(name, data)
        found = SECRETS.search(words)
        assert found is None, (name, words[max(0, found.start() - 200) : found.end() + 100])
    pages = " ".join(told("specification.pdf", files["specification.pdf"]).split())
    assert "Nothing differs from issue 1" in pages
    assert "Decided otherwise" not in pages
    record = json.loads(files[ISSUE_FILE])
    assert record["inputs"].keys().isdisjoint({"rates", "targets", "swatches", "samples"})
    assert read_issue(files[ISSUE_FILE]).number == 2
