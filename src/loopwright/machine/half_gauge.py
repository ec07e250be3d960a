"""Half gauge: which structures can be knitted in a tube on every second needle of two beds.

In: a `Structure`. Out: findings, none when it can. The front of the tube lies on one bed, its back on the other, and
the needle opposite each loop stays empty to receive it.
Main assumption: the notation shows the needles as they knit; loops are followed through feeds, transfers and racks.
Not covered: whether the yarn floats too far inside a tube (`structure.anatomy`). Source: production reference 4.5.
"""

from __future__ import annotations

from loopwright.problems import Finding, Sign
from loopwright.structure.library import Structure
from loopwright.structure.notation import Feed, Move, Notation, Rack, Stitch

_TAKES = (Stitch.KNIT, Stitch.TUCK)


def half_gauge_findings(structure: Structure) -> tuple[Finding, ...]:
    """Why a structure cannot be knitted at half gauge in a tube; empty when it can.

    A place of the bed may hold its loop at the front or at the back, and move it; a place that keeps loops on both
    beds at once leaves no empty needle to receive them, and the tube has no bed left for its other side.
    """
    both = _places_on_both_beds(structure.notation)
    if not both:
        return ()
    needles = structure.notation.needles
    sentence = (
        f"{structure.name} holds loops on both beds at {both} of {needles} needle places, and a tube at half gauge has "
        "one bed for its front and one for its back."
    )
    tries = ("plain", "1×1 rib on every other needle", "a purl pattern", "float jacquard", "knit it in panels")
    return (Finding(Sign.STOPS, "complete garment", sentence, tries, weight=both / needles),)


def _places_on_both_beds(notation: Notation) -> int:
    """Needle places that keep loops on both beds after some feed, the repeat knitted twice over."""
    front, back = [False] * notation.needles, [False] * notation.needles
    both: set[int] = set()
    offset = 0
    for step in (*notation.steps, *notation.steps):
        if isinstance(step, Rack):
            offset = step.offset
        elif isinstance(step, Move):
            _move(step, offset, front, back)
        elif isinstance(step, Feed):
            for place in range(notation.needles):
                front[place] |= step.front[place] in _TAKES
                back[place] |= step.back[place] in _TAKES
            both |= {place for place in range(notation.needles) if front[place] and back[place]}
    return len(both)


def _move(step: Move, offset: int, front: list[bool], back: list[bool]) -> None:
    """Loops of the marked needles go to the needle opposite; the back bed stands `offset` to the right."""
    gives, takes, shift = (front, back, -offset) if step.from_front else (back, front, offset)
    for place, moved in enumerate(step.needles):
        if moved and gives[place]:
            gives[place] = False
            takes[(place + shift) % len(takes)] = True
