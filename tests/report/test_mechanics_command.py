"""The command `mechanics`: what it says, what its JSON holds, its pictures, and what it refuses in trade words."""

import json
import re
import struct
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.mechanics import live

DOCUMENT = (Path(__file__).resolve().parents[2] / "docs" / "json.md").read_text("utf-8")
PLAIN = ("mechanics", "jersey", "--loop-over-diameter", "17")
MERINO = ("mechanics", "jersey", "--yarn", "2/48 Nm merino", "--loop", "4.8")

SWATCH = """
name = "Probe 4, gewaschen"
yarn = "2/48 Nm merino"
loop_length_mm = 4.8
wales_per_cm = 8.6
courses_per_cm = 11.2
side_radius_mm = 2.4
lean_deg = 3.0
extension_percent = 20
weight_n = 1.5
strip_width_cm = 5
"""
LOOSER = """
name = "Probe 5"
loop_length_mm = "5.6 mm"
wales_per_cm = 7.3
courses_per_cm = 9.7
"""


def run(*words):
    result = CliRunner().invoke(app, list(words))
    return result.exit_code, result.stdout.replace("\u00a0", " "), result.stderr


def document(*words):
    code, said, _ = run(*words, "--json")
    assert code == 0
    return json.loads(said)


def refusal(*words):
    """The problem that words are refused with; nothing but it may be told."""
    code, said, _ = run(*words, "--json")
    assert code == 2
    assert set(json.loads(said)) == {"problem"}
    return json.loads(said)["problem"]


@pytest.fixture
def swatches(tmp_path):
    paths = []
    for name, text in (("eins.toml", SWATCH), ("zwei.toml", LOOSER)):
        paths.append(tmp_path / name)
        paths[-1].write_text(text, "utf-8")
    return [str(path) for path in paths]


def test_without_a_yarn_the_answer_is_in_diameters_and_says_what_is_missing():
    code, said, _ = run(*PLAIN)
    assert code == 0
    assert "to the back" in said
    assert "to the face" in said
    assert re.search(r"Wale spacing +4\.\d+ ± 0\.\d+ d S", said)
    assert "name the yarn" in said
    assert "Newtons" not in said
    assert max(len(line) for line in said.splitlines()) <= 112


def test_with_a_yarn_the_answer_is_in_the_units_of_the_trade():
    code, said, _ = run(*MERINO, "--residual-twist", "Z60")
    assert code == 0
    assert re.search(r"Wales, visible +8\.\d ± \d\.\d per cm S", said)
    assert "leans the wales to the right" in said
    assert "Against the roll" in said
    assert "1×1 rib edge of" in said
    assert "recovery" in said.splitlines()[-2] + said.splitlines()[-3]


def test_published_counts_lie_within_the_simulated_band_where_plain_is_firm():
    """Outside check: textbook constants of washed plain, 4.1 and 5.3, at a loop of 17 diameters."""
    told = document("mechanics", "plain", "--yarn", "2/48 Nm merino", "--loop-over-diameter", "17")
    figures, loop_cm = told["figures"], told["loop_length_mm"] / 10
    for key, constant in (("simulated_wales_per_cm", 4.1), ("simulated_courses_per_cm", 5.3)):
        assert figures[key]["low"] * loop_cm <= constant <= figures[key]["high"] * loop_cm


def test_an_s_lively_yarn_leans_as_far_to_the_other_side():
    right, left = (document(*MERINO, "--residual-twist", twist)["at_rest"]["lean_deg"] for twist in ("Z60", "S60"))
    assert right["value"] > 1
    assert left["value"] == pytest.approx(-right["value"])


def test_a_loop_in_mm_is_enough_for_the_lean():
    lean = document(*PLAIN, "--residual-twist", "Z60", "--loop", "4.8")["at_rest"]["lean_deg"]
    assert lean["value"] > 1
    assert document(*PLAIN, "--residual-twist", "Z60")["at_rest"]["lean_deg"] is None
    assert any(line.startswith("lean") for line in document(*PLAIN, "--residual-twist", "Z60")["missing"])


def test_more_set_rolls_slacker():
    bends = [document(*PLAIN, "--set", share)["roll"]["sides"]["curvature_per_d"] for share in ("0.5", "0.8", "0.95")]
    assert bends[0] > bends[1] > bends[2] > 0


def test_the_other_structure_stands_beside_it():
    told = document(*MERINO, "--against", "rib-1x1")
    assert told["against"]["structure"] == "rib-1x1"
    assert told["against"]["is_balanced"]
    assert told["against"]["roll"]["sides"]["words"] == "lies flat"
    assert "1×1 rib" in run(*MERINO, "--against", "rib-1x1")[1].splitlines()[2]


def test_stretch_rises_with_the_pull():
    rows = document(*PLAIN)["stretch"]
    for way in ("width", "length"):
        strains = [row[f"{way}_stretch_percent"] for row in rows]
        assert strains == sorted(strains)
    assert rows[0]["force_n_per_cm"] is None


def test_every_key_of_the_mechanics_is_documented(swatches):
    told = document("mechanics", "plain", *[word for path in swatches for word in ("--swatch", path)])
    section = DOCUMENT.partition("## The mechanics of the loop\n")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-zA-Z_0-9]+)`", section))
    assert set(told) <= named
    assert set(told["at_rest"]) | set(told["at_rest"]["wale_spacing_d"]) <= named
    assert set(told["roll"]) | set(told["roll"]["sides"]) | set(told["stretch"][0]) | set(told["moduli"]) <= named
    assert set(told["rest_states"]) | set(told["trust"][0]) <= named
    assert set(told["calibration"]) | set(told["calibration"]["figures"]) <= named
    assert set(told["calibration"]["leave_one_out"]) | set(told["calibration"]["leave_one_out"]["swatches"][0]) <= named
    afterwards = {"side_roll_radius_mm", "simulated_lean_deg", "simulated_width_stretch_percent",
                  "simulated_length_stretch_percent"}  # fmt: skip
    assert set(told["remedies"][0]) - afterwards <= named


def test_swatches_calibrate_and_give_newtons(swatches):
    told = document("mechanics", "plain", "--loop", "5.2", *[word for path in swatches for word in ("--swatch", path)])
    assert told["calibration"]["swatches"] == ["Probe 4, gewaschen", "Probe 5"]
    assert told["calibration"]["leave_one_out"]["root_mean_square_percent"] < 10
    assert told["residual_turns_per_loop"] > 0
    forces = [row["force_n_per_cm"] for row in told["stretch"]]
    assert forces[4] == pytest.approx(20 * forces[0])
    bare = document("mechanics", "plain", "--yarn", "2/48 Nm merino", "--loop", "5.2")["figures"]
    wales = told["figures"]["simulated_wales_per_cm"]
    assert wales["high"] - wales["low"] < bare["simulated_wales_per_cm"]["high"] - bare["simulated_wales_per_cm"]["low"]
    code, said, _ = run("mechanics", "plain", "--swatch", swatches[0])
    assert code == 0
    assert "N/cm" in said
    assert "needs a second swatch" in said


def test_pictures_are_written_whole_and_told(tmp_path):
    paths = {kind: tmp_path / f"stoff.{kind}" for kind in ("glb", "svg", "png")}
    told = document(*MERINO, *[word for kind, path in paths.items() for word in (f"--{kind}", str(path))])
    assert sorted(told["written"]) == sorted(str(path) for path in paths.values())
    glb = paths["glb"].read_bytes()
    assert struct.unpack("<4sII", glb[:12]) == (b"glTF", 2, len(glb))
    assert paths["svg"].read_text("utf-8").rstrip().endswith("</svg>")
    assert paths["png"].read_bytes()[-8:-4] == b"IEND"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["stoff.glb", "stoff.png", "stoff.svg"]


def test_a_picture_without_a_scale_is_refused(tmp_path):
    problem = refusal(*PLAIN, "--svg", str(tmp_path / "a.svg"))
    assert "scale" in problem["what"]
    assert not list(tmp_path.iterdir())


def test_a_picture_that_cannot_be_written_is_refused(tmp_path):
    problem = refusal(*MERINO, "--png", str(tmp_path / "no" / "such" / "a.png"))
    assert "cannot be written" in problem["what"]


def test_a_structure_of_ones_own_is_solved_now(tmp_path):
    """Plain, drawn as two courses: the atlas doesn't hold that notation, and the answer is that of plain."""
    own = tmp_path / "moje pletenina.toml"
    own.write_text('name = "Moje glatka"\ncourses = ["F:K", "F:K"]\n', "utf-8")
    result = CliRunner().invoke(app, ["mechanics", str(own), "--loop-over-diameter", "17", "--json"])
    assert result.exit_code == 0
    assert "at rest …" in result.stderr
    told, plain = json.loads(result.stdout), document(*PLAIN)
    assert told["solved"] == "live"
    assert told["structure_name"] == "Moje glatka"
    for key in ("wale_spacing_d", "course_spacing_d"):
        assert told["at_rest"][key]["value"] == pytest.approx(plain["at_rest"][key]["value"], rel=0.01)


def test_stopping_a_solution_ends_politely_and_writes_nothing(tmp_path, monkeypatch):
    def interrupted(*_args, **_rest):
        raise KeyboardInterrupt

    monkeypatch.setattr(live, "solved", interrupted)
    code, said, told = run(*MERINO, "--live", "--png", str(tmp_path / "a.png"))
    assert (code, said) == (130, "")
    assert "Nothing was written" in told
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("ratio", ["5", "500", "nan", "-17", "inf"])
def test_a_loop_that_makes_no_cloth_is_refused(ratio):
    assert "10 to 40" in refusal("mechanics", "plain", "--loop-over-diameter", ratio)["limit"]


def test_a_loop_outside_the_atlas_names_what_was_solved():
    problem = refusal("mechanics", "plain", "--loop-over-diameter", "30")
    assert "slacker than what was simulated, 12 to 26" in problem["what"]
    assert any("--live" in attempt for attempt in problem["tries"])


@pytest.mark.parametrize("share", ["-0.1", "1.5", "nan"])
def test_a_set_that_is_no_share_is_refused(share):
    assert refusal(*PLAIN, "--set", share)["where"] == "set"


@pytest.mark.parametrize("twist", ["Q60", "", "60", "Z", "Z-60", "Z99999", "Ζ60", "Z６0"])
def test_a_residual_twist_needs_s_or_z_and_a_number(twist):
    problem = refusal(*PLAIN, "--residual-twist", twist)
    assert problem["where"] == "residual twist"
    assert "S or Z" in problem["limit"]


@pytest.mark.parametrize(
    ("words", "where"),
    [
        (("mechanics", "zzz-nothing", "--loop-over-diameter", "17"), "structure"),
        (("mechanics", "", "--loop-over-diameter", "17"), "structure"),
        (("mechanics", "メリヤス", "--loop-over-diameter", "17"), "structure"),
        (("mechanics", "plain"), "loop"),
        (("mechanics", "plain", "--yarn", "banana"), "yarn"),
        (("mechanics", "plain", "--yarn", "2/48 Nm merino", "--loop", "-3"), "loop length"),
        (("mechanics", "plain", "--yarn", "2/48 Nm merino", "--loop", "200"), "loop length"),
        ((*MERINO, "--loop-over-diameter", "17"), "loop"),
        (("mechanics", "no-such-file.toml", "--loop-over-diameter", "17"), "no-such-file.toml"),
        ((*PLAIN, "--against", "nothing at all"), "structure"),
        ((*PLAIN, "--swatch", "no-such-swatch.toml"), "no-such-swatch.toml"),
    ],
)
def test_what_is_not_understood_is_said_with_its_place(words, where):
    problem = refusal(*words)
    assert where in problem["where"]
    assert problem["what"]
    assert problem["tries"]


@pytest.mark.parametrize(
    "text",
    ["courses = [", 'courses = ["F:Q"]', 'kourses = ["F:K"]', "\x00\x01", "", "courses = []", 'courses = "F:K"'],
)
def test_a_file_that_is_no_structure_is_refused(tmp_path, text):
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(text, "utf-8")
    assert refusal("mechanics", str(wrong), "--loop-over-diameter", "17")["what"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("wales_per_cm = 8", "left out"),
        (SWATCH.replace("8.6", "86"), "nearest that this yarn can give"),
        (SWATCH.replace("8.6", "-1"), "out of reach"),
        (SWATCH + "\ncolour = 'red'", "colour"),
        (LOOSER, "no yarn"),
        (SWATCH.replace("weight_n = 1.5\n", ""), "only with its weight"),
        (SWATCH + '\npulled = "askew"', "askew"),
    ],
)
def test_a_swatch_that_says_nothing_or_the_impossible_is_refused(tmp_path, text, told):
    path = tmp_path / "swatch.toml"
    path.write_text(text, "utf-8")
    problem = refusal("mechanics", "plain", "--swatch", str(path), "--loop-over-diameter", "17")
    assert told in problem["where"] + problem["what"]


def test_a_swatch_in_a_structure_that_was_never_simulated_is_named(tmp_path):
    path = tmp_path / "swatch.toml"
    path.write_text(SWATCH, "utf-8")
    own = tmp_path / "own.toml"
    own.write_text('courses = ["F:KKKTKKMKK", "F:KKKKKKKKK"]\n', "utf-8")
    assert "not among the simulated structures" in refusal("mechanics", str(own), "--swatch", str(path))["what"]


@pytest.mark.parametrize("ratio", ["0.1", "5", "nan", "-1"])
def test_a_plating_yarn_that_is_no_plating_is_refused_with_its_limits(ratio):
    code, said, errors = run(*PLAIN, "--plated", ratio)
    assert code == 2
    assert "0.2 to 1.2" in said + errors


@pytest.mark.slow
def test_plated_plain_is_solved_now_and_is_thicker_than_plain():
    plated = document(*PLAIN, "--plated", "0.5")
    bare = document(*PLAIN)
    thick, thin = (each["at_rest"]["thickness_d"]["value"] for each in (plated, bare))
    assert thick > 1.2 * thin


def test_a_picture_without_scale_is_refused_before_anything_is_solved(tmp_path, monkeypatch):
    def solved(*_words, **_more):
        raise AssertionError("solved although the picture cannot be drawn")

    monkeypatch.setattr(live, "solved", solved)
    code, said, errors = run(*PLAIN, "--live", "--svg", str(tmp_path / "face.svg"))
    assert code == 2
    assert "its scale is not known" in said + errors
    assert not list(tmp_path.iterdir())
