"""Sets of rendered cloth for the battery of the picture reader: what is drawn for a set name and a seed.

In: name of a set, seed. Out: a `Cloth`. The sets follow the accuracy table of the note on swatch pictures.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from devtools.rendered_cloth import Cloth

Draw = Callable[[np.random.Generator], Cloth]


def plain(rng: np.random.Generator) -> Cloth:
    """Any plain cloth in good light: the ordinary set, and the start of all others."""
    wale = float(np.exp(rng.uniform(np.log(7), np.log(38))))
    lit = float(rng.uniform(0, 2 * np.pi))
    bend = float(rng.uniform(0.14, 0.20))
    return Cloth(
        wale_px=wale,
        course_per_wale=float(rng.uniform(0.6, 1.05)),
        skew_deg=float(rng.uniform(-15, 15)),
        rotation_deg=float(rng.uniform(-12, 12)),
        side=str(rng.choice(["face", "back"])),
        bend=bend,
        overlap=float(rng.uniform(1.35, 1.5)),
        radius=float(rng.uniform(0.17, 0.23)),
        light=(0.7 * np.cos(lit) * float(rng.uniform(0, 1)), 0.7 * np.sin(lit) * float(rng.uniform(0, 1))),
        gradient=float(rng.uniform(0, 0.5)),
        gloss=float(rng.uniform(0, 0.3)),
        ply=float(rng.choice([0.0, rng.uniform(0, 0.2)])),
        melange=float(rng.choice([0.0, 0.0, rng.uniform(0, 0.25)])),
        stripes=((), (), (), (2, 2), (1, 1), (4, 2), (3, 3))[rng.integers(7)],
        stripe_tones=(1.0, float(rng.uniform(0.45, 0.9))),
        hair=float(rng.choice([0.0, rng.uniform(0, 1.0)])),
        uneven_courses=float(rng.uniform(0, 0.08)),
        course_tone=float(rng.uniform(0, 0.06)),
        jitter=float(rng.uniform(0, 0.04)),
        blur_px=float(rng.uniform(0, 0.04)) * wale,
        noise=float(rng.uniform(0.004, 0.03)),
        gamma=float(rng.uniform(0.7, 1.3)),
    )


def noisy(rng: np.random.Generator) -> Cloth:
    """Noise, low contrast, hair."""
    cloth = plain(rng)
    noise = float(np.exp(rng.uniform(np.log(0.03), np.log(0.25))))
    return replace(cloth, noise=noise, contrast=float(rng.uniform(0.4, 1)), hair=float(rng.uniform(0, 3)))


def tilted(rng: np.random.Generator) -> Cloth:
    """Seen obliquely through a barrel lens."""
    tilt = (float(rng.uniform(-12, 12)), float(rng.uniform(-12, 12)))
    return replace(plain(rng), tilt_deg=tilt, barrel=float(rng.uniform(-0.02, 0.02)))


def blurred(rng: np.random.Generator) -> Cloth:
    """Out of focus by 0.05 to 0.4 wale."""
    cloth = plain(rng)
    return replace(cloth, blur_px=float(rng.uniform(0.05, 0.4)) * cloth.wale_px)


def small(rng: np.random.Generator) -> Cloth:
    """Wales of 2.5 to 7 pixels."""
    wale = float(rng.uniform(2.5, 7))
    return replace(plain(rng), wale_px=wale, blur_px=float(rng.uniform(0, 0.08)) * wale)


def warped(rng: np.random.Generator) -> Cloth:
    """Pulled about by 0.1 to 0.8 stitch."""
    return replace(plain(rng), warp=float(rng.uniform(0.1, 0.8)), warp_length=float(rng.uniform(0.3, 0.8)))


def folded(rng: np.random.Generator) -> Cloth:
    """Two fifths of the area sheared by 14 degrees."""
    return replace(plain(rng), fold=0.4)


def few(rng: np.random.Generator) -> Cloth:
    """Wales of 60 to 160 pixels."""
    return replace(plain(rng), wale_px=float(rng.uniform(60, 160)))


def ribbed(rng: np.random.Generator) -> Cloth:
    """1×1 and 2×2 rib, with and without stripes."""
    cloth = plain(rng)
    rib = ((1, 1), (2, 2))[rng.integers(2)]
    stripes = ((), (2, 2))[rng.integers(2)]
    wale = float(np.exp(rng.uniform(np.log(7), np.log(24))))
    return replace(cloth, rib=rib, rib_depth=float(rng.uniform(0.1, 0.6)), stripes=stripes, wale_px=wale, side="face")


def linked(rng: np.random.Generator) -> Cloth:
    """Garter and 2×2 links."""
    return replace(plain(rng), links=((1, 1), (2, 2))[rng.integers(2)], stripes=(), side="face")


SETS: dict[str, Draw] = {
    "ordinary": plain,
    "noise": noisy,
    "tilt": tilted,
    "blur": blurred,
    "small": small,
    "warp": warped,
    "fold": folded,
    "few": few,
    "rib": ribbed,
    "links": linked,
}


def drawn(name: str, seed: int) -> Cloth:
    """The cloth number `seed` of a set."""
    return SETS[name](np.random.default_rng([seed, zlib.crc32(name.encode())]))
