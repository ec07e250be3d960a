"""`loopwright learn` and `loopwright next`: what is printed and written is whole and agrees with the drawer."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app

EXAMPLES = Path(__file__).parents[2] / "examples"
DRAWER = str(EXAMPLES / "swatches" / "night-train.toml")
BLANKET = str(EXAMPLES / "cabin-blanket.toml")  # one wide rectangle


def asked(*words: str) -> str:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture(scope="module")
def learnt():
    return json.loads(asked("learn", DRAWER, "--json"))


def test_every_prediction_stands_before_and_after_with_its_movers(learnt):
    assert learnt["format"] == "loopwright learning 1"
    for each in learnt["predictions"]:
        assert each["after"]["low"] <= each["after"]["value"] <= each["after"]["high"]
        assert {move["swatch"] for move in each["moved_by"]} <= set(learnt["swatches"])
        if each["moved_by"]:
            assert sum(move["share"] for move in each["moved_by"]) == pytest.approx(1.0)
    assert any(each["after"]["basis"] == "measured" for each in learnt["predictions"])


def test_a_swatch_marked_unreliable_is_not_in_the_drawer(learnt):
    """The invented drawer has swatch 4 marked; the file says why."""
    import tomllib

    document = tomllib.loads(Path(DRAWER).read_text("utf-8"))
    marked = [spec["name"] for spec in document["swatches"].values() if spec.get("unreliable")]
    assert marked
    assert not set(marked) & set(learnt["swatches"])


def test_each_swatch_is_predicted_from_the_others_and_better_than_from_the_tables(learnt):
    assert [each["swatch"] for each in learnt["agreement"]] == learnt["swatches"]
    off = learnt["root_mean_square_error"]["wales_per_cm"]
    assert off["from_the_others"] < 0.05


def test_a_cloth_that_nobody_knitted_can_be_asked_for():
    told = json.loads(asked("learn", DRAWER, "--structure", "interlock", "--yarn", "2/30 Nm merino", "--json"))
    assert {each["structure"] for each in told["predictions"]} == {"interlock"}
    assert {each["after"]["basis"] for each in told["predictions"]} & {"assumed", "published"}
    assert "measured" not in {each["after"]["basis"] for each in told["predictions"]}


def test_the_printed_answer_names_the_swatches():
    text = asked("learn", DRAWER, "--structure", "plain")
    for words in ("before", "after", "moved by", "swatch", "Each swatch predicted from all the others"):
        assert words in text


def test_a_word_that_is_no_state_is_refused():
    result = CliRunner().invoke(app, ["learn", DRAWER, "--state", "ironed"])
    assert result.exit_code == 2


def test_the_next_swatch_is_told_with_its_reason():
    advice = json.loads(asked("next", BLANKET, "--for", "width", "--json"))
    best = advice["swatches"][0]
    assert advice["for"] == "width"
    assert best["spread_after"] < best["spread_before"] == advice["spread"]
    assert "half cardigan" in best["reason"]
    assert best["spread_falls_by_per_hour"] == max(each["spread_falls_by_per_hour"] for each in advice["swatches"])
