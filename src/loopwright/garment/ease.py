"""Ease: how much larger the garment is than the body, and what to call it.

In: garment and body girth in cm, or the name of a fit. Out: a class, or the usual ease. Source: yarn_council_2018.
"""

from __future__ import annotations

from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import table

SMALLEST_CM = -10.0


def fit_of_ease(ease_cm: float) -> str:
    """Class of an ease on the chest.

    >>> [fit_of_ease(ease) for ease in (8, -8, 0, 13, 18)]    # P-04
    ['classic', 'very close', 'close', 'loose', 'oversized']
    """
    rows = table(__package__, "ease").rows
    for row in rows:
        inside = row["lower_cm"] <= ease_cm < row["upper_cm"]
        if inside or (row.text("fit") == "classic" and ease_cm == row["upper_cm"]):
            return row.text("fit")
    return rows[0].text("fit") if ease_cm < 0 else rows[-1].text("fit")


def fits() -> tuple[str, ...]:
    """The fits known by a word, from the closest to the widest."""
    return tuple(table(__package__, "ease").by("fit"))


def ease_of_fit(fit: str) -> float:
    """Usual ease on the chest of a fit, cm.

    Raises:
        Problem: no such fit.
    """
    rows = table(__package__, "ease").by("fit")
    if fit.strip().casefold() not in rows:
        raise Problem("fit", f"“{fit}” is no fit known here.", limit=", ".join(rows), tries=['fit = "classic"'])
    return rows[fit.strip().casefold()]["usual_cm"]


def ease_findings(ease_cm: float) -> tuple[Finding, ...]:
    """A girth that is further inside the body than the classes go."""
    if ease_cm >= SMALLEST_CM:
        return ()
    sentence = (
        f"The garment is {-ease_cm:.1f} cm smaller than the body; even a very close rib stops at {-SMALLEST_CM:g}."
    )
    return (Finding(Sign.DECIDE, "half chest", sentence, ("more ease", "an elastane rib"), weight=-ease_cm / 100),)
