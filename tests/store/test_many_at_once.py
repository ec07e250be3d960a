"""Many hands at one shelf, and a program that dies while it saves: nothing that was said to be kept is lost."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from loopwright.problems import Problem
from loopwright.store.document import value_at
from loopwright.store.shelf import open_shelf
from loopwright.store.values import Clash, Edit, Kind

THREADS, EACH = 8, 50
SAVER = Path(__file__).with_name("saver.py")


def test_eight_people_who_set_fields_of_their_own_lose_nothing(shelf):
    item = shelf.add(Kind.STYLE, {"style": {"name": "Night"}}, by="Mara")

    def work(person):
        for number in range(EACH):
            path = ("make_up_minutes", f"seam {person}-{number}")
            shelf.change(item.id, [Edit(path, number)], base_version=1, by=f"person {person}")

    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(work, range(THREADS)))
    assert len(shelf.load(item.id).document["make_up_minutes"]) == THREADS * EACH
    history = shelf.history(item.id, limit=1000)
    assert [each.version for each in history] == list(range(THREADS * EACH + 1, 0, -1))


def test_eight_people_who_count_in_one_field_count_every_time(shelf):
    """Each adds one to the pieces; who was too late sees the clash, looks again and adds to what is there."""
    item = shelf.add(Kind.STYLE, {"order": {"pieces": 1}}, by="Mara")

    def add_one(person):
        while True:
            seen = shelf.load(item.id)
            pieces = value_at(seen.document, ("order", "pieces")) + 1
            try:
                saved = shelf.change(
                    item.id, [Edit(("order", "pieces"), pieces)], base_version=seen.version, by=str(person)
                )
            except Clash:
                continue
            if saved.change:
                return

    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(add_one, [person for person in range(THREADS) for _ in range(EACH)]))
    assert value_at(shelf.load(item.id).document, ("order", "pieces")) == 1 + THREADS * EACH


def test_lists_histories_and_undo_go_on_while_others_save(shelf, pullover):
    def save(number):
        shelf.change(pullover.id, [Edit(("make_up_minutes", f"seam {number}"), 1)], base_version=1, by="Mara")

    def look(_number):
        version = shelf.load(pullover.id).version
        shelf.lines(Kind.STYLE, find="nachtlinie")
        assert shelf.document_at(pullover.id, 1) == pullover.document
        assert shelf.history(pullover.id)[0].version >= version

    with ThreadPoolExecutor(20) as pool:
        saving, looking = pool.map(save, range(100)), pool.map(look, range(100))
        list(saving)
        list(looking)
    assert shelf.load(pullover.id).version == 101


def test_shelves_opened_by_many_programs_at_once_are_made_once(url):
    with ThreadPoolExecutor(6) as pool:
        shelves = list(pool.map(lambda _: open_shelf(url), range(6)))
    shelves[0].add(Kind.STYLE, {}, by="Mara")
    assert [each.count(Kind.STYLE) for each in shelves] == [1] * 6
    for each in shelves:
        each.close()


def test_a_file_that_many_open_first_refuses_nobody(tmp_path):
    """Forty first openings: the switch to writing ahead is refused at once when two ask for it at one moment."""
    for number in range(40):
        address = f"sqlite:///{tmp_path / f'{number}.db'}"
        with ThreadPoolExecutor(6) as pool:
            for shelf in pool.map(open_shelf, [address] * 6):
                with shelf.engine.connect() as connection:
                    assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
                shelf.close()


@pytest.mark.parametrize("lines", [1, 7, 40])
def test_what_was_acknowledged_is_there_after_the_program_was_killed(lines, url, open_one):
    shelf = open_one(url)
    item = shelf.add(Kind.STYLE, {"order": {"pieces": 777}}, by="Mara")
    command = [sys.executable, str(SAVER), url, str(item.id)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True) as running:
        assert running.stdout is not None
        said = [running.stdout.readline() for _ in range(lines)]
        running.kill()
        said += running.stdout.readlines()
    pieces, version = map(int, [line for line in said if line.endswith("\n")][-1].split())
    again = open_one(url)
    found = again.load(item.id)
    assert found.version in (version, version + 1)  # the one that was being saved, or said, is there or is not
    assert value_at(found.document, ("order", "pieces")) == pieces + found.version - version
    assert again.document_at(item.id, version)["order"]["pieces"] == pieces
    assert again.document_at(item.id, 1)["order"]["pieces"] == 777
    assert again.undo(item.id, by="Jo").item.document["order"]["pieces"] in (pieces - 1, pieces, 777)


def test_a_writer_that_waits_too_long_is_told_and_nothing_is_changed(new_url, open_one, monkeypatch):
    monkeypatch.setattr("loopwright.store.database.BUSY_TIMEOUT_MS", 50)
    url = new_url("sqlite")
    one, other = open_one(url), open_one(url)
    item = one.add(Kind.STYLE, {}, by="Mara")
    with one.engine.connect().execution_options(writes=True) as connection, connection.begin():
        with pytest.raises(Problem, match="locked"):
            other.change(item.id, [Edit(("style", "name"), "Night")], base_version=1, by="Jo")
        assert other.load(item.id) == item
