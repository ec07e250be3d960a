"""The desk: items that windows have open, studied in the background; the newest version wins.

An edit is saved first and answered at once; then the desk studies the newest version in a thread and hands the parts
that changed to every window on that item. A study that is overtaken while it runs is not shown.
Not covered: saving (`store`), what a part says (`answer`).
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from loopwright.problems import Problem
from loopwright.store.shelf import Shelf
from loopwright.web.answer import Answer, answer_of

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
    work: asyncio.Task[None] | None = None
    wanted: int = 0


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
        item = await asyncio.to_thread(self.shelf.load, item_id)
        place = self._places.setdefault(item_id, _Place())
        if place.answer is None or place.answer.item.version != item.version:
            answer = await asyncio.to_thread(answer_of, item, place.answer)
            if place.answer is None or place.answer.item.version < item.version:
                place.answer = answer
        assert place.answer is not None
        return place.answer

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
            except Problem as problem:
                log.info("item %s left the shelf: %s", item_id, problem.sentence())
                return
            finally:
                slow.cancel()

    def _say_busy(self, place: _Place) -> None:
        for window in place.windows:
            window.busy()

    async def tell(self, answer: Answer, windows: list[Window]) -> None:
        """Write an answer out for every size on show, and hand it to the windows."""
        for window in list(windows):
            parts = await asyncio.to_thread(answer.parts, window.size, may_edit=window.may_edit)
            window.show(answer, parts)


SLOW_S = 0.1  # longer than this and the old figures lose their line
