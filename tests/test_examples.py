"""The examples are studied as a reader would: sheet in the terminal, JSON with its documented keys, a page."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.figure import Basis

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
README = (ROOT / "README.md").read_text("utf-8")

KEYS = {
    "format", "program_version", "style", "findings", "assumptions", "yarns", "fabrics", "sizes", "order_shares",
    "mean_piece", "machine_hours", "machines", "linkers", "price", "inspection", "cautions",
}  # fmt: skip
FIGURE_KEYS = {"name", "value", "unit", "low", "high", "basis", "state"}
# A number outside a figure has its unit in its own key or in one that it stands under; these are counts, shares, and
# money with its currency beside it.
UNITS = ("_cm", "_mm", "_g", "_min", "_s", "_percent", "_per_inch", "metres", "seconds")
NO_UNIT = {
    "order_shares", "shares", "share", "share_of_variance", "balance", "chance", "passes_per_visible_course",
    "visible_courses", "variable", "fixed", "sd",
}  # fmt: skip


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What the command printed, and the folder it wrote."""
    folder = tmp_path_factory.mktemp("study")
    result = CliRunner().invoke(app, ["study", str(request.param), "--out", str(folder)])
    assert result.exit_code == 0, result.output
    return result.stdout, folder


@pytest.fixture(scope="module")
def document(written: tuple[str, Path]) -> dict[str, Any]:
    return json.loads((written[1] / "study.json").read_bytes())


@pytest.fixture(scope="module")
def page(written: tuple[str, Path]) -> str:
    return (written[1] / "sheet.html").read_text("utf-8")


def test_there_is_an_example():
    assert EXAMPLES


def test_the_sheet_is_printed_with_its_sections(written):
    for heading in ("What needs you", "Fabric", "Sizes", "Panels", "Minutes", "Make-up", "Price", "Yarn"):
        assert re.search(rf"^{heading}\b", written[0], re.MULTILINE), heading
    assert "nine cases in ten" in written[0]
    assert max(len(line) for line in written[0].splitlines() if not line.startswith("Written")) <= 112


def test_the_document_has_the_documented_keys(document):
    assert set(document) >= KEYS
    assert document["format"] == "loopwright study 2"
    assert document["style"]["style"]["invented"] is True


def figures(part: Any, name: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every figure of a document with the key it stands under."""
    if isinstance(part, dict):
        if set(part) >= FIGURE_KEYS:
            yield name, part
        for key, value in part.items():
            yield from figures(value, key)
    elif isinstance(part, list):
        for value in part:
            yield from figures(value, name)


def test_every_figure_has_value_band_basis_and_reason(document):
    found = list(figures(document))
    assert len(found) > 100
    for name, figure in found:
        assert figure["low"] <= figure["value"] <= figure["high"], name
        assert figure["basis"] in tuple(Basis), name
        assert figure["name"], name
    with_reason = [figure for _, figure in found if "why" in figure]
    assert with_reason
    for figure in with_reason:
        assert set(figure["why"]) == {"words", "formula", "source", "inputs"}
        assert figure["why"]["words"]


def bare_numbers(part: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Keys that lead to every fractional number outside a figure."""
    if isinstance(part, dict):
        if not set(part) >= FIGURE_KEYS:
            for key, value in part.items():
                yield from bare_numbers(value, (*path, key))
    elif isinstance(part, list):
        for value in part:
            yield from bare_numbers(value, path)
    elif isinstance(part, float):
        yield path


def test_every_fractional_number_outside_a_figure_is_named_with_its_unit(document):
    paths = set(bare_numbers({key: value for key, value in document.items() if key != "style"}))
    assert paths
    bare = {path for path in paths if not any(f"_{key}".endswith(UNITS) or key in NO_UNIT for key in path)}
    assert not bare


def test_measures_and_panels_carry_their_units(document):
    for size in document["sizes"].values():
        assert {"measures_cm", "real_cm", "knitting_min", "yarn_g", "panels", "closes"} <= set(size)
        assert all({"one_cm", "other_cm", "ease_cm"} <= set(closure) for closure in size["closes"])
        for panel in size["panels"].values():
            assert panel["loops"] == sum(zone["loops"] for zone in panel["yarn"])
            assert sum(panel["strokes"]["seconds"]) == pytest.approx(panel["strokes"]["total_s"])
            assert sum(panel["strokes"]["by_kind_s"].values()) == pytest.approx(panel["strokes"]["total_s"])


def test_the_json_on_the_terminal_is_the_file(written, document):
    for example in EXAMPLES:
        result = CliRunner().invoke(app, ["study", str(example), "--json"])
        if json.loads(result.stdout)["style"] == document["style"]:
            assert json.loads(result.stdout) == document
            return
    pytest.fail("no example gives this document")


class Outside(HTMLParser):
    """Collects what a page would fetch, and every element that is opened and not closed."""

    EMPTY = frozenset({"meta", "link", "br", "img", "hr", "input", "path", "line", "rect", "circle", "use", "stop"})

    def __init__(self) -> None:
        super().__init__()
        self.fetched: list[str] = []
        self.ids: list[str] = []
        self.anchors: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Remember addresses and ids."""
        named = {key: value or "" for key, value in attrs}
        if "id" in named:
            self.ids.append(named["id"])
        for key in ("src", "href", "xlink:href", "action", "data", "poster", "srcset"):
            if key in named:
                (self.anchors if named[key].startswith("#") else self.fetched).append(named[key])
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close an element."""
        if tag in self.open:
            while self.open.pop() != tag:
                pass


def read(page: str) -> Outside:
    reader = Outside()
    reader.feed(page)
    return reader


def test_the_page_asks_nobody_for_anything(page):
    assert not read(page).fetched
    without_fonts = re.sub(r"url\(data:[^)]*\)", "", page)
    assert "url(" not in re.sub(r"url\(#[^)]*\)", "", without_fonts)
    assert "@import" not in without_fonts
    addresses = set(re.findall(r"https?://[^\s\"'<>)]+", without_fonts))
    assert addresses <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    for word in ("fetch(", "XMLHttpRequest", "WebSocket", "sendBeacon", "import("):
        assert word not in page


def test_the_page_is_whole(page):
    reader = read(page)
    assert not reader.open
    assert len(set(reader.ids)) == len(reader.ids)
    assert {anchor[1:] for anchor in reader.anchors} <= set(reader.ids)


def test_every_figure_on_the_page_has_its_reason(page):
    asked = set(re.findall(r'data-why="(\d+)"', page))
    assert asked
    assert asked == set(re.findall(r'id="why-(\d+)"', page))


def test_the_page_says_that_the_example_is_invented(page):
    assert "invented example" in page


def test_the_readme_starts_from_an_example():
    assert any(f"examples/{example.name}" in README for example in EXAMPLES)
