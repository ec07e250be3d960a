"""Ways of making: the same style fully fashioned, cup-seamed, cut and sewn, in one piece, priced side by side.

In: `StyleStudy`. Out: `Way` values in a fixed order, those that cannot be made with the reason. Panels, fabrics, order
and rates are the style's own; all sizes are weighted as ordered. Laying the marker takes some tenths of a second, so a
study does not hold its ways: whoever shows them asks for them.
Not covered: fabric that only another machine could knit; a machine hour of its own for every machine.
Source: production reference 2, 4.5 to 4.7, 5.1, 6, 7.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from loopwright.problems import Problem
from loopwright.study.knitting import EDGES
from loopwright.study.study import StyleStudy
from loopwright.study.ways.blanks import from_blanks
from loopwright.study.ways.circular import from_circular_cloth
from loopwright.study.ways.complete import in_one
from loopwright.study.ways.fashioned import fashioned
from loopwright.study.ways.hosiery import LEG_BLOCKS, on_a_cylinder
from loopwright.study.ways.way import Kind, Needs, Way, made

_FASHIONED = {
    "fully fashioned and linked": Kind(
        "fashioned_linked", "fully fashioned and linked", "panels shaped on the machine, loops and edges linked"
    ),
    "fully fashioned and cup-seamed": Kind(
        "fashioned_cup",
        "fully fashioned and cup-seamed",
        "the same panels, their edges sewn; bands and shoulders linked",
    ),
}
_BLANKS = Kind("flat_blanks", "cut and sew from flat blanks", "rectangles with their ribs, cut to shape and overlocked")
_CLOTH = Kind(
    "circular_cloth", "cut and sew from circular cloth", "cloth by the metre, cut and overlocked, ribs sewn on"
)
_ONE = Kind("complete", "complete garment", "tubes on every second needle, joined on the machine")
_LEG = Kind("cylinder", "on a hosiery cylinder", "a tube on fixed needles, shaped by its loop length")


def ways_of_making(study: StyleStudy) -> tuple[Way, ...]:
    """Every way of making the style; none while no size is worked through."""
    if not study.sizes:
        return ()
    own = study.style.construction.method
    return tuple(_way(study, kind, needs, is_own=kind.name == own) for kind, needs in _ways(study))


Asked = Callable[[StyleStudy], Needs]


def _ways(study: StyleStudy) -> Iterator[tuple[Kind, Asked]]:
    for method in EDGES:
        yield _FASHIONED[method], partial(fashioned, method=method)
    yield _BLANKS, from_blanks
    if study.sizes[0].plan.measures.shape.block in LEG_BLOCKS:
        yield _LEG, on_a_cylinder
    else:
        yield _CLOTH, from_circular_cloth
        yield _ONE, in_one


def _way(study: StyleStudy, kind: Kind, needs: Asked, *, is_own: bool) -> Way:
    try:
        return made(study, kind, needs(study), is_own=is_own)
    except Problem as problem:
        return Way(kind, is_own, why_not=problem)
