"""How far the simulated figures may be believed: the model's own spread by quantity and kind of structure.

In: a quantity of `data/trust.csv`, a structure and its loop length over yarn diameter. Out: the row: `spread` is the
relative nine-in-ten spread of the model itself, `words` say why. Source: mechanics reference, section 14.
"""

from __future__ import annotations

from loopwright.sources.table import Row, table
from loopwright.structure.library import Structure

FIRM_LOW, FIRM_HIGH = 15.5, 18.0  # loop over diameter near jamming, where plain agrees with published constants


def trust_of(quantity: str, structure: Structure, loop_over_diameter: float) -> Row:
    """The row that speaks of a quantity of a structure at a loop length."""
    rows = table(__package__, "trust").by("quantity", "structures")
    anatomy = structure.anatomy
    if (quantity, "all") in rows:
        return rows[quantity, "all"]
    if anatomy.tucks and (quantity, "tuck") in rows:
        return rows[quantity, "tuck"]
    if anatomy.beds == 1 and not anatomy.floats and not anatomy.tucks and not anatomy.transfer_passes:
        away = not FIRM_LOW <= loop_over_diameter <= FIRM_HIGH
        return rows[quantity, "plain-away" if away and (quantity, "plain-away") in rows else "plain"]
    return rows[quantity, "other"]
