"""Pictures of cloth with stated truth are read, others are refused with the right code.

Truth of the pictures in `pictures/`: their SOURCES.md. Each picture is read once.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from devtools.rendered_cloth import Cloth, rendered
from PIL import Image

from loopwright.swatch.photo.reading import read_lattice
from loopwright.swatch.photo.refusal import Refusal, Stopped
from loopwright.swatch.photo.stitches import LatticeReading, Refused

PICTURES = Path(__file__).parent / "pictures"


@cache
def grey(name):
    return np.asarray(Image.open(PICTURES / name).convert("L"), np.float32)


@cache
def answer(name):
    return read_lattice(grey(name))


STATED = {
    "drawn-jersey-face.png": (13.158, 10.000, 0, 0, "face"),
    "synthetic-face.jpg": (18.50, 14.43, 6, -3, "face"),
    "synthetic-back.jpg": (14.20, 9.94, -4, 5, "back"),
    "synthetic-face-stripes.jpg": (16.40, 13.94, 2, 1, "face"),
}


@pytest.mark.parametrize("name", STATED)
def test_wales_and_courses_are_read_within_half_a_percent_and_angles_within_a_third_of_a_degree(name):
    wale, course, skew, rotation, side = STATED[name]
    reading = answer(name)
    assert isinstance(reading, LatticeReading), reading
    assert reading.wale_pitch_px == pytest.approx(wale, rel=0.005)
    assert reading.course_pitch_px == pytest.approx(course, rel=0.005)
    assert reading.skew_deg == pytest.approx(skew, abs=0.3)
    assert reading.rotation_deg == pytest.approx(rotation, abs=0.3)
    assert reading.side == side


REFUSED = {
    "negative-woven-1.jpg": {Refusal.RESOLUTION, Refusal.WEAK_PATTERN},
    "negative-woven-folded-2.jpg": {Refusal.RESOLUTION, Refusal.FOLD},
    "negative-woven-3.jpg": {Refusal.WEAK_PATTERN},
    "synthetic-blurred-refuse.jpg": {Refusal.BLUR},
    "synthetic-lowres-refuse.jpg": {Refusal.RESOLUTION},
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_counted_is_refused_with_its_reason(name):
    refused = answer(name)
    assert isinstance(refused, Refused)
    assert refused.code in REFUSED[name]


def test_grain_without_cloth_is_not_a_swatch():
    noise = np.random.default_rng(5).standard_normal((360, 480)).astype(np.float32)
    assert isinstance(read_lattice(noise + 8), Refused)


def test_lines_in_one_direction_are_not_stitches():
    rows = np.arange(360, dtype=np.float32)[:, None]
    grain = np.random.default_rng(6).standard_normal((360, 480)).astype(np.float32)
    assert isinstance(read_lattice(2 + np.sin(rows * 0.6) + 0.1 * grain), Refused)


def test_five_stitches_are_too_few():
    refused = read_lattice(grey("synthetic-face.jpg")[:90, :90])
    assert isinstance(refused, Refused)


@pytest.mark.slow
def test_small_stitches_of_a_large_photo_are_not_taken_for_the_large_ones_that_a_reduced_copy_shows():
    """Stitches of 7.3 × 5.84 pixels beat with the pixels of a copy reduced by 4 into cells of 85 × 73 pixels."""
    picture, truth = rendered(Cloth(wale_px=7.3, width=2400, height=1800, oversample=1, blur_px=0.37), seed=3)
    reading = read_lattice(picture)
    assert isinstance(reading, LatticeReading), reading
    assert reading.wale_pitch_px == pytest.approx(truth.wale_px, rel=0.003)
    assert reading.course_pitch_px == pytest.approx(truth.course_px, rel=0.008)


def test_a_mirrored_picture_leans_the_other_way():
    reading = answer("synthetic-face.jpg")
    mirrored = read_lattice(np.ascontiguousarray(grey("synthetic-face.jpg")[:, ::-1]))
    assert isinstance(mirrored, LatticeReading)
    assert mirrored.wale_pitch_px == pytest.approx(reading.wale_pitch_px, rel=reading.wale.u95)
    assert mirrored.skew_deg == pytest.approx(-reading.skew_deg, abs=0.1)


def test_a_picture_on_its_side_is_read_with_level_wales():
    reading = answer("synthetic-face.jpg")
    level = read_lattice(np.ascontiguousarray(np.rot90(grey("synthetic-face.jpg"), -1)), wales="level")
    assert isinstance(level, LatticeReading)
    assert level.wale_pitch_px == pytest.approx(reading.wale_pitch_px, rel=1e-6)
    assert level.skew_deg == pytest.approx(reading.skew_deg, abs=1e-6)
    assert abs(level.rotation_deg) == pytest.approx(90 + reading.rotation_deg, abs=1e-6)


def test_a_reading_can_be_stopped():
    with pytest.raises(Stopped):
        read_lattice(grey("drawn-jersey-face.png"), cancelled=lambda: True)
