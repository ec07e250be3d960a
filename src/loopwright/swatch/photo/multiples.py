"""False multiples: a cell found as several stitches is brought down to one.

In: orders of a lattice and their powers. Out: whole-number matrix of the true reciprocal basis, and the multiple taken
off. Colour stripes put power on one line only (the course axis); the stitches put it beside that line.
Source: step 6 of the note on swatch pictures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_OFF_LINE = 0.06
KEPT = 0.93
MOST_TIMES = 8
_LINES = ((1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 2), (2, -1), (1, -2))


def demultiplied(orders: NDArray[np.int64], powers: Array, kept: float = KEPT) -> tuple[NDArray[np.int64], int]:
    """Rows: the true reciprocal basis in orders of the given one; and how many cells were one."""
    matrix, times = np.eye(2, dtype=np.int64), 1
    for _ in range(3):
        step = one_multiple(orders, powers, kept)
        if step is None:
            break
        rows, count = step
        whole = np.rint(orders @ np.linalg.inv(rows)).astype(np.int64)
        fits = np.all(whole @ rows == orders, axis=1)
        orders, powers = whole[fits], powers[fits]
        matrix, times = rows @ matrix, times * count
    return matrix, times


def one_multiple(orders: NDArray[np.int64], powers: Array, kept: float) -> tuple[NDArray[np.int64], int] | None:
    """The largest sub-lattice {n u, v + j u} that keeps nearly all power beside the line through u."""
    total = float(powers.sum())
    if total <= 0:
        return None
    for times in range(MOST_TIMES, 1, -1):
        for line in _LINES:
            u = np.array(line)
            v = complement(u)
            in_v = u[0] * orders[:, 1] - u[1] * orders[:, 0]  # coefficient of v, det(u, v) = 1
            in_u = orders[:, 0] * v[1] - orders[:, 1] * v[0]
            off = in_v != 0
            beside = float(powers[off].sum())
            if beside < LEAST_OFF_LINE * total:
                continue
            for shift in range(times):
                on = off & ((in_u - shift * in_v) % times == 0)
                rows = np.array([times * u, v + shift * u])
                if float(powers[on].sum()) >= kept * beside and not is_chequered(rows, times, shift):
                    return rows, times
    return None


def is_chequered(rows: NDArray[np.int64], times: int, shift: int) -> bool:
    """Whether a sub-lattice has a stitch in the middle of its cell: plain cloth nearly looks so, and is not.

    The legs of a face loop put nearly all power into orders of even sum; half as many cells are tried after this.

    >>> is_chequered(np.array([[4, -2], [-1, 1]]), 2, 1), is_chequered(np.array([[0, 4], [1, 0]]), 4, 0)
    (True, False)
    """
    on_axis = 0 in rows[0]
    return bool((rows.sum(axis=1) % 2 == 0).all()) if times == 2 else on_axis and 2 * shift == times


def complement(u: NDArray[np.int64]) -> NDArray[np.int64]:
    """A whole vector v with det(u, v) = 1.

    >>> complement(np.array([2, 1])).tolist()
    [-1, 0]
    """
    for size in range(4):
        for a in range(-size, size + 1):
            for b in range(-size, size + 1):
                if u[0] * b - u[1] * a == 1:
                    return np.array([a, b])
    raise ValueError(f"{u} has a common divisor")


def odd_share(orders: NDArray[np.int64], powers: Array) -> float:
    """Share of the power in odd orders of the wale: what proves a wale against half a wale."""
    odd = orders[:, 0] % 2 == 1
    total = float(powers.sum())
    return float(powers[odd].sum()) / total if total > 0 else 0.0
