"""Lean of the wales, as measured: from an offset, from the diagonals of a marked square, or as an angle.

In: what was measured on one side of the cloth. Out: lean in per cent, positive when the upper end of the wales leans
right on the technical face; seen from the back the same cloth leans the other way. Offset and diagonals are the two
forms of ISO 16322-2. They agree on a pure shear up to the third power of the tangent t: the diagonals say t − t³/4,
0.013 % less at 8 %. Assumption: the diagonals are of a square. Not covered: the lean to expect (`fabric.spirality`).
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.fabric.spirality import lean_percent, lean_percent_from_diagonals

FACE, BACK = "face", "back"


def from_offsets(offsets_mm: Sequence[tuple[float, float]], side: str) -> tuple[float, ...]:
    """Lean of each mark: 100 × its offset to the right over its height at right angles to the courses.

    >>> [round(lean, 2) for lean in from_offsets([(25, 620)], "face")]    # F-47, a seam displaced at the hem
    [4.03]
    """
    return tuple(_on_face(100 * offset / height, side) for offset, height in offsets_mm)


def from_diagonals(diagonals_mm: Sequence[tuple[float, float]], side: str) -> tuple[float, ...]:
    """Lean of each marked square: 100·2·(AC − BD)/(AC + BD), AC from lower left to upper right (eq 7.2).

    >>> [round(lean, 2) for lean in from_diagonals([(362, 345), (345, 362)], "face")]    # F-46, and its mirror
    [4.81, -4.81]
    """
    return tuple(
        _on_face(lean_percent_from_diagonals(rising_right_mm=rising, rising_left_mm=falling), side)
        for rising, falling in diagonals_mm
    )


def from_angles(angles_deg: Sequence[float], side: str) -> tuple[float, ...]:
    """Lean of each angle to the right: 100·tan (eq 7.1).

    >>> [round(lean, 2) for lean in from_angles([2.86], "back")]    # F-45, seen from the back
    [-5.0]
    """
    return tuple(_on_face(lean_percent(angle), side) for angle in angles_deg)


def _on_face(lean: float, side: str) -> float:
    return -lean if side == BACK else lean
