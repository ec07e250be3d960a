"""`loopwright swatch`: the sheet of a swatch in a terminal and as JSON, its keys documented, its mistakes told."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app

ROOT = Path(__file__).resolve().parents[2]
DRAWER = ROOT / "examples" / "swatches" / "night-train.toml"


def run(*words):
    return CliRunner().invoke(app, ["swatch", *map(str, words)])


@pytest.fixture(scope="module")
def document():
    return json.loads(run(DRAWER, "--json").stdout)


@pytest.fixture(scope="module")
def printed():
    result = run(DRAWER)
    assert result.exit_code == 0, result.output
    return re.sub(r"\s+", " ", result.stdout)


def test_the_sheet_leads_with_the_limit_that_fails(printed):
    assert re.search(
        r"Swatch 1 leans right by 7\.\d ± 0\.\d % M, fully relaxed, washed 3 times\. The limit is 5", printed
    )
    assert "Swatch 4 is marked unreliable (washed at 60 °C by mistake and felted) and counts for nothing." in printed


def test_every_section_of_the_sheet_is_there_and_the_cautions_once(printed):
    for heading in ("Readings", "What needs you", "Its life so far", "How the readings scatter", "Who measured"):
        assert heading in printed
    assert printed.count("Cautions of the trade, not legal advice") == 1
    assert "over 99 in 100" in printed


def test_every_swatch_of_the_file_is_in_the_document(document):
    assert list(document["swatches"]) == ["s1", "s2", "s3", "s4", "s5", "s6"]
    assert document["refused"] == []


def test_a_figure_of_the_document_lies_in_its_band_and_says_why(document):
    for swatch in document["swatches"].values():
        for stage in swatch["stages"]:
            for measured in stage["measured"].values():
                figure = measured["together"]
                assert figure["low"] < figure["value"] < figure["high"]
                assert figure["basis"] == "measured"
                assert figure["why"]["words"]


def test_every_key_of_the_document_is_documented(document):
    section = (ROOT / "docs" / "json.md").read_text("utf-8").partition("## A swatch\n")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-z_0-9]+)`", section))
    swatch = document["swatches"]["s1"]
    stage = swatch["stages"][-1]
    measured = stage["measured"]["lean_percent"]
    keys = {*document, *swatch, *stage, *measured, *measured["limit"], *measured["people"], *swatch["sittings"][0]}
    keys |= {*measured["readings"]["washed-3"], *swatch["observations"][0], *stage["measured"]}
    assert keys <= named, keys - named


def test_one_swatch_of_a_file_may_be_asked_for():
    assert list(json.loads(run(DRAWER, "--only", "s5", "--json").stdout)["swatches"]) == ["s5"]
    refused = run(DRAWER, "--only", "s9", "--json")
    assert refused.exit_code == 2
    assert "s1, s2" in json.loads(refused.stdout)["problem"]["limit"]


def test_a_style_without_swatches_says_how_to_write_one(tmp_path):
    file = tmp_path / "style.toml"
    file.write_text('[style]\nname = "Bare"\n', "utf-8")
    refused = run(file, "--json")
    assert refused.exit_code == 2
    assert "[swatches.s1]" in json.loads(refused.stdout)["problem"]["tries"][0]


def test_a_swatch_that_cannot_be_read_stops_no_other(tmp_path):
    file = tmp_path / "two.toml"
    file.write_text('[swatches.a]\nstructure = "no such knit"\n[swatches.b]\nname = "good"\n', "utf-8")
    answer = run(file, "--json")
    told = json.loads(answer.stdout)
    assert answer.exit_code == 2
    assert list(told["swatches"]) == ["b"]
    assert told["refused"][0]["where"].startswith("swatches.a")
