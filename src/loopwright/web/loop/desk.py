"""The desk of the loop page: where cloths are looked up, solved and drawn for all windows."""

from __future__ import annotations

import asyncio

from loopwright.store.shelf import Shelf
from loopwright.store.solved import solved_beside
from loopwright.store.values import Kind
from loopwright.web.desk import Desk
from loopwright.web.loop.asked import Asked, setting_of
from loopwright.web.loop.cloth import LoopCloth, cloth_of
from loopwright.web.loop.pictures import Drawer
from loopwright.web.loop.work import Workbench


class LoopDesk:
    """Solved files, the bench that solves, and the drawer of pictures, over one shelf."""

    def __init__(self, shelf: Shelf, desk: Desk) -> None:
        self.shelf, self.desk = shelf, desk
        self.files = solved_beside(shelf.engine)
        self.bench = Workbench(self.files)
        self.drawer = Drawer()

    async def known(self, asked: Asked) -> LoopCloth:
        """What is known of a cloth that is asked for.

        Raises:
            Problem: no such structure, item, zone or yarn.
        """
        setting = await setting_of(self.shelf, self.desk, asked)
        return cloth_of(setting, self.files)

    async def own_structures(self) -> list[tuple[str, str]]:
        """Structures drawn on the shelf: number and name."""
        lines = await asyncio.to_thread(self.shelf.lines, Kind.STRUCTURE)
        return [(str(line.id), line.name) for line in lines]
