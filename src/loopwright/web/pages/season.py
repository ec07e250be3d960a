"""The season: all its styles with price, hours and yarn; on an empty shelf, the first minute."""

from __future__ import annotations

import asyncio
from html import escape
from urllib.parse import urlencode

from fastapi import Request
from nicegui import background_tasks, ui

from loopwright.store.values import Kind, Line
from loopwright.web.brief_line import line_html
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import PATIENCE_S, frame
from loopwright.web.house import House
from loopwright.web.pages.first_minute import first_minute, start_form_html
from loopwright.web.pages.lists import bring_html, find_html, list_html
from loopwright.web.season_desk import PARTS

MOST_STYLES = 2000
BACKUP_BYTES = 30_000_000
UNNAMED = "no season named"


def register(house: House) -> None:
    """The first page."""

    @ui.page("/", response_timeout=PATIENCE_S)
    def season_page(
        request: Request, season: str | None = None, find: str = "", archived: bool = False, offset: int = 0
    ) -> None:
        may_edit = house.may_edit(request)
        if house.shelf.is_empty():
            first_minute(may_edit=may_edit)
            return
        seasons = house.shelf.seasons()
        chosen = season if season is not None else _newest(house)
        line = line_html(chosen or UNNAMED, [chosen or UNNAMED], "find, new")
        with frame("Season", here="season", help_page="season") as aside:
            with aside:
                Part("line", line).classes("line-place")
                Part("about", _about_html(chosen, seasons, find))
                Part("new", _new_html(may_edit=may_edit, archived=archived))
                if house.sessions is not None:
                    Part("out", _sign_out_html(house.who(request)))
            if find or archived:
                lines = house.shelf.lines(Kind.STYLE, find=find, archived=archived, offset=max(0, offset))
                Part("lede", f'<p class="lede">{escape(_found_words(len(lines), find, archived=archived))}</p>')
                Part("list", list_html(lines, Kind.STYLE, find, offset))
                Wires({})
                return
            parts = {name: Part(name) for name in ("progress", *PARTS)}
            parts["lede"].classes("lede-box")
        Wires({"why": f"/api/season/why?{urlencode({'season': chosen})}&key="})
        lines = house.shelf.lines(Kind.STYLE, season=chosen, limit=MOST_STYLES)
        work = background_tasks.create(_fill(house, chosen, lines, parts), name=f"season {chosen}")
        parts["progress"].on("stop", lambda: work.cancel())
        ui.context.client.on_delete(lambda: work.cancel())


def _newest(house: House) -> str:
    newest = house.shelf.lines(Kind.STYLE, limit=1)
    return newest[0].season if newest else ""


async def _fill(house: House, season: str, lines: list[Line], parts: dict[str, Part]) -> None:
    """Work the season out and show it; say how far it is when it takes a while."""
    loop, begun = asyncio.get_running_loop(), asyncio.get_running_loop().time()

    def progress(done: int) -> None:
        if loop.time() - begun > QUIET_S and (done % EVERY == 0 or done == len(lines)):
            parts["progress"].show(_progress_html(done, len(lines)))

    try:
        answer = await house.seasons.work(season, lines, progress)
    except asyncio.CancelledError:
        parts["progress"].show('<p class="line">Stopped. Load the page again to work the season out.</p>')
        raise
    parts["progress"].show("")
    for name in PARTS:
        parts[name].show(answer.parts[name])


QUIET_S, EVERY = 0.4, 5


def _progress_html(done: int, count: int) -> str:
    share = round(100 * done / max(count, 1))
    return (
        f'<div role="status"><p class="line">Studying the styles, {done} of {count}. '
        '<button type="button" class="link" data-emit="stop">stop</button></p>'
        f'<div class="progress"><i style="width:{share}%"></i></div></div>'
    )


def _about_html(chosen: str, seasons: list[tuple[str, int]], find: str) -> str:
    rows = "".join(
        f'<li><a href="/?{urlencode({"season": name})}"{_current(name == chosen and not find)}>'
        f"{escape(name or UNNAMED)}</a><span>{count}</span></li>"
        for name, count in seasons
    )
    heading = escape(chosen or UNNAMED)
    return (
        f"<h1>{heading}</h1><p class='subtitle'>season</p>{find_html('/', find)}"
        f'<div class="group"><h2>Seasons</h2><ul class="list">{rows}</ul></div>'
    )


def _current(is_current: bool) -> str:
    return ' aria-current="true"' if is_current else ""


def _new_html(*, may_edit: bool, archived: bool) -> str:
    archive = '<a href="/">what is not archived</a>' if archived else '<a href="/?archived=true">the archive</a>'
    backup = '<li><a href="/api/backup" download="shelf-backup.json.gz">back the whole shelf up</a></li>'
    if not may_edit:
        return f'<ul class="doors"><li>{archive}</li>{backup}</ul>'
    restore = (
        '<li><button type="button" class="link" data-do="file" data-value="backup">restore a back-up</button>'
        '<input type="file" class="unseen" tabindex="-1" aria-label="Back-up file" data-bring="backup" '
        f'data-url="/api/backup" data-most="{BACKUP_BYTES}"></li>'
    )
    return (
        f'<div class="group"><h2>New style</h2>{start_form_html()}{bring_html()}</div>'
        f'<div class="group"><h2>Shelf</h2><ul class="doors"><li>{archive}</li>{backup}{restore}</ul></div>'
    )


def _sign_out_html(name: str) -> str:
    return (
        f'<div class="group"><h2>{escape(name)}</h2><p><button type="button" class="link" data-do="post" '
        'data-value="/api/sign-out" data-go="/sign-in">sign out</button></p></div>'
    )


def _found_words(count: int, find: str, *, archived: bool) -> str:
    many = f"{count} style{'s' * (count != 1)}" if count else "No style"
    where = " in the archive" if archived else ""
    return f"{many} hold{'s' * (count <= 1)} “{find}”{where}." if find else f"{many}{where}."
