"""References in swatch photos: how often card, coin, ruler and square are found, how true, and what else is taken.

Scenes are rendered by a pinhole camera over an invented table, saved as JPEG and read as any file is; the camera is the
truth. False finds come from scenes with other things of nearly the same kind: sheets, playing cards, boxes, telephones.
Time is that of the process on a picture of 12 megapixels, beside decoding it and one float32 FFT of it by scipy.

    python benchmarks/swatch_references.py [--first 1000] [--cards 24] [--rulers 200] [--coins 30] [--squares 30]
"""

import argparse
import io
import math
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import fft

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "swatch" / "photo"))

import swatch_scenes as draw

from loopwright.swatch.photo.card import find_card
from loopwright.swatch.photo.cloth import find_cloth
from loopwright.swatch.photo.coin import find_coin
from loopwright.swatch.photo.perspective import jacobian
from loopwright.swatch.photo.picture import Picture, read_picture
from loopwright.swatch.photo.ruler import find_ruler
from loopwright.swatch.photo.scale import NoScale, Scale
from loopwright.swatch.photo.square import find_square

UNIT = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
INCH_16 = 25.4 / 16


@dataclass(frozen=True)
class Scene:
    """A picture file, the camera that took it, corners of reference and cloth on the table (mm), the size asked for."""

    data: bytes
    camera: draw.Camera
    corners_mm: np.ndarray
    cloth_mm: np.ndarray
    size_mm: float = 0.0

    def px_per_mm(self, place_mm: np.ndarray) -> float:
        """The camera's own scale at a place of the table."""
        return math.sqrt(abs(np.linalg.det(jacobian(self.camera.from_table(), place_mm))))


def turned(middle: np.ndarray, size: tuple[float, float], turn_deg: float) -> np.ndarray:
    """Corners of a turned box on the table."""
    a = np.radians(turn_deg)
    return UNIT * size @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + middle


def table(rng: np.random.Generator) -> draw.Layer:
    """Plain, wood or grained, of any tone and a slight colour."""
    tone, seed = rng.uniform(0.12, 0.8), int(rng.integers(1e6))
    made = (draw.plain(tone), draw.wood(seed, min(tone, 0.65)), draw.grained(seed, tone))[int(rng.integers(3))]
    return draw.Layer(made.look, tint=tint(rng, 0.15))


def tint(rng: np.random.Generator, most: float) -> tuple[float, float, float]:
    """A colour about white."""
    red, green, blue = 1 - most * rng.random(3)
    return red, green, blue


def cloth_and_camera(rng: np.random.Generator, tilt_deg: float) -> tuple[draw.Cloth, draw.Camera]:
    """A swatch left of the middle, and a camera that sees it and what lies at its right."""
    size = rng.uniform(70, 90), rng.uniform(80, 105)
    wale = rng.uniform(1.3, 2.6)
    cloth = draw.Cloth(
        (10.0, 10.0), size, wale, wale * rng.uniform(0.65, 0.95), rng.uniform(-6, 6), rng.uniform(-6, 6),
        is_face=bool(rng.random() < 0.7), tone=rng.uniform(0.25, 0.8), seed=int(rng.integers(1e6)),
    )  # fmt: skip
    camera = draw.Camera(
        1200, 900, (100 + rng.uniform(-4, 4), 64 + rng.uniform(-4, 4)), rng.uniform(285, 330),
        (rng.uniform(-tilt_deg, tilt_deg), rng.uniform(-tilt_deg, tilt_deg)), rng.uniform(-8, 8),
    )  # fmt: skip
    return cloth, camera


def light(rng: np.random.Generator) -> draw.Light:
    """Uneven light, in a third of the pictures a shadow, blur and noise of a telephone."""
    shadow = rng.uniform(0.1, 0.35) if rng.random() < 0.35 else 0.0
    return draw.Light(
        rng.uniform(0, 0.35), shadow, rng.uniform(0.5, 1.3), rng.uniform(0.004, 0.02), int(rng.integers(1e6))
    )


def beside(rng: np.random.Generator, camera: draw.Camera, size: tuple[float, float]) -> tuple[np.ndarray, float]:
    """A place and a turn right of the cloth where the whole of a thing is in the picture."""
    for reach in np.linspace(0, 1, 400):
        turn = rng.choice((0, 90)) + rng.uniform(-12, 12)
        middle = np.array([rng.uniform(128, 150 + 6 * reach), rng.uniform(38, 98)])
        corners = turned(middle, size, turn)
        seen = camera.to_px(corners)
        if (
            corners[:, 0].min() > 103
            and (seen > 6).all()
            and (seen < (camera.width_px - 7, camera.height_px - 7)).all()
        ):
            return middle, float(turn)
    raise RuntimeError("no place for it")


def placed_thing(
    rng: np.random.Generator, camera: draw.Camera, size: tuple[float, float], radius_mm: float
) -> tuple[draw.Layer, np.ndarray]:
    """A card or something else beside the cloth: white, coloured or printed."""
    middle, turn = beside(rng, camera, size)
    kind = int(rng.integers(3))
    corner = float(middle[0] - size[0] / 2), float(middle[1] - size[1] / 2)
    layer = draw.card(
        corner, turn_deg=turn, size_mm=size, radius_mm=radius_mm, printed=kind == 2, seed=int(rng.integers(1e6)),
        tone=rng.uniform(0.82, 0.95) if kind == 0 else rng.uniform(0.35, 0.9),
        tint=tint(rng, 0.0 if kind == 0 else 0.7),
    )  # fmt: skip
    return layer, turned(middle, size, turn)


def pictured(
    rng: np.random.Generator, camera: draw.Camera, layers: list[draw.Layer], *, coloured: bool = True
) -> bytes:
    return draw.as_jpeg(draw.render(camera, layers, light(rng), coloured=coloured), quality=int(rng.integers(80, 96)))


def card_scene(seed: int) -> Scene:
    """A card beside the cloth, the camera up to 10° off about both axes."""
    rng = np.random.default_rng((seed, 1))
    ground = table(rng)
    cloth, camera = cloth_and_camera(rng, 10)
    layer, corners = placed_thing(rng, camera, draw.CARD_MM, draw.CARD_RADIUS_MM)
    return Scene(pictured(rng, camera, [ground, cloth.layer(), layer]), camera, corners, _box(cloth))


OTHERS = {
    "business card": ((85.0, 55.0), 0.05),
    "sheet": ((85.6, 53.98), 0.05),
    "playing card": ((88.0, 63.0), 3.2),
    "telephone": ((92.0, 46.0), 7.0),
    "box": ((60.0, 60.0), 4.0),
    "label": ((70.0, 44.0), 0.4),
    "wide radius": ((85.6, 53.98), 9.0),
}


def other_scene(seed: int) -> Scene:
    """No card, but something that could be taken for one."""
    rng = np.random.default_rng((seed, 2))
    ground = table(rng)
    cloth, camera = cloth_and_camera(rng, 10)
    size, radius = list(OTHERS.values())[seed % len(OTHERS)]
    layer, corners = placed_thing(rng, camera, size, radius)
    return Scene(pictured(rng, camera, [ground, cloth.layer(), layer]), camera, corners, _box(cloth))


def coin_scene(seed: int) -> Scene:
    """A coin beside the cloth, the camera up to 2.5° off about both axes."""
    rng = np.random.default_rng((seed, 3))
    ground = table(rng)
    cloth, camera = cloth_and_camera(rng, 2.5)
    size = float(rng.choice((16.25, 19.75, 23.25, 25.75, 27.4)))
    middle, _ = beside(rng, camera, (size, size))
    layer = draw.coin(
        (float(middle[0]), float(middle[1])), size, tone=rng.uniform(0.3, 0.85), seed=int(rng.integers(1e6))
    )
    coloured = draw.Layer(layer.look, layer.middle_mm, layer.size_mm, 0.0, tint(rng, 0.35))
    data = pictured(rng, camera, [ground, cloth.layer(), coloured])
    return Scene(data, camera, turned(middle, (size, size), 0), _box(cloth), size)


def square_scene(seed: int) -> Scene:
    """A square drawn on paper beside the cloth, the camera up to 10° off about both axes."""
    rng = np.random.default_rng((seed, 4))
    ground = table(rng)
    cloth, camera = cloth_and_camera(rng, 10)
    side, paper = float(rng.choice((40.0, 50.0, 60.0))), rng.uniform(4, 8)
    sheet = side + 2 * paper
    middle, turn = beside(rng, camera, (sheet, side + 3 * paper))
    turn = turn % 90 if turn % 90 < 45 else turn % 90 - 90
    corner = middle[0] - side / 2, middle[1] - side / 2
    layer = draw.square(
        (float(corner[0]), float(corner[1])), side, pen_mm=rng.uniform(0.4, 1.2), turn_deg=turn, paper_mm=paper
    )
    data = pictured(rng, camera, [ground, cloth.layer(), layer])
    return Scene(data, camera, turned(middle, (side, side), turn), _box(cloth), side)


def ruler_scene(seed: int) -> Scene:
    """A ruler along the cloth, 3 to 25 pixels to its smallest division: mm, half mm or sixteenths of an inch."""
    rng = np.random.default_rng((seed, 5))
    division = float(rng.choice((1.0, 0.5, INCH_16), p=(0.7, 0.1, 0.2)))
    is_inch = division == INCH_16
    pitch_px = float(np.exp(rng.uniform(np.log(3), np.log(25))))
    width = 1000
    span = width / pitch_px * division
    camera = draw.Camera(
        width, 320, (span / 2, 0.12 * span), 1.25 * span, (rng.uniform(-3, 3), rng.uniform(-3, 3)), rng.uniform(-6, 6)
    )
    longest = min(0.1 * span, rng.uniform(5, 9))
    thin = rng.uniform(0.1, 0.25) * division
    ruler = draw.Ruler(
        start_mm=(span * rng.uniform(-0.05, 0.08), span * rng.uniform(0.0, 0.05)),
        divisions=int(span / division * rng.uniform(0.85, 1.1)),
        division_mm=division,
        width_mm=longest * rng.uniform(2.2, 3.5),
        tick_mm=tuple(longest * np.array((0.25, 0.4, 0.55, 0.75, 1.0) if is_inch else _lengths(rng, division))),
        groups=(2, 4, 8, 16) if is_inch else ((5, 10) if division == 1 else (2, 10, 20)),
        line_mm=max(thin, 0.08),
        **dict(zip(("tone", "ink"), _tones(rng), strict=True)),
        has_figures=bool(rng.random() < 0.8),
        edge_gap_mm=float(rng.choice((0.0, 0.5))),
    )
    cloth = draw.Cloth((0.1 * span, 0.22 * span), (0.8 * span, 0.2 * span), 0.016 * span, 0.012 * span)
    data = pictured(rng, camera, [table(rng), ruler.layer(), cloth.layer()], coloured=False)
    middle = np.add(ruler.start_mm, (span / 2, 0.0))
    return Scene(data, camera, turned(middle, (span, 0.0), 0), _box(cloth), division)


def _lengths(rng: np.random.Generator, division: float) -> tuple[float, ...]:
    """Ticks of millimetres: fives and tens longer; of half millimetres: twos, tens and twenties."""
    five = rng.uniform(0.62, 0.85)
    each = rng.uniform(0.42, 0.8 * five)
    return (each, five, 1.0) if division == 1 else (each * 0.75, each, five, 1.0)


def _tones(rng: np.random.Generator) -> tuple[float, float]:
    """Dark ticks on a light ruler, or steel, or light ticks on a dark one."""
    return ((rng.uniform(0.75, 0.95), 0.1), (rng.uniform(0.5, 0.7), 0.15), (0.15, 0.85))[int(rng.integers(3))]


def _box(cloth: draw.Cloth) -> np.ndarray:
    return turned(np.array(cloth.middle_mm), cloth.size_mm, 0)


def corner_error_px(scene: Scene, scale: Scale) -> float:
    """The largest distance of a found corner from where the camera put it."""
    truth, found = scene.camera.to_px(scene.corners_mm), scale.outline_px[0]
    turns = [np.roll(way, k, axis=0) for way in (found, found[::-1]) for k in range(4)]
    return min(float(np.linalg.norm(each - truth, axis=1).max()) for each in turns)


def scale_error(scene: Scene, scale: Scale, place_mm: np.ndarray) -> tuple[float, float]:
    """Relative error of the scale at a place, per cent, and the half-width stated there."""
    at = scene.camera.to_px(place_mm[None])[0]
    stated = float(np.hypot(*scale.spread_at(at)))
    return 100 * (scale.px_per_mm(at) / scene.px_per_mm(place_mm) - 1), 100 * stated


def of_kind(name: str, made: list[Scene], find: Callable[[Picture, Scene], Scale | NoScale]) -> None:
    """A line for a kind of reference with corners."""
    corners, own, away, stated, refused, false = [], [], [], [], Counter(), 0
    for scene in made:
        scale = find(read_picture(scene.data), scene)
        if isinstance(scale, NoScale):
            refused[scale.code.value] += 1
            continue
        miss = corner_error_px(scene, scale) if name != "coin" else 0.0
        error, _ = scale_error(scene, scale, scene.corners_mm.mean(axis=0))
        there, width = scale_error(scene, scale, scene.cloth_mm.mean(axis=0))
        if miss > 10 or abs(error) > 3:
            false += 1
            continue
        corners.append(miss), own.append(abs(error)), away.append(abs(there)), stated.append(abs(there) <= width)
    print(
        f"{name:>8} {len(made):>5} {len(own):>6} {false:>6} {_two(corners, 'px'):>20} {_two(own, '%'):>20} "
        f"{_two(away, '%'):>20} {100 * float(np.mean(stated or [0])):>6.0f} %  {dict(refused) or ''}"
    )


def _two(values: list[float], unit: str) -> str:
    """Median and 95th percentile."""
    return f"{np.median(values):.2f} / {np.percentile(values, 95):.2f} {unit}" if values else "-"


def of_rulers(made: list[Scene]) -> None:
    """Errors of rulers; whole-number errors are told apart."""
    errors, inside, refused, whole, wrong = [], [], Counter(), 0, 0
    for scene in made:
        middle_px = scene.camera.to_px(scene.cloth_mm.mean(axis=0)[None])[0]
        picture = read_picture(scene.data)
        scale = find_ruler(picture, scene.size_mm, middle_px, find_cloth(picture.grey))
        if isinstance(scale, NoScale):
            refused[scale.code.value] += 1
            continue
        foot = scene.corners_mm.mean(axis=0)
        found = scale.px_per_mm(middle_px) / scene.px_per_mm(foot)
        if abs(found - 1) > 0.03:
            times = max(found, 1 / found)
            whole, wrong = whole + (abs(times - round(times)) < 0.06 * times), wrong + 1
            continue
        errors.append(100 * abs(found - 1)), inside.append(abs(found - 1) <= np.hypot(*scale.spread_at(middle_px)))
    holds = 100 * float(np.mean(inside or [0]))
    print(f"  rulers {len(made):>5} read {len(errors)}, error {_two(errors, '%')}, stated spread holds {holds:.0f} %, ")
    print(f"  whole-number errors {whole}, other errors over 3 % {wrong - whole}, refused {dict(refused)}")


def of_others(made: dict[int, Scene]) -> None:
    """What else is taken for a card."""
    taken = Counter()
    for seed, scene in made.items():
        name = list(OTHERS)[seed % len(OTHERS)]
        taken[name] += isinstance(find_card(read_picture(scene.data)), Scale)
    print(f"  taken for a card though none is there: {sum(taken.values())} of {len(made)}  {dict(+taken) or ''}")


def times() -> None:
    """CPU time of each finder on 12 megapixels, beside decoding and one FFT of the same picture."""
    camera = draw.Camera(4000, 3000, (100, 64), 300, (4, -3))
    cloth = draw.Cloth((10, 10), (85, 100), 2.0, 1.5)
    layers = [draw.wood(), cloth.layer(), draw.card((112, 20), turn_deg=5)]
    data = draw.as_jpeg(draw.render(camera, layers, draw.Light(), oversample=1, coloured=True))
    decoding, _ = _timed(lambda: np.asarray(Image.open(io.BytesIO(data)).convert("L"), np.float32))
    picture = read_picture(data)
    transform, _ = _timed(lambda: fft.rfft2(picture.grey))
    whole = decoding + transform
    print(f"12 megapixels: decoding {decoding:.2f} s and FFT {transform:.2f} s of CPU; in times of their sum:")
    area = find_cloth(picture.grey)
    for name, work in (
        ("read_picture", lambda: read_picture(data)),
        ("find_cloth", lambda: find_cloth(picture.grey)),
        ("find_card", lambda: find_card(picture)),
        ("find_coin", lambda: find_coin(picture, 23.25)),
        ("find_square", lambda: find_square(picture, 50)),
        ("find_ruler", lambda: find_ruler(picture, 1.0, np.array([1200.0, 1500.0]), area)),
    ):
        print(f"  {name:>12} {_timed(work)[0] / whole:.2f} ×")


def _timed(work: Callable[[], object], rounds: int = 3) -> tuple[float, object]:
    """The least CPU time of some rounds, s."""
    took, made = [], None
    for _ in range(rounds):
        start = time.process_time()
        made = work()
        took.append(time.process_time() - start)
    return min(took), made


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    for name, count in (("first", 1000), ("cards", 24), ("rulers", 200), ("coins", 30), ("squares", 30)):
        words.add_argument(f"--{name}", type=int, default=count)
    asked = words.parse_args()
    seeds = {
        name: range(asked.first, asked.first + getattr(asked, name)) for name in ("cards", "coins", "squares", "rulers")
    }
    print(f"{'':>8} {'made':>5} {'found':>6} {'false':>6} {'corners 50/95 of 100':>20} {'scale there':>20} "
          f"{'scale at the cloth':>20} {'holds':>8}")  # fmt: skip
    of_kind("card", [card_scene(seed) for seed in seeds["cards"]], lambda picture, _: find_card(picture))
    of_kind("square", [square_scene(seed) for seed in seeds["squares"]], lambda p, scene: find_square(p, scene.size_mm))
    of_kind("coin", [coin_scene(seed) for seed in seeds["coins"]], lambda p, scene: find_coin(p, scene.size_mm))
    of_others({seed: other_scene(seed) for seed in seeds["cards"]})
    of_rulers([ruler_scene(seed) for seed in seeds["rulers"]])
    times()


if __name__ == "__main__":
    main()
