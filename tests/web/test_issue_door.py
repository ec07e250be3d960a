"""The door of issues: what was handed over stays as it was, and the next one says what changed. Pages by pypdf."""

from __future__ import annotations

import asyncio
import gzip
import hashlib
import io
import json
import zipfile
from typing import Any

import httpx
import pypdf
import pytest

from loopwright.report.pack.issued import read_issue
from loopwright.store.values import Kind
from loopwright.web.api import api_of
from loopwright.web.handing.section import hand_over_html
from loopwright.web.house import House

STYLE: dict[str, Any] = {
    "style": {"name": "Conductor's vest", "number": "N7-021", "season": "winter 27"},
    "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 31.5}},
    "zones": {"body": {"structure": "plain", "loop_length_mm": 6.1}, "hem": {"structure": "rib-2x1"}},
    "garment": {"sizes": ["M"]},
    "machine": {"gauge": 12},
    "order": {"pieces": 300},
    "rates": {"margin": 0.2718},
}


@pytest.fixture
def vest(house: House) -> int:
    return house.shelf.add(Kind.STYLE, STYLE, by="Mara").id


async def issue(door: httpx.AsyncClient, item: int, after: int = 0, **said: Any) -> dict[str, Any]:
    answer = await door.post(f"/items/{item}/issues", json={"after": after, "formats": ["pdf", "csv"], **said})
    assert answer.status_code == 200, answer.text
    return answer.json()


async def change(door: httpx.AsyncClient, item: int, loop_mm: float) -> None:
    version = (await door.get(f"/items/{item}")).json()["version"]
    edits = [{"path": ["zones", "body", "loop_length_mm"], "value": loop_mm}]
    answer = await door.post(f"/items/{item}/changes", json={"base_version": version, "edits": edits})
    assert answer.status_code == 200


def refusal(answer: httpx.Response) -> str:
    assert answer.status_code == 422, answer.text
    problem = answer.json()["problem"]
    return f"{problem['where']}: {problem['what']} {problem['limit']}"


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


async def test_a_style_is_issued_and_what_was_issued_stays(door: httpx.AsyncClient, vest: int) -> None:
    made = await issue(door, vest, recipients=[" Mill by  the river ", "", "Mill by the river"], note="Knit one first.")
    assert made == {"issued": 1, "says": "The first issue is made."}
    first = (await door.get(f"/items/{vest}/issues/1/pack")).content
    await change(door, vest, 6.3)
    assert (await door.get(f"/items/{vest}/issues/1/pack")).content == first
    listed = (await door.get(f"/items/{vest}/issues")).json()
    (only,) = listed["issues"]
    assert (only["number"], only["version"], only["by"]) == (1, 1, "Ada at the table")
    assert (only["recipients"], only["note"]) == (["Mill by the river"], "Knit one first.")
    assert listed["moved_on"].startswith("The study has moved on: ")
    assert "figures" in listed["moved_on"]
    assert "Yarn, gauge and structures" in listed["places"]
    made = await issue(door, vest, after=1)
    assert made["issued"] == 2
    second = words((await door.get(f"/items/{vest}/issues/2/pack")).content)
    assert "What changed since issue 1" in second
    assert "zones, body, loop length, mm 6.1 → 6.3" in second
    assert (await door.get(f"/items/{vest}/issues")).json()["moved_on"] == "Nothing has changed since."


async def test_the_files_of_an_issue_are_those_that_its_record_names(door: httpx.AsyncClient, vest: int) -> None:
    await issue(door, vest, formats=[])
    whole = zipfile.ZipFile(io.BytesIO((await door.get(f"/items/{vest}/issues/1/pack-files")).content))
    record = read_issue(whole.read("issue.json"))
    assert set(whole.namelist()) == {*record.files, "issue.json"}
    assert {"specification.pdf", "specification.xlsx", "panels.dxf", "pack.json"} <= set(record.files)
    for name, said in record.files.items():
        assert hashlib.sha256(whole.read(name)).hexdigest() == said
    alone = await door.get(f"/items/{vest}/issues/1/record")
    assert alone.content == whole.read("issue.json")
    for secret in ("price_per_kg", "0.2718"):
        assert secret not in alone.text


async def test_an_issue_that_says_nothing_new_is_made_only_when_confirmed(door: httpx.AsyncClient, vest: int) -> None:
    await issue(door, vest)
    asked = await issue(door, vest, after=1)
    assert asked["issued"] is None
    assert asked["says"].startswith("Nothing differs from issue 1 of ")
    assert len((await door.get(f"/items/{vest}/issues")).json()["issues"]) == 1
    made = await issue(door, vest, after=1, confirmed=True)
    assert made["issued"] == 2
    assert "Nothing differs from issue 1" in words((await door.get(f"/items/{vest}/issues/2/pack")).content)


async def test_two_windows_that_issue_at_once_make_two_numbers_or_are_told(door: httpx.AsyncClient, vest: int) -> None:
    asked = {"after": 0, "formats": ["csv"]}
    answers = await asyncio.gather(*(door.post(f"/items/{vest}/issues", json=asked) for _ in range(4)))
    assert sorted(answer.status_code for answer in answers) == [200, 422, 422, 422]
    assert all("meanwhile" in refusal(answer) for answer in answers if answer.status_code == 422)
    assert [each["number"] for each in (await door.get(f"/items/{vest}/issues")).json()["issues"]] == [1]
    assert "another window" in refusal(await door.post(f"/items/{vest}/issues", json=asked))


async def test_any_two_issues_are_laid_side_by_side(door: httpx.AsyncClient, vest: int) -> None:
    for after, loop_mm in enumerate((6.1, 6.2, 6.3)):
        await change(door, vest, loop_mm)
        await issue(door, vest, after=after)
    found = (await door.get(f"/items/{vest}/issue-differences", params={"first": 1, "second": 3})).json()
    assert found["decided"] == [{"where": "zones, body, loop length, mm", "change": "6.1 → 6.3"}]
    loops = [each for each in found["changes"] if each["where"] == "Gauge: Loop length, mm"]
    assert {(each["old"].replace("\xa0", " "), each["new"].replace("\xa0", " ")) for each in loops} == {
        ("6.1 mm", "6.3 mm")
    }
    assert "From issue 1 to issue 3" in found["html"]
    back = (await door.get(f"/items/{vest}/issue-differences", params={"first": 3, "second": 1})).json()
    assert len(back["changes"]) == len(found["changes"])
    now = (await door.get(f"/items/{vest}/issue-differences", params={"first": 3})).json()
    assert (now["second"], now["changes"], now["decided"]) == (None, [], [])
    assert "no issue 4" in refusal(await door.get(f"/items/{vest}/issue-differences", params={"first": 4}))


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ({"paper": "B5"}, "no paper"),
        ({"formats": ["docx"]}, "no format"),
        ({"recipients": ["the mill 🧶"]}, "no form for"),
        ({"recipients": ["M" * 201]}, "recipients"),
        ({"recipients": ["Mill"] * 21}, "recipients"),
        ({"note": "x" * 5001}, "note"),
        ({"language": "xx"}, "language"),
        ({"after": -1}, "after"),
    ],
)
async def test_what_cannot_be_issued_is_refused_and_nothing_is_kept(
    said: dict[str, Any], what: str, door: httpx.AsyncClient, vest: int
) -> None:
    assert what in refusal(await door.post(f"/items/{vest}/issues", json={"after": 0, **said}))
    assert (await door.get(f"/items/{vest}/issues")).json()["issues"] == []


async def test_what_stops_a_pack_stops_its_issue(door: httpx.AsyncClient, house: House) -> None:
    named = house.shelf.add(Kind.STYLE, {"style": {"name": "Guard"}}, by="t").id
    assert "no panel to knit" in refusal(await door.post(f"/items/{named}/issues", json={"after": 0}))
    yarn = house.shelf.add(Kind.YARN, {"yarns": {"fog": {"count": "2/15 Nm"}}}, by="t").id
    refusal(await door.post(f"/items/{yarn}/issues", json={"after": 0}))
    assert house.shelf.issues(named) == house.shelf.issues(yarn) == []


async def test_a_style_that_stops_later_keeps_its_issues(door: httpx.AsyncClient, vest: int) -> None:
    await issue(door, vest)
    version = (await door.get(f"/items/{vest}")).json()["version"]
    edits = [{"path": ["garment"], "value": None}]
    await door.post(f"/items/{vest}/changes", json={"base_version": version, "edits": edits})
    listed = (await door.get(f"/items/{vest}/issues")).json()
    assert len(listed["issues"]) == 1
    assert "cannot be laid beside it" in listed["moved_on"]
    assert (await door.get(f"/items/{vest}/issues/1/pack")).content.startswith(b"%PDF-")


async def test_questions_are_asked_under_a_place_and_answered_once(door: httpx.AsyncClient, vest: int) -> None:
    await issue(door, vest)
    asked = {"text": "Bind off\nor <i>hold</i>?", "place": "Front, knit-down", "by": "Technician"}
    made = await door.post(f"/items/{vest}/issues/1/questions", json=asked)
    assert made.status_code == 201
    assert (made.json()["by"], made.json()["answer"]) == ("Technician", None)
    html = (await door.get(f"/items/{vest}/issues")).json()["html"]
    assert "1 open" in html
    assert "Bind off<br>or &lt;i&gt;hold&lt;/i&gt;?" in html
    door_of_it = f"/items/{vest}/questions/{made.json()['id']}/answer"
    answered = (await door.post(door_of_it, json={"text": "Hold."})).json()
    assert (answered["answer"], answered["answered_by"]) == ("Hold.", "Ada at the table")
    assert "has answered it already" in refusal(await door.post(door_of_it, json={"text": "Bind off."}))
    assert "none is open" in (await door.get(f"/items/{vest}/issues")).json()["html"]
    assert "nothing is said" in refusal(await door.post(f"/items/{vest}/issues/1/questions", json={"text": " "}))
    assert "no issue 2" in refusal(await door.post(f"/items/{vest}/issues/2/questions", json={"text": "?"}))


async def test_who_may_only_look_reads_and_is_asked_for_nothing(
    door: httpx.AsyncClient, vest: int, monkeypatch: pytest.MonkeyPatch, house: House
) -> None:
    await issue(door, vest)
    await door.post(f"/items/{vest}/issues/1/questions", json={"text": "Why?"})
    item = house.shelf.load(vest)
    forms = ("issuing", "asking", "answering")
    html = (await door.get(f"/items/{vest}/issues")).json()["html"] + hand_over_html(item, may_edit=True)
    assert all(f'class="{form}"' in html for form in forms)
    monkeypatch.setattr(House, "may_edit", lambda *_: False)
    looked = httpx.ASGITransport(api_of(house))
    async with httpx.AsyncClient(transport=looked, base_url="http://localhost") as viewer:
        html = (await viewer.get(f"/items/{vest}/issues")).json()["html"] + hand_over_html(item, may_edit=False)
    assert not any(f'class="{form}"' in html for form in forms)
    assert "Why?" in html
    assert "Compare" in html


async def test_a_page_is_looked_at_and_the_next_comes_without_setting_anew(
    door: httpx.AsyncClient, vest: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = await door.get(f"/items/{vest}/pack-page", params={"page": 1, "paper": "A4"})
    assert first.headers["content-type"] == "image/png"
    assert first.content.startswith(b"\x89PNG")
    count = int(first.headers["x-pages"])
    pdf = (await door.get(f"/items/{vest}/pack")).content
    assert count == len(pypdf.PdfReader(io.BytesIO(pdf)).pages)

    def is_set_anew(*_: Any) -> Any:
        raise AssertionError("the pages are set anew")

    monkeypatch.setattr("loopwright.web.handing.desk.pages_png", is_set_anew)
    second = await door.get(f"/items/{vest}/pack-page", params={"page": 2})
    assert second.content.startswith(b"\x89PNG")
    assert second.content != first.content
    assert f"1 to {count}" in refusal(await door.get(f"/items/{vest}/pack-page", params={"page": count + 1}))
    assert "no paper" in refusal(await door.get(f"/items/{vest}/pack-page", params={"paper": "B5"}))
    await change(door, vest, 6.3)
    with pytest.raises(AssertionError, match="set anew"):
        await door.get(f"/items/{vest}/pack-page")


async def test_issues_come_back_with_a_back_up_and_print_the_same_pages(door: httpx.AsyncClient, vest: int) -> None:
    await issue(door, vest, recipients=["Mill"])
    await door.post(f"/items/{vest}/issues/1/questions", json={"text": "Why?"})
    file = (await door.get("/backup")).content
    assert (await door.post("/backup", content=file)).json()["issues"] == 1
    there = max(each["id"] for each in (await door.get("/items", params={"kind": "style"})).json())
    assert there != vest
    pages = [(await door.get(f"/items/{item}/issues/1/pack")).content for item in (vest, there)]
    assert pages[0] == pages[1]
    whole = zipfile.ZipFile(io.BytesIO((await door.get(f"/items/{there}/issues/1/pack-files")).content))
    assert whole.namelist() == ["specification.pdf", "issue.json"]
    assert len((await door.get(f"/items/{there}/issues")).json()["questions"]) == 1


async def test_a_record_that_no_program_wrote_is_told_and_the_page_goes_on(
    door: httpx.AsyncClient, vest: int, house: House
) -> None:
    """A back-up made by hand may bring any record along."""
    await issue(door, vest)
    document = json.loads(gzip.decompress((await door.get("/backup")).content))
    document["items"][0]["issues"][0]["record"] = {"format": "loopwright issue 1", "pages": []}
    brought = await door.post("/backup", content=gzip.compress(json.dumps(document).encode()))
    assert brought.status_code == 201
    there = max(each["id"] for each in (await door.get("/items", params={"kind": "style"})).json())
    for way in ("issues/1/pack", "issues/1/pack-files", "issues/1/record", "issue-differences?first=1"):
        assert "damaged" in refusal(await door.get(f"/items/{there}/{way}"))
    listed = await door.get(f"/items/{there}/issues")
    assert listed.status_code == 200
    assert "damaged" in listed.json()["moved_on"]
    assert house.shelf.issues(there)[0].number == 1
