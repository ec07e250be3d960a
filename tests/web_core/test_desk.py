"""The desk: the newest version wins, all windows hear of it, and nothing is kept for windows that are gone."""

import asyncio
import threading
import time

import pytest

from loopwright.problems import Problem
from loopwright.store.values import Edit, Kind
from loopwright.web import desk as desk_module
from loopwright.web.start import demo_documents

PATIENCE_S = 600.0


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


async def test_twenty_windows_that_open_at_once_cost_one_study(house, style, monkeypatch):
    studied = []
    whole = desk_module.answer_of
    monkeypatch.setattr(desk_module, "answer_of", lambda *given: studied.append(given[0].version) or whole(*given))
    answers = await asyncio.gather(*(house.desk.answer(style) for _ in range(20)))
    assert studied == [1]
    assert all(answer is answers[0] for answer in answers)


async def test_twenty_windows_on_one_size_are_written_out_once(house, style):
    windows = [Listening("L") for _ in range(20)]
    for window in windows:
        house.desk.open(style, window)
    house.desk.changed(style)
    await until(lambda: all(window.parts for window in windows))
    answer = house.desk.known(style)
    assert answer is not None
    written = answer.parts("L")
    assert all(window.parts == written for window in windows)
    assert answer.parts("L") is written


async def test_an_overtaken_study_is_never_shown_after_the_newer_one(house, style, monkeypatch):
    """The first edit is held in its study until two more are saved."""
    started, go_on = threading.Event(), threading.Event()
    whole = desk_module.answer_of

    def slow(item, last):
        if item.version == 2:
            started.set()
            assert go_on.wait(PATIENCE_S)
        return whole(item, last)

    monkeypatch.setattr(desk_module, "answer_of", slow)
    window, late = Listening(), Listening()
    house.desk.open(style, window)
    edit(house, style, 801)
    house.desk.changed(style)
    await until(started.is_set)
    for pieces in (802, 803):
        newest = edit(house, style, pieces)
        house.desk.changed(style)
    opening = asyncio.create_task(house.desk.answer(style))
    house.desk.open(style, late)
    go_on.set()
    await until(lambda: window.versions and window.versions[-1] == newest)
    await until(lambda: late.versions and late.versions[-1] == newest)
    assert (await opening).item.version == newest
    assert window.versions in ([2, newest], [newest])
    assert late.versions == sorted(late.versions)
    assert "At 803 pieces" in window.parts["lede"]


@pytest.mark.parametrize(("takes_s", "slow_s", "is_said"), [(0.0, 1.0, False), (0.3, 0.1, True)])
async def test_old_figures_are_said_to_be_old_only_when_the_study_is_slow(
    house, style, monkeypatch, takes_s, slow_s, is_said
):
    """Nor afterwards, once the new figures are there."""
    whole = desk_module.answer_of
    monkeypatch.setattr(desk_module, "answer_of", lambda *given: time.sleep(takes_s) or whole(*given))
    monkeypatch.setattr(desk_module, "SLOW_S", slow_s)
    windows = [Listening(), Listening()]
    for window in windows:
        house.desk.open(style, window)
    edit(house, style, 810)
    house.desk.changed(style)
    await until(lambda: all(window.versions for window in windows))
    await asyncio.sleep(slow_s)
    assert [window.waited for window in windows] == [int(is_said)] * 2


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


async def test_a_window_that_turns_to_another_size_while_it_is_told_gets_that_size(house, style):
    window = Listening("XS")
    answer = await house.desk.answer(style)
    telling = asyncio.create_task(house.desk.tell(answer, [window]))
    await asyncio.sleep(0)
    window.size = "3XL"
    await telling
    assert "size 3XL" in window.parts["panels"]


async def test_a_window_closed_while_it_is_told_hears_nothing(house, style):
    window = Listening()
    house.desk.open(style, window)
    answer = await house.desk.answer(style)
    listening = [window]
    telling = asyncio.create_task(house.desk.tell(answer, listening))
    await asyncio.sleep(0)
    listening.remove(window)
    await telling
    assert window.versions == []


async def test_a_study_that_ends_after_its_last_window_closed_is_let_go(house, style, monkeypatch):
    started, go_on = threading.Event(), threading.Event()
    whole = desk_module.answer_of

    def slow(*given):
        started.set()
        assert go_on.wait(PATIENCE_S)
        return whole(*given)

    monkeypatch.setattr(desk_module, "answer_of", slow)
    window = Listening()
    house.desk.open(style, window)
    house.desk.changed(style)
    await until(started.is_set)
    house.desk.close(style, window)
    go_on.set()
    await until(lambda: not [task for task in asyncio.all_tasks() if task.get_name() == f"study {style}"])
    assert house.desk.known(style) is None
    assert window.versions == []


async def test_a_program_that_asks_for_the_whole_shelf_leaves_only_a_few_answers_behind(house, style):
    shown = Listening()
    house.desk.open(style, shown)
    await house.desk.answer(style)
    yarn = {"yarns": {"main": {"count": "2/30 Nm", "fibres": "merino"}}}
    yarns = [house.shelf.add(Kind.YARN, yarn, by="test").id for _ in range(3 * desk_module.KEPT_UNSEEN)]
    for each in yarns:
        await house.desk.answer(each)
    kept = [each for each in yarns if house.desk.known(each) is not None]
    assert kept == yarns[-desk_module.KEPT_UNSEEN :]
    assert house.desk.known(style) is not None  # a window shows it


async def test_numbers_that_lead_nowhere_are_not_remembered(house, style):
    for number in range(1000, 1100):
        with pytest.raises(Problem, match="nothing under number"):
            await house.desk.answer(number)
    assert len(house.desk._places) <= desk_module.KEPT_UNSEEN


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
