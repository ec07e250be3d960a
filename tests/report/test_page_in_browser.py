"""The page in a real browser: quiet, self-contained, readable at any width, usable by keyboard alone.

Chromium comes from LOOPWRIGHT_CHROMIUM or the search path; without one these tests are skipped and say so.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loopwright.cli import app

playwright = pytest.importorskip("playwright.sync_api", reason="the page tests need playwright")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="the page tests need axe")

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attendant-pullover.toml"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
FOUND = next((path for name in NAMES if (path := shutil.which(name))), "none")
CHROMIUM = os.environ.get("LOOPWRIGHT_CHROMIUM") or FOUND  # "none" when the page tests cannot run here

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM == "none", reason="no Chromium: name one in LOOPWRIGHT_CHROMIUM or install chromium"),
]

WIDTHS = {  # (CSS pixels, device pixels in one CSS pixel)
    "a desk": (1440, 1),
    "a laptop at 200 % zoom": (640, 2),
    "a tablet": (834, 2),
    "a telephone": (390, 3),
    "the narrowest, 1280 at 400 %": (320, 1),
}


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Address of the example's sheet on disk."""
    folder = tmp_path_factory.mktemp("study")
    assert CliRunner().invoke(app, ["study", str(EXAMPLE), "--out", str(folder)]).exit_code == 0
    return (folder / "sheet.html").as_uri()


@pytest.fixture(scope="module")
def browser() -> Iterator["playwright.Browser"]:
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield running
        running.close()


class Watch:
    """What a page says and asks for while it is open."""

    def __init__(self, page: "playwright.Page") -> None:
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    @property
    def outside(self) -> list[str]:
        """Requests beyond the file itself and what is inside it."""
        return [url for url in self.requests if not url.startswith(("file:", "data:", "blob:"))]


@pytest.fixture
def open_at(browser: "playwright.Browser", sheet: str):
    """Opens the sheet at a width in CSS pixels; gives the page and its watch."""
    opened = []

    def at(width: int, scale: float = 1) -> tuple["playwright.Page", Watch]:
        context = browser.new_context(viewport={"width": width, "height": 900}, device_scale_factor=scale, offline=True)
        opened.append(context)
        page = context.new_page()
        page.set_default_timeout(300_000)
        watch = Watch(page)
        page.goto(sheet)
        return page, watch

    yield at
    for context in opened:
        context.close()


def serious(page: "playwright.Page") -> list[str]:
    """Violations of WCAG that hinder a reader, with the first element of each."""
    found = axe.Axe().run(page).response["violations"]
    return [
        f"{each['impact']} {each['id']}: {each['nodes'][0]['html'][:160]}"
        for each in found
        if each["impact"] in ("serious", "critical")
    ]


def test_the_page_opens_without_a_complaint_and_without_asking_anybody(open_at):
    page, watch = open_at(1440)
    assert page.title() == "Attendant's crew-neck pullover"
    page.locator("button.fig").first.click()
    page.keyboard.press("Escape")
    page.locator("summary").first.click()
    assert watch.complaints == []
    assert watch.outside == []
    assert len([url for url in watch.requests if url.startswith("file:")]) == 1


@pytest.mark.parametrize("where", WIDTHS)
def test_the_page_never_scrolls_sideways(where, open_at):
    width, scale = WIDTHS[where]
    page, _ = open_at(width, scale)
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("window.innerWidth")
    page.locator("button.fig").first.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("window.innerWidth")


@pytest.mark.parametrize("where", ["a desk", "a telephone"])
def test_the_page_passes_the_rules_of_accessibility(where, open_at):
    page, _ = open_at(*WIDTHS[where])
    assert serious(page) == []


@pytest.mark.parametrize("where", ["a desk", "a telephone"])
def test_the_page_passes_them_with_a_reason_and_all_knit_downs_open(where, open_at):
    page, _ = open_at(*WIDTHS[where])
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    page.locator("button.fig").first.click()
    assert serious(page) == []


@pytest.mark.parametrize("where", ["a desk", "a telephone"])
def test_a_figure_opens_its_reason_by_click(where, open_at):
    page, _ = open_at(*WIDTHS[where])
    figure = page.locator("button.fig").first
    figure.click()
    reason = page.locator("#margin article")
    assert reason.is_visible()
    assert reason.locator("h3").inner_text().startswith("Why ")
    assert figure.get_attribute("aria-expanded") == "true"
    page.locator("#margin .leave").click()
    assert reason.count() == 0
    assert figure.get_attribute("aria-expanded") == "false"
    assert figure.evaluate("each => each === document.activeElement")


def test_a_figure_opens_its_reason_by_keyboard_and_gets_the_focus_back(open_at):
    page, _ = open_at(1440)
    figure = page.locator("button.fig").nth(2)
    figure.focus()
    page.keyboard.press("Enter")
    assert page.locator("#margin article").is_visible()
    assert not figure.evaluate("each => each === document.activeElement")
    page.keyboard.press("Escape")
    assert page.locator("#margin article").count() == 0
    assert figure.evaluate("each => each === document.activeElement")


def test_one_reason_stands_open_at_a_time(open_at):
    page, _ = open_at(1440)
    first, second = page.locator("button.fig").nth(0), page.locator("button.fig").nth(1)
    first.click()
    second.click()
    assert page.locator("#margin article").count() == 1
    assert first.get_attribute("aria-expanded") == "false"
    second.click()
    assert page.locator("#margin article").count() == 0


def test_the_first_stop_of_the_keyboard_leads_to_the_study(open_at):
    page, _ = open_at(1440)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#study"
    page.keyboard.press("Enter")
    assert page.url.endswith("#study")


def test_every_figure_can_be_reached_and_says_what_it_is(open_at):
    page, _ = open_at(1440)
    labels = page.locator("button.fig").evaluate_all("all => all.map(each => each.getAttribute('aria-label'))")
    assert len(labels) > 100
    assert all(label.endswith("Why?") for label in labels)


def test_targets_are_large_enough_for_a_finger(open_at):
    """WCAG 2.2, 2.5.8: 24 CSS pixels, on a telephone."""
    page, _ = open_at(*WIDTHS["a telephone"])
    heights = page.locator("button.fig:visible").evaluate_all("all => all.map(e => e.getBoundingClientRect().height)")
    assert min(heights) >= 24


def test_on_paper_the_reasons_stand_at_the_end(open_at):
    page, _ = open_at(1440)
    assert not page.locator("#reasons").is_visible()
    page.emulate_media(media="print")
    assert page.locator("#reasons").is_visible()
    assert not page.locator("#margin").is_visible()


def test_every_picture_has_a_name_and_is_drawn(open_at):
    page, _ = open_at(1440)
    pictures = page.locator("figure.picture > svg")
    assert pictures.count() >= 5
    for picture in pictures.all():
        assert picture.bounding_box()["height"] > 20
        assert picture.get_attribute("role") == "img"
        assert picture.locator("title").first.text_content()


def test_without_script_the_study_can_be_read(browser, sheet):
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1024, "height": 800})
    page = context.new_page()
    page.goto(sheet)
    assert page.locator(".lede").is_visible()
    assert page.locator("table").count() > 5
    context.close()
