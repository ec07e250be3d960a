"""Worked example B from style document to landed price: P-16 to P-21, P-26, P-27, P-34, P-35, P-44 to P-46, P-49, P-54.

The printed numbers are the production reference's own worked example (3.6, 4.3, 5, 6, 7.3), each recalculated for it by
a second reader; here the whole chain of the study has to find them from one style file. What the style has to say
differently from the example, and why, stands in `example_b.toml`. Tolerances: exact for counts, the printed digits, or
the one printed in section 11.
"""

import tomllib
from decimal import Decimal
from itertools import groupby
from pathlib import Path

import pytest

from loopwright.machine.machine import v_bed
from loopwright.problems import Sign
from loopwright.shaping.body import plan_body
from loopwright.shaping.panel import Work
from loopwright.shaping.rules import usual_rules
from loopwright.study.knitting import PanelStudy, SizeStudy
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

RULES = usual_rules(12, narrowing_strokes=3)
DOCUMENT = tomllib.loads(Path(__file__).with_name("example_b.toml").read_text("utf-8"))


@pytest.fixture(scope="module")
def study() -> StyleStudy:
    return study_style(read_style(DOCUMENT))


@pytest.fixture(scope="module")
def size(study: StyleStudy) -> SizeStudy:
    assert study.base is not None
    return study.base


def panel(size: SizeStudy, name: str) -> PanelStudy:
    return next(each for each in size.panels if each.plan.name == name)


def priced(study: StyleStudy, line: str) -> Decimal:
    assert study.pricing is not None
    return study.pricing.sheet[line].amount.amount


def test_nothing_stops_the_worked_example(study):
    assert not [finding for finding in study.findings if finding.sign is Sign.STOPS]


def test_needles_and_courses_of_the_body_p16(size):
    """49 cm 318, 38 cm 248, 18 cm 118; shoulder 65; body 290, armhole 156, shoulder 26 courses; rib 54. Exact."""
    back = panel(size, "back").plan
    shoulder = back.section("shoulder")
    assert (back.rib_needles, int(back.span[shoulder.start]), back.neck_needles) == (318, 248, 118)
    assert next(join for join in size.plan.joins if join.name == "shoulders").points == 65
    assert (back.rib_courses, *(each.courses for each in back.sections)) == (54, 290, 156, 26)
    assert [(each.course, each.left, each.right) for each in back.bind_offs] == [(290, 15, 15)]


def test_shoulder_is_held_in_13_steps_of_5_needles_p16(size):
    shoulder = panel(size, "back").plan.section("shoulder")
    span = panel(size, "back").plan.span[shoulder.start :]
    runs = [(int(needles), len(list(run))) for needles, run in groupby(span)]
    assert runs == [(248 - 10 * step, 2) for step in range(13)]


def test_real_length_p16(size):
    """(290 + 156 + 26)/8.4 + 6 = 62.19 cm, tolerance 0.01; the wanted length was 62."""
    assert panel(size, "back").plan.length_cm == pytest.approx(62.19, abs=0.01)


def test_armhole_is_narrowed_9_times_every_6_and_once_after_4_p17(size):
    for name in ("back", "front"):
        steps = panel(size, name).plan.fashioning("armhole").steps
        assert [(each.times, each.needles, each.courses) for each in steps] == [(9, 2, 6), (1, 2, 4)]


def test_sleeve_is_widened_25_times_every_8_and_14_every_6_p18(size):
    plan = panel(size, "sleeve").plan
    assert (plan.rib_needles, plan.section("sleeve").courses) == (144, 310)
    widening = plan.fashioning("sleeve")
    assert widening.widening
    assert [(each.times, each.needles, each.courses) for each in widening.steps] == [(25, 1, 8), (14, 1, 6)]
    assert int(plan.span[plan.section("sleeve").courses - 1]) == 222


def test_armhole_edge_p19(size):
    """2.308 + 7.559 + 11.667 = 21.53 cm a panel, tolerance 0.01."""
    armholes = next(join for join in size.plan.joins if join.name == "armholes")
    assert armholes.length_cm / 2 == pytest.approx(21.53, abs=0.01)


def test_cap_closes_as_printed_p20_p21(size):
    """88 courses; 9 @ 2 + 11 @ 4 + 13 @ 2 of 2 needles; perimeter 43.44 into 43.07, ease +0.37 (0.01)."""
    sleeve = panel(size, "sleeve").plan
    cap, steps = sleeve.section("cap"), sleeve.fashioning("cap").steps
    assert (sleeve.bind_offs[0].right, sum(each.times * each.needles for each in steps)) == (15, 66)
    assert (sleeve.finish_needles, cap.courses) == (60, 88)
    assert [(each.times, each.needles, each.courses) for each in steps] == [(9, 2, 2), (11, 2, 4), (13, 2, 2)]
    closure = size.plan.closures[0]
    assert closure.one_cm == pytest.approx(43.44, abs=0.01)
    assert closure.other_cm == pytest.approx(43.07, abs=0.01)
    assert closure.ease_cm == pytest.approx(0.37, abs=0.01)


def test_back_neck_is_held_over_16_courses(size):
    """Centre 86, then 8 × 2 needles a side, every 2 courses."""
    held = [int(each) for each in panel(size, "back").plan.held if each]
    assert held == [86 + 4 * (step // 2) for step in range(16)]


def test_front_neck_is_split_over_76_courses(size):
    """The first 13 needles a side, 26 together, are held at once; all 118 are taken at the end."""
    held = [int(each) for each in panel(size, "front").plan.held if each]
    assert (len(held), held[0], held[-1]) == (76, 26, 118)


def test_neck_seam_and_band_p26_p27(size):
    """Front 28.47 (0.02), back 19.46 (0.02), together 47.93; band 314 needles, exact, of 36 courses."""
    body = plan_body(size.plan.measures, panel(size, "back").plan.gauge, RULES, "M")
    assert body.front_neck_cm == pytest.approx(28.47, abs=0.02)
    assert body.back_neck_cm == pytest.approx(19.46, abs=0.02)
    assert size.plan.neck_seam_cm == pytest.approx(47.93, abs=0.01)
    band = size.plan.neck_trim
    assert (band.rib_needles, band.rib_courses) == (314, 36)


@pytest.mark.parametrize(("name", "loops"), [("back", 135_508), ("front", 129_964), ("sleeve", 68_200)])
def test_stitches_of_a_panel_are_the_printed_ones(size, name, loops):
    """3.6: only knitted loops are counted; exact."""
    assert panel(size, name).plan.loops == loops


def test_stitches_of_ribs_and_band_are_the_printed_ones(size):
    ribs = sum(panel(size, name).plan.pieces * panel(size, name).plan.rib_loops for name in ("back", "front", "sleeve"))
    assert ribs == 49_896
    assert panel(size, "neckband").plan.rib_loops == 11_304


@pytest.mark.parametrize("other", ["two-rate, short first", "line"])
def test_another_order_of_intervals_moves_stitches_by_the_printed_spread(other, size):
    """3.6: sleeve 68,900 with the line interleaved, 69,600 short first, printed to the hundred; a spread of 2 %."""
    changed = study_style(read_style({**DOCUMENT, "construction": {"fashioning": other}}))
    loops = panel(changed.base, "sleeve").plan.loops
    assert loops == pytest.approx({"line": 68_900, "two-rate, short first": 69_600}[other], abs=50)


def test_one_traverse_p34(size):
    """E12, 318 needles, v 1.0, X 0.30, tᵣ 0.30: 1.273 s, 94.3 courses a minute on two systems (0.1 %)."""
    timeline = panel(size, "back").timeline
    plain = (timeline.kind == Work.PLAIN) & (timeline.needles == 318)
    assert 318 * v_bed(gauge=12, bed_in=50, systems=2).pitch_m == pytest.approx(0.6731, rel=0.001)
    assert timeline.seconds[plain] == pytest.approx(1.273, rel=0.001)
    assert 60 * timeline.feeds[plain].mean() / timeline.seconds[plain].mean() == pytest.approx(94.3, rel=0.001)


@pytest.mark.parametrize(
    ("name", "seconds"), [("back", 461.9), ("front", 490.0), ("sleeve", 450.1), ("neckband", 50.0)]
)
def test_seconds_of_a_panel_p35(size, name, seconds):
    """± 0.5 %."""
    assert panel(size, name).timeline.total_s == pytest.approx(seconds, rel=0.005)


PRINTED_S = {  # 4.3: the lines that the strokes have a kind for; printed to 0.1 s
    "back": {Work.START: 19.2, Work.SHORT_ROWS: 25.9, Work.NARROWING: 58.6},
    "front": {Work.START: 19.2, Work.NARROWING: 58.6},
    "sleeve": {Work.START: 10.5, Work.PLAIN: 153.1, Work.CAP: 77.0, Work.NARROWING: 143.7},
    "neckband": {Work.START: 22.9, Work.RIB: 27.1},
}


@pytest.mark.parametrize(("name", "kind"), [(name, kind) for name, kinds in PRINTED_S.items() for kind in kinds])
def test_seconds_of_a_kind_of_work_are_the_printed_line(size, name, kind):
    found = panel(size, name).timeline.seconds_by_kind()[kind]
    assert found == pytest.approx(PRINTED_S[name][kind], abs=0.051)


@pytest.mark.parametrize(("name", "rib", "ends"), [("back", 45.4, 39.0), ("front", 45.4, 39.0), ("sleeve", 31.5, 34.4)])
def test_seconds_of_rib_with_its_transfer_and_of_bind_off_with_its_finish(size, name, rib, ends):
    found = panel(size, name).timeline.seconds_by_kind()
    assert found[Work.RIB] + found[Work.TRANSFER] == pytest.approx(rib, abs=0.051)
    assert found[Work.BIND_OFF] + found[Work.FINISH] == pytest.approx(ends, abs=0.051)


def test_body_and_armhole_of_the_back_take_the_printed_seconds(size):
    """184.6 s of body and 89.1 of armhole, two courses a traverse; printed to 0.1 s each."""
    assert panel(size, "back").timeline.seconds_by_kind()[Work.PLAIN] == pytest.approx(184.6 + 89.1, abs=0.11)


def test_front_from_the_armhole_up_takes_the_printed_seconds(size):
    """143.2 s over armhole and shoulder, its last 76 courses split, one a traverse."""
    found = panel(size, "front").timeline.seconds_by_kind()
    assert found[Work.PLAIN] + found[Work.SPLIT] == pytest.approx(184.6 + 143.2, abs=0.11)


def test_minutes_of_the_garment_p35(size):
    """Net 31.70 min, over 0.85 of the time 37.30 (± 0.5 %)."""
    assert size.net_minutes.value == pytest.approx(31.70, rel=0.005)
    assert size.minutes.value == pytest.approx(37.30, rel=0.005)


def test_narrowings_are_the_largest_lever(size):
    """4.3: 405 s, 21 % of net time."""
    seconds = sum(each.plan.pieces * each.timeline.seconds_by_kind().get(Work.NARROWING, 0.0) for each in size.panels)
    assert seconds == pytest.approx(405, abs=0.5)
    assert seconds / (60 * size.net_minutes.value) == pytest.approx(0.21, abs=0.005)


def test_mass_and_tightness_of_the_fabric_p44(study):
    """245.7 g/m² and 13.4 (0.1)."""
    body = study.fabrics["body"]
    assert body.mass.value == pytest.approx(245.7, abs=0.1)
    assert body.tightness.value == pytest.approx(13.4, abs=0.1)


def test_yarn_in_the_piece_p45(size):
    """401,872 loops of 6.3 mm and 61,200 of 5.6 at 71.43 tex: 180.84 + 24.48 = 205.3 g (0.1)."""
    zones = {}
    for each in size.panels:
        for zone in each.yarn:
            zones[zone.zone] = zones.get(zone.zone, 0.0) + each.plan.pieces * zone.grams
    assert zones["body"] + zones["sleeve"] == pytest.approx(180.84, abs=0.01)
    assert zones["hem"] + zones["cuff"] + zones["neckband"] == pytest.approx(24.48, abs=0.01)
    assert size.grams.value == pytest.approx(205.3, abs=0.1)


def test_yarn_issued_p46(study):
    """209.3 g with its linking yarn over 0.95 × 0.99: 222.6 g (0.1)."""
    assert 1000 * study.pricing.inputs.piece.yarn_lines[0].kg.value == pytest.approx(222.6, abs=0.1)


def test_seams_are_the_printed_points_and_centimetres(size):
    """Section 6: 130 + 314 points; armholes 86.1, sides and underarms 167 cm, together 253.1.

    The printed 167 takes the wanted 40.5 and 43 cm of side and sleeve; the knit-down has the real 40.52 and 42.90.
    """
    amounts = {each.seam.name: each.seam.amount for each in size.makeup.seams}
    assert (amounts["shoulders"], amounts["neckband"]) == (130, 314)
    assert amounts["armholes"] == pytest.approx(86.1, abs=0.05)
    assert amounts["sides"] + amounts["underarms"] == pytest.approx(167, abs=0.2)
    assert amounts["armholes"] + amounts["sides"] + amounts["underarms"] == pytest.approx(253.1, abs=0.2)


def test_linking_and_make_up_minutes_p49(size):
    """20.0 min of linking, 26 with 6 by hand (0.1)."""
    groups = size.makeup.group_minutes
    assert groups["linking"].value == pytest.approx(20.0, abs=0.1)
    assert groups["linking"].value + groups["hand finish"].value == pytest.approx(26, abs=0.1)


@pytest.mark.parametrize(
    ("lines", "printed"),
    [
        (["yarn main"], 5.34),
        (["knitting"], 1.66),
        (["programming"], 1.17),
        (["samples"], 2.00),
        (["linking", "hand_finish"], 2.89),
        (["wash", "press"], 1.74),
        (["check"], 0.56),
        (["trims", "packing"], 1.30),
        (["direct"], 16.66),
        (["overhead"], 1.20),
        (["cost"], 17.86),
        (["fob"], 19.85),
        (["landed"], 23.91),
    ],
)
def test_the_price_comes_out_line_by_line_p54(study, lines, printed):
    """Tolerance 0.02 on prices; a line printed as one may be two here, each rounded to the cent."""
    assert float(sum(priced(study, line) for line in lines)) == pytest.approx(
        printed, abs=0.0101 if len(lines) > 1 else 0.005
    )


@pytest.mark.parametrize(("pieces", "price"), [(50, 39.55), (300, 19.85), (1000, 17.09)])
def test_price_at_other_quantities_p54(study, pieces, price):
    breaks = {each.pieces: float(each.price.amount) for each in study.pricing.breaks}
    assert breaks[pieces] == pytest.approx(price, abs=0.02)


def test_neck_must_open_by_36_per_cent_p64(study):
    """314/6.9 = 45.5 cm round, to 62."""
    held = [finding for finding in study.findings if finding.where.startswith("neckband")]
    assert any("45.5 cm round and must open to 62: a stretch of 36 %" in finding.sentence for finding in held)


def test_the_hem_rib_is_the_one_that_the_reference_disputes(study):
    """1.9: on 318 needles 6.9 to the centimetre the hem lies 46.1 cm wide and not the wanted 43."""
    rib = next(finding for finding in study.findings if finding.where.startswith("hem rib"))
    assert rib.sign is Sign.DECIDE
    assert "46.1 cm wide" in rib.sentence
    assert "wanted 43.0" in rib.sentence
