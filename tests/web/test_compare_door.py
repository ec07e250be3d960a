"""The door of a comparison: two styles, two yarns, and what cannot be compared."""

import io
import re

import httpx
import openpyxl
import pypdf

from loopwright.store.values import Kind
from loopwright.web.house import House

MEDIA = {
    "pages": "application/pdf",
    "workbook": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "sheet": "text/html",
}


async def shelf_of(door: httpx.AsyncClient, kind: Kind) -> list[int]:
    await door.post("/demo")
    return sorted(line["id"] for line in (await door.get("/items", params={"kind": kind.value})).json())


def problem(answer: httpx.Response) -> str:
    assert answer.status_code == 422, answer.text
    return str(answer.json()["problem"]["what"])


async def test_two_styles_come_as_data_and_as_files(door: httpx.AsyncClient) -> None:
    one, two, *_ = await shelf_of(door, Kind.STYLE)
    told = (await door.get(f"/compare/{one}/{two}")).json()
    assert told["format"] == "loopwright comparison 1"
    assert told["first"]["name"] != told["second"]["name"]
    turned = (await door.get(f"/compare/{two}/{one}")).json()
    apart = {row["key"]: row["difference"]["value"] for row in told["quantities"] if row["difference"]}
    back = {row["key"]: row["difference"]["value"] for row in turned["quantities"] if row["difference"]}
    assert apart
    assert all(abs(apart[key] + back[key]) < 1e-9 for key in apart.keys() & back.keys())
    files = {name: await door.get(f"/compare/{one}/{two}/{name}") for name in MEDIA}
    assert {name: answer.headers["content-type"].partition(";")[0] for name, answer in files.items()} == MEDIA
    assert "What differs" in pypdf.PdfReader(io.BytesIO(files["pages"].content)).pages[0].extract_text()
    assert openpyxl.load_workbook(io.BytesIO(files["workbook"].content))["Compared"].max_row > 20


async def test_every_figure_of_the_page_says_why(door: httpx.AsyncClient, house: House) -> None:
    one, two, *_ = await shelf_of(door, Kind.STYLE)
    parts = (await house.comparisons.answer(one, two)).parts
    keys = set(re.findall(r'data-why="([^"]*)"', "".join(parts.values())))
    assert len(keys) > 60
    for key in keys:
        reason = await door.get(f"/compare/{one}/{two}/why", params={"key": key})
        assert reason.status_code == 200, key
        assert "Why" in reason.text
    assert "not on the page" in problem(await door.get(f"/compare/{one}/{two}/why", params={"key": "compare-99999"}))


async def test_a_change_of_a_style_is_in_the_next_comparison(door: httpx.AsyncClient) -> None:
    one, two, *_ = await shelf_of(door, Kind.STYLE)

    async def grams() -> float:
        rows = (await door.get(f"/compare/{one}/{two}")).json()["quantities"]
        return float(next(row["first"]["value"] for row in rows if row["key"] == "yarn_g"))

    before = await grams()
    edit = {"base_version": 1, "edits": [{"path": ["zones", "body", "loop_length_mm"], "typed": "6.6"}]}
    assert (await door.post(f"/items/{one}/changes", json=edit)).status_code == 200
    assert await grams() != before


async def test_two_yarns_are_tried_in_the_same_garment(door: httpx.AsyncClient, house: House) -> None:
    yarns = await shelf_of(door, Kind.YARN)
    for other in yarns[1:]:
        answer = await house.comparisons.answer(yarns[0], other)
        assert "tried in the same pullover" in answer.parts["lede"]
        assert answer.compared.row("yarn_g").difference is not None
        first, second = (study.style.garment for study in (answer.compared.first, answer.compared.second))
        assert first == second


async def test_what_cannot_be_compared_is_refused_in_words(door: httpx.AsyncClient, house: House) -> None:
    one, *_ = await shelf_of(door, Kind.STYLE)
    yarn, *_ = await shelf_of(door, Kind.YARN)
    machine, *_ = await shelf_of(door, Kind.MACHINE)
    assert "both sides" in problem(await door.get(f"/compare/{one}/{one}"))
    assert "cannot be compared" in problem(await door.get(f"/compare/{one}/{yarn}"))
    assert "cannot be compared" in problem(await door.get(f"/compare/{machine}/{machine + 1}"))
    assert problem(await door.get(f"/compare/{one}/99999"))
    assert "no paper" in problem(await door.get(f"/compare/{one}/{one + 1}/pages", params={"paper": "B5"}))
    odd = house.shelf.add(Kind.STYLE, {"style": {"name": "bare"}}, by="t").id
    half = (await door.get(f"/compare/{one}/{odd}")).json()
    assert {row["verdict"] for row in half["quantities"]} == {"cannot be told"}
