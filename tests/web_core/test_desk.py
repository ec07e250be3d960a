"""The desk: the newest version wins, all windows hear of it, and nothing is kept for windows that are gone."""

import asyncio

import pytest

from loopwright.store.values import Edit, Kind
from loopwright.web import desk as desk_module
from loopwright.web.start import demo_documents

PATIENCE_S = 20.0


class Listening:
    """A window that only listens."""

    def __init__(self, size: str = "") -> None:
        self.size, self.may_edit = size, True
        self.versions: list[int] = []
        self.parts: dict[str, str] = {}
        self.waited = 0

    def show(self, answer, parts) -> None:
        self.versions.append(answer.item.version)
        self.parts = dict(parts)

    def busy(self) -> None:
        self.waited += 1


@pytest.fixture
def style(shelf) -> int:
    document = next(document for kind, document in demo_documents() if kind is Kind.STYLE)
    return shelf.add(Kind.STYLE, document, by="test").id


def edit(house, style: int, pieces: int) -> int:
    item = house.shelf.load(style)
    edits = [Edit(("order", "pieces"), pieces)]
    return house.shelf.change(style, edits, base_version=item.version, by="test").item.version


async def until(holds) -> None:
    for _ in range(int(PATIENCE_S / 0.01)):
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("it never came")


async def test_an_edit_reaches_every_window(house, style):
    windows = [Listening() for _ in range(20)]
    for window in windows:
        house.desk.open(style, window)
    version = edit(house, style, 900)
    house.desk.changed(style)
    await until(lambda: all(window.versions for window in windows))
    assert {window.versions[-1] for window in windows} == {version}
    assert all("At 900 pieces" in window.parts["lede"] for window in windows)


async def test_twenty_windows_cost_one_study(house, style, monkeypatch):
    studied = []
    whole = desk_module.answer_of
    monkeypatch.setattr(desk_module, "answer_of", lambda *given: studied.append(given[0].version) or whole(*given))
    windows = [Listening() for _ in range(20)]
    for window in windows:
        house.desk.open(style, window)
    edit(house, style, 901)
    house.desk.changed(style)
    await until(lambda: all(window.versions for window in windows))
    assert len(studied) == 1


async def test_after_many_edits_the_last_one_is_shown_and_none_goes_backwards(house, style):
    window = Listening()
    house.desk.open(style, window)
    for pieces in range(700, 712):
        last = edit(house, style, pieces)
        house.desk.changed(style)
        await asyncio.sleep(0.005)
    await until(lambda: window.versions and window.versions[-1] == last)
    assert window.versions == sorted(window.versions)
    assert "At 711 pieces" in window.parts["lede"]


async def test_windows_look_at_sizes_of_their_own(house, style):
    small, large = Listening("XS"), Listening("3XL")
    for window in (small, large):
        house.desk.open(style, window)
    house.desk.changed(style)
    await until(lambda: small.versions and large.versions)
    assert "size XS" in small.parts["panels"]
    assert "size 3XL" in large.parts["panels"]
    assert small.parts["price"] == large.parts["price"]


async def test_the_last_window_takes_the_answer_with_it(house, style):
    first, second = Listening(), Listening()
    await house.desk.answer(style)
    house.desk.open(style, first)
    house.desk.open(style, second)
    house.desk.close(style, first)
    assert house.desk.known(style) is not None
    house.desk.close(style, second)
    assert house.desk.known(style) is None
    house.desk.close(style, second)  # twice does no harm


async def test_a_window_that_is_gone_hears_nothing_more(house, style):
    stays, goes = Listening(), Listening()
    house.desk.open(style, stays)
    house.desk.open(style, goes)
    house.desk.close(style, goes)
    edit(house, style, 905)
    house.desk.changed(style)
    await until(lambda: stays.versions)
    assert goes.versions == []


async def test_nobody_looking_costs_nothing(house, style):
    house.desk.changed(style)
    assert house.desk.known(style) is None


async def test_an_answer_of_the_present_version_is_kept_while_somebody_looks(house, style):
    house.desk.open(style, Listening())
    assert await house.desk.answer(style) is await house.desk.answer(style)
    edit(house, style, 906)
    assert (await house.desk.answer(style)).item.version == 2
