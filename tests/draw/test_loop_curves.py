"""Small charts over the loop length: the line runs as the figures do, the place where one stands is marked."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from loopwright.draw.loop_curves import PANEL, Curve, Point, loop_curves

RISING = Curve("Gives across", "%", tuple(Point(4 + n, 10.0 + 8 * n, 8.0 + 6 * n, 13.0 + 9 * n) for n in range(6)))
FALLING = Curve("Wales", "per cm", tuple(Point(4 + n, 9.0 - n, 8.0 - n, 10.5 - n) for n in range(6)))


def lines(svg: str) -> list[list[tuple[float, float]]]:
    """The curves: paths with no fill."""
    found = re.findall(r'<path d="M([^"Z]+)" fill="none"', svg)
    return [[tuple(map(float, each.split())) for each in path.split("L")] for path in found]


def test_a_rising_figure_rises_and_a_falling_one_falls():
    up, down = lines(loop_curves([RISING, FALLING], 6.0))
    assert [y for _, y in up] == sorted((y for _, y in up), reverse=True)
    assert [y for _, y in down] == sorted(y for _, y in down)
    assert up[0][0] == 0
    assert up[-1][0] == pytest.approx(PANEL)


def test_the_place_where_one_stands_lies_on_the_curve():
    svg = loop_curves([RISING], 6.5)
    (path,) = lines(svg)
    x, y = (float(re.search(rf'<circle[^>]* c{axis}="([0-9.]+)"', svg)[1]) for axis in "xy")
    assert x == pytest.approx(PANEL * 0.5, abs=0.01)
    assert y == pytest.approx((path[2][1] + path[3][1]) / 2, abs=0.02)


def test_beyond_the_curve_nothing_is_marked():
    assert "<circle" not in loop_curves([RISING], 12.0)


def test_it_is_told_in_words_and_is_well_formed():
    svg = loop_curves([RISING, FALLING], 6.0)
    root = ElementTree.fromstring(svg)
    assert root.find("{http://www.w3.org/2000/svg}title").text == "What the loop length does"
    assert "Wales: 9.0 per cm at 4.0 mm, 4.0 at 9.0 mm." in svg


def test_a_wide_band_does_not_flatten_the_curve():
    wild = Curve("Radius", "mm", tuple(Point(4 + n, 2.0 + n, 1.0, 1e6) for n in range(6)))
    (path,) = lines(loop_curves([wild], 6.0))
    assert max(y for _, y in path) - min(y for _, y in path) > 20
