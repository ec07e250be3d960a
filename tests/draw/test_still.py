"""Stills of cloth at yarn level, read back as pictures and measured in px."""

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from loopwright.draw.lie import Lie
from loopwright.draw.splat import surface
from loopwright.draw.still import CAPTION_PX, Shown, still_png
from loopwright.draw.still_svg import still_svg
from loopwright.draw.tubes import Plies
from loopwright.draw.views import scene_of
from loopwright.draw.yarn_lines import YarnLine
from loopwright.mechanics.form import ClothForm, Strand
from loopwright.structure.library import library

pytestmark = pytest.mark.slow  # fine pictures of many cloths

SIDES = ("face", "back", "section", "lying")
SVG = "{http://www.w3.org/2000/svg}"
SMOOTH = Plies(1)
LIE = Lie(side_curvature=0.14, end_curvature=-0.12, lean_deg=3.0)


def rod(y: float, z: float = 0.0, diameter: float = 1.0, yarn: str = "A") -> Strand:
    nodes = np.column_stack([np.arange(8) / 2.0, np.full(8, y), np.full(8, z)])
    return Strand(yarn, 0, nodes, diameter)


def rods(*strands: Strand) -> ClothForm:
    """Straight yarns along the courses, a repeat of 4 by 10 diameters."""
    return ClothForm(strands, width=4.0, height=10.0, shear=0.0, wales=1.0, courses=2.0)


def picture(form: ClothForm, side: str, diameter_mm: float = 0.3, **more) -> np.ndarray:
    """Grey values (h, w) of a still without its caption."""
    data = still_png(form, side, Shown("cloth", "simulated", diameter_mm), **more)
    grey = np.asarray(Image.open(io.BytesIO(data)).convert("L")).astype(float)
    return grey[:-CAPTION_PX]


def runs(mask: np.ndarray) -> list[int]:
    """Lengths of the runs of True that do not touch the ends."""
    change = np.diff(np.concatenate([[0], mask.astype(int), [0]]))
    found = zip(np.flatnonzero(change == 1), np.flatnonzero(change == -1), strict=True)
    return [int(b - a) for a, b in found if a > 0 and b < len(mask)]


@pytest.mark.parametrize("diameter", [0.6, 1.0, 1.4])
def test_a_straight_yarn_is_as_many_px_thick_as_its_diameter(diameter):
    form = rods(rod(0.0, diameter=diameter))
    scene = scene_of(form, "face", diameter_mm=0.3)
    seen = picture(form, "face", plies=SMOOTH)
    thick = [each for column in (50, 260, 470) for each in runs(seen[:, column] < 250)]
    assert len(thick) >= 3
    assert thick == pytest.approx([diameter * scene.px] * len(thick), abs=1.6)
    rows = np.flatnonzero(seen[:, 260] < 250)
    assert np.median(np.diff(rows)[np.diff(rows) > 1]) + diameter * scene.px == pytest.approx(10 * scene.px, abs=2.5)


def test_depth_and_surface_of_a_yarn_are_those_of_a_cylinder():
    line = YarnLine("A", 40.0, np.column_stack([np.linspace(-100, 100, 60), np.zeros(60), np.full(60, 7.0)]))
    seen = surface([line], 120, 80)
    y = 40 - np.arange(80) - 0.5
    inside = np.abs(y) < 18
    wanted = 7 + np.sqrt(400 - y[inside] ** 2)
    assert np.abs(seen.depth[inside, 60] - wanted).max() < 0.25
    normal = np.column_stack([0 * y, y / 20, np.sqrt(np.clip(400 - y**2, 0, None)) / 20])[inside]
    assert np.abs(seen.normal[inside, 60] - normal).max() < 0.03
    assert (seen.line[np.abs(y) > 21] == -1).all()


def test_the_nearer_yarn_hides_the_farther():
    across = YarnLine("A", 20.0, np.column_stack([np.linspace(-50, 50, 40), np.zeros(40), np.zeros(40)]))
    up = YarnLine("B", 20.0, np.column_stack([np.zeros(40), np.linspace(-50, 50, 40), np.full(40, 20.0)]))
    for lines, near in (([across, up], 1), ([up, across], 0)):
        assert surface(lines, 100, 100).line[50, 50] == near


def test_a_cut_yarn_shows_its_round_face():
    """A yarn straight through the cut leaves a face of area π·r², at the depth of the cut."""
    line = YarnLine("A", 50.0, np.column_stack([np.zeros(60), np.zeros(60), np.linspace(-80, 80, 60)]))
    seen = surface([line], 100, 100, cut=5.0)
    assert seen.is_cut.sum() == pytest.approx(np.pi * 25**2, rel=0.03)
    assert np.abs(seen.depth[seen.is_cut] - 5.0).max() < 0.05


@pytest.mark.parametrize("key", ["plain", "rib-2x1", "tuck-mesh"])
def test_back_and_face_have_one_outline_mirrored(key, placed):
    """Seen from behind, the cloth leaves the same gaps open, left and right changed."""
    form, _ = placed(key)
    scenes = [scene_of(form, side, diameter_mm=0.3) for side in ("face", "back")]
    face, back = (surface(scene.lines, 520, 394).line < 0 for scene in scenes)
    assert 0.02 < face.mean() < 0.6
    assert (face == back[:, ::-1]).mean() > 0.999


def test_the_face_of_plain_has_legs_and_its_back_has_arcs(placed):
    """Along legs the grey keeps; across them it changes. On the back, heads and sinkers run across."""

    def ratio(side: str) -> float:
        seen = picture(placed("plain")[0], side, plies=SMOOTH, width=280)
        return float(np.abs(np.diff(seen, axis=0)).mean() / np.abs(np.diff(seen, axis=1)).mean())

    assert ratio("face") < 0.8 < ratio("back")


def test_rib_looks_the_same_from_both_sides_and_plain_does_not(placed):
    def difference(key: str) -> float:
        form, _ = placed(key)
        means = [np.sort(picture(form, side, plies=SMOOTH, width=280).ravel()) for side in ("face", "back")]
        return float(np.abs(means[0] - means[1]).mean())

    assert difference("rib-1x1") < 0.5 * difference("plain")


def test_each_further_yarn_is_a_darker_grey_and_light_comes_from_above():
    form = rods(rod(0.0), rod(5.0, yarn="B"))
    seen = picture(form, "face", plies=SMOOTH)
    column = seen[:, 260]
    change = np.diff(np.concatenate([[0], (column < 250).astype(int), [0]]))
    tubes = [column[a:b] for a, b in zip(np.flatnonzero(change == 1), np.flatnonzero(change == -1), strict=True)]
    whole = [each for each in tubes if len(each) > 14]
    bright = sorted(float(each.max()) for each in whole)
    assert bright[0] < 0.75 * bright[-1]
    for each in whole:
        assert each[2 : len(each) // 2].mean() > each[len(each) // 2 : -2].mean()


def test_plies_mark_the_yarn():
    form = rods(rod(0.0))
    marked, smooth = (picture(form, "face", plies=plies) for plies in (Plies(2), SMOOTH))
    row = int(np.argmax((smooth < 250).mean(axis=1) > 0.9)) + 8
    assert np.ptp(smooth[row]) < 8
    assert np.ptp(marked[row]) > 30


def test_the_section_is_as_thick_as_the_cloth(placed):
    form, d = placed("rib-1x1")
    scene = scene_of(form, "section", diameter_mm=d)
    rows = np.flatnonzero((picture(form, "section", d) < 250).any(axis=1))
    assert rows[-1] - rows[0] + 1 == pytest.approx(form.depth * scene.px, abs=3)


def test_a_piece_that_lies_throws_a_soft_shadow_to_the_right_and_down_inside_the_picture(placed):
    """The shadow is lighter than any yarn; no part of it or of the cloth is cut off by the edge of the picture."""
    seen = picture(placed("plain")[0], "lying", lie=LIE)
    rows, columns = np.indices(seen.shape)
    shadow, yarn = (seen > 195) & (seen < 250), seen < 190
    assert rows[shadow].mean() > rows[yarn].mean()
    assert columns[shadow].max() > columns[yarn].max() + 3
    assert min(each.min() for each in (seen[0], seen[:, 0], seen[:, -1])) == 255
    assert seen[-1].min() > 240


@pytest.mark.parametrize("side", SIDES)
def test_a_still_says_what_it_shows(side, placed):
    form, d = placed("plain")
    shown = Shown("plain", "simulated, relaxed without friction", d)
    image = Image.open(io.BytesIO(still_png(form, side, shown, width=360, lie=LIE)))
    assert image.width == 360
    assert image.text["Title"].startswith("plain: ")
    assert "mm of cloth" in image.text["Description"]
    assert image.text["Description"].endswith("simulated, relaxed without friction")
    caption = np.asarray(image.convert("L"))[-CAPTION_PX:]
    assert 0.02 < (caption < 160).mean() < 0.3


def test_the_cloth_shown_is_measured_in_mm(placed):
    form, d = placed("plain")
    scene = scene_of(form, "face", diameter_mm=d)
    width, height = (float(word) for word in scene.shown.split()[0:3:2])
    assert width == pytest.approx(scene.width / scene.px * d, abs=0.06)
    assert height == pytest.approx(scene.height / scene.px * d, abs=0.06)


@pytest.mark.parametrize("key", sorted(library()))
def test_every_svg_still_is_whole_and_small(key, placed):
    form, d = placed(key)
    for side in SIDES:
        text = still_svg(form, side, Shown(library()[key].name, "simulated", d), lie=LIE, key="k")
        assert len(text.encode()) < 250_000, side
        root = ElementTree.fromstring(text)
        assert library()[key].name in root.find(f"{SVG}title").text
        assert "simulated" in root.find(f"{SVG}desc").text
        used = {each.get("href")[1:] for each in root.iter(f"{SVG}use")}
        assert used
        assert used <= {each.get("id") for each in root.iter(f"{SVG}path")}


def test_svg_and_png_show_the_same_cloth(placed):
    form, d = placed("plain")
    shown = Shown("plain", "simulated", d)
    for side in SIDES:
        root = ElementTree.fromstring(still_svg(form, side, shown, width=260, lie=LIE))
        image = Image.open(io.BytesIO(still_png(form, side, shown, width=260, lie=LIE)))
        assert " ".join(each.text for each in root.iter(f"{SVG}text")) == image.text["Description"].replace(";", "")
        assert float(root.get("height")) == pytest.approx(image.height, abs=6)


@pytest.mark.parametrize("key", ["plain", "rib-1x1"])
def test_every_wale_is_cut_alike_and_through_whole_loops(key, placed):
    """A yarn that comes up through the cut goes down again: each repeat shows the same even number of cut faces."""
    form, d = placed(key)
    scene = scene_of(form, "section", diameter_mm=d)
    root = ElementTree.fromstring(still_svg(form, "section", Shown(key, "simulated", d)))
    places = [each.get("transform").split("(")[1].split()[0] for each in root.iter(f"{SVG}ellipse")]
    x = np.array([float(place) / 10 for place in places]) / (scene.px * form.width)
    counts = [int(((first - 0.5 <= x) & (x < first + 0.5)).sum()) for first in (-2, -1, 0, 1, 2)]
    assert len(set(counts)) == 1
    assert counts[0] in (2, 4)
