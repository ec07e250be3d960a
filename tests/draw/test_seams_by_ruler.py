"""A ruler on the drawing finds the seams: lengths on the panels' picture, by its own scale bar, against the joins.

Nothing of ours is asked but picture and joins: outlines are read from the SVG, centimetres from its bar of 10 cm.
"""

import math
import re
from xml.etree import ElementTree

import pytest

from loopwright.report.files import pictures
from loopwright.study.study import study_style
from loopwright.study.style import read_style

SVG = "{http://www.w3.org/2000/svg}"


def studied(**garment):
    return study_style(
        read_style(
            {
                "yarns": {"m": {"count": "2/30 Nm", "fibres": {"wool": 100}}},
                "garment": {"sizes": ["M"], **garment},
                "machine": {"gauge": 12, "bed_in": 60},
            }
        )
    )


class Drawing:
    """The picture of the panels: closed outlines in cm, in the order drawn, y up."""

    def __init__(self, study) -> None:
        root = ElementTree.fromstring(pictures(study)["panels"])
        bar = next(
            line
            for line in root.iter(f"{SVG}line")
            if line.get("y1") == line.get("y2") and float(line.get("x2")) - float(line.get("x1")) > 20
            and float(line.get("y1")) > 0.97 * float(root.get("viewBox").split()[3]) - 12
        )  # fmt: skip
        self.px_per_cm = (float(bar.get("x2")) - float(bar.get("x1"))) / 10
        self.outlines = []
        for each in root.iter(f"{SVG}path"):
            points = [tuple(map(float, pair.split())) for pair in re.findall(r"-?[\d.]+ -?[\d.]+", each.get("d"))]
            if each.get("d").endswith("Z") and each.get("stroke-linejoin") == "miter":
                self.outlines.append([(x / self.px_per_cm, -y / self.px_per_cm) for x, y in points])

    def corner(self, outline: int, pick) -> tuple[float, float]:
        return max(self.outlines[outline], key=pick)


def length_of(study, name: str) -> float:
    return next(join.length_cm for join in study.sizes[0].plan.joins if join.name == name)


def underarm(points: list[tuple[float, float]]) -> tuple[float, float]:
    """The highest point of the right side at the full width."""
    widest = max(x for x, _ in points)
    return max((point for point in points if point[0] > widest - 0.01), key=lambda point: point[1])


@pytest.mark.parametrize("sleeve", ["set-in", "raglan", "modified drop", "saddle"])
def test_the_side_seam_is_as_long_as_the_drawing_from_hem_to_underarm(sleeve):
    study = studied(sleeve=sleeve)
    drawing = Drawing(study)
    back = drawing.outlines[0]
    foot = min(y for _, y in back)
    assert underarm(back)[1] - foot == pytest.approx(length_of(study, "sides"), abs=0.05)


def test_the_raglan_seam_is_as_long_as_the_drawing_from_underarm_to_neck():
    study = studied(sleeve="raglan")
    back = Drawing(study).outlines[0]
    outer = underarm(back)
    inner = max((point for point in back if abs(point[1] - outer[1]) < 0.02 and point[0] < outer[0] - 0.5),
                key=lambda point: point[0])  # fmt: skip
    top = max(y for _, y in back)
    neck = max((point for point in back if point[1] > top - 0.01), key=lambda point: point[0])
    ruled = (outer[0] - inner[0]) + math.dist(inner, neck)
    assert ruled == pytest.approx(length_of(study, "raglans"), abs=0.25)  # a needle is 0.15 cm, a course 0.11


def test_both_armholes_of_a_dropped_sleeve_are_as_long_as_its_drawn_top():
    study = studied(sleeve="drop")
    sleeve = Drawing(study).outlines[2]
    top = max(y for _, y in sleeve)
    across = [x for x, y in sleeve if y > top - 0.01]
    assert max(across) - min(across) == pytest.approx(length_of(study, "armholes"), abs=0.5)


def test_the_cap_is_drawn_as_high_as_its_words_say():
    study = studied()
    sleeve = Drawing(study).outlines[2]
    said = float(re.search(r"Cap ([\d.]+) cm high", study.sizes[0].plan.facts[0])[1])
    assert max(y for _, y in sleeve) - underarm(sleeve)[1] == pytest.approx(said, abs=0.06)
