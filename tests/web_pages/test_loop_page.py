"""A simulated person opens the loop page: what it says for a structure, a style, an own notation, a wrong address."""

import pytest
from nicegui import ElementFilter
from nicegui.testing import User

from loopwright.store.values import Kind
from loopwright.web.elements import Part, Wires
from loopwright.web.loop.parts import HEADING
from loopwright.web.pages.lists import NEW
from loopwright.web.start import demo_documents
from loopwright.web.yarn_view import YarnView

OWN = {"structures": {"own": {"name": "Broken rib", "courses": ["F:KK B:--", "F:K- B:-K"]}}}


def words_of(person: User, name: str) -> str:
    """HTML of a part of the page that the person looks at."""
    with person:
        parts = list(ElementFilter(kind=Part, marker=f"part-{name}"))
    assert parts, f"the page has no part “{name}”"
    return parts[0].content


def props_of(person: User, kind: type) -> list[dict]:
    with person:
        return [dict(each.props) for each in ElementFilter(kind=kind)]


async def test_it_needs_nothing_on_the_shelf(person):
    await person.open("/loop")
    assert HEADING in words_of(person, "about")
    assert "plain in 2/30 Nm merino" in words_of(person, "lede")
    assert all(name in words_of(person, "cloth") for name in ("loop_mm", "set_percent", "twist_per_m"))
    first, second = props_of(person, YarnView)
    assert first["url"].startswith("/api/loop/lines?structure=plain")
    assert "relaxed without friction" in first["caption"]
    assert second["url"] == ""
    assert props_of(person, Wires)[0]["page"]["loop"] == "structure=plain"


async def test_two_cloths_have_two_views_under_one_hand(person):
    await person.open("/loop?structure=plain&b_structure=rib-1x1")
    views = props_of(person, YarnView)
    assert all(view["url"] for view in views)
    assert {view["link"] for view in views} == {"loop"}
    assert "Beside it" in words_of(person, "beside")


@pytest.mark.parametrize("query", ["loop_mm=nan", "structure=%3Cscript%3E", "set_percent=1e9", "structure=7", "what=1"])
async def test_a_wrong_address_is_answered_in_words(query, person):
    await person.open(f"/loop?{query}")
    said = words_of(person, "problem")
    assert "<script>" not in said
    assert "Try" in said


async def test_style_and_structure_lead_here(person, house):
    style = next(
        house.shelf.add(kind, document, by="t").id for kind, document in demo_documents() if kind is Kind.STYLE
    )
    own = house.shelf.add(Kind.STRUCTURE, OWN, by="t").id
    await person.open(f"/items/{style}")
    assert f"/loop?structure={style}&amp;zone=body" in words_of(person, "fabric")
    await person.open(f"/items/{own}")
    assert f"/loop?structure={own}" in words_of(person, "structure")
    await person.open(f"/loop?structure={own}")
    assert "Work it out now" in words_of(person, "work")
    assert f'<option value="{own}" selected>' in words_of(person, "cloth")
    await person.open("/shelf/structure")
    assert 'href="/loop"' in words_of(person, "new")


async def test_a_structure_drawn_as_plain_is_known_at_once(person, house):
    drawn = house.shelf.add(Kind.STRUCTURE, NEW[Kind.STRUCTURE], by="t").id
    await person.open(f"/loop?structure={drawn}")
    assert "sides roll to the back" in words_of(person, "lede")
