"""A simulated person opens every page in this process: what it says, and what an edit does to it."""

import asyncio

import pytest
from nicegui import ElementFilter
from nicegui.testing import User

from loopwright.store.values import Edit, Kind
from loopwright.web.elements import Part, Wires
from loopwright.web.house import House
from loopwright.web.pages.lists import HEADINGS, NEW
from loopwright.web.size_preview import size_doors_html
from loopwright.web.start import demo_documents

PATIENCE_S = 600.0


@pytest.fixture
def example(house: House) -> dict[Kind, int]:
    """The invented example on the shelf: the first item of each kind."""
    first: dict[Kind, int] = {}
    for kind, document in demo_documents():
        item = house.shelf.add(kind, document, by="test")
        first.setdefault(kind, item.id)
    first[Kind.STRUCTURE] = house.shelf.add(Kind.STRUCTURE, NEW[Kind.STRUCTURE], by="test").id
    return first


def words_of(person: User, name: str) -> str:
    """HTML of a part of the page that the person looks at."""
    with person:
        parts = list(ElementFilter(kind=Part, marker=f"part-{name}"))
    assert parts, f"the page has no part “{name}”"
    return parts[0].content


async def until(holds, what: str) -> None:
    """Wait for something that the page will show."""
    for _ in range(int(PATIENCE_S / 0.02)):
        if holds():
            return
        await asyncio.sleep(0.02)
    raise AssertionError(f"never came: {what}")


async def test_an_empty_shelf_offers_three_questions_and_the_example(person):
    await person.open("/")
    begin = words_of(person, "begin")
    assert all(f'name="{asked}"' in begin for asked in ("garment", "yarn", "gauge"))
    assert "Nachtlinie 7" in begin
    assert "invented" in begin


async def test_the_three_answers_make_a_style_that_studies(person, house):
    answer = await person.http_client.post(
        "/api/start", json={"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "E 12"}
    )
    assert answer.status_code == 201
    await person.open(f"/items/{answer.json()['id']}")
    lede = words_of(person, "lede")
    assert "machine time" in lede
    assert "of yarn" in lede


async def test_the_season_shows_every_style_with_price_hours_and_yarn(person, example):
    await person.open("/")
    await until(lambda: "N7-014" in words_of(person, "styles"), "the styles of the season")
    assert all(number in words_of(person, "styles") for number in ("N7-014", "N7-021", "N7-060"))
    assert "12 gauge" in words_of(person, "hours")
    assert "night blue" in words_of(person, "yarn")


async def test_the_page_of_a_style_carries_brief_lede_and_all_sections(person, example):
    await person.open(f"/items/{example[Kind.STYLE]}")
    for name in ("findings", "fabric", "sizes", "panels", "minutes", "makeup", "price", "yarn", "checks"):
        assert words_of(person, name), name
    assert 'data-field="order.pieces"' in words_of(person, "brief")


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.STYLE])
async def test_the_page_of_a_thing_says_what_it_is(kind, person, house, example):
    item = house.shelf.load(example[kind])
    await person.open(f"/items/{item.id}")
    assert 'class="lede"' in words_of(person, "lede")
    assert "data-path" in words_of(person, "brief")


@pytest.mark.parametrize("kind", list(NEW))
async def test_the_list_of_a_kind_names_what_is_there_and_offers_a_new_one(kind, person, house, example):
    await person.open(f"/shelf/{kind.value}")
    assert HEADINGS[kind] in words_of(person, "about")
    assert "data-new" in words_of(person, "new")
    for line in house.shelf.lines(kind):
        assert f'href="/items/{line.id}"' in words_of(person, "list")


@pytest.mark.parametrize("kind", list(NEW))
async def test_what_a_new_thing_begins_with_can_be_kept_and_opened(kind, person):
    answer = await person.http_client.post("/api/items", json={"kind": kind.value, "document": NEW[kind]})
    assert answer.status_code == 201, answer.text
    await person.open(f"/items/{answer.json()['id']}")
    assert words_of(person, "lede")


async def test_the_history_tells_every_change_and_compares_two_versions(person, house, example):
    style = example[Kind.STYLE]
    house.shelf.change(style, [Edit(("order", "pieces"), 900)], base_version=1, by="Mara", label="Pieces: 900")
    await person.open(f"/items/{style}/history")
    assert "Mara" in words_of(person, "changes")
    assert "<td>640</td><td>900</td>" in words_of(person, "differences")


async def test_an_edit_of_another_program_reaches_the_open_page(person, example):
    style = example[Kind.STYLE]
    await person.open(f"/items/{style}")
    assert "At 640 pieces" in words_of(person, "lede")
    edit = {"path": ["order", "pieces"], "typed": "1 200"}
    answer = await person.http_client.post(f"/api/items/{style}/changes", json={"base_version": 1, "edits": [edit]})
    assert answer.status_code == 200, answer.text
    await until(lambda: "At 1\u00a0200 pieces" in words_of(person, "lede"), "the new lede")


async def test_looking_at_another_size_changes_panels_and_not_the_price(person, house, example):
    style = example[Kind.STYLE]
    await person.open(f"/items/{style}")
    price, panels = words_of(person, "price"), words_of(person, "panels")
    with person:
        wires = next(iter(ElementFilter(kind=Wires)))
    listener = next(iter(wires._event_listeners.values()))
    wires._handle_event({"listener_id": listener.id, "args": {"size": "3XL"}})
    await until(lambda: "size 3XL" in words_of(person, "panels"), "panels of 3XL")
    assert words_of(person, "panels") != panels
    assert words_of(person, "price") == price


async def test_what_is_not_there_is_said_in_words(person, example):
    await person.open("/items/99999")
    assert "lede" in words_of(person, "problem")
    await person.open("/shelf/hats")
    assert "hats" in words_of(person, "problem")


async def test_a_search_finds_styles_of_all_seasons(person, example):
    await person.open("/?find=keepsake")
    assert "N7-060" in words_of(person, "list")
    assert "N7-014" not in words_of(person, "list")


def press(person: User, marker: str, event: str) -> None:
    """What the browser would send when a person presses something in a part."""
    with person:
        part = next(iter(ElementFilter(kind=Part, marker=marker)))
    listener = next(each for each in part._event_listeners.values() if each.type == event)
    part._handle_event({"listener_id": listener.id, "args": {}})


async def test_a_long_season_says_how_far_it_is_and_can_be_stopped(person, house):
    style = next(document for kind, document in demo_documents() if kind is Kind.STYLE)
    for number in range(60):
        body = {**style["zones"]["body"], "loop_length_mm": 6.0 + number / 100}
        header = {"number": f"L-{number}", "name": f"long {number}", "season": "long"}
        house.shelf.add(Kind.STYLE, {**style, "style": header, "zones": {**style["zones"], "body": body}}, by="test")
    await person.open("/")
    await until(lambda: "of 60" in words_of(person, "progress"), "the progress")
    press(person, "part-progress", "stop")
    await until(lambda: "Stopped" in words_of(person, "progress"), "the end of the work")
    assert words_of(person, "styles") == ""


async def test_beside_the_size_table_stand_the_ways_out_and_the_way_in_for_a_buyers_table(person, example):
    item = example[Kind.STYLE]
    await person.open(f"/items/{item}")
    sizes = words_of(person, "sizes")
    for way in ("sizes.csv", "sizes.xlsx"):
        assert f'href="/api/items/{item}/{way}"' in sizes
    assert '<textarea name="text"' in sizes
    assert '<input type="file"' in sizes


async def test_a_table_that_was_taken_stands_in_the_grid(person, house, example):
    item = example[Kind.STYLE]
    await person.open(f"/items/{item}")
    told = (
        await person.http_client.post(
            f"/api/items/{item}/size-table", json={"text": "cm\tM\tXL\nHalf chest\t50,2\t56\n"}
        )
    ).json()
    assert "49.0 →" in told["preview"]
    assert ">50.2<" not in words_of(person, "sizes")
    asked = {"base_version": told["version"], "edits": told["edits"], "label": told["label"]}
    answer = await person.http_client.post(f"/api/items/{item}/changes", json=asked)
    assert answer.status_code == 200
    await until(lambda: ">50.2<" in words_of(person, "sizes"), "the measure of the base size")
    assert "Half chest, XL: set by hand" in words_of(person, "sizes")


async def test_who_may_only_look_is_offered_the_files_and_no_way_in(house, example):
    html = size_doors_html(house.shelf.load(example[Kind.STYLE]), may_edit=False)
    assert "sizes.xlsx" in html
    assert "<form" not in html


async def test_the_ways_of_making_come_after_the_rest_of_the_page(person, example):
    await person.open(f"/items/{example[Kind.STYLE]}")
    assert "Ways of making" in words_of(person, "ways")
    await until(lambda: "can be made" in words_of(person, "ways"), "the ways of making")
    assert 'class="old"' not in words_of(person, "ways")
    assert "fully fashioned and cup-seamed" in words_of(person, "ways").lower()
