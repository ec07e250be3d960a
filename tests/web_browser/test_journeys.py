"""A person's ways through the workroom, from opening it to the figure they came for."""

import re

import pytest
from playwright.sync_api import expect


def test_ten_minutes_before_the_call_yarn_and_quantity_move_price_and_minutes(opened, style):
    window = opened(f"/items/{style}")
    price, minutes = window.figure("lede", 0), window.figure("lede", 1)
    mass = window.figure("lede", 2)
    assert price > 0
    window.type("order.pieces", "300")
    expect(window.part("lede")).to_contain_text("At 300 pieces")
    dearer = window.figure("lede", 0)
    assert dearer > price, "programming and samples are spread over fewer pieces"
    assert window.figure("lede", 1) == pytest.approx(minutes, rel=0.05), "a piece knits as long in a small order"
    window.type("yarns.merino.count", "2/24 Nm")
    assert window.figure("lede", 2) > mass, "a thicker yarn is heavier"
    expect(window.part("price").locator("svg").first).to_be_visible()
    said = window.part("findings").inner_text()
    assert re.search(r"price of [\d.]+ EUR is [\d.]+ (under|over) your target|price passes", said) or "target" in said
    window.picture("before-the-call")


def test_the_change_just_made_can_be_undone_from_the_message_and_by_keys(opened, style):
    window = opened(f"/items/{style}")
    lede = window.part("lede").locator("p.lede").inner_text()
    window.type("order.pieces", "300")
    expect(window.strip()).to_contain_text("Pieces: 640 → 300")
    window.changing(lambda: window.page.locator(".strip button", has_text="Undo").click())
    expect(window.part("lede").locator("p.lede")).to_have_text(lede, use_inner_text=True)
    expect(window.field("order.pieces")).to_have_value("640")
    window.page.locator("h2").first.click()
    window.changing(lambda: window.page.keyboard.press("Control+Shift+Z"))
    expect(window.field("order.pieces")).to_have_value("300")
    window.changing(lambda: window.page.keyboard.press("Control+z"))
    expect(window.field("order.pieces")).to_have_value("640")


def test_a_changed_field_says_what_it_was(opened, style):
    window = opened(f"/items/{style}")
    window.type("order.pieces", "300")
    row = window.page.locator('[data-field="order.pieces"]')
    expect(row).to_have_attribute("data-was", "was 640")
    window.type("order.pieces", "640")
    expect(row).not_to_have_attribute("data-was", re.compile(".*"))


def test_cheaper_please_two_yarns_stand_beside_each_other_in_the_season(opened, style, workroom):
    workroom.edit(style, "style.season", "Two yarns")
    window = opened(f"/items/{style}")
    with window.page.expect_navigation():
        window.page.get_by_role("button", name="duplicate").click()
    window.ready()
    window.item = int(window.page.url.rpartition("/")[2])
    other = window.item
    assert other != style
    window.type("yarns.merino.price_per_kg", "9.80")
    window.type("yarns.merino.fibres", "100 cotton")
    assert workroom.held(other, "yarns.merino.price_per_kg") == 9.8
    assert workroom.held(style, "yarns.merino.price_per_kg") == 29.5, "the first style keeps its yarn"
    window.open("/?season=Two%20yarns")
    rows = window.part("styles").locator("table").first.locator("tbody tr")
    expect(rows).to_have_count(3)
    prices = [
        float(text) for text in window.part("styles").locator("table").first.locator("button.fig b").all_inner_texts()
    ]
    assert prices[0] != prices[1]
    window.picture("cheaper-please-season")
    workroom.post(f"/api/items/{other}/archive")


def test_something_is_wrong_an_upper_arm_too_wide_for_the_bed_stops_with_both_numbers(opened, style):
    window = opened(f"/items/{style}")
    cell = window.cell("Half upper arm", "3XL")
    cell.click()
    window.page.keyboard.type("60")
    window.changing(lambda: window.page.keyboard.press("Enter"))
    stops = window.part("findings").locator("li", has=window.page.locator(".sign", has_text="Stops"))
    expect(stops.first).to_be_visible()
    said = " ".join(stops.all_inner_texts())
    assert "3XL" in said
    assert len(re.findall(r"\d+", stops.first.locator(".said").inner_text())) >= 2
    assert stops.first.locator(".tries").count(), "a stop says what to try"
    window.picture("something-is-wrong")


def test_something_is_wrong_a_bed_too_narrow_names_needles_wanted_and_there(opened, style):
    window = opened(f"/items/{style}")
    window.type("machine.bed_in", "24")
    stops = window.part("findings").locator("li", has=window.page.locator(".sign", has_text="Stops"))
    said = stops.filter(has_text="needles").first.locator(".said").inner_text()
    assert "288" in said, "24 inches of 12 gauge"
    assert len(re.findall(r"\d+", said)) >= 2
    window.type("machine.bed_in", "50")
    expect(stops).to_have_count(0)


def test_the_first_minute_three_answers_make_a_study(opened, empty):
    window = opened("/", room=empty)
    expect(window.part("lede")).to_contain_text("Nothing is on the shelf yet")
    window.picture("first-minute")
    window.page.locator('[name="garment"]').select_option("pullover for men")
    window.page.locator('[name="yarn"]').fill("two strands of something")
    window.page.locator('[name="gauge"]').fill("7")
    window.page.get_by_role("button", name="Show the study").click()
    expect(window.page.locator("form .why-not")).to_contain_text("yarn")
    said = window.page.locator("form .why-not").inner_text()
    assert "Try" in said
    assert not re.search(r"Error|Traceback|None|null", said)
    window.page.locator('[name="yarn"]').fill("2/15 Nm lambswool")
    with window.page.expect_navigation():
        window.page.get_by_role("button", name="Show the study").click()
    window.ready()
    expect(window.part("lede")).to_contain_text("machine time")
    expect(window.part("panels").locator("svg").first).to_be_visible()
    window.picture("first-study")
    window.open("/")
    expect(window.part("styles")).to_contain_text("Pullover for men")


def test_the_first_minute_the_example_opens_by_one_press(opened, empty):
    window = opened("/", room=empty)
    with window.page.expect_navigation():
        window.page.get_by_role("button", name="Open the example").click()
    window.ready()
    expect(window.part("styles")).to_contain_text("N7-014")
    expect(window.part("lede")).to_contain_text("Nine styles")


def test_the_season_answers_why(opened):
    window = opened("/?season=Nachtlinie%207%2C%20winter%2027")
    figure = window.part("lede").locator("button.fig").first
    expect(figure).to_be_visible()
    figure.click()
    why = window.page.locator(".why")
    expect(why.locator("h3")).to_contain_text("Why")
    assert why.locator("dl").count()
    window.picture("season-why")
    window.page.keyboard.press("Escape")
    expect(why).to_have_count(0)
    window.part("styles").locator("table a").first.click()
    window.ready()
    expect(window.part("brief")).to_be_visible()


def test_another_size_is_looked_at_by_its_button(opened, style):
    window = opened(f"/items/{style}")
    window.part("panels").locator('[data-size="3XL"]').click()
    expect(window.part("panels")).to_contain_text("size 3XL")
    expect(window.part("panels").locator('[data-size="3XL"]')).to_have_attribute("aria-pressed", "true")
    expect(window.part("minutes")).to_contain_text("size 3XL")


def test_a_mark_of_a_panel_says_what_is_done_there(opened, style):
    window = opened(f"/items/{style}")
    figure = window.part("panels").locator("figure.picture").first
    figure.focus()
    line = figure.locator(".says")
    before = line.inner_text()
    window.page.keyboard.press("ArrowRight")
    expect(line).not_to_have_text(before)
    first = line.inner_text()
    window.page.keyboard.press("ArrowRight")
    expect(line).not_to_have_text(first)


def test_the_strokes_can_be_looked_at_closer(opened, style):
    window = opened(f"/items/{style}")
    strokes = window.page.locator("figure.strokes")
    assert float(strokes.locator("svg").get_attribute("data-start-s") or 0) == 0
    strokes.get_by_role("button", name="closer").click()
    expect(strokes.locator("svg")).not_to_have_attribute("data-start-s", "0")
    assert float(strokes.locator("svg").get_attribute("data-start-s")) > 0
    strokes.get_by_role("button", name="whole").click()
    expect(strokes.locator("svg")).to_have_attribute("data-start-s", re.compile(r"^0(\.0+)?$"))


def test_an_assumption_is_typed_over_where_it_stands_and_becomes_yours(opened, style, workroom):
    window = opened(f"/items/{style}")
    row = window.part("assumptions").locator("tr", has=window.page.locator("input[data-path*=overrun_m]"))
    field = row.locator("input")
    field.fill("0,4")
    window.changing(lambda: field.press("Enter"))
    assert workroom.held(style, "machine.overrun_m") == 0.4
    expect(window.field("machine.overrun_m")).to_have_value("0.4")
    expect(row).to_have_count(0)
