"""Still pictures of cloth at yarn level as PNG: face, back, section, and a free piece as it will lie.

In: a `ClothForm`, the diameter of its first yarn (mm), the words that say in what state it is. Out: PNG bytes. Undyed
grey yarn on white, every further yarn a darker grey, light from the upper left, the lie of the plies hinted; yarn that
lies deeper is darker. Drawn at twice the size and brought down. Title, description and caption travel in the file
too, and the caption says how much cloth is shown.
Not covered: the same views as SVG (`still_svg`), pictures of cloth that has not been relaxed (`cloth`).
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo
from scipy.ndimage import gaussian_filter

from loopwright.draw import theme
from loopwright.draw.lie import Lie
from loopwright.draw.splat import Surface, surface
from loopwright.draw.tubes import Plies, ply_shade
from loopwright.draw.views import Scene, Side, scene_of
from loopwright.draw.yarn_lines import Points, YarnLine
from loopwright.mechanics.form import ClothForm

OVER = 2  # drawn so many times larger
CAPTION_PX, CAPTION_SIZE = 42, 13
LIGHT = np.array([-0.48, 0.62, 0.62])
AMBIENT, LIT = 0.56, 0.60
YARN, LATER_YARN = 0.88, 0.62  # brightness of the first yarn; each further one has so much of the one before
HOLLOWS = ((0.55, 0.55), (7.0, 0.09))  # shade in hollows: how far it reaches (diameters), how dark for each diameter
DARKEST = 0.5  # of that shade
CUT_FACE, CUT_RIM = 0.97, 0.30
SHADOW = 0.2  # on the table, at its darkest
SIDE_WORDS = {
    "face": "Technical face",
    "back": "Technical back",
    "section": "Section along the wales, face above",
    "lying": "A free piece as it will lie, face up",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """What a picture shows in words: name of the structure, state of the cloth, thickness of its first yarn."""

    name: str
    state: str
    diameter_mm: float

    def title(self, side: Side) -> str:
        """Name of a picture."""
        return f"{self.name}: {SIDE_WORDS[side][0].lower()}{SIDE_WORDS[side][1:]}"

    def caption(self, side: Side, scene: Scene) -> str:
        """The two lines under a picture: the side and how much cloth; its state."""
        return f"{SIDE_WORDS[side]}: {scene.shown}\n{self.state}"


def still_png(
    form: ClothForm, side: Side, shown: Shown, *, width: int = 520, lie: Lie | None = None, plies: Plies | None = None
) -> bytes:
    """One view of the cloth as a PNG file, caption included."""
    scene = scene_of(form, side, diameter_mm=shown.diameter_mm, width=width, lie=lie)
    cloth = Image.fromarray(np.rint(255 * shaded(scene, plies or Plies())).astype(np.uint8), mode="L")
    cloth = cloth.resize((width, round(scene.height)), Image.Resampling.BOX)
    whole = Image.new("RGB", (width, cloth.height + CAPTION_PX), "#FFFFFF")
    whole.paste(cloth, (0, 0))
    caption = shown.caption(side, scene)
    face = ImageFont.load_default(CAPTION_SIZE)
    ImageDraw.Draw(whole).text((0, cloth.height + 6), caption, fill=theme.INK_2, font=face)
    about = PngInfo()
    about.add_itxt("Title", shown.title(side))
    about.add_itxt("Description", caption.replace("\n", "; "))
    about.add_text("Software", "Loopwright")
    file = io.BytesIO()
    whole.save(file, "PNG", pnginfo=about, optimize=True)
    return file.getvalue()


def shaded(scene: Scene, plies: Plies) -> Points:
    """Brightness 0 to 1 of a scene (h, w), `OVER` times larger than it will be shown."""
    lines = [YarnLine(line.yarn, OVER * line.diameter, OVER * line.points) for line in scene.lines]
    seen = surface(
        lines, round(OVER * scene.width), OVER * round(scene.height), None if scene.cut is None else OVER * scene.cut
    )
    letters = sorted({line.yarn for line in lines})
    of_line = np.array([[letters.index(line.yarn), line.diameter] for line in lines])
    order, diameter = of_line[np.maximum(seen.line, 0)].transpose(2, 0, 1)
    light = AMBIENT + LIT * np.maximum(seen.normal @ (LIGHT / np.linalg.norm(LIGHT)), 0.0)
    rim = 0.55 + 0.45 * np.clip(seen.normal[..., 2] / 0.45, 0.0, 1.0)
    bright = YARN * LATER_YARN**order * light * rim * ply_shade(seen.angle, seen.along, diameter, plies)
    bright *= 1 - _hollows(seen, OVER * scene.px)
    if scene.cut is not None:
        bright = _with_cut_faces(bright, seen, OVER * scene.px, order)
    table = 1.0 if scene.shadow is None else 1 - _shade_on_the_table(scene, bright.shape)
    grey: Points = np.where(seen.line < 0, table, np.clip(bright, 0.0, 1.0))
    return grey


def _shade_on_the_table(scene: Scene, shape: tuple[int, ...]) -> Points:
    """How dark the shadow of a piece that lies is at each pixel, soft, 0 to `SHADOW`."""
    assert scene.shadow is not None
    place = scene.shadow * OVER * [1, -1] + [shape[1] / 2, shape[0] / 2]
    edges = [np.arange(size + 1) for size in shape]
    hits, _, _ = np.histogram2d(place[:, 1], place[:, 0], bins=edges)
    blur = 1.1 * OVER * scene.px
    shadow: Points = SHADOW * (1 - np.exp(-6 * (OVER * scene.px) ** 2 / 10 * gaussian_filter(hits, blur)))
    return shadow


def _hollows(seen: Surface, px: float) -> Points:
    """How much darker a place is that lies lower than what is round it, between yarns and under rolls."""
    empty = seen.line < 0
    floor = float(seen.depth[~empty].min()) if (~empty).any() else 0.0
    depth = np.where(empty, floor, seen.depth) / px
    dark = sum(dark * np.maximum(gaussian_filter(depth, reach * px) - depth, 0.0) for reach, dark in HOLLOWS)
    hollow: Points = np.minimum(dark, DARKEST)
    return hollow


def _with_cut_faces(bright: Points, seen: Surface, px: float, order: Points) -> Points:
    """Cut yarn is paper with an ink rim; yarn behind the cut fades with its distance."""
    behind = np.clip(-seen.depth / px / 9.0, 0.0, 0.75)
    faded = bright + (1 - bright) * behind
    face = gaussian_filter(seen.is_cut.astype(np.float64), 0.07 * px)
    paper = np.where(face > 0.86, CUT_FACE * LATER_YARN ** (0.5 * order), CUT_RIM)
    both: Points = np.where(seen.is_cut, paper, faded)
    return both
