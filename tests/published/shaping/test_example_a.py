"""Worked example A: a published hand-flat calculation (set-in sleeve articles, 2007), to the row: P-10, P-11.

28 stitches and 40 rows to 10 cm; width 62, length 64, armhole 26, shoulders 38, the last 10 cm of the armhole
straight, no shoulder slope, no rib. Printed: cast on 174, 152 rows, bind off 8, then 26 a side in 64 rows as 12
every third and 14 every second row, 106 left, 40 rows straight, 256 rows in all = 64.0 cm. Exact. Also P-12: the
dropped sleeve of the same source.
"""

import pytest

from loopwright.study.study import study_style
from loopwright.study.style import read_style

SWATCH = {"wales_per_cm": 2.8, "courses_per_cm": 4.0, "loop_length_mm": 14.0}
STYLE = {
    "state": "finished",
    "yarns": {"main": {"count": "Nm 2/4", "fibres": {"wool": 100}}},
    "zones": {"body": {"structure": "plain", "swatch": SWATCH}, "hem": {"structure": "plain", "swatch": SWATCH}},
    "machine": {"gauge": 5, "bed_in": 60},
    "construction": {
        "fashioning": "two-rate",
        "even_courses": False,
        "narrow_needles": 1,
        "armhole_base_cm": 3,
        "armhole_slope_share": 16 / 26,
        "sleeve_straight_cm": 5,
    },
}
MEASURES = {
    "half_chest": 62,
    "half_hem": 62,
    "length": 64,
    "across_shoulder": 38,
    "neck_width": 18,
    "shoulder_drop": 0,
    "armhole_depth": 26,
    "hem_rib": 0,
    "cuff_rib": 0,
    "upper_arm": 50,
}


def lines(steps):
    return [(each.times, each.needles, each.courses) for each in steps]


def test_the_body_of_example_a_comes_out_row_for_row():
    """P-10, P-11."""
    study = study_style(read_style({**STYLE, "garment": {"sizes": ["M"], "measures_cm": MEASURES}}))
    assert not study.refused
    back = study.base.plan.panel("back")
    assert int(back.span[0]) == 174
    assert [(each.name, each.courses) for each in back.sections] == [("body", 152), ("armhole", 104)]
    assert (back.bind_offs[0].left, back.bind_offs[0].right) == (8, 8)
    assert lines(back.fashioning("armhole").steps) == [(12, 1, 3), (14, 1, 2)]
    assert int(back.span[-1]) == 106
    assert back.courses == 256
    assert back.length_cm == pytest.approx(64.0, abs=0.01)


def test_the_dropped_sleeve_of_example_a_comes_out_row_for_row():
    """P-12: cuff 26 cm 72 needles, top 156, 49 cm 196 rows: 42 a side in 176 rows, 8 every fifth, 34 every fourth."""
    measures = {**MEASURES, "half_cuff": 13, "sleeve_from_shoulder": 49, "armhole_straight": 28}
    for name in ("across_shoulder", "armhole_depth", "upper_arm"):
        measures.pop(name)
    garment = {"sleeve": "drop", "sizes": ["M"], "measures_cm": measures}
    study = study_style(read_style({**STYLE, "garment": garment}))
    assert not study.refused
    sleeve = study.base.plan.panel("sleeve")
    assert (sleeve.rib_needles, int(sleeve.span[-1]), sleeve.courses) == (72, 156, 196)
    assert lines(sleeve.fashioning("sleeve").steps) == [(8, 1, 5), (34, 1, 4)]
