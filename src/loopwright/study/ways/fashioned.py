"""Fully fashioned panels, linked or cup-seamed: the study's own panels, joined in one of two ways.

In: `StyleStudy`, the method. Out: `Needs` of a mean piece of the order; for the style's own method exactly those of its
price. Main assumption: panels do not change with the seam; what a cup seam takes in at the edges is a finding.
Source: production reference 3.1, 6.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from loopwright.figure import Figure, Term, linear, plain
from loopwright.makeup.minutes import MakeupSheet, makeup_minutes
from loopwright.makeup.operations import operations
from loopwright.makeup.seams import Seam
from loopwright.problems import Finding, Sign
from loopwright.sources.table import Row, table
from loopwright.study.knitting import CUP_SEAM, EDGES, SizeStudy, seams_of, weighted
from loopwright.study.making import button_counts
from loopwright.study.pricing import losses_of, mean_grams, mean_makeup, programming_hours, with_linking
from loopwright.study.study import StyleStudy
from loopwright.study.ways.way import Needs, Supply


def fashioned(study: StyleStudy, method: str) -> Needs:
    """Panels as the study has them, with the seams of a method."""
    mix = mix_of(study)
    grams = with_linking(mean_grams(mix))
    sheets = [(share, _sheet(study, size, method)) for share, size in mix]
    own = method == study.style.construction.method
    return Needs(
        supplies=tuple(Supply(name, each, losses_of(study.style, name)) for name, each in grams.items()),
        knitting_minutes=study.minutes,
        makeup=mean_makeup(sheets),
        makeup_minutes=total_makeup(sheets),
        programming_hours=programming_hours(study.style, len(study.sizes), study.fabrics),
        rests_on=() if own else dropped_words(study, _unchanged(mix[0][1], method)),
        findings=_taken_in(study) if EDGES[method] == CUP_SEAM else (),
    )


def mix_of(study: StyleStudy) -> list[tuple[float, SizeStudy]]:
    """Worked sizes with their shares of the order; sizes that are not ordered are left out."""
    return [(study.shares[size.size], size) for size in study.sizes if study.shares[size.size] > 0]


def total_makeup(sheets: Sequence[tuple[float, MakeupSheet]]) -> Figure:
    """All make-up minutes of a mean piece."""
    return weighted("make-up minutes", [(share, sheet.total) for share, sheet in sheets], "min")


def _sheet(study: StyleStudy, size: SizeStudy, method: str) -> MakeupSheet:
    if method == study.style.construction.method:
        return size.makeup
    seams = seams_of(size.plan, EDGES[method])
    return other_makeup(study, seams, _unchanged(size, method))


def _unchanged(size: SizeStudy, method: str) -> set[str]:
    """Work that is the same as in the style's own way: all operations but linking as a whole, and equal seams."""
    alike = set(size.seams) & set(seams_of(size.plan, EDGES[method]))
    return {*operations(), *(seam.name for seam in alike)} - {"linking"}


def other_makeup(
    study: StyleStudy, seams: Sequence[Seam], same: Collection[str], counts: Mapping[str, int] | None = None
) -> MakeupSheet:
    """Make-up of another way: the person's own minutes only for work that is the same there."""
    kept = {name: minutes for name, minutes in study.style.make_up_minutes.items() if name in same}
    buttons = study.style.garment.buttons if study.style.garment else 0
    counted = button_counts(buttons) | dict(counts or {})
    return makeup_minutes(seams, {name: each for name, each in kept.items() if counted.get(name) != 0}, counts=counted)


def dropped_words(study: StyleStudy, same: Collection[str]) -> tuple[str, ...]:
    """The person's own minutes that another way cannot use."""
    dropped = [name.replace("_", " ") for name in study.style.make_up_minutes if name not in same]
    own = study.style.construction.method
    return (f"your own minutes of {', '.join(dropped)} are for “{own}” and not used here",) if dropped else ()


def _taken_in(study: StyleStudy) -> tuple[Finding, ...]:
    """What a cup seam takes in at the two edges of a panel."""
    wales = ways_row("cup_seam_wales")
    per_cm = study.fabrics["body"].geometry.needles_per_cm.value
    least, most = (plain(2 * wales[f"value_{end}"] / per_cm, 1) for end in ("low", "high"))
    sentence = (
        f"A cup seam takes {wales['value_low']:g} to {wales['value_high']:g} wales of each edge: panels come {least} "
        f"to {most} cm narrower than linked ones, {plain(per_cm, 1)} needles to a cm."
    )
    tries = (f"{2 * wales['value_high']:g} needles more in panels seamed at both edges",)
    return (Finding(Sign.KNOW, "cup seam", sentence, tries, weight=0.2, source=wales.source),)


def ways_row(name: str) -> Row:
    """A row of the table of ways by name."""
    return table("loopwright.study", "ways").by("quantity")[name]


def added_minutes(name: str, parts: Sequence[Figure], words: str) -> Figure:
    """Minutes of parts knitted on different machines, together."""
    terms = [Term("t", part) for part in parts]
    return linear(name, sum(part.value for part in parts), "min", terms, words=words, formula="Σ t")


def per_cent(share: float) -> str:
    """A share as printed: "30 %"."""
    return f"{plain(100 * share, 0)} %"
