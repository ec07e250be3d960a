"""A house on a fresh shelf with its JSON door, nothing served; and real servers in processes of their own."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest

from loopwright.store.shelf import open_shelf
from loopwright.web.api import api_of
from loopwright.web.desk import Desk
from loopwright.web.house import House

STARTS_WITHIN_S = 900
ENDS_WITHIN_S = 300


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    shelf = open_shelf(f"sqlite:///{tmp_path}/shelf.db")
    yield House(shelf, Desk(shelf), owner="Ada at the table")
    shelf.close()


@pytest.fixture
async def door(house: House) -> AsyncIterator[httpx.AsyncClient]:
    transport = httpx.ASGITransport(api_of(house))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        yield client


@dataclass
class Server:
    """A started workroom."""

    process: subprocess.Popen[bytes]
    port: int
    folder: Path

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def said(self) -> str:
        """All that it printed."""
        return (self.folder / "said.txt").read_text("utf-8")

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
        try:
            self.process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def environment(folder: Path, **more: str) -> dict[str, str]:
    """The environment of a person's own terminal, with nothing of this test run in it."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("PYTEST", "NICEGUI", "LOOPWRIGHT"))}
    return {**kept, "LOOPWRIGHT_FOLDER": str(folder), "PYTHONDONTWRITEBYTECODE": "1", **more}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def spare_port() -> int:
    """A port that nobody listens on."""
    return free_port()


def begin(folder: Path, *more: str, port: int = 0) -> Server:
    """A workroom that answers."""
    port = port or free_port()
    command = [sys.executable, "-m", "loopwright", "open", "--no-browser", "--port", str(port), *more]
    with (folder / "said.txt").open("ab") as out:
        process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=out, stderr=out, env=environment(folder), cwd=folder
        )
    server = Server(process, port, folder)
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        assert process.poll() is None, server.said()
        try:
            httpx.get(f"{server.url}/favicon.ico", timeout=60)
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return server
    server.end()
    pytest.fail(f"the workroom did not open: {server.said()}")


def tell(folder: Path, *words: str, **more: str) -> subprocess.CompletedProcess[bytes]:
    """Run a command to its end."""
    return subprocess.run(
        [sys.executable, "-m", "loopwright", *words],
        stdin=subprocess.DEVNULL, capture_output=True, env=environment(folder, **more), timeout=900, check=False,
    )  # fmt: skip


@pytest.fixture(scope="session")
def start() -> Callable[..., Server]:
    """Start a workroom on a folder, with more words of the command, and a port when it must be a certain one."""
    return begin


@pytest.fixture(scope="session")
def run() -> Callable[..., subprocess.CompletedProcess[bytes]]:
    """Run a command of the program on a folder; keywords go into its environment."""
    return tell
