"""Ways through the shelf: draw a structure and knit it, take a yarn, type over each kind of thing, history, files."""

import re
import tomllib

import pytest
from playwright.sync_api import expect

from loopwright.web.pages.lists import NEW


@pytest.fixture
def thing(workroom):
    """Puts a new thing of a kind on the shelf, as the button of its list does."""
    made: list[int] = []

    def new(kind: str) -> int:
        made.append(workroom.post("/api/items", {"kind": kind, "document": NEW[kind]})["id"])
        return made[-1]

    yield new
    for each in made:
        workroom.post(f"/api/items/{each}/archive")


def courses(workroom, item: int) -> list[str]:
    return workroom.held(item, "structures.own.courses")


def test_a_structure_is_drawn_by_keys_alone_and_its_diagrams_follow(opened, thing, workroom):
    window = opened(f"/items/{thing('structure')}")
    diagrams = window.part("structure").locator("figure.picture")
    before = diagrams.first.inner_html()
    beds = window.page.locator(".beds")
    beds.focus()
    for key, expected in (("t", "F:TK B:--"), ("ArrowUp", None), ("k", None), ("Insert", None)):
        if key in ("ArrowUp",):
            window.page.keyboard.press(key)
        else:
            window.changing(lambda key=key: window.page.keyboard.press(key))
        if expected:
            assert courses(workroom, window.item)[0].startswith("F:TK")
    assert len(courses(workroom, window.item)) == 3
    expect(beds).to_be_focused()
    assert diagrams.first.inner_html() != before, "the point paper shows the tuck"
    expect(window.page.locator("#notation-says")).to_contain_text("Feed 2")
    window.picture("structure-by-keys")


def test_a_structure_is_drawn_with_the_mouse(opened, thing, workroom):
    window = opened(f"/items/{thing('structure')}")
    window.page.locator('[data-brush="T"]').click()
    expect(window.page.locator('[data-brush="T"]')).to_have_attribute("aria-pressed", "true")
    cell = window.page.locator('.cell[data-row="0"][data-place="1"]')
    window.changing(lambda: cell.click())
    assert courses(workroom, window.item)[0].startswith("F:KT")
    window.changing(lambda: window.page.get_by_role("button", name=re.compile("needle more")).click())
    assert courses(workroom, window.item)[0].startswith("F:KTT")
    window.changing(lambda: window.page.locator(".saved [data-do=undo]").click())
    expect(window.page.locator(".beds")).to_have_attribute("aria-label", re.compile("2 needles"))


def test_a_block_of_a_notation_is_written_at_once(opened, thing, workroom):
    window = opened(f"/items/{thing('structure')}")
    window.page.locator(".beds").focus()
    for key in ("Shift+ArrowRight", "Shift+ArrowUp"):
        window.page.keyboard.press(key)
    window.changing(lambda: window.page.keyboard.press("m"))
    assert courses(workroom, window.item)[0] == "F:MM B:MM"


def test_a_structure_of_ones_own_is_knitted_in_a_style(opened, thing, style, workroom):
    own = thing("structure")
    workroom.post(
        f"/api/items/{own}/changes",
        {"base_version": 1, "edits": [{"path": ["structures", "own", "courses"], "value": ["F:KT B:KK", "F:TK B:KK"]},
                                      {"path": ["structures", "own", "name"], "typed": "Own tucks"}]},
    )  # fmt: skip
    window = opened(f"/items/{style}")
    mass = window.figure("lede", 2)
    group = window.page.locator(".brief .group", has=window.page.locator("h2", has_text=re.compile("^Body$")))
    group.get_by_role("button", name="own structure").click()
    window.changing(lambda: group.locator(".shelf-list button", has_text="Own tucks").click())
    expect(window.part("fabric")).to_contain_text("Own tucks")
    assert workroom.held(style, "zones.body.structure") == "own"
    assert window.figure("lede", 2) != mass
    window.picture("own-structure-in-a-style")


def test_a_yarn_is_taken_from_the_shelf_into_a_style(opened, style, workroom):
    window = opened(f"/items/{style}")
    price = window.figure("lede", 0)
    group = window.page.locator(".brief .group", has=window.page.locator("h2", has_text=re.compile("^Yarn$")))
    group.get_by_role("button", name="take one from the shelf").first.click()
    listed = group.locator(".shelf-list button")
    expect(listed.filter(has_text="Fernweh merino")).to_be_visible()
    window.changing(lambda: listed.filter(has_text="Gleiswolle lambswool").click())
    expect(window.field("yarns.merino.name")).to_have_value(re.compile("Gleiswolle"))
    assert workroom.held(style, "yarns.merino.count") == "2/15 Nm"
    assert window.figure("lede", 0) != price


@pytest.mark.parametrize(
    ("kind", "path", "typed", "held"),
    [
        ("machine", "machine.gauge", "7", 7),
        ("yarn", "yarns.new.count", "2/24 Nm", "2/24 Nm"),
        ("rates", "rates.machine_hour", "5,10", 5.1),
        ("sizes", "garment.sizes", "XS–XL", ["XS", "S", "M", "L", "XL"]),
        ("swatch", "swatches.new.loop_length_mm", "5,9", 5.9),
    ],
)
def test_a_thing_of_the_shelf_is_typed_over_and_answers(kind, path, typed, held, opened, thing, workroom):
    window = opened(f"/items/{thing(kind)}")
    said = window.page.locator(".study").inner_text()
    window.type(path, typed)
    assert workroom.held(window.item, path) == held
    assert window.page.locator(".study").inner_text() != said, "the page answers to the change"
    window.picture(f"thing-{kind}")


def test_sizes_on_the_shelf_have_their_grid(opened, thing, workroom):
    window = opened(f"/items/{thing('sizes')}")
    cell = window.cell("Half chest", "M")
    cell.click()
    window.page.keyboard.type("50,5")
    window.changing(lambda: window.page.keyboard.press("Enter"))
    assert workroom.held(window.item, "garment.measures_cm.half_chest") == 50.5
    expect(cell).to_have_text("50.5")


def test_two_versions_are_compared_and_an_older_one_is_brought_back(opened, style, workroom):
    window = opened(f"/items/{style}")
    window.type("order.pieces", "300")
    window.type("machine.speed_m_per_s", "0.9")
    newest = workroom.version(style)
    window.open(f"/items/{style}/history?first={newest - 2}&second={newest}")
    rows = window.part("differences").locator("tbody tr")
    expect(rows).to_have_count(2)
    expect(window.part("differences")).to_contain_text("640")
    window.picture("history")
    row = window.part("changes").locator("tr", has=window.page.locator(f'[data-value="{newest - 2}"]'))
    with window.page.expect_navigation():
        row.get_by_role("button", name="bring back").click()
    window.ready()
    assert workroom.held(style, "order.pieces") == 640
    expect(window.field("order.pieces")).to_have_value("640")
    assert workroom.version(style) == newest + 1, "bringing back is a change too"


def test_a_style_is_archived_and_brought_back(opened, workroom):
    made = workroom.post(f"/api/items/{workroom.first('style')}/duplicate")
    window = opened(f"/items/{made['id']}")
    with window.page.expect_navigation():
        window.page.get_by_role("button", name="archive").click()
    window.open(f"/?find={made['number']}")
    assert (
        made["number"] not in window.part("lede").inner_text() or window.part("list").locator("tbody tr").count() == 0
    )
    window.open("/?archived=true")
    expect(window.part("list")).to_contain_text(made["number"])
    window.open(f"/items/{made['id']}")
    with window.page.expect_navigation():
        window.page.get_by_role("button", name="bring back").click()
    assert workroom.get(f"/api/items/{made['id']}")["archived"] is False
    workroom.post(f"/api/items/{made['id']}/archive")


def test_a_style_leaves_as_toml_and_comes_in_again(opened, style, workroom, tmp_path):
    window = opened(f"/items/{style}")
    with window.page.expect_download() as waiting:
        window.page.get_by_role("link", name="as TOML").click()
    file = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(file)
    written = tomllib.loads(file.read_text("utf-8"))
    assert written["order"]["pieces"] == 640
    window.open("/")
    with window.page.expect_navigation():
        window.page.locator('input[data-bring="toml"]').set_input_files(file)
    window.ready()
    made = int(window.page.url.rpartition("/")[2])
    assert made != style
    document = workroom.get(f"/api/items/{made}")["document"]
    assert document["garment"] == workroom.get(f"/api/items/{style}")["document"]["garment"]
    expect(window.part("lede")).to_contain_text("At 640 pieces")
    workroom.post(f"/api/items/{made}/archive")


def test_the_whole_shelf_is_backed_up_and_restored_into_an_empty_one(opened, workroom, empty, tmp_path):
    window = opened("/")
    with window.page.expect_download() as waiting:
        window.page.get_by_role("link", name="back the whole shelf up").click()
    file = tmp_path / "shelf.json.gz"
    waiting.value.save_as(file)
    empty.post("/api/start", {"garment": "pullover for men", "yarn": "2/30 Nm merino", "gauge": "12"})
    other = opened("/", room=empty)
    with other.page.expect_navigation():
        other.page.locator('input[data-bring="backup"]').set_input_files(file)
    other.ready()
    numbers = {line["number"] for line in empty.get("/api/items?kind=style")}
    assert {"N7-014", "N7-021", "N7-060"} <= numbers
    assert len(empty.get("/api/items?kind=yarn")) >= 3


def test_the_sheet_to_keep_is_the_study_in_one_file(opened, style):
    window = opened(f"/items/{style}")
    with window.page.expect_download() as waiting:
        window.page.get_by_role("link", name="sheet to keep (HTML)").click()
    text = waiting.value.path().read_text("utf-8")
    assert "640 pieces" in text
    assert "<svg" in text
