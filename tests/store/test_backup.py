"""The whole shelf goes into one file and comes back, on either database; a bad file brings nothing at all."""

import gzip
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.store.shelf import Shelf
from loopwright.store.values import Counts, Edit, Kind


def fill(shelf: Shelf, example: dict[str, Any]) -> None:
    """A style with a long history, a yarn, an archived machine."""
    style = shelf.add(Kind.STYLE, example, by="Mara").id
    for length in (63.0, 64.0, 65.0):
        shelf.change(
            style, [Edit(("garment", "measures_cm", "length"), length)], base_version=shelf.load(style).version, by="Jo"
        )
    shelf.undo(style, by="Jo")
    shelf.undo(style, by="Jo")
    shelf.redo(style, by="Jo")
    shelf.set_aside(style, [Edit(("style", "name"), "夜")], by="Jo", window="w")
    shelf.restore(style, 1, by="Mara")
    shelf.undo(style, by="Mara")
    shelf.add(Kind.YARN, {"yarns": {"fog": {"count": "2/15 Nm"}}}, by="Mara")
    shelf.archive(shelf.add(Kind.MACHINE, {"machine": {"gauge": 7}}, by="Mara").id, by="Mara")


def all_of(shelf: Shelf) -> list[Any]:
    lines = [line for kind in Kind for archived in (False, True) for line in shelf.lines(kind, archived=archived)]
    return sorted((shelf.load(line.id) for line in lines), key=lambda each: each.id)


def told(shelf: Shelf, item_id: int) -> list[Any]:
    return [replace(each, number=0, item_id=0) for each in shelf.history(item_id)]


@pytest.mark.parametrize(
    ("first", "second"), [("sqlite", "postgresql"), ("postgresql", "sqlite"), ("sqlite", "sqlite")]
)
def test_a_shelf_moves_from_one_database_to_another_with_its_whole_history(first, second, new_url, open_one, example):
    old, new = open_one(new_url(first)), open_one(new_url(second))
    fill(old, example)
    assert new.restore_backup(old.back_up(), by="Kim") == Counts(3, 13)
    assert len(all_of(old)) == len(all_of(new)) == 3
    for before, after in zip(all_of(old), all_of(new), strict=True):
        assert replace(after, version=before.version) == before
        arrival, *rest = told(new, after.id)
        assert (arrival.action, arrival.by) == ("imported", "Kim")
        assert rest == told(old, before.id)
        for version in range(1, before.version + 1):
            assert new.document_at(after.id, version) == old.document_at(before.id, version)
    style = all_of(old)[0].id
    for move in ("redo", "undo", "undo", "undo", "redo"):
        assert getattr(new, move)(style, by="x").item.document == getattr(old, move)(style, by="x").item.document


def test_a_back_up_comes_beside_what_is_there(shelf, example):
    fill(shelf, example)
    before = all_of(shelf)
    shelf.restore_backup(shelf.back_up(), by="Kim")
    after = all_of(shelf)
    assert after[:3] == before
    assert [each.document for each in after[3:]] == [each.document for each in before]


def test_an_empty_shelf_has_a_back_up_too(shelf):
    assert shelf.restore_backup(shelf.back_up(), by="Kim") == Counts(0, 0)


def packed(document: Any) -> bytes:
    return gzip.compress(json.dumps(document).encode())


@pytest.fixture
def document(shelf, example) -> Any:
    fill(shelf, example)
    return json.loads(gzip.decompress(shelf.back_up()))


def refused(shelf: Shelf, data: bytes, words: str) -> None:
    before = all_of(shelf)
    with pytest.raises(Problem, match=words):
        shelf.restore_backup(data, by="Kim")
    assert all_of(shelf) == before


def test_a_file_that_is_no_back_up_is_refused(shelf, document):
    whole = packed(document)
    for data in (b"", b"x", whole[:-9], whole[: len(whole) // 2], gzip.compress(b"{"), packed([]), packed({}),
                 packed({"format": "another"}), gzip.compress(b"[" * 100_000), gzip.compress(b"9" * 5000)):  # fmt: skip
        refused(shelf, data, "not a whole back-up")
    refused(shelf, packed({**document, "version": 3}), "newer version")
    refused(shelf, packed({**document, "items": 3}), "damaged: items")


def test_a_small_file_that_unpacks_without_end_is_refused(shelf, monkeypatch):
    monkeypatch.setattr("loopwright.store.backup.MOST_UNPACKED", 3_000_000)
    refused(shelf, gzip.compress(bytes(4_000_000)), "far too long")
    monkeypatch.setattr("loopwright.store.backup.MOST_PACKED", 100)
    refused(shelf, bytes(101), "MB long")


def item(document: Any) -> Any:
    return document["items"][0]


def undo_something_else(document: Any) -> None:
    """The last record says that it took the restoring back, but what it did was to give another name."""
    kept = item(document)
    kept["changes"][9]["steps"] = [[["style", "name"], kept["document"]["style"]["name"], "Other"]]
    kept["document"]["style"]["name"] = "Other"
    kept["document"]["garment"]["measures_cm"]["length"] = 62.0


DAMAGES = {
    "an undo that does something else": undo_something_else,
    "a value that no step led to": lambda doc: item(doc)["document"]["garment"]["measures_cm"].update(length=99),
    "a missing record": lambda doc: item(doc)["changes"].pop(2),
    "a record too many": lambda doc: item(doc)["changes"].append(item(doc)["changes"][-1]),
    "no record at all": lambda doc: item(doc)["changes"].clear(),
    "an undo of another edit": lambda doc: item(doc)["changes"][4].update(undoes=2),
    "an undo of nothing": lambda doc: item(doc)["changes"][1].update(action="undone", undoes=1),
    "a step into a list": lambda doc: item(doc)["changes"][1].update(steps=[[["garment", "sizes", "x"], None, 1]]),
    "a step to nowhere": lambda doc: item(doc)["changes"][1].update(steps=[[["a", "b"], 1, None]]),
}
SPOILS = {
    "a style that is none": lambda doc: item(doc)["document"].update(machine={"gauge": -1}),
    "another kind": lambda doc: item(doc).update(kind="yarn"),
    "an unknown kind": lambda doc: item(doc).update(kind="hat"),
    "an unknown action": lambda doc: item(doc)["changes"][0].update(action="burnt"),
    "a step without a path": lambda doc: item(doc)["changes"][1].update(steps=[[[], 1, 2]]),
    "a step of two": lambda doc: item(doc)["changes"][1].update(steps=[[["a"], 1]]),
    "a time before time": lambda doc: item(doc).update(made_at="0001-01-01T00:00:00+14:00"),
    "a time without zone": lambda doc: item(doc).update(made_at="2027-01-01T00:00:00"),
    "a field too many": lambda doc: item(doc).update(id=1),
    "a version without end": lambda doc: item(doc).update(version=10**30),
    "text that is none": lambda doc: item(doc)["document"]["style"].update(name="\ud800"),
    "a step of text that is none": lambda doc: item(doc)["changes"][7].update(
        steps=[[["style", "name"], None, "\ud800"]]
    ),
    "a step of a field that is none": lambda doc: item(doc)["changes"][7].update(steps=[[["\ud800"], None, 1]]),
    "a document that is none": lambda doc: item(doc).update(document=[]),
    "a last item that is wrong": lambda doc: doc["items"][-1]["document"].update(x=1),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_history_that_does_not_fit_is_refused(damage, shelf, document):
    DAMAGES[damage](document)
    refused(shelf, packed(document), "does not fit")


@pytest.mark.parametrize("spoil", SPOILS)
def test_anything_wrong_in_it_refuses_the_whole_file(spoil, shelf, document):
    SPOILS[spoil](document)
    refused(shelf, packed(document), "back-up")


ODD = st.sampled_from([None, 0, -1, 10**30, 1.5, True, "", "x", "\x00", "\ud800", [], {}, [[]], {"a": {}}, "undone"])


def places(part: Any, place: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = []
    for key, value in part.items() if isinstance(part, dict) else enumerate(part):
        found.append((*place, key))
        if isinstance(value, dict | list):
            found += places(value, (*place, key))
    return found


def undo_all(shelf: Shelf, item_id: int) -> None:
    """Undo as far as it goes: to the first document, or to one that is no style, which leaves all as it is."""
    while (now := shelf.load(item_id)).can_undo is not None:
        try:
            shelf.undo(item_id, by="Kim")
        except Problem:
            assert shelf.load(item_id) == now
            return


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_file_with_anything_in_it_comes_back_whole_or_not_at_all(shelf, document, data):
    """Whatever comes back can be read in each version, and undone as far as its documents are styles."""
    spoiled = json.loads(json.dumps(document))
    *path, last = data.draw(st.sampled_from(places(spoiled)))
    part = spoiled
    for key in path:
        part = part[key]
    part[last] = data.draw(ODD)
    before = all_of(shelf)
    try:
        shelf.restore_backup(packed(spoiled), by="Kim")
    except Problem:
        assert all_of(shelf) == before
        return
    for each in all_of(shelf)[len(before) :]:
        for version in range(1, each.version + 1):
            shelf.document_at(each.id, version)
        undo_all(shelf, each.id)
