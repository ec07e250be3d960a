"""The workroom put together and served: guard, pages, JSON door, type faces; on loopback unless a team needs more."""

from __future__ import annotations

import socket
from importlib import resources
from pathlib import Path

from fastapi import Request, Response
from fastapi.responses import PlainTextResponse
from nicegui import app, ui

from loopwright import __version__
from loopwright.problems import Problem
from loopwright.report.faces import FACES, blocks_css, font_file, theme_variables
from loopwright.store.shelf import Shelf, open_shelf
from loopwright.web import pages
from loopwright.web.api import api_of
from loopwright.web.desk import Desk
from loopwright.web.guard import HEADERS, Guard
from loopwright.web.house import House
from loopwright.web.sign_in import Sessions, SignedIn
from loopwright.web.sign_in_door import add_sign_in

LOOPBACK = "127.0.0.1"
USUAL_PORT = 8027
LAST_PORT = 65535


def build(shelf: Shelf, *, hosts: tuple[str, ...] = (), team: bool = False) -> House:
    """Put the workroom together on the framework's application."""
    house = House(shelf, Desk(shelf), Sessions(shelf) if team else None)
    api = api_of(house)
    if house.sessions is not None:
        add_sign_in(api, house.sessions)
    app.mount("/api", api)
    _assets()
    pages.register(house)
    if house.sessions is not None:
        app.add_middleware(SignedIn, sessions=house.sessions)
    app.add_middleware(Guard, hosts=hosts)
    app.add_exception_handler(Exception, our_fault)
    app.on_shutdown(house.loops.bench.close)
    app.on_shutdown(house.photos.bench.close)
    app.on_shutdown(house.next_swatches.works.close)
    return house


async def our_fault(_request: Request, _error: Exception) -> Response:
    """What broke is our fault and told to the log alone; sent from outside the guard, so it brings the policy along."""
    return PlainTextResponse(OUR_FAULT, 500, headers=HEADERS)


OUR_FAULT = "Something in the workroom broke; what was saved is safe. Load the page again, or look into the log."


def _assets() -> None:
    """The style sheet and the type faces, under the version so that a browser may keep them."""
    place = f"/assets/{__version__}"
    sheet = _style_sheet(place)

    @app.get(f"{place}/workroom.css", include_in_schema=False)
    def style_sheet(_: Request) -> Response:
        return Response(sheet, media_type="text/css", headers={"cache-control": "public, max-age=3600"})

    app.add_static_file(local_file=Path(__file__).parent / "sign_in.js", url_path=f"{place}/sign_in.js")
    for _, _, _, package, part in FACES:
        file = font_file(package, part)
        if file is not None:
            app.add_static_file(local_file=file, url_path=f"{place}/{file.name}", max_cache_age=31536000)


def _style_sheet(place: str) -> str:
    faces = "".join(
        f"@font-face{{font-family:'{family}';font-weight:{weight};font-style:{style};font-display:swap;"
        f"src:url({place}/{file.name})}}"
        for family, weight, style, package, part in FACES
        if (file := font_file(package, part)) is not None
    )
    return faces + theme_variables() + blocks_css() + (resources.files(__package__) / "workroom.css").read_text("utf-8")


def serve(
    *, port: int = USUAL_PORT, show: bool = True, team: bool = False, host: str = "", url: str | None = None
) -> None:
    """Open the shelf and serve until stopped.

    Args:
        port: where to listen.
        show: open the page in the person's browser.
        team: listen for others too, and ask them to sign in.
        host: in team mode, the name under which others reach this machine.
        url: database of the shelf; the usual one when left out.

    Raises:
        Problem: the port is taken, a team without a host or without people, or the shelf cannot be opened.
    """
    _refuse_busy(port)
    shelf = open_shelf(url)
    if team:
        _refuse_unready(shelf, host)
    build(shelf, hosts=(host,) if host else (), team=team)
    print(f"The workroom is open at http://{host or LOOPBACK}:{port}/   (Ctrl C closes it)", flush=True)
    ui.run(
        host="0.0.0.0" if team else LOOPBACK,
        port=port,
        title="Loopwright",
        favicon=_favicon(),
        language="en-US",
        reload=False,
        show=show,
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=30,
        message_history_length=40,
        binding_refresh_interval=None,
        ws_per_message_deflate=False,  # packing costs more than a loopback or a studio's network gains
    )


def _refuse_busy(port: int) -> None:
    if not 1 <= port <= LAST_PORT:
        raise Problem("port", f"{port} is no port.", limit=f"1 to {LAST_PORT}", tries=[str(USUAL_PORT)])
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((LOOPBACK, port))
        except PermissionError:
            tries = [f"another port: --port {USUAL_PORT}"]
            raise Problem("port", f"this account may not listen on {port}.", tries=tries) from None
        except OSError:
            raise Problem(
                "port",
                f"something already listens on {port}; perhaps the workroom is open.",
                tries=[
                    f"http://{LOOPBACK}:{port}/",
                    f"another port: --port {port - 1 if port == LAST_PORT else port + 1}",
                ],
            ) from None


def _refuse_unready(shelf: Shelf, host: str) -> None:
    if not host:
        raise Problem("team", "others need a name to reach this machine by.", tries=["--host knitting.local"])
    if not shelf.people():
        raise Problem("team", "nobody may sign in yet.", tries=["loopwright person NAME --role edit"])


def _favicon() -> Path:
    return Path(__file__).parent / "mark.svg"
