"""What a swatch changed: each quantity of its cloth as the tables have it, and as it stands with this swatch.

In: `SwatchStudy`. Out: a section with a picture for what moved most. It tells of this swatch alone.
Not covered: the whole drawer (`report.learning`), what to knit next (`study.next_swatch`).
"""

from __future__ import annotations

from loopwright.draw.before_after import before_after_picture
from loopwright.figure import plain
from loopwright.problems import Problem
from loopwright.report.blocks import Lines, Picture, Section
from loopwright.study.swatch_study import SwatchStudy
from loopwright.swatch.learning.drawer import Wanted, cloth_of, learnt
from loopwright.swatch.learning.levels import Cloth
from loopwright.swatch.learning.predict import Prediction

MOST_PICTURES = 4


def changed_section(study: SwatchStudy) -> Section | None:
    """The section; none when the swatch says nothing of a settled cloth."""
    moved = _moved(study)
    if not moved:
        return None
    limits = study.bench.specimen.limits
    pictures = []
    for number, each in enumerate(moved[:MOST_PICTURES], start=1):
        limit = limits.get(each.quantity)
        ends = [end for end in (limit.low, limit.high) if end is not None] if limit else []
        pictures.append(
            Picture(f"curve-{number}", before_after_picture(each.prior, each.posterior, ends, key=f"b{number}"))
        )
    most = moved[0]
    said = (
        f"{most.posterior.name[:1].upper()}{most.posterior.name[1:]} moved most: its spread is "
        f"{plain(100 * max(most.narrowing, 0.0), 0)} % narrower with this swatch."
    )
    return Section("changed", "What this swatch changed", "dashed before, filled after", (*pictures, Lines((said,))),
                   short=str(len(moved)))  # fmt: skip


def _moved(study: SwatchStudy) -> list[Prediction]:
    """Quantities that the swatch moved, at its own cloth and last state, the most moved first."""
    if not study.observations:
        return []
    try:
        drawer = learnt(study.observations)
    except Problem:
        return []
    if not drawer.observations:
        return []
    last = cloth_of(drawer.observations[-1])
    cloth = Cloth(last.structure, last.yarn, last.loop_length_mm, last.state, last.lot)
    asked = dict.fromkeys(each.quantity for each in drawer.observations if each.state is last.state)
    found = drawer.predict_all([Wanted(cloth, quantity) for quantity in asked])
    return sorted((each for each in found if each.is_moved), key=lambda each: -each.narrowing)
