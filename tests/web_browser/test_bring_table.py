"""A buyer's table brought in on the page: a file or a paste, looked at cell by cell, then taken or left."""

import csv
import io

import openpyxl
import pytest
from playwright.sync_api import expect

INCHES = (
    "Buyer's spec, all in inches\nPoint\tS\tM\tL\tXL\n"
    'Half chest\t18 1/4\t19¼\t20-1/4"\t22\nKangaroo pocket\t8\t8\t8\t8\n'
)
TALL = {"a desk": (1440, 900), "a telephone": (390, 844)}
LEAST_ON_A_PHONE_PX = 44


def workbook(rows: list[list[object]]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    whole = io.BytesIO()
    book.save(whole)
    return whole.getvalue()


@pytest.fixture
def bring(opened, style):
    """A window on the style whose “Bring a table in” is open."""

    def at(width: int = 1440, height: int = 900):
        window = opened(f"/items/{style}", width=width, height=height)
        window.page.locator(".bring summary").click()
        return window

    return at


def read(window, text: str) -> None:
    window.page.locator(".bring textarea").fill(text)
    window.page.locator("[data-read]").click()
    expect(window.page.locator(".brought h3")).to_be_focused()


def test_a_workbook_is_read_from_the_file_field_and_taken_as_one_step(bring, workroom):
    window = bring()
    version = workroom.version(window.item)
    data = workbook([["cm", "S", "M", "L"], ["Half chest", 47, "50,2", 53], ["Half upper arm", None, "tbc", 18.5]])
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    files = {"name": "buyer's spec.xlsx", "mimeType": kind, "buffer": data}
    window.page.locator(".bring input[type=file]").set_input_files(files)
    expect(window.page.locator(".brought h3")).to_have_text("Buyer's spec.xlsx, sheet Sheet")
    chest = window.page.locator(".brought-cells tr", has_text="Half chest")
    expect(chest.locator("td.base")).to_have_text("49.0 → 50.2")
    expect(chest.locator("td.hand").first).to_have_text("46.5 → 47.0")
    expect(window.page.locator(".left-out")).to_contain_text("Row 3, column C “tbc”: “tbc” is no number")
    assert workroom.version(window.item) == version
    window.picture("table-brought-in", whole=True)
    window.changing(lambda: window.page.get_by_role("button", name="Take these measures").click())
    expect(window.strip()).to_have_text("Measures from buyer's spec.xlsx.")
    expect(window.cell("Half chest", "M")).to_have_text("50.2")
    expect(window.cell("Half upper arm", "L")).to_have_text("18.5")
    expect(window.page.locator(".bring summary")).to_be_focused()
    expect(window.page.locator(".brought h3")).to_have_count(0)
    assert workroom.version(window.item) == version + 1
    window.changing(lambda: window.page.locator(".strip").get_by_role("button", name="Undo").click())
    expect(window.cell("Half chest", "M")).to_have_text("49.0")
    assert workroom.held(window.item, "garment.hand_set_cm.S") is None


def test_by_keys_alone_a_table_is_pasted_read_and_left(opened, style, workroom):
    window = opened(f"/items/{style}")
    version = workroom.version(style)
    keys = window.page.keyboard
    window.page.locator(".bring summary").focus()
    keys.press("Enter")
    keys.press("Tab")
    expect(window.page.locator(".bring textarea")).to_be_focused()
    keys.insert_text(INCHES)
    for _ in range(3):
        keys.press("Tab")
    expect(window.page.locator("[data-read]")).to_be_focused()
    keys.press("Enter")
    expect(window.page.locator(".brought h3")).to_be_focused()
    expect(window.page.locator(".left-out")).to_contain_text("Row 4, column A “Kangaroo pocket”")
    for _ in range(3):
        keys.press("Tab")
    expect(window.page.get_by_role("button", name="Leave them")).to_be_focused()
    keys.press("Enter")
    expect(window.page.locator(".bring summary")).to_be_focused()
    expect(window.page.locator(".bring textarea")).to_be_hidden()
    assert workroom.version(style) == version


def test_what_was_pasted_and_read_stays_while_the_style_is_studied_anew(bring, workroom):
    window = bring()
    read(window, INCHES)
    version = workroom.version(window.item)
    workroom.edit(window.item, "order.pieces", "200")
    window.shows(version + 1)
    expect(window.page.locator(".bring textarea")).to_have_value(INCHES)
    expect(window.page.locator(".brought-cells td.base")).not_to_have_count(0)
    window.changing(lambda: window.page.get_by_role("button", name="Take these measures").click())
    expect(window.strip()).to_contain_text("Changes of another window were kept beside it.")
    expect(window.cell("Half chest", "M")).to_have_text("48.9")


def test_a_measure_set_in_another_window_meanwhile_shows_both_values(bring, workroom):
    window = bring()
    read(window, INCHES)
    workroom.edit(window.item, "garment.measures_cm.half_chest", "51")
    window.page.get_by_role("button", name="Take these measures").click()
    expect(window.page.locator(".clash")).to_contain_text("48.895")
    expect(window.page.locator(".clash")).to_contain_text("51")
    window.changing(lambda: window.page.get_by_role("button", name="Keep 48.895 here").click())
    expect(window.cell("Half chest", "M")).to_have_text("48.9")


def test_what_is_no_table_is_refused_beside_the_form_and_what_was_pasted_stays(bring):
    window = bring()
    window.page.locator("[data-read]").click()
    expect(window.page.locator(".bring .why-not")).to_contain_text("nothing to read yet")
    window.page.locator(".bring textarea").fill("dear all, see the table attached")
    window.page.locator("[data-read]").click()
    expect(window.page.locator(".bring .why-not")).to_contain_text("Try")
    expect(window.page.locator(".bring textarea")).to_have_value("dear all, see the table attached")
    files = {"name": "spec.pdf", "mimeType": "application/pdf", "buffer": b"%PDF-1.7"}
    window.page.locator(".bring input[type=file]").set_input_files(files)
    expect(window.page.locator(".bring .why-not")).to_contain_text("it is a PDF")
    assert window.breaks_rules() == []


def test_the_unit_can_be_said_where_the_table_names_none(bring):
    window = bring()
    window.page.locator(".bring textarea").fill("Point\tM\nHalf chest\t19 1/2\n")
    window.page.locator("[data-read]").click()
    expect(window.page.locator(".bring .why-not")).to_contain_text("half chest 19.5 cm")
    expect(window.page.locator(".bring .why-not")).to_contain_text("it names none, and cm was taken")
    window.page.locator(".bring select").select_option("in")
    expect(window.page.locator(".brought-cells td.base").first).to_have_text("49.0 → 49.5")


@pytest.mark.parametrize("where", TALL)
def test_bringing_a_table_in_breaks_no_rule_and_every_target_is_large_enough(where, bring):
    window = bring(*TALL[where])
    read(window, INCHES)
    window.picture(f"bring-at-{TALL[where][0]}", whole=True)
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()
    if where == "a telephone":
        for each in window.page.locator(".bring summary, .bring button, .bring select, .bring input").all():
            assert each.bounding_box()["height"] >= LEAST_ON_A_PHONE_PX


def test_what_was_brought_outlives_a_page_that_loads_itself_again_until_it_is_left(bring):
    window = bring()
    read(window, INCHES)
    said = window.page.locator(".brought .said").inner_text()
    window.page.reload()
    window.ready()
    expect(window.page.locator(".brought .said")).to_have_text(said)
    assert window.page.locator(".bring textarea").input_value() == INCHES
    window.page.locator("[data-leave]").click()
    window.page.reload()
    window.ready()
    assert window.page.locator(".bring textarea").input_value() == ""
    assert window.page.locator(".brought .said").count() == 0


def test_the_files_come_down_and_hold_the_table(opened, style):
    window = opened(f"/items/{style}")
    with window.page.expect_download() as csv_file:
        window.page.get_by_role("link", name="as CSV").click()
    rows = list(csv.reader(io.StringIO(csv_file.value.path().read_text("utf-8-sig"))))
    assert csv_file.value.suggested_filename.endswith("-sizes.csv")
    assert next(row for row in rows if row[1] == "Half chest")[6] == window.cell("Half chest", "M").inner_text().rstrip(
        "0."
    )
    with window.page.expect_download() as book:
        window.page.get_by_role("link", name="as a workbook").click()
    assert openpyxl.load_workbook(io.BytesIO(book.value.path().read_bytes())).sheetnames[0] == "Size specification"
