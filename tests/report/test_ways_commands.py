"""The commands `ways` and `machines`, and the section of ways on the sheet that is written."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.machine.models import circular_models, cylinders, flat_models

EXAMPLES = Path(__file__).parents[2] / "examples"
ATTENDANT = EXAMPLES / "attendant-pullover.toml"


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    return result.exit_code, result.stdout


def test_ways_are_printed_ranked_by_price_with_the_reason_below():
    code, said = run("ways", str(ATTENDANT))
    assert code == 0
    assert "Ways of making   4 of 5 can be made" in said
    assert "At 640 pieces" in said.splitlines()[1]
    assert "Cannot be made as the style stands" in said
    assert "Bold: as the style is made now." in said
    assert max(len(line) for line in said.splitlines()) <= 112


def test_ways_as_json_hold_what_is_documented():
    code, said = run("ways", str(ATTENDANT), "--json")
    assert code == 0
    document = json.loads(said)
    assert document["format"] == "loopwright ways 1"
    assert document["pieces"] == 640
    assert document["currency"] == "EUR"
    chosen = [way for way in document["ways"] if way["chosen"]]
    assert [way["key"] for way in chosen] == ["fashioned_linked"]
    assert chosen[0]["against_chosen"] is None
    for way in document["ways"]:
        if way["why_not"]:
            assert way["why_not"]["limit"]
            assert way["price"] is None
        else:
            assert way["price"]["unit"] == "EUR"
            assert way["yarn_issued_g"]["unit"] == "g"
            assert way["knitting_min"]["unit"] == "min"
    others = [way for way in document["ways"] if way["against_chosen"]]
    for way in others:
        difference = float(way["amount"]["amount"]) - float(chosen[0]["amount"]["amount"])
        assert way["against_chosen"]["dearer"] == pytest.approx(difference, abs=1e-9)


def test_ways_of_a_style_that_is_no_style_are_refused(tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("[garment]\nblock = 'toga'\n", "utf-8")
    code, said = run("ways", str(bad), "--json")
    assert code == 2
    assert json.loads(said)["problem"]["where"] == "garment.block"


def test_ways_without_a_size_say_that_there_is_nothing_to_compare(tmp_path):
    bare = tmp_path / "bare.toml"
    bare.write_text('[yarns.main]\ncount = "2/30 Nm"\nfibres = "merino"\n', "utf-8")
    code, said = run("ways", str(bare))
    assert code == 0
    assert "nothing to compare" in said


def test_a_study_by_itself_does_not_lay_markers(tmp_path):
    assert "Ways of making" not in run("study", str(ATTENDANT))[1]
    code, _ = run("study", str(ATTENDANT), "--out", str(tmp_path))
    assert code == 0
    page = (tmp_path / "sheet.html").read_text("utf-8")
    assert "Ways of making" in page
    assert "Cannot be made as the style stands" in page
    assert "ways" not in json.loads((tmp_path / "study.json").read_bytes())


def test_machines_are_listed_by_kind():
    document = json.loads(run("machines", "--json")[1])
    assert set(document["flat"]) == set(flat_models())
    assert set(document["circular"]) == set(circular_models())
    assert set(document["hosiery"]) == set(cylinders())
    assert document["flat"]["compact 12"]["needles"] == 600


def test_machines_of_a_gauge_are_the_machines_of_that_gauge():
    code, said = run("machines", "--gauge", "12")
    assert code == 0
    assert "compact 12" in said
    assert "compact 14" not in said
    code, said = run("machines", "--gauge", "13", "--json")
    assert code == 2
    assert "12 gauge" in json.loads(said)["problem"]["tries"]
