"""Whatever a person writes stays words on lists, histories and the season, wherever else it is shown again."""

from copy import deepcopy
from typing import Any

import pytest

from loopwright.store.shelf import Shelf
from loopwright.store.values import Edit, Item, Kind
from loopwright.web.brief_line import item_line_html, line_html
from loopwright.web.pages.history import about_html, changes_html, differences_html
from loopwright.web.pages.item import doors_html
from loopwright.web.pages.lists import find_html, list_html
from loopwright.web.pages.season import _about_html
from loopwright.web.season_desk import SeasonDesk
from loopwright.web.start import demo_documents

SPELLS = ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "'><svg onload=alert(1)>"]
MARKUP = ("<script", "<img", "<svg onload")


def spoken_over(spell: str) -> dict[str, Any]:
    """The example with the spell wherever a person may choose a word."""
    style = deepcopy(next(document for kind, document in demo_documents() if kind is Kind.STYLE))
    style["style"] = {"name": spell, "number": spell, "season": spell, "note": spell}
    style["yarns"] = {spell: {**next(iter(style["yarns"].values())), "name": spell}}
    style["zones"] = {"body": {**style["zones"]["body"], "yarn": spell}}
    style["order"] |= {"colours": [{"name": spell, "share": 3.0}], "terms": spell, "ship_date": spell}
    style["machine"]["name"] = spell
    return style


@pytest.fixture(params=SPELLS)
def bewitched(shelf: Shelf, request: pytest.FixtureRequest) -> Item:
    """A style of such words, changed once by a person of such a name under such a label."""
    spell = request.param
    made = shelf.add(Kind.STYLE, spoken_over(spell), by=spell)
    note = Edit(("style", "note"), f"{spell} again")
    return shelf.change(made.id, [note], base_version=1, by=spell, window=spell, label=spell).item


def assert_words(html: str, words: str) -> None:
    """The words are on the page, and none of them is markup."""
    assert words[:2].replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;").replace("'", "&#x27;") in html
    assert not [each for each in MARKUP if each in html]


def test_a_history_tells_words_as_words(shelf: Shelf, bewitched: Item) -> None:
    said = bewitched.name
    assert_words(changes_html(shelf.history(bewitched.id), bewitched, may_edit=True), said)
    assert_words(differences_html(shelf.differences(bewitched.id, 1, 2), 1, 2), said)
    assert_words(about_html(bewitched), said)


def test_lists_and_lines_tell_words_as_words(shelf: Shelf, bewitched: Item) -> None:
    said = bewitched.name
    assert_words(list_html(shelf.lines(Kind.STYLE), Kind.STYLE, said, 0), said)
    shelf.add(Kind.YARN, {"yarns": {said: {"name": said, "count": said}}}, by=said)
    (yarn,) = shelf.lines(Kind.YARN)
    assert said in yarn.detail
    assert_words(list_html([yarn], Kind.YARN, said, 0), said)
    assert_words(find_html("/", said), said)
    assert_words(_about_html(bewitched.season, shelf.seasons(), said), said)
    assert_words(line_html(said, [said], "find"), said)
    for html in (item_line_html(bewitched), doors_html(bewitched, may_edit=True)):
        assert not [each for each in MARKUP if each in html]


async def test_a_season_and_its_reasons_tell_words_as_words(shelf: Shelf, bewitched: Item) -> None:
    season = await SeasonDesk(shelf).work(bewitched.season, shelf.lines(Kind.STYLE), lambda _: None)
    assert not season.unreadable
    page = "".join(season.parts.values())
    reasons = [season.reason(key) or "" for key in list(season.reasons.figures)]
    assert len(reasons) > 3
    assert_words(page, bewitched.name)
    assert not [each for each in MARKUP if each in "".join(reasons)]
