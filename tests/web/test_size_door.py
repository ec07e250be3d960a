"""The size table through the JSON door: out as files, a buyer's table read against a style, and taken like an edit."""

from __future__ import annotations

import io
from typing import Any

import httpx
import openpyxl
import pytest

from loopwright.report.table_files import MOST_BYTES
from loopwright.store.values import Kind
from loopwright.web.guard import Guard
from loopwright.web.house import House
from loopwright.web.start import demo_documents

INCHES = 'inches\tS\tM\tL\nHalf chest\t18 1/4\t19¼\t20-1/4"\nKangaroo pocket\t8\t8\t8\nHalf upper arm\t\t6,75\tn/a\n'
CHEST = ["garment", "measures_cm", "half_chest"]
OCTETS = {"content-type": "application/octet-stream"}


@pytest.fixture
def pullover(house: House) -> int:
    return house.shelf.add(Kind.STYLE, demo_documents()[0][1], by="Ada at the table").id


async def pasted(door: httpx.AsyncClient, item: int, text: str, **more: str) -> dict[str, Any]:
    answer = await door.post(f"/items/{item}/size-table", json={"text": text, **more})
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


async def sent(door: httpx.AsyncClient, item: int, data: bytes, **more: str) -> httpx.Response:
    return await door.post(f"/items/{item}/size-file", content=data, headers=OCTETS, params=more)


async def take(door: httpx.AsyncClient, item: int, told: dict[str, Any], window: str = "") -> httpx.Response:
    asked = {"base_version": told["version"], "edits": told["edits"], "label": told["label"], "window": window}
    return await door.post(f"/items/{item}/changes", json=asked)


async def test_the_table_goes_out_as_csv_and_workbook_and_comes_back_the_same(
    door: httpx.AsyncClient, pullover: int
) -> None:
    csv = await door.get(f"/items/{pullover}/sizes.csv")
    assert csv.headers["content-type"].startswith("text/csv")
    workbook = await door.get(f"/items/{pullover}/sizes.xlsx")
    assert openpyxl.load_workbook(io.BytesIO(workbook.content)).sheetnames == ["Size specification", "Grade"]
    for file in (csv.content, workbook.content):
        told = (await sent(door, pullover, file, name="sizes")).json()
        assert (told["edits"], told["brought"]["refused"]) == ([], [])
        assert "Nothing differs" in told["preview"]
        assert "data-take" not in told["preview"]


async def test_reading_a_table_saves_nothing_and_taking_it_is_one_change_that_undo_takes_back(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    before = house.shelf.load(pullover)
    told = await pasted(door, pullover, INCHES)
    assert house.shelf.load(pullover) == before
    saved = await take(door, pullover, told)
    assert saved.status_code == 200
    assert saved.json()["version"] == before.version + 1
    assert saved.json()["label"] == "Measures from a pasted table"
    assert house.shelf.load(pullover).document["garment"]["measures_cm"]["half_chest"] == 48.895
    assert (await pasted(door, pullover, INCHES))["edits"] == []
    await door.post(f"/items/{pullover}/undo")
    assert house.shelf.load(pullover).document == before.document


async def test_the_preview_says_old_and_new_and_every_refusal_with_its_place(
    door: httpx.AsyncClient, pullover: int
) -> None:
    told = await pasted(door, pullover, INCHES)
    for words in (
        "<span>49.0 →</span> <span>48.9</span>",
        "<b>Row 3, column A</b> “Kangaroo pocket”: no point of measure of this garment",
        "<b>Row 4, column D</b> “n/a”: “n/a” is no number.",
        "Read in inches.",
        "data-take",
        "data-leave",
    ):
        assert words in told["preview"]


async def test_what_stands_in_a_table_is_shown_as_text_and_never_run(door: httpx.AsyncClient, pullover: int) -> None:
    text = "cm\tM\tL\nHalf chest\t50\t<script>alert(1)</script>\n<img src=x onerror=alert(1)>\t5\t5\n"
    file = (await sent(door, pullover, text.encode(), name="<b>.csv")).json()
    for preview in ((await pasted(door, pullover, text))["preview"], file["preview"]):
        assert "<script" not in preview
        assert "<img" not in preview
    assert "&lt;b&gt;.csv" in file["preview"]


async def test_a_field_that_another_window_set_meanwhile_is_a_clash_with_both_values(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    told = await pasted(door, pullover, INCHES)
    other = {"base_version": 1, "edits": [{"path": CHEST, "typed": "51"}], "window": "other"}
    assert (await door.post(f"/items/{pullover}/changes", json=other)).status_code == 200
    answer = await take(door, pullover, told, window="this")
    assert answer.status_code == 409
    (conflict,) = answer.json()["conflicts"]
    assert (conflict["path"], conflict["here"], conflict["there"]) == (CHEST, "48.895", "51")
    assert house.shelf.load(pullover).document["garment"]["measures_cm"]["half_chest"] == 51
    elsewhere = {"base_version": 2, "edits": [{"path": ["style", "note"], "value": "x"}], "window": "other"}
    again = await pasted(door, pullover, INCHES)
    assert (await door.post(f"/items/{pullover}/changes", json=elsewhere)).status_code == 200
    merged = (await take(door, pullover, again, window="this")).json()
    assert merged["merged"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "it is empty"),
        (b"%PDF-1.7 drawn", "it is a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "before XLSX"),
        (b"PK\x03\x04 torn", "damaged"),
        (b"\x00\x01\x02", "no text and no workbook"),
        (b"a;b\nc;d\n", "size"),
        (b"x" * (MOST_BYTES + 1), "far larger"),
    ],
)
async def test_a_file_that_is_no_size_table_is_refused_in_words(
    door: httpx.AsyncClient, house: House, pullover: int, data: bytes, words: str
) -> None:
    before = house.shelf.load(pullover)
    answer = await sent(door, pullover, data, name="spec.xlsx")
    assert answer.status_code == 422
    assert words in answer.json()["problem"]["what"]
    assert answer.json()["problem"]["where"].startswith("file spec.xlsx")
    assert house.shelf.load(pullover) == before


@pytest.mark.parametrize("asked", [{"text": ""}, {"text": "cm"}, {"text": INCHES, "unit": "ell"}, {}])
async def test_a_pasted_text_that_is_no_table_is_refused(
    door: httpx.AsyncClient, pullover: int, asked: dict[str, str]
) -> None:
    answer = await door.post(f"/items/{pullover}/size-table", json=asked)
    assert answer.status_code == 422
    assert answer.json()["problem"]["what"].endswith(".")


async def test_a_thing_without_a_size_table_says_so(door: httpx.AsyncClient, house: House) -> None:
    yarn = house.shelf.add(Kind.YARN, {"yarns": {"main": {"count": "2/30 Nm"}}}, by="Ada at the table").id
    for answer in (await door.get(f"/items/{yarn}/sizes.csv"), await sent(door, yarn, INCHES.encode())):
        assert "no size table yet" in answer.json()["problem"]["what"]


async def test_the_guard_lets_a_file_in_only_as_plain_bytes_and_of_a_bounded_size(house: House, pullover: int) -> None:
    from loopwright.web.api import api_of

    transport = httpx.ASGITransport(Guard(api_of(house), most_bytes=MOST_BYTES))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        way = f"/items/{pullover}/size-file"
        assert (await client.post(way, content=INCHES.encode(), headers=OCTETS)).status_code == 200
        assert (await client.post(way, files={"file": ("a.csv", INCHES.encode())})).status_code == 415
        assert (await client.post(way, content=b"x" * (MOST_BYTES + 1), headers=OCTETS)).status_code == 413


async def test_of_many_cells_typed_together_each_that_cannot_be_read_is_named_with_its_reason(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    paths = [["garment", "hand_set_cm", size, "half_chest"] for size in ("XS", "S", "L", "XL")]
    typed = ["44,2", "n/a", "1,250", '21 1/2"']
    edits = [{"path": path, "typed": text} for path, text in zip(paths, typed, strict=True)]
    answer = await door.post(f"/items/{pullover}/changes", json={"base_version": 1, "edits": edits})
    assert answer.status_code == 422
    told = answer.json()
    assert [cell["path"] for cell in told["cells"]] == [paths[1], paths[2]]
    assert "“n/a” is no number" in told["cells"][0]["problem"]["what"]
    assert "1250 or 1.25" in told["cells"][1]["problem"]["what"]
    assert house.shelf.load(pullover).version == 1


async def test_an_armhole_typed_for_an_armhole_depth_takes_its_place_in_one_step(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    before = house.shelf.load(pullover).document
    edits = [{"path": ["garment", "measures_cm", "armhole_straight"], "typed": "20"}]
    assert "armhole_depth" in before["garment"]["measures_cm"]
    await door.post(f"/items/{pullover}/changes", json={"base_version": 1, "edits": edits})
    held = house.shelf.load(pullover).document["garment"]["measures_cm"]
    assert (held["armhole_straight"], "armhole_depth" in held) == (20, False)
    await door.post(f"/items/{pullover}/undo")
    assert house.shelf.load(pullover).document == before
