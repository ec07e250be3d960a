"""What an opening must stretch to go over the body, as a finding with both girths.

In: the relaxed girth of an edge, the girth it goes over, cm. Out: per cent, and a `Finding`. Whether the fabric
stretches as far is not known on this floor (its extension is measured on a swatch or simulated).
Source: production reference 1.8 (neck proof), 2 (skirt, beanie).
"""

from __future__ import annotations

from loopwright.figure import plain
from loopwright.problems import Finding, Sign


def extension_percent(*, relaxed_cm: float, over_cm: float) -> float:
    """Extension of an edge of a relaxed girth that goes over another; 0 when it is wide enough.

    >>> round(extension_percent(relaxed_cm=314 / 6.9, over_cm=62))    # the neck proof of block B
    36
    """
    return max(0.0, 100 * (over_cm / relaxed_cm - 1))


def must_stretch(edge: str, size: str, relaxed_cm: float, over_cm: float, *, over: str) -> Finding:
    """What an edge must stretch."""
    percent = extension_percent(relaxed_cm=relaxed_cm, over_cm=over_cm)
    how = f"it must stretch by {plain(percent, 0)} %" if percent else "it goes over without stretching"
    sentence = (
        f"Size {size}: the {edge} is {plain(relaxed_cm, 1)} cm round and goes over {over}, "
        f"{plain(over_cm, 1)} cm; {how}."
    )
    tries = ("an elastane rib", "a wider opening") if percent else ()
    return Finding(Sign.KNOW, f"{edge}, size {size}", sentence, tries, weight=percent / 100)
