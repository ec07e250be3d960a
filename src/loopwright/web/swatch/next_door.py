"""The door of the next swatch: asked again and again until it is worked out, and given up.

In: a style of the shelf, what is to be made surer. Out: how far it is; then the advice as the command `next` gives it,
and as the page shows it. Not covered: the work (`next_swatch`), its words (`next_words`).
"""

from __future__ import annotations

import asyncio
from typing import Annotated, Any

from fastapi import FastAPI, Query
from pydantic import Field

from loopwright.problems import Problem
from loopwright.report.learning import next_document
from loopwright.web.asked import Asked, Number
from loopwright.web.swatch.next_swatch import Advised, Answer, NextDesk, Wanted
from loopwright.web.swatch.next_words import advice_html
from loopwright.web.waited_for import Progress

WindowKey = Annotated[str, Field(min_length=1, max_length=64)]


class NextAsked(Asked):
    """What a window no longer waits for."""

    wanted: Wanted = ""
    window: WindowKey = "-"


def add_next_door(api: FastAPI, desk: NextDesk) -> None:
    """Put the ways of the next swatch into the application behind /api."""

    @api.get("/items/{item_id}/next")
    async def asked(
        item_id: Number,
        wanted: Annotated[Wanted, Query()] = "",
        window: Annotated[str, Query(max_length=64)] = "-",
    ) -> dict[str, Any]:
        """Which swatch to knit next for a style, or how far it is; the first to ask begins it."""
        return _told(await asyncio.to_thread(desk.begin, item_id, wanted, window or "-"))

    @api.post("/items/{item_id}/next/stop")
    async def stop(item_id: Number, asked: NextAsked) -> dict[str, Any]:
        """A window no longer waits; the last one stops the work."""
        return _told(await asyncio.to_thread(desk.give_up, item_id, asked.wanted, asked.window))


def _told(progress: Progress[Answer]) -> dict[str, Any]:
    """How far it is, for programs and for the page."""
    answer = progress.answer
    advised = answer if isinstance(answer, Advised) else None
    return {
        "state": progress.state,
        "share": round(progress.share, 3),
        "seconds": round(progress.seconds, 1),
        "problem": answer.as_dict() if isinstance(answer, Problem) else None,
        "next": next_document(advised.advice) | {"counted": list(advised.swatches)} if advised else None,
        "html": advice_html(advised) if advised else "",
    }
