"""What people type into a field of the page: decimal commas, inches, ranges of sizes, other scripts, and nonsense."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from loopwright.store.document import value_at
from loopwright.store.values import Kind
from loopwright.web.house import House
from loopwright.web.start import demo_documents

NAME, NOTE = "style.name", "style.note"
LOOP = "zones.body.loop_length_mm"


@pytest.fixture
def pullover(house: House) -> int:
    return house.shelf.add(Kind.STYLE, demo_documents()[0][1], by="Ada at the table").id


async def typed(door: httpx.AsyncClient, item: int, path: str, text: str) -> httpx.Response:
    asked = {"base_version": 1, "edits": [{"path": path.split("."), "typed": text}]}
    return await door.post(f"/items/{item}/changes", json=asked)


@pytest.mark.parametrize(
    ("path", "text", "value"),
    [
        (LOOP, "5,9", 5.9),
        (LOOP, " 5.9 mm ", 5.9),
        (LOOP, "0,59 cm", 5.9),
        ("garment.chest_ease_cm", "2 1/4 in", 5.715),
        ("garment.chest_ease_cm", "½ in", 1.27),
        ("garment.measures_cm.half_chest", "49,5", 49.5),
        ("garment.measures_cm.half_chest", "495 mm", 49.5),
        ("garment.measures_cm.half_chest", "19 1/4 in", 48.895),
        ("garment.measures_cm.half_chest", '19-1/4"', 48.895),
        ("garment.hand_set_cm.XL.half_chest", "21¼″", 53.975),
        ("garment.hand_set_cm.XL.half_chest", "21 1⁄4 inches", 53.975),
        ("machine.bed_in", "19 1/2", 19.5),
        ("machine.gauge", "E 14", 14),
        ("order.pieces", "800", 800),
        ("garment.sizes", "XS–3XL", ["XS", "S", "M", "L", "XL", "2XL", "3XL"]),
        ("garment.sizes", "s-l", ["S", "M", "L"]),
        ("garment.sizes", "M; L", ["M", "L"]),
        ("garment.cords", "Yes", True),
        ("yarns.fernweh.knitting_loss", "7 %", 0.07),
        ("order.colours", "night blue 440", [{"name": "night blue", "share": 440}]),
        (NAME, "=1+1", "=1+1"),
        (NAME, "  夜行列車 Ωμέγα  ", "夜行列車 Ωμέγα"),
        (NAME, "<script>alert(1)</script>", "<script>alert(1)</script>"),
        (NAME, "x" * 200, "x" * 200),
    ],
)
async def test_what_is_typed_is_read_as_the_trade_writes_it(
    door: httpx.AsyncClient, house: House, pullover: int, path: str, text: str, value: Any
) -> None:
    asked = path.replace("fernweh", next(iter(demo_documents()[0][1]["yarns"])))
    before = house.shelf.load(pullover).document
    saved = await typed(door, pullover, asked, text)
    assert saved.status_code == 200, saved.text
    after = house.shelf.load(pullover).document
    kept = value_at(after, tuple(asked.split(".")))
    assert kept == (pytest.approx(value) if isinstance(value, float) else value)
    top = asked.split(".")[0]
    assert {key: part for key, part in after.items() if key != top} == {
        key: part for key, part in before.items() if key != top
    }


async def test_an_emptied_field_is_taken_out_and_undo_brings_it_back(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    before = house.shelf.load(pullover).document
    saved = (await typed(door, pullover, LOOP, "  ")).json()
    assert saved["label"] == "Loop length, body left out"
    assert "loop_length_mm" not in house.shelf.load(pullover).document["zones"]["body"]
    await door.post(f"/items/{pullover}/undo")
    assert house.shelf.load(pullover).document == before


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        ("order.pieces", "-5", "-5"),
        ("order.pieces", "1,5", "not a whole number"),
        ("order.pieces", "many", "many"),
        ("order.pieces", "9" * 4_000, "hundreds of digits"),
        ("order.pieces", "1e400", "1e400"),
        ("order.pieces", "nan", "nan"),
        ("order.pieces", "1/0", "divides by nothing"),
        ("order.pieces", "1,200", "1200 or 1.200"),
        (LOOP, "6 kg", "kg"),
        (LOOP, "-6", "-6"),
        (LOOP, "=1+1", "=1+1"),
        (LOOP, "9" * 10_000, "hundreds of digits"),
        (LOOP, "٦٫١٥ 米", "米"),
        ("garment.measures_cm.half_chest", "1,250", "1250 or 1.25"),
        ("garment.measures_cm.half_chest", "49 50", "holds 2 numbers"),
        ("garment.measures_cm.half_chest", "495", "495 cm"),
        ("garment.hand_set_cm.XL.half_chest", "19 lb", "lb"),
        ("garment.cords", "perhaps", "neither yes nor no"),
        ("garment.block", "poncho", "not among the choices"),
        (NAME, "x" * 10_000, "too long"),
        (NAME, "Gu\x00ard", "U+0000"),
        (NAME, "Gu\x1b[31mard", "U+001B"),
        ("machine", "wide", "no such field"),
        ("scarf.length", "180", "no such field"),
        ("__class__.__init__", "x", "no such field"),
    ],
)
async def test_what_cannot_be_read_is_refused_in_words_and_nothing_changes(
    door: httpx.AsyncClient, house: House, pullover: int, path: str, text: str, words: str
) -> None:
    before = house.shelf.load(pullover)
    answer = await typed(door, pullover, path, text)
    assert answer.status_code == 422, answer.text
    problem = answer.json()["problem"]
    assert words in problem["what"]
    assert problem["where"]
    assert len(problem["what"]) < 300
    assert house.shelf.load(pullover) == before


async def test_a_field_is_refused_under_the_name_that_the_page_shows(door: httpx.AsyncClient, pullover: int) -> None:
    answer = await typed(door, pullover, LOOP, "6 kg")
    assert answer.json()["problem"]["where"] == "Loop length, body"


async def test_ten_thousand_letters_fit_into_a_note_or_are_refused_never_cut(
    door: httpx.AsyncClient, house: House, pullover: int
) -> None:
    saved = await typed(door, pullover, NOTE, "ü" * 10_000)
    kept = house.shelf.load(pullover).document["style"].get("note", "")
    assert (saved.status_code == 200) == (kept == "ü" * 10_000)
    assert saved.status_code in (200, 422)


async def test_a_text_longer_than_any_field_is_refused_unread(door: httpx.AsyncClient, pullover: int) -> None:
    answer = await typed(door, pullover, NOTE, "x" * 20_001)
    assert (answer.status_code, answer.json()["problem"]["where"]) == (422, "body.edits.0.typed")
