"""A cut across the wales: front and back loops on their own sides, within the thickness, dimensioned as known."""

from xml.etree import ElementTree

import pytest

from loopwright.draw.section import cross_section_picture, crossings
from loopwright.draw.theme import EVIDENCE_DASH
from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.fabric.geometry import SwatchCounts
from loopwright.fabric.loop_path import loop_paths
from loopwright.figure import State, plain
from loopwright.structure.library import library
from loopwright.yarn.yarn import yarn_from_words

SVG = "{http://www.w3.org/2000/svg}"
MERINO = yarn_from_words("2/28 Nm merino")
KEYS = sorted(library())


def fabric(key: str) -> Fabric:
    return fabric_of(library()[key], MERINO)


@pytest.mark.parametrize("key", KEYS)
def test_every_structure_is_cut_and_names_its_thickness(key):
    cloth = fabric(key)
    root = ElementTree.fromstring(cross_section_picture(cloth))
    said = [each.text for each in root.iter(f"{SVG}text")]
    assert f"{plain(cloth.thickness.value, 1)} mm" in said
    assert "indicative" in root.find(f"{SVG}desc").text


@pytest.mark.parametrize("key", KEYS)
def test_legs_of_front_loops_lie_toward_the_face_and_all_yarn_within_the_thickness(key):
    cloth = fabric(key)
    paths = loop_paths(cloth.geometry, MERINO.diameter_mm.value)
    half = cloth.thickness.value / 2 - MERINO.diameter_mm.value / 2
    for path in paths.paths:
        legs = [z for _, z, is_leg in crossings(path, paths) if is_leg]
        beds = [stitch.on_front for stitch in path.stitches for _ in range(2)]
        assert all(z > 0 if on_front else z < 0 for z, on_front in zip(legs, beds, strict=True))
        assert all(abs(z) <= half + 0.2 * MERINO.diameter_mm.value for _, z, _ in crossings(path, paths))


def test_a_one_by_one_rib_crosses_from_bed_to_bed_at_every_loop():
    paths = loop_paths(fabric("rib-1x1").geometry, MERINO.diameter_mm.value)
    signs = [z > 0 for _, z, _ in crossings(paths.paths[0], paths)]
    assert signs == [True, True, False, False]


def test_the_dimension_of_a_measured_thickness_is_a_full_line_and_of_an_assumed_one_dotted():
    counts = SwatchCounts("swatch 2", 6.5, 8.4, 6.3, State.FINISHED, thickness_mm=1.1)
    measured = fabric_of(library()["plain"], MERINO, swatch=counts)
    for cloth in (measured, fabric("half-cardigan")):
        root = ElementTree.fromstring(cross_section_picture(cloth))
        dashes = {each.get("stroke-dasharray", "") for each in root.iter(f"{SVG}line")}
        assert EVIDENCE_DASH[cloth.thickness.basis.value] in dashes
    assert not any(
        each.get("stroke-dasharray")
        for each in ElementTree.fromstring(cross_section_picture(measured)).iter(f"{SVG}line")
    )
