"""What to knit next, for a style of the shelf: everything in the drawer counts, worked out when somebody asks.

In: the shelf, a style, what is to be made surer. Out: `Advice`, or the problem that stands in its way. The drawer is
every swatch with sittings that lies on the shelf and was not put away; one that the style holds itself counts once.
Not covered: the ranking (`study.next_swatch`), who waits (`web.waited_for`), the door (`next_door`).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Literal

from loopwright.problems import Problem
from loopwright.store.kinds import is_specimen
from loopwright.store.shelf import Shelf
from loopwright.store.values import Kind, Line
from loopwright.study.drawer import own_observations
from loopwright.study.next_swatch import Advice, next_swatches
from loopwright.study.study import study_style
from loopwright.study.style import Style, read_style
from loopwright.swatch.observed import Observed
from loopwright.web.waited_for import GaveUp, GivenUp, Progress, Report, Works

Wanted = Literal["", "price", "lean", "width"]


@dataclass(frozen=True, slots=True)
class Advised:
    """The advice, and the swatches that counted."""

    advice: Advice
    swatches: tuple[str, ...]


Answer = Advised | Problem


class NextDesk:
    """Advice that is being worked out, and that which was; another version of style or swatches is another question."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.works: Works[Answer] = Works("which swatch next")

    def begin(self, item_id: int, wanted: Wanted, window: str) -> Progress[Answer]:
        """Work it out for a window.

        Raises:
            Problem: no such item.
        """

        def do(report: Report, stop: GivenUp) -> Answer:
            try:
                return advised(self.shelf, item_id, wanted, report, stop)
            except Problem as problem:
                return problem

        return self.works.begin(self._key(item_id, wanted), window, do)

    def give_up(self, item_id: int, wanted: Wanted, window: str) -> Progress[Answer]:
        """A window no longer waits."""
        return self.works.give_up(self._key(item_id, wanted), window)

    def _key(self, item_id: int, wanted: Wanted) -> Hashable:
        lying = tuple((line.id, line.version) for line in _lying(self.shelf))
        return item_id, self.shelf.load(item_id).version, wanted, lying


def advised(shelf: Shelf, item_id: int, wanted: Wanted, report: Report, stop: GivenUp) -> Advised:
    """Which swatch to knit next for a style.

    Raises:
        Problem: the style cannot be read, or has not come so far.
        GaveUp: nobody waits any more.
    """
    item = shelf.load(item_id)
    if item.kind is not Kind.STYLE:
        raise Problem("next swatch", "it is worked out for a style.", tries=["choose a style"])
    style = read_style(item.document)
    today = datetime.now(UTC).date().isoformat()
    outside = tuple(_outside(shelf, style, today, report, stop))
    study = study_style(style, outside)
    if study.refused:
        raise study.refused[0]
    _go_on(0.7, report, stop)
    advice = next_swatches(study, wanted, outside)
    counted = dict.fromkeys(each.swatch for each in (*own_observations(style, today), *outside))
    return Advised(advice, tuple(counted))


def _outside(shelf: Shelf, style: Style, today: str, report: Report, stop: GivenUp) -> Iterator[Observed]:
    """What the swatches of the shelf say that the style does not hold itself; two of one name stay apart."""
    taken = {each.swatch for each in own_observations(style, today)}
    lying = _lying(shelf)
    known: set[str] = set()
    for number, line in enumerate(lying):
        _go_on(0.4 * number / len(lying), report, stop)
        document = shelf.load(line.id).document
        found = own_observations(read_style(document), today) if is_specimen(document) else ()
        for name in dict.fromkeys(each.swatch for each in found):
            if name in taken:
                continue
            called = f"{name} ({line.id})" if name in known else name
            known.add(called)
            yield from (replace(each, swatch=called) for each in found if each.swatch == name)
    _go_on(0.4, report, stop)


def _lying(shelf: Shelf) -> list[Line]:
    """The swatches of the shelf."""
    return shelf.lines(Kind.SWATCH, limit=MOST_SWATCHES)


MOST_SWATCHES = 200  # the last that were worked on


def _go_on(share: float, report: Report, stop: GivenUp) -> None:
    if stop():
        raise GaveUp
    report(share)
