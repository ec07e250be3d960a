"""One stitch is told from half of one, from several and from slanting cuts of a repeat; what is none is refused.

Pictures: rendered cloth of the battery's sets with exact truth, by set and seed; each was read wrong or not at all by
a reader that looked at the spectrum alone.
"""

from functools import cache

import numpy as np
import pytest
from devtools.cloth_sets import drawn
from devtools.rendered_cloth import rendered

from loopwright.swatch.photo.flatten import copy_of
from loopwright.swatch.photo.likemap import like_map
from loopwright.swatch.photo.reading import read_lattice
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.spectrum import spectra_of
from loopwright.swatch.photo.stitches import LatticeReading, Refused


@cache
def answer(name, seed):
    cloth = drawn(name, seed)
    picture, truth = rendered(cloth, seed)
    return read_lattice(picture, wales_per_repeat=sum(cloth.rib), courses_per_repeat=sum(cloth.links)), truth


READ = [
    ("tilt", 20006),  # two legs of a face wale, taken for two wales
    ("few", 20008),  # half of a wale and half of a course
    ("rib", 20007),  # a 2×2 rib with stripes
    ("rib", 20030),  # a 1×1 rib, two repeats taken for one
    ("links", 20017),  # 2×2 links, cut aslant
    ("links", 20022),  # 2×2 links whose repeat is higher than the windows of the finest copy
    ("ordinary", 20016),  # a back with stripes, taken for no stitches
    ("ordinary", 20004),  # a face with stripes: half a wale and six courses
    ("noise", 20014),  # courses of two tones in turn
]


@pytest.mark.parametrize(("name", "seed"), READ)
def test_one_stitch_is_read_whatever_repeats_beside_it(name, seed):
    reading, truth = answer(name, seed)
    assert isinstance(reading, LatticeReading), reading
    assert reading.wale_pitch_px == pytest.approx(truth.wale_px, rel=0.005)
    assert reading.course_pitch_px == pytest.approx(truth.course_px, rel=0.015)
    assert reading.skew_deg == pytest.approx(truth.skew_deg, abs=0.5)


REFUSED = {
    ("fold", 20002): {Refusal.FOLD, Refusal.NOT_UNIFORM},
    ("fold", 20003): {Refusal.FOLD, Refusal.NOT_UNIFORM},
    ("warp", 20019): {Refusal.NOT_UNIFORM, Refusal.FOLD},
    ("small", 20005): {Refusal.MOIRE, Refusal.RESOLUTION},  # stitches of 2.7 × 1.7 pixels beat with the pixels
    ("small", 20026): {
        Refusal.AMBIGUOUS,
        Refusal.RESOLUTION,
    },  # 5.5 pixels: every other wale falls on the pixels alike
    ("small", 21001): {Refusal.AMBIGUOUS, Refusal.RESOLUTION},
    ("small", 22006): {Refusal.RESOLUTION},  # courses of 3.4 pixels in two tones, taken for one
    ("fold", 22006): {Refusal.AMBIGUOUS, Refusal.FOLD},  # three wales and two courses taken for one stitch
    ("fold", 52009): {Refusal.NOT_UNIFORM, Refusal.FOLD},  # large stitches, the angle off by ten degrees side to side
    ("rib", 71016): {
        Refusal.AMBIGUOUS
    },  # a 2×2 rib that leans by nine degrees, read upright along a course and a repeat
    ("rib", 71113): {Refusal.AMBIGUOUS},
    ("few", 20010): {Refusal.TOO_FEW},
}


@pytest.mark.parametrize(("name", "seed"), REFUSED)
def test_what_shows_no_even_stitches_is_refused_with_its_reason(name, seed):
    refused, _ = answer(name, seed)
    assert isinstance(refused, Refused), refused
    assert refused.code in REFUSED[name, seed]


@pytest.mark.parametrize("seed", [21000, 21004, 21007])
def test_a_rib_that_is_not_told_is_not_taken_for_flat_stitches(seed):
    """A 1×1 rib repeats after two wales: a plain stitch twice as wide."""
    picture, _ = rendered(drawn("rib", seed), seed)
    refused = read_lattice(picture)
    assert isinstance(refused, Refused)
    assert refused.code is Refusal.AMBIGUOUS


@pytest.mark.parametrize(("name", "seed"), [("rib", 21000), ("rib", 21003), ("links", 21002)])
def test_one_stitch_marked_by_hand_is_enough_for_a_rib_and_links(name, seed):
    picture, truth = rendered(drawn(name, seed), seed)
    marked = tuple(1.01 * truth.wale_step), tuple(0.99 * truth.course_step)
    reading = read_lattice(picture, marked_stitch=marked)
    assert isinstance(reading, LatticeReading), reading
    assert reading.wale_pitch_px == pytest.approx(truth.wale_px, rel=0.003)
    assert reading.course_pitch_px == pytest.approx(truth.course_px, rel=0.008)
    assert reading.skew_deg == pytest.approx(truth.skew_deg, abs=0.3)


def test_a_rib_shows_both_sides_so_no_side_is_named():
    reading, _ = answer("rib", 20007)
    assert reading.side == "unsure"


def waves(*cycles, size=320):
    y, x = np.mgrid[:size, :size]
    return np.sum([np.cos(2 * np.pi * (across * x + up * y)) for across, up in cycles], axis=0).astype(np.float32) + 9


def test_the_likeness_of_a_wave_is_its_cosine():
    """A cosine is like itself, a step further on, by the cosine of the phase of the step."""
    like = like_map(spectra_of(copy_of(waves((0.08, 0.03)), None, 1), 256))
    steps = np.array([(0.0, 0.0), (12.5, 0.0), (6.25, 0.0), (3.0, 4.0), (0.0, 33.3)])
    expected = np.cos(2 * np.pi * steps @ np.array([0.08, 0.03]))
    assert like.at(steps) == pytest.approx(expected, abs=0.05)


def test_beside_a_direction_what_runs_along_it_is_left_out():
    """Rows of tone (0, 0.05) over a lattice: along the rows only the lattice says how far it is to the next."""
    spectra = spectra_of(copy_of(waves((0.0, 0.05), (0.0, 0.05), (0.1, 0.1), (-0.1, 0.1)), None, 1), 256)
    step = np.array([(0.0, 10.0)])  # one row of the lattice, half a repeat of the tone
    assert like_map(spectra).at(step)[0] < 0.3
    assert like_map(spectra, np.array([10.0, 0.0])).at(step)[0] == pytest.approx(1, abs=0.1)


@pytest.mark.slow
def test_ordinary_pictures_are_read_none_wrong_and_the_stated_spread_mostly_holds_the_truth():
    """Sixteen pictures that no limit was set on: the goal is 85 of 100 read and intervals that hold 95 of 100."""
    held, read = [], 0
    for seed in range(41000, 41016):
        reading, truth = answer("ordinary", seed)
        if not isinstance(reading, LatticeReading):
            continue
        read += 1
        off = (
            (reading.wale_pitch_px / truth.wale_px - 1, reading.wale.u95),
            (reading.course_pitch_px / truth.course_px - 1, reading.course.u95),
            (reading.skew_deg - truth.skew_deg, reading.skew.u95),
        )
        assert abs(off[0][0]) < 0.01, seed
        assert abs(off[1][0]) < 0.02, seed
        held += [abs(error) <= u95 for error, u95 in off]
    assert read >= 13
    assert np.mean(held) >= 0.85
