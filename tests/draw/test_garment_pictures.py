"""Garments and their seams: to scale, on one base line, each seam as it is joined and numbered in order of work."""

import math
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.draw.garment import garments_at_one_scale, silhouette
from loopwright.draw.makeup_map import makeup_map
from loopwright.garment.measures import Measures
from loopwright.makeup.seams import Seam
from loopwright.study.study import study_style
from loopwright.study.style import read_style

SVG = "{http://www.w3.org/2000/svg}"
DOCUMENT = {
    "yarns": {"main": {"count": "2/28 Nm", "fibres": {"wool": 100}}},
    "zones": {"body": {"structure": "plain"}},
    "garment": {"population": "women", "sizes": ["S", "M", "3XL"]},
    "machine": {"gauge": 12},
}
STUDY = study_style(read_style(DOCUMENT))
SIZES = {size.size: size for size in STUDY.sizes}
SEAMS = SIZES["M"].seams


def measures(size: str) -> Measures:
    return SIZES[size].plan.measures


@pytest.mark.parametrize("size", ["S", "M", "3XL"])
def test_the_silhouette_has_the_measures_of_the_garment(size):
    wanted, shape = measures(size), silhouette(measures(size))
    assert max(x for x, _ in shape.front) == pytest.approx(wanted["half_chest"] / 2)
    assert max(y for _, y in shape.front) == pytest.approx(wanted["length"])
    top, outside, inside, underarm = shape.sleeve
    assert math.dist(inside, underarm) == pytest.approx(wanted["sleeve_underarm"])
    assert math.dist(outside, inside) == pytest.approx(wanted["cuff"] / 2)
    assert top[0] == pytest.approx(wanted["across_shoulder"] / 2)


def bodies(root: ElementTree.Element) -> list[list[tuple[float, float]]]:
    """Points of the closed paths with most corners, one per garment: the bodies."""
    shapes = []
    for each in root.iter(f"{SVG}path"):
        points = [tuple(map(float, pair.split())) for pair in re.findall(r"[\d.]+ [\d.]+", each.get("d"))]
        if each.get("d").endswith("Z") and len(points) > 20:
            shapes.append(points)
    return shapes


def test_garments_stand_on_one_line_at_one_scale():
    labels = ["N7-014", "<N7> & 21", "外套"]
    items = list(zip(labels, [measures("S"), measures("M"), measures("3XL")], strict=True))
    root = ElementTree.fromstring(garments_at_one_scale(items))
    shapes = bodies(root)
    assert len(shapes) == 3
    scales = []
    for (_, wanted), points in zip(items, shapes, strict=True):
        across = max(x for x, _ in points) - min(x for x, _ in points)
        scales.append(across / wanted["half_chest"])
    assert scales == pytest.approx([scales[0]] * 3, rel=1e-3)
    said = [each.text for each in root.iter(f"{SVG}text")]
    assert [text for text in said if text in labels] == labels
    assert "50 cm" in said


def test_the_bar_of_50_cm_is_50_cm_of_the_garments():
    root = ElementTree.fromstring(garments_at_one_scale([("N7-014", measures("M"))]))
    upright = next(each for each in root.iter(f"{SVG}line") if each.get("x1") == each.get("x2"))
    points = bodies(root)[0]
    across = max(x for x, _ in points) - min(x for x, _ in points)
    bar = abs(float(upright.get("y1")) - float(upright.get("y2")))
    assert bar / 50 == pytest.approx(across / measures("M")["half_chest"], rel=2e-3)


def test_a_season_without_styles_is_an_empty_line():
    assert ElementTree.fromstring(garments_at_one_scale([])).find(f"{SVG}desc").text.startswith("No garment")


def numbers(root: ElementTree.Element) -> list[str]:
    return [each.find(f"{SVG}text").text for each in root.iter(f"{SVG}g") if each.get("class") == "ring"]


def test_every_seam_of_a_size_has_its_number_in_the_order_of_work():
    root = ElementTree.fromstring(makeup_map(measures("M"), SEAMS))
    assert sorted(numbers(root)) == [str(number) for number in range(1, len(SEAMS) + 1)]
    desc = root.find(f"{SVG}desc").text
    assert [desc.index(seam.name) for seam in SEAMS] == sorted(desc.index(seam.name) for seam in SEAMS)


def seams_drawn(root: ElementTree.Element) -> list[str]:
    return [each.get("class") for each in root.iter() if (each.get("class") or "").startswith("seam ")]


def test_seams_are_drawn_as_they_are_joined():
    drawn = seams_drawn(ElementTree.fromstring(makeup_map(measures("M"), SEAMS)))
    # two shoulders and the neck, and one line in the legend
    assert drawn.count("seam loop-to-loop") == 3 + 1
    # armholes, sides and underarms on both sides, and one line in the legend
    assert drawn.count("seam along-a-wale") == 6 + 1
    assert "seam sewn" not in drawn


def test_overlocked_sides_are_solid_with_cross_ticks():
    sides = Seam("sides", "back to front", "overlock", length_cm=50, count=2)
    drawn = seams_drawn(ElementTree.fromstring(makeup_map(measures("M"), [sides])))
    assert drawn == ["seam sewn"] * 3


def test_a_seam_that_the_block_does_not_know_gets_its_number_and_name_below():
    pocket = Seam("<i>口袋</i>", "bag", "cup seam", length_cm=20)
    root = ElementTree.fromstring(makeup_map(measures("M"), [*SEAMS, pocket]))
    assert str(len(SEAMS) + 1) in numbers(root)
    assert "<i>口袋</i>" in [each.text for each in root.iter(f"{SVG}text")]


@given(st.permutations(list(SEAMS)), st.sampled_from(["S", "M", "3XL"]))
def test_the_numbers_follow_any_order_of_work(seams, size):
    root = ElementTree.fromstring(makeup_map(measures(size), seams))
    assert sorted(numbers(root), key=int) == [str(number) for number in range(1, len(seams) + 1)]
