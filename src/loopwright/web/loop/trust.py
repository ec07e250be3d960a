"""How far the loop page is to be believed: its last section, in our words (mechanics reference, sections 9 and 14)."""

from __future__ import annotations

from loopwright.mechanics.trust import FIRM_HIGH, FIRM_LOW
from loopwright.report.blocks import Lines, Note, Section, Table
from loopwright.web.loop.cloth import LoopCloth

ROWS = (
    ("Which way edges roll; that balanced cloth lies flat", "sure", "symmetry and bending; no measured moments yet"),
    ("Which way it leans for S or Z; that balanced cloth does not", "sure", "symmetry; the rise with slack loops too"),
    ("Which of two structures gives more, and which way", "good", "but moss and rib along the wales change places"),
    (
        "Wales and courses of plain",
        "within 6 % near 17 diameters",
        "15 % away from it: too wide and too short when slack",
    ),
    ("Wales and courses of other structures", "ranking; ± 15 %", "one swatch sets the size"),
    ("Radius of a roll", "a range", "hangs on the set that the yarn has taken"),
    ("Angle of lean", "order of magnitude", "± 40 % until twist and yarn are measured"),
    ("Thickness", "plain good, ribs too thick", "without friction the folds close wholly"),
    ("Structures with tucks", "direction only", "they settle in more than one way"),
    ("Recovery, bagging, which edge wins in a piece", "not told", "the model has no friction and no edges"),
)


def section(known: LoopCloth | None) -> Section:
    """What may be believed, and how firmly this very cloth stands."""
    blocks = (Lines(_own(known)), Table(("Of all that", "trust", "why"), ROWS, words=(0, 1, 2)))
    notes = (
        Note("Where it is known to be wrong", "The help names every place where it disagrees with what is published."),
        Note("It does not replace a swatch", "It says why and what if. The swatch says how much."),
    )
    return Section("trust", "How far to believe it", "simulated is not measured", blocks, notes, "table")


def _own(known: LoopCloth | None) -> tuple[str, ...]:
    if known is None:
        return ("No figure stands above, so there is none to believe.",)
    ratio, anatomy = known.setting.ratio, known.setting.structure.anatomy
    if anatomy.tucks:
        return ("This cloth holds tucks: take directions and ranking from it, and sizes from a swatch.",)
    is_plain = anatomy.beds == 1 and not anatomy.floats and not anatomy.transfer_passes
    if is_plain and FIRM_LOW <= ratio <= FIRM_HIGH:
        return ("This cloth is knitted where the model agrees best with what is published: near the loop that jams.",)
    if is_plain:
        side = "slacker" if ratio > FIRM_HIGH else "tighter"
        return (
            f"This cloth is {side} than where the model agrees with what is published; its sizes carry 15 per cent.",
        )
    return ("Sizes of this structure were never held against a published constant: believe its ranking first.",)
