"""Cloth at yarn level: every structure is drawn small, seen right way round, and says how much cloth it shows."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.draw.cloth import cloth_picture
from loopwright.draw.curl import curl_picture
from loopwright.draw.section import cross_section_picture
from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.structure.library import library, structure_from
from loopwright.yarn.yarn import yarn_from_words

SVG = "{http://www.w3.org/2000/svg}"
MERINO = yarn_from_words("2/28 Nm merino")
KEYS = sorted(library())


def fabric(key: str) -> Fabric:
    return fabric_of(library()[key], MERINO)


@pytest.mark.parametrize("side", ["face", "back"])
@pytest.mark.parametrize("key", KEYS)
def test_every_structure_is_drawn_and_stays_small(key, side):
    text = cloth_picture(fabric(key), side, key="c")
    root = ElementTree.fromstring(text)
    assert root.find(f"{SVG}title").text == f"{library()[key].name}, technical {side}"
    assert len(text) < 60_000


def test_the_cloth_shown_is_said_in_mm_and_the_form_is_called_indicative():
    plain = fabric("plain")
    words = " ".join(each.text or "" for each in ElementTree.fromstring(cloth_picture(plain)).iter(f"{SVG}text"))
    width, height = map(float, re.search(r"Face: ([\d.]+) by ([\d.]+) mm of cloth", words).groups())
    assert height / width == pytest.approx(0.76, abs=0.01)
    assert 5 <= width / 10 * plain.geometry.wales_per_cm.value <= 8
    assert "indicative" in words


def test_yarn_is_painted_from_the_far_side_to_the_near_one():
    strokes = [use.get("stroke") for use in ElementTree.fromstring(cloth_picture(fabric("plain"))).iter(f"{SVG}use")]
    bodies = [int(colour[1:3], 16) for colour in strokes[1::4]]  # far yarn is darker
    assert bodies == sorted(bodies)
    assert bodies[0] < bodies[-1]


def test_the_back_of_plain_is_the_face_of_reverse_plain():
    def lines(key: str, side: str) -> list[str]:
        root = ElementTree.fromstring(cloth_picture(fabric(key), side))
        return [path.get("d") for path in root.iter(f"{SVG}path")]

    assert lines("plain", "face") != lines("plain", "back")
    assert len(lines("plain", "back")) == len(lines("reverse-plain", "face"))


@pytest.mark.parametrize(("key", "yarns"), [("plain", 1), ("birdseye-2", 2), ("striped-jacquard-3", 3)])
def test_every_yarn_has_its_own_grey_on_the_near_side(key, yarns):
    assert len(library()[key].anatomy.yarns) == yarns
    strokes = [use.get("stroke") for use in ElementTree.fromstring(cloth_picture(fabric(key))).iter(f"{SVG}use")]
    assert len(set(strokes[1::4])) >= yarns


def test_two_pictures_stand_on_one_page_without_sharing_a_name():
    first, second = (cloth_picture(fabric("plain"), key=key) for key in ("one", "two"))
    names = [set(re.findall(r' id="([^"]+)"', text)) for text in (first, second)]
    assert not names[0] & names[1]
    for text, own in zip((first, second), names, strict=True):
        assert set(re.findall(r'href="#([^"]+)"', text)) <= own


def test_a_name_with_markup_in_it_stays_a_name():
    structure = structure_from("own", {"name": "<b>網目 & “mesh”</b>", "courses": ["F:KT", "F:KK"]})
    root = ElementTree.fromstring(cloth_picture(fabric_of(structure, MERINO)))
    assert root.find(f"{SVG}title").text.startswith("<b>網目 & “mesh”</b>")


@st.composite
def courses(draw: st.DrawFn) -> list[str]:
    needles = draw(st.integers(1, 5))
    bed = st.text("KTM-", min_size=needles, max_size=needles)
    lines = [f"F:{draw(bed)} B:{draw(bed)} yarn:{draw(st.sampled_from('abc'))}" for _ in range(draw(st.integers(1, 4)))]
    if draw(st.booleans()):
        lines += [f"move F>B:{draw(st.text('X.', min_size=needles, max_size=needles))}", "rack:+1"]
    return [*lines, f"F:{'K' * needles} B:{'K' * needles}"]


@given(courses(), st.sampled_from(["rib", "interlock"]))
def test_any_structure_of_your_own_is_drawn_cut_and_laid_down(lines, gating):
    own = fabric_of(structure_from("own", {"name": "own", "courses": lines, "gating": gating}), MERINO)
    for text in (cloth_picture(own), cloth_picture(own, "back"), cross_section_picture(own), curl_picture(own)):
        root = ElementTree.fromstring(text)
        assert root.find(f"{SVG}desc").text
        assert "nan" not in text.lower().replace("own", "")
