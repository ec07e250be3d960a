"""Everybody can read and use every page: by ear, by hand, magnified, in forced colours, on paper, on a telephone."""

import re

import pytest
from playwright.sync_api import expect

DESK, PHONE = (1440, 900), (390, 844)
WIDTHS = {"a desk": DESK, "a telephone": PHONE}
KINDS = ("yarn", "machine", "structure", "rates", "sizes", "swatch")
PLAIN_PAGES = ("/", "/?find=pullover", "/?archived=true", *(f"/shelf/{kind}" for kind in KINDS), "/help", "/help/keys")
NOT_THERE = ("/items/99999", "/shelf/hats")
LEAST_TARGET_PX = 24  # WCAG 2.2, 2.5.8

TARGETS = """least => [...document.querySelectorAll(
    'button, a[href], select, input, textarea, summary, [role=gridcell]')]
  .filter(each => each.checkVisibility({ visibilityProperty: true }) && !each.closest('[inert]'))
  .filter(each => !each.matches('.unseen, .skip, p > a, td > a, th > a, .prose a'))
  .map(each => [each, each.getBoundingClientRect()])
  .filter(([each, box]) => box.width > 0 && (box.height < least - 0.5 || box.width < least - 0.5))
  .map(([each, box]) => `${each.outerHTML.slice(0, 120)} ${Math.round(box.width)} by ${Math.round(box.height)}`)"""


@pytest.fixture(scope="session")
def structure(workroom) -> int:
    """A structure on the shelf."""
    lines = {"own": {"name": "Own structure", "courses": ["F:KT B:KK", "F:KK B:--"]}}
    return workroom.post("/api/items", {"kind": "structure", "document": {"structures": lines}})["id"]


@pytest.mark.parametrize("where", WIDTHS)
def test_lists_season_and_help_break_no_rule(where, opened):
    width, height = WIDTHS[where]
    window = opened(PLAIN_PAGES[0], width=width, height=height)
    for path in PLAIN_PAGES + NOT_THERE:
        window.open(path)
        if path == "/":
            expect(window.part("foot").locator("footer")).to_be_attached()
        assert window.breaks_rules() == [], path
        assert not window.scrolls_sideways(), path
        assert window.page.evaluate(TARGETS, LEAST_TARGET_PX) == [], path
    window.complaints = [said for said in window.complaints if "404" not in said]


@pytest.mark.parametrize("where", WIDTHS)
def test_every_kind_of_thing_breaks_no_rule(where, opened, workroom, structure):
    width, height = WIDTHS[where]
    window = opened("/", width=width, height=height)
    for kind in KINDS:
        item = structure if kind == "structure" else workroom.first(kind)
        for path in (f"/items/{item}", f"/items/{item}/history"):
            window.open(path)
            assert window.breaks_rules() == [], f"{kind} {path}"
            assert not window.scrolls_sideways(), f"{kind} {path}"
            assert window.page.evaluate(TARGETS, LEAST_TARGET_PX) == [], f"{kind} {path}"


@pytest.mark.parametrize("where", WIDTHS)
def test_a_style_breaks_no_rule_with_a_why_open_a_field_refused_and_all_unfolded(where, opened, style):
    width, height = WIDTHS[where]
    window = opened(f"/items/{style}", width=width, height=height)
    window.page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()
    assert window.page.evaluate(TARGETS, LEAST_TARGET_PX) == []
    window.part("lede").locator("button.fig").first.click()
    expect(window.page.locator(".why")).to_be_visible()
    window.picture(f"why-at-{width}")
    assert window.breaks_rules() == []
    window.page.keyboard.press("Escape")
    if where == "a telephone":
        window.page.locator('[data-brief="open"]').click()
    field = window.field("order.pieces")
    field.fill("a few")
    field.press("Enter")
    expect(window.page.locator(".why-not").first).to_contain_text("“a few” is no number. Try")
    assert window.breaks_rules() == []
    window.picture(f"refused-at-{width}")


def test_the_list_of_keys_breaks_no_rule(opened):
    window = opened("/")
    window.page.locator("body").press("?")
    expect(window.page.locator("dialog.keys")).to_be_visible()
    assert window.breaks_rules() == []
    window.picture("keys")


def test_the_card_of_two_windows_breaks_no_rule(opened, style, workroom):
    window = opened(f"/items/{style}")
    field = window.field("order.pieces")
    field.focus()
    field.fill("300")
    workroom.edit(style, "order.pieces", "400")
    field.press("Enter")
    expect(window.page.locator(".clash")).to_be_visible()
    assert window.breaks_rules() == []
    window.picture("clash")


@pytest.mark.parametrize("width", [640, 320])
def test_magnified_nothing_scrolls_sideways(width, opened, style, workroom, structure):
    window = opened(f"/items/{style}", width=width, height=700)
    paths = ["/", "/shelf/yarn", f"/items/{structure}", f"/items/{style}/history", f"/items/{style}"]
    for path in paths:
        window.open(path)
        assert not window.scrolls_sideways(), path
    window.page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    assert not window.scrolls_sideways()
    window.part("lede").locator("button.fig").first.click()
    expect(window.page.locator(".why")).to_be_visible()
    assert not window.scrolls_sideways()
    window.picture(f"magnified-{width}")


def test_on_a_telephone_the_brief_is_one_line_that_opens_as_a_page(opened, style):
    window = opened(f"/items/{style}", width=390, height=844)
    line = window.part("line")
    expect(line).to_contain_text("640 pieces · 2/30 Nm · E 12 · XS–3XL")
    expect(window.part("brief")).to_be_hidden()
    assert window.part("lede").bounding_box()["y"] < 200, "the answer stands on the first screen"
    window.picture("telephone-style")
    door = window.page.locator('[data-brief="open"]')
    door.click()
    expect(door).to_have_attribute("aria-expanded", "true")
    expect(window.part("brief")).to_be_visible()
    window.type("order.pieces", "300")
    window.picture("telephone-brief")
    window.page.keyboard.press("Escape")
    expect(window.part("brief")).to_be_hidden()
    door.click()
    window.page.get_by_role("button", name="Close", exact=True).click()
    expect(window.part("brief")).to_be_hidden()
    expect(door).to_be_focused()
    expect(line).to_contain_text("300 pieces")
    expect(window.part("lede")).to_contain_text("At 300 pieces")


def test_on_a_telephone_five_destinations_with_live_figures_stand_at_the_foot(opened, style):
    window = opened(f"/items/{style}", width=390, height=844)
    links = window.page.locator(".contents a:visible")
    names = [re.sub(r"\s.*", "", text) for text in links.all_inner_texts()]
    assert names == ["Findings", "Fabric", "Panels", "Minutes", "Price"]
    for link in links.all():
        box = link.bounding_box()
        assert box["height"] >= 44
        assert 790 < box["y"] + box["height"] <= 844
        assert re.search(r"\d", link.locator("b").inner_text())
    price = links.last.locator("b").inner_text()
    links.last.click()
    expect(links.last).to_have_attribute("aria-current", "location")
    expect(window.page.locator("#h-price")).to_be_in_viewport()
    version = window.room.version(style)
    window.room.edit(style, "order.pieces", "200")
    window.shows(version + 1)
    expect(links.last.locator("b")).not_to_have_text(price)


def test_on_a_telephone_a_why_rises_from_the_foot_and_the_figure_stays_in_view(opened, style):
    window = opened(f"/items/{style}", width=390, height=844)
    figure = window.part("price").locator("table button.fig").last
    figure.click()
    why = window.page.locator(".why")
    expect(why).to_be_visible()
    box, at = why.bounding_box(), figure.bounding_box()
    assert box["height"] <= 0.7 * 844 + 1
    assert box["y"] + box["height"] == pytest.approx(844, abs=1)
    assert at["y"] >= 0
    assert at["y"] + at["height"] <= box["y"] + 1
    window.picture("telephone-why")


def test_without_room_the_widest_drawings_scroll_by_themselves(opened, style):
    window = opened(f"/items/{style}", width=390, height=844)
    panels = window.part("panels").locator("figure.picture").first
    assert panels.evaluate("each => each.scrollWidth > each.clientWidth")
    assert panels.get_attribute("tabindex") == "0", "the keyboard can scroll it"
    assert panels.locator("svg").bounding_box()["width"] >= 570


def test_in_forced_colours_figures_keep_their_lines_and_drawings_their_marks(opened, style):
    window = opened(f"/items/{style}", forced_colors="active")
    line = window.part("lede").locator("button.fig b").first
    assert line.evaluate("each => getComputedStyle(each).borderBottomStyle") != "none"
    expect(window.part("panels").locator("svg").first).to_be_visible()
    window.field("order.pieces").focus()
    assert window.field("order.pieces").evaluate("each => getComputedStyle(each).outlineStyle") == "solid"
    window.picture("forced-colours")


@pytest.mark.parametrize("width", [1440, 390])
def test_on_paper_brief_and_study_stand_in_the_flow(width, opened, style):
    window = opened(f"/items/{style}", width=width)
    window.page.emulate_media(media="print")
    for part in ("brief", "lede", "findings", "price"):
        expect(window.part(part)).to_be_visible()
    fixed = """[...document.querySelectorAll('.room, .room *, body > .strip, body > .clash')]
      .filter(each => each.checkVisibility()
      && ['fixed', 'sticky'].includes(getComputedStyle(each).position) && each.getBoundingClientRect().height > 0)
      .map(each => each.className)"""
    assert window.page.evaluate(fixed) == []
    window.picture(f"paper-{width}", whole=True)


def test_every_drawing_is_an_svg_with_a_name_so_that_no_graphics_card_is_needed(opened, style):
    window = opened(f"/items/{style}")
    assert window.page.locator("canvas").count() == 0
    for svg in window.page.locator(".study figure.picture > svg").all():
        assert svg.locator("title").first.text_content().strip()
        assert svg.bounding_box()["height"] > 20


def test_changes_are_still_for_people_who_ask_for_no_motion(opened, style):
    window = opened(f"/items/{style}", reduced_motion="reduce")
    figure = window.part("lede").locator("button.fig").first
    assert figure.evaluate("each => getComputedStyle(each).transitionDuration") == "0s"
