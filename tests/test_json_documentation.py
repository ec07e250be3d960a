"""docs/json.md names every key of a study, of a size and of a panel, and no key that is not there."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app

ROOT = Path(__file__).resolve().parents[1]
DOCUMENT = (ROOT / "docs" / "json.md").read_text("utf-8")


@pytest.fixture(scope="module")
def study():
    result = CliRunner().invoke(app, ["study", str(ROOT / "examples" / "attendant-pullover.toml"), "--json"])
    return json.loads(result.stdout)


def named(heading: str) -> set[str]:
    section = DOCUMENT.partition(f"## {heading}\n")[2].partition("\n## ")[0]
    return set(re.findall(r"`([a-z_0-9]+)`", section))


def test_every_key_of_a_study_is_documented(study):
    assert set(study) <= named("A study")


def test_every_key_of_a_fabric_is_documented(study):
    assert set(study["fabrics"]["body"]) <= named("A study")


def test_every_key_of_a_size_and_its_panels_is_documented(study):
    size = study["sizes"]["M"]
    assert set(size) <= named("A size")
    assert set(size["panels"]["back"]) <= named("A size")
    assert set(size["panels"]["back"]["strokes"]) <= named("A size") | {"kinds"}
    assert set(size["closes"][0]) <= named("A size")
    assert set(size["makeup"]) <= named("A size")


def test_every_key_of_a_figure_is_documented(study):
    figure = study["mean_piece"]["yarn_g"]
    documented = set(re.findall(r"`([a-z_]+)`", DOCUMENT.partition("## A study")[0]))
    assert set(figure) | set(figure["why"]) <= documented


def test_every_documented_key_of_a_size_exists(study, tmp_path):
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('[zones.body]\nstructure = "no such structure"\n', "utf-8")
    refused = CliRunner().invoke(app, ["study", str(wrong), "--json"])
    assert refused.exit_code == 2
    assert set(json.loads(refused.stdout)["refused"][0]) == {"where", "what", "limit", "tries"}
    text = json.dumps(study) + refused.stdout
    signs = {"stops", "decide", "know", "holds"}
    for key in (named("A size") | named("A study")) - signs:
        assert f'"{key}"' in text or f'"{key.replace("_", " ")}"' in text, key


def test_every_key_of_two_styles_on_one_sheet_is_documented():
    pair = [str(ROOT / "examples" / f"{name}.toml") for name in ("attendant-pullover", "kitchen-vest")]
    told = json.loads(CliRunner().invoke(app, ["compare", *pair, "--json"]).stdout)
    keys = set(told) | set(told["first"]) | set(told["quantities"][0]) | set(told["decided_otherwise"][0])
    assert keys <= named("Two styles on one sheet")
    verdicts = {row["verdict"] for row in told["quantities"]}
    assert all(f"`{verdict}`" in DOCUMENT for verdict in verdicts)
