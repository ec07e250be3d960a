"""The size table as a sheet of cells: walked, typed over, copied, pasted, filled, and given back to the grade."""

import pytest
from playwright.sync_api import expect

CHEST, HEM, ARM = "Half chest", "Half hem, relaxed", "Half upper arm"


@pytest.fixture
def table(opened, style):
    """A window on the style with the chest of XS in focus."""
    window = opened(f"/items/{style}")
    window.cell(CHEST, "XS").click()
    return window


def value(window, point: str, size: str) -> float:
    return float(window.cell(point, size).inner_text())


def press(window, *keys: str) -> None:
    for key in keys:
        window.page.keyboard.press(key)


def paste(window, text: str) -> None:
    """Paste into the cell in focus, as a spreadsheet's clipboard would."""
    window.page.evaluate(
        """text => {
          const data = new DataTransfer();
          data.setData("text/plain", text);
          document.activeElement.dispatchEvent(
            new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
        }""",
        text,
    )


def copied(window) -> str:
    """What a copy of the marked block puts on the clipboard."""
    return window.page.evaluate(
        """() => {
          const data = new DataTransfer();
          document.activeElement.dispatchEvent(
            new ClipboardEvent("copy", { clipboardData: data, bubbles: true, cancelable: true }));
          return data.getData("text/plain");
        }"""
    )


def test_arrows_walk_from_cell_to_cell_and_stop_at_the_edge(table):
    press(table, "ArrowRight", "ArrowDown")
    expect(table.cell(HEM, "S")).to_be_focused()
    press(table, "Home")
    expect(table.page.locator(":focus")).to_have_attribute("data-column", "0")
    press(table, "ArrowLeft")
    expect(table.page.locator(":focus")).to_have_attribute("data-column", "0")
    press(table, "End")
    expect(table.cell(HEM, "3XL")).to_be_focused()


def test_only_one_cell_is_a_stop_of_the_tab_key(table):
    expect(table.page.locator('table.sizes [tabindex="0"]')).to_have_count(1)
    press(table, "ArrowDown")
    expect(table.page.locator('table.sizes [tabindex="0"]')).to_have_count(1)
    press(table, "Tab")
    assert table.page.locator("table.sizes :focus").count() == 0


def test_shift_and_arrows_mark_a_block(table):
    press(table, "Shift+ArrowRight", "Shift+ArrowDown")
    expect(table.page.locator('table.sizes [aria-selected="true"]')).to_have_count(4)
    expect(table.cell(HEM, "S")).to_have_attribute("aria-selected", "true")
    press(table, "Escape")
    expect(table.page.locator('table.sizes [aria-selected="true"]')).to_have_count(0)


def test_typing_replaces_and_a_decimal_comma_is_understood(table, workroom):
    table.page.keyboard.type("44,7")
    table.changing(lambda: press(table, "Enter"))
    expect(table.cell(CHEST, "XS")).to_have_text("44.7")
    expect(table.cell(CHEST, "XS")).to_have_class("n hand")
    expect(table.cell(HEM, "XS")).to_be_focused()
    assert workroom.held(table.item, "garment.hand_set_cm.XS.half_chest") == 44.7


def test_tab_takes_the_value_and_goes_right(table):
    table.page.keyboard.type("44.5")
    table.changing(lambda: press(table, "Tab"))
    expect(table.cell(CHEST, "S")).to_be_focused()
    expect(table.cell(CHEST, "XS")).to_have_text("44.5")


def test_f2_edits_what_is_there_and_escape_leaves_it_as_it_was(table, workroom):
    before, version = table.cell(CHEST, "XS").inner_text(), workroom.version(table.item)
    press(table, "F2")
    field = table.page.locator("td.editing input")
    expect(field).to_have_value(before)
    field.fill("99")
    press(table, "Escape")
    expect(table.cell(CHEST, "XS")).to_have_text(before)
    expect(table.cell(CHEST, "XS")).to_be_focused()
    assert workroom.version(table.item) == version


def test_a_word_in_a_cell_is_refused_and_the_cell_keeps_its_value(table):
    before = table.cell(CHEST, "XS").inner_text()
    table.page.keyboard.type("12a")
    press(table, "Enter")
    expect(table.strip()).to_contain_text("12a")
    expect(table.cell(CHEST, "XS")).to_have_text(before)
    expect(table.cell(CHEST, "XS")).to_have_attribute("data-hollow", "")
    table.picture("size-table-refused")


def test_a_block_is_copied_and_pasted_elsewhere(table, workroom):
    press(table, "Shift+ArrowRight", "Shift+ArrowDown")
    text = copied(table)
    rows = [row.split("\t") for row in text.split("\n")]
    assert rows == [
        [table.cell(CHEST, "XS").inner_text(), table.cell(CHEST, "S").inner_text()],
        [table.cell(HEM, "XS").inner_text(), table.cell(HEM, "S").inner_text()],
    ]
    table.cell(CHEST, "2XL").click()
    table.changing(lambda: paste(table, text))
    expect(table.cell(CHEST, "2XL")).to_have_text(rows[0][0])
    expect(table.cell(HEM, "3XL")).to_have_text(rows[1][1])
    assert workroom.held(table.item, "garment.hand_set_cm.3XL.half_hem") == float(rows[1][1])


def test_the_browsers_own_clipboard_carries_a_block(opened, style):
    window = opened(f"/items/{style}", permissions=["clipboard-read", "clipboard-write"])
    window.cell(CHEST, "XS").click()
    press(window, "Shift+ArrowRight", "Control+c")
    text = window.cell(CHEST, "S").inner_text()
    window.cell(CHEST, "2XL").click()
    window.changing(lambda: press(window, "Control+v"))
    expect(window.cell(CHEST, "3XL")).to_have_text(text)


def test_a_wrong_cell_in_a_paste_keeps_its_value_and_the_others_are_taken(table, workroom):
    before = table.cell(CHEST, "S").inner_text()
    table.changing(lambda: paste(table, "44.2\tn/a\r\n38,2\t40.7\r\n"))
    expect(table.strip()).to_contain_text("3 cells pasted")
    expect(table.strip()).to_contain_text("1 could not be read and keeps what it had")
    expect(table.page.locator(".hollow-cells")).to_contain_text(
        "Half chest, S “n/a” is no number. Try: write one number"
    )
    expect(table.page.locator(".hollow-cells")).to_contain_text(f"It keeps {before}.")
    expect(table.cell(CHEST, "S")).to_have_text(before)
    expect(table.cell(CHEST, "S")).to_have_attribute("data-hollow", "")
    expect(table.cell(CHEST, "XS")).to_have_text("44.2")
    assert workroom.held(table.item, "garment.hand_set_cm.XS.half_hem") == 38.2
    table.picture("size-table-paste")


def test_a_block_in_inches_with_fractions_is_pasted_as_a_buyer_writes_it(table, workroom):
    table.changing(lambda: paste(table, '17 1/4"\t18¼ in\t19-1/4"\n\t410 mm\t1,250\n'), steps=1)
    expect(table.strip()).to_contain_text("4 cells pasted")
    expect(table.strip()).to_contain_text("1 was empty and was left alone")
    expect(table.page.locator(".hollow-cells li")).to_have_count(1)
    expect(table.page.locator(".hollow-cells")).to_contain_text("“1,250” can be 1250 or 1.25.")
    held = workroom.held(table.item, "garment.hand_set_cm")
    assert held["XS"]["half_chest"] == pytest.approx(17.25 * 2.54)
    assert held["S"] == pytest.approx({"half_chest": 18.25 * 2.54, "half_hem": 41.0})
    assert workroom.held(table.item, "garment.measures_cm.half_chest") == pytest.approx(19.25 * 2.54)
    table.changing(lambda: press(table, "Control+z"))
    assert workroom.held(table.item, "garment.hand_set_cm.XS") is None
    expect(table.page.locator(".hollow-cells")).to_have_count(0)


def test_a_paste_of_words_alone_changes_nothing_and_says_why(table, workroom):
    version = workroom.version(table.item)
    paste(table, "tbc\ttbc")
    expect(table.strip()).to_contain_text("2 could not be read and keep what they had")
    expect(table.page.locator(".hollow-cells li")).to_have_count(2)
    assert workroom.version(table.item) == version
    assert table.breaks_rules() == []


def test_cells_beyond_the_table_are_counted(table):
    table.cell(CHEST, "3XL").click()
    table.changing(lambda: paste(table, "61.0\t63.0\t65.0"))
    expect(table.strip()).to_contain_text("1 cell pasted")
    expect(table.strip()).to_contain_text("2 fell outside the table")


def test_undo_takes_a_whole_paste_back_as_one_step(table):
    before = [table.cell(CHEST, size).inner_text() for size in ("XS", "S")]
    table.changing(lambda: paste(table, "44.2\t46.9"))
    expect(table.cell(CHEST, "S")).to_have_text("46.9")
    table.cell(CHEST, "S").click()
    table.changing(lambda: press(table, "Control+z"))
    assert [table.cell(CHEST, size).inner_text() for size in ("XS", "S")] == before


def test_a_value_is_filled_down_and_right(table):
    table.cell(HEM, "L").click()
    text = table.cell(HEM, "L").inner_text()
    press(table, "Shift+ArrowRight", "Shift+ArrowRight")
    table.changing(lambda: press(table, "Control+r"))
    expect(table.cell(HEM, "2XL")).to_have_text(text)
    table.cell(CHEST, "L").click()
    text = table.cell(CHEST, "L").inner_text()
    press(table, "Shift+ArrowDown")
    table.changing(lambda: press(table, "Control+d"))
    expect(table.cell(HEM, "L")).to_have_text(text)


def test_del_gives_a_cell_back_to_the_grade(table, workroom):
    arm = table.cell(ARM, "3XL")
    arm.click()
    assert arm.inner_text() == "22.0"
    table.changing(lambda: press(table, "Delete"))
    assert workroom.held(table.item, "garment.hand_set_cm.3XL.half_upper_arm") is None
    expect(arm).not_to_have_class("n hand")
    assert value(table, ARM, "3XL") != 22.0


def test_hand_set_cells_survive_a_new_base_measure_while_the_others_follow(table):
    graded = value(table, ARM, "L")
    table.cell(ARM, "M").click()
    base = value(table, ARM, "M")
    table.page.keyboard.type(str(base + 0.5))
    table.changing(lambda: press(table, "Enter"))
    assert value(table, ARM, "L") == pytest.approx(graded + 0.5)
    assert value(table, ARM, "2XL") == 20.2
    assert value(table, ARM, "3XL") == 22.0


def test_a_cell_being_edited_is_not_overwritten_by_a_new_study(table, workroom):
    press(table, "F2")
    field = table.page.locator("td.editing input")
    field.fill("45")
    version = workroom.version(table.item)
    workroom.edit(table.item, "garment.measures_cm.half_chest", "50")
    table.shows(version + 1)
    expect(table.cell(CHEST, "M")).to_have_text("50.0")
    expect(field).to_have_value("45")
    table.changing(lambda: press(table, "Enter"))
    expect(table.cell(CHEST, "XS")).to_have_text("45.0")


def test_a_new_measure_redraws_panels_and_moves_the_price_while_the_table_keeps_the_focus(table):
    price, panels = table.figure("lede", 0), table.part("panels").inner_html()
    table.cell("Body length from high point of shoulder", "M").click()
    table.page.keyboard.type("70")
    table.changing(lambda: press(table, "Enter"))
    assert table.figure("lede", 0) > price
    assert table.part("panels").inner_html() != panels
    expect(table.cell(CHEST, "M")).to_be_focused()


def test_pieces_by_size_are_typed_in_the_last_row(table, workroom):
    cell = table.page.locator('td[title="pieces in 3XL"]')
    cell.click()
    table.page.keyboard.type("40")
    table.changing(lambda: press(table, "Enter"))
    assert workroom.held(table.item, "order.size_mix.3XL") == 40
