"""The desk: items that windows have open, studied in the background; the newest version wins.

An edit is saved first and answered at once; then the desk studies the newest version in a thread and hands the parts
that changed to every window on that item. One version is studied once, however many ask for it; a study that is
overtaken while it runs is followed by the newest, and never shown after it.
Not covered: saving (`store`), what a part says (`answer`).
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from loopwright.problems import Problem
from loopwright.store.shelf import Shelf
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.web.answer import Answer
from loopwright.web.swatch.answer import answer_of

T = TypeVar("T")
log = logging.getLogger("loopwright.web")


class Window(Protocol):
    """A page that shows an item."""

    size: str
    may_edit: bool

    def show(self, answer: Answer, parts: Mapping[str, str]) -> None:
        """Take the parts of a new answer; only those that differ need to travel."""

    def busy(self) -> None:
        """Say that figures are being worked out anew."""


@dataclass(slots=True)
class _Place:
    """One item on the desk."""

    windows: list[Window] = field(default_factory=list)
    answer: Answer | None = None
    studying: asyncio.Lock = field(default_factory=asyncio.Lock)
    work: asyncio.Task[None] | None = None
    wanted: int = 0
    later: asyncio.Task[None] | None = None


class Desk:
    """All items that are open."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._places: dict[int, _Place] = {}

    async def answer(self, item_id: int) -> Answer:
        """The answer to the newest version of an item.

        Raises:
            Problem: no such item.
        """
        place = self._places[item_id] = self._places.pop(item_id, _Place())
        try:
            async with place.studying:
                item = await asyncio.to_thread(self.shelf.load, item_id)
                if place.answer is None or place.answer.item.version < item.version:
                    place.answer = await asyncio.to_thread(answer_of, item, place.answer)
                return place.answer
        finally:
            self._keep_few()

    def _keep_few(self) -> None:
        """Forget answers that no window shows, but for the last few that were asked for."""
        unseen = [each for each, place in self._places.items() if not place.windows and not place.studying.locked()]
        for item_id in unseen[:-KEPT_UNSEEN]:
            del self._places[item_id]

    async def with_study(self, item_id: int, write: Callable[[StyleStudy], T]) -> T:
        """What `write` makes, in a thread, of the study of an item's newest version.

        Raises:
            Problem: no such item, or it cannot be studied.
        """
        answer = await self.answer(item_id)
        if answer.study is None and answer.problem is not None:
            raise answer.problem
        return await asyncio.to_thread(lambda: write(answer.study or study_style(read_style(answer.item.document))))

    def known(self, item_id: int) -> Answer | None:
        """The answer on the desk, when there is one."""
        place = self._places.get(item_id)
        return place.answer if place else None

    def open(self, item_id: int, window: Window) -> None:
        """A window shows this item from now on."""
        self._places.setdefault(item_id, _Place()).windows.append(window)

    def close(self, item_id: int, window: Window) -> None:
        """A window is gone; the last one takes the answer with it."""
        place = self._places.get(item_id)
        if place is None or window not in place.windows:
            return
        place.windows.remove(window)
        if not place.windows:
            del self._places[item_id]

    def changed(self, item_id: int) -> None:
        """An item was saved: study it anew and tell its windows. Called on the loop's own thread."""
        place = self._places.get(item_id)
        if place is None:
            return
        place.wanted += 1
        if place.work is None or place.work.done():
            place.work = asyncio.create_task(self._work(item_id, place), name=f"study {item_id}")

    async def _work(self, item_id: int, place: _Place) -> None:
        done = -1
        while done != place.wanted and place.windows:
            done = place.wanted
            slow = asyncio.get_running_loop().call_later(SLOW_S, self._say_busy, place)
            try:
                answer = await self.answer(item_id)
                await self.tell(answer, place.windows)
                self.work_on(item_id)
            except Problem as problem:
                log.info("item %s left the shelf: %s", item_id, problem.sentence())
                return
            finally:
                slow.cancel()

    def work_on(self, item_id: int) -> None:
        """Work out in the background what windows wait for and a study does not hold: the ways of making."""
        place = self._places.get(item_id)
        if place is not None and (place.later is None or place.later.done()):
            place.later = asyncio.create_task(self._work_on(place), name=f"ways {item_id}")

    async def _work_on(self, place: _Place) -> None:
        """The newest answer's ways; those of an answer that was overtaken meanwhile are not shown."""
        while place.windows and (answer := place.answer) is not None and answer.lacks_ways:
            await asyncio.to_thread(answer.work_out_ways)
            if place.answer is answer:
                await self.tell(answer, place.windows)

    def _say_busy(self, place: _Place) -> None:
        for window in place.windows:
            window.busy()

    async def tell(self, answer: Answer, windows: list[Window]) -> None:
        """Write an answer out for every size on show, and hand it to the windows."""
        for window in list(windows):
            parts = await self._written(answer, window)
            if window in windows:
                window.show(answer, parts)

    async def _written(self, answer: Answer, window: Window) -> Mapping[str, str]:
        """The parts for a window, written anew when it turned to another size meanwhile."""
        while True:
            size = window.size
            parts = await asyncio.to_thread(answer.parts, size, may_edit=window.may_edit)
            if size == window.size:
                return parts


KEPT_UNSEEN = 8  # programs that ask in turn, and pages between their first line and their window
SLOW_S = 0.1  # longer than this and the old figures lose their line
