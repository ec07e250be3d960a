"""Make-up minutes of a garment: seams, hand work, pressing, washing and checks, by group and together.

In: the seams (or none known), a person's own minutes, how many buttons, holes and zips. Out: a `MakeupSheet` of
standard minutes as Figures. Own minutes replace a default and are measured when they were timed, else entered.
Main assumption: the rate of one joining method is the same in all its seams, so their spread does not average out;
different methods and operations are taken as independent.
Not covered: wages (`cost.rates`), number of linkers (`cost.planning`). Sources: the tables of this package.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from loopwright.figure import Basis, Figure, Term, Why, entered, linear
from loopwright.makeup.operations import GROUPS, Operation, operations
from loopwright.makeup.seams import Seam, method_minutes, no_minutes
from loopwright.problems import Problem

LINKING = "linking"
DAY_MIN = 24 * 60.0  # more than a whole day on one operation is a slip of the pen


@dataclass(frozen=True, slots=True)
class SeamMinutes:
    """A seam with its minutes; they stand beside, not in, the linking of a person who gave it as a whole."""

    seam: Seam
    minutes: Figure


@dataclass(frozen=True, slots=True)
class OperationMinutes:
    """An operation, how many of it, and the minutes of all of them."""

    operation: Operation
    count: int
    minutes: Figure


@dataclass(frozen=True, slots=True)
class MakeupSheet:
    """Make-up of one piece: seams, operations, minutes by group (all groups, in order) and together."""

    seams: tuple[SeamMinutes, ...]
    operations: tuple[OperationMinutes, ...]
    group_minutes: Mapping[str, Figure]
    total: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "seams": [{**each.seam.as_dict(), "minutes": each.minutes.as_dict()} for each in self.seams],
            "operations": [
                {
                    "operation": each.operation.key,
                    "words": each.operation.words,
                    "group": each.operation.group,
                    "count": each.count,
                    "minutes": each.minutes.as_dict(),
                }
                for each in self.operations
            ],
            "groups": {group: minutes.as_dict() for group, minutes in self.group_minutes.items()},
            "total": self.total.as_dict(),
        }


def makeup_minutes(
    seams: Sequence[Seam] | None,
    own: Mapping[str, float] = MappingProxyType({}),
    *,
    timed: Collection[str] = (),
    counts: Mapping[str, int] = MappingProxyType({}),
) -> MakeupSheet:
    """Minutes of make-up per piece.

    Args:
        seams: the seams; an empty sequence when nothing is joined; None when they are not known yet, and the usual
            linking minutes stand in for them.
        own: minutes per piece by operation key or seam name. "linking" replaces all seams together. For an
            operation that is counted (a button) the minutes are for one; work that a plain pullover does not have
            is then there once.
        timed: those of `own` that were timed on a clock.
        counts: how many of an operation, where that is not the usual count.

    Raises:
        Problem: own minutes or a count for something that is not in the garment, or below zero.
    """
    own_figures = _own_figures(seams or (), own, timed)
    joined = tuple(SeamMinutes(seam, own_figures.get(seam.name, seam.minutes())) for seam in seams or ())
    done = _operations_done(seams, own_figures, counts)
    groups = {group: _group(group, joined, done, own_figures) for group in GROUPS}
    together = _added("make-up minutes", groups.values(), words="all groups of make-up together")
    return MakeupSheet(joined, done, MappingProxyType(groups), together)


def _own_figures(seams: Sequence[Seam], own: Mapping[str, float], timed: Collection[str]) -> dict[str, Figure]:
    """Own minutes as figures, under the key or seam name they replace."""
    names = [seam.name for seam in seams]
    if len(set(names)) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        raise Problem(
            "make-up", f"{names.count(twice)} seams are called “{twice}”.", tries=["a name of its own for each"]
        )
    known = [*operations(), *names]
    for name in (*own, *timed):
        if name not in known:
            raise Problem(
                "make-up", f"“{name}” is no operation or seam of this garment.", tries=[f"one of {', '.join(known)}"]
            )
    return {name: _own_figure(name, minutes, is_timed=name in timed) for name, minutes in own.items()}


def _own_figure(name: str, minutes: float, *, is_timed: bool) -> Figure:
    if not 0 <= minutes <= DAY_MIN:
        raise Problem(
            f"make-up, {name}",
            f"{minutes:g} minutes; an operation takes between 0 and {DAY_MIN:g}.",
            tries=["give the minutes of one piece"],
        )
    if is_timed:
        return Figure(name, minutes, "min", minutes, minutes, Basis.MEASURED, Why("your own minutes, timed on a clock"))
    return entered(name, minutes, "min", words="your own minutes")


def _operations_done(
    seams: Sequence[Seam] | None, own: Mapping[str, Figure], counts: Mapping[str, int]
) -> tuple[OperationMinutes, ...]:
    """Operations that the garment has, the usual ones and those counted; linking only while the seams are unknown."""
    for key, count in counts.items():
        if key not in operations():
            raise Problem("make-up", f"“{key}” is no operation.", tries=[f"one of {', '.join(operations())}"])
        if count < 0:
            raise Problem(f"make-up, {key}", f"{count} of them; the least is 0.", tries=["leave it out"])
    done = []
    for key, operation in operations().items():
        if key == LINKING and seams is not None and key not in own:
            continue
        count = counts.get(key, max(operation.usual_count, int(key in own)))
        if count:
            done.append(OperationMinutes(operation, count, _times(own.get(key, operation.minutes), count)))
    return tuple(done)


def _times(minutes: Figure, count: int) -> Figure:
    if count == 1:
        return minutes
    words = f"{count} times {minutes.value:g} min"
    return linear(minutes.name, count * minutes.value, "min", [Term("t", minutes, count)], words=words, formula="n·t")


def _group(
    group: str, joined: Sequence[SeamMinutes], done: Iterable[OperationMinutes], own: Mapping[str, Figure]
) -> Figure:
    """Minutes of one group of work."""
    parts = [each.minutes for each in done if each.operation.group == group]
    if group == LINKING and LINKING not in own:
        parts += _seam_parts(joined, own)
    return _added(group, parts, words=f"{group}, all its work together")


def _seam_parts(joined: Sequence[SeamMinutes], own: Mapping[str, Figure]) -> list[Figure]:
    """Linking as independent parts: each joining method once, for its seams share one rate; then own minutes."""
    parts = []
    usual = [each.seam for each in joined if each.seam.name not in own]
    for method in dict.fromkeys(seam.method for seam in usual):
        alike = [seam for seam in usual if seam.method == method]
        amount, pick_ups = sum(seam.amount for seam in alike), sum(seam.count for seam in alike)
        parts.append(method_minutes(method, amount=amount, pick_ups=pick_ups))
    return parts + [each.minutes for each in joined if each.seam.name in own]


def _added(name: str, parts: Iterable[Figure], *, words: str) -> Figure:
    """Sum of independent minutes; one part alone keeps its own reason."""
    carrying = [part for part in parts if part.high > 0]
    if not carrying:
        return no_minutes(name)
    if len(carrying) == 1:
        return carrying[0].named(name)
    terms = [Term(part.name, part) for part in carrying]
    return linear(name, sum(part.value for part in carrying), "min", terms, words=words, formula="Σ t")
