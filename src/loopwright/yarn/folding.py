"""Folding (plying): what several singles twisted together weigh per length.

In: the counts of the singles, in tex or as numbers of one indirect system, and the take-up k: the fraction of the
singles' length lost in twisting them together (0.01 to 0.04 for soft knitting folds, up to 0.10 for hard ones, from
memory). Out: the resultant count of the folded yarn. Assumption: every single loses the same fraction of its own
length; a published example that adds the loss to the count instead (35.2 for 35.6) is not followed (C-14).
Not covered: the notation of folded yarns (`notation`), fold twist (`twist`).
Sources: identity; section 1.3 of the fabric reference, eqs 1.3 and 1.4.
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.problems import Problem

HARDEST_TAKE_UP = 0.2  # twice the hardest fold known: beyond it a resultant does not belong to its singles
LARGEST_STRETCH = 0.03  # folding against the singles twist can lengthen them a little; rounding adds to it


def resultant_tex(singles_tex: Sequence[float], *, take_up: float = 0.0) -> float:
    """Tex of a folded yarn: Σ T_i/(1 − k) (eq 1.4), k the fraction of the singles' length lost.

    >>> round(resultant_tex([20, 30, 12], take_up=0.03), 2)    # F-07
    63.92

    Raises:
        Problem: the take-up is not a fraction from 0 up to 1.
    """
    if not 0 <= take_up < 1:
        raise Problem(
            "folding",
            f"The take-up is the fraction of the singles' length lost, and {take_up:g} is none.",
            limit="0 to under 1; knitting folds lose 0.01 to 0.04",
            tries=["write 0.03 for 3 %"],
        )
    return sum(singles_tex) / (1 - take_up)


def resultant_number(numbers: Sequence[float]) -> float:
    """Number of a folded yarn in an indirect system: 1/N_R = Σ 1/N_i (eq 1.3), all in one system, no take-up.

    >>> resultant_number([30, 30])    # F-01: 2/30 Nm
    15.0
    """
    return 1 / sum(1 / number for number in numbers)


def take_up_of(singles_tex: Sequence[float], given_resultant_tex: float) -> float:
    """Take-up that a weighed resultant implies: 1 − Σ T_i/T_R (eq 1.4 turned round).

    >>> round(take_up_of([20, 20], 41), 3)    # the folded yarn R 41 tex of ISO 1139's notation
    0.024

    Raises:
        Problem: the resultant cannot come from these singles.
    """
    plain_sum = sum(singles_tex)
    take_up = 1 - plain_sum / given_resultant_tex
    if not -LARGEST_STRETCH <= take_up <= HARDEST_TAKE_UP:
        raise Problem(
            "yarn count",
            f"The singles add to {plain_sum:.4g} tex, and the resultant is given as {given_resultant_tex:.4g} tex.",
            limit=f"folding takes up to {HARDEST_TAKE_UP:.0%} of the length",
            tries=[f"“R {plain_sum:.4g} tex”", "leave the resultant out"],
        )
    return take_up
