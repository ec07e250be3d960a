"""Ways of making come after everything else, stay on show as old while they are worked out, and the newest wins."""

import asyncio
import re
import threading

import pytest

from loopwright.store.values import Edit, Kind
from loopwright.web import answer as answer_module
from loopwright.web.answer import Answer, answer_of
from loopwright.web.known_ways import WAITING
from loopwright.web.start import demo_documents

PATIENCE_S = 600.0


class Listening:
    """A window that only listens."""

    def __init__(self) -> None:
        self.size, self.may_edit = "", True
        self.seen: list[tuple[int, str]] = []

    def show(self, answer: Answer, parts) -> None:
        self.seen.append((answer.item.version, parts["ways"]))

    def busy(self) -> None:
        """Not of interest here."""


@pytest.fixture
def style(shelf) -> int:
    document = next(
        document
        for kind, document in demo_documents()
        if kind is Kind.STYLE and "Attendant" in document["style"]["name"]
    )
    return shelf.add(Kind.STYLE, document, by="test").id


def edit(house, style: int, path: tuple[str, ...], value) -> int:
    item = house.shelf.load(style)
    return house.shelf.change(style, [Edit(path, value)], base_version=item.version, by="test").item.version


async def until(holds) -> None:
    for _ in range(int(PATIENCE_S / 0.01)):
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("it never came")


def is_there(window: Listening, version: int) -> bool:
    return any(seen == version and "can be made" in ways and 'class="old"' not in ways for seen, ways in window.seen)


async def test_a_page_is_there_before_its_ways(house, style):
    answer = await house.desk.answer(style)
    assert WAITING in answer.parts()["ways"]
    assert 'aria-busy="true"' in answer.parts()["ways"]
    window = Listening()
    house.desk.open(style, window)
    house.desk.work_on(style)
    await until(lambda: is_there(window, 1))
    assert WAITING not in answer.parts()["ways"]


async def test_older_ways_stay_on_show_as_old_until_the_new_ones_are_there(house, style):
    window = Listening()
    await house.desk.answer(style)
    house.desk.open(style, window)
    house.desk.work_on(style)
    await until(lambda: is_there(window, 1))
    version = edit(house, style, ("order", "pieces"), 120)
    house.desk.changed(style)
    await until(lambda: is_there(window, version))
    first = next(ways for seen, ways in window.seen if seen == version)
    assert 'class="old"' in first
    assert "At 640 pieces" not in first or "At 120 pieces" in first
    assert "At 120 pieces" in window.seen[-1][1]


async def test_an_edit_that_no_way_rests_on_works_nothing_out_again(house, style, monkeypatch):
    window = Listening()
    await house.desk.answer(style)
    house.desk.open(style, window)
    house.desk.work_on(style)
    await until(lambda: is_there(window, 1))
    monkeypatch.setattr(answer_module, "ways_of_making", lambda _: pytest.fail("worked out again"))
    version = edit(house, style, ("style", "season"), "another winter")
    house.desk.changed(style)
    await until(lambda: is_there(window, version))


async def test_every_reason_can_be_asked_for_while_the_page_is_written_anew(house, style, monkeypatch):
    """A figure that is pressed at the moment when the ways arrive still says why."""
    answer = await house.desk.answer(style)
    keys = re.findall(r'data-why="([^"]+)"', answer.parts()["price"])
    assert keys
    asked = []
    write = answer_module.block_html

    def written(*words, **more):
        asked.append(answer.reason(keys[-1]))
        return write(*words, **more)

    monkeypatch.setattr(answer_module, "block_html", written)
    answer.work_out_ways()
    assert "can be made" in answer.parts()["ways"]
    assert asked
    assert None not in asked


async def test_ways_that_were_overtaken_are_never_shown(house, style, monkeypatch):
    """The ways of the first version are held until a second is saved."""
    started, go_on = threading.Event(), threading.Event()
    whole = answer_module.ways_of_making

    def slow(study):
        if study.style.order.pieces == 640:
            started.set()
            assert go_on.wait(PATIENCE_S)
        return whole(study)

    monkeypatch.setattr(answer_module, "ways_of_making", slow)
    window = Listening()
    await house.desk.answer(style)
    house.desk.open(style, window)
    house.desk.work_on(style)
    await until(started.is_set)
    version = edit(house, style, ("order", "pieces"), 130)
    house.desk.changed(style)
    await until(lambda: any(seen == version for seen, _ in window.seen))
    go_on.set()
    await until(lambda: is_there(window, version))
    shown = [seen for seen, _ in window.seen]
    assert shown == sorted(shown)
    assert not is_there(window, 1)


def test_a_thing_of_the_shelf_has_no_ways(shelf):
    for kind, document in demo_documents():
        if kind is not Kind.STYLE:
            answer = answer_of(shelf.add(kind, document, by="test"))
            assert not answer.lacks_ways
            assert answer.parts()["ways"] == ""


@pytest.mark.parametrize("document", [{}, {"yarns": {"a": {"count": "2/30 Nm", "fibres": "merino"}}}])
def test_a_style_without_sizes_waits_for_no_ways(shelf, document):
    answer = answer_of(shelf.add(Kind.STYLE, document, by="test"))
    assert not answer.lacks_ways
    assert answer.parts()["ways"] == ""
