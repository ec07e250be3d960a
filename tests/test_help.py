"""Help: every verb, argument and option says what it is for, and the README names them all."""

from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from loopwright import __version__
from loopwright.cli import app

README = (Path(__file__).resolve().parents[1] / "README.md").read_text("utf-8")
COMMAND = get_command(app)
VERBS = sorted(COMMAND.commands)
PARAMETERS = [(verb, parameter) for verb in VERBS for parameter in COMMAND.commands[verb].params]


def test_the_verbs_are_words_of_the_trade():
    assert set(VERBS) >= {"study", "yarn", "fabric", "structures"}


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_explains_itself(verb):
    result = CliRunner().invoke(app, [verb, "--help"])
    assert result.exit_code == 0
    first = (COMMAND.commands[verb].help or "").strip().splitlines()[0]
    assert len(first) > 20
    assert first.split()[0] in result.stdout


@pytest.mark.parametrize(("verb", "parameter"), PARAMETERS, ids=[f"{verb} {each.name}" for verb, each in PARAMETERS])
def test_every_argument_and_option_has_a_help_text(verb, parameter):
    assert parameter.help
    assert len(parameter.help) > 8


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_can_answer_in_json(verb):
    assert "--json" in [option for parameter in COMMAND.commands[verb].params for option in parameter.opts]


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_stands_in_the_readme(verb):
    assert f"loopwright {verb}" in README


def test_help_of_the_whole_lists_every_verb():
    result = CliRunner().invoke(app, ["--help"])
    assert result.exit_code == 0
    assert all(verb in result.stdout for verb in VERBS)


def test_nothing_typed_shows_the_help():
    assert "Usage" in CliRunner().invoke(app, []).output


def test_the_version_is_told():
    result = CliRunner().invoke(app, ["--version"])
    assert (result.exit_code, result.stdout.strip()) == (0, f"loopwright {__version__}")


def test_an_unknown_verb_is_refused():
    result = CliRunner().invoke(app, ["crochet"])
    assert result.exit_code == 2
    assert "crochet" in result.stderr
