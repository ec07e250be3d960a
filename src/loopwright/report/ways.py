"""Ways of making as a section of the sheet, and as one document: ranked by price, those that cannot be made below.

In: `StyleStudy`, its ways. Out: `Section`, JSON form. A study does not hold its ways, so they are handed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from loopwright import __version__
from loopwright.figure import Figure, plain
from loopwright.problems import Problem
from loopwright.report.blocks import Block, Cell, Note, Section, Sentence, Steps, Table
from loopwright.report.tables import capital
from loopwright.study.study import StyleStudy
from loopwright.study.ways.compare import Against, against_own, in_order
from loopwright.study.ways.way import Way

KEY, HEADING = "ways", "Ways of making"
FORMAT = "loopwright ways 1"


def ways_section(study: StyleStudy, ways: Sequence[Way]) -> Section | None:
    """The section; none while there is no way to show."""
    able = in_order(ways)
    if not able:
        return None
    beside = against_own(ways)
    blocks: list[Block] = [_sentence(study, ways), _table(able)]
    if beside:
        blocks.append(_beside(beside))
    refused = tuple(_refusal(way.kind.name, way.why_not) for way in ways if way.why_not is not None)
    if refused:
        blocks.append(Table(("Cannot be made as the style stands", "why", "try"), refused, words=(0, 1, 2)))
    blocks += _rests(able)
    tally = f"{len(able)} of {len(ways)} can be made"
    return Section(KEY, HEADING, tally, tuple(blocks), _notes(able), short=f"{len(able)}/{len(ways)}")


def ways_document(study: StyleStudy, ways: Sequence[Way]) -> dict[str, Any]:
    """All ways, each with what sets it apart from the chosen one (docs/json.md)."""
    beside = {each.way.kind.key: each.as_dict() for each in against_own(ways)}
    return {
        "format": FORMAT,
        "program_version": __version__,
        "style": study.style.style.model_dump(mode="json"),
        "pieces": study.style.order.pieces if study.style.order else None,
        "currency": study.pricing.sheet.currency if study.pricing else None,
        "ways": [{**way.as_dict(), "against_chosen": beside.get(way.kind.key)} for way in ways],
        "refused": [problem.as_dict() for problem in study.refused],
    }


def _sentence(study: StyleStudy, ways: Sequence[Way]) -> Sentence:
    """The cheapest and the chosen, in one sentence."""
    able = in_order(ways)
    first, own = able[0], next((way for way in able if way.is_own), None)
    if own is None or own.price is None or first.price is None or study.pricing is None:
        many = f"{len(able)} of {len(ways)} ways can be made"
        return Sentence((f"{many}; an order, prices and a machine rank them by price.",))
    at = f"At {plain(study.pricing.sheet.pieces, 0)} pieces "
    if first is own:
        return Sentence((f"{at}no way is cheaper than this style's own, {own.kind.name}, at ", own.price, "."))
    return Sentence(
        (f"{at}{first.kind.name} is the cheapest way, at ", first.price, f"; {own.kind.name} costs ", own.price, ".")
    )


def _table(able: Sequence[Way]) -> Table:
    rows = tuple(_row(way) for way in able)
    strong = frozenset(index for index, way in enumerate(able) if way.is_own)
    head = ("Way", "FOB", "yarn", "waste", "of it", "knitting", "make-up", "programming")
    return Table(head, rows, caption="Bold: as the style is made now.", strong=strong)


def _row(way: Way) -> tuple[Cell, ...]:
    needs = way.needs
    assert needs is not None
    share = f"{plain(100 * way.waste_share.value, 0)} %" if way.waste_share else ""
    figures: tuple[Figure | None, ...] = (way.price, way.yarn_g, way.waste_g)
    work = (needs.knitting_minutes, needs.makeup_minutes, needs.programming_hours)
    return (capital(way.kind.name), *(each or "" for each in figures), share, *(each or "" for each in work))


def _beside(beside: Sequence[Against]) -> Table:
    rows = tuple((capital(each.way.kind.name), _difference(each), each.cost_words, each.words) for each in beside)
    return Table(("Against the style's own", "a piece", "direct cost", "by quantity"), rows, words=(0, 2, 3))


def _difference(against: Against) -> str:
    if not against.dearer:
        return "the same"
    return f"{plain(float(abs(against.dearer)), 2)} {'more' if against.dearer > 0 else 'less'}"


def _rests(able: Sequence[Way]) -> Iterator[Steps]:
    """What is done in each way, what its minutes and losses rest on, and what to know of it."""
    for way in able:
        needs = way.needs
        assert needs is not None
        rests = zip(["rests on", *[""] * len(needs.rests_on)], needs.rests_on, strict=False)
        said = [("done", way.kind.words), *rests]
        said += [("know", f"{finding.sentence} Try: {'; '.join(finding.tries)}.") for finding in needs.findings]
        if len(said) > 1:
            yield Steps(capital(way.kind.name), tuple(said))


def _refusal(name: str, problem: Problem) -> tuple[str, str, str]:
    limit = f" Limit: {problem.limit}." if problem.limit else ""
    return capital(name), f"{capital(problem.what)}{limit}", "; ".join(problem.tries)


def _notes(able: Sequence[Way]) -> tuple[Note, ...]:
    made = [Note("One rate card", "Every machine is priced at the machine hour of this style; ask for each its own.")]
    wasteful = max(able, key=lambda way: way.waste_share.value if way.waste_share else 0.0)
    if wasteful.waste_g is not None and wasteful.waste_share is not None:
        said = f"{capital(wasteful.kind.name)} wastes most: {wasteful.waste_g.text()} of every piece's yarn."
        made.append(Note("Waste", said))
    return tuple(made)
