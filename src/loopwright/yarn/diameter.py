"""Yarn diameter: how thick a yarn of given count is, from the density of its fibre and how closely it is packed.

In: tex, fibre density in g/cm³ at 65 % relative humidity, packing (the share of the cross-section that is fibre,
0 to 1). Out: diameter in mm of a round yarn lying free. Assumption: circular section, even packing. In the fabric the
yarn flattens, to about 0.77 of this. Packing is the loose input: each spinning has its own, with a wide band (C-01:
cotton 0.60, on which two independent sources agree, not the 0.646 of a handbook shortcut).
Not covered: thickness of the fabric (`fabric.bulk`), diameter under pressure (`mechanics`).
Sources: identity (eq 1.5), fletcher_1952 for the packing of cotton, the rest from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from loopwright.figure import Figure
from loopwright.problems import Problem
from loopwright.sources.table import Row, table


def diameter_mm(count_tex: float, density_g_per_cm3: float, packing: float) -> float:
    """Diameter of a round yarn: √(4·T/(1000·π·ρ·φ)) = 0.035682·√(T/(ρ·φ)) (eq 1.5).

    >>> round(diameter_mm(20, 1.52, 0.60), 4)    # F-08
    0.1671
    """
    section_mm2 = count_tex / (1000 * density_g_per_cm3 * packing)
    return math.sqrt(4 * section_mm2 / math.pi)


def packing(spinning: str) -> Figure:
    """The share of the yarn's cross-section that is fibre, for a spinning, with its band.

    Raises:
        Problem: no such spinning.
    """
    row = spinnings()[spinning_named(spinning)]
    return row.figure("packing", "packing", "", words=f"fibre share of the cross-section, {row.text('label')}")


def spinning_named(words: str) -> str:
    """The key of a spinning from its key or a word heard for it.

    >>> spinning_named("open end")
    'rotor_cotton'

    Raises:
        Problem: no such spinning.
    """
    key = _spinning_words().get(" ".join(words.casefold().split()))
    if key is None:
        raise Problem(
            "spinning",
            f"“{words}” is no spinning known here.",
            tries=[f"“{each}” ({row.text('label')})" for each, row in spinnings().items()],
        )
    return key


@cache
def spinnings() -> Mapping[str, Row]:
    """All spinnings by key."""
    return table(__package__, "packing").by("spinning")


@cache
def _spinning_words() -> Mapping[str, str]:
    words = {word: key for key, row in spinnings().items() for word in row.text("words").split("|")}
    return MappingProxyType(words | {key: key for key in spinnings()})
