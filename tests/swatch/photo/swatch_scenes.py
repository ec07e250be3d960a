"""Rendered scenes with exact truth: a swatch, a card, coin, ruler or drawn square on a table under a pinhole camera.

Every pixel looks where its ray meets the table (mm, x right, y down) and asks what lies there: no picture is resampled.
Cloth is one loop cell drawn by depth, repeated along two steps; the truth is those steps. Everything is invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from scipy import ndimage

Look = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]  # x, y (mm) -> brightness, cover 0 to 1
CARD_MM, CARD_RADIUS_MM = (85.60, 53.98), 3.18
BAND_PX = 32  # rows drawn at a time: what stays in the cache is quick


@dataclass(frozen=True)
class Layer:
    """Something on the table, and the turned box that holds it; no box: it covers everything. The tint colours it."""

    look: Look
    middle_mm: tuple[float, float] = (0.0, 0.0)
    size_mm: tuple[float, float] | None = None
    turn_deg: float = 0.0
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def where(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        a = np.radians(self.turn_deg)
        dx, dy = x - self.middle_mm[0], y - self.middle_mm[1]
        across, down = np.abs(np.cos(a) * dx + np.sin(a) * dy), np.abs(-np.sin(a) * dx + np.cos(a) * dy)
        return (across < self.size_mm[0] / 2 + 0.5) & (down < self.size_mm[1] / 2 + 0.5)


def _middle(corner: tuple[float, float], size: tuple[float, float]) -> tuple[float, float]:
    return corner[0] + size[0] / 2, corner[1] + size[1] / 2


@dataclass(frozen=True)
class Camera:
    """A pinhole camera over the table: picture size, what it looks at, how far, how far off the plumb line."""

    width_px: int = 1600
    height_px: int = 1200
    aim_mm: tuple[float, float] = (100.0, 75.0)
    distance_mm: float = 320.0
    tilt_deg: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    focal: float = 1.25  # in picture widths

    def from_table(self) -> np.ndarray:
        """Table (mm) to picture (px), 3 × 3."""
        f = self.focal * self.width_px
        inner = np.array([[f, 0, (self.width_px - 1) / 2], [0, f, (self.height_px - 1) / 2], [0, 0, 1]])
        a, b, c = np.radians([*self.tilt_deg, self.turn_deg])
        about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
        about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
        about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
        turned = about_z @ about_y @ about_x
        shift = np.array([0, 0, self.distance_mm]) - turned @ np.array([*self.aim_mm, 0])
        return inner @ np.column_stack([turned[:, 0], turned[:, 1], shift])

    def to_px(self, points_mm: np.ndarray) -> np.ndarray:
        """Points of the table in the picture."""
        there = np.column_stack([points_mm, np.ones(len(points_mm))]) @ self.from_table().T
        return there[:, :2] / there[:, 2:]

    @property
    def tilt(self) -> float:
        """Angle between the line of sight and the plumb line, degrees."""
        a, b = np.radians(self.tilt_deg)
        return float(np.degrees(np.arccos(np.cos(a) * np.cos(b))))


@dataclass(frozen=True)
class Cloth:
    """A swatch: corner and size on the table, stitches, lean of the wales, direction of the courses, side."""

    corner_mm: tuple[float, float] = (10.0, 15.0)
    size_mm: tuple[float, float] = (90.0, 110.0)
    wale_mm: float = 2.0
    course_mm: float = 1.5
    skew_deg: float = 0.0
    rotation_deg: float = 0.0
    is_face: bool = True
    tone: float = 0.6
    unevenness: float = 0.02
    seed: int = 1

    def steps(self) -> np.ndarray:
        """Wale step and course step (mm) as columns; y is down, the course step goes up."""
        r, s = np.radians([self.rotation_deg, self.skew_deg])
        wale = self.wale_mm * np.array([np.cos(r), np.sin(r)])
        up = np.array([np.sin(r), -np.cos(r)])
        along = np.array([np.cos(r), np.sin(r)])
        return np.column_stack([wale, self.course_mm * (up + np.tan(s) * along)])

    def layer(self) -> Layer:
        cell = loop_cell(self.course_mm / self.wale_mm, is_face=self.is_face).astype(np.float32)
        back = np.linalg.inv(self.steps())
        rng = np.random.default_rng(self.seed)
        tones = (self.tone * (1 + self.unevenness * rng.standard_normal((512, 512)))).astype(np.float32)

        def look(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            u = back[0, 0] * x + back[0, 1] * y
            v = back[1, 0] * x + back[1, 1] * y
            n = cell.shape[0]
            wale, course = np.floor(u).astype(np.int32), np.floor(v).astype(np.int32)
            row, column = ((1 - (v - course)) * n).astype(np.int32), ((u - wale) * n).astype(np.int32)
            bright = cell[np.clip(row, 0, n - 1), np.clip(column, 0, n - 1)]
            bright = bright * tones[course % 512, wale % 512]
            return bright, _rounded(x, y, self.corner_mm, self.size_mm, 1.0, soft=0.4)

        return Layer(look, self.middle_mm, self.size_mm, 0.0)

    @property
    def middle_mm(self) -> tuple[float, float]:
        return self.corner_mm[0] + self.size_mm[0] / 2, self.corner_mm[1] + self.size_mm[1] / 2


def loop_cell(course_over_wale: float, *, is_face: bool, samples: int = 128) -> np.ndarray:
    """Brightness of one stitch seen from above, row 0 at its top; the loop curve drawn by depth with shaded yarn."""
    c, radius = course_over_wale, 0.19
    t = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    x = t / (2 * np.pi) + 0.17 * np.sin(2 * t)
    y = -0.5 * c * 1.42 * np.cos(t)
    z = 1.05 * radius * np.cos(2 * t) * (-1 if is_face else 1)
    px, py = np.meshgrid((np.arange(samples) + 0.5) / samples, (np.arange(samples) + 0.5) / samples * c)
    depth, bright = np.full(px.shape, -9.0), np.full(px.shape, 0.12)
    for k in (-1, 0, 1):
        for row in (-1, 0, 1, 2):
            _splat(px, py, (x + k, c / 2 - (y - row * c) - c / 2, z), radius, depth, bright)
    return bright


def _splat(px, py, path, radius, depth, bright) -> None:
    x, y, z = path
    samples = px.shape[1]
    height = py[-1, 0] + py[0, 0]
    reach = int(np.ceil(radius * samples)) + 1
    reach_y = int(np.ceil(radius / height * samples)) + 1
    for each in range(len(x)):
        i, j = int(y[each] / height * samples), int(x[each] * samples)
        if not (-reach_y <= i < samples + reach_y and -reach <= j < samples + reach):
            continue
        rows = slice(max(0, i - reach_y), max(0, i + reach_y + 1))
        columns = slice(max(0, j - reach), max(0, j + reach + 1))
        dx, dy = px[rows, columns] - x[each], py[rows, columns] - y[each]
        inside = radius**2 - dx**2 - dy**2
        top = z[each] + np.sqrt(np.maximum(inside, 0))
        is_over = (inside > 0) & (top > depth[rows, columns])
        shade = 0.35 + 0.65 * np.sqrt(np.maximum(inside, 0)) / radius + 0.15 * (-dx - dy) / radius
        shade *= 0.8 + 0.35 * z[each] / (2 * radius)
        depth[rows, columns] = np.where(is_over, top, depth[rows, columns])
        bright[rows, columns] = np.where(is_over, shade, bright[rows, columns])


def _rounded(x, y, corner, size, radius, *, soft=0.08, turn_deg=0.0) -> np.ndarray:
    """Cover 0 to 1 of a rectangle with round corners; `soft` is the width of its edge in mm."""
    cx, cy = corner[0] + size[0] / 2, corner[1] + size[1] / 2
    a = np.radians(turn_deg)
    dx, dy = x - cx, y - cy
    across, down = np.cos(a) * dx + np.sin(a) * dy, -np.sin(a) * dx + np.cos(a) * dy
    qx, qy = np.abs(across) - size[0] / 2 + radius, np.abs(down) - size[1] / 2 + radius
    far = np.hypot(np.maximum(qx, 0), np.maximum(qy, 0)) + np.minimum(np.maximum(qx, qy), 0) - radius
    return np.clip(0.5 - far / soft, 0, 1)


def card(
    corner_mm=(115.0, 40.0),
    *,
    turn_deg=0.0,
    tone=0.92,
    printed=False,
    seed=3,
    size_mm=CARD_MM,
    radius_mm=CARD_RADIUS_MM,
    tint=(1.0, 1.0, 1.0),
) -> Layer:
    """An ID-1 card, or a sheet or box of another size; `printed` puts a band, blocks and lines of words on it."""
    rng = np.random.default_rng(seed)
    middle = _middle(corner_mm, size_mm)
    blocks = [
        (rng.uniform(0, 0.8), rng.uniform(0, 0.8), rng.uniform(0.05, 0.2), rng.uniform(0.03, 0.2)) for _ in "123456"
    ]
    blocks += [(rng.uniform(0.05, 0.2), y, rng.uniform(0.3, 0.7), 0.03) for y in np.arange(0.55, 0.9, 0.09)]
    blocks.append((-0.02, rng.uniform(0.05, 0.2), 1.04, rng.uniform(0.1, 0.2)))  # a band from edge to edge
    tones = rng.uniform(0.2, 0.8, len(blocks))

    def look(x, y):
        bright = np.full(x.shape, tone)
        if printed:
            a = np.radians(turn_deg)
            dx, dy = x - middle[0], y - middle[1]
            u = (np.cos(a) * dx + np.sin(a) * dy) / size_mm[0] + 0.5
            v = (-np.sin(a) * dx + np.cos(a) * dy) / size_mm[1] + 0.5
            for (left, top, wide, high), each in zip(blocks, tones, strict=True):
                inside = (u > left) & (u < left + wide) & (v > top) & (v < top + high)
                bright = np.where(inside, each * tone + 0.05, bright)
        return bright, _rounded(x, y, corner_mm, size_mm, radius_mm, turn_deg=turn_deg)

    return Layer(look, middle, size_mm, turn_deg, tint)


def coin(centre_mm=(130.0, 60.0), diameter_mm=23.25, *, tone=0.75, seed=3) -> Layer:
    """A coin with a rim and some relief."""
    rng = np.random.default_rng(seed)
    waves = [(rng.uniform(0.3, 2.0), rng.uniform(0, 6.3), rng.uniform(0, 6.3)) for _ in range(8)]

    def look(x, y):
        dx, dy = x - centre_mm[0], y - centre_mm[1]
        far = np.hypot(dx, dy)
        relief = sum(np.sin(k * (np.cos(a) * dx + np.sin(a) * dy) + p) for k, a, p in waves) / 8
        bright = tone * (1 + 0.35 * relief * (far < 0.42 * diameter_mm) + 0.12 * (far > 0.45 * diameter_mm))
        return bright, np.clip(0.5 - (far - diameter_mm / 2) / 0.08, 0, 1)

    return Layer(look, centre_mm, (diameter_mm, diameter_mm))


def square(corner_mm=(120.0, 40.0), side_mm=50.0, *, pen_mm=0.7, turn_deg=0.0, paper_mm=16.0) -> Layer:
    """A square drawn by pen on white paper; the entered side is from middle to middle of the line."""

    half, turned = pen_mm / 2, {"turn_deg": turn_deg}
    outside, inside = (corner_mm[0] - half, corner_mm[1] - half), (corner_mm[0] + half, corner_mm[1] + half)
    sheet = (corner_mm[0] - paper_mm, corner_mm[1] - paper_mm * 1.3)
    sheet_size = (side_mm + 2 * paper_mm, side_mm + 3 * paper_mm)

    def look(x, y):
        outer = _rounded(x, y, outside, (side_mm + pen_mm,) * 2, 0.01, **turned)
        inner = _rounded(x, y, inside, (side_mm - pen_mm,) * 2, 0.01, **turned)
        return 0.93 - 0.75 * outer * (1 - inner), _rounded(x, y, sheet, sheet_size, 0.01, turn_deg=turn_deg + 2.0)

    return Layer(look, _middle(sheet, sheet_size), sheet_size, turn_deg + 2.0)


@dataclass(frozen=True)
class Ruler:
    """A ruler with ticks of three lengths, figures beside the long ones; drawn along its own x from `start_mm`."""

    start_mm: tuple[float, float] = (8.0, 4.0)
    turn_deg: float = 0.0
    divisions: int = 150
    division_mm: float = 1.0
    width_mm: float = 14.0
    tick_mm: tuple[float, ...] = (3.0, 4.5, 6.0)  # each, then one of each group: fifth, tenth
    line_mm: float = 0.18
    tone: float = 0.9
    ink: float = 0.1
    groups: tuple[int, ...] = (5, 10)
    has_figures: bool = True
    edge_gap_mm: float = 0.0

    def layer(self) -> Layer:
        figures, per_mm = self._figures(), 8.0

        def look(x, y):
            a = np.radians(self.turn_deg)
            dx, dy = x - self.start_mm[0], y - self.start_mm[1]
            u, v = np.cos(a) * dx + np.sin(a) * dy, -np.sin(a) * dx + np.cos(a) * dy
            length = self.divisions * self.division_mm
            along = u / self.division_mm
            k = np.rint(along).astype(int)
            tall = np.full(x.shape, self.tick_mm[0])
            for group, long_mm in zip(self.groups, self.tick_mm[1:], strict=True):
                tall = np.where(k % group == 0, long_mm, tall)
            near = np.abs(along - k) * self.division_mm
            tick = np.clip(0.5 - (near - self.line_mm / 2) / 0.06, 0, 1)
            down = v - self.edge_gap_mm
            tick *= np.clip(0.5 - (down - tall) / 0.06, 0, 1) * (down >= 0) * (k >= 0) * (k <= self.divisions)
            if self.has_figures:
                at = np.array([(v - self.edge_gap_mm - self.tick_mm[-1] - 0.5) * per_mm, (u + 6) * per_mm])
                tick = np.maximum(tick, ndimage.map_coordinates(figures, at, order=1, cval=0.0))
            body = _rounded(x, y, self._corner(), (length + 12, self.width_mm), 0.8, turn_deg=self.turn_deg)
            return self.tone + (self.ink - self.tone) * tick, body

        size = (self.divisions * self.division_mm + 12, self.width_mm)
        return Layer(look, _middle(self._corner(), size), size, self.turn_deg)

    def _corner(self) -> tuple[float, float]:
        """The corner of the unturned box whose middle is the middle of the turned body."""
        length = self.divisions * self.division_mm
        a = np.radians(self.turn_deg)
        mu, mv = length / 2, self.width_mm / 2
        mx = self.start_mm[0] + np.cos(a) * mu - np.sin(a) * mv
        my = self.start_mm[1] + np.sin(a) * mu + np.cos(a) * mv
        return mx - (length + 12) / 2, my - self.width_mm / 2

    def _figures(self) -> np.ndarray:
        length = self.divisions * self.division_mm
        strip = Image.new("L", (int((length + 12) * 8), 40), 0)
        pen, font = ImageDraw.Draw(strip), ImageFont.load_default(22)
        for number, each in enumerate(range(0, self.divisions + 1, self.groups[-1])):
            pen.text(((each * self.division_mm + 6) * 8, 2), str(number), fill=255, font=font, anchor="ma")
        return np.asarray(strip, float) / 255


def wood(seed: int = 0, tone: float = 0.45) -> Layer:
    """A table with grain along x."""
    rng = np.random.default_rng(seed)
    waves = [(rng.uniform(0.2, 3.0), rng.uniform(0, 6.3)) for _ in range(24)]

    line = np.arange(-400, 800, 0.05)
    grain = sum(np.sin(k * line + p) for k, p in waves) / 24
    grain = (tone * (1 + 0.45 * grain)).astype(np.float32)

    def look(x, y):
        at = y + 1.5 * np.sin(0.021 * x) + 0.6 * np.sin(0.05 * x + 1)
        return grain[np.clip((at + 400) * 20, 0, len(grain) - 1).astype(np.int32)], np.float32(1)

    return Layer(look)


def plain(tone: float = 0.3) -> Layer:
    """A plain table."""
    return Layer(lambda x, y: (np.full(x.shape, tone, np.float32), np.float32(1)))


def grained(seed: int = 0, tone: float = 0.45, *, grain_mm: float = 1.2) -> Layer:
    """A table top with specks of two sizes."""
    rng = np.random.default_rng(seed)
    fine, coarse = (ndimage.zoom(rng.standard_normal((n, n)), 1024 // n, order=1) for n in (512, 128))
    specks = (tone * (1 + 0.16 * fine + 0.12 * coarse)).clip(0.02, 0.98).astype(np.float32)

    def look(x, y):
        row, column = (np.floor(each * 2 / grain_mm).astype(np.int32) % 1024 for each in (y, x))
        return specks[row, column], np.float32(1)

    return Layer(look)


@dataclass(frozen=True)
class Light:
    """Light and picture faults: fall-off across the table, a shadow's edge, blur (px), noise, JPEG quality."""

    fall_off: float = 0.25
    shadow: float = 0.0
    blur_px: float = 0.7
    noise: float = 0.01
    seed: int = 0


def render(
    camera: Camera, layers: list[Layer], light: Light | None = None, *, oversample: int = 2, coloured: bool = False
) -> np.ndarray:
    """Brightness 0 to 1 of the scene, later layers on top; coloured: red, green and blue in a third axis."""
    light = light or Light()
    h, w = camera.height_px, camera.width_px
    back = np.linalg.inv(camera.from_table()).astype(np.float32)
    total = np.zeros((h, w, 3) if coloured else (h, w), np.float32)
    for i in range(oversample):
        for j in range(oversample):
            gx = (np.arange(w, dtype=np.float32) + (j + 0.5) / oversample - 0.5)[None, :]
            for top in range(0, h, BAND_PX):
                rows = np.arange(top, min(h, top + BAND_PX), dtype=np.float32)
                gy = (rows + (i + 0.5) / oversample - 0.5)[:, None]
                bottom = back[2, 0] * gx + back[2, 1] * gy + back[2, 2]
                x = (back[0, 0] * gx + back[0, 1] * gy + back[0, 2]) / bottom
                y = (back[1, 0] * gx + back[1, 1] * gy + back[1, 2]) / bottom
                total[top : top + BAND_PX] += _seen(x, y, layers, light, coloured=coloured)
    picture = total / oversample**2
    rng = np.random.default_rng(light.seed)
    if light.blur_px:
        picture = ndimage.gaussian_filter(picture, (light.blur_px, light.blur_px, 0)[: picture.ndim])
    return np.clip(picture + light.noise * rng.standard_normal(picture.shape, np.float32), 0, 1).astype(np.float32)


def _seen(x, y, layers, light, *, coloured) -> np.ndarray:
    bright = np.zeros((*x.shape, 3) if coloured else x.shape, np.float32)
    for layer in layers:
        tint = np.array(layer.tint, np.float32)
        if layer.size_mm is None:
            own = layer.look(x, y)[0]
            bright = own[:, :, None] * tint if coloured else own
            continue
        where = layer.where(x, y)
        rows, columns = np.flatnonzero(where.any(1)), np.flatnonzero(where.any(0))
        if not len(rows):
            continue
        box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
        own, cover = layer.look(x[box], y[box])
        if coloured:
            own, cover = own[:, :, None] * tint, cover[:, :, None]
        bright[box] += (own - bright[box]) * cover
    fall = 1 + light.fall_off * ((x - 100) * 0.8 + (y - 75) * 0.5) / 150
    if light.shadow:
        fall *= 1 - light.shadow / (1 + np.exp(-np.clip((x * 0.9 + y * 0.4 - 95) / 4, -30, 30)))
    return bright * (fall[:, :, None] if coloured else fall)


def as_jpeg(picture: np.ndarray, *, quality: int = 92) -> bytes:
    """The picture as the bytes of a JPEG, grey or in colour."""
    import io

    out = io.BytesIO()
    Image.fromarray(np.rint(np.clip(picture, 0, 1) ** (1 / 1.1) * 255).astype(np.uint8)).save(
        out, "JPEG", quality=quality
    )
    return out.getvalue()
