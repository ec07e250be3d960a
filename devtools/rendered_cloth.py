"""Rendered pictures of knitted cloth with exact truth, for tests and benchmarks of the picture reader.

In: a `Cloth` (shape of the loop, lattice, light, tones, noise, faults) and a seed. Out: brightness 0 to 1 and `Truth`.
The loop: x = t/2π + A sin 2t, y = B cos t, z = D cos 2t, wale 1, course c. One cell is drawn with a depth buffer; each
pixel of the picture finds its place in the cloth, looks the cell up and is lit. The truth is the affine fit of the
places of all pixels, so that uneven courses and warps have an exact mean over the area shown.
Not covered: fibres that bridge stitches, other structures than plain, rib and links with floats left out.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates

Array = NDArray[np.float64]
CELL_PX = 48  # table pixels for each wale
POINTS = 100  # along one loop
LOTS = 360  # stitches after which chance repeats
STRIP = 16  # rows drawn at a time


@dataclass(frozen=True)
class Cloth:
    """Everything that decides a picture. Lengths in pixels of the picture or in wales, angles in degrees."""

    wale_px: float = 16.0
    course_per_wale: float = 0.8
    skew_deg: float = 0.0
    rotation_deg: float = 0.0
    side: str = "face"  # or "back"
    width: int = 680
    height: int = 520
    bend: float = 0.17  # A
    overlap: float = 1.42
    radius: float = 0.2
    rib: tuple[int, int] = (1, 0)  # face wales, back wales of one repeat
    rib_depth: float = 0.5  # how much darker the sunken wales
    links: tuple[int, int] = (1, 0)  # face courses, back courses
    stripes: tuple[int, ...] = ()  # courses of each colour in turn
    stripe_tones: tuple[float, ...] = (1.0, 0.6)
    uneven_courses: float = 0.0  # sd of one course's height over its mean
    course_tone: float = 0.0  # sd
    jitter: float = 0.0  # sd of a stitch's place, wales
    melange: float = 0.0
    ply: float = 0.0
    hair: float = 0.0  # hairs for each stitch
    warp: float = 0.0  # amplitude, stitches
    warp_length: float = 0.5  # of the picture
    fold: float = 0.0  # share of the area sheared by 14 degrees
    tilt_deg: tuple[float, float] = (0.0, 0.0)
    barrel: float = 0.0
    light: tuple[float, float] = (-0.4, -0.5)
    gradient: float = 0.2
    gloss: float = 0.0
    level: float = 0.75  # brightness of the yarn
    contrast: float = 1.0
    blur_px: float = 0.0
    noise: float = 0.01
    gamma: float = 1.0
    jpeg: int = 92
    oversample: int = 2


@dataclass(frozen=True)
class Truth:
    """The mean lattice over the area shown, in pixels: steps, pitches, angles."""

    wale_step: Array
    course_step: Array
    wale_px: float
    course_px: float
    skew_deg: float
    rotation_deg: float
    wales_of_repeat: int = 1
    side: str = "face"
    spread: float = 0.0  # largest relative change of the steps over the picture


@dataclass(frozen=True)
class Cell:
    """One stitch drawn: depth, place along and across its yarn, normal, and whose yarn lies on top."""

    height: Array
    along: Array
    across: Array
    normal: Array
    wale: NDArray[np.int64]
    course: NDArray[np.int64]
    covered: NDArray[np.bool_] = field(repr=False)


@lru_cache(maxsize=64)
def cell_of(course: float, bend: float, overlap: float, radius: float, is_face: bool) -> Cell:
    """The depth buffer of one stitch, 1 wale wide and `course` wales high, v running up."""
    nx, ny = CELL_PX, max(8, round(CELL_PX * course))
    t = (np.arange(POINTS) + 0.5) / POINTS * 2 * math.pi
    depth = 1.05 * radius
    sign = -1.0 if is_face else 1.0
    path = np.stack([t / (2 * math.pi) + bend * np.sin(2 * t), 0.5 * course * overlap * np.cos(t)], axis=1)
    level = sign * depth * np.cos(2 * t)
    slope = np.stack([1 / (2 * math.pi) + 2 * bend * np.cos(2 * t), -0.5 * course * overlap * np.sin(t)], axis=1)
    slope /= np.linalg.norm(slope, axis=1, keepdims=True)
    best = np.full((ny, nx), -9.0)
    along, across = np.zeros((ny, nx)), np.zeros((ny, nx))
    normal = np.zeros((ny, nx, 3))
    normal[..., 2] = 1
    wale, row = np.zeros((ny, nx), np.int64), np.zeros((ny, nx), np.int64)
    dx, dy = 1 / nx, course / ny
    reach_x, reach_y = int(radius / dx) + 1, int(radius / dy) + 1
    offset_y, offset_x = np.mgrid[-reach_y : reach_y + 1, -reach_x : reach_x + 1]
    for shift in range(-2, 3):
        for index in range(POINTS):
            x0, y0 = path[index, 0], path[index, 1] + shift * course + 0.5 * course
            ix, iy = math.floor(x0 / dx), math.floor(y0 / dy)
            px, py = ix + offset_x, iy + offset_y
            rx, ry = (px + 0.5) * dx - x0, (py + 0.5) * dy - y0
            inside = (rx**2 + ry**2 < radius**2) & (py >= 0) & (py < ny)
            if not inside.any():
                continue
            px, py, rx, ry = px[inside], py[inside], rx[inside], ry[inside]
            up = np.sqrt(np.maximum(radius**2 - rx**2 - ry**2, 0))
            here = level[index] + up
            wrapped = px % nx
            better = here > best[py, wrapped]
            py, wrapped, px = py[better], wrapped[better], px[better]
            rx, ry, up, here = rx[better], ry[better], up[better], here[better]
            best[py, wrapped] = here
            along[py, wrapped] = t[index] / (2 * math.pi) + (rx * slope[index, 0] + ry * slope[index, 1])
            across[py, wrapped] = (rx * -slope[index, 1] + ry * slope[index, 0]) / radius
            flat = rx * slope[index, 0] + ry * slope[index, 1]
            nxy = np.stack([rx - flat * slope[index, 0], ry - flat * slope[index, 1]], axis=1) / radius
            normal[py, wrapped, :2] = nxy
            normal[py, wrapped, 2] = np.sqrt(np.maximum(1 - (nxy**2).sum(axis=1), 0.01))
            wale[py, wrapped] = -(px // nx)
            row[py, wrapped] = shift
    covered = best > -8
    best[~covered] = -3 * radius
    return Cell(best, along, np.clip(across, -1, 1), normal, wale, row, covered)


@dataclass(frozen=True)
class Chance:
    """What is drawn by lot for one picture: where it starts, heights of courses, places and tones of stitches."""

    start: Array
    edges: Array
    warp: Array
    jitter: Array
    tones: Array
    mixed: Array


def rendered(cloth: Cloth, seed: int) -> tuple[NDArray[np.float32], Truth]:
    """The picture and its truth, drawn in strips of a few rows."""
    rng = np.random.default_rng(seed)
    lot = drawn_lots(cloth, rng)
    shade = np.empty((cloth.height, cloth.width))
    samples = []
    for top in range(0, cloth.height, STRIP):
        rows = min(STRIP, cloth.height - top)
        x, y, u, v = places(cloth, lot, top, rows)
        samples.append(np.stack([each[::7, ::7].ravel() for each in (x, y, u, v)]))
        if cloth.jitter > 0:
            place = [v % LOTS, u % LOTS]
            shift = [cloth.jitter * map_coordinates(table, place, order=1, mode="grid-wrap") for table in lot.jitter]
            u, v = u + shift[0], v + shift[1]
        lit = looked_up(cloth, lot, u, v)
        over = cloth.oversample
        shade[top : top + rows] = lit.reshape(rows, over, cloth.width, over).mean(axis=(1, 3))
    truth = fitted(cloth, np.concatenate(samples, axis=1))
    return finished(cloth, shade, rng), truth


def finished(cloth: Cloth, shade: Array, rng: np.random.Generator) -> NDArray[np.float32]:
    """Contrast, hair, uneven light, blur, gamma, noise, JPEG."""
    shade = cloth.level * (0.5 + (shade - 0.5) * cloth.contrast)
    if cloth.hair > 0:
        shade = shade + hairs(cloth, rng)
    angle = rng.uniform(0, 2 * math.pi)
    longest = max(cloth.width, cloth.height)
    y, x = np.arange(cloth.height)[:, None] / longest - 0.4, np.arange(cloth.width)[None, :] / longest - 0.4
    shade *= 1 + cloth.gradient * (x * math.cos(angle) + y * math.sin(angle))
    if cloth.blur_px > 0:
        shade = gaussian_filter(shade, cloth.blur_px)
    shade = np.clip(shade, 0, None) ** cloth.gamma
    shade += cloth.noise * rng.standard_normal(shade.shape)
    return compressed(np.clip(shade, 0, 1), cloth.jpeg)


def drawn_lots(cloth: Cloth, rng: np.random.Generator) -> Chance:
    """Tables of chance, each repeating after `LOTS` stitches."""
    heights = 1 + cloth.uneven_courses * rng.standard_normal(2 * LOTS)
    edges = np.concatenate([[0.0], np.cumsum(np.clip(heights, 0.3, 2))])
    edges = edges * 2 * LOTS / edges[-1] - LOTS
    warp = np.array([smooth_field(cloth, rng) for _ in range(2)]) if cloth.warp > 0 else np.zeros((2, 1, 1))
    jitter = rng.standard_normal((2, LOTS, LOTS))
    tones = 1 + cloth.course_tone * rng.standard_normal(2 * LOTS)
    if cloth.stripes:
        owner = np.repeat(np.arange(len(cloth.stripes)), cloth.stripes)
        colours = [cloth.stripe_tones[index % len(cloth.stripe_tones)] for index in owner]
        tones = tones * np.resize(colours, 2 * LOTS)
    mixed = gaussian_filter(rng.standard_normal((LOTS, LOTS * 6)), (0, 3.0), mode="wrap")
    mixed *= math.sqrt(2 * math.sqrt(math.pi) * 3.0)
    return Chance(rng.uniform(0, 40, 2), edges, warp, jitter, tones, mixed)


def compressed(shade: Array, quality: int) -> NDArray[np.float32]:
    """As a camera stores it: eight bits, JPEG."""
    image = Image.fromarray(np.rint(255 * shade).astype(np.uint8), mode="L")
    if quality:
        file = io.BytesIO()
        image.save(file, "JPEG", quality=quality)
        image = Image.open(file)
    return np.asarray(image, np.float32) / np.float32(255)


def steps(cloth: Cloth) -> Array:
    """Columns: wale step and course step in pixels, y down."""
    rotation, skew = math.radians(cloth.rotation_deg), math.radians(cloth.skew_deg)
    course_px = cloth.wale_px * cloth.course_per_wale
    along = np.array([math.cos(rotation), math.sin(rotation)])
    up = np.array([math.sin(rotation), -math.cos(rotation)])
    return np.stack([cloth.wale_px * along, course_px * (up + math.tan(skew) * along)], axis=1)


def places(cloth: Cloth, lot: Chance, top: int, rows: int) -> tuple[Array, Array, Array, Array]:
    """Pixel, wale and course number of every sample of a strip of the oversampled picture."""
    over = cloth.oversample
    y, x = np.mgrid[top * over : (top + rows) * over, 0 : cloth.width * over].astype(float)
    x, y = (x + 0.5) / over - 0.5, (y + 0.5) / over - 0.5
    px, py = x - cloth.width / 2, y - cloth.height / 2
    half = math.hypot(cloth.width, cloth.height) / 2
    grow = 1 + cloth.barrel * (px**2 + py**2) / half**2
    px, py = px * grow, py * grow
    tilt_x, tilt_y = np.radians(cloth.tilt_deg)
    distance = 3.0 * max(cloth.width, cloth.height)
    scale = 1 / (1 - px / distance * math.tan(tilt_x) - py / distance * math.tan(tilt_y))
    px, py = px * scale / math.cos(tilt_x), py * scale / math.cos(tilt_y)
    if cloth.fold > 0:
        beyond = np.maximum(px - cloth.width * (0.5 - cloth.fold), 0)
        py = py + beyond * math.tan(math.radians(14))
    inverse = np.linalg.inv(steps(cloth))
    u = inverse[0, 0] * px + inverse[0, 1] * py + lot.start[0]
    v = inverse[1, 0] * px + inverse[1, 1] * py + lot.start[1]
    if cloth.warp > 0:
        place = [8 + 32 * y / cloth.height, 8 + 32 * x / cloth.width]
        u = u + map_coordinates(lot.warp[0], place, order=3)
        v = v + map_coordinates(lot.warp[1], place, order=3)
    if cloth.uneven_courses > 0:
        v = np.interp(v, lot.edges, np.arange(-LOTS, LOTS + 1, dtype=float))
    return x, y, u, v


def fitted(cloth: Cloth, samples: Array) -> Truth:
    """The affine lattice nearest to the places (x, y, u, v) of the samples."""
    columns = np.stack([np.ones(samples.shape[1]), samples[0], samples[1]], axis=1)
    answer, *_ = np.linalg.lstsq(columns, samples[2:].T, rcond=None)
    reciprocal = answer[1:].T
    a = np.linalg.inv(reciprocal)
    cross = a[0, 0] * a[1, 1] - a[1, 0] * a[0, 1]
    perpendicular = np.array([a[1, 0], -a[0, 0]]) / np.hypot(*a[:, 0])
    along = a[:, 0] / np.hypot(*a[:, 0])
    skew = math.degrees(math.atan2(a[:, 1] @ along, a[:, 1] @ perpendicular))
    rotation = math.degrees(math.atan2(a[1, 0], a[0, 0]))
    wale = float(np.hypot(*a[:, 0]))
    return Truth(a[:, 0], a[:, 1], wale, float(abs(cross)) / wale, skew, rotation, sum(cloth.rib), cloth.side)


def smooth_field(cloth: Cloth, rng: np.random.Generator) -> Array:
    """A smooth random displacement, stitches, rms `warp`."""
    small = gaussian_filter(rng.standard_normal((48, 48)), 48 * cloth.warp_length / 4, mode="wrap")
    return np.asarray(small * (cloth.warp / small.std()))


def shape_of(cloth: Cloth) -> tuple[float, float, float, float]:
    """Course, bend, overlap and radius of the loop drawn: in steps, so that few loops are drawn for many pictures."""
    course = round(cloth.course_per_wale / 0.15) * 0.15
    return course, round(cloth.bend / 0.02) * 0.02, round(cloth.overlap / 0.1) * 0.1, round(cloth.radius / 0.03) * 0.03


def looked_up(cloth: Cloth, lot: Chance, u: Array, v: Array) -> Array:
    """Light of every sample: the cell's surface, tones of courses and stripes, fibres along the yarn."""
    column, row = np.floor(u).astype(np.int64), np.floor(v).astype(np.int64)
    is_back = (column % sum(cloth.rib) >= cloth.rib[0]) ^ (row % sum(cloth.links) >= cloth.links[0])
    if cloth.side == "back":
        is_back = ~is_back
    shade = np.zeros(u.shape)
    light = np.array([cloth.light[0], -cloth.light[1], 1.0])
    light = light / np.linalg.norm(light)
    for back in (False, True):
        here = is_back if back else ~is_back
        if not here.any():
            continue
        cell = cell_of(*shape_of(cloth), not back)
        ny, nx = cell.height.shape
        iy = np.minimum(((v[here] - row[here]) * ny).astype(np.int64), ny - 1)
        ix = np.minimum(((u[here] - column[here]) * nx).astype(np.int64), nx - 1)
        facing = np.maximum(cell.normal[iy, ix] @ light, 0)
        lit = 0.35 + 0.65 * facing
        if cloth.gloss > 0:
            lit += cloth.gloss * facing**12
        lit *= np.exp(1.1 * np.minimum(cell.height[iy, ix] / cloth.radius - 2.05, 0))
        lit = np.where(cell.covered[iy, ix], lit, 0.04)
        owner = row[here] + cell.course[iy, ix]
        along = cell.along[iy, ix] + column[here]
        lit *= np.maximum(lot.tones[owner % len(lot.tones)], 0.05)
        if cloth.melange > 0:
            place = np.floor(along * 6).astype(np.int64) % lot.mixed.shape[1]
            lit *= 1 + cloth.melange * np.clip(lot.mixed[owner % LOTS, place], -2.5, 2.5)
        if cloth.ply > 0:
            lit *= 1 + cloth.ply * np.cos(2 * math.pi * (6 * along + 0.45 * np.arcsin(cell.across[iy, ix])))
        if back and sum(cloth.rib) > 1:
            lit *= 1 - cloth.rib_depth
        shade[here] = lit
    return shade


def hairs(cloth: Cloth, rng: np.random.Generator) -> Array:
    """Fibre ends: short bent lines, lighter or darker."""
    count = int(cloth.hair * cloth.width * cloth.height / (cloth.wale_px**2 * cloth.course_per_wale))
    canvas = np.zeros((cloth.height, cloth.width))
    points = 24
    start = rng.uniform(0, 1, (count, 2)) * (cloth.height, cloth.width)
    heading = rng.uniform(0, 2 * math.pi, count)
    bend = rng.normal(0, 0.12, count)
    length = cloth.wale_px * rng.uniform(0.5, 2.5, count)
    strength = rng.uniform(0.02, 0.2, count) * np.where(rng.uniform(size=count) < 0.8, 1, -1)
    for index in range(points * 3):
        angle = heading + bend * index / 3
        start += (length / (points * 3))[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)
        y, x = np.rint(start).astype(int).T
        inside = (y >= 0) & (y < cloth.height) & (x >= 0) & (x < cloth.width)
        canvas[y[inside], x[inside]] = strength[inside]
    return np.asarray(gaussian_filter(canvas, 0.6))
