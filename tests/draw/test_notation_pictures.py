"""Needle notation, point paper and running thread: as many signs as stitches, rows in order, nothing that raises."""

import re
from collections import Counter
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.draw.needles import needle_notation_picture, stitch_sign, words_between
from loopwright.draw.point_paper import point_paper_picture
from loopwright.draw.running_thread import running_thread_picture
from loopwright.structure.anatomy import anatomy
from loopwright.structure.library import library
from loopwright.structure.notation import Move, Notation, Rack, Stitch, read

SVG = "{http://www.w3.org/2000/svg}"
KEYS = sorted(library())
PICTURES = [needle_notation_picture, point_paper_picture, running_thread_picture]


def drawn(picture, notation: Notation) -> ElementTree.Element:
    return ElementTree.fromstring(picture(notation, key="k"))


def group(root: ElementTree.Element, name: str) -> ElementTree.Element:
    return next(each for each in root.iter(f"{SVG}g") if each.get("class") == name)


def classes(root: ElementTree.Element) -> Counter[str]:
    return Counter(each.get("class") for each in root.iter() if each.get("class"))


@pytest.mark.parametrize("picture", PICTURES)
@pytest.mark.parametrize("key", KEYS)
def test_every_structure_of_the_library_is_drawn_with_title_and_description(key, picture):
    root = drawn(picture, library()[key].notation)
    assert root.find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text


@pytest.mark.parametrize("key", KEYS)
def test_the_repeat_on_point_paper_shows_every_loop_and_tuck_once(key):
    counted = library()[key].anatomy
    signs = classes(group(drawn(point_paper_picture, library()[key].notation), "repeat"))
    assert signs["face"] == counted.front_loops
    assert signs["reverse"] == counted.back_loops
    assert signs["tuck"] == counted.tucks


@pytest.mark.parametrize("key", KEYS)
def test_the_needle_notation_shows_every_loop_tuck_and_miss_of_the_repeat(key):
    notation = library()[key].notation
    root = drawn(needle_notation_picture, notation)
    repeats = [each for each in root.iter(f"{SVG}g") if each.get("class") == "repeat"]
    signs = sum((classes(each) for each in repeats), Counter())
    stitches = Counter(stitch for feed in notation.feeds for stitch in feed.front + feed.back)
    for stitch in (Stitch.KNIT, Stitch.TUCK, Stitch.MISS):
        assert signs[f"sign {stitch.name.lower()}"] == stitches[stitch]


@pytest.mark.parametrize("key", KEYS)
def test_the_running_thread_goes_round_as_many_needles_as_knit(key):
    notation = library()[key].notation
    root = drawn(running_thread_picture, notation)
    yarns = [each for each in root.iter(f"{SVG}g") if each.get("class") == "yarn"]
    shown = max(notation.needles, 11)
    assert len(yarns) == len(notation.feeds)
    for yarn, feed in zip(yarns, notation.feeds, strict=True):
        places = [*(feed.front[place % notation.needles] for place in range(shown))]
        places += [feed.back[place % notation.needles] for place in range(shown)]
        counts = Counter(places)
        assert classes(yarn)["knit"] == counts[Stitch.KNIT]
        assert classes(yarn)["tuck"] == counts[Stitch.TUCK]


def height_of(root: ElementTree.Element, text: str) -> float:
    return next(float(each.get("y")) for each in root.iter(f"{SVG}text") if each.text == text)


def test_the_first_feed_and_row_stand_lowest():
    notation = library()["half-milano"].notation
    needles, paper = drawn(needle_notation_picture, notation), drawn(point_paper_picture, notation)
    assert height_of(needles, "Feed 1") > height_of(needles, "Feed 2")
    assert height_of(paper, "1") > height_of(paper, "2")
    yarns = [each for each in drawn(running_thread_picture, notation).iter(f"{SVG}g") if each.get("class") == "yarn"]
    base = [float(re.search(r"M[\d.]+ ([\d.]+)", yarn[0].get("d")).group(1)) for yarn in yarns]
    assert base[0] > base[1]


def test_a_two_by_two_rib_reads_two_crosses_and_two_rings():
    signs = group(drawn(point_paper_picture, library()["rib-2x2"].notation), "repeat")
    order = [each.get("class") for each in signs if each.get("class") in ("face", "reverse")]
    assert order == ["face", "face", "reverse", "reverse"]


def test_back_points_stand_between_front_points_in_rib_gating_and_opposite_in_interlock():
    def columns(key: str) -> tuple[set[float], set[float]]:
        points = [
            (float(each.get("cx")), float(each.get("cy")))
            for each in drawn(running_thread_picture, library()[key].notation).iter(f"{SVG}circle")
        ]
        low = max(y for _, y in points)
        return {x for x, y in points if y == low}, {x for x, y in points if y != low}

    front, back = columns("rib-1x1")
    assert not front & back
    front, back = columns("interlock")
    assert front == back


def test_the_carriage_turns_after_every_feed():
    root = drawn(running_thread_picture, library()["full-milano"].notation)
    arrows = [each.get("d") for each in root.iter(f"{SVG}path") if each.get("class") == "arrow"]
    ways = []
    for text in arrows:
        tip, barb = [float(pair.split()[0]) for pair in text.strip("MZ").split("L")[:2]]
        ways.append(tip > barb)
    assert ways == [True, False, True]
    assert any("flat machine" in (each.text or "") for each in root.iter(f"{SVG}text"))


def test_a_front_loop_hangs_below_its_yarn_and_a_back_loop_stands_above_it():
    front, back = (stitch_sign(Stitch.KNIT, 50, 50, 30, is_back) for is_back in (False, True))
    yarn = [float(re.search(r'd="M[\d.]+ ([\d.]+)', sign).group(1)) for sign in (front, back)]
    assert yarn[0] < 50 < yarn[1]


def test_the_yarn_is_named_at_the_rows_where_it_changes():
    root = drawn(point_paper_picture, library()["float-jacquard-2"].notation)
    named = [each.text for each in root.iter(f"{SVG}text") if each.get("class") == "yarn"]
    assert named[:4] == ["yarn a", "yarn b", "yarn a", "yarn b"]
    plain = drawn(point_paper_picture, library()["plain"].notation)
    assert not [each for each in plain.iter(f"{SVG}text") if each.get("class") == "yarn"]


def test_transfers_and_racks_stand_between_the_feeds_in_words():
    assert (
        words_between((Move(True, (False, True)), Rack(1))) == "transfer needle 2 to the back; back bed 1 to the right"
    )
    for picture in (needle_notation_picture, running_thread_picture):
        root = drawn(picture, library()["transfer-lace"].notation)
        said = " ".join(each.text for each in root.iter(f"{SVG}text") if each.get("class") == "between")
        assert "transfer needle 2 to the back" in said
        assert "back bed home" in said


def test_an_eyelet_is_seen_as_a_loop_moved_sideways():
    assert classes(drawn(point_paper_picture, library()["transfer-lace"].notation))["moved"] == 1


@pytest.mark.parametrize("picture", PICTURES)
def test_a_yarn_with_markup_in_its_name_is_words(picture):
    root = drawn(picture, read(["F:KK yarn:<b>糸&", "F:KK"]))
    assert not list(root.iter("b"))
    assert "<b>糸&" in root.find(f"{SVG}desc").text or picture is point_paper_picture


@st.composite
def notations(draw: st.DrawFn) -> Notation:
    needles = draw(st.integers(1, 6))
    bed = st.text("KTM-", min_size=needles, max_size=needles)
    lines = []
    for _ in range(draw(st.integers(1, 5))):
        lines.append(f"F:{draw(bed)} B:{draw(bed)}")
        if draw(st.booleans()):
            marks = draw(st.text("X.", min_size=needles, max_size=needles))
            lines.append(f"move {draw(st.sampled_from(['F>B', 'B>F']))}:{marks}")
        if draw(st.booleans()):
            lines.append(f"rack:{draw(st.integers(-3, 3)):+d}")
    lines.append(f"F:{'K' * needles} B:{'K' * needles}")
    return read(lines, draw(st.sampled_from(["rib", "interlock"])))


@given(notations())
def test_any_notation_can_be_drawn_and_loses_no_stitch(notation):
    counted = anatomy(notation)
    for picture in PICTURES:
        drawn(picture, notation)
    signs = classes(group(drawn(point_paper_picture, notation), "repeat"))
    assert signs["face"] + signs["reverse"] == counted.loops
    assert signs["tuck"] == counted.tucks
