"""What a developer puts on the shelf comes back as it was, is found by its words, and travels as a style file."""

import tomllib
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest
import tomli_w
from sqlalchemy import event
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.problems import Problem
from loopwright.store.values import Edit, Kind

YARN = {"yarns": {"fog": {"name": "Fog lambswool", "count": "2/15 Nm", "fibres": {"wool": 80, "nylon": 20}}}}
PARTS = {
    Kind.YARN: (YARN, "Fog lambswool", "2/15 Nm, 80 % wool, 20 % nylon"),
    Kind.MACHINE: ({"machine": {"gauge": 12, "bed_in": 50}}, "E 12 flat machine", "E 12, 50 in, 2 systems"),
    Kind.STRUCTURE: (
        {"structures": {"moss": {"name": "Moss", "courses": ["F: k -", "F: - k"]}}},
        "Moss",
        "F: k - / F: - k",
    ),
    Kind.RATES: ({"rates": {"currency": "EUR", "machine_hour": 4.2}}, "Rates EUR", "EUR, 1 rate"),
    Kind.SIZES: (
        {"garment": {"sizes": ["S", "M", "L"], "grade_cm": {"half_chest": 2}}},
        "set-in crew pullover, women",
        "set-in crew pullover, women, S to L",
    ),
    Kind.SWATCH: (
        {
            **YARN,
            "zones": {
                "body": {
                    "structure": "plain",
                    "yarn": "fog",
                    "swatch": {"name": "Third try", "loop_length_mm": 6, "courses_per_cm": 7, "wales_per_cm": 5},
                }
            },
        },
        "Third try",
        "plain, 2/15 Nm, loop 6 mm",
    ),
}


SPECIMEN = {
    **YARN,
    "swatches": {
        "s3": {
            "name": "Fourth try",
            "structure": "plain",
            "yarn": "fog",
            "loop_length_mm": 8.6,
            "sittings": {"dry": {"state": "dry-relaxed", "wales": [44, 44.5], "courses": [58]}},
        }
    },
}


def test_a_swatch_with_its_sittings_is_kept_field_by_field(shelf):
    made = shelf.add(Kind.SWATCH, SPECIMEN, by="Mara")
    (line,) = shelf.lines(Kind.SWATCH)
    assert (line.name, line.detail) == ("Fourth try", "plain, 2/15 Nm, loop 8.6 mm, 1 sitting")
    path = ("swatches", "s3", "sittings", "washed", "wales")
    saved = shelf.change(made.id, [Edit(path, [47, 47.5])], base_version=1, by="Jo")
    assert saved.item.document["swatches"]["s3"]["sittings"]["washed"] == {"wales": [47, 47.5]}
    assert shelf.undo(made.id, by="Jo").item.document == SPECIMEN
    (copy,) = shelf.import_toml(shelf.export_toml(made.id), by="Jo")
    assert (copy.kind, copy.document) == (Kind.SWATCH, SPECIMEN)


def test_a_file_of_several_swatches_gives_each_with_its_yarn(shelf):
    swatches = {"a": {"yarn": "fog"}, "b": {"name": "second"}}
    yarns = {"fog": {"count": "2/15 Nm"}, "fur": {"count": "2/30 Nm"}}
    made = shelf.import_toml(tomli_w.dumps({"yarns": yarns, "swatches": swatches}), by="Mara")
    assert [(each.kind, each.name) for each in made] == [(Kind.SWATCH, "a"), (Kind.SWATCH, "second")]
    assert all(list(each.document["yarns"]) == ["fog"] for each in made)


def test_a_swatch_of_a_wrong_reading_is_refused_at_its_place(shelf):
    wrong = {"swatches": {"s3": {"sittings": {"dry": {"wales": [-1]}}}}}
    with pytest.raises(Problem, match=r"swatches\.s3\.sittings\.dry\.wales"):
        shelf.add(Kind.SWATCH, wrong, by="Mara")
    assert shelf.is_empty()


def test_a_style_comes_back_as_it_was_put_there(shelf, example):
    before = datetime.now(UTC)
    made = shelf.add(Kind.STYLE, example, by="Mara")
    back = shelf.load(made.id)
    assert back == made
    assert back.document == example
    assert (back.kind, back.number, back.season) == (Kind.STYLE, example["style"]["number"], example["style"]["season"])
    assert (back.version, back.changed_by, back.archived) == (1, "Mara", False)
    assert before <= back.made_at == back.changed_at <= datetime.now(UTC)
    assert (back.can_undo, back.can_redo) == (None, None)


@pytest.mark.parametrize("kind", PARTS)
def test_every_kind_is_named_in_trade_words_and_travels_as_a_style_file(kind, shelf, tmp_path):
    document, name, detail = PARTS[kind]
    made = shelf.add(kind, document, by="Mara")
    (line,) = shelf.lines(kind)
    assert (line.name, line.detail) == (made.name, line.detail) == (name, detail)
    text = shelf.export_toml(made.id)
    (copy,) = shelf.import_toml(text, by="Jo")
    assert (copy.kind, copy.document, copy.name) == (kind, document, name)
    assert copy.id != made.id
    assert shelf.history(copy.id)[0].action == "imported"
    file = tmp_path / "part.toml"
    file.write_text(text, "utf-8")
    answer = CliRunner().invoke(app, ["study", str(file)])
    assert answer.exit_code == 0, answer.output


def test_a_file_may_come_as_it_lies_on_the_disk(shelf):
    (item,) = shelf.import_toml(b"\xef\xbb\xbf[machine]\r\ngauge = 7\r\n", by="Mara")
    assert item.kind is Kind.MACHINE
    with pytest.raises(Problem, match="UTF-8"):
        shelf.import_toml(b"\xff\xfe[", by="Mara")


def test_a_file_with_a_header_and_a_yarn_is_a_style(shelf):
    (item,) = shelf.import_toml('[style]\nnumber = "N7-1"\n[yarns.main]\ncount = "2/30 Nm wool"\n', by="Mara")
    assert item.kind is Kind.STYLE


def test_a_file_that_lists_yarns_and_structures_gives_each(shelf):
    text = '[yarns.a]\ncount = "2/30 Nm"\n[yarns.b]\ncount = "2/15 Nm"\n[structures.moss]\ncourses = ["F: k -"]\n'
    assert [(each.kind, each.name) for each in shelf.import_toml(text, by="Mara")] == [
        (Kind.YARN, "a"),
        (Kind.YARN, "b"),
        (Kind.STRUCTURE, "moss"),
    ]


@pytest.mark.parametrize("kind", PARTS)
def test_a_style_is_no_part(kind, shelf, example):
    with pytest.raises(Problem, match=f"not {kind.words}"):
        shelf.add(kind, example, by="Mara")
    assert shelf.is_empty()


def test_a_wrong_document_is_refused_with_its_place(shelf):
    with pytest.raises(Problem, match=r"machine\.gauge"):
        shelf.add(Kind.MACHINE, {"machine": {"gauge": -3}}, by="Mara")
    assert shelf.is_empty()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("[garment", "not TOML"),
        ("x = " + "[" * 20000, "nested"),
        ("a" + ".a" * 5000 + " = 1", "nested"),
        (f"[order]\npieces = {'9' * 6000}", "thousands of digits"),
        ("# " + "x" * 2_000_001, "MB"),
        ('[style]\nname = "\ud800"', "UTF-8"),
        ("[order]\npices = 3", "did you mean pieces"),
        ('[yarns.a]\ncount = "2/30 Nm"\n[yarns.b]\n', "count"),
    ],
    ids=["empty", "bracket", "brackets", "dots", "digits", "long", "surrogate", "slip", "second yarn"],
)
def test_a_file_that_says_nothing_sound_is_refused_whole(text, words, shelf):
    with pytest.raises(Problem, match=words):
        shelf.import_toml(text, by="Mara")
    assert shelf.is_empty()


def test_text_that_no_file_can_hold_is_refused(shelf):
    with pytest.raises(Problem, match=r"style\.name"):
        shelf.add(Kind.STYLE, {"style": {"name": "half a sign \ud800"}}, by="Mara")


def test_what_is_not_there_is_said(shelf, pullover):
    for ask in (shelf.load, shelf.export_toml):
        with pytest.raises(Problem, match="nothing under number 99"):
            ask(99)
    with pytest.raises(Problem, match="nothing under number 99"):
        shelf.change(99, [], base_version=1, by="Mara")
    assert shelf.load_many([99, pullover.id]) == [pullover]
    for number in (0, -1, 2**31, 2**63, 10**40):
        with pytest.raises(Problem, match="no"):
            shelf.load(number)


def test_a_copy_has_a_name_and_a_number_of_its_own(shelf, pullover):
    first, second = (shelf.duplicate(pullover.id, by="Jo") for _ in range(2))
    assert first.name == f"{pullover.name} (copy)"
    assert [first.number, second.number] == [f"{pullover.number}-2", f"{pullover.number}-3"]
    assert first.document["garment"] == pullover.document["garment"]
    yarn = shelf.add(Kind.YARN, YARN, by="Mara")
    assert shelf.duplicate(yarn.id, by="Jo").name == "Fog lambswool (copy)"


def test_a_copy_of_a_style_with_a_long_name_finds_room_for_its_own(shelf):
    long = shelf.add(Kind.STYLE, {"style": {"name": "n" * 200, "number": "7" * 200}}, by="Mara")
    copies = [shelf.duplicate(long.id, by="Jo") for _ in range(3)]
    assert len({each.number for each in copies}) == 3
    assert {each.name for each in copies} == {"n" * 190 + " (copy)"}


def test_copies_made_at_once_have_different_numbers(shelf, pullover):
    with ThreadPoolExecutor(8) as pool:
        copies = list(pool.map(lambda _: shelf.duplicate(pullover.id, by="Jo"), range(24)))
    assert len({each.number for each in copies}) == 24


def test_archived_styles_are_out_of_sight_and_not_gone(shelf, pullover):
    assert shelf.archive(pullover.id, by="Jo").archived
    assert shelf.lines(Kind.STYLE) == []
    assert shelf.seasons() == []
    assert shelf.find(Kind.STYLE, pullover.name) is None
    assert [line.id for line in shelf.lines(Kind.STYLE, archived=True)] == [pullover.id]
    assert (shelf.count(Kind.STYLE), shelf.count(Kind.STYLE, archived=True)) == (0, 1)
    assert not shelf.unarchive(pullover.id, by="Jo").archived
    assert [each.action for each in shelf.history(pullover.id)] == ["unarchived", "archived", "made"]
    assert shelf.document_at(pullover.id, 2) == pullover.document


def test_a_yarn_is_found_by_its_name_and_by_its_key(shelf):
    yarn = shelf.add(Kind.YARN, YARN, by="Mara")
    assert shelf.find(Kind.YARN, "Fog lambswool") == shelf.find(Kind.YARN, "fog") == yarn
    assert shelf.find(Kind.YARN, "Fog") is None
    odd = shelf.add(Kind.STYLE, {"style": {"name": "Night  train\tcrew\n"}}, by="Mara")
    assert odd.name == "Night train crew"
    assert shelf.find(Kind.STYLE, "Night  train\tcrew") == shelf.find(Kind.STYLE, "Night train crew") == odd
    assert shelf.find(Kind.STYLE, "\x00") is None


NAMES = ["夜行列车 毛衣", "Πλεκτό «Άνεμος»", "Свитер Ёлка", "סוודר לילה", "Ångström straße", "50 % rib_1\\x"]


@pytest.mark.parametrize(
    ("find", "name"),
    [("毛衣 夜行", 0), ("άνεμοσ", 1), ("ΆΝΕΜΟΣ", 1), ("ёЛКА", 2), ("לילה", 3), ("STRASSE", 4), ("A\u030angström", 4),
     ("50 %", 5), ("rib_1", 5), ("\\x", 5)],
)  # fmt: skip
def test_words_are_found_in_every_script_whatever_their_capitals(find, name, shelf):
    for each in NAMES:
        shelf.add(Kind.STYLE, {"style": {"name": each, "season": "Winter"}}, by="Mara")
    assert [line.name for line in shelf.lines(Kind.STYLE, find=find)] == [NAMES[name]]
    assert len(shelf.lines(Kind.STYLE, find="wINTER")) == len(NAMES)
    assert shelf.lines(Kind.STYLE, find=f"{find} summer") == []


def test_odd_searches_find_nothing_and_break_nothing(shelf, pullover):
    for find in ("\x00", "\ud800", " ", "' OR 1=1 --", "%" * 500, "\\"):
        assert len(shelf.lines(Kind.STYLE, find=find)) in (0, 1)


def queries(shelf, ask):
    """How many statements a question sends."""
    sent = []

    def listener(*words):
        sent.append(words[2])

    event.listen(shelf.engine, "before_cursor_execute", listener)
    ask()
    event.remove(shelf.engine, "before_cursor_execute", listener)
    return len(sent)


def test_two_thousand_styles_are_listed_and_searched_with_as_many_queries_as_ten(shelf):
    def fill(first, last):
        for number in range(first, last):
            shelf.add(Kind.STYLE, {"style": {"number": f"N7-{number}", "season": f"Winter {number % 4}"}}, by="Mara")

    def ask():
        shelf.lines(Kind.STYLE, find="n7 winter")
        shelf.load_many(range(1, 2001))
        shelf.seasons()
        shelf.count(Kind.STYLE)

    fill(0, 10)
    few = queries(shelf, ask)
    fill(10, 2000)
    assert queries(shelf, ask) == few
    assert shelf.count(Kind.STYLE) == 2000
    assert shelf.seasons() == [(f"Winter {each}", 500) for each in range(4)]
    assert [line.number for line in shelf.lines(Kind.STYLE, find="summer n7-1999")] == []
    assert [line.number for line in shelf.lines(Kind.STYLE, find="winter n7-1999")] == ["N7-1999"]
    pages = [shelf.lines(Kind.STYLE, season="Winter 3", offset=offset) for offset in (0, 200, 400)]
    assert [len(page) for page in pages] == [200, 200, 100]
    assert len({line.id for page in pages for line in page}) == 500


def test_the_last_changed_style_comes_first(shelf):
    first, second = (shelf.add(Kind.STYLE, {"style": {"name": name}}, by="Mara") for name in ("one", "two"))
    shelf.change(first.id, [Edit(("style", "season"), "Winter")], base_version=1, by="Jo")
    assert [line.id for line in shelf.lines(Kind.STYLE)] == [first.id, second.id]


def test_an_exported_style_is_the_file_it_came_from(shelf, pullover, example):
    assert tomllib.loads(shelf.export_toml(pullover.id)) == example
