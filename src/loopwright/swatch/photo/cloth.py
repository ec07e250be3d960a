"""Where in a picture the cloth lies: the largest part whose texture repeats alike in two directions.

In: brightness of a picture. Out: `ClothArea`: a coarse mask, or none when the whole picture is cloth or nothing stands
out. Small tiles are compared by their spectra; what lies on one line through the origin (grain of wood, ruler ticks,
stripes) doesn't count. A hint for the reader of stitches, which judges for itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import fft, ndimage

MOST_PIXELS = 1_600_000  # of the copy that is looked at
TILE = 96
HOP = 48
LEVELS = (1, 2, 4)
DIRECTIONS = 36
LIKE = 0.15  # correlation of two spectra from which tiles show the same cloth; prior, noise reaches 0.05
LIKE_SHARE = 0.6  # of the correlation in the middle of the cloth that its rim has to reach; prior
FULL_SHARE = 0.85  # of the usual correlation from which a tile is full of cloth; prior
FEWEST_CELLS = 6
WHOLE_SHARE = 0.85  # from here on the whole picture is cloth

Grey = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class ClothArea:
    """Cells of the picture that show the cloth; `step` px of the picture to a cell, cell (0, 0) starts at `start`.

    `size_px` is width and height of the picture.
    """

    cells: Mask
    step: float
    start: tuple[float, float]
    size_px: tuple[int, int]

    @property
    def middle(self) -> NDArray[np.float64]:
        """Middle of the cloth, x and y in px of the picture."""
        rows, columns = np.nonzero(self.cells)
        found: NDArray[np.float64] = np.array([columns.mean() + 0.5, rows.mean() + 0.5]) * self.step + self.start
        return found

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom in px of the picture."""
        rows, columns = np.nonzero(self.cells)
        left, top = columns.min() * self.step + self.start[0], rows.min() * self.step + self.start[1]
        right, bottom = (columns.max() + 1) * self.step + self.start[0], (rows.max() + 1) * self.step + self.start[1]
        width, height = self.size_px
        return max(0.0, float(left)), max(0.0, float(top)), min(width, float(right)), min(height, float(bottom))

    def mask(self, height_px: int, width_px: int) -> Mask:
        """The cells as a mask of the whole picture."""
        rows = np.floor((np.arange(height_px) - self.start[1]) / self.step).astype(int)
        columns = np.floor((np.arange(width_px) - self.start[0]) / self.step).astype(int)
        is_row = (rows >= 0) & (rows < self.cells.shape[0])
        is_column = (columns >= 0) & (columns < self.cells.shape[1])
        taken = self.cells[np.clip(rows, 0, self.cells.shape[0] - 1)]
        full: Mask = taken[:, np.clip(columns, 0, self.cells.shape[1] - 1)] & is_row[:, None] & is_column[None, :]
        return full


def find_cloth(grey: Grey) -> ClothArea | None:
    """The part of the picture that is cloth; none when all of it is, or when no part stands out."""
    best: tuple[float, Mask, Mask, float] | None = None
    copy, step = _copy(grey)
    for level in LEVELS:
        smaller = _reduced(copy, level)
        if min(smaller.shape) < TILE + HOP:
            break
        cells, is_full, likeness = _cells(smaller)
        weight = likeness * (1 - float(max(1, cells.sum())) ** -0.5)
        if cells.sum() >= FEWEST_CELLS and (best is None or weight > best[0]):
            best = weight, cells, is_full, step * level
    if best is None or best[1].mean() > WHOLE_SHARE:
        return None
    _, cells, is_full, scale = best
    offset = (TILE - HOP) / 2 * scale
    start = offset - HOP * scale
    return ClothArea(_with_rim(cells, is_full), HOP * scale, (start, start), (grey.shape[1], grey.shape[0]))


def _with_rim(cells: Mask, is_full: Mask) -> Mask:
    """The cells with holes closed, and a rim where cells full of cloth lie at the edge of the picture."""
    closed = ndimage.binary_fill_holes(cells)
    rim = np.pad(closed, 1)
    inner = closed & is_full
    rim[0, 1:-1], rim[-1, 1:-1] = inner[0], inner[-1]
    rim[1:-1, 0], rim[1:-1, -1] = inner[:, 0], inner[:, -1]
    found: Mask = rim
    return found


def _copy(grey: Grey) -> tuple[Grey, float]:
    step = max(1.0, (grey.size / MOST_PIXELS) ** 0.5)
    if step == 1:
        return grey, 1.0
    whole = max(1, int(step))
    reduced = _reduced(grey, whole)
    size = (round(grey.shape[1] / step), round(grey.shape[0] / step))
    image = Image.fromarray(reduced).resize(size, Image.Resampling.BILINEAR)
    return np.asarray(image, np.float32), grey.shape[1] / size[0]


def _reduced(grey: Grey, factor: int) -> Grey:
    if factor == 1:
        return grey
    image = Image.fromarray(grey).reduce(factor)
    return np.asarray(image, np.float32)


def _cells(grey: Grey) -> tuple[Mask, Mask, float]:
    """Which tiles show the most widespread two-way texture, which are full of it, and how alike they are."""
    spectra, shape = _spectra(grey)
    wedges, band = _wedges()
    vectors = spectra[:, band]
    line = np.argmax(vectors @ wedges, axis=1)
    seed = _seed(vectors, wedges, line, shape)
    kept = vectors * (1 - wedges[:, line[seed]])
    kept -= kept.mean(axis=1, keepdims=True)
    kept /= np.linalg.norm(kept, axis=1, keepdims=True) + 1e-6
    return _grown(kept, seed, shape)


def _spectra(grey: Grey) -> tuple[Grey, tuple[int, int]]:
    """Logarithmic power of each tile above its surroundings, shape (tiles, TILE, TILE // 2 + 1)."""
    views = np.lib.stride_tricks.sliding_window_view(grey, (TILE, TILE))[::HOP, ::HOP]
    shape = (views.shape[0], views.shape[1])
    window = np.hanning(TILE).astype(np.float32)
    tiles = views.reshape(-1, TILE, TILE)
    tiles = (tiles - tiles.mean(axis=(1, 2), keepdims=True)) * (window[:, None] * window[None, :])
    power = np.abs(fft.rfft2(tiles, workers=2)) ** 2
    power += 1e-6 * power.mean(axis=(1, 2), keepdims=True) + 1e-9
    logs = np.log(power).astype(np.float32)
    narrow = ndimage.gaussian_filter(logs, (0, 0.7, 0.7), mode="wrap", truncate=2)
    broad = ndimage.uniform_filter(logs, (0, 9, 9), mode="wrap")
    above: Grey = np.clip(narrow - broad, 0, 3)
    return above.reshape(len(above), -1), shape


def _wedges() -> tuple[Grey, Mask]:
    """Bins of each direction as columns, rows being the bins in the band; and the band itself."""
    down = fft.fftfreq(TILE)[:, None] * TILE
    across = fft.rfftfreq(TILE)[None, :] * TILE
    radius = np.hypot(down, across)
    band = ((radius >= 4) & (radius <= 0.45 * TILE)).ravel()
    columns = []
    for angle in np.arange(DIRECTIONS) * np.pi / DIRECTIONS:
        off = np.abs(-np.sin(angle) * across + np.cos(angle) * down)
        columns.append((off < 1.6 + 0.05 * radius).ravel()[band])
    return np.array(columns, np.float32).T, band


def _seed(vectors: Grey, wedges: Grey, line: NDArray[np.int64], shape: tuple[int, int]) -> int:
    """The tile most like its four neighbours in what lies off its own main line."""
    own = vectors * (1 - wedges.T[line])
    own -= own.mean(axis=1, keepdims=True)
    grid = own.reshape(*shape, -1)
    likeness = np.zeros(shape, np.float32)
    beside = np.einsum("ijk,ijk->ij", grid[:, 1:], grid[:, :-1])
    below = np.einsum("ijk,ijk->ij", grid[1:], grid[:-1])
    likeness[:, 1:] += beside
    likeness[:, :-1] += beside
    likeness[1:] += below
    likeness[:-1] += below
    return int(np.argmax(ndimage.uniform_filter(likeness, 3, mode="constant")))


def _grown(vectors: Grey, seed: int, shape: tuple[int, int]) -> tuple[Mask, Mask, float]:
    """Tiles joined to the seed whose spectra are like those around the seed or like their taken neighbours."""
    grid = vectors.reshape(*shape, -1)
    taken = np.zeros(shape, bool)
    row, column = divmod(seed, shape[1])
    taken[max(0, row - 1) : row + 2, max(0, column - 1) : column + 2] = True
    core = grid[taken].mean(axis=0)
    like_core = grid @ (core / (np.linalg.norm(core) + 1e-6))
    least = max(LIKE, LIKE_SHARE * float(np.median(like_core[taken])))
    taken &= like_core > least
    taken[row, column] = True
    for _ in range(max(shape)):
        near = ndimage.binary_dilation(taken, np.ones((3, 3), bool)) & ~taken
        added = near & ((like_core > least) | _like_neighbours(grid, taken, near & (like_core > LIKE / 2), least))
        if not added.any():
            break
        taken |= added
    is_full: Mask = like_core > FULL_SHARE * float(np.median(like_core[taken]))
    return taken, is_full, float(like_core[taken].mean())


def _like_neighbours(grid: Grey, taken: Mask, near: Mask, least: float) -> Mask:
    """Of the near tiles those that are like the mean of their taken neighbours."""
    found = np.zeros_like(near)
    for row, column in zip(*np.nonzero(near), strict=True):
        rows, columns = slice(max(0, row - 1), row + 2), slice(max(0, column - 1), column + 2)
        around = grid[rows, columns][taken[rows, columns]].mean(axis=0)
        likeness = float(grid[row, column] @ around) / (float(np.linalg.norm(around)) + 1e-6)
        found[row, column] = likeness > 1.3 * least
    return found
