"""The loop page in a real browser: sliders, pictures, side by side, live solving, keys, narrow windows, two windows."""

import re

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="the workroom's browser tests need playwright")
expect = playwright.expect

NEEDS_3D = True
NUMBER = re.compile(r"\d+")
OWN = {
    "kind": "structure",
    "document": {"structures": {"own": {"name": "Broken rib", "courses": ["F:KK B:--", "F:K- B:-K"]}}},
}
SLOW = """() => {
const usual = window.fetch;
window.fetch = async (url, ...more) => {
  if (String(url).includes("/loop/answer")) await new Promise((done) => setTimeout(done, 600));
  return usual(url, ...more);
};
}"""
SOLVES_WITHIN_MS = 1_800_000


@pytest.fixture
def loop(opened):
    """Opens the loop page and waits for its first picture."""

    def at(query: str = "", **options):
        window = opened(f"/loop?{query}" if query else "/loop", reduced_motion="reduce", **options)
        expect(window.page.locator(".stage").first).to_have_attribute("data-drawn", NUMBER)
        return window

    return at


def slider(window, name: str):
    return window.page.locator(f'input[type=range][data-loop="{name}"]')


def typed(window, name: str):
    return window.page.locator(f'input[inputmode][data-loop="{name}"]')


def settled(window, part: str) -> None:
    """Until the address and the page tell the setting that holds this part of an address."""
    window.page.wait_for_function("part => (document.documentElement.dataset.loop ?? '').includes(part)", arg=part)


def lede(window) -> str:
    return window.part("lede").locator(".lede").inner_text()


def picture_of(window, at: int = 0) -> bytes:
    window.page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return window.page.locator(".stage").nth(at).screenshot()


def drawn_anew(window, act, at: int = 0) -> None:
    """Do something and wait until the view fetched and drew another cloth."""
    with window.page.expect_response(lambda answer: "/api/loop/lines" in answer.url):
        act()
    window.page.wait_for_timeout(400)


def test_the_page_says_in_sentences_what_the_cloth_does(loop, artefacts):
    window = loop()
    assert "sides roll to the back" in lede(window)
    expect(window.part("figures").locator("button.fig")).to_have_count(9)
    expect(window.part("help")).to_contain_text("Against the roll")
    expect(window.page.locator(".yarn-view figcaption").first).to_contain_text("relaxed without friction")
    assert window.page.locator("figure.lying img").evaluate("each => each.naturalWidth") > 100
    assert window.breaks_rules() == []
    window.picture("loop", whole=True)


def test_a_slider_moved_by_keys_changes_figures_and_picture(loop):
    window = loop()
    before, seen = lede(window), picture_of(window)
    dial = slider(window, "loop_mm")
    dial.focus()

    def walk() -> None:
        for _ in range(20):
            dial.press("ArrowRight")

    drawn_anew(window, walk)
    settled(window, "loop_mm=7.15")
    assert lede(window) != before
    assert "7.15" in lede(window)
    assert typed(window, "loop_mm").input_value() == "7.15"
    assert "loop_mm=7.15" in window.page.url
    assert picture_of(window) != seen
    expect(window.part("cloth")).to_contain_text("was 6.15")
    assert dial.evaluate("each => document.activeElement === each")
    assert "diameters" in dial.get_attribute("aria-valuetext")


def test_a_slider_dragged_asks_while_it_moves_and_the_last_wins(loop):
    window = loop()
    box = slider(window, "twist_per_m").bounding_box()
    y = box["y"] + box["height"] / 2
    window.page.mouse.move(box["x"] + box["width"] / 2, y)
    window.page.mouse.down()
    for step in range(1, 30):
        window.page.mouse.move(box["x"] + box["width"] * (0.5 + step / 75), y)
    window.page.mouse.up()
    value = slider(window, "twist_per_m").input_value()
    settled(window, f"twist_per_m={float(value)}")
    assert "to the right" in lede(window)
    assert slider(window, "twist_per_m").input_value() == value
    expect(window.part("help")).to_contain_text("Against the lean")


def test_old_figures_stay_while_new_ones_are_on_their_way(loop):
    window = loop()
    window.page.evaluate(SLOW)
    before = lede(window)
    slider(window, "set_percent").press("ArrowRight")
    window.page.wait_for_selector("body.busy")
    assert lede(window) == before
    settled(window, "set_percent=81")
    expect(window.page.locator("body.busy")).to_have_count(0)


def test_a_value_typed_with_a_comma_is_understood_and_nonsense_keeps_the_old(loop):
    window = loop()
    typed(window, "loop_mm").fill("5,80")
    typed(window, "loop_mm").press("Enter")
    settled(window, "loop_mm=5.8")
    assert "5.80 mm" in lede(window)
    typed(window, "loop_mm").fill("tight")
    typed(window, "loop_mm").press("Enter")
    expect(window.page.locator("[data-loop-refusal]").first).to_contain_text("is no number")
    assert typed(window, "loop_mm").input_value() == "5.80"
    typed(window, "loop_mm").fill("100")
    typed(window, "loop_mm").press("Enter")
    expect(window.page.locator("[data-loop-refusal]").first).to_contain_text("60")
    assert "5.80 mm" in lede(window)


def test_a_yarn_that_is_none_is_refused_beside_its_field(loop):
    window = loop()
    window.page.locator('input[data-loop="yarn"]').fill("<b>string</b>")
    window.page.locator('input[data-loop="yarn"]').press("Enter")
    expect(window.page.locator("[data-loop-refusal]").first).to_contain_text("no yarn count")
    assert "2/30 Nm merino" in lede(window)


def test_back_and_undo_put_a_slider_where_it_was(loop):
    window = loop()
    first = lede(window)
    slider(window, "set_percent").press("ArrowLeft")
    settled(window, "set_percent=79")
    window.page.locator('[data-loop-back="set_percent"]').click()
    window.page.wait_for_function("() => !document.documentElement.dataset.loop.includes('set_percent')")
    assert lede(window) == first
    window.page.wait_for_timeout(800)
    window.page.locator("select[data-loop=structure]").select_option("rib-1x1")
    settled(window, "structure=rib-1x1")
    window.page.locator("#study").focus()
    window.page.keyboard.press("Control+z")
    settled(window, "structure=plain")
    assert lede(window) == first
    window.page.keyboard.press("Control+Shift+z")
    settled(window, "structure=rib-1x1")


def test_two_cloths_side_by_side_turn_together_and_are_told_apart(loop):
    window = loop("structure=plain")
    window.page.keyboard.press("c")
    settled(window, "b_structure=rib-1x1")
    expect(window.page.locator(".stage").nth(1)).to_have_attribute("data-drawn", NUMBER)
    expect(window.part("figures")).to_contain_text("Differences first")
    window.page.wait_for_timeout(400)
    before = [picture_of(window, at) for at in (0, 1)]
    window.page.locator(".stage").first.focus()
    window.page.keyboard.press("b")
    for at in (0, 1):
        expect(window.page.locator(".stage").nth(at)).to_have_attribute("data-view", "back")
        assert picture_of(window, at) != before[at]
    slider(window, "b_loop_mm").press("ArrowRight")
    settled(window, "b_loop_mm=6.1")
    assert window.breaks_rules() == []
    window.picture("loop-beside", whole=True)
    window.page.locator("[data-loop-beside=off]").click()
    window.page.wait_for_function("() => !document.documentElement.dataset.loop.includes('b_structure')")
    expect(window.page.locator("[data-loop-view='1']")).to_be_hidden()


def test_a_remedy_stands_beside_the_cloth(loop):
    window = loop("structure=plain&twist_per_m=30")
    link = window.part("help").get_by_role("link").first
    link.click()
    window.ready()
    expect(window.part("figures")).to_contain_text("Differences first")


def test_a_figure_opens_its_why_and_the_why_follows_the_slider(loop):
    window = loop()
    figure = window.part("figures").locator("button.fig").first
    figure.focus()
    figure.press("Enter")
    expect(window.page.locator(".why")).to_contain_text("Known as: simulated")
    told = window.page.locator(".why h3").inner_text()
    typed(window, "loop_mm").fill("7.5")
    typed(window, "loop_mm").press("Enter")
    settled(window, "loop_mm=7.5")
    expect(window.page.locator(".why h3")).not_to_have_text(told)
    window.page.keyboard.press("Escape")
    expect(window.page.locator(".why")).to_have_count(0)


def test_the_files_to_keep_arrive(loop):
    window = loop()
    for name, ending in (("3D file", ".glb"), ("face (SVG)", ".svg")):
        with window.page.expect_download() as found:
            window.part("doors").get_by_text(name).click()
        assert found.value.suggested_filename.endswith(ending)


def test_without_the_server_the_page_says_so_and_keeps_its_figures(loop):
    window = loop()
    before = lede(window)
    window.page.route("**/api/loop/answer*", lambda route: route.abort())
    window.may_lose_server = True
    slider(window, "set_percent").press("ArrowRight")
    expect(window.page.locator("[data-loop-refusal]").first).to_contain_text("does not answer")
    assert lede(window) == before
    window.complaints.clear()


def test_a_structure_of_ones_own_is_worked_out_stopped_and_shared_between_windows(opened, workroom):
    own = workroom.post("/api/items", OWN)["id"]
    one, two = (opened(f"/loop?structure={own}", reduced_motion="reduce") for _ in range(2))
    expect(one.part("work")).to_contain_text("some 20 s")
    assert one.breaks_rules() == []
    begin = one.page.locator("[data-loop-begin]")
    begin.focus()
    begin.press("Enter")
    expect(one.page.locator(".progress-said")).to_contain_text("step 1 of 2")
    one.picture("loop-working")
    one.page.locator("[data-loop-stop]").click()
    expect(one.page.locator(".progress-said")).to_contain_text("Stopped")
    expect(begin).to_be_visible()
    begin.click()
    two.page.locator("[data-loop-begin]").click()
    for window in (one, two):
        expect(window.part("lede")).to_contain_text("Broken rib in 2/30 Nm merino lies", timeout=SOLVES_WITHIN_MS)
        expect(window.page.locator(".stage").first).to_have_attribute("data-drawn", NUMBER)
    one.picture("loop-solved", whole=True)
    solved = list((workroom.folder / "solved").iterdir())
    assert len(solved) == 1


def test_the_way_from_a_style_and_from_a_structure(opened, style, workroom):
    window = opened(f"/items/{style}")
    window.part("fabric").get_by_role("link", name="body").click()
    window.ready()
    assert "Attendant" in window.page.locator("select[data-loop=structure]").evaluate(
        "each => each.selectedOptions[0].text"
    )
    drawn = workroom.post("/api/items", OWN)["id"]
    window = opened(f"/items/{drawn}")
    window.part("structure").get_by_role("link", name="see its yarns").click()
    window.ready()
    expect(window.part("cloth").get_by_role("link")).to_have_text("to Broken rib")


def test_keys_lead_here_and_to_the_sections(opened):
    window = opened("/shelf/yarn")
    window.page.keyboard.press("g")
    window.page.keyboard.press("l")
    window.page.wait_for_url("**/loop")
    window.ready()
    window.page.keyboard.press("3")
    expect(window.page.locator("#h-help")).to_be_focused()


@pytest.mark.parametrize("width", [390, 720])
def test_narrow_windows_lose_nothing(width, loop):
    """390 is a phone; 720 at twice the size of text is a laptop at 200 per cent."""
    window = loop("structure=plain&twist_per_m=20", width=width, height=844)
    assert not window.scrolls_sideways()
    assert window.breaks_rules() == []
    window.picture(f"loop-{width}", whole=True)
    if width < 720:
        window.page.locator("[data-brief=open]").click()
        expect(window.part("told")).to_be_visible()
        before = window.part("told").inner_text()
        slider(window, "loop_mm").press("ArrowRight")
        settled(window, "loop_mm=6.2")
        assert window.part("told").inner_text() != before
        window.picture("loop-phone-brief")
        window.page.locator("[data-brief=close]").click()


def test_at_twice_the_size_of_text_nothing_is_cut(loop):
    window = loop(width=1440)
    window.page.add_style_tag(content="html{font-size:200%}")
    window.page.wait_for_timeout(300)
    assert not window.scrolls_sideways()
    window.picture("loop-large-text")


def test_the_sliders_are_large_enough_for_a_finger(loop):
    window = loop(width=390, height=844)
    window.page.locator("[data-brief=open]").click()
    for dial in window.page.locator("input[type=range][data-loop]").all():
        assert dial.bounding_box()["height"] >= 44


def test_an_address_from_elsewhere_is_answered_in_words(opened):
    for query in ("loop_mm=nan", "structure=%3Cscript%3E", "set_percent=1e9", "structure=987654", "what=1"):
        window = opened(f"/loop?{query}")
        expect(window.part("problem")).to_be_visible()
        assert window.page.locator("script:has-text('alert')").count() == 0
