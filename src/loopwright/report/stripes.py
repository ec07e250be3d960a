"""Stripes and colour areas on the carriage: what their order and the carriers' starting sides cost.

In: stripes in words ("navy 2, grey 1"), repeats, systems or a listed machine; colour areas of a course. Out: lines
and a document for the command line. The searches are `machine.parking`'s. Not covered: structures of several yarns
(the margin of a study's minutes says the same of them).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from loopwright.machine.models import flat_model
from loopwright.machine.parking import MOST_FREE_STRIPES, Parking, Stripes, best_order, best_parking, intarsia_passes
from loopwright.problems import Problem


@dataclass(frozen=True, slots=True)
class StripesAnswer:
    """The stripes in the order given, a better order of them (none: no better one, or too many to try), areas."""

    given: Parking
    freed: Parking | None
    areas: int | None = None

    @property
    def lines(self) -> tuple[str, ...]:
        """Sentences for a person."""
        made = [f"In the order given: {self.given.words}"]
        if self.freed is not None:
            fewer = self.given.traverses - self.freed.traverses
            made.append(f"In another order {fewer} fewer: {self.freed.words}")
        elif len(self.given.stripes) > MOST_FREE_STRIPES:
            made.append(f"Other orders are tried up to {MOST_FREE_STRIPES} stripes in a repeat.")
        elif len(self.given.stripes) > 1:
            made.append("No other order of these stripes needs fewer.")
        if self.areas is not None:
            passes = intarsia_passes(areas=self.areas, systems=self.given.systems)
            made.append(
                f"{self.areas} colour areas in a course of intarsia take {passes} traverses, a carrier to each."
            )
        return tuple(made)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "given": _parking(self.given),
            "freed": _parking(self.freed) if self.freed else None,
            "intarsia_passes": (
                intarsia_passes(areas=self.areas, systems=self.given.systems) if self.areas is not None else None
            ),
        }


def _parking(parking: Parking) -> dict[str, Any]:
    return {
        "stripes": [{"yarn": yarn, "courses": courses} for yarn, courses in parking.stripes],
        "traverses": parking.traverses,
        "from_one_side": parking.from_one_side,
        "start": {yarn: "right" if side else "left" for yarn, side in parking.start.carriers},
        "words": parking.words,
    }


def stripes_answer(
    words: str, *, systems: int, repeats: int, areas: int | None = None, model: str | None = None
) -> StripesAnswer:
    """What stripes cost; a listed machine (`model`) gives its systems and is asked for its carriers.

    Raises:
        Problem: words that are no stripes, or numbers that no machine has.
    """
    stripes = stripes_of_words(words)
    if model is not None:
        machine = flat_model(model)
        systems = machine.systems
        machine.check_carriers(len({yarn for yarn, _ in stripes}))
        machine.check_intarsia(areas or 0)
    if not 1 <= systems <= MOST_SYSTEMS:
        raise Problem("systems", f"{systems} knitting systems.", limit=f"1 to {MOST_SYSTEMS}", tries=["2"])
    courses = repeats * sum(count for _, count in stripes)
    if courses > MOST_COURSES:
        what = f"{courses} courses in all."
        raise Problem(
            "stripes", what, limit=f"{MOST_COURSES} are searched", tries=["fewer repeats: the rest costs alike"]
        )
    if areas is not None and not 1 <= areas <= MOST_AREAS:
        raise Problem("areas", f"{areas} colour areas in a course.", limit=f"1 to {MOST_AREAS}", tries=["5"])
    given = best_parking(stripes, repeats=repeats, systems=systems)
    freed = best_order(stripes, repeats=repeats, systems=systems) if len(stripes) <= MOST_FREE_STRIPES else None
    return StripesAnswer(given, freed if freed and freed.traverses < given.traverses else None, areas)


MOST_SYSTEMS, MOST_COURSES, MOST_AREAS = 4, 2000, 200


def stripes_of_words(words: str) -> Stripes:
    """Stripes out of "navy 2, grey 1": yarn and courses, lowest first.

    >>> stripes_of_words("navy 2, grey 1")
    (('navy', 2), ('grey', 1))

    Raises:
        Problem: a part that is no yarn with its courses.
    """
    stripes = []
    for part in words.split(","):
        named = re.fullmatch(r"\s*(.*?\S)\s+(\d{1,5})\s*", part)
        if named is None:
            what = f"“{part.strip()}” is no yarn with its courses."
            raise Problem("stripes", what, limit="yarn, then courses", tries=['"navy 2, grey 2"'])
        stripes.append((named[1], int(named[2])))
    return tuple(stripes)
