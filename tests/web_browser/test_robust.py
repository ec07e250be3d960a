"""What must not be lost or overwritten: two windows, a server that dies, twenty windows, wrong files, odd names."""

import re
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import expect

PATIENCE_S = 600  # a server on a busy machine
ODD_NAMES = {
    "markup": '<img src=x onerror="document.body.dataset.broken=1"><b>bold</b> & "quoted" \'single\'',
    "right to left": "סוודר של הדייל 12",
    "picture signs": "Night 🚂 train 👩🏽‍🏭",
}


@pytest.fixture
def two(opened, style):
    """Two windows on the same style."""
    return opened(f"/items/{style}"), opened(f"/items/{style}")


def test_different_fields_of_two_windows_are_both_kept_and_shown(two, style, workroom):
    one, other = two
    field = other.field("machine.speed_m_per_s")
    field.focus()
    field.fill("0.9")
    one.type("order.pieces", "300")
    version = workroom.version(style)
    field.press("Enter")
    for window in two:
        window.shows(version + 1)
        expect(window.field("order.pieces")).to_have_value("300")
        expect(window.field("machine.speed_m_per_s")).to_have_value("0.9")
        expect(window.part("lede")).to_contain_text("At 300 pieces")


def test_a_field_being_typed_in_is_not_overwritten_by_the_other_window(two, style):
    one, other = two
    field = other.field("order.pieces")
    field.focus()
    field.fill("77")
    one.type("order.pieces", "300")
    other.shows(one.room.version(style))
    expect(other.part("lede")).to_contain_text("At 300 pieces")
    expect(field).to_have_value("77")
    expect(field).to_be_focused()
    field.press("Escape")
    expect(field).to_have_value("300")


def clash_of(two) -> None:
    """Both windows type over the pieces: 300 is saved first, 400 then clashes."""
    one, other = two
    field = other.field("order.pieces")
    field.focus()
    field.fill("400")
    one.type("order.pieces", "300")
    other.shows(one.room.version(one.item))
    field.press("Enter")
    card = other.page.locator(".clash")
    expect(card).to_be_visible()
    expect(card).to_contain_text("300")
    expect(card).to_contain_text("400")
    expect(card).to_contain_text("Pieces was changed in another window at")


def values_in_history(workroom, style: int) -> set[str]:
    return {
        step["after"]
        for change in workroom.get(f"/api/items/{style}/history")
        for step in change["steps"]
        if step["path"] == ["order", "pieces"]
    }


def test_the_same_field_in_two_windows_asks_and_keeps_mine(two, style, workroom):
    clash_of(two)
    other = two[1]
    other.picture("clash-of-two-windows")
    other.changing(lambda: other.page.get_by_role("button", name="Keep 400 here").click())
    expect(other.page.locator(".clash")).to_have_count(0)
    for window in two:
        window.shows(workroom.version(style))
        expect(window.field("order.pieces")).to_have_value("400")
    assert workroom.held(style, "order.pieces") == 400
    assert {"300", "400"} <= values_in_history(workroom, style)


def test_the_same_field_in_two_windows_asks_and_takes_theirs(two, style, workroom):
    clash_of(two)
    other = two[1]
    with other.page.expect_response(re.compile("set-aside")):
        other.page.get_by_role("button", name="Take 300").click()
    expect(other.field("order.pieces")).to_have_value("300")
    assert workroom.held(style, "order.pieces") == 300
    history = workroom.get(f"/api/items/{style}/history")
    assert "400" in str(history), "the value that was not taken stays in the history"
    assert {"300"} <= values_in_history(workroom, style)


def test_after_a_clash_the_window_goes_on_saving(two, style, workroom):
    clash_of(two)
    other = two[1]
    other.page.get_by_role("button", name="Take 300").click()
    expect(other.field("order.pieces")).to_have_value("300")
    other.type("order.pieces", "500")
    assert workroom.held(style, "order.pieces") == 500
    assert other.page.locator(".clash").count() == 0


def test_a_server_that_dies_loses_nothing_that_was_typed_or_acknowledged(opened, empty):
    empty.post("/api/demo")
    style = empty.first("style")
    window = opened(f"/items/{style}", room=empty)
    window.may_lose_server = True
    window.type("order.pieces", "300")
    acknowledged = empty.version(style)
    empty.kill()
    for path, text in (("machine.speed_m_per_s", "0.9"), ("order.pieces", "555")):
        window.field(path).fill(text)
        window.field(path).press("Enter")
    expect(window.strip()).to_contain_text("Not connected since")
    expect(window.strip()).to_contain_text("2 changes so far")
    expect(window.part("lede")).to_contain_text("At 300 pieces")
    window.part("price").scroll_into_view_if_needed()
    expect(window.part("price")).to_be_visible()
    window.picture("not-connected")
    empty.start()
    assert empty.version(style) >= acknowledged
    assert empty.held(style, "order.pieces") in (300, 555)
    expect(window.field("order.pieces")).to_have_value("555")
    expect(window.part("lede")).to_contain_text("At 555 pieces")
    assert empty.held(style, "machine.speed_m_per_s") == 0.9
    assert empty.held(style, "order.pieces") == 555
    window.open(f"/items/{style}")
    expect(window.field("order.pieces")).to_have_value("555")


def test_one_edit_reaches_twenty_windows(workroom, opened, style):
    windows = [opened(f"/items/{style}", width=1000, height=700) for _ in range(20)]
    windows[0].type("order.pieces", "300")
    version = workroom.version(style)
    for window in windows:
        window.shows(version)
        expect(window.part("lede")).to_contain_text("At 300 pieces")


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """Files that are no style."""
    contents = {
        "prose.toml": b"This is a letter, not a style.\n",
        "picture.toml": bytes(range(256)) * 40,
        "huge.toml": b"# padding\n" * 300_000,
    }
    made = {}
    for name, content in contents.items():
        made[name] = tmp_path / name
        made[name].write_bytes(content)
    return made


@pytest.mark.parametrize(
    ("name", "words"),
    [("prose.toml", "TOML|line 1"), ("picture.toml", "UTF-8"), ("huge.toml", r"3\.0 MB.*at most 2 MB")],
)
def test_a_wrong_file_is_refused_in_words_and_the_page_stays(name, words, opened, files, workroom):
    window = opened("/shelf/yarn")
    count = len(workroom.get("/api/items?kind=yarn"))
    window.page.locator('input[data-bring="toml"]').set_input_files(files[name])
    expect(window.strip()).to_contain_text(re.compile(words))
    said = window.strip().inner_text()
    assert not re.search("Traceback|Exception|undefined|null", said)
    assert len(workroom.get("/api/items?kind=yarn")) == count
    window.picture(f"refused-{name}")


def test_a_wrong_back_up_is_refused_in_words(opened, files):
    window = opened("/")
    window.page.locator('input[data-bring="backup"]').set_input_files(files["prose.toml"])
    expect(window.strip()).to_contain_text("back-up")


def test_an_upload_past_the_limit_is_refused_by_the_server_too(workroom):
    answer = httpx.post(
        f"{workroom.url}/api/import",
        content=b"x" * 33_000_000,
        headers={"content-type": "application/octet-stream"},
        timeout=PATIENCE_S,
    )
    assert answer.status_code == 413


@pytest.mark.parametrize("kind", ODD_NAMES)
def test_an_odd_name_is_shown_as_text_everywhere(kind, opened, style, workroom):
    name = ODD_NAMES[kind]
    window = opened(f"/items/{style}")
    window.type("style.name", name)
    expect(window.field("style.name")).to_have_value(name)
    workroom.edit(style, "style.season", f"Odd {name}")
    window.type("yarns.merino.name", name)
    expect(window.part("yarn")).to_contain_text(name)
    for path in (f"/items/{style}", f"/items/{style}/history", "/?find=" + style_number(workroom, style)):
        window.open(path)
        assert name in window.page.locator("body").inner_text() or window.field("style.name").count()
        assert window.page.locator("img[src=x]").count() == 0
        assert window.page.locator("body[data-broken]").count() == 0
        assert not window.scrolls_sideways()
    window.picture(f"odd-name-{kind.replace(' ', '-')}")


def style_number(workroom, style: int) -> str:
    return workroom.get(f"/api/items/{style}")["number"]


def test_a_very_long_name_does_not_push_the_page_aside(opened, style):
    window = opened(f"/items/{style}")
    window.type("style.name", "Donaudampfschifffahrtsgesellschaft" * 5)
    assert not window.scrolls_sideways()
    window.open("/?find=Donaudampf")
    assert not window.scrolls_sideways()


def test_a_read_without_the_script_of_another_page_is_refused(workroom):
    """A page elsewhere in the same browser cannot drive the workroom."""
    answer = httpx.post(
        f"{workroom.url}/api/demo", json={}, headers={"origin": "http://elsewhere.example"}, timeout=PATIENCE_S
    )
    assert answer.status_code == 403
