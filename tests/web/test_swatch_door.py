"""The bench's door: each reading is kept at once, two hands at one place lose nothing, pictures tell nothing else."""

import io
import json
import time

import pytest
from PIL import Image

from loopwright.store.values import Kind
from loopwright.swatch.photo.answer import PhotoRefused
from loopwright.web.start import demo_documents
from loopwright.web.swatch.photo_asked import Told
from loopwright.web.swatch.photo_work import PhotoBench

SWATCH = {
    "yarns": {"main": {"count": "2/28 Nm", "fibres": "merino"}},
    "swatches": {
        "s1": {
            "name": "swatch 1",
            "structure": "plain",
            "yarn": "main",
            "sittings": {"dry": {"state": "dry-relaxed", "wales": [65, 64.5], "count_over_cm": 10}},
        }
    },
}
GPS, MAKER = 0x8825, 0x010F


@pytest.fixture
def swatch(house) -> int:
    return house.shelf.add(Kind.SWATCH, SWATCH, by="t").id


def held(house, item: int, *path: str):
    found = house.shelf.load(item).document["swatches"]["s1"]["sittings"]["dry"]
    for key in path:
        found = found.get(key) if isinstance(found, dict) else None
    return found


def reading(typed: str, place: str = "wales", key: str = "w.1", **more) -> dict:
    return {"sitting": "dry", "place": place, "typed": typed, "key": key, **more}


async def said(door, item: int, **asked):
    return await door.post(f"/items/{item}/readings", json=reading(**asked))


async def test_each_reading_is_a_change_of_its_own(door, house, swatch):
    before = len(house.shelf.history(swatch))
    for number, typed in enumerate(("65 1/2", "64,5", "66"), start=1):
        answer = await said(door, swatch, typed=typed, key=f"w.{number}")
        assert answer.status_code == 200
    assert held(house, swatch, "wales") == [65, 64.5, 65.5, 64.5, 66]
    labels = [change.label for change in house.shelf.history(swatch)]
    assert labels[:3] == ["Wales, reading 5: 66", "Wales, reading 4: 64.5", "Wales, reading 3: 65.5"]
    assert len(labels) == before + 3
    await door.post(f"/items/{swatch}/undo", json={})
    assert held(house, swatch, "wales") == [65, 64.5, 65.5, 64.5]


async def test_a_reading_sent_twice_because_its_answer_was_lost_is_kept_once(door, house, swatch):
    for _ in range(2):
        assert (await said(door, swatch, typed="66", key="w.again")).status_code == 200
    assert held(house, swatch, "wales") == [65, 64.5, 66]


async def test_the_same_count_by_two_hands_is_two_readings(door, house, swatch):
    for key in ("one.1", "other.1"):
        await said(door, swatch, typed="66", key=key)
    assert held(house, swatch, "wales") == [65, 64.5, 66, 66]


async def test_a_reading_typed_again_takes_its_own_place_and_an_emptied_one_goes(door, house, swatch):
    await said(door, swatch, typed="63", number=1, key="w.1")
    assert held(house, swatch, "wales") == [63, 64.5]
    await said(door, swatch, typed="", number=2, key="w.2")
    assert held(house, swatch, "wales") == [63]


@pytest.mark.parametrize(
    ("place", "typed", "kept"),
    [
        ("mark_offset_mm", "14.5 200", [[14.5, 200]]),
        ("mark_offset_mm", "−3,5 over 200", [[-3.5, 200]]),
        ("diagonals_mm", "291 × 274", [[291, 274]]),
        ("thickness_mm", "1,05", [1.05]),
        ("mass_g", "14.82 g", [14.82]),
    ],
)
async def test_places_take_what_is_said_at_the_table(door, house, swatch, place, typed, kept):
    assert (await said(door, swatch, place=place, typed=typed)).status_code == 200
    assert held(house, swatch, place) == kept


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"typed": "about 65"}, "about 65"),
        ({"typed": ""}, "nothing was typed"),
        ({"typed": "66", "number": 9}, "there is no reading 9 any more"),
        ({"typed": "66", "place": "colour"}, "no place to measure"),
        ({"typed": "14", "place": "mark_offset_mm"}, "is no pair"),
        ({"typed": "-3"}, ""),
    ],
)
async def test_what_is_no_reading_is_refused_in_words_and_changes_nothing(door, house, swatch, asked, words):
    version = house.shelf.load(swatch).version
    answer = await said(door, swatch, **asked)
    assert answer.status_code == 422
    assert words in answer.json()["problem"]["what"]
    assert house.shelf.load(swatch).version == version


async def test_the_place_is_answered_with_its_mean_and_what_it_still_wants(door, swatch):
    place = (await said(door, swatch, typed="66")).json()["place"]
    assert "65.2 ±" in place  # (65 + 64.5 + 66) / 3
    assert "for ± 2 %" in place


async def test_a_new_sitting_is_named_after_its_washes_and_takes_over_the_length_counted(door, house, swatch):
    answers = [
        await door.post(f"/items/{swatch}/sittings", json={"state": "fully-relaxed", "washes": 3}) for _ in range(2)
    ]
    assert [each.json()["sitting"] for each in answers] == ["washed-3", "washed-3-2"]
    sitting = house.shelf.load(swatch).document["swatches"]["s1"]["sittings"]["washed-3"]
    assert (sitting["washes"], sitting["by"], sitting["count_over_cm"]) == (3, "Ada at the table", 10)
    wrong = await door.post(f"/items/{swatch}/sittings", json={"state": "boiled"})
    assert wrong.status_code == 422


def photo(width: int = 60, height: int = 40, *, kind: str = "JPEG") -> bytes:
    """A picture with a place and a maker in its header."""
    image = Image.new("RGB", (width, height), "grey")
    told = Image.Exif()
    told[MAKER] = "a maker"
    told.get_ifd(GPS)[2] = (47.0, 22.0, 0.0)
    out = io.BytesIO()
    image.save(out, kind, exif=told)
    return out.getvalue()


async def bring(door, item: int, data: bytes, **asked):
    query = {"sitting": "dry", "reference": "card", **asked}
    kind = {"content-type": "application/octet-stream"}
    return await door.post(f"/items/{item}/photos", params=query, content=data, headers=kind)


async def test_a_picture_is_named_in_its_sitting_and_comes_back_telling_nothing_else(door, house, swatch):
    answer = await bring(door, swatch, photo())
    assert answer.status_code == 201
    name = answer.json()["photo"]
    assert held(house, swatch, "photos", name) == {"reference": "card"}
    file = house.photos.files.folder / name
    assert b"a maker" not in file.read_bytes()
    seen = await door.get(f"/items/{swatch}/photos/{name}")
    assert seen.headers["content-type"] == "image/jpeg"
    assert "immutable" in seen.headers["cache-control"]
    assert dict(Image.open(io.BytesIO(seen.content)).getexif()) == {}
    assert Image.open(io.BytesIO(seen.content)).size == (60, 40)
    again = await bring(door, swatch, photo())
    assert again.json()["photo"] == name
    assert again.json()["version"] == answer.json()["version"]


async def test_what_is_no_picture_is_refused_and_not_kept(door, house, swatch):
    for data in (b"", b"%PDF-1.7 nothing", photo()[:200]):
        answer = await bring(door, swatch, data)
        assert answer.status_code == 422
    assert held(house, swatch, "photos") is None


async def test_a_picture_of_another_swatch_is_not_here(door, house, swatch):
    name = (await bring(door, swatch, photo())).json()["photo"]
    other = house.shelf.add(Kind.SWATCH, SWATCH, by="t").id
    for item, asked in ((other, name), (swatch, "0" * 64)):
        answer = await door.get(f"/items/{item}/photos/{asked}")
        assert answer.status_code == 404
        assert "names that picture" in answer.text


async def test_a_plain_grey_picture_is_refused_in_a_sentence_and_cannot_be_accepted(door, house, swatch):
    name = (await bring(door, swatch, photo(300, 200))).json()["photo"]
    told = json.dumps({"reference": "none"})
    until = time.monotonic() + 1800
    while True:
        answer = (await door.get(f"/items/{swatch}/photos/{name}/reading", params={"told": told, "window": "w"})).json()
        if answer["state"] == "done":
            break
        assert time.monotonic() < until
        time.sleep(0.05)
    assert answer["read"] is None
    assert answer["refused"]["sentence"].endswith(".")
    asked = {"told": {"reference": "none"}, "sitting": "dry", "window": "w"}
    refused = await door.post(f"/items/{swatch}/photos/{name}/accept", json=asked)
    assert refused.status_code == 422
    assert held(house, swatch, "photos", name) == {"reference": "card"}


@pytest.mark.parametrize("told", ["nonsense", '{"reference": "moon"}', '{"wales": "askew"}'])
async def test_what_cannot_be_said_of_a_picture_is_refused(door, swatch, told):
    name = (await bring(door, swatch, photo())).json()["photo"]
    answer = await door.get(f"/items/{swatch}/photos/{name}/reading", params={"told": told})
    assert answer.status_code == 422


def ended(bench: PhotoBench, photo_name: str, told: Told, window: str) -> str:
    until = time.monotonic() + 1800
    while (state := bench.progress(photo_name, told, window).state) in ("waiting", "working"):
        assert time.monotonic() < until
        time.sleep(0.01)
    return state


def test_the_last_word_of_a_window_is_read_and_what_it_asked_before_is_dropped():
    read: list[str] = []

    def work(_picture, told, report, stop):
        report(0.5)
        while told.reference == "card" and not stop():
            time.sleep(0.005)
        read.append(told.reference)
        return PhotoRefused("blur", "It is blurred.")

    bench = PhotoBench(lambda _name: photo(), work)
    first, second = Told(reference="card"), Told(reference="none")
    bench.begin("p", first, "w")
    bench.begin("p", second, "w")
    assert ended(bench, "p", second, "w") == "done"
    assert bench.answer("p", second) is not None
    assert bench.begin("p", second, "other").state == "done"


def test_stopping_keeps_nothing():
    from loopwright.swatch.photo.refusal import Stopped

    def work(_picture, _told, _report, stop):
        while not stop():
            time.sleep(0.005)
        raise Stopped

    bench = PhotoBench(lambda _name: photo(), work)
    told = Told(reference="card")
    bench.begin("p", told, "w")
    bench.give_up("p", told, "w")
    assert ended(bench, "p", told, "w") == "stopped"
    assert bench.answer("p", told) is None


@pytest.fixture
def style(house) -> int:
    """The attendant's pullover."""
    kind, document = demo_documents()[0]
    return house.shelf.add(kind, document, by="t").id


async def advice(door, item: int, **asked) -> dict:
    until = time.monotonic() + 1800
    while True:
        answer = (await door.get(f"/items/{item}/next", params={"window": "w", **asked})).json()
        if answer.get("state") not in ("waiting", "working"):
            return answer
        assert time.monotonic() < until
        time.sleep(0.05)


async def test_the_next_swatch_is_ranked_by_what_an_hour_of_it_makes_surer_and_the_drawer_counts(door, house, style):
    alone = await advice(door, style, wanted="price")
    gains = [each["spread_falls_by_per_hour"] for each in alone["next"]["swatches"]]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0
    assert all(
        each["reason"] in alone["html"] or each["words"] in alone["html"] for each in alone["next"]["swatches"][:8]
    )
    measured = [
        (kind, document) for kind, document in demo_documents() if "swatches" in document and "style" not in document
    ]
    assert len(measured) == 6
    for kind, document in measured:
        house.shelf.add(kind, document, by="t")
    told = await advice(door, style, wanted="price")
    assert "swatch 1" in told["next"]["counted"]
    assert "swatch 4" not in told["next"]["counted"]  # felted: marked unreliable
    assert told["next"]["spread"] < alone["next"]["spread"]


async def test_a_swatch_has_no_next_swatch_of_its_own_and_the_door_says_what_to_choose(door, swatch, style):
    answer = await advice(door, swatch)
    assert answer["problem"]["tries"] == ["choose a style"]
    answer = await door.get(f"/items/{style}/next", params={"wanted": "moon"})
    assert answer.status_code == 422
    stopped = await door.post(f"/items/{style}/next/stop", json={"wanted": "lean", "window": "w"})
    assert stopped.json()["state"] == "none"


CAME_BACK = "Piece\tSize\tHalf chest\tMass, g\tMajor\n1\tM\t49,5\t214\t\n2\tM\t52,9\t216\thole\n3\tM\ttbc\t215\t\n"


async def test_garments_that_came_back_are_measured_and_kept_only_when_somebody_says_so(door, house, style):
    version = house.shelf.load(style).version
    pasted = await door.post(f"/items/{style}/pieces", json={"text": CAME_BACK, "lot": 640})
    assert pasted.status_code == 200
    told = pasted.json()
    assert [piece["measures_cm"] for piece in told["returned"]["pieces"]] == [
        {"half_chest": 49.5},
        {"half_chest": 52.9},
        {},
    ]
    assert told["returned"]["lot_pieces"] == 640
    assert "Row 4, column C" in told["section"]
    assert house.shelf.load(style).version == version
    sent = await door.post(
        f"/items/{style}/pieces-file",
        params={"name": "came back.csv", "lot": 640},
        content=CAME_BACK.encode(),
        headers={"content-type": "application/octet-stream"},
    )
    assert sent.json()["returned"]["points"] == told["returned"]["points"]
    change = {"base_version": told["version"], "edits": told["edits"], "label": told["label"]}
    saved = await door.post(f"/items/{style}/changes", json=change)
    assert saved.status_code == 200
    kept = house.shelf.load(style).document["samples"]["came-back-1"]
    assert [piece["size"] for piece in kept["pieces"]] == ["M", "M", "M"]
    assert kept["pieces"][1]["major"] == "hole"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Size\tHalf chest\nXXXXL\t50\n", "no piece in a size of this style"),
        ("what came back\n1\n", "no head row"),
        ("Piece\tSize\tHalf chest\n", "no piece stands under the head row"),
    ],
)
async def test_a_table_in_which_no_garment_stands_is_refused_in_words(door, style, text, words):
    answer = await door.post(f"/items/{style}/pieces", json={"text": text})
    assert answer.status_code == 422
    assert words in answer.json()["problem"]["what"]


async def test_there_is_nothing_to_lay_garments_against_on_the_page_of_a_swatch(door, swatch):
    answer = await door.post(f"/items/{swatch}/pieces", json={"text": CAME_BACK})
    assert answer.status_code == 422
    assert "no size table" in answer.json()["problem"]["what"]
