"""The JSON door: what the page and a person's own programs ask of the shelf, and how a refusal is said."""

from __future__ import annotations

import asyncio
import gzip
import io
import json
import re
import tomllib
import zipfile
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx
import pytest

from loopwright.store.values import Kind
from loopwright.web.api import api_of
from loopwright.web.house import House
from loopwright.web.start import demo_documents

NAME, NOTE = ["style", "name"], ["style", "note"]
LOOP = ["zones", "body", "loop_length_mm"]
NOTHING_THERE = 999


@pytest.fixture
def pullover(house: House) -> int:
    return house.shelf.add(Kind.STYLE, demo_documents()[0][1], by="Ada at the table").id


async def save(
    door: httpx.AsyncClient, item: int, *edits: tuple[list[str], Any], base: int = 1, **more: str
) -> httpx.Response:
    asked = {"base_version": base, "edits": [{"path": path, "value": value} for path, value in edits], **more}
    return await door.post(f"/items/{item}/changes", json=asked)


async def document(door: httpx.AsyncClient, item: int) -> dict[str, Any]:
    read: dict[str, Any] = (await door.get(f"/items/{item}")).json()["document"]
    return read


def refusal(answer: httpx.Response) -> str:
    """The words of a refusal that a person can mend."""
    assert answer.status_code == 422, answer.text
    problem = answer.json()["problem"]
    assert set(problem) == {"where", "what", "limit", "tries"}
    assert problem["where"]
    assert problem["what"].endswith(".")
    return f"{problem['where']}: {problem['what']}"


async def test_a_new_yarn_is_on_the_list_and_is_found_by_a_word_of_its_name(door: httpx.AsyncClient) -> None:
    made = await door.post(
        "/items", json={"kind": "yarn", "document": {"yarns": {"main": {"name": "Fernweh", "count": "2/30 Nm"}}}}
    )
    assert made.status_code == 201
    assert made.json()["changed_by"] == "Ada at the table"
    listed = (await door.get("/items", params={"kind": "yarn", "find": "fernWEH"})).json()
    assert [(line["id"], line["name"], line["detail"]) for line in listed] == [
        (made.json()["id"], "Fernweh", "2/30 Nm")
    ]
    assert (await door.get("/items", params={"kind": "yarn", "find": "cotton"})).json() == []
    assert (await door.get("/items", params={"kind": "style"})).json() == []
    assert (await door.get("/items", params={"kind": "yarn", "offset": 1})).json() == []


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"kind": "yarn", "document": {}}, "yarn"),
        ({"kind": "yarn", "document": {"yarns": {"main": {}}}}, "count"),
        ({"kind": "scarf", "document": {}}, "kind"),
        ({"kind": "style", "document": {"knits": {}}}, "knits"),
        ({"kind": "style", "document": {"knits (tight)": {}}}, "knits (tight)"),
        ({"kind": "style", "document": {"[key]": {}}}, "[key]"),
        ({"kind": "style", "document": {"order": {"pieces": 5, "str": 1}}}, "str"),
        ({"kind": "style"}, "document"),
        ({"kind": "style", "document": {}, "colour": "blue"}, "colour"),
        ({"kind": "style", "document": {"style": {"note": "x" * 2_100_000}}}, "long"),
    ],
)
async def test_a_new_item_that_is_wrong_is_refused_in_words_and_not_kept(
    door: httpx.AsyncClient, house: House, sent: dict[str, Any], words: str
) -> None:
    assert words in refusal(await door.post("/items", json=sent))
    assert house.shelf.is_empty()


@pytest.mark.parametrize("body", [b"\xff", b"{", b"", b"[" * 100_000, b'{"a":' * 900 + b"1" + b"}" * 900])
async def test_a_body_that_is_no_json_is_refused(door: httpx.AsyncClient, house: House, body: bytes) -> None:
    answer = await door.post("/items", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert house.shelf.is_empty()


@pytest.mark.parametrize("place", ["key", "text"])
async def test_half_a_sign_is_refused_in_words(door: httpx.AsyncClient, house: House, place: str) -> None:
    header = {"na\ud800me": "Guard"} if place == "key" else {"name": "Gu\ud800ard"}
    sent = json.dumps({"kind": "style", "document": {"style": header}}).encode()
    answer = await door.post("/items", content=sent, headers={"content-type": "application/json"})
    assert "half a sign" in refusal(answer)
    assert house.shelf.is_empty()


@pytest.mark.parametrize(
    ("method", "path", "sent"),
    [
        ("GET", "", None),
        ("GET", "/history", None),
        ("GET", "/differences?first=1&second=2", None),
        ("GET", "/study", None),
        ("GET", "/sheet", None),
        ("GET", "/pack", None),
        ("GET", "/pack-files", None),
        ("GET", "/cost-sheet", None),
        ("GET", "/pack-page", None),
        ("GET", "/issues", None),
        ("GET", "/issues/1/pack", None),
        ("GET", "/issues/1/pack-files", None),
        ("GET", "/issues/1/record", None),
        ("GET", "/issue-differences?first=1", None),
        ("GET", "/issue-differences?first=1&second=2", None),
        ("POST", "/issues", {"after": 0}),
        ("POST", "/issues/1/questions", {"text": "Why?"}),
        ("POST", "/questions/1/answer", {"text": "So."}),
        ("GET", "/strokes", None),
        ("GET", "/why/price-1", None),
        ("GET", "/toml", None),
        ("POST", "/changes", {"base_version": 1, "edits": [{"path": NAME, "value": "x"}]}),
        ("POST", "/set-aside", {"base_version": 1, "edits": [{"path": NAME, "value": "x"}]}),
        ("POST", "/duplicate", None),
        ("POST", "/archive", None),
        ("POST", "/unarchive", None),
        ("POST", "/undo", None),
        ("POST", "/redo", None),
        ("POST", "/restore", {"version": 1}),
    ],
)
async def test_an_item_that_is_not_there_is_said_to_be_missing(
    door: httpx.AsyncClient, method: str, path: str, sent: Any
) -> None:
    assert "nothing under number 999" in refusal(await door.request(method, f"/items/{NOTHING_THERE}{path}", json=sent))


async def test_a_number_that_no_shelf_counts_to_is_refused(door: httpx.AsyncClient) -> None:
    for number in (0, -1, 2**31, 10**30):
        refusal(await door.get(f"/items/{number}"))


async def test_an_edit_says_what_it_changed_and_is_in_the_history(door: httpx.AsyncClient, pullover: int) -> None:
    saved = (await save(door, pullover, (LOOP, 5.5))).json()
    step = {"path": LOOP, "label": "Loop length, body", "before": "6.15", "after": "5.5"}
    assert (saved["version"], saved["merged"], saved["label"], saved["steps"]) == (
        2,
        False,
        "Loop length, body: 5.5",
        [step],
    )
    newest, made = (await door.get(f"/items/{pullover}/history")).json()
    assert (newest["action"], newest["by"], newest["steps"]) == ("edited", "Ada at the table", [step])
    assert made["action"] == "made"


async def test_a_wrong_edit_among_right_ones_saves_none_of_them(door: httpx.AsyncClient, pullover: int) -> None:
    before = await document(door, pullover)
    assert "pieces" in refusal(await save(door, pullover, (NAME, "Guard"), (["order", "pieces"], -4)))
    assert await document(door, pullover) == before


@pytest.mark.parametrize("base", [0, 2, 10**12])
async def test_an_edit_of_a_version_that_never_was_is_refused(
    door: httpx.AsyncClient, pullover: int, base: int
) -> None:
    refusal(await save(door, pullover, (NAME, "Guard"), base=base))


async def test_two_windows_that_set_different_fields_are_merged(door: httpx.AsyncClient, pullover: int) -> None:
    await save(door, pullover, (LOOP, 5.5), window="left")
    merged = await save(door, pullover, (NAME, "Guard"), window="right")
    assert (merged.status_code, merged.json()["merged"]) == (200, True)
    kept = await document(door, pullover)
    assert (kept["zones"]["body"]["loop_length_mm"], kept["style"]["name"]) == (5.5, "Guard")


async def test_a_clash_shows_both_values_and_the_losing_one_is_kept_in_the_history(
    door: httpx.AsyncClient, pullover: int
) -> None:
    await save(door, pullover, (LOOP, 5.5), window="left")
    clash = await save(door, pullover, (LOOP, 5.9), (NAME, "Guard"), window="right")
    assert clash.status_code == 409
    (conflict,) = clash.json()["conflicts"]
    assert (conflict["here"], conflict["there"], conflict["label"]) == ("5.9", "5.5", "Loop length, body")
    assert (conflict["version"], conflict["by"], clash.json()["version"]) == (2, "Ada at the table", 2)
    before = await document(door, pullover)
    assert before["style"]["name"] != "Guard"

    aside = {"base_version": 2, "edits": [{"path": LOOP, "typed": "5,9 mm"}], "window": "right"}
    answer = await door.post(f"/items/{pullover}/set-aside", json=aside)
    assert (answer.status_code, answer.json()["version"], answer.json()["document"]) == (200, 3, before)
    newest = (await door.get(f"/items/{pullover}/history")).json()[0]
    assert (newest["action"], newest["steps"][0]["after"]) == ("set aside", "5.9")

    assert (await save(door, pullover, (LOOP, 5.9), base=3, window="right")).status_code == 200


async def test_undo_redo_and_restore_walk_through_the_versions(door: httpx.AsyncClient, pullover: int) -> None:
    first = await document(door, pullover)
    await save(door, pullover, (LOOP, 5.5), label="tighter")
    assert "nothing to redo" in refusal(await door.post(f"/items/{pullover}/redo"))
    undone = (await door.post(f"/items/{pullover}/undo")).json()
    assert (undone["undo"], undone["redo"]) == (None, "tighter")
    assert await document(door, pullover) == first
    assert "nothing to undo" in refusal(await door.post(f"/items/{pullover}/undo"))
    await door.post(f"/items/{pullover}/redo")
    assert (await document(door, pullover))["zones"]["body"]["loop_length_mm"] == 5.5
    restored = (await door.post(f"/items/{pullover}/restore", json={"version": 1})).json()
    assert [step["after"] for step in restored["steps"]] == ["6.15"]
    assert await document(door, pullover) == first
    refusal(await door.post(f"/items/{pullover}/restore", json={"version": 77}))
    actions = [each["action"] for each in (await door.get(f"/items/{pullover}/history")).json()]
    assert actions == ["restored", "redone", "undone", "edited", "made"]


async def test_two_versions_are_told_apart_field_by_field(door: httpx.AsyncClient, pullover: int) -> None:
    await save(door, pullover, (LOOP, 5.5), (NOTE, "for the night"))
    asked = {"first": 1, "second": 2}
    steps = (await door.get(f"/items/{pullover}/differences", params=asked)).json()
    assert {(step["label"], step["after"]) for step in steps} == {
        ("Loop length, body", "5.5"),
        ("Note", "for the night"),
    }
    assert (await door.get(f"/items/{pullover}/differences", params={"first": 2, "second": 2})).json() == []
    refusal(await door.get(f"/items/{pullover}/differences", params={"first": 1, "second": 3}))


async def test_a_copy_has_a_number_of_its_own(door: httpx.AsyncClient, pullover: int) -> None:
    copies = [(await door.post(f"/items/{pullover}/duplicate")).json() for _ in range(2)]
    original = (await door.get(f"/items/{pullover}")).json()
    assert len({each["number"] for each in (original, *copies)}) == 3
    assert copies[0]["document"]["zones"] == original["document"]["zones"]


async def test_an_archived_item_leaves_the_list_and_comes_back(door: httpx.AsyncClient, pullover: int) -> None:
    assert (await door.post(f"/items/{pullover}/archive")).json()["archived"]
    assert (await door.get("/items", params={"kind": "style"})).json() == []
    (line,) = (await door.get("/items", params={"kind": "style", "archived": True})).json()
    assert line["id"] == pullover
    assert not (await door.post(f"/items/{pullover}/unarchive")).json()["archived"]
    assert len((await door.get("/items", params={"kind": "style"})).json()) == 1


def test_twenty_hands_on_twenty_fields_at_once_lose_nothing(house: House, pullover: int) -> None:
    """Twenty threads, each with a door and a loop of its own, all of them looking at the first version."""

    async def alone(number: int) -> httpx.Response:
        transport = httpx.ASGITransport(api_of(house))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return await save(client, pullover, (["make_up_minutes", f"seam_{number}"], 0.5 + number))

    with ThreadPoolExecutor(20) as hands:
        answers = list(hands.map(lambda number: asyncio.run(alone(number)), range(20)))
    assert [answer.status_code for answer in answers] == [200] * 20
    kept = house.shelf.load(pullover).document["make_up_minutes"]
    assert {key: kept.get(key) for key in kept if key.startswith("seam_")} == {
        f"seam_{number}": 0.5 + number for number in range(20)
    }
    assert sorted(each.version for each in house.shelf.history(pullover)) == list(range(1, 22))


async def test_a_style_goes_out_as_toml_and_comes_in_again_the_same(door: httpx.AsyncClient, pullover: int) -> None:
    toml = await door.get(f"/items/{pullover}/toml")
    assert toml.headers["content-type"] == "application/toml; charset=utf-8"
    assert tomllib.loads(toml.text) == await document(door, pullover)
    (item,) = (await door.post("/import", content=toml.content)).json()
    assert item["id"] != pullover
    assert item["document"] == await document(door, pullover)


async def test_several_yarns_of_one_file_become_several_items(door: httpx.AsyncClient) -> None:
    text = '[yarns.main]\ncount = "2/30 Nm"\n[yarns.stripe]\ncount = "30/2 Ne"\n'
    answer = await door.post("/import", content=b"\xef\xbb\xbf" + text.encode())
    assert answer.status_code == 201
    assert [(item["kind"], item["name"]) for item in answer.json()] == [("yarn", "main"), ("yarn", "stripe")]


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (b"[style\nname", "TOML"),
        (b"[style]\nname = '\xff'", "not a text file in UTF-8"),
        (b"a = " + b"[" * 5_000 + b"]" * 5_000, "nested"),
        (b"# " + b"x" * 3_000_000, "3.0 MB"),
        (b"[scarf]\nlength_cm = 180", "scarf"),
        (b"[style]\nname = 1999-12-31", "name"),
        (b"[order]\npieces = 1e400", "pieces"),
        (b"[yarns.main]\n", "count"),
    ],
)
async def test_a_file_that_is_no_style_is_refused_in_words_and_nothing_is_kept(
    door: httpx.AsyncClient, house: House, file: bytes, words: str
) -> None:
    assert words in refusal(await door.post("/import", content=file))
    assert house.shelf.is_empty()


async def test_a_backup_brings_everything_back_beside_what_is_there(door: httpx.AsyncClient, pullover: int) -> None:
    await save(door, pullover, (LOOP, 5.5), label="tighter")
    file = await door.get("/backup")
    assert file.headers["content-type"] == "application/gzip"
    brought = await door.post("/backup", content=file.content)
    assert (brought.status_code, brought.json()) == (201, {"items": 1, "changes": 2, "issues": 0})
    new, old = (await door.get("/items", params={"kind": "style"})).json()
    ids = {new["id"], old["id"]}
    (copy,) = ids - {pullover}
    assert await document(door, copy) == await document(door, pullover)
    assert (await door.post(f"/items/{copy}/undo")).json()["redo"] == "tighter"


@pytest.mark.parametrize("share", [0.0, 0.3, 0.99])
async def test_a_torn_backup_is_refused_and_changes_nothing(
    door: httpx.AsyncClient, house: House, pullover: int, share: float
) -> None:
    file = (await door.get("/backup")).content
    assert "not a whole back-up" in refusal(await door.post("/backup", content=file[: int(len(file) * share)]))
    assert house.shelf.count(Kind.STYLE) == 1


@pytest.mark.parametrize(
    "inside",
    [
        b"[]",
        b"{}",
        b"",
        b"not json",
        b"\xff\xfe",
        b"[" * 200_000,
        b'{"items":' * 5_000 + b"1" + b"}" * 5_000,
        b'{"format": "loopwright shelf", "version": 99}',
        b'{"format": "loopwright shelf", "version": 1, "written_at": "now", "items": []}',
    ],
    ids=["list", "nothing in it", "empty", "words", "other signs", "nested lists", "nested tables", "newer", "no time"],
)
async def test_a_packed_file_that_is_no_backup_is_refused(door: httpx.AsyncClient, house: House, inside: bytes) -> None:
    refusal(await door.post("/backup", content=gzip.compress(inside)))
    assert house.shelf.is_empty()


async def test_a_backup_with_one_hostile_item_among_good_ones_changes_nothing(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    whole = json.loads(gzip.decompress((await door.get("/backup")).content))
    good = whole["items"][0]
    for hostile in (
        {"version": 7},
        {"version": -1},
        {"kind": "scarf"},
        {"document": {"knits (tight)": {}}},
        {"document": {"style": {"name": "Gu\x00ard", "note": "x" * 3_000_000}}},
        {"document": {"order": {"pieces": -4}}},
        {"changes": []},
        {"changed_at": "9999-12-31T23:59:59Z"},
    ):
        file = json.dumps({**whole, "items": [good, {**good, **hostile}]}).encode()
        refusal(await door.post("/backup", content=gzip.compress(file)))
        assert house.shelf.count(Kind.STYLE) == 1, hostile


@pytest.mark.parametrize("file", [b"", b"\x1f\x8b", b"\x1f\x8b\x08\x00", b"PK\x03\x04", b"not packed at all"])
async def test_a_file_that_is_not_packed_is_refused(door: httpx.AsyncClient, house: House, file: bytes) -> None:
    assert "not a whole back-up" in refusal(await door.post("/backup", content=file))
    assert house.shelf.is_empty()


async def test_a_rate_card_with_a_wrong_rate_can_be_opened_and_mended(door: httpx.AsyncClient, house: House) -> None:
    card = next(document for kind, document in demo_documents() if kind is Kind.RATES)
    item = (await door.post("/items", json={"kind": "rates", "document": card})).json()["id"]
    hour = ["rates", "machine_hour"]
    await door.post(f"/items/{item}/changes", json={"base_version": 1, "edits": [{"path": hour, "typed": "a lot"}]})
    parts = (await house.desk.answer(item)).parts()
    assert "a lot" in parts["brief"]
    assert "no amount of money" in parts["findings"]
    await door.post(f"/items/{item}/changes", json={"base_version": 2, "edits": [{"path": hour, "typed": "4,20"}]})
    assert (await house.desk.answer(item)).parts()["rates"]


async def test_the_study_and_its_page_can_be_kept(door: httpx.AsyncClient, pullover: int) -> None:
    study = await door.get(f"/items/{pullover}/study")
    assert study.headers["content-type"] == "application/json"
    assert "N7-014" in json.dumps(study.json())
    sheet = await door.get(f"/items/{pullover}/sheet")
    assert sheet.headers["content-type"].startswith("text/html")
    assert "N7-014" in sheet.text


async def test_a_style_is_handed_over_as_pages_and_as_all_its_files(door: httpx.AsyncClient, pullover: int) -> None:
    pages = await door.get(f"/items/{pullover}/pack", params={"paper": "Letter"})
    assert pages.headers["content-type"] == "application/pdf"
    assert pages.content.startswith(b"%PDF-")
    whole = await door.get(f"/items/{pullover}/pack-files")
    names = zipfile.ZipFile(io.BytesIO(whole.content)).namelist()
    named = ["specification.pdf", "specification.xlsx", "panels.dxf", "sizes.csv", "pack.json", "pack.schema.json"]
    assert [name for name in names if not name.endswith((".svg", ".glb"))] == named
    assert {"sketch.svg", "panel-front.svg", "makeup.svg", "fabric-body-sleeve.glb"} <= set(names)
    form = await door.get("/pack-schema")
    assert form.json() == json.loads(zipfile.ZipFile(io.BytesIO(whole.content)).read("pack.schema.json"))
    cost = await door.get(f"/items/{pullover}/cost-sheet")
    names = zipfile.ZipFile(io.BytesIO(cost.content)).namelist()
    assert names == ["cost-confidential.pdf", "cost-confidential.xlsx"]


async def test_what_stops_a_pack_is_said(door: httpx.AsyncClient, pullover: int, house: House) -> None:
    assert "no paper" in refusal(await door.get(f"/items/{pullover}/pack", params={"paper": "B5"}))
    named = house.shelf.add(Kind.STYLE, {"style": {"name": "夜行"}, "yarns": {"m": {"count": "2/30 Nm"}}}, by="t").id
    assert "no panel to knit" in refusal(await door.get(f"/items/{named}/pack"))


async def test_every_figure_on_every_page_of_the_example_says_why(door: httpx.AsyncClient, house: House) -> None:
    items = (await door.post("/demo")).json()
    assert {item["kind"] for item in items} >= {"style", "yarn", "machine", "sizes", "rates", "swatch"}
    asked = 0
    for item in items:
        answer = await house.desk.answer(item["id"])
        assert answer.study is not None or item["kind"] == "swatch"  # a bench is no style
        sizes = [each.size for each in answer.study.sizes] if item is items[0] and answer.study else [""]
        pages = "".join(html for size in sizes for html in answer.parts(size).values())
        for key in set(re.findall(r'data-why="([^"]*)"', pages)):
            reason = await door.get(f"/items/{item['id']}/why/{key}")
            assert reason.status_code == 200, (item["name"], key, reason.text)
            assert re.sub(r"<[^>]*>|\s", "", reason.text), key
            asked += 1
    assert asked > 500


@pytest.mark.parametrize("key", ["price-99999", "nothing", "%00", "x" * 40, "x" * 41])
async def test_a_figure_that_is_not_on_the_page_has_no_reason(door: httpx.AsyncClient, pullover: int, key: str) -> None:
    refusal(await door.get(f"/items/{pullover}/why/{key}"))


async def test_a_figure_of_a_season_that_nobody_opened_has_no_reason(door: httpx.AsyncClient) -> None:
    assert "not on the page" in refusal(await door.get("/season/why", params={"key": "a-1", "season": "winter"}))


async def test_the_strokes_are_drawn_for_the_seconds_asked_for(door: httpx.AsyncClient, pullover: int) -> None:
    whole = await door.get(f"/items/{pullover}/strokes")
    assert whole.headers["content-type"] == "image/svg+xml"
    window = await door.get(f"/items/{pullover}/strokes", params={"size": "S", "start_s": 60, "end_s": 90})
    assert window.text.startswith("<svg")
    assert window.text != whole.text


@pytest.mark.parametrize(
    "asked",
    [
        {"start_s": 90, "end_s": 60},
        {"start_s": 60, "end_s": 60},
        {"start_s": 900_000},
        {"start_s": -1},
        {"start_s": "nan"},
        {"end_s": "inf"},
        {"start_s": 1e9},
        {"size": "x" * 41},
    ],
)
async def test_seconds_that_hold_no_stroke_are_refused(
    door: httpx.AsyncClient, pullover: int, asked: dict[str, Any]
) -> None:
    refusal(await door.get(f"/items/{pullover}/strokes", params=asked))


async def test_a_yarn_has_no_strokes_and_says_so(door: httpx.AsyncClient, house: House) -> None:
    yarn = house.shelf.add(Kind.YARN, {"yarns": {"main": {"count": "2/30 Nm"}}}, by="Ada")
    assert "no timeline" in refusal(await door.get(f"/items/{yarn.id}/strokes"))


async def test_three_answers_make_a_first_style_that_can_be_studied(door: httpx.AsyncClient) -> None:
    asked = {"garment": "pullover for men", "yarn": "2/30 Nm merino", "gauge": "E 12"}
    made = await door.post("/start", json=asked)
    assert (made.status_code, made.json()["kind"]) == (201, "style")
    assert made.json()["document"]["machine"] == {"gauge": 12}
    assert (await door.get(f"/items/{made.json()['id']}/study")).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"garment": "umbrella"}, "umbrella"),
        ({"yarn": ""}, "no yarn"),
        ({"yarn": "string"}, "string"),
        ({"gauge": ""}, "no gauge"),
        ({"gauge": "-3"}, "gauge"),
        ({"gauge": "fine"}, "fine"),
        ({"gauge": "9" * 40}, "gauge"),
        ({"colour": "blue"}, "colour"),
    ],
)
async def test_a_first_style_that_cannot_be_understood_is_refused(
    door: httpx.AsyncClient, house: House, wrong: dict[str, str], words: str
) -> None:
    asked = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12", **wrong}
    assert words in refusal(await door.post("/start", json=asked))
    assert house.shelf.is_empty()
