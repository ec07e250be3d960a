"""The loop page's part of the JSON door: figures at once for any setting, pictures, reasons, hostile addresses."""

import re

import pytest

from loopwright.draw.centre_lines import decoded
from loopwright.store.values import Kind
from loopwright.web.loop.parts import PARTS
from loopwright.web.loop.pictures import still
from loopwright.web.pages.lists import NEW
from loopwright.web.start import demo_documents

PICTURES = (("lines", ""), ("still.svg", "view=back"), ("cloth.glb", ""))
HOSTILE = (
    "loop_mm=nan", "loop_mm=inf", "loop_mm=1e9", "loop_mm=-1", "loop_mm=", "loop_mm=5&loop_mm=6e400",
    "set_percent=96", "set_percent=nan", "twist_per_m=1e300", "twist_per_m=-201", "structure=crochet",
    "structure=%3Cscript%3Ealert(1)%3C/script%3E", "structure=", "structure=0", "structure=99999999999999999999",
    "structure=987654", "structure=plain%00", "yarn=%3Cb%3E", "yarn=wool", "zone=" + "x" * 30, "structure=" + "x" * 200,
    "version=-1", "nothing=1", "structure=%F0%9F%A7%B6", "structure=..%2F..%2Fetc",
)  # fmt: skip


async def answer(door, query: str = "") -> dict:
    told = await door.get(f"/loop/answer?{query}")
    assert told.status_code == 200, told.text
    return told.json()


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", html))


def figures(html: str) -> list[str]:
    """The value of every figure on a part."""
    return re.findall(r'data-why="[^"]+"[^>]*><b>([^<]+)</b>', html)


async def test_a_structure_of_the_library_is_told_with_its_causes(door):
    told = await answer(door, "structure=plain")
    assert set(told["parts"]) == set(PARTS) - {"help"}
    lede = words(told["parts"]["lede"])
    assert "sides roll to the back" in lede
    assert "ends roll to the face" in lede
    assert "nobody has measured" in lede
    assert len(figures(told["parts"]["figures"])) >= 9
    assert 'class="fig simulated"' in told["parts"]["figures"]
    assert "friction" in told["views"][0]["caption"]


async def test_a_balanced_structure_neither_rolls_nor_leans(door):
    told = await answer(door, "structure=rib-1x1&twist_per_m=40")
    assert "no reason to roll" in words(told["parts"]["lede"])
    assert "lie flat" in words(told["parts"]["figures"])
    assert "nothing to remedy" in (await door.get("/loop/help?structure=rib-1x1")).text


@pytest.mark.parametrize("change", ["loop_mm=7", "set_percent=93", "twist_per_m=25", "yarn=Ne 30 cotton"])
async def test_a_slider_changes_the_figures(change, door):
    before = await answer(door, "structure=plain")
    after = await answer(door, f"structure=plain&{change}")
    assert before["parts"]["figures"] != after["parts"]["figures"]
    assert before["parts"]["lede"] != after["parts"]["lede"]
    assert before["views"][0]["url"] != after["views"][0]["url"]


@pytest.mark.parametrize(("twist", "side"), [(30, "right"), (-30, "left")])
async def test_z_leans_right_and_s_leans_left(twist, side, door):
    told = await answer(door, f"structure=plain&twist_per_m={twist}")
    assert f"to the {side}" in words(told["parts"]["lede"])


async def test_what_was_changed_says_what_it_was(door):
    form = (await answer(door, "structure=plain&loop_mm=5.5&twist_per_m=20"))["parts"]["cloth"]
    assert re.findall(r'data-before="([^"]+)"', form) == ["was 6.15", "was not known"]


async def test_two_cloths_stand_side_by_side_differences_first(door):
    told = await answer(door, "structure=plain&b_structure=rib-1x1&b_set_percent=80")
    assert len(told["views"]) == 2
    assert "Side by side" in told["parts"]["figures"]
    rows = re.findall(r"<tr>(.*?)</tr>", told["parts"]["figures"].partition("<tbody>")[2])
    swallowed = ["swallows" in row for row in rows if "cannot be told" not in row and "alike" not in row]
    assert swallowed == sorted(swallowed)
    assert "roll" in words(rows[0])
    assert "b_structure=rib-1x1" in told["query"]


async def test_the_same_cloth_beside_itself_is_alike(door):
    told = await answer(door, "structure=plain&twist_per_m=10&b_structure=plain&b_twist_per_m=10")
    assert told["parts"]["figures"].count("alike") == 10


async def test_every_figure_opens_its_why(door):
    query = "structure=plain&twist_per_m=20&b_structure=purl-1x1"
    parts = (await answer(door, query))["parts"]
    helping = (await door.get(f"/loop/help?{query}")).text
    keys = {key for html in (*parts.values(), helping) for key in re.findall(r'data-why="([^"]+)"', html)}
    assert len(keys) > 15
    for key in keys:
        told = await door.get(f"/loop/why?{query}&key={key}")
        assert told.status_code == 200
        assert "Known as:" in told.text
    gone = await door.get(f"/loop/why?{query}&key=figures-99")
    assert gone.status_code == 422


async def test_remedies_are_ranked_and_lead_to_the_two_side_by_side(door):
    html = (await door.get("/loop/help?structure=plain&twist_per_m=30")).text
    assert "Against the roll" in html
    assert "Against the lean" in html
    links = re.findall(r'href="/loop\?([^"]+)"', html)
    assert len(links) > 4
    for link in links:
        told = await answer(door, link.replace("&amp;", "&"))
        assert len(told["views"]) == 2


async def test_pictures_of_a_cloth(door):
    lines = await door.get("/loop/lines?structure=plain&twist_per_m=30")
    header = decoded(lines.content).header
    kinds = [state["kind"] for state in header["states"]]
    assert kinds.count("piece") == 1
    assert kinds.count("repeat") >= 3
    assert header["states"][0]["shear"] > 0
    for view in ("face", "back", "section", "lying"):
        svg = (await door.get(f"/loop/still.svg?structure=plain&view={view}")).text
        assert "simulated, relaxed without friction" in svg
        assert "mm" in svg
    assert (await door.get("/loop/cloth.glb?structure=plain")).content[:4] == b"glTF"


async def test_a_fine_still_is_drawn_once(door, house, monkeypatch):
    drawn = []

    def counted(known, view, kind):
        drawn.append(kind)
        return still(known, view, kind)

    monkeypatch.setattr("loopwright.web.loop.door.still", counted)
    first = await door.get("/loop/still.png?structure=plain&view=section")
    assert first.content[:8] == b"\x89PNG\r\n\x1a\n"
    again = await door.get("/loop/still.png?structure=plain&view=section")
    assert again.content == first.content
    assert drawn == ["png"]


@pytest.mark.parametrize("query", HOSTILE)
@pytest.mark.parametrize("path", ["answer", "lines", "help", "still.svg", "cloth.glb"])
async def test_a_hostile_address_is_refused_in_words(path, query, door):
    told = await door.get(f"/loop/{path}?{query}")
    if told.status_code == 200 and query == "structure=":  # what is left out is plain; an empty name is none
        pytest.fail("an empty name was taken for a structure")
    assert told.status_code == 422
    problem = told.json()["problem"]
    assert problem["what"]
    assert "Traceback" not in told.text


async def test_markup_in_an_address_is_shown_as_text(door):
    told = await answer(door, "structure=plain&b_structure=plain&yarn=2/30 Nm merino")
    assert "<script" not in "".join(told["parts"].values())


async def test_nothing_is_carried_on_beyond_what_was_solved(door):
    told = await answer(door, "structure=plain&loop_mm=20")
    assert told["views"] == []
    assert "nothing is carried on" in words(told["parts"]["lede"])
    assert figures(told["parts"]["lede"]) == []
    refused = await door.get("/loop/lines?structure=plain&loop_mm=20")
    assert refused.status_code == 422


async def test_a_style_brings_its_own_yarn_and_loop(door, house):
    ids = [house.shelf.add(kind, document, by="test").id for kind, document in demo_documents() if kind is Kind.STYLE]
    study = (await house.desk.answer(ids[0])).study
    told = await answer(door, f"structure={ids[0]}&zone=body")
    fabric = study.fabrics["body"]
    assert f"At {fabric.geometry.loop_length_mm.value:.2f} mm" in words(told["parts"]["lede"])
    assert fabric.yarn.name in words(told["parts"]["lede"])
    gone = await door.get(f"/loop/answer?structure={ids[0]}&zone=sock")
    assert gone.status_code == 422


async def test_a_drawn_structure_that_is_plain_is_known_and_another_can_be_worked_out(door, house):
    plain = house.shelf.add(Kind.STRUCTURE, NEW[Kind.STRUCTURE], by="test").id
    assert (await answer(door, f"structure={plain}"))["views"]
    own = {"structures": {"own": {"name": "Broken rib", "courses": ["F:KK B:--", "F:K- B:-K"]}}}
    told = await answer(door, f"structure={house.shelf.add(Kind.STRUCTURE, own, by='test').id}")
    assert told["views"] == []
    assert "Work it out now" in told["parts"]["work"]
    assert "20 s" in told["parts"]["work"]


async def test_what_is_not_cloth_for_the_loop_page_is_refused(door, house):
    for kind in (Kind.MACHINE, Kind.RATES):
        item = house.shelf.add(kind, NEW[kind], by="test").id
        told = await door.get(f"/loop/answer?structure={item}")
        assert told.status_code == 422


async def test_a_yarn_of_the_shelf_is_shown_in_plain(door, house):
    yarn = house.shelf.add(Kind.YARN, NEW[Kind.YARN], by="test").id
    assert "plain in New yarn" in words((await answer(door, f"structure={yarn}"))["parts"]["lede"])
