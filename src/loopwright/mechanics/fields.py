"""The numbers that the atlas holds of every structure at every solved loop length, in their order.

Units of d and B. `settled` 1 for a sound rest state; spacings of visible wales and courses; depth; the range between
rest states; moduli (B/d³); curl moments of the flat cloth (B/d²); strains and sideways strains at `TENSIONS`, pulled
in width and in length; curvature of a roll let go (1/d), the bending stiffness it works against (B/d) and whether
contact stops it, at `SETS`; lean (degrees) at `TURNS` for `LEAN_SETS`; spacings after set in the held state at `SETS`.
"""

from __future__ import annotations

from collections.abc import Mapping

TENSIONS = (0.05, 0.1, 0.2, 0.5, 1.0)  # B/d³, at which strains are told; the last is the practical lock
SETS = (0.5, 0.8, 0.95)
TURNS = (0.05, 0.1, 0.2)  # residual turns per loop
LEAN_SETS = (0.0, 0.8)

FIELDS: tuple[str, ...] = (
    "settled",
    "energy",
    "wale",
    "course",
    "depth",
    "contact_share",
    "energy_high",
    "wale_low",
    "wale_high",
    "course_low",
    "course_high",
    "modulus_width",
    "modulus_length",
    "modulus_shear",
    "moment_sides",
    "moment_ends",
    *(f"stretch_{way}_{n}" for way in ("width", "length") for n in range(len(TENSIONS))),
    *(f"sideways_{way}_{n}" for way in ("width", "length") for n in range(len(TENSIONS))),
    *(f"{what}_{way}_{n}" for what in ("curl", "stiffness", "bound") for way in ("sides", "ends") for n in range(3)),
    *(f"lean_{s}_{n}" for s in range(len(LEAN_SETS)) for n in range(len(TURNS))),
    *(f"held_{way}_{n}" for way in ("wale", "course") for n in range(len(SETS))),
)
PLACE: Mapping[str, int] = {name: index for index, name in enumerate(FIELDS)}
