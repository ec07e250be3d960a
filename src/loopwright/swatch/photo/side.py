"""Which side of the cloth lies up: the face shows two strokes for each wale, the back one arc.

In: powers of the orders on the wale axis. Out: an index and a word; a hint only, the person's word wins.
Source: step 10 of the note on swatch pictures.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

FACE, BACK = 0.29, 0.20


def face_index(orders: NDArray[np.int64], powers: NDArray[np.float64]) -> float:
    """Power of two strokes less that of one, over all power on the wale axis; 0 when there is none.

    >>> round(face_index(np.array([[1, 0], [2, 0], [1, 1]]), np.array([1.0, 3.0, 5.0])), 2)
    0.5
    """
    on = (orders[:, 1] == 0) & (orders[:, 0] != 0)
    total = float(powers[on].sum())
    if total <= 0:
        return 0.0
    number = np.abs(orders[:, 0])
    return float(powers[on & (number == 2)].sum() - powers[on & (number == 1)].sum()) / total


def side_of(index: float) -> Literal["face", "back", "unsure"]:
    """The word for an index."""
    if index > FACE:
        return "face"
    return "back" if index < BACK else "unsure"
