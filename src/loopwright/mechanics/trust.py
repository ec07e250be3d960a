"""How far the simulated figures may be believed: the model's own spread by quantity and kind of structure.

In: a quantity of `data/trust.csv`, a structure and its loop length over yarn diameter. Out: the row: `spread` is the
relative nine-in-ten spread of the model itself, `words` say why. Source: mechanics reference, section 14.
"""

from __future__ import annotations

from loopwright.sources.table import Row, table
from loopwright.structure.library import Structure
from loopwright.structure.notation import Stitch

FIRM_LOW, FIRM_HIGH = 15.5, 18.0  # loop over diameter near jamming, where plain agrees with published constants

COUNTS = ("wales", "courses")  # told apart where one is known worse than the other, else "dimensions"


def trust_of(quantity: str, structure: Structure, loop_over_diameter: float) -> Row:
    """The row that speaks of a quantity of a structure at a loop length."""
    rows = table(__package__, "trust").by("quantity", "structures")
    anatomy = structure.anatomy
    if (quantity, "folding") in rows and folds(structure):
        return rows[quantity, "folding"]
    quantity = "dimensions" if quantity in COUNTS else quantity
    if (quantity, "all") in rows:
        return rows[quantity, "all"]
    if anatomy.tucks and (quantity, "tuck") in rows:
        return rows[quantity, "tuck"]
    if anatomy.floats and (quantity, "float") in rows:
        return rows[quantity, "float"]
    if anatomy.beds == 1 and not anatomy.floats and not anatomy.tucks and not anatomy.transfer_passes:
        away = not FIRM_LOW <= loop_over_diameter <= FIRM_HIGH
        return rows[quantity, "plain-away" if away and (quantity, "plain-away") in rows else "plain"]
    return rows[quantity, "other"]


def folds(structure: Structure) -> bool:
    """Whether neighbouring wales stand on one bed of two, so that the cloth folds like a 2×1 or 2×2 rib.

    >>> from loopwright.structure.library import library
    >>> [key for key in ("plain", "rib-1x1", "rib-2x1", "rib-2x2", "interlock") if folds(library()[key])]
    ['rib-2x1', 'rib-2x2']
    """
    anatomy, notation = structure.anatomy, structure.notation
    if anatomy.beds < 2 or anatomy.moved_loops:
        return False
    loops = (Stitch.KNIT, Stitch.TUCK)
    wales = [
        bed
        for place in range(notation.needles)
        for bed in ("front", "back")
        if any(getattr(feed, bed)[place] in loops for feed in notation.feeds)
    ]
    return any(here == after for here, after in zip(wales, wales[1:] + wales[:1], strict=True))
