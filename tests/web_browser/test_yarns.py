"""The cloth at yarn level in a real browser: it draws, turns by keys, stretches, lies, and stands still without 3D."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

playwright = pytest.importorskip("playwright.sync_api", reason="the workroom's browser tests need playwright")
expect = playwright.expect

NEEDS_3D = True
NUMBER, PLAIN = re.compile(r"\d+"), re.compile("Cloth of plain", re.IGNORECASE)
NO_3D = """
const usual = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...more) {
  return kind.startsWith("webgl") ? null : usual.call(this, kind, ...more);
};
"""


@pytest.fixture(scope="module")
def workroom(tmp_path_factory, workroom_class) -> Iterator[object]:
    """The workroom with the page of yarn views."""
    room = workroom_class(tmp_path_factory.mktemp("yarns"), (str(Path(__file__).with_name("yarn_page.py")),))
    room.start()
    yield room
    room.kill()


@pytest.fixture
def view(opened):
    """The plain cloth, drawn; the rib beside it has drawn too. Nothing glides, so that every press is at once done."""
    window = opened("/yarns", reduced_motion="reduce")
    for stage in window.page.locator(".stage").all():
        expect(stage).to_have_attribute("data-drawn", NUMBER)
    return window


def stage(window, at: int = 0):
    return window.page.locator(".stage").nth(at)


def seen(window, at: int = 0) -> np.ndarray:
    """Brightness of what a view shows (h, w), once it has drawn what was asked for."""
    window.page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return np.asarray(Image.open(io.BytesIO(stage(window, at).screenshot())).convert("L")).astype(float)


def changed(a: np.ndarray, b: np.ndarray) -> float:
    """Part of the picture that differs clearly."""
    return float((np.abs(a - b) > 25).mean())


def yarn(picture: np.ndarray) -> np.ndarray:
    """Where yarn shows, the frame of the view left out."""
    return (picture < 235)[3:-3, 3:-3]


def test_the_cloth_is_drawn_and_named(view):
    for at in (0, 1):
        picture = seen(view, at)
        assert 0.15 < yarn(picture).mean() < 0.9
        assert len(np.unique(picture // 8)) > 12  # shaded, not filled
    expect(stage(view)).to_have_attribute("aria-label", PLAIN)
    assert view.breaks_rules() == []
    view.picture("yarns")


@pytest.mark.parametrize(("key", "name"), [("b", "back"), ("s", "section"), ("l", "lying")])
def test_a_key_shows_another_side_in_both_views(key, name, view):
    before = [seen(view, at) for at in (0, 1)]
    stage(view).focus()
    view.page.keyboard.press(key)
    for at in (0, 1):
        expect(stage(view, at)).to_have_attribute("data-view", name)
        assert changed(before[at], seen(view, at)) > 0.05
    expect(view.page.locator(f"[data-view={name}][aria-pressed=true]")).to_have_count(2)
    view.picture(f"yarns-{name}")
    view.page.keyboard.press("f")
    assert changed(before[0], seen(view)) < 0.005


def test_the_face_of_plain_shows_legs_and_its_back_shows_arcs(view):
    """Legs run along the wales, so that the face keeps its grey better along them than the back does."""

    def along_over_across(picture: np.ndarray) -> float:
        inner = picture[100:-100, 120:-120]
        return float(np.abs(np.diff(inner, axis=0)).mean() / np.abs(np.diff(inner, axis=1)).mean())

    face = along_over_across(seen(view))
    view.page.locator("button[data-view=back]").first.click()
    assert face < 0.8 * along_over_across(seen(view))


def test_arrows_turn_both_views_alike(view):
    before = [seen(view, at) for at in (0, 1)]
    stage(view, 1).focus()
    for _ in range(5):
        view.page.keyboard.press("ArrowLeft")
    after = [seen(view, at) for at in (0, 1)]
    assert min(changed(a, b) for a, b in zip(before, after, strict=True)) > 0.05
    for _ in range(5):
        view.page.keyboard.press("ArrowRight")
    assert changed(before[0], seen(view)) < 0.01


def test_the_slider_stretches_its_own_cloth_across(view):
    slack, other = seen(view), seen(view, 1)
    slider = view.page.locator("input[name=strain_width]").first
    slider.focus()
    for _ in range(25):
        slider.press("ArrowRight")
    expect(slider.locator("xpath=following-sibling::output")).to_have_text(NUMBER)
    strain = float(slider.input_value()) / 100
    assert strain > 0.1
    width = [np.ptp(np.flatnonzero(yarn(picture).any(axis=0))) for picture in (slack, seen(view))]
    assert width[1] / width[0] == pytest.approx(1 + strain, abs=0.03)
    assert changed(other, seen(view, 1)) == 0


def test_stretching_along_lets_go_across(view):
    across, along = (view.page.locator(f"input[name={name}]").first for name in ("strain_width", "strain_length"))
    across.fill("25")
    along.fill("25")
    assert across.input_value() == "0"


def test_nothing_is_drawn_while_nothing_changes(view):
    drawn = stage(view).get_attribute("data-drawn")
    view.page.wait_for_timeout(400)
    assert stage(view).get_attribute("data-drawn") == drawn


def test_dragging_turns_the_cloth(view):
    before = seen(view)
    box = stage(view).bounding_box()
    view.page.mouse.move(box["x"] + 100, box["y"] + 100)
    view.page.mouse.down()
    view.page.mouse.move(box["x"] + 180, box["y"] + 130, steps=4)
    view.page.mouse.up()
    assert changed(before, seen(view)) > 0.05


def test_without_3d_the_still_picture_shows(browser, workroom):
    context = browser.new_context()
    context.add_init_script(NO_3D)
    page = context.new_page()
    page.goto(workroom.url + "/yarns")
    picture = page.locator(".stage.still img").first
    expect(picture).to_have_attribute("alt", PLAIN)
    expect(page.locator(".yarn-view .says").first).to_contain_text("stands still")
    page.wait_for_function("() => document.querySelector('.stage.still img').naturalWidth > 100")
    context.close()


def test_when_the_yarns_do_not_arrive_the_still_picture_shows(browser, workroom):
    context = browser.new_context()
    page = context.new_page()
    page.route("**/plain.bin", lambda route: route.abort())
    page.goto(workroom.url + "/yarns")
    expect(page.locator(".yarn-view .says")).to_contain_text("did not arrive")
    expect(page.locator(".stage.still img")).to_have_attribute("alt", PLAIN)
    expect(page.locator(".stage[role=img]")).to_have_attribute("data-drawn", NUMBER)  # the other one is drawn
    context.close()


def test_a_piece_glides_to_where_it_lies_unless_motion_is_unwanted(browser, workroom):
    """How often the view draws between flat and lying: at once without motion, in steps with it."""
    drawn = {}
    for motion in ("reduce", "no-preference"):
        context = browser.new_context(reduced_motion=motion)
        page = context.new_page()
        page.goto(workroom.url + "/yarns")
        stage = page.locator(".stage").first
        expect(stage).to_have_attribute("data-drawn", NUMBER)
        page.evaluate(
            """() => {
              window.seen = new Set();
              const stage = document.querySelector(".stage");
              new MutationObserver(() => window.seen.add(stage.dataset.laid)).observe(stage, { attributes: true });
            }"""
        )
        page.locator("button[data-view=lying]").first.click()
        expect(stage).to_have_attribute("data-laid", "1")
        drawn[motion] = page.evaluate("() => [...window.seen].filter(laid => 0 < laid && laid < 1).length")
        context.close()
    assert drawn["reduce"] == 0
    assert drawn["no-preference"] >= 1
