"""Stretch and recovery of a strip: how far it opens under a load, what stays, what comes back.

In: distances between marks, or per cent. Out: extension, what is left, recovery, all in per cent. The forms are those
of EN 14704-1 and ISO 20932-1 as far as they were read: S = 100·(E − L)/L, C = 100·(Q − P)/P, R = 100·(S − C)/S.
Assumption: load, strip and rest are told with the result, for results of different ones are not comparable.
Not covered: the stretch to expect (`fabric.stretch`), elastane.
"""

from __future__ import annotations


def extension_percent(*, before_mm: float, stretched_mm: float) -> float:
    """Extension under the load (eq 9.1).

    >>> extension_percent(before_mm=100, stretched_mm=162)    # F-52
    62.0
    """
    return 100 * (stretched_mm - before_mm) / before_mm


def left_percent(*, before_mm: float, after_rest_mm: float) -> float:
    """What is left after letting go and resting.

    >>> left_percent(before_mm=100, after_rest_mm=104.5)    # F-52
    4.5
    """
    return 100 * (after_rest_mm - before_mm) / before_mm


def recovery_percent(*, extension: float, left: float) -> float:
    """Share of the extension that came back.

    >>> round(recovery_percent(extension=62.0, left=4.5), 1)    # F-52
    92.7
    """
    return 100 * (extension - left) / extension


def load_n_per_cm(*, load_n: float, strip_cm: float) -> float:
    """Load over the width of the strip."""
    return load_n / strip_cm
