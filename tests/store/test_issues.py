"""Issues of a style and the questions about them: frozen, numbered without a gap, whole or not there."""

import gzip
import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import text

from loopwright.problems import Problem
from loopwright.store.database import VERSION_TABLE, writing
from loopwright.store.shelf import Shelf, open_shelf
from loopwright.store.values import Counts, Edit, Kind

ISSUER = Path(__file__).with_name("issuer.py")
RECORD = {"format": "loopwright issue 1", "pages": {"leaves": [], "title": "夜 \u0000 \U0001f9f6"}, "base": None}


def hand_over(shelf: Shelf, item_id: int, number: int, **said: Any):
    words = {"version": 1, "record": {**RECORD, "number": number}, "files": b"PK" + bytes([number]), "by": "Mara"}
    return shelf.add_issue(item_id, number, **{**words, **said})


def test_an_issue_stays_as_it_was_whatever_becomes_of_its_style(shelf, pullover):
    made = hand_over(shelf, pullover.id, 1, recipients=("Mill by the river", " =1+1 \n"), note="First\nsecond")
    shelf.change(pullover.id, [Edit(("garment", "measures_cm", "length"), 70.0)], base_version=1, by="Jo")
    shelf.undo(pullover.id, by="Jo")
    shelf.archive(pullover.id, by="Jo")
    assert shelf.issues(pullover.id) == [made]
    assert (made.recipients, made.note, made.number, made.version) == (
        ("Mill by the river", "=1+1"),
        "First\nsecond",
        1,
        1,
    )
    assert shelf.issue_record(pullover.id, 1) == {**RECORD, "number": 1}
    assert shelf.issue_files(pullover.id, 1) == b"PK\x01"


def test_issues_are_numbered_by_style(shelf, pullover):
    other = shelf.duplicate(pullover.id, by="Jo").id
    for number in (1, 2, 3):
        hand_over(shelf, pullover.id, number)
    hand_over(shelf, other, 1)
    assert [each.number for each in shelf.issues(pullover.id)] == [3, 2, 1]
    assert [each.number for each in shelf.issues(other)] == [1]


@pytest.mark.parametrize(("number", "said"), [(1, "was made by Mara meanwhile"), (3, "the next is 2")])
def test_a_number_that_does_not_follow_is_refused(number, said, shelf, pullover):
    hand_over(shelf, pullover.id, 1)
    with pytest.raises(Problem, match=said):
        hand_over(shelf, pullover.id, number)
    assert [each.number for each in shelf.issues(pullover.id)] == [1]


def test_only_a_style_is_handed_over(shelf):
    yarn = shelf.add(Kind.YARN, {"yarns": {"fog": {"count": "2/15 Nm"}}}, by="Mara").id
    with pytest.raises(Problem, match="only a style"):
        hand_over(shelf, yarn, 1)
    with pytest.raises(Problem, match="nothing under number 999"):
        hand_over(shelf, 999, 1)


def test_what_is_not_there_is_said(shelf, pullover):
    for asked in (shelf.issue_record, shelf.issue_files):
        with pytest.raises(Problem, match="no issue 4"):
            asked(pullover.id, 4)
        with pytest.raises(Problem, match="nothing under number 999"):
            asked(999, 1)
    for listed in (shelf.issues, shelf.questions):
        with pytest.raises(Problem, match="nothing under number 999"):
            listed(999)


@pytest.mark.parametrize("record", [{"a": "\ud800"}, {"a": float("nan")}], ids=["half a sign", "no number"])
def test_a_record_that_no_database_keeps_is_refused(record, shelf, pullover):
    with pytest.raises(Problem, match="cannot be kept"):
        hand_over(shelf, pullover.id, 1, record=record)


def test_far_too_much_is_refused(shelf, pullover, monkeypatch):
    monkeypatch.setattr("loopwright.store.issues.MOST_OF_FILES", 100)
    monkeypatch.setattr("loopwright.store.issues.MOST_OF_A_RECORD", 1000)
    for more in ({"files": bytes(101)}, {"record": {"a": "x" * 1001}}):
        with pytest.raises(Problem, match="MB"):
            hand_over(shelf, pullover.id, 1, **more)
    assert shelf.issues(pullover.id) == []


def test_eight_windows_at_once_lose_no_issue_and_take_no_number_twice(shelf, pullover):
    """Each tries until its own is kept; who was too late is told, looks again and takes the next."""
    refused = []

    def work(person: int) -> None:
        for each in range(5):
            while True:
                last = shelf.issues(pullover.id)
                number = last[0].number + 1 if last else 1
                try:
                    hand_over(shelf, pullover.id, number, record={"who": [person, each]}, by=str(person))
                except Problem as problem:
                    refused.append(problem.what)
                    continue
                break

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(work, range(8)))
    issues = shelf.issues(pullover.id)
    assert [each.number for each in issues] == list(range(40, 0, -1))
    records = [tuple(shelf.issue_record(pullover.id, each.number)["who"]) for each in issues]
    assert sorted(records) == [(person, each) for person in range(8) for each in range(5)]
    assert all("meanwhile" in what for what in refused)


@pytest.mark.parametrize("lines", [1, 12])
def test_a_program_killed_while_it_issues_leaves_no_half_issue(lines, url, open_one):
    shelf = open_one(url)
    item = shelf.add(Kind.STYLE, {"order": {"pieces": 777}}, by="Mara")
    command = [sys.executable, str(ISSUER), url, str(item.id)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True) as running:
        assert running.stdout is not None
        said = [running.stdout.readline() for _ in range(lines)]
        running.kill()
        said += running.stdout.readlines()
    acknowledged = int([line for line in said if line.endswith("\n")][-1])
    again = open_one(url)
    issues = again.issues(item.id)
    assert issues[0].number in (acknowledged, acknowledged + 1)
    assert [each.number for each in issues] == list(range(issues[0].number, 0, -1))
    for each in issues:
        assert again.issue_record(item.id, each.number)["number"] == each.number
        assert again.issue_files(item.id, each.number) == bytes(range(256)) * 2000
    hand_over(again, item.id, issues[0].number + 1)


def test_a_question_is_asked_and_answered_once(shelf, pullover):
    hand_over(shelf, pullover.id, 1)
    first = shelf.ask(pullover.id, 1, place="Sleeve, knit-down", text=" Bind off\nor hold? ", by="Technician")
    second = shelf.ask(pullover.id, 1, place="<b>colour</b>", text="=1+1 🧶 שלום", by="Technician")
    assert (first.place, first.text, first.answer) == ("Sleeve, knit-down", "Bind off\nor hold?", None)
    said = shelf.answer_question(pullover.id, first.id, text="Hold.", by="Mara")
    assert (said.answer, said.answered_by) == ("Hold.", "Mara")
    assert said.answered_at is not None
    with pytest.raises(Problem, match="Mara has answered it already: Hold"):
        shelf.answer_question(pullover.id, first.id, text="Bind off.", by="Jo")
    assert shelf.questions(pullover.id) == [said, second]


@pytest.mark.parametrize("said", ["", "  \n ", "\x00", "x" * 5001])
def test_a_question_that_says_nothing_or_far_too_much_is_refused(said, shelf, pullover):
    hand_over(shelf, pullover.id, 1)
    with pytest.raises(Problem, match="question"):
        shelf.ask(pullover.id, 1, place="", text=said, by="Jo")
    assert shelf.questions(pullover.id) == []


def test_a_question_about_what_is_not_there_is_refused(shelf, pullover):
    with pytest.raises(Problem, match="no issue 1"):
        shelf.ask(pullover.id, 1, place="", text="Why?", by="Jo")
    hand_over(shelf, pullover.id, 1)
    asked = shelf.ask(pullover.id, 1, place="", text="Why?", by="Jo")
    other = shelf.duplicate(pullover.id, by="Jo").id
    for item_id, number in ((pullover.id, asked.id + 1), (other, asked.id)):
        with pytest.raises(Problem, match="no such question"):
            shelf.answer_question(item_id, number, text="So.", by="Jo")


def test_eight_answers_at_once_keep_the_first(shelf, pullover):
    hand_over(shelf, pullover.id, 1)
    asked = shelf.ask(pullover.id, 1, place="", text="Why?", by="Jo")

    def answer(person: int) -> str:
        try:
            return shelf.answer_question(pullover.id, asked.id, text=f"answer {person}", by=str(person)).answer or ""
        except Problem as problem:
            return problem.what

    with ThreadPoolExecutor(8) as pool:
        said = list(pool.map(answer, range(8)))
    (kept,) = shelf.questions(pullover.id)
    assert [each for each in said if each == kept.answer] == [kept.answer]
    assert all(str(kept.answer) in each for each in said)


# Back-ups.


def fill(shelf: Shelf, example: dict[str, Any]) -> int:
    shelf.add(Kind.YARN, {"yarns": {"fog": {"count": "2/15 Nm"}}}, by="Mara")
    style = shelf.add(Kind.STYLE, example, by="Mara").id
    hand_over(shelf, style, 1, recipients=("Mill by the river",), note="a\nb")
    hand_over(shelf, style, 2)
    shelf.answer_question(style, shelf.ask(style, 1, place="Back", text="Why?", by="T").id, text="So.", by="Mara")
    shelf.ask(style, 2, place="", text="When?", by="T")
    return style


@pytest.mark.parametrize(
    ("first", "second"), [("sqlite", "postgresql"), ("postgresql", "sqlite"), ("sqlite", "sqlite")]
)
def test_issues_and_questions_come_back_with_a_back_up(first, second, new_url, open_one, example):
    old, new = open_one(new_url(first)), open_one(new_url(second))
    style = fill(old, example)
    assert new.restore_backup(old.back_up(), by="Kim") == Counts(2, 2, 2)
    there = new.lines(Kind.STYLE)[0].id
    told = [(each.number, each.version, each.at, each.by, each.recipients, each.note) for each in new.issues(there)]
    assert told == [
        (each.number, each.version, each.at, each.by, each.recipients, each.note) for each in old.issues(style)
    ]
    assert [new.issue_record(there, number) for number in (1, 2)] == [old.issue_record(style, n) for n in (1, 2)]
    assert new.issue_files(there, 1) is None
    asked = [(each.issue, each.place, each.text, each.by, each.at, each.answer) for each in new.questions(there)]
    assert asked == [
        (each.issue, each.place, each.text, each.by, each.at, each.answer) for each in old.questions(style)
    ]
    hand_over(new, there, 3)


def test_a_back_up_from_before_there_were_issues_is_read(shelf, example):
    fill(shelf, example)
    document = json.loads(gzip.decompress(shelf.back_up()))
    for each in document["items"]:
        del each["issues"], each["questions"]
    document["version"] = 1
    assert shelf.restore_backup(gzip.compress(json.dumps(document).encode()), by="Kim") == Counts(2, 2, 0)


DAMAGES = {
    "a gap": lambda style: style["issues"].pop(0),
    "a number twice": lambda style: style["issues"].append(style["issues"][1]),
    "an issue of a version to come": lambda style: style["issues"][0].update(version=99),
    "a question about nothing": lambda style: style["questions"][0].update(issue=9),
    "an answer of nobody": lambda style: style["questions"][0].update(answered_by=None),
    "a record that is text": lambda style: style["issues"][0].update(record="x"),
    "half a sign in a record": lambda style: style["issues"][0]["record"].update(title="\ud800"),
    "a field too many": lambda style: style["issues"][0].update(files="x"),
    "no time": lambda style: style["issues"][0].update(at=None),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_back_up_with_wrong_issues_brings_nothing(damage, shelf, example):
    fill(shelf, example)
    document = json.loads(gzip.decompress(shelf.back_up()))
    DAMAGES[damage](next(each for each in document["items"] if each["kind"] == "style"))
    with pytest.raises(Problem, match="back-up"):
        shelf.restore_backup(gzip.compress(json.dumps(document).encode()), by="Kim")
    assert shelf.count(Kind.STYLE) == 1


def test_a_shelf_from_before_there_were_issues_is_brought_up_to_date(url, open_one, example):
    shelf = open_one(url)
    style = shelf.add(Kind.STYLE, example, by="Mara").id
    with writing(shelf.engine) as connection:
        with Operations.context(MigrationContext.configure(connection)) as step:
            step.drop_table("issue")
            step.drop_table("question")
        connection.execute(text(f"UPDATE {VERSION_TABLE} SET version_num = '0001'"))
    shelf.close()
    again = open_shelf(url)
    assert again.load(style).document == example
    hand_over(again, style, 1)
    assert [each.number for each in again.issues(style)] == [1]
    again.close()
