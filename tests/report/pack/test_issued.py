"""Issues of a pack: read back from their PDF by pypdf, and followed from one to the next by hand.

What differs is told from two packs that are made here by hand, and from a style with one loop length typed otherwise.
"""

import copy
import hashlib
import json
import os
import re
import resource
import subprocess
import sys
import tomllib
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pytest
from typer.testing import CliRunner

from loopwright import __version__
from loopwright.cli import app
from loopwright.problems import Problem
from loopwright.report.files import write_new_folder
from loopwright.report.pack.differing import DRAWING_CHANGED, NOT_THERE, TAKEN_OUT, Difference, differences
from loopwright.report.pack.issued import FORMAT, Issued, handed, read_issue
from loopwright.report.pack.issuing import issue_pack, issue_pdf
from loopwright.report.pack.pages import pages_png
from loopwright.study.study import study_style
from loopwright.study.style import read_style

SMALL: dict[str, Any] = {
    "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 31.5}},
    "zones": {"body": {"structure": "plain", "loop_length_mm": 6.1}, "hem": {"structure": "rib-2x1"}},
    "garment": {"sizes": ["M"]},
    "machine": {"gauge": 12},
    "order": {"pieces": 300},
    "rates": {"margin": 0.2718},
}
PNG = b"\x89PNG\r\n\x1a\n" + bytes(200)


def issued(document: dict[str, Any], number: int = 1, last: Issued | None = None, **said: Any):
    """An issue and its files."""
    words = {"when": f"2026-11-{9 + number:02d}", "by": "Ada", "recipients": ("Mill by the river",), **said}
    saying = handed(number=number, style_version=number, **words)
    return issue_pack(study_style(read_style(document)), document, saying, last=last, formats=("pdf", "csv"))


def changed(**loops: float) -> dict[str, Any]:
    """The style with loop lengths of its own."""
    document = copy.deepcopy(SMALL)
    for zone, loop_mm in loops.items():
        document["zones"][zone]["loop_length_mm"] = loop_mm
    return document


@pytest.fixture(scope="module")
def first():
    return issued(SMALL, note="Knit one of each first.")


@pytest.fixture(scope="module")
def second(first):
    return issued(changed(body=6.3), 2, first[0])


def pages_of(files: dict[str, bytes]) -> list[str]:
    reader = pypdf.PdfReader(BytesIO(files["specification.pdf"]))
    return [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]


def test_the_first_issue_names_itself_whom_it_is_for_and_the_note(first):
    words = pages_of(first[1])
    assert all("Issue 1 · 10 November 2026" in page and "first issue" in page for page in words)
    assert "Mill by the river" in words[0]
    assert "Knit one of each first." in words[0]
    assert "What changed" not in " ".join(words)


def test_the_next_issue_says_what_it_replaces_and_first_of_all_what_changed(first, second):
    words = pages_of(second[1])
    assert all("Issue 2 · 11 November 2026" in page for page in words)
    assert all("replaces issue 1 of 10 November 2026" in page for page in words)
    assert "What changed since issue 1" in words[0]
    assert "zones, body, loop length, mm 6.1 → 6.3" in words[0]
    assert re.search(r"Loop length, mm[^0-9]* 6\.1 mm 6\.3 mm", words[0].replace("\xa0", " ").replace("\u2009", " "))
    assert "Yarn, gauge and structures" in words[0]


def test_a_changed_cell_and_a_changed_step_say_what_they_were(second):
    words = " ".join(pages_of(second[1])[1:]).replace("\xa0", " ")
    assert re.search(r"6\.3 ?mm was 6\.1 mm", words)
    assert re.search(r"transfer to plain, loop 6\.30 mm; .{0,80}was transfer to plain, loop 6\.10 mm", words)


def test_the_leaves_without_a_change_carry_no_mark(first, second):
    old, new = second[0].pages["leaves"], first[0].pages["leaves"]
    told = {change.leaf for change in second[0].changes}
    marked = {
        leaf["title"] for leaf in old for region in ("main", "side", "flow") for b in leaf[region] if "changed" in b
    }
    assert marked <= told
    assert {leaf["title"] for leaf in new} - told  # something stayed as it was, and is not told


def test_the_same_record_gives_the_same_bytes(first, second):
    for _, files in (first, second):
        again = read_issue(files["issue.json"])
        assert issue_pdf(again) == files["specification.pdf"]
        for name, said in again.files.items():
            assert hashlib.sha256(files[name]).hexdigest() == said
        assert set(again.files) == set(files) - {"issue.json"}


def test_a_record_read_again_is_the_record(second):
    assert read_issue(second[0].as_json()) == second[0]


def test_a_record_that_leaves_the_house_has_no_money_in_it(first):
    issue, files = first
    told = files["issue.json"].decode("utf-8")
    assert issue.inputs["rates"] == {"margin": 0.2718}
    assert issue.inputs["yarns"]["main"]["price_per_kg"] == 31.5
    assert "0.2718" not in told
    assert "price_per_kg" not in told
    assert read_issue(files["issue.json"]).inputs["zones"] == SMALL["zones"]


def test_a_change_of_price_alone_is_no_change_for_the_factory(first):
    dearer = copy.deepcopy(SMALL)
    dearer["yarns"]["main"]["price_per_kg"] = 55
    issue, files = issued(dearer, 2, first[0])
    assert issue.changes == ()
    assert "Nothing differs from issue 1 of 10 November 2026." in pages_of(files)[0]


def test_an_issue_must_follow_the_last(first, second):
    with pytest.raises(Problem, match="does not follow issue 2"):
        issued(SMALL, 2, second[0])


def test_what_changed_is_followed_over_three_issues(first, second):
    third, files = issued(changed(body=6.3, hem=5.5), 3, second[0])
    assert "replaces issue 2 of 11 November 2026" in pages_of(files)[0]
    leaf = third.pages["leaves"][0]
    assert leaf["title"] == "What changed since issue 2"
    assert "6.1" not in json.dumps(leaf)  # what changed from the first to the second is not told again


def test_an_issue_of_another_program_says_so(first):
    older = first[0].model_copy(update={"program_version": "0.0.1"})
    _, files = issued(changed(body=6.3), 2, older)
    assert f"made by version 0.0.1 of the program, this one by {__version__}" in pages_of(files)[0]


def test_its_pages_can_be_looked_at_one_by_one(first):
    pictures = pages_png(first[0].pages, ppi=30)
    assert len(pictures) == len(pages_of(first[1]))
    assert all(each.startswith(b"\x89PNG") for each in pictures)


# Two packs made by hand: what the comparison must find, and nothing else.


def table(
    *rows: list[Any], head: tuple[str, ...] = ("Size", "needles", "courses"), caption: str = ""
) -> dict[str, Any]:
    block = {"kind": "table", "head": list(head), "rows": list(rows), "words": [0], "strong": [], "base": None}
    return {**block, "hand": [], "caption": caption}


def steps(*lines: tuple[str, str], heading: str = "Order of work") -> dict[str, Any]:
    return {"kind": "steps", "heading": heading, "lines": [list(line) for line in lines], "is_short": True}


HEAD = {"line": "winter 27 · style N7-014", "foot": "M measured"}


def pack(*blocks: dict[str, Any], title: str = "Back", note: str = "", **head: str) -> dict[str, Any]:
    leaf = {"title": title, "note": note, "main": list(blocks), "side": [], "flow": []}
    return {**HEAD, **head, "leaves": [leaf]}


FIGURE = {"text": "6.8", "spread": " ± 0.3 per cm", "letter": "A", "basis": "assumed"}
CASES = {
    "a cell": (
        pack(table(["S", "318", "492"], ["M", "334", "500"])),
        pack(table(["S", "318", "492"], ["M", "336", "500"])),
        [("Size: M", "needles", "334", "336")],
    ),
    "the same": (pack(table(["S", "318", "492"])), pack(table(["S", "318", "492"])), []),
    "the letter of a figure": (
        pack(table(["wales", FIGURE, "–"])),
        pack(table(["wales", {**FIGURE, "letter": "M"}, "–"])),
        [("Size: wales", "needles", "6.8 ± 0.3 per cm, A", "6.8 ± 0.3 per cm, M")],
    ),
    "a row more": (
        pack(table(["S", "318", "492"], ["L", "350", "510"])),
        pack(table(["S", "318", "492"], ["M", "334", "500"], ["L", "350", "510"])),
        [("Size: M", "", NOT_THERE, "334 · 500")],
    ),
    "a row less": (
        pack(table(["S", "318", "492"], ["M", "334", "500"])),
        pack(table(["M", "334", "500"])),
        [("Size: S", "", "318 · 492", TAKEN_OUT)],
    ),
    "rows in another order": (
        pack(table(["S", "318", "492"], ["M", "334", "500"])),
        pack(table(["M", "334", "500"], ["S", "318", "492"])),
        [],
    ),
    "a column of another name": (
        pack(table(["S", "318", "492"], head=("Size", "needles", "plain"))),
        pack(table(["S", "318", "500"], head=("Size", "needles", "pique"))),
        [("Size, column", "", "plain", "pique"), ("Size: S", "pique", "492", "500")],
    ),
    "a column more": (
        pack(table(["S", "318"], head=("Size", "needles"))),
        pack(table(["S", "318", "492"])),
        [("Size, column", "", NOT_THERE, "courses")],
    ),
    "a step put between": (
        pack(steps(("start", "comb"), ("narrow", "9 times"), ("finish", "draft off"))),
        pack(steps(("start", "comb"), ("rib", "54 courses"), ("narrow", "9 times"), ("finish", "draft off"))),
        [("Order of work: rib", "", NOT_THERE, "54 courses")],
    ),
    "one of two steps of a name": (
        pack(steps(("narrow", "9 times"), ("narrow", "4 times"))),
        pack(steps(("narrow", "9 times"), ("narrow", "5 times"))),
        [("Order of work: narrow", "", "4 times", "5 times")],
    ),
    "a remark": (
        pack({"kind": "lines", "lines": ["Press without weight.", "Wash first."]}),
        pack({"kind": "lines", "lines": ["Press with steam.", "Wash first."]}),
        [("remark", "", "Press without weight.", "Press with steam.")],
    ),
    "a drawing": (
        pack({"kind": "picture", "svg": "<svg>1</svg>", "alt": "Outlines of back, size M", "width_pt": 9.0}),
        pack({"kind": "picture", "svg": "<svg>2</svg>", "alt": "Outlines of back, size M", "width_pt": 9.0}),
        [("Outlines of back", "", "drawing", DRAWING_CHANGED)],
    ),
    "a whole block": (
        pack(steps(("start", "comb")), table(["S", "1", "2"])),
        pack(steps(("start", "comb"))),
        [("Size", "", "there", TAKEN_OUT)],
    ),
    "a leaf": (
        pack(title="Back"),
        {**HEAD, "leaves": [*pack(title="Back")["leaves"], *pack(title="Collar")["leaves"]]},
        [("the whole leaf", "", NOT_THERE, "new")],
    ),
    "the line under the title": (
        pack(note="size M drawn"),
        pack(note="size L drawn"),
        [("under the title", "", "size M drawn", "size L drawn")],
    ),
    "the head of every leaf": (
        pack(title="Every leaf"),
        pack(title="Every leaf", line="winter 28 · style N7-014"),
        [("head", "", "winter 27 · style N7-014", "winter 28 · style N7-014")],
    ),
    "room to break in a long word": (
        pack(steps(("name", "x" * 60 + "\u200b" + "x" * 9))),
        pack(steps(("name", "x" * 60 + "\u200b" + "y" * 9))),
        [("Order of work: name", "", "x" * 69, "x" * 60 + "y" * 9)],
    ),
}


@pytest.mark.parametrize(("old", "new", "wanted"), CASES.values(), ids=CASES)
def test_what_differs_is_told_once_by_leaf_place_and_both_values(old, new, wanted):
    leaf = new["leaves"][-1]["title"]
    assert [(each.where, each.column, each.old, each.new) for each in differences(old, new)] == wanted
    assert {each.leaf for each in differences(old, new)} <= {leaf}


@pytest.mark.parametrize(("old", "new", "wanted"), CASES.values(), ids=CASES)
def test_what_differs_one_way_differs_the_other_way_too(old, new, wanted):
    back = differences(new, old)
    assert len(back) == len(wanted)
    assert {each.where for each in back if not each.column} == {where for where, column, *_ in wanted if not column}


def test_nothing_differs_from_itself(second):
    assert differences(second[0].pages, second[0].pages) == ()


# Records that come from anywhere.


def without(record: bytes, key: str) -> bytes:
    document = json.loads(record)
    del document[key]
    return json.dumps(document).encode("utf-8")


def with_pages(record: bytes, act) -> bytes:
    document = json.loads(record)
    act(document["pages"])
    return json.dumps(document).encode("utf-8")


BAD = {
    "a picture": (lambda _: PNG, "not the whole record"),
    "nothing": (lambda _: b"", "not the whole record"),
    "half of it": (lambda record: record[: len(record) // 2], "not the whole record"),
    "another file of ours": (lambda _: b'{"format": "loopwright study 2"}', "not the whole record"),
    "a list": (lambda _: b"[1, 2]", "not the whole record"),
    "a newer one": (lambda record: record.replace(FORMAT.encode(), b"loopwright issue 7"), "loopwright issue 7"),
    "no number": (lambda record: without(record, "number"), "number"),
    "no pages": (lambda record: without(record, "pages"), "pages"),
    "a number in words": (lambda record: record.replace(b'"number": 1', b'"number": "one"', 1), "number"),
    "no day": (lambda record: record.replace(b'"when": "2026-11-10"', b'"when": "Monday"'), "when"),
    "a leaf that is text": (lambda record: with_pages(record, lambda pages: pages.update(leaves=["Back"])), "pages"),
    "a block of an unknown kind": (
        lambda record: with_pages(record, lambda pages: pages["leaves"][0]["main"].append({"kind": "song"})),
        "pages",
    ),
    "a row that is too long": (
        lambda record: with_pages(
            record, lambda pages: [b["rows"][0].append("x") for b in pages["leaves"][0]["main"] if b["kind"] == "table"]
        ),
        "pages",
    ),
    "paper that is not that of its pages": (lambda record: with_pages(record, lambda p: p.update(paper="a3")), "paper"),
    "yarns that are no tables": (
        lambda record: json.dumps({**json.loads(record), "inputs": {"yarns": {"main": 3}}}).encode(),
        "inputs",
    ),
    "a nest without end": (lambda _: b"[" * 100_000 + b"]" * 100_000, "not the whole record"),
}


@pytest.mark.parametrize(("act", "said"), BAD.values(), ids=BAD)
def test_what_is_no_whole_record_is_refused_in_words(act, said, first):
    with pytest.raises(Problem, match=r"issue\.json") as refusal:
        read_issue(act(first[1]["issue.json"]))
    assert said in refusal.value.sentence()


@pytest.mark.parametrize(
    "name", ["<b>Mill</b> & Söhne", "=1+1", '#let x = "1"', "$x$ [y] *z* _w_ @q `r` \\", "M" * 200], ids=str
)
def test_signs_of_markup_and_formulas_in_a_name_stay_words(name, first):
    _, files = issued(SMALL, recipients=(name,), note=name)
    assert "".join(name.split()) in "".join(pages_of(files)[0].split()).replace("\u200b", "")
    assert read_issue(files["issue.json"]).recipients == (name,)


@pytest.mark.parametrize("name", ["the mill 🧶", "مصنع الحياكة", "𒀀𒁀"])
def test_letters_that_no_face_has_are_told(name):
    with pytest.raises(Problem, match="no form for"):
        issued(SMALL, recipients=(name,))


@pytest.mark.parametrize(
    "said",
    [{"recipients": ("M" * 201,)}, {"recipients": ("Mill",) * 21}, {"note": "x" * 5001}, {"by": "y" * 201}],
    ids=["a name", "many names", "a note", "who"],
)
def test_what_is_far_too_long_is_refused(said):
    with pytest.raises(Problem, match="too long"):
        issued(SMALL, **said)


@pytest.mark.parametrize("said", [{"recipients": ("Mill \udcff",)}, {"note": "\udcff"}, {"by": "\ud800"}], ids=str)
def test_half_a_sign_is_refused(said):
    with pytest.raises(Problem, match="cannot be kept"):
        issued(SMALL, **said)


# The command.


def run(*words: str | Path):
    return CliRunner().invoke(app, [*map(str, words)])


@pytest.fixture
def style(tmp_path):
    """Writes the style with a loop length, and names its file."""

    def written(loop_mm: float, extra: str = "") -> Path:
        file = tmp_path / "style.toml"
        file.write_text(
            f'[yarns.main]\ncount = "2/30 Nm merino"\n[zones.body]\nstructure = "plain"\nloop_length_mm = {loop_mm}\n'
            f'[garment]\nsizes = ["M"]\n[machine]\ngauge = 12\n{extra}',
            "utf-8",
        )
        return file

    return written


def issue(file: Path, out: Path, *more: str):
    return run("pack", file, "--out", out, "--issue", "--only", "pdf", "--by", "Ada", *more)


def test_the_command_issues_one_after_the_other_and_lists_what_changed(style, tmp_path):
    out = tmp_path / "out"
    assert issue(style(6.1), out, "--to", "Mill by the river", "--note", "go").exit_code == 0
    said = issue(style(6.3), out, "--json")
    assert said.exit_code == 0, said.output
    told = json.loads(said.stdout)
    assert told["number"] == 2
    assert [Path(each).parent.name for each in told["written"]] == ["issue-02", "issue-02"]
    same = issue(style(6.3), out)
    assert "Nothing differs from issue 2" in same.stdout
    assert sorted(each.name for each in out.iterdir()) == ["issue-01", "issue-02", "issue-03"]
    record = read_issue((out / "issue-01" / "issue.json").read_bytes())
    assert (record.recipients, record.note, record.by, record.number) == (("Mill by the river",), "go", "Ada", 1)

    listed = json.loads(run("changes", out / "issue-01", out / "issue-03" / "issue.json", "--json").stdout)
    assert listed["decided"] == [{"where": "zones, body, loop length, mm", "change": "6.1 → 6.3"}]
    assert {"leaf", "where", "column", "old", "new"} == set(listed["changes"][0])
    assert listed["changes"] == told["changes"]
    assert "6.1 mm" in run("changes", out / "issue-01", out / "issue-02").stdout
    assert "Nothing differs" in run("changes", out / "issue-02", out / "issue-03").stdout


def test_numbers_go_on_past_those_that_were_sent_away(style, tmp_path):
    out = tmp_path / "out"
    issue(style(6.1), out)
    (out / "issue-01").rename(out / "issue-12")
    said = issue(style(6.1), out)
    assert said.exit_code == 2
    assert "that of issue 1" in said.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [(("--issue", "--cost"), "no part of an issue"), (("--to", "Mill"), "belong to an issue")],
)
def test_words_that_do_not_go_together_are_refused(words, said, style, tmp_path):
    answer = run("pack", style(6.1), "--out", tmp_path / "out", *words)
    assert answer.exit_code == 2
    assert said in answer.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("data", [PNG, b"{", None], ids=["a picture", "half", "none"])
def test_a_last_issue_that_cannot_be_read_stops_the_next(data, style, tmp_path):
    out = tmp_path / "out"
    issue(style(6.1), out)
    file = out / "issue-01" / "issue.json"
    file.unlink()
    if data is not None:
        file.write_bytes(data)
    said = issue(style(6.3), out)
    assert said.exit_code == 2
    assert "issue.json" in said.stderr
    assert [each.name for each in out.iterdir()] == ["issue-01"]
    listed = run("changes", out / "issue-01", out / "issue-01", "--json")
    assert listed.exit_code == 2
    assert "issue.json" in json.loads(listed.stdout)["problem"]["where"]


def test_a_style_that_cannot_be_made_leaves_no_folder(style, tmp_path):
    said = issue(style(6.1, "[garment.measures_cm]\nneck_drop = 4\n"), tmp_path / "out")
    assert said.exit_code == 2
    assert not (tmp_path / "out").exists()


def test_a_file_in_the_place_of_the_folder_is_told(style, tmp_path):
    (tmp_path / "out").write_text("mine", "utf-8")
    said = issue(style(6.1), tmp_path / "out")
    assert said.exit_code == 2
    assert (tmp_path / "out").read_text("utf-8") == "mine"


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="the super-user may write everywhere")
def test_a_folder_without_leave_to_write_is_told(style, tmp_path):
    (tmp_path / "out").mkdir(mode=0o500)
    said = issue(style(6.1), tmp_path / "out")
    assert said.exit_code == 2
    assert list((tmp_path / "out").iterdir()) == []


def test_two_issues_at_once_never_take_one_number(tmp_path):
    """Twelve at the same folder: one makes it, the others are told; it is whole."""

    def write(number: int) -> str:
        try:
            write_new_folder(tmp_path / "issue-01", {"one": b"1" * 5000, "two": str(number).encode()})
        except Problem as problem:
            return problem.what
        return "written"

    with ThreadPoolExecutor(12) as pool:
        said = list(pool.map(write, range(12)))
    assert sorted(set(said)) == ["nothing can be written there (there is something of that name).", "written"]
    assert said.count("written") == 1
    assert (tmp_path / "issue-01" / "two").read_text("utf-8") == str(said.index("written"))
    assert [each.name for each in tmp_path.iterdir()] == ["issue-01"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the length of files")
def test_a_disk_that_is_full_leaves_no_half_issue(tmp_path):
    """A process that may write files of at most 60 kB, as on a disk that fills up in the middle of the pages."""
    code = (
        "import resource, signal, sys; from pathlib import Path\n"
        "from loopwright.problems import Problem\n"
        "from loopwright.report.files import write_new_folder\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))\n"
        "try: write_new_folder(Path(sys.argv[1]) / 'issue-01', {'a': b'1', 'b': bytes(100_000)})\n"
        "except Problem as problem: print(problem.sentence())\n"
    )
    assert resource.RLIMIT_FSIZE is not None
    said = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True)
    assert "nothing can be written there" in said.stdout
    assert list(tmp_path.iterdir()) == []


def test_the_example_is_issued_without_money(tmp_path):
    example = Path(__file__).resolve().parents[3] / "examples" / "attendant-pullover.toml"
    document = tomllib.loads(example.read_text("utf-8"))
    _, files = issued(document)
    told = files["issue.json"].decode("utf-8")
    record = read_issue(files["issue.json"])
    assert differences(record.pages, record.pages) == ()
    for secret in ("29.50", "23.50", "25.80", '"rates"', '"targets"', "price_per_kg"):
        assert secret not in told, secret


def test_a_difference_says_what_kind_it_is():
    assert Difference("Back", "start", "comb", "comb and waste").is_figure is False
    assert Difference("Back", "rib", "54 courses", "52 courses").is_figure
    assert Difference("Back", "outline", "drawing", DRAWING_CHANGED).is_drawing
