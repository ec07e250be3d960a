"""An answer: every figure on it has its reason, every field its path, and no word of a person becomes markup."""

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopwright.store.values import Item, Kind
from loopwright.web.answer import Answer, answer_of
from loopwright.web.fields import field_at
from loopwright.web.pages.lists import NEW
from loopwright.web.start import demo_documents

NOW = datetime(2026, 1, 1, tzinfo=UTC)
DEMO = demo_documents()
EVERY = [*DEMO, *NEW.items()]
NAMES = [f"{kind.value} {number}" for number, (kind, _) in enumerate(EVERY)]
STYLE = next(document for kind, document in DEMO if kind is Kind.STYLE)


def item(kind: Kind, document: dict, version: int = 1) -> Item:
    return Item(1, kind, "N", "name", "", version, document, False, NOW, NOW, "test")


def whole(answer: Answer, size: str = "") -> str:
    return "".join(answer.parts(size).values())


@pytest.mark.parametrize(("kind", "document"), EVERY, ids=NAMES)
def test_every_figure_of_a_page_has_its_reason(kind, document):
    answer = answer_of(item(kind, document))
    keys = re.findall(r'data-why="([^"]+)"', whole(answer))
    assert keys or kind in (Kind.SIZES,)
    for key in keys:
        reason = answer.reason(key)
        assert reason is not None, key
        assert "Known as:" in reason


@pytest.mark.parametrize(("kind", "document"), EVERY, ids=NAMES)
def test_every_field_of_a_page_writes_to_a_known_place(kind, document):
    paths = re.findall(r"data-path=(?:\"([^\"]+)\"|'([^']+)')", whole(answer_of(item(kind, document))))
    assert paths
    for double, single in paths:
        path = tuple(json.loads((double or single).replace("&quot;", '"').replace("&#x27;", "'")))
        assert field_at(path) is not None, path


def test_the_inputs_of_a_reason_open_their_own():
    answer = answer_of(item(Kind.STYLE, STYLE))
    first = re.findall(r'data-why="(lede-\d+)"', answer.parts()["lede"])[1]
    inner = re.findall(r'data-why="([^"]+)"', answer.reason(first) or "")
    assert inner
    assert all(answer.reason(key) for key in inner)


def test_two_sizes_keep_their_reasons_apart():
    answer = answer_of(item(Kind.STYLE, STYLE))
    small, large = answer.parts("XS")["makeup"], answer.parts("3XL")["makeup"]
    keys = [re.findall(r'data-why="([^"]+)"', each) for each in (small, large)]
    assert not set(keys[0]) & set(keys[1])
    for each, html in zip(keys, (small, large), strict=True):
        shown = re.findall(r'data-why="[^"]+" aria-expanded="false" aria-label="([^"]+), [a-z ]+\. Why\?"', html)
        for key, label in zip(each, shown, strict=True):
            value = label.rpartition(": ")[2]
            assert f"Why {value}?" in (answer.reason(key) or ""), key


@pytest.mark.parametrize("style", [document for kind, document in DEMO if kind is Kind.STYLE])
def test_at_every_size_the_reason_is_that_of_the_figure_shown(style):
    """All sizes written out first, for people who may change and people who may look."""
    answer = answer_of(item(Kind.STYLE, style))
    assert answer.study is not None
    sizes = [each.size for each in answer.study.sizes]
    pages = [whole(answer, size) for size in sizes] + ["".join(answer.parts(sizes[0], may_edit=False).values())]
    shown = [each for page in pages for each in re.findall(SHOWN, page)]
    assert len(shown) > 50 * len(sizes)
    for key, label in shown:
        assert f"Why {label.rpartition(': ')[2]}?" in (answer.reason(key) or ""), key


SHOWN = r'data-why="([^"]+)" aria-expanded="false" aria-label="([^"]+), [a-z ]+\. Why\?"'


def test_an_unknown_size_shows_the_base_size():
    answer = answer_of(item(Kind.STYLE, STYLE))
    assert answer.parts("no such size") == answer.parts("M")


def test_a_document_that_cannot_be_read_still_has_its_page():
    answer = answer_of(item(Kind.STYLE, {"style": {"name": "odd"}, "machine": {"gauge": -3}}))
    parts = answer.parts()
    assert answer.study is None
    assert "machine.gauge" in parts["findings"]
    assert "data-path" in parts["brief"]


RATES = next(document for kind, document in DEMO if kind is Kind.RATES)


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("machine_hour", "abc", "no amount of money"),
        ("machine_hour", "3 USD/h", "EUR and USD"),
        ("machine_hour", "3 EUR/min", "EUR/h"),
        ("currency", "Euro", "no currency code"),
        ("duty_share", "lots", "lots"),
        ("margin", 5, "out of reach"),
        ("tea_share", 0.1, "tea_share"),
    ],
)
def test_a_rate_card_with_a_wrong_rate_says_so_on_its_page_and_keeps_its_fields(house, name, typed, words):
    """The shelf keeps it, so the page has to show it, or nobody could mend it."""
    kept = house.shelf.add(Kind.RATES, {**RATES, "rates": {**RATES["rates"], name: typed}}, by="test")
    parts = answer_of(kept).parts()
    assert words in parts["findings"]
    assert str(typed) in parts["brief"]
    assert f'["rates", "{name}"]'.replace('"', "&quot;") in parts["brief"]


def test_who_may_only_look_gets_no_field_to_type_into():
    parts = answer_of(item(Kind.STYLE, STYLE)).parts(may_edit=False)
    asks_only = parts.pop("next")  # which swatch to knit next: anybody may ask, nothing is saved
    assert '<select name="wanted">' in asks_only
    looks_only = parts.pop("pack")  # paper and language of the pages to look at
    fields = re.findall(r"<(?:input|select|textarea|form)[^>]*>", looks_only)
    assert fields == ['<select name="paper">', '<select name="language">']
    controls = re.findall(r"<(?:input|select|textarea)[^>]*>", "".join(parts.values()))
    assert controls
    assert all(" disabled" in control for control in controls)
    assert 'aria-readonly="true"' in parts["sizes"]


def test_the_price_line_remembers_where_the_price_was():
    first = answer_of(item(Kind.STYLE, STYLE))
    dearer = {**STYLE, "order": {**STYLE["order"], "pieces": 100}}
    second = answer_of(item(Kind.STYLE, dearer, 2), first)
    assert "before, at 640 pieces" in second.parts()["lede"]
    third = answer_of(item(Kind.STYLE, {**dearer, "style": {**STYLE["style"], "note": "seen"}}, 3), second)
    assert "before, at 640 pieces" in third.parts()["lede"]


MARKUP = st.sampled_from(
    ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "'--><svg onload=x>", "&lt;b>"]
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(MARKUP, st.text(max_size=10))
def test_no_word_of_a_person_becomes_markup(markup, tail):
    said = "".join(sign for sign in markup + tail if sign.isprintable()) or "x"
    document = {
        **STYLE,
        "style": {"name": said, "number": said, "season": said, "note": said},
        "yarns": {"merino": {**STYLE["yarns"]["merino"], "name": said}},
        "order": {**STYLE["order"], "colours": [{"name": said}], "ship_date": said, "terms": said},
    }
    page = whole(answer_of(item(Kind.STYLE, document)))
    assert "<script" not in page
    assert "<img" not in page
    assert "<svg onload" not in page


SPELL = "<script>alert(1)</script>"


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Every key and every value of a document, with its path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield "key", (*path, key)
            yield from places(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from places(inner, (*path, number))
    else:
        yield "value", path


def with_spell(document: dict, what: str, path: tuple[Any, ...]) -> dict:
    changed = deepcopy(document)
    table: Any = changed
    for key in path[:-1]:
        table = table[key]
    if what == "value":
        table[path[-1]] = SPELL
    else:
        kept = [(SPELL if key == path[-1] else key, value) for key, value in table.items()]
        table.clear()
        table.update(kept)
    return changed


FIRST_OF_KIND = list({kind: (kind, document) for kind, document in reversed(EVERY)}.values())


@pytest.mark.parametrize(("kind", "document"), FIRST_OF_KIND, ids=[kind.value for kind, _ in FIRST_OF_KIND])
def test_markup_at_any_place_of_a_document_comes_out_as_words(kind, document):
    """In the place of every value and every key in turn, whether the study takes it or refuses it."""
    tried = refused = 0
    for what, path in places(document):
        changed = with_spell(document, what, path)
        if kind is Kind.STRUCTURE and path[0] == "structures" and len(path) == 1:
            continue  # no structure at all: the shelf keeps no such thing
        answer = answer_of(Item(1, kind, SPELL, SPELL, SPELL, 1, changed, False, NOW, NOW, SPELL))
        for may_edit in (True, False):
            assert "<script" not in "".join(answer.parts(may_edit=may_edit).values()), (what, path)
        reasons = [answer.reason(key) or "" for key in set(re.findall(r'data-why="([^"]+)"', whole(answer)))]
        assert "<script" not in "".join(reasons), (what, path)
        tried += 1
        refused += answer.study is None
    assert tried > refused > 0


def test_a_rate_that_nobody_knows_still_has_its_line_and_its_finding():
    answer = answer_of(item(Kind.STYLE, {**STYLE, "rates": {"currency": "EUR", "tea_share": 0.1}}))
    assert "tea_share" in answer.parts()["brief"]
    assert "tea_share" in answer.parts()["findings"]
