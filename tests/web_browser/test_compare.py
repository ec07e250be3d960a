"""Two styles, and two yarns, beside each other in a real browser: chosen, read, asked why, kept, refused in words."""

import pypdf
import pytest
from playwright.sync_api import expect

WIDTHS = {"a desk": (1440, 900), "a telephone": (390, 844)}
GUARD = "Guard's crew-neck pullover"


@pytest.mark.parametrize("where", WIDTHS)
def test_a_style_is_held_against_another_one_of_the_shelf(where, opened, style):
    width, height = WIDTHS[where]
    window = opened(f"/items/{style}", width=width, height=height)
    if where == "a telephone":
        window.page.get_by_role("button", name="brief").click()
    window.page.get_by_role("link", name="compare with …").click()
    expect(window.page.locator("h2#h-others")).to_be_visible()
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()
    window.page.locator("[data-part=list]").get_by_role("link", name=GUARD).first.click()
    differs = window.part("differences").locator("section")
    expect(differs.locator("h2")).to_have_text("What differs")
    rows = differs.locator("table").first.locator("tbody tr")
    expect(rows.first).to_contain_text("Price free on board")
    expect(rows.first.locator("button.fig")).to_have_count(3)
    expect(differs).to_contain_text("not surely different")
    expect(window.part("lede")).to_contain_text("differ surely")
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()
    window.picture(f"compare-at-{width}")


def test_a_difference_says_why_and_what_is_alike_is_folded(opened, style, workroom):
    other = next(line["id"] for line in workroom.get("/api/items?kind=style") if line["name"] == GUARD)
    window = opened(f"/compare/{style}/{other}")
    window.part("differences").locator("tbody tr").first.locator("button.fig").nth(2).click()
    expect(window.page.locator(".why").first).to_contain_text("the second less the first")
    folded = window.part("differences").locator("details")
    expect(folded.locator("summary")).to_contain_text("Alike in both")
    assert folded.evaluate("each => each.open") is False
    with window.page.expect_download() as made:
        window.page.get_by_role("button", name="comparison (PDF)").click()
    assert "What differs" in pypdf.PdfReader(made.value.path()).pages[0].extract_text()


def test_two_yarns_are_tried_in_one_garment(opened, workroom):
    first, second = (line["id"] for line in workroom.get("/api/items?kind=yarn")[:2])
    window = opened(f"/items/{first}")
    window.page.get_by_role("link", name="compare with …").click()
    window.page.locator(f'a[href="/compare/{first}/{second}"]').click()
    expect(window.part("lede")).to_contain_text("tried in the same pullover")
    expect(window.part("differences")).to_contain_text("Yarn in a piece")


def test_what_cannot_be_compared_is_said(opened, style, workroom):
    window = opened(f"/compare/{style}/{style}")
    expect(window.part("problem")).to_contain_text("stands on both sides")
    window.open(f"/compare/{style}/{workroom.first('yarn')}")
    expect(window.part("problem")).to_contain_text("cannot be compared")
    window.open(f"/compare/{workroom.first('machine')}")
    expect(window.part("problem")).to_contain_text("cannot be compared")
