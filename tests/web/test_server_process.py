"""A real server in a process of its own: strangers are kept out, and what was acknowledged outlives its sudden end."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest

from loopwright.store.shelf import open_shelf
from loopwright.store.values import Action

STARTS_WITHIN_S = 60
ENDS_WITHIN_S = 20
SOCKET = "/_nicegui_ws/socket.io/?EIO=4&transport="


def environment(folder: Path) -> dict[str, str]:
    """The environment of a person's own terminal, with nothing of this test run in it."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("PYTEST", "NICEGUI", "LOOPWRIGHT"))}
    return {**kept, "LOOPWRIGHT_FOLDER": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}


def command(port: int) -> list[str]:
    return [sys.executable, "-m", "loopwright", "open", "--no-browser", "--port", str(port)]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Server:
    """A started workroom."""

    process: subprocess.Popen[bytes]
    port: int
    folder: Path

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
        try:
            self.process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def start(folder: Path, port: int) -> Server:
    said = folder / "said.txt"
    with said.open("ab") as out:
        process = subprocess.Popen(
            command(port), stdin=subprocess.DEVNULL, stdout=out, stderr=out, env=environment(folder), cwd=folder
        )
    server = Server(process, port, folder)
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        assert process.poll() is None, said.read_text("utf-8")
        try:
            httpx.get(f"{server.url}/api/items?kind=style", timeout=5).raise_for_status()
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return server
    server.end()
    pytest.fail(f"the workroom did not open: {said.read_text('utf-8')}")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    started = start(tmp_path_factory.mktemp("workroom"), free_port())
    yield started
    started.end()


def raw_answer(server: Server, request: str) -> str:
    """The first line that comes back for a request written out by hand."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as line:
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
    answer = httpx.get(server.url + place, headers={"origin": server.url})
    assert answer.status_code == 200
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("foreign", [{"host": "evil.example"}, {"origin": "https://evil.example"}, {"origin": "null"}])
def test_a_stranger_is_refused_at_every_place(server: Server, place: str, foreign: dict[str, str]) -> None:
    answer = httpx.get(server.url + place, headers=foreign)
    assert answer.status_code == 403
    assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]


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
        answer = httpx.post(server.url + place, content=pieces(), headers={"content-type": kind}, timeout=60)
    except (httpx.WriteError, httpx.ReadError, httpx.RemoteProtocolError):
        assert sent < 60  # the server hung up on us while we were still sending
    else:
        assert answer.status_code == 413
    assert httpx.get(f"{server.url}/api/items?kind=style").json() == []


def test_a_form_from_another_page_changes_nothing(server: Server) -> None:
    form = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12"}
    assert httpx.post(f"{server.url}/api/start", data=form).status_code == 415
    foreign = {"sec-fetch-site": "cross-site"}
    assert httpx.post(f"{server.url}/api/start", json=form, headers=foreign).status_code == 403
    assert httpx.get(f"{server.url}/api/items?kind=style").json() == []


def test_a_second_start_on_the_same_port_says_so_and_leaves(server: Server, tmp_path: Path) -> None:
    assert server.process.poll() is None, (server.folder / "said.txt").read_text("utf-8")
    second = subprocess.run(
        command(server.port), stdin=subprocess.DEVNULL, capture_output=True, env=environment(tmp_path), timeout=60
    )
    assert second.returncode == 2
    said = " ".join((second.stdout + second.stderr).decode("utf-8").split())
    assert f"already listens on {server.port}" in said
    assert "Traceback" not in said
    assert not (tmp_path / "shelf.db").exists()


@pytest.mark.parametrize("port", [-1, 0, 65_536])
def test_a_port_that_is_none_is_refused_in_words(tmp_path: Path, port: int) -> None:
    refused = subprocess.run(
        command(port), stdin=subprocess.DEVNULL, capture_output=True, env=environment(tmp_path), timeout=60
    )
    assert refused.returncode == 2
    said = refused.stderr.decode("utf-8")
    assert "is no port" in said
    assert "Traceback" not in said


def test_what_was_acknowledged_outlives_a_sudden_end(tmp_path: Path) -> None:
    port = free_port()
    server = start(tmp_path, port)
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

    again = start(tmp_path, port)
    try:
        answer = httpx.get(f"{again.url}/api/items/{item}").json()
        assert answer["document"] == kept.document
        assert (answer["version"], httpx.get(f"{again.url}/").status_code) == (kept.version, 200)
    finally:
        again.end()


def _first_style(server: Server) -> int:
    asked = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12"}
    return int(httpx.post(f"{server.url}/api/start", json=asked, timeout=30).json()["id"])


def _type_until_killed(server: Server, item: int) -> list[int]:
    """Number after number of pieces is typed, until the program is killed in between; those that were acknowledged."""
    acknowledged: list[int] = []
    enough = threading.Event()

    def kill_it() -> None:
        enough.wait(STARTS_WITHIN_S)
        time.sleep(0.0137)  # somewhere in the middle of saving
        os.kill(server.process.pid, signal.SIGKILL)

    killer = threading.Thread(target=kill_it)
    killer.start()
    with httpx.Client(base_url=server.url, timeout=30) as client:
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
