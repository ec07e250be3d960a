"""The spinning taken for a yarn when the person did not say how it was spun.

In: the blend and the count. Out: a spinning key of `diameter` and the words that say why. Assumption: the main fibre
decides, as it is mostly spun for knitting: a working assumption of ours, shown as such.
Not covered: packing of a spinning (`diameter`). Sources: house (columns spun and filament of the fibre table).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.yarn.count import Count, system_of
from loopwright.yarn.diameter import spinnings
from loopwright.yarn.fibre import Blend, fibres


@dataclass(frozen=True, slots=True)
class AssumedSpinning:
    """The spinning taken when the person did not say, and why."""

    spinning: str
    words: str


def default_spinning(blend: Blend, count: Count) -> AssumedSpinning:
    """The spinning taken for a blend and a count: the usual one of the main fibre, spun or filament as the count says.

    A worsted fibre counted in a woollen system is woollen spun.
    """
    fibre = fibres()[blend.main_fibre]
    made = made_of(count)
    spinning = fibre.text("filament" if made == "filament" else "spun")
    if made == "woollen" and spinning == "worsted_two_fold":
        spinning = "woollen"
    label = spinnings()[spinning].text("label")
    return AssumedSpinning(spinning, f"spinning not given: {label} taken for {fibre.text('label')}")


def made_of(count: Count) -> str:
    """How a yarn of this count is made: filament when it names filaments, else as its count system says.

    >>> from loopwright.yarn.count import count_of
    >>> made_of(count_of(16, "YSW")), made_of(count_of(70, "denier")), made_of(count_of(30, "Nm"))
    ('woollen', 'filament', 'spun')
    """
    return "filament" if count.filaments is not None else system_of(count.system).made
