"""Still pictures of cloth at yarn level as SVG, small enough for a page: face, back, section, a free piece that lies.

In: as `still`. Out: SVG text under 250 kB. The yarns are cut into short pieces and painted from the far side to the
near one, as in `cloth`; a small view paints coarser. Each picture has a title, a description and a caption that says
how much cloth it shows and in what state.
Not covered: pictures of cloth that has not been relaxed (`cloth`), PNG (`still`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from loopwright.draw import theme
from loopwright.draw.lie import Lie
from loopwright.draw.painted import EDGE, FINE, PIECE, Piece, chain, layer, plain_layer, ply_marks, ply_strokes
from loopwright.draw.still import Shown
from loopwright.draw.svg import element, picture, words
from loopwright.draw.tubes import Plies
from loopwright.draw.views import Scene, Side, scene_of
from loopwright.draw.yarn_lines import Points, YarnLine
from loopwright.mechanics.form import ClothForm

CAPTION = 38.0  # px under the cloth
LEVEL = 0.24  # of depth that is painted at once, in d
MOST_LEVELS = 170
SMALL_PX = 9.0  # under so many px yarn is painted coarsely
COARSE = 3  # points of a centre line for one of a coarse picture
LONGEST_CUT = 2.6  # of a cut face over the diameter of the yarn

Layers = dict[tuple[int, int, float], list[Piece]]


def still_svg(
    form: ClothForm,
    side: Side,
    shown: Shown,
    *,
    width: float = 520.0,
    lie: Lie | None = None,
    plies: Plies | None = None,
    key: str = "yarns",
) -> str:
    """One view of the cloth as an SVG; `key` is unique on the page."""
    scene = scene_of(form, side, diameter_mm=shown.diameter_mm, width=width, lie=lie)
    caption = shown.caption(side, scene)
    content = _cloth(scene, plies or Plies(), key) + "".join(
        words(0, scene.height + 16 + 16 * row, text, size=12, fill=theme.INK_2)
        for row, text in enumerate(caption.split("\n"))
    )
    return picture(
        content,
        width=width,
        height=scene.height + CAPTION,
        title=shown.title(side),
        description=caption.replace("\n", "; ") + ".",
        key=key,
    )


def _cloth(scene: Scene, plies: Plies, key: str) -> str:
    """The yarns on white, cut off at the edge of the picture."""
    whole = element("rect", width=scene.width, height=scene.height)
    ground = element("rect", width=scene.width, height=scene.height, fill="#FFFFFF")
    place = f"translate({scene.width / 2:g} {scene.height / 2:g}) scale({1 / FINE:g})"
    painted = "".join(_painted(scene, plies, key)) + "".join(_cut_faces(scene))
    cloth = element("g", painted, transform=place, fill="none", stroke_linejoin="round")
    frame = element("clipPath", whole, id=f"{key}-clip")
    return element("defs", frame) + ground + element("g", cloth, clip_path=f"url(#{key}-clip)")


def _painted(scene: Scene, plies: Plies, key: str) -> Iterator[str]:
    """Layers of yarn, far ones first."""
    coarse = scene.px < SMALL_PX
    letters = sorted({line.yarn for line in scene.lines})
    z = np.concatenate([line.points[:, 2] for line in scene.lines])
    low, high = max(float(z.min()), scene.far), float(z.max()) if scene.cut is None else scene.cut
    levels = min(math.ceil((high - low) / (LEVEL * scene.px)) + 1, round(MOST_LEVELS / len(letters) ** 0.5))
    layers: Layers = {}
    for line in scene.lines:
        for piece in _pieces(line, scene, plies, COARSE if coarse else 1):
            level = min(max(int((piece.depth - low) / max(high - low, 1e-9) * levels), 0), levels - 1)
            layers.setdefault((level, letters.index(line.yarn), line.diameter), []).append(piece)
    paint = plain_layer if coarse else layer
    for number, ((level, yarn, diameter), pieces) in enumerate(sorted(layers.items(), key=lambda each: each[0])):
        near = 0.35 + 0.5 * level / levels if coarse else (level + 1) / levels
        yield paint(pieces, diameter * FINE, near, yarn, f"{key}-{number}")


def _pieces(line: YarnLine, scene: Scene, plies: Plies, every: int) -> Iterator[Piece]:
    """Pieces of one line that are in the picture and behind the cut."""
    points = line.points[::every]
    fine = [(x, y) for x, y in np.rint(points[:, :2] * [FINE, -FINE]).astype(np.int64).tolist()]
    strokes = ply_strokes(points, line.diameter * FINE, plies.twist)
    depth = (points[:-1, 2] + points[1:, 2]) / 2
    reach = [scene.width / 2 + line.diameter, scene.height / 2 + line.diameter]
    inside = (np.abs(points[:, :2]) < reach).all(axis=1)
    drawn = inside & (points[:, 2] >= scene.far)
    if scene.cut is not None:
        drawn &= points[:, 2] <= scene.cut
    for first in range(0, len(points) - 1, PIECE):
        last = min(first + PIECE, len(points) - 1)
        if drawn[first : last + 1].any():
            x, y = fine[first]
            onward = fine[first : min(last + 2, len(points))]  # one segment on, so that no joint shows
            marks = ply_marks(fine, strokes, first, last) if plies.count > 1 and every == 1 else ""
            start = f"M{x} {y}"
            yield Piece(float(depth[first:last].mean()), f"{start}l{chain(onward)}", start + marks if marks else "")


def _cut_faces(scene: Scene) -> Iterator[str]:
    """Where yarn goes through the cut: an ellipse of paper with an ink edge."""
    if scene.cut is None:
        return
    for line in scene.lines:
        above = line.points[:, 2] > scene.cut
        for index in np.flatnonzero(above[1:] != above[:-1]):
            yield _cut_face(line.points[index : index + 2], line.diameter, scene.cut)


def _cut_face(ends: Points, diameter: float, cut: float) -> str:
    """The face that a cut leaves on a yarn between two points on either side of it."""
    before, after = ends
    x, y, _ = before + (after - before) * (cut - before[2]) / (after[2] - before[2])
    step = after - before
    long = min(float(np.linalg.norm(step)) / abs(float(step[2])), LONGEST_CUT)
    turn = math.degrees(math.atan2(-step[1], step[0]))
    return element(
        "ellipse",
        cx=0,
        cy=0,
        rx=FINE * diameter / 2 * long,
        ry=FINE * diameter / 2,
        fill="#FBFBF9",
        stroke="#" + "".join(f"{value:02X}" for value in EDGE),
        stroke_width=FINE * 0.09 * diameter,
        transform=f"translate({FINE * x:.0f} {-FINE * y:.0f}) rotate({turn:.0f})",
    )
