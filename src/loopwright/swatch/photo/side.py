"""Which side of the cloth lies up: the face shows two strokes for each wale, the back arcs set half a wale aside.

In: powers of the orders. Out: an index from -1 (back) to 1 (face) and a word; a hint only, the person's word wins.
On the face the order of two strokes (2, 0) leads, on the back the slanting orders (1, 1) and (-1, 1): section 2 of the
note on swatch pictures. The limits are priors, set on rendered cloth: faces from 0.10 up, backs below -0.3.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

FACE, BACK = 0.05, -0.15


def face_index(orders: NDArray[np.int64], powers: NDArray[np.float64]) -> float:
    """Power of two strokes less that of the slanting orders, over both; 0 when there is none.

    >>> face_index(np.array([[1, 0], [2, 0], [1, 1], [1, -1]]), np.array([1.0, 6.0, 1.0, 1.0]))
    0.5
    """
    across, up = np.abs(orders[:, 0]), np.abs(orders[:, 1])
    strokes = float(powers[(across == 2) & (up == 0)].sum())
    slanting = float(powers[(across == 1) & (up == 1)].sum())
    return (strokes - slanting) / (strokes + slanting) if strokes + slanting > 0 else 0.0


def side_of(index: float) -> Literal["face", "back", "unsure"]:
    """The word for an index."""
    if index > FACE:
        return "face"
    return "back" if index < BACK else "unsure"
