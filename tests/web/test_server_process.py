"""A real server in a process of its own: strangers are kept out, and what was acknowledged outlives its sudden end."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import sqlite3
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Protocol

import httpx
import pytest

from loopwright import __version__
from loopwright.store.shelf import open_shelf
from loopwright.store.values import Action
from loopwright.web.guard import HEADERS

PATIENCE_S = 600
MEGABYTE = 1_000_000
SOCKET = "/_nicegui_ws/socket.io/?EIO=4&transport="


class Server(Protocol):
    """A started workroom (see the fixtures)."""

    process: subprocess.Popen[bytes]
    port: int
    folder: Path
    url: str

    def end(self) -> None: ...
    def said(self) -> str: ...


Start = Callable[..., Server]
Run = Callable[..., subprocess.CompletedProcess[bytes]]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, start: Start) -> Iterator[Server]:
    started = start(tmp_path_factory.mktemp("workroom"))
    yield started
    started.end()


def raw_answer(server: Server, request: str) -> str:
    """The first line that comes back for a request written out by hand."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S) as line:
        line.sendall(request.replace("\n", "\r\n").encode("latin-1"))
        return line.makefile("rb").readline().decode("latin-1").strip()


def handshake(server: Server, *, host: str, origin: str | None) -> str:
    said = f"Origin: {origin}\n" if origin else ""
    return raw_answer(
        server,
        f"GET {SOCKET}websocket HTTP/1.1\nHost: {host}\n{said}Connection: Upgrade\nUpgrade: websocket\n"
        "Sec-WebSocket-Version: 13\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\n\n",
    )


PLACES = ["/", "/api/items?kind=style", f"{SOCKET}polling"]


@pytest.mark.parametrize("place", PLACES)
def test_the_person_at_this_machine_is_let_in(server: Server, place: str) -> None:
    answer = httpx.get(server.url + place, headers={"origin": server.url}, timeout=PATIENCE_S)
    assert answer.status_code == 200
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("foreign", [{"host": "evil.example"}, {"origin": "https://evil.example"}, {"origin": "null"}])
def test_a_stranger_is_refused_at_every_place(server: Server, place: str, foreign: dict[str, str]) -> None:
    answer = httpx.get(server.url + place, headers=foreign, timeout=PATIENCE_S)
    assert answer.status_code == 403
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("method", "place", "status"),
    [
        ("GET", "/nothing", 404),
        ("GET", "/api/nothing", 404),
        ("GET", "/api/items/999", 422),
        ("GET", "/items/nothing", 422),
        ("GET", "/items/999", 200),
        ("GET", "/shelf/yarn/", 307),
        ("DELETE", "/api/items", 415),
        ("HEAD", "/", 405),
        ("GET", "/api/backup", 200),
        ("GET", "/_nicegui_ws/socket.io/?EIO=99&transport=polling", 400),
        ("GET", f"/assets/{__version__}/workroom.css", 200),
        ("GET", f"/assets/{__version__}/../../pyproject.toml", 404),
    ],
)
def test_every_kind_of_answer_carries_the_policy(server: Server, method: str, place: str, status: int) -> None:
    answer = httpx.request(method, server.url + place, timeout=PATIENCE_S)
    assert answer.status_code == status, answer.text[:200]
    assert HEADERS.items() <= dict(answer.headers).items()


def test_a_page_that_breaks_still_carries_the_policy(server: Server) -> None:
    """A shelf that was damaged from outside: said in words, with the policy, and nothing of the inside on the page."""
    style = _first_style(server)
    with contextlib.closing(sqlite3.connect(server.folder / "shelf.db", timeout=PATIENCE_S)) as database:
        database.execute("UPDATE item SET document = '[1'  WHERE id = ?", [style])
        database.commit()
        try:
            for place in (f"/items/{style}", f"/api/items/{style}"):
                answer = httpx.get(server.url + place, timeout=PATIENCE_S)
                assert answer.status_code == 500
                assert "frame-ancestors 'none'" in answer.headers.get("content-security-policy", ""), place
                assert "Error:" not in answer.text
                assert "JSON" not in answer.text
                assert "[1" not in answer.text
            assert "Traceback" in server.said()
        finally:
            database.execute("DELETE FROM change WHERE item_id = ?", [style])
            database.execute("DELETE FROM item WHERE id = ?", [style])
            database.commit()


def test_a_stranger_cannot_speak_through_a_line_that_our_page_opened(server: Server) -> None:
    """The polling line of the page: its number known to a stranger does not help."""
    line = f"{server.url}{SOCKET}polling"
    opened = json.loads(httpx.get(line, headers={"origin": server.url}, timeout=PATIENCE_S).text[1:])["sid"]
    text = {"content-type": "text/plain;charset=UTF-8"}
    for stranger in ({"origin": "https://evil.example"}, {"origin": "null"}, {"host": "evil.example"}):
        assert (
            httpx.post(
                f"{line}&sid={opened}", content="40", headers={**text, **stranger}, timeout=PATIENCE_S
            ).status_code
            == 403
        )
    ours = httpx.post(f"{line}&sid={opened}", content="40", headers={**text, "origin": server.url}, timeout=PATIENCE_S)
    assert (ours.status_code, ours.text) == (200, "OK")


def test_a_request_with_two_hosts_is_refused(server: Server) -> None:
    ours, foreign = f"Host: 127.0.0.1:{server.port}\n", "Host: evil.example\n"
    for hosts in (ours + foreign, foreign + ours):
        status = raw_answer(server, f"GET / HTTP/1.1\n{hosts}Connection: close\n\n").split()[1]
        assert status in ("400", "403")


def test_a_socket_opens_for_our_own_page_and_for_nobody_else(server: Server) -> None:
    ours = f"127.0.0.1:{server.port}"
    assert handshake(server, host=ours, origin=f"http://{ours}").split()[1] == "101"
    for host, origin in [
        (ours, "https://evil.example"),
        (ours, "null"),
        (ours, f"http://localhost:{server.port}"),
        ("evil.example", "http://evil.example"),
        ("evil.example", None),
    ]:
        assert handshake(server, host=host, origin=origin).split()[1] == "403", (host, origin)


@pytest.mark.parametrize("place", ["/api/import", "/api/backup", "/api/items"])
def test_sixty_megabytes_sent_in_pieces_are_cut_off(server: Server, place: str) -> None:
    sent = 0

    def pieces() -> Iterator[bytes]:
        nonlocal sent
        for _ in range(60):
            sent += 1
            yield b"#" * 1_000_000

    kind = "application/json" if place == "/api/items" else "application/octet-stream"
    try:
        answer = httpx.post(server.url + place, content=pieces(), headers={"content-type": kind}, timeout=PATIENCE_S)
    except (httpx.WriteError, httpx.ReadError, httpx.RemoteProtocolError):
        assert sent < 60  # the server hung up on us while we were still sending
    else:
        assert answer.status_code == 413
    assert httpx.get(f"{server.url}/api/items?kind=style", timeout=PATIENCE_S).json() == []


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read where the system shows it")
@pytest.mark.parametrize("length", ["told", "lied about", "left out"])
def test_sixty_megabytes_are_refused_before_they_fill_the_memory(server: Server, length: str) -> None:
    before = most_memory(server)
    body = b"#" * (60 * MEGABYTE)
    head = "Host: 127.0.0.1\r\nContent-Type: application/octet-stream\r\nConnection: close\r\n"
    head += {"told": f"Content-Length: {len(body)}", "lied about": "Content-Length: 5"}.get(
        length, "Transfer-Encoding: chunked"
    )
    if length == "left out":
        body = b"".join(b"%x\r\n" % MEGABYTE + body[:MEGABYTE] + b"\r\n" for _ in range(60))
    with socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S) as line:
        with contextlib.suppress(OSError):  # it hangs up on us while we are still sending
            line.sendall(f"POST /api/backup HTTP/1.1\r\n{head}\r\n\r\n".encode() + body)
        with contextlib.suppress(OSError):
            status = line.makefile("rb").readline().split()[1:2]
            assert status in ([], [b"413"], [b"422"]), status
    assert httpx.get(f"{server.url}/api/items?kind=style", timeout=PATIENCE_S).json() == []
    assert most_memory(server) - before < 45 * MEGABYTE  # the limit itself, and what the line holds


def most_memory(server: Server) -> int:
    """The most memory that the server ever held, in bytes."""
    told = Path(f"/proc/{server.process.pid}/status").read_text("utf-8")
    return int(next(line.split()[1] for line in told.splitlines() if line.startswith("VmHWM"))) * 1024


def test_a_form_from_another_page_changes_nothing(server: Server) -> None:
    form = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12"}
    assert httpx.post(f"{server.url}/api/start", data=form, timeout=PATIENCE_S).status_code == 415
    foreign = {"sec-fetch-site": "cross-site"}
    assert httpx.post(f"{server.url}/api/start", json=form, headers=foreign, timeout=PATIENCE_S).status_code == 403
    assert httpx.get(f"{server.url}/api/items?kind=style", timeout=PATIENCE_S).json() == []


def test_a_second_start_on_the_same_port_says_so_and_leaves(server: Server, tmp_path: Path, run: Run) -> None:
    assert server.process.poll() is None, server.said()
    second = run(tmp_path, "open", "--no-browser", "--port", str(server.port))
    assert second.returncode == 2
    said = " ".join((second.stdout + second.stderr).decode("utf-8").split())
    assert f"already listens on {server.port}" in said
    assert "Traceback" not in said
    assert not (tmp_path / "shelf.db").exists()


@pytest.mark.parametrize("port", [-1, 0, 65_536])
def test_a_port_that_is_none_is_refused_in_words(tmp_path: Path, port: int, run: Run) -> None:
    refused = run(tmp_path, "open", "--no-browser", "--port", str(port))
    assert refused.returncode == 2
    said = refused.stderr.decode("utf-8")
    assert "is no port" in said
    assert "Traceback" not in said


def test_what_was_acknowledged_outlives_a_sudden_end(tmp_path: Path, start: Start) -> None:
    server = start(tmp_path)
    try:
        item = _first_style(server)
        acknowledged = _type_until_killed(server, item)
    finally:
        server.process.kill()
        server.process.wait()
    assert len(acknowledged) >= 25
    shelf = open_shelf(f"sqlite:///{tmp_path / 'shelf.db'}")
    edits = [each for each in reversed(shelf.history(item, limit=10_000)) if each.action is Action.EDITED]
    kept = shelf.load(item)
    shelf.close()
    pieces = [each.steps[-1].after for each in edits]
    said = [value["pieces"] if isinstance(value, dict) else value for value in pieces]
    assert said[: len(acknowledged)] == acknowledged
    assert len(said) <= len(acknowledged) + 1
    assert kept.document["order"]["pieces"] == said[-1]
    assert kept.version == 1 + len(said)

    again = start(tmp_path, port=server.port)
    try:
        answer = httpx.get(f"{again.url}/api/items/{item}", timeout=PATIENCE_S).json()
        assert answer["document"] == kept.document
        assert (answer["version"], httpx.get(f"{again.url}/", timeout=PATIENCE_S).status_code) == (kept.version, 200)
    finally:
        again.end()


def _first_style(server: Server) -> int:
    asked = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12"}
    return int(httpx.post(f"{server.url}/api/start", json=asked, timeout=PATIENCE_S).json()["id"])


def _type_until_killed(server: Server, item: int) -> list[int]:
    """Number after number of pieces is typed, until the program is killed in between; those that were acknowledged."""
    acknowledged: list[int] = []
    enough = threading.Event()

    def kill_it() -> None:
        enough.wait(PATIENCE_S)
        time.sleep(0.0137)  # somewhere in the middle of saving
        os.kill(server.process.pid, signal.SIGKILL)

    killer = threading.Thread(target=kill_it)
    killer.start()
    with httpx.Client(base_url=server.url, timeout=PATIENCE_S) as client:
        for pieces in range(1, 10_000):
            edit: dict[str, Any] = {"path": ["order", "pieces"], "typed": str(pieces)}
            body = json.dumps({"base_version": pieces, "edits": [edit]})
            try:
                answer = client.post(
                    f"/api/items/{item}/changes", content=body, headers={"content-type": "application/json"}
                )
            except httpx.TransportError:
                break
            assert answer.status_code == 200, answer.text
            acknowledged.append(pieces)
            if pieces == 25:
                enough.set()
    enough.set()
    killer.join()
    return acknowledged
