"""Ways of making in a real browser: they come after the page, move with an edit, and break no rule."""

import pytest
from playwright.sync_api import expect

DESK, PHONE = (1440, 900), (390, 844)


@pytest.mark.parametrize(("width", "height"), [DESK, PHONE], ids=["a desk", "a telephone"])
def test_ways_come_ranked_and_break_no_rule(width, height, opened, style):
    window = opened(f"/items/{style}", width=width, height=height)
    section = window.part("ways").locator("section")
    expect(section.locator(".tally")).to_contain_text("can be made")
    expect(section).not_to_have_class("old")
    rows = section.locator("table").first.locator("tbody tr")
    prices = [float(words.split()[0]) for words in rows.locator("td:nth-child(2) .fig b").all_inner_texts()]
    assert len(prices) >= 4
    assert prices == sorted(prices)
    expect(section).to_contain_text("Cannot be made as the style stands")
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()
    section.scroll_into_view_if_needed()
    window.picture(f"ways-at-{width}")


def test_ways_follow_the_quantity_and_answer_why(opened, style):
    window = opened(f"/items/{style}")
    section = window.part("ways").locator("section")
    expect(section.locator(".tally")).to_contain_text("can be made")
    field = window.field("order.pieces")
    field.fill("120")
    field.press("Enter")
    expect(section).to_contain_text("At 120 pieces")
    section.locator("button.fig").nth(3).click()
    expect(window.page.locator(".why").first).to_contain_text("Yarn issued")


def test_a_style_made_cup_seamed_has_its_linked_way_beside_it(opened, style):
    window = opened(f"/items/{style}")
    section = window.part("ways").locator("section")
    expect(section.locator(".tally")).to_contain_text("can be made")
    window.field("construction.method").select_option("fully fashioned and cup-seamed")
    expect(section.locator("tr.strong")).to_contain_text("cup-seamed")
    expect(section).to_contain_text("Fully fashioned and linked")
    expect(window.part("makeup")).to_contain_text("cup seam")
