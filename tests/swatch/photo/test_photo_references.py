"""Card, coin, ruler and drawn square in rendered scenes: scale and tilt against the camera that made the picture."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from loopwright.problems import Problem
from loopwright.swatch.photo.asked import Reference, reference_of
from loopwright.swatch.photo.card import find_card
from loopwright.swatch.photo.cloth import find_cloth
from loopwright.swatch.photo.coin import find_coin, fit_ellipse
from loopwright.swatch.photo.perspective import homography, jacobian, likeliest_camera, mapped
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.ruler import find_ruler
from loopwright.swatch.photo.scale import NoScale, Scale, from_dots_per_inch
from loopwright.swatch.photo.square import find_square

sys.path.insert(0, str(Path(__file__).parent))
from swatch_scenes import CARD_MM, Camera, Cloth, Light, Ruler, card, coin, plain, render, square, wood


def pictured(grey: np.ndarray) -> Picture:
    return Picture(grey, np.repeat(grey[:, :, None], 3, axis=2), 1.0, "PNG", "grey", None, is_from_camera=False)


def px_per_mm(camera: Camera, place_mm: tuple[float, float]) -> float:
    """The camera's own scale at a place of the table."""
    to_px = camera.from_table()
    return math.sqrt(abs(np.linalg.det(jacobian(to_px, np.array(place_mm)))))


@pytest.mark.parametrize(
    ("words", "reference"),
    [
        ("card", Reference("card")),
        ("ruler:1", Reference("ruler", 1.0)),
        ("Coin:23,25", Reference("coin", 23.25)),
        ("square:50mm", Reference("square", 50.0)),
        ("dpi:600", Reference("dpi", 600.0)),
        ("none", Reference("none")),
    ],
)
def test_a_reference_is_said_in_a_word_and_its_size(words, reference):
    assert reference_of(words) == reference


@pytest.mark.parametrize(
    "words", ["", "thumb", "ruler", "ruler:", "coin:0", "dpi:nan", "dpi:inf", "card:3", "square:-4"]
)
def test_a_reference_without_sense_is_refused_in_words(words):
    with pytest.raises(Problem):
        reference_of(words)


def test_a_map_through_four_corners_is_undone_by_its_inverse():
    corners = np.array([[10.0, 20], [400, 40], [380, 300], [30, 260]])
    table = np.array([[0.0, 0], [85.6, 0], [85.6, 53.98], [0, 53.98]])
    through = homography(corners, table)
    assert mapped(through, corners) == pytest.approx(table, abs=1e-9)
    assert mapped(np.linalg.inv(through), table) == pytest.approx(corners, abs=1e-8)


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (10.0, 0.0), (-7.0, 9.0)])
def test_the_tilt_of_a_camera_comes_back_from_what_it_sees(tilt):
    camera = Camera(tilt_deg=tilt, focal=0.75)
    miss, seen, _ = likeliest_camera(camera.from_table(), camera.width_px, camera.height_px)
    assert miss < 0.004
    assert seen == pytest.approx(camera.tilt, abs=0.3)


def test_a_scan_has_its_dots_and_no_tilt():
    scale = from_dots_per_inch(254, is_from_camera=False)
    assert scale.px_per_mm(np.zeros(2)) == pytest.approx(10)
    assert scale.spread_at(np.zeros(2))[1] == 0


def test_a_photo_with_dots_per_inch_allows_for_a_tilted_camera():
    scale = from_dots_per_inch(254, is_from_camera=True)
    assert scale.spread_at(np.zeros(2))[1] > 0.001
    assert any("camera" in note for note in scale.notes)


def test_an_ellipse_comes_back_from_its_points():
    turn = np.linspace(0, 2 * np.pi, 60)
    points = np.column_stack([8 * np.cos(turn), 5 * np.sin(turn)])
    a = 0.7
    fitted = fit_ellipse(points @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + (30, 40))
    assert fitted is not None
    assert (fitted.long_px, fitted.short_px) == pytest.approx((8, 5))
    assert fitted.angle % np.pi == pytest.approx(0.7)
    assert fitted.middle == pytest.approx((30, 40))


TILTED = Camera(900, 675, aim_mm=(80, 60), distance_mm=230, tilt_deg=(8, -6))


@pytest.fixture(scope="module")
def card_scene() -> Picture:
    cloth = Cloth(corner_mm=(15, 40), size_mm=(62, 80), wale_mm=2.4, course_mm=1.8)
    return pictured(render(TILTED, [wood(), cloth.layer(), card((86, 0), turn_deg=4)], Light(shadow=0.2)))


def test_a_card_beside_the_cloth_gives_scale_and_tilt(card_scene):
    """One round corner is cut off by the edge of the picture: the sides say where it was."""
    scale = find_card(card_scene)
    assert isinstance(scale, Scale)
    assert scale.tilt_deg == pytest.approx(TILTED.tilt, abs=3)
    for place in ((112.8, 17.0), (50.0, 80.0)):
        at = TILTED.to_px(np.array([place]))[0]
        own = scale.px_per_mm(at) * abs_of(TILTED, place)
        assert own == pytest.approx(1, abs=max(0.002, scale.spread_at(at)[0]))


def abs_of(camera: Camera, place_mm: tuple[float, float]) -> float:
    """Millimetres to a pixel at a place of the table."""
    return 1 / px_per_mm(camera, place_mm)


def test_the_cloth_is_found_on_a_table_of_wood(card_scene):
    area = find_cloth(card_scene.grey)
    assert area is not None
    left, top, right, bottom = area.box
    x, y = TILTED.to_px(np.array([[15.0, 40], [77, 40], [77, 120], [15, 120]])).T
    assert (left, right) == pytest.approx((x.min(), x.max()), abs=60)
    assert (top, bottom) == pytest.approx((max(0, y.min()), min(675, y.max())), abs=60)


def test_what_has_sharp_corners_is_no_card():
    paper = square((60, 20), 40, pen_mm=0.0001, paper_mm=0)
    camera = Camera(700, 525, aim_mm=(80, 60), distance_mm=230)
    scene = pictured(render(camera, [plain(0.2), paper], Light()))
    assert isinstance(find_card(scene), NoScale)


def test_a_table_without_anything_gives_no_scale():
    scene = pictured(render(Camera(500, 375), [wood()], Light()))
    for answer in (
        find_card(scene),
        find_coin(scene, 23.25),
        find_square(scene, 50),
        find_ruler(scene, 1, np.zeros(2)),
    ):
        assert isinstance(answer, NoScale)
        assert answer.code == "no_reference"
        assert answer.tries


def test_a_coin_gives_its_scale_and_owns_up_to_the_unknown_side_of_the_tilt():
    camera = Camera(900, 675, aim_mm=(80, 60), distance_mm=230, tilt_deg=(1.5, -1))
    scene = pictured(render(camera, [wood(1), coin((90, 60), 25.0)], Light()))
    scale = find_coin(scene, 25.0)
    assert isinstance(scale, Scale)
    at = camera.to_px(np.array([[90.0, 60.0]]))[0]
    assert scale.px_per_mm(at) == pytest.approx(px_per_mm(camera, (90, 60)), rel=0.005)
    far = at + np.array([400.0, 0.0])
    assert scale.spread_at(far)[1] > 5 * scale.spread_at(at)[1]


def test_a_coin_under_a_tilted_camera_is_refused_with_advice():
    camera = Camera(900, 675, aim_mm=(80, 60), distance_mm=230, tilt_deg=(14, 0))
    answer = find_coin(pictured(render(camera, [wood(1), coin((80, 60), 40.0)], Light())), 40.0)
    assert isinstance(answer, NoScale)
    assert answer.code == "tilt"


def test_a_square_drawn_by_pen_is_measured_to_the_middle_of_its_line():
    camera = Camera(900, 675, aim_mm=(80, 60), distance_mm=230, tilt_deg=(5, 4))
    scene = pictured(render(camera, [wood(2), square((60, 40), 50.0, pen_mm=0.9)], Light()))
    scale = find_square(scene, 50.0)
    assert isinstance(scale, Scale)
    at = camera.to_px(np.array([[85.0, 65.0]]))[0]
    assert scale.px_per_mm(at) == pytest.approx(px_per_mm(camera, (85, 65)), rel=0.002)


def ruler_scene(ruler: Ruler, camera: Camera, seed: int = 0) -> Picture:
    return pictured(render(camera, [wood(seed), ruler.layer()], Light(seed=seed)))


def test_a_ruler_at_an_angle_gives_the_scale_of_its_ticks():
    camera = Camera(1000, 600, aim_mm=(80, 40), distance_mm=230, tilt_deg=(3, 2), turn_deg=17)
    scene = ruler_scene(Ruler(start_mm=(20, 35), divisions=120), camera)
    scale = find_ruler(scene, 1.0, camera.to_px(np.array([[80.0, 37.0]]))[0])
    assert isinstance(scale, Scale)
    ends = camera.to_px(np.array([[79.5, 37.0], [80.5, 37.0]]))
    assert scale.px_per_mm(np.zeros(2)) == pytest.approx(float(np.linalg.norm(ends[1] - ends[0])), rel=0.002)
    assert scale.spread_at(np.zeros(2))[1] > 0


@pytest.mark.parametrize(("division", "groups"), [(1.0, (2, 2)), (0.5, (5, 10)), (25.4 / 16, (5, 10))])
def test_ticks_that_contradict_the_division_typed_are_refused(division, groups):
    """Ticks by halves are no millimetres; fives and tens are neither half millimetres nor parts of an inch."""
    camera = Camera(1000, 400, aim_mm=(80, 30), distance_mm=230)
    answer = find_ruler(
        ruler_scene(Ruler(start_mm=(20, 25), divisions=100, groups=groups), camera), division, np.zeros(2)
    )
    assert isinstance(answer, NoScale)
    assert answer.code == "reference_ambiguous"


def test_the_scene_draws_the_card_where_the_camera_sees_it():
    """The scene's own honesty: corners of the bright card lie where the pinhole puts them."""
    camera = Camera(400, 300, aim_mm=(43, 27), distance_mm=200, tilt_deg=(4, 3))
    seen = render(camera, [plain(0.1), card((0.0, 0.0))], Light(noise=0, blur_px=0, fall_off=0)) > 0.5
    middle_of_top = camera.to_px(np.array([[CARD_MM[0] / 2, 0.0]]))[0]
    column = round(float(middle_of_top[0]))
    assert np.flatnonzero(seen[:, column])[0] == pytest.approx(middle_of_top[1], abs=1.5)
