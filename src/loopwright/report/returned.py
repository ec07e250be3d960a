"""Garments that came back, as a report and as one document: measures, mass, faults, and what the lot is worth.

In: `Returned`, or the bytes of a table of pieces. Out: `Section`, JSON form, `FileRead`. A figure carries its spread;
chances are said as chances. Not covered: the check itself (`study.returned`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from loopwright import __version__
from loopwright.figure import plain
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.garment.pieces import PiecesRead, pieces_of_rows
from loopwright.garment.table_text import rows_of_text, separator_of
from loopwright.report.blocks import Block, Cell, Chance, Findings, Note, Section, Table
from loopwright.report.table_files import FileRead, table_of_file
from loopwright.study.returned import ClassCheck, PointCheck, Returned, Verdict

KEY, HEADING = "returned", "Garments that came back"
FORMAT = "loopwright pieces 1"


def pieces_of_file(
    data: bytes, name: str, points: Sequence[str], *, sizes: Sequence[str], unit: str | None = None
) -> FileRead[PiecesRead]:
    """The pieces in a CSV or XLSX file.

    Raises:
        Problem: no such file, one that cannot be read, or no table of pieces in it.
    """
    return table_of_file(
        data,
        name,
        "table of pieces",
        of_text=lambda text: pieces_of_text(text, points, sizes=sizes, unit=unit),
        of_rows=lambda rows: pieces_of_rows(rows, points, sizes=sizes, unit=unit),
    )


def pieces_of_text(text: str, points: Sequence[str], *, sizes: Sequence[str], unit: str | None = None) -> PiecesRead:
    """The pieces in pasted text, its cells parted by tabs, semicolons or commas.

    Raises:
        Problem: no table of pieces in it.
    """
    return pieces_of_rows(rows_of_text(text, separator_of(text)), points, sizes=sizes, unit=unit)


def lede_of(returned: Returned) -> str:
    """One sentence: whether the lot passes, and what is most off."""
    count = len(returned.pieces)
    seen = f"{count} piece{'' if count == 1 else 's'}"
    beyond = sum(1 for each in returned.points if each.beyond)
    off = f"{beyond} of {len(returned.points)} measures lie beyond their tolerance" if beyond else "all measures hold"
    match returned.verdict:
        case Verdict.FAILS:
            return f"The lot does not pass: {off} on {seen}."
        case Verdict.PASSES:
            return f"The lot passes on {seen}; {off}."
        case Verdict.OPEN:
            return f"On {seen}, {off}; that is too few to pass a lot." if returned.lot_pieces else f"On {seen}, {off}."


def returned_section(returned: Returned) -> Section:
    """The report: findings, measures by size, mass, faults against the sampling plans."""
    blocks: list[Block] = []
    if returned.findings:
        blocks.append(Findings(returned.findings))
    blocks += _measures(returned.points)
    if returned.masses:
        blocks.append(_masses(returned))
    if returned.classes:
        blocks.append(_classes(returned.classes))
    tally = f"{len(returned.pieces)} pieces" + (f" of {returned.lot_pieces}" if returned.lot_pieces else "")
    return Section(KEY, HEADING, tally, tuple(blocks), tuple(_notes(returned)))


def _measures(points: Sequence[PointCheck]) -> Iterator[Table]:
    head = ("Size and point", "wanted, cm", "pieces, cm", "mean off, cm", "beyond", "next piece beyond")
    rows: list[tuple[Cell, ...]] = []
    strong = set()
    for check in points:
        if check.beyond:
            strong.add(len(rows))
        name = f"{check.size}  {letter_of_point(check.point)} {words_of(check.point)}"
        wanted = f"{plain(check.wanted_cm, 1)} ± {check.tolerance_cm:g}"
        off = f"{_signed(check.off_cm)} ± {plain(check.off_spread_cm, 1)}"
        beyond = f"{check.beyond} of {len(check.values_cm)}"
        rows.append((name, wanted, _values(check.values_cm), off, beyond, Chance(check.next_beyond)))
    if rows:
        yield Table(head, tuple(rows), words=(0, 2), strong=frozenset(strong))


def _values(values: Sequence[float]) -> str:
    """Up to five readings, of more the least, the count and the largest."""
    if len(values) <= 5:
        return "; ".join(plain(value, 1) for value in values)
    return f"{plain(min(values), 1)} to {plain(max(values), 1)} ({len(values)} pieces)"


def _signed(value: float) -> str:
    text = plain(value, 1)
    return f"+{text}" if value > 0 and float(text) != 0 else text


def _masses(returned: Returned) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (f"Mass, {each.size}", each.expected, _values(each.values_g), plain(each.mean_g, 0)) for each in returned.masses
    ]
    return Table(("Mass", "yarn in a piece by the study", "pieces, g", "mean, g"), tuple(rows), words=(0, 2))


def _classes(classes: Sequence[ClassCheck]) -> Table:
    head = ("Faults", "faulty", "accepted", "looked at", "plan", "share of lot, nine in ten", "worse than AQL", "lot")
    rows: list[tuple[Cell, ...]] = []
    for each in classes:
        plan = each.plan
        low, high = (100 * each.share_at(share) for share in (0.05, 0.95))
        name = f"{each.fault.value.capitalize()}, AQL {plan.aql_percent:g}"
        rows.append(
            (
                name,
                str(len(each.faulty)),
                str(plan.accept),
                str(each.looked_at),
                f"{plan.letter}, {plan.sample_pieces}",
                f"{plain(low, 1)} to {plain(high, 1)} %",
                Chance(each.worse_than_aql) if plan.aql_percent else "",
                each.verdict.value,
            )
        )
    return Table(head, tuple(rows), caption="Sampling by ISO 2859-1, level II, normal", words=(0, 7))


def _notes(returned: Returned) -> Iterator[Note]:
    yield Note(
        "How the next piece is judged",
        "The spread of a point is that of the pieces seen, pooled with a usual one (0.4 of the tolerance, worth four "
        "pieces, assumed). Nine cases in ten.",
    )
    if returned.masses:
        words = "The study's mass is the knitted yarn alone; trims, labels and moisture are not in it."
        yield Note("Mass", words)
    if not returned.lot_pieces:
        yield Note("Lot", "No lot was named, so no sampling plan applies. An order in the style, or --lot, gives one.")


def returned_document(returned: Returned, file: FileRead[PiecesRead] | None = None) -> dict[str, Any]:
    """All of it as JSON (docs/json.md)."""
    read = file.table if file else None
    return {
        "format": FORMAT,
        "program_version": __version__,
        "lot_pieces": returned.lot_pieces,
        "verdict": returned.verdict.value,
        "pieces": [
            {
                "name": piece.name,
                "size": piece.size,
                "colour": piece.colour,
                "measures_cm": dict(piece.measures_cm),
                "mass_g": piece.mass_g,
                "faults": [{"class": fault.value, "words": words} for fault, words in piece.faults],
            }
            for piece in returned.pieces
        ],
        "points": [_point(each) for each in returned.points],
        "masses": [
            {"size": each.size, "expected_g": each.expected.as_dict(), "values_g": list(each.values_g)}
            for each in returned.masses
        ],
        "fabric_off_percent": [
            {"along": each.along, "percent": each.percent, "spread_percent": each.spread_percent}
            for each in returned.drifts
        ],
        "faults": [_class(each) for each in returned.classes],
        "findings": [each.as_dict() for each in returned.findings],
        "unit": read.unit if read else None,
        "not_read": [
            {"row": note.row, "column": note.column, "text": note.text, "reason": note.reason}
            for note in (read.refused if read else ())
        ],
    }


def _point(check: PointCheck) -> dict[str, Any]:
    return {
        "size": check.size,
        "point": check.point,
        "wanted_cm": check.wanted_cm,
        "tolerance_cm": check.tolerance_cm,
        "values_cm": list(check.values_cm),
        "off_cm": check.off_cm,
        "off_spread_cm": check.off_spread_cm,
        "beyond": check.beyond,
        "next_beyond": check.next_beyond,
    }


def _class(check: ClassCheck) -> dict[str, Any]:
    return {
        "class": check.fault.value,
        "plan": check.plan.as_dict(),
        "looked_at": check.looked_at,
        "faulty": list(check.faulty),
        "verdict": check.verdict.value,
        "missing_pieces": check.missing,
        "share_low": check.share_at(0.05),
        "share_high": check.share_at(0.95),
        "worse_than_aql": check.worse_than_aql,
        "good_lot_passes": check.good_lot_passes,
    }
