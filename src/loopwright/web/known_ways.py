"""Ways of making on a page: as far as they are known, for they are worked out after everything else.

In: the ways of this answer, or old ones of the answer before. Out: the sections with the ways among them, or with a
line in their place. Not covered: when they are worked out (`desk`), what the section says (`report.ways`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopwright.report.blocks import Lines, Section
from loopwright.report.ways import HEADING, KEY
from loopwright.study.study import StyleStudy
from loopwright.study.ways.way import Way

WAITING = "The same style cup-seamed, cut and sewn and in one piece: strokes are walked and a marker is laid."


@dataclass(frozen=True, slots=True)
class KnownWays:
    """Ways of making; `are_old` while those of the newest study are still to be worked out."""

    ways: tuple[Way, ...] = ()
    are_old: bool = True

    def after(self, last: StyleStudy | None, study: StyleStudy) -> KnownWays:
        """What is left of them for the next study: they hold while nothing that they are made of has changed."""
        if last is None:
            return NO_WAYS
        return KnownWays(self.ways, are_old=self.are_old or not _are_alike(last, study))

    def beside(self, sections: Sequence[Section], study: StyleStudy) -> list[Section]:
        """All sections; ways that are worked out for the first time hold their place with a line."""
        if self.ways or not study.sizes:
            return list(sections)
        waiting = Section(KEY, HEADING, "being worked out", (Lines((WAITING,)),))
        after = max((place for place, each in enumerate(sections, 1) if each.key in ("makeup", "price")), default=0)
        return [*sections[:after], waiting, *sections[after:]]


NO_WAYS = KnownWays()


def _are_alike(last: StyleStudy, study: StyleStudy) -> bool:
    """Whether two studies have the same panels, order and rates."""
    inputs = [each.pricing.inputs if each.pricing else None for each in (last, study)]
    return (
        last.making is study.making
        and last.shares == study.shares
        and last.style.yarns == study.style.yarns
        and inputs[0] == inputs[1]
    )
