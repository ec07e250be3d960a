"""`loopwright sizes`: the table printed and written; a buyer's table brought in, seen before it is written."""

import io
import json
import tomllib
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.report.size_document import column_letters

PULLOVER = Path(__file__).parents[2] / "examples" / "attendant-pullover.toml"
INCHES = 'inches\tS\tM\tL\nHalf chest\t18 1/4\t19¼\t20-1/4"\nKangaroo pocket\t8\t8\t8\nHalf upper arm\t\t6,75\tn/a\n'


def run(*words: object, given: str | bytes | None = None):
    return CliRunner().invoke(app, ["sizes", str(PULLOVER), *map(str, words)], input=given)


@pytest.fixture
def buyers(tmp_path: Path) -> Path:
    path = tmp_path / "buyer.csv"
    path.write_text(INCHES, "utf-8")
    return path


def test_the_table_is_printed_with_hand_set_cells_marked():
    result = run()
    assert result.exit_code == 0
    assert "Half chest" in result.stdout
    assert "20.2*" in result.stdout
    assert "M (base)" in result.stdout


def test_json_keeps_graded_and_hand_set_apart():
    told = json.loads(run("--json").stdout)
    arm = next(each for each in told["points"] if each["point"] == "half_upper_arm")
    assert arm["cells"]["2XL"] == {"cm": 20.2, "set": "set by hand"}
    assert arm["cells"]["L"]["set"] == "graded"
    assert arm["cells"]["M"] == {"cm": 17.0, "set": "typed"}
    assert told["written"] == []
    assert "brought" not in told


def test_the_table_is_written_as_csv_and_as_a_workbook_that_another_library_reads(tmp_path):
    for name in ("sizes.csv", "sizes.xlsx"):
        result = run("--out", tmp_path / name)
        assert result.exit_code == 0
        assert f"Written: {tmp_path / name}" in result.stdout
    assert "Half chest" in (tmp_path / "sizes.csv").read_text("utf-8-sig")
    sheet = openpyxl.load_workbook(io.BytesIO((tmp_path / "sizes.xlsx").read_bytes())).worksheets[0]
    assert sheet["A2"].value == "Attendant's crew-neck pullover · N7-014"


def test_what_was_written_brought_in_again_changes_nothing(tmp_path):
    for name in ("sizes.csv", "sizes.xlsx"):
        run("--out", tmp_path / name)
        brought = json.loads(run("--bring", tmp_path / name, "--json").stdout)["brought"]
        assert (brought["changes"], brought["refused"], brought["not_given"]) == ([], [], [])


def test_a_table_brought_in_is_shown_cell_by_cell_and_nothing_is_written(buyers):
    before = sorted(buyers.parent.iterdir())
    result = run("--bring", buyers)
    assert result.exit_code == 0
    for words in ("base size", "graded", "Kangaroo pocket", "no point of measure", "n/a", "Read in inches"):
        assert words in result.stdout
    assert sorted(buyers.parent.iterdir()) == before


def test_json_says_old_and_new_and_where_a_cell_was_refused(buyers):
    brought = json.loads(run("--bring", buyers, "--json").stdout)["brought"]
    chest = {each["size"]: each for each in brought["changes"] if each["point"] == "half_chest"}
    assert chest["M"] == {"size": "M", "point": "half_chest", "old_cm": 49.0, "new_cm": 48.895, "way": "base size"}
    assert (chest["S"]["new_cm"], chest["XS"]["way"]) == (pytest.approx(46.355, abs=0.05), "graded")
    assert [(each["row"], each["column"]) for each in brought["refused"]] == [(3, 1), (4, 4)]
    assert brought["unit"] == "in"
    assert brought["is_unit_said"]


def test_the_changed_style_is_written_beside_the_old_one_with_all_else_kept(buyers, tmp_path):
    new = tmp_path / "new.toml"
    old = PULLOVER.read_bytes()
    assert run("--bring", buyers, "--write", new).exit_code == 0
    assert PULLOVER.read_bytes() == old
    before, after = tomllib.loads(old.decode()), tomllib.loads(new.read_text("utf-8"))
    assert after["garment"]["measures_cm"]["half_chest"] == 48.895
    assert after["garment"]["measures_cm"]["half_upper_arm"] == pytest.approx(6.75 * 2.54)
    assert {**before, "garment": 0} == {**after, "garment": 0}
    again = CliRunner().invoke(app, ["sizes", str(new), "--bring", str(buyers), "--json"])
    assert json.loads(again.stdout)["brought"]["changes"] == []


def test_the_style_itself_is_written_only_when_it_is_named(buyers, tmp_path):
    own = tmp_path / "own.toml"
    own.write_bytes(PULLOVER.read_bytes())
    result = CliRunner().invoke(app, ["sizes", str(own), "--bring", str(buyers), "--write", str(own)])
    assert result.exit_code == 0
    assert tomllib.loads(own.read_text("utf-8"))["garment"]["measures_cm"]["half_chest"] == 48.895


def test_a_pasted_table_comes_from_the_input_and_the_unit_from_the_person():
    result = run("--bring", "-", "--unit", "in", "--json", given="\tM\nHalf chest\t19 1/4\n")
    changes = json.loads(result.stdout)["brought"]["changes"]
    assert next(each["new_cm"] for each in changes if each["way"] == "base size") == 48.895
    result = run("--bring", "-", given="\tM\nHalf chest\t50\n")
    assert "names no unit: cm were taken" in result.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--bring", "nowhere.csv"), "no such file"),
        (("--write", "new.toml"), "no table to take"),
        (("--bring", "-", "--write", "new.xlsx"), "no name of a style file"),
        (("--out", "sizes.pdf"), "like no size table"),
        (("--bring", "-", "--unit", "ell"), "no unit for a table"),
        (("--out", "no/such/folder/sizes.csv"), "cannot be written"),
    ],
)
def test_what_does_not_go_together_is_refused_in_words(words, said):
    result = run(*words, given="\tM\nHalf chest\t50\n")
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    told = json.loads(run(*words, "--json", given="\tM\nHalf chest\t50\n").stdout)
    assert said in told["problem"]["what"]


def test_the_buyers_own_file_is_never_written_over(buyers):
    before = buyers.read_bytes()
    result = run("--bring", buyers, "--out", buyers)
    assert result.exit_code == 2
    assert buyers.read_bytes() == before


@pytest.mark.parametrize("text", ["cm\tM\nHalf chest\tn/a\n", "cm\tL\nNeck width\t60\n", "cm\tM\nNeck width\t60\n"])
def test_nothing_is_written_when_no_measure_can_be_read_or_they_contradict(text, tmp_path):
    new = tmp_path / "new.toml"
    result = run("--bring", "-", "--write", new, given=text)
    assert result.exit_code == 2
    assert not new.exists()
    assert "n/a" in result.output or "leaves no shoulder" in " ".join(result.output.split())


def test_columns_are_named_as_spreadsheets_name_them():
    from openpyxl.utils import get_column_letter

    assert all(column_letters(column) == get_column_letter(column) for column in (1, 26, 27, 52, 53, 702, 703))
