"""A real server, a real browser, and a window that remembers what the page said and whom it asked.

The server is a process of its own with a shelf in a folder of the test; the browser is Chromium, named by
LOOPWRIGHT_CHROMIUM or found on the search path. Every window that a test opens must end without a complaint of the page
and without a request to another host. Pictures go to the folder LOOPWRIGHT_ARTEFACTS.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="the workroom's browser tests need playwright")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="the workroom's browser tests need axe")

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
FOUND = next((path for name in NAMES if (path := shutil.which(name))), "none")
CHROMIUM = os.environ.get("LOOPWRIGHT_CHROMIUM") or FOUND
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-background-networking", "--no-first-run"]
WITH_3D = ["--enable-unsafe-swiftshader", "--use-angle=swiftshader", "--no-sandbox", "--disable-dev-shm-usage"]
PATIENCE_S = 600  # a server that starts on a busy machine; a test waits no longer than it must
PAGE_MS = 300_000  # the browser and the server share the machine with others
REFUSALS = ("status of 409", "status of 422")  # asked for by a test: the browser notes them on its console
AWAY = ("ERR_CONNECTION", "WebSocket connection", "ERR_EMPTY_RESPONSE", "ERR_SOCKET", "ERR_INCOMPLETE_CHUNKED")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All tests of this folder need Chromium."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if CHROMIUM == "none":
                item.add_marker(pytest.mark.skip(reason="no Chromium: name one in LOOPWRIGHT_CHROMIUM or install it"))


class Workroom:
    """A server process with a shelf in a folder; it can be killed and started again on the same port."""

    def __init__(self, folder: Path, program: tuple[str, ...] = ("-m", "loopwright", "open", "--no-browser")) -> None:
        self.folder, self.port, self.program = folder, free_port(), program
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        clean = {key: value for key, value in os.environ.items() if not key.startswith(("PYTEST_", "NICEGUI_"))}
        clean |= {"LOOPWRIGHT_FOLDER": str(self.folder)}
        clean.pop("LOOPWRIGHT_DATABASE_URL", None)
        said = (self.folder / "said.txt").open("ab")
        self.process = subprocess.Popen(
            [sys.executable, *self.program, "--port", str(self.port)],
            env=clean,
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            start_new_session=True,
        )
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if self.answers():
                return
            assert self.process.poll() is None, (self.folder / "said.txt").read_text("utf-8")
            time.sleep(0.1)
        raise AssertionError("the server does not answer")

    def answers(self) -> bool:
        try:
            httpx.get(self.url + "/help", timeout=60)
        except httpx.TransportError:
            return False
        return True

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def get(self, path: str):
        answer = httpx.get(self.url + path, timeout=PATIENCE_S)
        answer.raise_for_status()
        return answer.json()

    def post(self, path: str, body: object | None = None):
        answer = httpx.post(self.url + path, json=body if body is not None else {}, timeout=PATIENCE_S)
        answer.raise_for_status()
        return answer.json()

    def version(self, item: int) -> int:
        return self.get(f"/api/items/{item}")["version"]

    def held(self, item: int, path: str):
        """What the shelf has at a dotted path; None when left out."""
        found = self.get(f"/api/items/{item}")["document"]
        for key in path.split("."):
            found = found.get(key) if isinstance(found, dict) else None
        return found

    def first(self, kind: str) -> int:
        """The oldest item of a kind on the shelf."""
        return min(line["id"] for line in self.get(f"/api/items?kind={kind}"))

    def edit(self, item: int, path: str, typed: str) -> None:
        """An edit by another program."""
        edits = [{"path": path.split("."), "typed": typed}]
        self.post(f"/api/items/{item}/changes", {"base_version": self.version(item), "edits": edits})


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workroom]:
    """The workroom with the invented example on its shelf."""
    room = Workroom(tmp_path_factory.mktemp("shelf"))
    room.start()
    room.post("/api/demo")
    yield room
    room.kill()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Workroom]:
    """A workroom of the test's own with nothing on its shelf."""
    room = Workroom(tmp_path)
    room.start()
    yield room
    room.kill()


@pytest.fixture
def style(workroom: Workroom) -> Iterator[int]:
    """A copy of the attendant's pullover for this test alone."""
    made = workroom.post(f"/api/items/{workroom.first('style')}/duplicate")["id"]
    yield made
    workroom.post(f"/api/items/{made}/archive")


@pytest.fixture(scope="session")
def artefacts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures are kept."""
    named = os.environ.get("LOOPWRIGHT_ARTEFACTS")
    folder = Path(named) if named else tmp_path_factory.mktemp("artefacts")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def workroom_class() -> type[Workroom]:
    """For rooms that serve more than the usual pages."""
    return Workroom


@pytest.fixture(scope="module")  # not longer: its loop must be gone before the asynchronous tests of other folders
def browser(request) -> Iterator["playwright.Browser"]:
    """A running browser; a module that says NEEDS_3D gets one that draws in three dimensions."""
    arguments = WITH_3D if getattr(request.module, "NEEDS_3D", False) else ARGUMENTS
    playwright.expect.set_options(timeout=PAGE_MS)
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=CHROMIUM, args=arguments)
        yield running
        running.close()


class Window:
    """One window of a person: the page, what it complained of, whom it asked."""

    def __init__(self, page: "playwright.Page", room: Workroom, artefacts: Path) -> None:
        self.page, self.room, self.artefacts = page, room, artefacts
        self.complaints: list[str] = []
        self.hosts: set[str] = set()
        self.item = 0
        self.may_lose_server = False
        page.set_default_timeout(PAGE_MS)
        page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda asked: self.hosts.add(urlsplit(asked.url).netloc))
        page.on("websocket", lambda socket: self.hosts.add(urlsplit(socket.url).netloc))

    def open(self, path: str) -> "Window":
        self.page.goto(self.room.url + path)
        self.ready()
        if path.startswith("/items/"):
            self.item = int(path.split("/")[2].partition("#")[0])
        return self

    def ready(self) -> None:
        """Until the page listens."""
        self.page.wait_for_selector("html[data-ready]", state="attached")

    def part(self, name: str) -> "playwright.Locator":
        return self.page.locator(f'[data-part="{name}"]')

    def field(self, path: str) -> "playwright.Locator":
        ways = [json.dumps(path.split("."), separators=(apart, ": ")) for apart in (", ", ",")]
        parts = [f"[data-part={part}] [data-path='{way}']" for part in ("brief", "title") for way in ways]
        return self.page.locator(", ".join(parts))

    def cell(self, point: str, size: str) -> "playwright.Locator":
        """A cell of the size table by the words of its point and the name of its size."""
        return self.page.locator(f'table.sizes td[title^="{point}, {size}:"]')

    def changing(self, act: Callable[[], object], steps: int = 1) -> None:
        """Do something that saves, and wait until this window shows the study of it."""
        wanted = self.room.version(self.item) + steps
        act()
        self.shows(wanted)

    def shows(self, version: int) -> None:
        self.page.wait_for_function(
            "wanted => Number(document.documentElement.dataset.shown) >= wanted", arg=version, timeout=PAGE_MS
        )

    def type(self, path: str, text: str) -> None:
        """Type over a field of the brief, press Enter, and wait for the study."""
        field = self.field(path)

        def typed() -> None:
            if field.evaluate("each => each.nodeName") == "SELECT":
                field.select_option(text)
            else:
                field.fill(text)
                field.press("Enter")

        self.changing(typed)

    def strip(self) -> "playwright.Locator":
        """The message at the foot."""
        return self.page.locator(".strip p")

    def figure(self, part: str, at: int = 0) -> float:
        """The value of a figure on a part of the page."""
        text = self.part(part).locator("button.fig b").nth(at).inner_text()
        return float(text.replace("\u00a0", "").replace("−", "-"))

    def picture(self, name: str, *, whole: bool = False) -> Path:
        path = self.artefacts / f"{name}.png"
        self.page.screenshot(path=path, full_page=whole)
        return path

    def breaks_rules(self) -> list[str]:
        """Rules of accessibility that the page breaks, each with its first element."""
        found = axe.Axe().run(self.page).response["violations"]
        return [f"{each['impact']} {each['id']}: {each['nodes'][0]['html'][:200]}" for each in found]

    def scrolls_sideways(self) -> bool:
        return self.page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")

    def check(self) -> None:
        """Nothing was complained of and nobody else was asked."""
        quiet = REFUSALS + AWAY if self.may_lose_server else REFUSALS
        assert [said for said in self.complaints if not any(each in said for each in quiet)] == []
        assert self.hosts <= {f"127.0.0.1:{self.room.port}", ""}


@pytest.fixture(scope="module")
def usual(browser):
    """One person's browser for all windows that ask for nothing special: what it has loaded it keeps."""
    context = browser.new_context()
    yield context
    context.close()


@pytest.fixture
def opened(browser, usual, workroom: Workroom, artefacts: Path) -> Iterator[Callable[..., Window]]:
    """Opens windows: `opened(path, width=, height=, room=, context=, **options of the browser)`."""
    windows: list[Window] = []
    contexts = []

    def at(path: str, *, width: int = 1440, height: int = 900, room: Workroom | None = None, context=None, **options):
        if options:
            context = browser.new_context(**options)
            contexts.append(context)
        window = Window((context or usual).new_page(), room or workroom, artefacts)
        window.page.set_viewport_size({"width": width, "height": height})
        windows.append(window)
        return window.open(path)

    yield at
    for window in windows:
        window.page.close()
    for each in contexts:
        each.close()
    for window in windows:
        window.check()
