"""The whole job without a mouse: the order of the Tab key, the keys of the list, figures that answer."""

import re

from playwright.sync_api import expect


def press(window, *keys: str) -> None:
    for key in keys:
        window.page.keyboard.press(key)


def focused(window) -> str:
    """The landmark of the workroom that holds the focus."""
    return window.page.evaluate(
        """() => {
          const here = document.activeElement;
          if (here.matches('.skip')) return 'skip';
          if (here.closest('.brief')) return 'brief';
          if (here.closest('nav.ways')) return 'ways';
          if (here.closest('.contents')) return 'contents';
          return here.closest('.study') ? 'study' : 'elsewhere';
        }"""
    )


def tab_until(window, selector: str, most: int = 150) -> None:
    for _ in range(most):
        press(window, "Tab")
        if window.page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    raise AssertionError(f"the Tab key never comes to {selector}")


def away(window) -> None:
    """Out of any field, as after reading."""
    window.page.evaluate("document.activeElement.blur()")


def test_the_tab_key_goes_by_skip_link_brief_ways_and_study(opened, style):
    window = opened(f"/items/{style}")
    seen: list[str] = []
    for _ in range(140):
        press(window, "Tab")
        place = focused(window)
        if not seen or seen[-1] != place:
            seen.append(place)
        if place == "contents":
            break
    assert seen[0] == "skip"
    assert seen == ["skip", "brief", "ways", "study", "contents"]


def test_the_skip_link_leads_past_brief_and_ways(opened, style):
    window = opened(f"/items/{style}")
    press(window, "Tab", "Enter")
    press(window, "Tab")
    assert focused(window) in ("ways", "study")
    assert window.page.url.endswith("#study")


def test_a_style_is_changed_read_and_undone_by_keys_alone(opened, style):
    window = opened(f"/items/{style}")
    press(window, "b")
    expect(window.page.locator(".brief :focus")).to_have_count(1)
    tab_until(window, '[data-path=\'["order", "pieces"]\']')
    press(window, "Control+a")
    window.page.keyboard.type("300")
    window.changing(lambda: press(window, "Enter"))
    expect(window.part("lede")).to_contain_text("At 300 pieces")
    expect(window.field("garment.sizes")).to_be_focused()
    away(window)
    press(window, "1")
    expect(window.page.locator("#h-findings")).to_be_focused()
    window.changing(lambda: press(window, "Control+z"))
    expect(window.part("lede")).to_contain_text("At 640 pieces")


def test_a_digit_goes_to_its_section(opened, style):
    window = opened(f"/items/{style}")
    for key, section in (("7", "price"), ("2", "fabric"), ("4", "panels")):
        press(window, key)
        expect(window.page.locator(f"#h-{section}")).to_be_focused()
        expect(window.page.locator(f"#h-{section}")).to_be_in_viewport()


def test_brackets_go_to_the_size_before_and_after(opened, style):
    window = opened(f"/items/{style}")
    shown = window.part("panels").locator('[data-size][aria-pressed="true"]')
    expect(shown).to_have_text("M")
    press(window, "]")
    expect(shown).to_have_text("L")
    press(window, "[")
    expect(shown).to_have_text("M")


PLACES = {
    "s": "/",
    "y": "/shelf/yarn",
    "m": "/shelf/machine",
    "u": "/shelf/structure",
    "l": "/loop",
    "r": "/shelf/rates",
    "z": "/shelf/sizes",
    "w": "/shelf/swatch",
    "h": "/help",
}


def test_g_and_a_letter_go_to_another_page(opened):
    window = opened("/help/keys")
    for letter, path in PLACES.items():
        with window.page.expect_navigation():
            press(window, "g", letter)
        assert window.page.url == window.room.url + path
        window.ready()


def test_slash_finds_on_the_shelf(opened):
    window = opened("/shelf/yarn")
    press(window, "/")
    expect(window.page.locator("#find")).to_be_focused()
    window.page.keyboard.type("Bordküche")
    with window.page.expect_navigation():
        press(window, "Enter")
    window.ready()
    rows = window.part("list").locator("tbody tr")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text("Bordküche cotton")


def test_n_begins_a_new_one(opened, workroom):
    window = opened("/shelf/machine")
    with window.page.expect_navigation():
        press(window, "n")
    window.ready()
    made = int(window.page.url.rpartition("/")[2])
    assert workroom.get(f"/api/items/{made}")["kind"] == "machine"
    workroom.post(f"/api/items/{made}/archive")


def test_c_compares_versions(opened, style):
    window = opened(f"/items/{style}")
    window.type("order.pieces", "300")
    away(window)
    with window.page.expect_navigation():
        press(window, "c")
    window.ready()
    expect(window.part("differences")).to_contain_text("Pieces")


def test_the_list_of_keys_opens_closes_and_gives_the_focus_back(opened, style):
    window = opened(f"/items/{style}")
    figure = window.part("lede").locator("button.fig").first
    figure.focus()
    press(window, "?")
    keys = window.page.locator("dialog.keys")
    expect(keys).to_be_visible()
    press(window, "Escape")
    expect(keys).to_have_count(0)
    expect(figure).to_be_focused()


def test_single_letters_can_be_switched_off_and_on(opened, style):
    window = opened(f"/items/{style}")
    press(window, "?")
    keys = window.page.locator("dialog.keys")
    keys.get_by_role("checkbox").press("Space")
    keys.get_by_role("button", name="Close").press("Enter")
    expect(keys).to_have_count(0)
    away(window)
    press(window, "4")
    assert window.page.locator("#h-panels:focus").count() == 0
    window.open(f"/items/{style}")
    press(window, "4")
    assert window.page.locator("#h-panels:focus").count() == 0, "remembered"
    press(window, "?")
    keys.get_by_role("checkbox").press("Space")
    keys.get_by_role("button", name="Close").press("Enter")
    away(window)
    press(window, "4")
    expect(window.page.locator("#h-panels")).to_be_focused()


def test_letters_typed_into_a_field_stay_letters(opened, style):
    window = opened(f"/items/{style}")
    field = window.field("order.terms")
    field.focus()
    press(window, "Control+a")
    window.page.keyboard.type("bcn4 g?")
    expect(field).to_have_value("bcn4 g?")
    expect(field).to_be_focused()
    assert window.page.locator("dialog").count() == 0


def test_escape_leaves_a_field_as_it_was(opened, style, workroom):
    window = opened(f"/items/{style}")
    field = window.field("order.pieces")
    field.fill("12345")
    press(window, "Escape")
    expect(field).to_have_value("640")
    away(window)
    assert workroom.held(style, "order.pieces") == 640


def test_a_figure_opens_its_why_level_with_it_and_gets_the_focus_back(opened, style):
    window = opened(f"/items/{style}", width=1600)
    figure = window.part("lede").locator("button.fig").nth(1)
    figure.focus()
    press(window, "Enter")
    why = window.page.locator(".why")
    expect(why).to_be_focused()
    expect(figure).to_have_attribute("aria-expanded", "true")
    box, at = why.bounding_box(), figure.bounding_box()
    assert abs(box["y"] - (at["y"] + at["height"])) < 6, "level with the figure"
    assert box["x"] > at["x"] + at["width"], "in the margin"
    press(window, "Escape")
    expect(why).to_have_count(0)
    expect(figure).to_be_focused()
    expect(figure).to_have_attribute("aria-expanded", "false")


def test_the_inputs_of_a_why_open_theirs_in_turn(opened, style):
    window = opened(f"/items/{style}")
    window.part("lede").locator("button.fig").nth(1).press("Enter")
    why = window.page.locator(".why")
    first = why.locator("h3").inner_text()
    why.locator("button.fig").first.press("Enter")
    expect(why.locator("h3")).not_to_have_text(first)
    expect(why).to_be_focused()


def test_a_why_left_open_tells_the_new_figures(opened, style):
    window = opened(f"/items/{style}")
    window.part("lede").locator("button.fig").first.press("Enter")
    heading = window.page.locator(".why h3")
    before = heading.inner_text()
    window.type("order.pieces", "100")
    expect(heading).not_to_have_text(before)
    figure = window.part("lede").locator("button.fig b").first.inner_text()
    expect(heading).to_contain_text(re.sub(r"\s", "", figure))


def test_the_size_table_is_reached_walked_and_left_by_keys(opened, style):
    window = opened(f"/items/{style}")
    press(window, "3")
    tab_until(window, "[role=gridcell]", most=6)
    press(window, "ArrowDown", "ArrowRight")
    expect(window.page.locator("table.sizes :focus")).to_have_attribute("data-row", "1")
    press(window, "Tab")
    assert window.page.locator("table.sizes :focus").count() == 0
