"""The workroom in a real browser: time from an edit to all pictures, beside an edit that changes no picture.

Everything is measured in one run against one server process of our own, on a shelf of its own:

    python3 dev.py bench

Printed: median and worst time from the Enter key to the frame in which the last part is new, for edits of the order,
of a loop length and of a hand-set measure, each with a value never seen before, as a ratio to an edit
of the season's name in the same run; frames
blocked for longer than 100 ms; cold load of a page; memory of the server for an open page; opening and searching a
shelf of 2000 styles beside one of 20.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
EXAMPLE = ROOT / "examples" / "attendant-pullover.toml"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-background-networking", "--no-first-run"]
ROUNDS, PAGES = 12, 20

WATCH = """() => {
  window.blocked = [];
  new PerformanceObserver((list) => list.getEntries().forEach((each) => window.blocked.push(each.duration)))
    .observe({ entryTypes: ["longtask"] });
  window.edited = (path, text) => new Promise((done) => {
    const field = [...document.querySelectorAll("[data-path]")].find(
      (each) => JSON.stringify(JSON.parse(each.dataset.path)) === JSON.stringify(path));
    const root = document.documentElement;
    const before = root.dataset.shown ?? "";
    field.focus();
    const start = performance.now();
    new MutationObserver((_, watch) => {
      if ((root.dataset.shown ?? "") === before) return;
      watch.disconnect();
      requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - start)));
    }).observe(root, { attributes: true, attributeFilter: ["data-shown"] });
    if (field.matches("td")) {
      field.dispatchEvent(new KeyboardEvent("keydown", { key: "F2", bubbles: true }));
      const cell = field.querySelector("input");
      cell.value = text;
      cell.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
    } else {
      field.value = text;
      field.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
    }
  });
}"""

EDITS: dict[str, tuple[list[str], Callable[[int], str]]] = {  # name: (path, a new text each turn)
    "the season's name (nothing to draw)": (["style", "season"], lambda turn: f"winter {turn}"),
    "pieces of the order": (["order", "pieces"], lambda turn: str(400 + turn)),
    "loop length of the body": (["zones", "body", "loop_length_mm"], lambda turn: f"{6.1 + turn / 100:.2f}"),
    "a measure set by hand": (
        ["garment", "hand_set_cm", "3XL", "half_upper_arm"],
        lambda turn: f"{21 + turn / 10:.1f}",
    ),
}
BASE = next(iter(EDITS))


def main() -> int:
    chromium = os.environ.get("LOOPWRIGHT_CHROMIUM") or next((p for n in NAMES if (p := shutil.which(n))), "none")
    if chromium == "none":
        print("No Chromium: the workroom is not measured.")
        return 0
    from playwright.sync_api import sync_playwright

    with (
        tempfile.TemporaryDirectory() as folder,
        server(Path(folder)) as (address, process),
        sync_playwright() as driver,
    ):
        post(f"{address}/api/items", {"kind": "style", "document": tomllib.loads(EXAMPLE.read_text("utf-8"))})
        browser = driver.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        loads(browser, address)
        edits(browser, address)
        memory(browser, address, process)
        loop_answers(address)
        large_shelf(address)
        browser.close()
    return 0


def loads(browser: Any, address: str) -> None:
    """Cold loads: each in a browser context that has kept nothing."""
    times = []
    for _ in range(5):
        context = browser.new_context(viewport={"width": 1440, "height": 900})
        page = context.new_page()
        start = time.perf_counter()
        page.goto(f"{address}/items/1")
        page.wait_for_selector("html[data-ready]")
        times.append(time.perf_counter() - start)
        context.close()
    print(f"cold load of a style: median {statistics.median(times):.2f} s, worst {max(times):.2f} s (aim under 2 s)")


def edits(browser: Any, address: str) -> None:
    """Edits in turn, so that a drift of the machine meets all alike."""
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    page.goto(f"{address}/items/1")
    page.wait_for_selector("html[data-ready]")
    page.evaluate(WATCH)
    times: dict[str, list[float]] = {name: [] for name in EDITS}
    for turn in range(ROUNDS + 1):
        for name, (path, text) in EDITS.items():
            spent = page.evaluate("([path, text]) => window.edited(path, text)", [path, text(turn)])
            if turn:
                times[name].append(spent)
    base = statistics.median(times[BASE])
    for name, each in times.items():
        median = statistics.median(each)
        print(f"edit of {name}: median {median:.0f} ms, worst {max(each):.0f} ms, ratio {median / base:.2f}")
    others = [spent for name, each in times.items() if name != BASE for spent in each]
    median = statistics.median(others)
    print(f"all edits that draw: median {median:.0f} ms, ratio {median / base:.2f} (aim at most 2.5)")
    blocked = page.evaluate("window.blocked")
    long = [duration for duration in blocked if duration > 100]
    print(
        f"frames blocked over 100 ms: {len(long)} of {len(blocked)} long tasks, worst {max(blocked, default=0):.0f} ms"
    )
    page.close()


def memory(browser: Any, address: str, process: subprocess.Popen[bytes]) -> None:
    """What the server takes for each open page."""
    before = resident_mb(process.pid)
    pages = []
    for _ in range(PAGES):
        page = browser.new_page()
        page.goto(f"{address}/items/1")
        page.wait_for_selector("html[data-ready]")
        pages.append(page)
    grown = resident_mb(process.pid) - before
    print(f"server memory: {before:.0f} MB, and {grown / PAGES:.2f} MB for each of {PAGES} open pages (aim under 3 MB)")
    for page in pages:
        page.close()


def loop_answers(address: str) -> None:
    """The loop page's figures for a setting never asked before, beside a page of the help."""
    times = []
    for turn in range(12):
        place = f"{address}/api/loop/answer?structure=plain&loop_mm={5.5 + 0.05 * turn}&twist_per_m={turn}"
        times.append(timed(lambda place=place: get(place), rounds=1))
    median, plain = statistics.median(times[1:]), timed(lambda: get(f"{address}/help"))
    print(f"figures of the loop page: median {median:.0f} ms, ratio to a page of the help {median / plain:.1f}")


def large_shelf(address: str) -> None:
    """Opening and searching a list of 2000 styles beside one of 20."""
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    for count in (20, 2000):
        have = len(EVERY)
        for number in range(have, count):
            document["style"] = {
                "number": f"B-{number:04}",
                "name": f"Copy {number}",
                "season": f"season {number // 20}",
            }
            post(f"{address}/api/items", {"kind": "style", "document": document})
            EVERY.append(number)
        opened = timed(lambda: get(f"{address}/?season=season%200"))
        found = timed(lambda: get(f"{address}/?find=copy%2017"))
        print(f"shelf of {count} styles: opens in {opened:.0f} ms, finds in {found:.0f} ms")


EVERY: list[int] = []


def timed(act: Any, rounds: int = 5) -> float:
    """Median of some rounds, ms."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        act()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


@contextmanager
def server(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """A workroom of our own on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "loopwright", "open", "--no-browser", "--port", str(port)]
    environment = {**os.environ, "LOOPWRIGHT_FOLDER": str(folder)}
    quiet: dict[str, Any] = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen(command, env=environment, **quiet)
    try:
        address = f"http://127.0.0.1:{port}"
        wait_for(address)
        yield address, process
    finally:
        process.terminate()
        process.wait(10)


def wait_for(address: str) -> None:
    """Until the server answers."""
    for _ in range(200):
        try:
            get(address)
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise SystemExit("the workroom did not start")


def get(url: str) -> bytes:
    """A page."""
    with urllib.request.urlopen(url, timeout=30) as answer:
        return bytes(answer.read())


def post(url: str, body: Any) -> None:
    """Send JSON."""
    data = json.dumps(body).encode()
    request = urllib.request.Request(url, data, {"content-type": "application/json"}, method="POST")
    urllib.request.urlopen(request, timeout=30).close()


def resident_mb(pid: int) -> float:
    """Resident memory of a process, MB (Linux)."""
    status = Path(f"/proc/{pid}/status").read_text()
    kib = next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS"))
    return kib / 1024


if __name__ == "__main__":
    sys.exit(main())
