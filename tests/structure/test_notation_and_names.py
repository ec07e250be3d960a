"""The needle notation reads back what it wrote, refuses what cannot be knitted, and finds structures by trade names."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.structure.anatomy import anatomy
from loopwright.structure.library import find_structure, library, normal_name, structure_from
from loopwright.structure.notation import read


@pytest.mark.parametrize("key", list(library()))
def test_a_library_structure_survives_being_written_and_read(key):
    notation = library()[key].notation
    assert read(notation.lines(), notation.gating.value) == notation


@st.composite
def repeats(draw):
    needles = draw(st.integers(1, 6))
    bed = st.text(alphabet="KTM-", min_size=needles, max_size=needles)
    feeds = draw(st.lists(st.tuples(bed, bed), min_size=1, max_size=6))
    return [f"F:{front} B:{back}" for front, back in feeds] + [f"F:{'K' * needles} B:{'K' * needles}"]


@given(repeats())
def test_any_repeat_counts_as_many_pieces_as_it_has_stitches(lines):
    counted = anatomy(read(lines))
    text = "".join(word.partition(":")[2] for line in lines for word in line.split())
    assert counted.loops == text.count("K")
    assert counted.tucks == text.count("T")


@given(repeats())
def test_a_repeat_laid_twice_side_by_side_has_the_same_balance_and_passes(lines):
    once = anatomy(read(lines))
    doubled = [" ".join(word[:2] + word[2:] * 2 for word in line.split()) for line in lines]
    twice = anatomy(read(doubled))
    assert twice.passes_per_course == pytest.approx(once.passes_per_course)
    assert twice.balance == pytest.approx(once.balance)
    assert twice.loops == 2 * once.loops


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_in_words(text):
    with contextlib.suppress(Problem):
        assert read([text]).needles > 0


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "no needle knits"),
        (["F:MM"], "no needle knits"),
        (["F:KK B:K"], "front bed shows 2 needles and the back bed 1"),
        (["F:KK", "F:K"], "show 1 and 2 needles"),
        (["F:KK", "F:KK B:-T"], "needle 2 of the back bed tucks and never knits"),
        (["F:KX"], "no stitch"),
        (["Q:KK"], "cannot be read"),
        (["move F>B:Q", "F:K"], "no transfer"),
        (["rack:one", "F:K"], "whole number of needles"),
    ],
)
def test_what_cannot_be_knitted_is_refused_with_the_reason(lines, words):
    with pytest.raises(Problem, match=words):
        read(lines)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("jersey", "plain"),
        ("Single Jersey", "plain"),
        ("1/1 rib", "rib-1x1"),
        ("2 × 2 rib", "rib-2x2"),
        ("Côte anglaise", "full-cardigan"),
        ("perlfang", "half-cardigan"),
        ("POLKA RIB", "full-cardigan"),
        ("ponte di roma", "ponte"),
        ("links-links", "purl-1x1"),
        ("pointelle", "transfer-lace"),
    ],
)
def test_trade_names_find_their_structure(name, key):
    assert find_structure(name).key == key


@pytest.mark.parametrize("name", ["cardigan", "Milano", "fisherman's rib", "piqué"])
def test_a_name_that_houses_use_differently_is_asked_back(name):
    with pytest.raises(Problem, match="different structures"):
        find_structure(name)


def test_an_unknown_name_offers_the_nearest_ones():
    with pytest.raises(Problem, match="interlock"):
        find_structure("interlok")


@given(st.text(max_size=30))
def test_normal_names_are_stable(name):
    assert normal_name(normal_name(name)) == normal_name(name)


def test_a_length_role_without_a_length_is_refused():
    with pytest.raises(Problem, match="have no length"):
        structure_from("own", {"courses": ["F:K loop:long"]})


def test_purl_wales_change_beds_and_rib_wales_do_not():
    """Links-links: all courses counted on one wale; rib: a face and a back wale in each needle place."""
    assert library()["purl-1x1"].anatomy.front_courses == 2
    assert library()["rib-1x1"].anatomy.front_wales == library()["rib-1x1"].anatomy.back_wales == 1


@pytest.mark.parametrize(
    ("key", "balanced"),
    [("plain", False), ("reverse-plain", False), ("rib-1x1", True), ("interlock", True), ("full-milano", True),
     ("full-cardigan", True), ("moss", True), ("purl-1x1", True), ("half-milano", False), ("rib-3x1", False)],
)  # fmt: skip
def test_only_unbalanced_structures_curl(key, balanced):
    """Curl ranks of the fabric reference 8: 0 for balanced structures."""
    counted = library()[key].anatomy
    assert (counted.walewise_balance == 0 and counted.coursewise_balance == 0) is balanced
