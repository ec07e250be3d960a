"""Every edit is kept, can be taken back, and two people at one style never overwrite each other unseen."""

from copy import deepcopy
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.store.document import cells, differences, edited, stepped_back, value_at
from loopwright.store.values import Action, Clash, Edit, Kind, Step

LENGTH = ("garment", "measures_cm", "length")
CHEST = ("garment", "measures_cm", "half_chest")
PIECES = ("order", "pieces")
NEW_PLACE = ("garment", "grade_cm", "length")
MEASURES = ("garment", "measures_cm")


def set_field(shelf, item, path, value, base=None, **words):
    words = {"by": "Mara", **words}
    return shelf.change(item.id, [Edit(path, value)], base_version=base or shelf.load(item.id).version, **words)


def test_an_edit_is_kept_with_who_when_what_was_and_what_is(shelf, pullover):
    saved = set_field(shelf, pullover, LENGTH, 64.5, window="w1", label="Longer body")
    assert value_at(shelf.load(pullover.id).document, LENGTH) == 64.5
    assert saved.item == shelf.load(pullover.id)
    assert saved.item.version == 2
    assert not saved.merged
    newest, first = shelf.history(pullover.id)
    assert newest == saved.change
    assert (newest.by, newest.window, newest.label, newest.action) == ("Mara", "w1", "Longer body", Action.EDITED)
    assert newest.steps == (Step(LENGTH, 62.0, 64.5),)
    assert newest.at == saved.item.changed_at or newest.at > saved.item.made_at
    assert (first.action, first.version) == (Action.MADE, 1)


def test_several_fields_are_one_change(shelf, pullover):
    edits = [Edit(LENGTH, 64.0), Edit(PIECES, None), Edit(("order",), None), Edit(NEW_PLACE, 2.0)]
    saved = shelf.change(pullover.id, edits, base_version=1, by="Mara")
    assert saved.item.version == 2
    assert "order" not in saved.item.document
    assert value_at(saved.item.document, NEW_PLACE) == 2.0
    assert shelf.undo(pullover.id, by="Mara").item.document == pullover.document


def test_an_edit_that_changes_nothing_leaves_no_trace(shelf, pullover):
    for edit in (Edit(LENGTH, 62), Edit(("garment", "fit"), None), Edit(("construction", "x", "y"), None)):
        saved = shelf.change(pullover.id, [edit], base_version=1, by="Mara")
        assert (saved.change, saved.item.version) == (None, 1)
    assert len(shelf.history(pullover.id)) == 1


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (LENGTH, -3, "at least 0"),
        (("garment", "lenght"), 3, "no field"),
        (("machine", "gauge"), None, "left out"),
        (("machine", "gauge", "front"), 3, "single value"),
        (LENGTH, float("nan"), "finite"),
        (("style", "note"), {"a": {"b": {}}}, "text"),
        (("order", "ship_date"), date(2027, 9, 14), "2027-09-14"),
        pytest.param(("style", "note"), 10**5000, "digits", id="digits"),
        (("garment", "grade_cm"), {"length": {"a": {"b": 1}}}, "number"),
    ],
)
def test_a_wrong_edit_changes_nothing(path, value, words, shelf, pullover):
    with pytest.raises(Problem, match=words):
        shelf.change(pullover.id, [Edit(PIECES, 9), Edit(path, value)], base_version=1, by="Mara")
    assert shelf.load(pullover.id) == pullover


def test_a_yarn_stays_one_yarn(shelf):
    yarn = shelf.add(Kind.YARN, {"yarns": {"fog": {"count": "2/15 Nm"}}}, by="Mara")
    for edit in (Edit(("yarns", "night"), {"count": "2/30 Nm"}), Edit(("machine", "gauge"), 12), Edit(("yarns",), {})):
        with pytest.raises(Problem, match="not a yarn"):
            shelf.change(yarn.id, [edit], base_version=1, by="Mara")


def test_a_document_without_end_is_refused(shelf, pullover):
    endless: dict = {}
    for _ in range(5000):
        endless = {"a": endless}
    with pytest.raises(Problem, match="nested"):
        shelf.add(Kind.STYLE, endless, by="Mara")
    with pytest.raises(Problem, match="nested"):
        shelf.change(pullover.id, [Edit(("a",) * 5000, 1)], base_version=1, by="Mara")
    with pytest.raises(Problem, match="MB"):
        shelf.add(Kind.STYLE, {"make_up_minutes": {f"seam {n} " + "x" * 500: 1 for n in range(5000)}}, by="Mara")


# Two people:


def test_edits_of_different_fields_go_together(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0, base=1)
    saved = set_field(shelf, pullover, CHEST, 50.0, base=1, by="Jo")
    assert saved.merged
    assert value_at(saved.item.document, LENGTH) == 64.0
    assert value_at(saved.item.document, CHEST) == 50.0


def test_two_fields_of_a_table_that_both_had_to_make_go_together(shelf, pullover):
    set_field(shelf, pullover, NEW_PLACE, 2.0, base=1)
    saved = set_field(shelf, pullover, ("garment", "grade_cm", "half_chest"), 2.5, base=1, by="Jo")
    assert saved.item.document["garment"]["grade_cm"] == {"length": 2.0, "half_chest": 2.5}


def test_the_same_field_set_differently_is_a_clash_that_says_who_and_when(shelf, pullover):
    first = set_field(shelf, pullover, LENGTH, 64.0, base=1).change
    with pytest.raises(Clash) as clash:
        shelf.change(pullover.id, [Edit(CHEST, 50.0), Edit(LENGTH, 65.0)], base_version=1, by="Jo")
    (conflict,) = clash.value.conflicts
    assert (conflict.path, conflict.here, conflict.there) == (LENGTH, 65.0, 64.0)
    assert (conflict.version, conflict.at, conflict.by) == (2, first.at, "Mara")
    assert clash.value.version == 2
    assert value_at(shelf.load(pullover.id).document, CHEST) == 49.0
    assert set_field(shelf, pullover, LENGTH, 65.0, base=clash.value.version, by="Jo").change.by == "Jo"


@pytest.mark.parametrize(
    ("theirs", "mine"),
    [
        (Edit(MEASURES, {"length": 64.0}), Edit(LENGTH, 65.0)),
        (Edit(MEASURES, {"length": 64.0}), Edit((*MEASURES, "cuff_opening"), 9.0)),
        (Edit(MEASURES, None), Edit(LENGTH, 65.0)),
        (Edit(LENGTH, 64.0), Edit(MEASURES, {"length": 65.0})),
        (Edit(LENGTH, 64.0), Edit(("garment",), None)),
        (Edit(("order",), None), Edit(("order", "terms"), "CIF")),
        (Edit(LENGTH, None), Edit(LENGTH, 65.0)),
        (Edit(LENGTH, 65.0), Edit(LENGTH, None)),
        (Edit(NEW_PLACE, 1.0), Edit(("garment", "grade_cm"), {"length": 2.0})),
        (Edit(("garment", "sizes"), ["S", "M"]), Edit(("garment", "sizes"), ["M", "L"])),
    ],
)  # fmt: skip
def test_a_table_and_a_field_in_it_clash(theirs, mine, shelf, pullover):
    shelf.change(pullover.id, [theirs], base_version=1, by="Mara")
    with pytest.raises(Clash) as clash:
        shelf.change(pullover.id, [mine], base_version=1, by="Jo")
    assert [each.path for each in clash.value.conflicts] == [mine.path]


@pytest.mark.parametrize(("theirs", "mine"), [(64.0, 64), (None, None)])
def test_the_same_value_twice_is_no_clash(theirs, mine, shelf, pullover):
    set_field(shelf, pullover, LENGTH, theirs, base=1)
    saved = set_field(shelf, pullover, LENGTH, mine, base=1, by="Jo")
    assert (saved.change, saved.merged) == (None, True)


def test_a_field_that_was_changed_and_changed_back_is_free(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0, base=1)
    shelf.undo(pullover.id, by="Mara")
    assert value_at(set_field(shelf, pullover, LENGTH, 65.0, base=1, by="Jo").item.document, LENGTH) == 65.0


def test_one_window_does_not_clash_with_itself(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0, base=1, window="w1")
    saved = set_field(shelf, pullover, LENGTH, 65.0, base=1, window="w1")
    assert not saved.merged
    with pytest.raises(Clash):
        set_field(shelf, pullover, LENGTH, 66.0, base=1, window="w2")


def test_the_losing_side_is_kept_and_does_not_stand_in_the_way(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0, base=1)
    aside = shelf.set_aside(pullover.id, [Edit(LENGTH, 65.0)], by="Jo", window="w2")
    assert aside == shelf.history(pullover.id)[0]
    assert (aside.action, aside.steps) == (Action.SET_ASIDE, (Step(LENGTH, 64.0, 65.0),))
    assert value_at(shelf.load(pullover.id).document, LENGTH) == 64.0
    assert shelf.document_at(pullover.id, 1) == pullover.document
    assert not set_field(shelf, pullover, LENGTH, 66.0, base=2).merged
    assert shelf.undo(pullover.id, by="Jo").item.can_undo == ".".join(LENGTH)


@pytest.mark.parametrize("base", [0, -1, 2, 99])
def test_an_edit_of_a_version_that_never_was_is_refused(base, shelf, pullover):
    with pytest.raises(Problem, match="no version"):
        shelf.change(pullover.id, [Edit(LENGTH, 64.0)], base_version=base, by="Mara")
    with pytest.raises(Problem, match="no version"):
        shelf.document_at(pullover.id, base)


# Undo:


def test_undo_and_redo_walk_the_history_one_edit_at_a_time(shelf, pullover):
    lengths = [62.0, 63.0, 64.0, 65.0]
    for length in lengths[1:]:
        set_field(shelf, pullover, LENGTH, length, label=f"to {length}")

    def length_after(move):
        saved = move(pullover.id, by="Jo")
        return value_at(saved.item.document, LENGTH), saved.item.can_undo, saved.item.can_redo

    assert length_after(shelf.undo) == (64.0, "to 64.0", "to 65.0")
    assert length_after(shelf.undo) == (63.0, "to 63.0", "to 64.0")
    assert length_after(shelf.redo) == (64.0, "to 64.0", "to 65.0")
    assert length_after(shelf.undo) == (63.0, "to 63.0", "to 64.0")
    assert length_after(shelf.undo) == (62.0, None, "to 63.0")
    with pytest.raises(Problem, match="nothing to undo"):
        shelf.undo(pullover.id, by="Jo")
    for length in lengths[1:]:
        assert length_after(shelf.redo)[0] == length
    with pytest.raises(Problem, match="nothing to redo"):
        shelf.redo(pullover.id, by="Jo")
    assert len(shelf.history(pullover.id)) == shelf.load(pullover.id).version == 12
    assert shelf.history(pullover.id)[-5].undoes == 4


def test_a_new_edit_clears_what_could_be_redone(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0)
    shelf.undo(pullover.id, by="Mara")
    assert set_field(shelf, pullover, CHEST, 50.0).item.can_redo is None
    with pytest.raises(Problem, match="nothing to redo"):
        shelf.redo(pullover.id, by="Mara")


def test_an_earlier_version_is_brought_back_as_a_change_that_undo_takes(shelf, pullover):
    set_field(shelf, pullover, LENGTH, 64.0)
    now = set_field(shelf, pullover, ("order",), None).item.document
    assert [step.path for step in shelf.differences(pullover.id, 1, 3)] == [LENGTH, ("order",)]
    saved = shelf.restore(pullover.id, 1, by="Jo")
    assert (saved.item.document, saved.change.action) == (pullover.document, Action.RESTORED)
    assert shelf.restore(pullover.id, 1, by="Jo").change is None
    assert shelf.undo(pullover.id, by="Jo").item.document == now


# Laws:

VALUES = {
    LENGTH: st.floats(10, 90),
    CHEST: st.integers(10, 90),
    MEASURES: st.dictionaries(st.sampled_from(["length", "half_chest", "neck_width"]), st.floats(10, 90)),
    NEW_PLACE: st.floats(-5, 5),
    ("garment", "grade_cm"): st.dictionaries(st.sampled_from(["length", "half_chest"]), st.floats(-5, 5)),
    ("garment",): st.just({"sizes": ["S"]}),
    ("garment", "neckband_doubled"): st.booleans(),
    ("garment", "sizes"): st.lists(st.sampled_from("SMLX"), min_size=1, unique=True),
    ("style", "name"): st.text("ab夜ς ", min_size=1).filter(str.strip),
    ("targets", "price"): st.floats(0, 100),
}


@st.composite
def an_edit(draw):
    path = draw(st.sampled_from(list(VALUES)))
    return Edit(path, draw(VALUES[path] | st.none()))


EDITS = st.lists(an_edit(), min_size=1, max_size=4)
FEW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
DOCUMENT = {"style": {"name": "Night"}, "garment": {"measures_cm": {"length": 62.0, "half_chest": 49.0}}}


@FEW
@given(st.lists(EDITS, max_size=6))
def test_any_edits_then_as_many_undos_give_the_first_document_and_redos_the_last(shelf, sequence):
    item = shelf.add(Kind.STYLE, DOCUMENT, by="Mara")
    seen = {1: item.document}
    done = 0
    for edits in sequence:
        saved = shelf.change(item.id, edits, base_version=shelf.load(item.id).version, by="Mara")
        seen[saved.item.version] = saved.item.document
        done += saved.change is not None
    last = shelf.load(item.id).document
    for move in [shelf.undo] * done + [shelf.redo] * done + [shelf.undo] * done:
        saved = move(item.id, by="Jo")
        seen[saved.item.version] = saved.item.document
        if saved.item.can_undo is None:
            assert saved.item.document == DOCUMENT
        if saved.item.can_redo is None:
            assert saved.item.document == last
    assert shelf.load(item.id).can_undo is None
    assert shelf.load(item.id).document == DOCUMENT
    for version, document in seen.items():
        assert shelf.document_at(item.id, version) == document


FIELDS = [path for path in VALUES if path not in (MEASURES, ("garment",), ("garment", "grade_cm"))]
BOTH = st.fixed_dictionaries({path: st.tuples(st.booleans(), VALUES[path] | st.none()) for path in FIELDS})


@FEW
@given(BOTH)
def test_edits_of_different_fields_merge_to_both_in_either_order(shelf, both):
    """Each field is set, or taken out, by one of two people who saw the same version."""
    mine, theirs = ([Edit(path, value) for path, (hers, value) in both.items() if hers is who] for who in (True, False))
    for first, second in ((mine, theirs), (theirs, mine)):
        item = shelf.add(Kind.STYLE, DOCUMENT, by="Mara")
        shelf.change(item.id, first, base_version=1, by="Mara")
        merged = shelf.change(item.id, second, base_version=1, by="Jo").item.document
        assert {path: value_at(merged, path) for path in both} == {path: value for path, (_, value) in both.items()}


@given(st.lists(an_edit(), max_size=8))
def test_steps_lead_there_and_back_and_leave_what_they_were_given_alone(edits):
    before = deepcopy(DOCUMENT)
    after, steps = edited(before, edits)
    assert before == DOCUMENT
    assert stepped_back(after, steps) == before
    steps = differences(before, after)
    assert stepped_back(after, steps) == before
    assert all(step.before != step.after for step in steps)


def test_a_new_table_is_told_field_by_field():
    step = Step(("garment",), None, {"sizes": ["M"], "grade_cm": {"length": 1.0}})
    assert [each.path for each in cells(step)] == [("garment", "sizes"), ("garment", "grade_cm", "length")]
    assert cells(Step(LENGTH, 1.0, None)) == (Step(LENGTH, 1.0, None),)
