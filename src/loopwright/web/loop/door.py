"""The loop page's own part of the JSON door: figures for any setting, pictures, reasons, and solving what is missing.

What is asked stands whole in the address, so nothing is remembered between requests and any number of windows may ask.
Not covered: what is asked (`asked`), what is answered (`parts`, `pictures`), the work (`work`).
"""

from __future__ import annotations

import asyncio
from typing import Annotated, Literal

from fastapi import FastAPI, Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, Field

from loopwright.draw.views import Side
from loopwright.problems import Problem
from loopwright.web.house import House
from loopwright.web.loop.asked import Asked, AskedBeside
from loopwright.web.loop.cloth import LoopCloth
from loopwright.web.loop.desk import LoopDesk
from loopwright.web.loop.parts import Written
from loopwright.web.loop.pictures import caption_of, glb_of, label_of, lines_of, still
from loopwright.web.loop.work import Progress
from loopwright.web.told import Drawing, Painted

WindowKey = Annotated[str, Field(min_length=1, max_length=64)]
MINUTE = {"cache-control": "private, max-age=60"}


class Lines(Response):
    """Centre lines of yarns."""

    media_type = "application/octet-stream"


class Solid(Response):
    """A 3D file."""

    media_type = "model/gltf-binary"


class View(BaseModel):
    """One cloth to be turned: where its centre lines and its still are, and the words about it."""

    url: str
    still: str
    lying: str
    label: str
    caption: str


class LoopAnswer(BaseModel):
    """Parts of the page by name, the cloths to show, and the address that asks for this again."""

    parts: dict[str, str]
    views: list[View]
    query: str


class WhyAsked(AskedBeside):
    """A figure of the page that an address asks for."""

    key: Annotated[str, Field(min_length=1, max_length=40)]


class StillAsked(Asked):
    """A still of a cloth."""

    view: Side = "face"


class WorkAsked(Asked):
    """A cloth to be solved, and the window that waits for it."""

    window: WindowKey


class Work(BaseModel):
    """How far a structure is."""

    state: Literal["none", "waiting", "working", "done", "stopped", "failed"]
    words: str
    seconds: int


def add_loop_door(api: FastAPI, house: House) -> None:
    """Everything under /loop of the door."""
    _answers(api, house)
    _pictures(api, house.loops)
    _work(api, house.loops)


def _answers(api: FastAPI, house: House) -> None:
    @api.get("/loop/answer")
    async def answer(asked: Annotated[AskedBeside, Query()], request: Request) -> LoopAnswer:
        """The loop page for a setting, all but what would help."""
        return await answer_to(house, asked, may_edit=house.may_edit(request))

    @api.get("/loop/help", response_class=HTMLResponse)
    async def remedies(asked: Annotated[AskedBeside, Query()]) -> Response:
        """What would help against roll and lean."""
        first = await house.loops.known(asked.first())
        return HTMLResponse(await asyncio.to_thread(Written(first, None).help))

    @api.get("/loop/why", response_class=HTMLResponse)
    async def why(asked: Annotated[WhyAsked, Query()]) -> Response:
        """Why a figure on the page is what it is."""
        first, second = await both_of(house.loops, asked)
        reason = await asyncio.to_thread(Written(first, second).reason, asked.key)
        if reason is None:
            raise Problem("this figure", "it is not on the page any more.", tries=["press it again"])
        return HTMLResponse(reason)


async def both_of(loops: LoopDesk, asked: AskedBeside) -> tuple[LoopCloth, LoopCloth | None]:
    """The cloth, and the one beside it."""
    beside = asked.second()
    return await loops.known(asked.first()), await loops.known(beside) if beside else None


async def answer_to(house: House, asked: AskedBeside, *, may_edit: bool) -> LoopAnswer:
    """The page for a setting.

    Raises:
        Problem: no such structure, item, zone or yarn.
    """
    first, second = await both_of(house.loops, asked)
    own = await house.loops.own_structures()
    written = Written(first, second, own, may_edit=may_edit)
    views = [_view(each) for each in (first, second) if each is not None and each.cloth is not None]
    said = {key: value for key, value in asked.said().items() if key not in ("version", "key")}
    return LoopAnswer(parts=dict(written.quick()), views=views, query=type(asked)(**said).query())


def _view(known: LoopCloth) -> View:
    query = known.setting.asked.query()
    return View(
        url=f"/api/loop/lines?{query}",
        still=f"/api/loop/still.svg?{query}",
        lying=f"/api/loop/still.svg?{query}&view=lying",
        label=label_of(known),
        caption=caption_of(known),
    )


def _pictures(api: FastAPI, loops: LoopDesk) -> None:
    @api.get("/loop/lines", response_class=Lines)
    async def lines(asked: Annotated[Asked, Query()]) -> Response:
        """Centre lines of the yarns (draw/centre_lines.py), at rest, stretched and as it lies."""
        known = await loops.known(asked)
        return Lines(await asyncio.to_thread(lines_of, known), headers=MINUTE)

    @api.get("/loop/cloth.glb", response_class=Solid)
    async def solid(asked: Annotated[Asked, Query()]) -> Response:
        """The cloth as a 3D file in real size."""
        known = await loops.known(asked)
        return Solid(await asyncio.to_thread(glb_of, known))

    @api.get("/loop/still.svg", response_class=Drawing)
    async def drawing(asked: Annotated[StillAsked, Query()]) -> Response:
        """A still of the cloth."""
        known = await loops.known(_cloth(asked))
        return Drawing(await loops.drawer.made(f"svg {_named(known, asked)}", lambda: still(known, asked.view, "svg")))

    @api.get("/loop/still.png", response_class=Painted)
    async def painted(asked: Annotated[StillAsked, Query()]) -> Response:
        """A still of the cloth, drawn finely: some seconds the first time."""
        known = await loops.known(_cloth(asked))
        return Painted(await loops.drawer.made(f"png {_named(known, asked)}", lambda: still(known, asked.view, "png")))


def _cloth(asked: Asked) -> Asked:
    """Without what only the still or the window asks."""
    return Asked(**{key: value for key, value in asked.said().items() if key in Asked.model_fields})


def _named(known: LoopCloth, asked: StillAsked) -> str:
    return f"{asked.view} {known.setting.asked.query()} {known.key}"


def _work(api: FastAPI, loops: LoopDesk) -> None:
    @api.post("/loop/work", status_code=201)
    async def begin(asked: WorkAsked) -> Work:
        """Have a structure solved that is not known yet; who asks again waits for the same work."""
        known = await loops.known(_cloth(asked))
        return _told(loops.bench.begin(known, asked.window) if known.to_solve else Progress("none"))

    @api.get("/loop/work")
    async def progress(asked: Annotated[WorkAsked, Query()]) -> Work:
        """How far it is."""
        known = await loops.known(_cloth(asked))
        return _told(loops.bench.progress(known.key, asked.window))

    @api.post("/loop/work/stop")
    async def stop(asked: WorkAsked) -> Work:
        """A window no longer waits; the last one stops the work."""
        known = await loops.known(_cloth(asked))
        return _told(loops.bench.give_up(known.key, asked.window))


def _told(progress: Progress) -> Work:
    return Work(state=progress.state, words=progress.words, seconds=progress.seconds)
