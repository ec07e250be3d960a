"""Parking carriers by command, against the printed counts of the production reference, 4.2 (P-36)."""

import json

import pytest
from typer.testing import CliRunner

from loopwright.cli import app

RUNNER = CliRunner()


def answer(*words: str) -> dict:
    result = RUNNER.invoke(app, ["stripes", *words, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_two_and_two_on_two_systems_cost_half_from_opposite_sides():
    """AABB × 25: 100 traverses from one side, 51 from opposite sides."""
    given = answer("navy 2, grey 2", "--repeats", "25")["given"]
    assert (given["traverses"], given["from_one_side"]) == (51, 100)
    assert given["start"] == {"navy": "left", "grey": "right"}


@pytest.mark.parametrize(
    ("words", "repeats", "traverses"), [("a 1, b 1", 50, 150), ("a 2, b 2", 25, 100), ("a 3, b 1", 25, 125)]
)
def test_stripes_from_one_side_on_one_system_cost_the_printed_traverses(words, repeats, traverses):
    """P-36."""
    assert answer(words, "--repeats", str(repeats), "--systems", "1")["given"]["from_one_side"] == traverses


def test_an_order_that_costs_less_is_offered_and_intarsia_is_counted():
    found = answer("a 1, b 1, a 1, c 2", "--systems", "1", "--repeats", "10", "--areas", "5")
    assert found["intarsia_passes"] == 5
    if found["freed"] is not None:
        assert found["freed"]["traverses"] < found["given"]["traverses"]
    said = RUNNER.invoke(app, ["stripes", "navy 2, grey 2"]).stdout
    assert "In the order given" in said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["navy"], "“navy” is no yarn with its courses"),
        (["navy 2", "--systems", "9"], "9 knitting systems"),
        (["navy 900, grey 900", "--repeats", "99"], "178200 courses in all"),
        (["navy 2", "--areas", "0"], "0 colour areas"),
        (["navy 2", "--areas", "5", "--model", "compact 12"], "5 colour areas in one course"),
        (["navy 2", "--model", "nothing 12"], "nothing 12"),
        ([""], "is no yarn"),
    ],
)
def test_what_is_no_stripe_is_refused_in_words(words, told):
    result = RUNNER.invoke(app, ["stripes", *words])
    assert result.exit_code == 2
    assert told in result.stdout + result.stderr
