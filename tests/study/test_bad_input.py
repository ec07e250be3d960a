"""What a person may type or point at by mistake: always a sentence with the place, the numbers and what to try.

The command leaves with exit code 2 and changes nothing; a traceback is never an answer.
"""

import errno
import html
import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from loopwright.cli import app
from loopwright.problems import Problem, Sign
from loopwright.report.files import study_json, study_page
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE_FILE = ROOT / "examples" / "attendant-pullover.toml"
EXAMPLE = tomllib.loads(EXAMPLE_FILE.read_text("utf-8"))

# (what goes wrong, the file, words that the message must hold)
REFUSED = {
    "an unknown field": (
        '[garment]\nhalf_chest = 49\n',
        ["garment.half_chest", "no field", "measures_cm = { half_chest"],
    ),
    "a field with a slip of the pen": ("[order]\npices = 40\n", ["order.pices", "did you mean pieces"]),
    "an unknown part": ("[garments]\nsizes = ['M']\n", ["garments", "did you mean garment"]),
    "a unit of another kind": (
        '[garment.measures_cm]\nhalf_chest = "49 kg"\n',
        ["garment.measures_cm.half_chest", "49 kg", "is in cm", "give it in cm"],
    ),
    "a measure below nothing": (
        "[garment.measures_cm]\nhalf_chest = -4\n",
        ["garment.measures_cm.half_chest", "-4", "at least 0"],
    ),
    "a loop of no length": ("[zones.body]\nloop_length_mm = 0\n", ["zones.body.loop_length_mm", "0", "at least 0.05"]),
    "no pieces": ("[order]\npieces = 0\n", ["order.pieces", "0", "above 0"]),
    "pieces below nothing": ("[order]\npieces = -300\n", ["order.pieces", "-300", "above 0"]),
    "half a piece": ("[order]\npieces = 2.5\n", ["order.pieces", "2.5", "whole number"]),
    "more pieces than people": ("[order]\npieces = 90000000\n", ["order.pieces", "90000000", "at most 1e+07"]),
    "words for a number": (
        '[machine]\ngauge = "twelve"\n',
        ["machine.gauge", "twelve", "number"],
    ),
    "a price with its currency": (
        '[yarns.main]\ncount = "2/30 Nm"\nprice_per_kg = "19.40 EUR"\n',
        ["yarns.main.price_per_kg", "19.40 EUR", "write 19.40 alone"],
    ),
    "no end of a number": ("[garment.measures_cm]\nlength = inf\n", ["garment.measures_cm.length", "inf", "finite"]),
    "no number at all": ("[garment.measures_cm]\nlength = nan\n", ["garment.measures_cm.length", "nan", "finite"]),
    "a date for a length": ("[garment.measures_cm]\nlength = 2027-09-14\n", ["2027-09-14", "number"]),
    "a machine without gauge": ("[machine]\nbed_in = 50\n", ["machine.gauge", "left out"]),
    "a gauge of no machine": ("[machine]\ngauge = 600\n", ["machine.gauge", "600", "at most 60"]),
    "too many systems": ("[machine]\ngauge = 12\nsystems = 9\n", ["machine.systems", "9", "at most 4"]),
    "a block that is not there": ('[garment]\nblock = "raglan"\n', ["garment.block", "raglan", "pullover"]),
    "a zone that is not there": ("[zones.hood]\nstructure = 'plain'\n", ["hood"]),
    "a state that is not there": ("state = 'boiled'\n", ["state", "boiled", "fully-relaxed"]),
    "a list for a table": ("garment = ['M']\n", ["garment", "a list", "table"]),
    "no sizes": ("[garment]\nsizes = []\n", ["garment.sizes", "empty"]),
    "a limit of no minutes": ("[targets]\nminutes = 0\n", ["targets.minutes", "0", "above 0"]),
    "a number of four hundred digits": (f"[order]\npieces = {'9' * 400}\n", ["order.pieces", "at most"]),
    "a number without end": (f"[order]\npieces = {'9' * 6000}\n", ["thousands of digits", "shorter"]),
    "brackets without end": (f"x = {'[' * 20000}", ["nested", "brackets"]),
    "a fraction without end": (
        f'[garment.measures_cm]\nlength = "{"9" * 5000}/3"\n',
        ["garment.measures_cm.length", "finite"],
    ),
    "a fraction of nothing": ('[garment.measures_cm]\nlength = "1/0"\n', ["garment.measures_cm.length", "nothing"]),
    "an empty file": ("", ["style.toml", "empty", "examples"]),
    "only a note": ("# nothing yet\n", ["style.toml", "empty"]),
    "a bracket left open": ("[garment\nsizes = ['M']", ["style.toml", "line 1", "mend that line"]),
    "a name twice": ("[order]\npieces = 3\npieces = 4\n", ["style.toml", "line 3"]),
}  # fmt: skip


def run(*words: str | Path) -> Result:
    """The command, in this process. A traceback would show as an exception that is no exit."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def said(result: Result) -> str:
    return " ".join(result.stderr.split())


@pytest.fixture
def style(tmp_path: Path) -> Path:
    return tmp_path / "style.toml"


@pytest.mark.parametrize("mistake", REFUSED)
def test_a_style_that_says_something_wrong_is_refused_with_the_place_and_what_to_try(mistake, style):
    document, words = REFUSED[mistake]
    style.write_text(document, "utf-8")
    result = run("study", style, "--out", style.parent / "out")
    assert result.exit_code == 2
    assert not result.stdout
    for word in words:
        assert word in said(result)
    assert "Try:" in result.stderr or "Limit:" in result.stderr
    assert "Traceback" not in result.output
    assert len(result.stderr) < 1500
    assert not (style.parent / "out").exists()


@pytest.mark.parametrize("mistake", REFUSED)
def test_with_json_the_problem_is_a_document(mistake, style):
    style.write_text(REFUSED[mistake][0], "utf-8")
    result = run("study", style, "--json")
    assert result.exit_code == 2
    problem = json.loads(result.stdout)["problem"]
    assert set(problem) == {"where", "what", "limit", "tries"}
    assert problem["where"]
    assert problem["what"]
    assert problem["limit"] or problem["tries"]


def test_a_folder_is_no_style(tmp_path):
    result = run("study", tmp_path)
    assert result.exit_code == 2
    assert "folder" in said(result)
    assert "Try: name the TOML file in it" in said(result)


def test_a_file_that_is_not_there_is_named(tmp_path):
    result = run("study", tmp_path / "pullover.toml")
    assert result.exit_code == 2
    assert "pullover.toml: there is no such file" in said(result)
    assert "Try:" in said(result)


@pytest.mark.parametrize("content", [b"\x89PNG\r\n\x1a\n\x00\xff\xfe", b"\xff\xfe[\x00g\x00", bytes(range(256))])
def test_a_file_that_is_no_text_is_refused(content, style):
    style.write_bytes(content)
    result = run("study", style)
    assert result.exit_code == 2
    assert "not a text file in UTF-8" in said(result)


@pytest.mark.parametrize("mark", [b"\xef\xbb\xbf", b""])
@pytest.mark.parametrize("ending", [b"\n", b"\r\n"])
def test_files_of_other_editors_are_read(mark, ending, style):
    """A byte-order mark and carriage returns, as some editors write them."""
    style.write_bytes(mark + ending.join([b"[yarns.main]", b'count = "2/30 Nm wool"', b""]))
    assert run("study", style).exit_code == 0


def test_a_cap_that_cannot_close_is_refused_with_both_numbers_and_the_rest_is_studied(style):
    """The size cannot be made: fabric and size table are still shown, nothing is written, and the exit code says so."""
    style.write_text('[yarns.main]\ncount = "2/30 Nm wool"\n[garment.measures_cm]\nhalf_upper_arm = 40\n', "utf-8")
    result = run("study", style, "--json", "--out", style.parent / "out")
    assert result.exit_code == 2
    assert not (style.parent / "out").exists()
    assert "80.0 cm round" in said(result)
    assert "Try: an upper arm under" in said(result)
    document = json.loads(result.stdout)
    stop = next(finding for finding in document["findings"] if finding["sign"] == "stops")
    assert "80.0 cm round" in stop["sentence"]
    assert re.search(r"2 × [\d.]+ cm", stop["sentence"])
    assert any("upper arm under" in attempt for attempt in stop["tries"])
    assert any("deeper" in attempt for attempt in stop["tries"])
    assert document["fabrics"]["body"]
    assert document["sizes"] == {}


def test_a_million_pieces_have_a_price(style):
    document = EXAMPLE_FILE.read_text("utf-8").replace("pieces = 640", "pieces = 1_000_000")
    style.write_text(document, "utf-8")
    result = run("study", style, "--json")
    assert result.exit_code == 0
    price = json.loads(result.stdout)["price"]
    assert price["sheet"]["pieces"] == 1_000_000
    assert sum(order["kg"]["value"] for order in price["yarn_orders"]) > 100_000


NAMES = {
    "Greek": "Πλεκτό «Άνεμος»",
    "Chinese": "夜行列车 毛衣",
    "Arabic": "سترة محبوكة ٧",
    "Cyrillic, accents": "Свитер Ёлка — café Ångström",
    "emoji": "🧶 pullover 👩‍🦰",
    "script": "<script>alert('loop')</script>",
    "attribute": '" onmouseover="alert(1)" x=\'',
    "entity": "black & white &amp; &lt;rib&gt;",
    "brackets of a terminal": "[bold red]knit[/bold red] [link=file:///x]here[/link]",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_any_name_survives_into_json_and_is_escaped_on_the_page(name, style):
    """The name of the style, its yarn and its colours."""
    document = deepcopy(EXAMPLE)
    document["style"].update(name=name, note=name, season=name)
    document["yarns"]["merino"]["name"] = name
    document["order"]["colours"] = [{"name": name, "share": 1}]
    study = study_style(read_style(document))
    answer = json.loads(study_json(study))
    assert answer["style"]["style"]["name"] == name
    assert answer["price"]["yarn_orders"][0]["colour"] == name
    page = study_page(study)
    assert html.escape(name) in page
    assert page.count("<script") == 1
    assert 'onmouseover="' not in page
    assert "<rib>" not in page


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_any_name_is_printed_as_it_was_typed(name, style):
    style.write_text(f"[style]\nname = {json.dumps(name, ensure_ascii=False)}\n", "utf-8")
    result = run("study", style)
    assert result.exit_code == 0
    assert name in result.stdout


def test_out_that_is_a_file_is_refused_and_the_file_is_left_alone(tmp_path):
    place = tmp_path / "taken"
    place.write_text("mine", "utf-8")
    for out in (place, place / "below"):
        result = run("study", EXAMPLE_FILE, "--out", out)
        assert result.exit_code == 2
        assert f"folder {out}" in said(result)
        assert "Try: another folder with --out" in said(result)
        assert not result.stdout
    assert place.read_text("utf-8") == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="needs a file system that nobody can write to")
def test_out_where_nothing_can_be_written_is_refused():
    result = run("study", EXAMPLE_FILE, "--out", "/proc/loopwright")
    assert result.exit_code == 2
    assert "nothing can be written there" in said(result)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the super-user may write everywhere")
def test_out_without_leave_to_write_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    result = run("study", EXAMPLE_FILE, "--out", tmp_path)
    tmp_path.chmod(0o700)
    assert result.exit_code == 2
    assert not list(tmp_path.iterdir())


@pytest.fixture
def old_answer(tmp_path: Path) -> Path:
    """A folder with the answer of an earlier run."""
    for name in ("study.json", "sheet.html"):
        (tmp_path / name).write_text("earlier", "utf-8")
    return tmp_path


def untouched(folder: Path) -> bool:
    names = sorted(path.name for path in folder.iterdir())
    return names == ["sheet.html", "study.json"] and all(
        path.is_dir() or path.read_text("utf-8") == "earlier" for path in folder.iterdir()
    )


@pytest.mark.parametrize("failing", [1, 2])
def test_a_full_disk_leaves_the_earlier_answer_whole(failing, old_answer, monkeypatch):
    write = Path.write_bytes
    calls = iter(range(1, 10))

    def write_bytes(path: Path, data: Any) -> int:
        if next(calls) == failing:
            write(path, data[:100])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", write_bytes)
    result = run("study", EXAMPLE_FILE, "--out", old_answer)
    assert result.exit_code == 2
    assert os.strerror(errno.ENOSPC) in said(result)
    assert untouched(old_answer)


@pytest.mark.parametrize("name", ["study.json", "sheet.html"])
def test_a_folder_in_the_place_of_an_answer_stops_both(name, old_answer):
    (old_answer / name).unlink()
    (old_answer / name).mkdir()
    result = run("study", EXAMPLE_FILE, "--out", old_answer)
    assert result.exit_code == 2
    assert untouched(old_answer)


def test_a_refused_style_leaves_the_earlier_answer_whole(old_answer):
    style = old_answer.parent / "style.toml"
    style.write_text("[garment]\nsizes = []\n", "utf-8")
    assert run("study", style, "--out", old_answer).exit_code == 2
    assert untouched(old_answer)
    style.unlink()


def test_a_new_answer_replaces_the_earlier_one(old_answer):
    assert run("study", EXAMPLE_FILE, "--out", old_answer).exit_code == 0
    assert json.loads((old_answer / "study.json").read_bytes())["format"]
    assert (old_answer / "sheet.html").read_text("utf-8").startswith("<!doctype html>")
    assert sorted(path.name for path in old_answer.iterdir()) == ["sheet.html", "study.json"]


@pytest.mark.parametrize(
    "words",
    [
        ["yarn", ""],
        ["yarn", "2/30"],
        ["yarn", "2/30 Nm wool", "--market", "Mars"],
        ["yarn", "2/30 Nm wool", "--delivered", "much", "--actual-regain", "12"],
        ["yarn", "2/30 Nm wool", "--delivered", "10"],
        ["yarn", "2/30 Nm", "--delivered", "10", "--actual-regain", "12"],
        ["yarn", "2/30 Nm wool", "--delivered", "10", "--actual-regain", "nan"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--loop-length", "long"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--loop-length", "-3"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--loop-length", "9" * 5000 + "/3"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--tightness", "nan"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--loop-length", "6", "--tightness", "13"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--gauge", "inf"],
        ["fabric", "plain", "--yarn", "2/30 Nm wool", "--state", "boiled"],
        ["fabric", "cardigan", "--yarn", "2/30 Nm wool"],
        ["structures", "unheard-of"],
    ],
    ids=lambda words: " ".join(words)[:60],
)
def test_every_verb_refuses_in_trade_words(words):
    plain, as_json = run(*words), run(*words, "--json")
    assert plain.exit_code == as_json.exit_code == 2
    assert plain.stderr.startswith("■ ")
    assert "Try:" in plain.stderr or "Limit:" in plain.stderr
    assert json.loads(as_json.stdout)["problem"]["what"]


def program(*words: str | Path) -> subprocess.CompletedProcess[bytes]:
    """The command as a person runs it."""
    command = [sys.executable, "-m", "loopwright", *map(str, words)]
    return subprocess.run(
        command, capture_output=True, timeout=900, check=False, env={"PATH": os.defpath, "LC_ALL": "C"}
    )


def test_the_real_program_refuses_with_code_2_and_no_traceback(tmp_path):
    wrong = tmp_path / "style.toml"
    wrong.write_text(REFUSED["a unit of another kind"][0], "utf-8")
    for words in (["study", wrong], ["study", tmp_path], ["study", tmp_path / "none.toml"], ["yarn", "2/30"]):
        answer = program(*words)
        assert answer.returncode == 2
        assert "■" in answer.stderr.decode("utf-8")
        assert b"Traceback" not in answer.stderr + answer.stdout


def test_the_real_program_writes_both_files_and_prints_any_script(tmp_path):
    """Even where the terminal claims to know ASCII only."""
    style = tmp_path / "style.toml"
    style.write_text(f'[style]\nname = "{NAMES["Chinese"]}"\n[yarns.main]\ncount = "2/30 Nm wool"\n', "utf-8")
    answer = program("study", style, "--out", tmp_path / "out")
    assert answer.returncode == 0, answer.stderr
    assert NAMES["Chinese"] in answer.stdout.decode("utf-8")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["sheet.html", "study.json"]


def test_the_real_program_ends_quietly_when_its_reader_leaves():
    command = [sys.executable, "-m", "loopwright", "study", str(EXAMPLE_FILE), "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.readline()
        running.stdout.close()
        assert b"Traceback" not in running.stderr.read()


# A style document with anything in it:

ODD = st.one_of(
    st.sampled_from([
        0, -1, 1, 2, 0.5, 3, 7, 12, 49, 300, 1e-9, 1e9, 1e308, float("nan"), float("inf"), True, False, None, "", "x",
        "0", "9,5", "12 in", "1/0", "49 kg", "2/30 Nm", "plain", "rib-1x1", "purl-1x1", "full cardigan", "cardigan",
        "birdseye-3", "tuck-mesh", "women", "men", "children", "☃", "line", [], {}, ["M"], ["M", "M"], ["98"], {"M": 1},
        {"a": {}},
    ]),
    st.floats(),
    st.integers(),
    st.text(max_size=8),
)  # fmt: skip
FACTORS = st.sampled_from([0, -1, 0.001, 0.01, 0.1, 0.3, 0.5, 0.8, 1.2, 2, 5, 10, 100])


def places(part: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every key and index of a document, however deep."""
    for key, value in part.items() if isinstance(part, dict) else enumerate(part):
        yield (*place, key)
        if isinstance(value, dict | list):
            yield from places(value, (*place, key))


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    """The example with a few values taken away, scaled, replaced or added."""
    document = deepcopy(EXAMPLE)
    for _ in range(draw(st.integers(1, 4))):
        where = list(places(document))
        if not where:
            break
        *path, last = draw(st.sampled_from(where))
        part: Any = document
        for key in path:
            part = part[key]
        change = draw(st.sampled_from(["delete", "scale", "replace", "add"]))
        if change == "delete":
            del part[last]
        elif change == "scale" and isinstance(part[last], int | float):
            part[last] *= draw(FACTORS)
        elif change == "add" and isinstance(part, dict):
            part[draw(st.sampled_from(["new", "M", "L", "sleeve", "swatch", "count", "half_hem"]))] = draw(ODD)
        else:
            part[last] = draw(ODD)
    return document


@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(documents())
def test_any_document_gives_a_study_or_a_problem(document):
    outcome = studied(document)
    if isinstance(outcome, Problem):
        assert outcome.where
        assert outcome.what
    else:
        check_printable(outcome)


def studied(document: dict[str, Any]) -> StyleStudy | Problem:
    try:
        return study_style(read_style(document))
    except Problem as problem:
        return problem


def check_printable(study: StyleStudy) -> None:
    """Every form of a study can be written, and holds nothing that is no number."""
    text = study_json(study).decode("utf-8")
    json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in the JSON"))
    page = study_page(study)
    assert not re.search(r"\b(nan|inf)\b", re.sub(r"<style>.*?</style>|<script>.*?</script>", "", page, flags=re.S))
    for finding in study.findings:
        assert finding.sentence
        assert finding.sign in Sign


@pytest.mark.parametrize(("part", "field"), [("machine", "gauge"), ("order", "knitting_days")])
def test_a_number_near_nothing_is_refused_before_anything_divides_by_it(part, field):
    given = {"machine": {"gauge": 12}, "order": {"pieces": 100}}
    given[part] = {**given[part], field: 1e-300}
    with pytest.raises(Problem) as refused:
        read_style(given)
    assert field in refused.value.where
