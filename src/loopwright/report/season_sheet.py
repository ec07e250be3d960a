"""The sheet of a season: its lede, its styles in order of what they cost, machine hours, yarn, and what needs you.

In: a `Season`, pictures by name (`season_pictures`), and the address of every style's page. Out: a `Sheet` of the usual
blocks. Numbers stay figures; nothing is reckoned here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from loopwright.figure import Figure, plain, shown
from loopwright.problems import Finding, Sign
from loopwright.report.blocks import Block, Cell, Chance, Findings, Lines, Link, Picture, Section, Sentence, Table
from loopwright.report.season_pictures import colour_words, gauge_words, machine_words
from loopwright.report.sheet import FOOT, Sheet
from loopwright.season.lots import Lot, Standing
from loopwright.season.rows import Key, StyleRow
from loopwright.season.season import OrdersValue, Season

OPEN = "open"  # stands where a style gives no figure yet
EMPTY = "No style yet. Add one, and its price, hours and yarn appear here."
NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve")


def season_sheet(
    season: Season, pictures: Mapping[str, str] | None = None, hrefs: Mapping[Key, str] | None = None
) -> Sheet:
    """The sheet of a season: `pictures` as `season_pictures` draws them, `hrefs` lead to the pages of its styles."""
    drawn, pages = dict(pictures or {}), dict(hrefs or {})
    sections = (_styles(season, pages), _hours(season, drawn), _yarn(season, drawn), _findings(season))
    return Sheet(
        title=season.name,
        subtitle=_count(len(season.rows), "style").lower(),
        brief=_brief(season),
        lede=lede(season),
        under_lede=(),
        sections=tuple(section for section in sections if section is not None),
        foot=FOOT,
    )


def lede(season: Season) -> Sentence:
    """One or two sentences that carry the answer."""
    if not season.rows:
        return Sentence((EMPTY,))
    parts: list[Cell] = [f"{_count(len(season.rows), 'style')}, {plain(season.pieces, 0)} pieces"]
    for value in season.values:
        parts += [" and " if value is not season.values[0] else ", ", _whole(value)]
    parts.append(". ")
    if season.hours is not None:
        parts += ["They take ", season.hours, " of machine time"]
        parts += [" and ", season.yarn_kg, " of yarn. "] if season.yarn_kg is not None else [". "]
    parts.append(_open_words(season))
    return Sentence(tuple(part for part in parts if part))


def _whole(value: OrdersValue) -> Figure:
    """A sum of money with the digits that its spread supports, not to the cent."""
    return replace(value.figure, unit=f"{value.currency} free on board")


def _open_words(season: Season) -> str:
    """What keeps the season from being bought and ordered as it stands."""
    said = []
    unpriced = sum(row.price is None for row in season.rows)
    if unpriced:
        said.append(f"{_count(unpriced, 'style')} {'has' if unpriced == 1 else 'have'} no price yet.")
    short = sum(lot.standing is Standing.SHORT for lot in season.lots)
    if short:
        of_all = "the one lot" if len(season.lots) == 1 else f"{_count(short, '')}of {_count(len(season.lots), 'lot')}"
        said.append(f"{of_all.capitalize()} of yarn {'is' if short == 1 else 'are'} under a usual dye lot.")
    return " ".join(said)


def _count(number: int, noun: str) -> str:
    words = NUMBERS[number] if number < len(NUMBERS) else plain(number, 0)
    return f"{words} {noun}{'s' * (number != 1 and bool(noun))}"


def _brief(season: Season) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    values = ((f"Orders, {value.currency}", shown(_whole(value))) for value in season.values)
    pairs = (("Styles", str(len(season.rows))), ("Pieces", plain(season.pieces, 0)), *values)
    machines = tuple((gauge_words(gauge.gauge), machine_words(gauge) or OPEN) for gauge in season.gauges)
    groups = (("Season", pairs), ("Machines at once", machines))
    return tuple(group for group in groups if group[1])


def _styles(season: Season, hrefs: Mapping[Key, str]) -> Section | None:
    if not season.rows:
        return None
    head = (
        "Style",
        "what",
        "gauge",
        "pieces",
        "price free on board",
        "target",
        "target met",
        "machine h",
        "yarn kg",
        "next",
    )
    rows = [_style_cells(row, season.labels[row.key], hrefs) for row in season.rows]
    table = Table(head, (*rows, _total_cells(season)), words=(0, 1, 6, 9), strong=frozenset({len(rows)}))
    blocks: list[Block] = [table]
    if any(row.minutes or row.grams for row in season.rows):
        blocks.append(_piece_table(season))
    short = str(len(season.rows))
    return Section("styles", "Styles", "in order of what they cost", tuple(blocks), short=short)


def _style_cells(row: StyleRow, label: str, hrefs: Mapping[Key, str]) -> tuple[Cell, ...]:
    what = f"{row.name}, {row.structure}" if row.structure else row.name
    return (
        Link(label, hrefs[row.key]) if row.key in hrefs else label,
        what,
        OPEN if row.gauge is None else f"{row.gauge:g}",
        OPEN if row.pieces is None else plain(row.pieces, 0),
        row.price or OPEN,
        "" if row.target is None else plain(row.target, 2),
        "" if row.chance is None else Chance(row.chance),
        plain(row.hours.value, 0) if row.hours else OPEN,
        plain(row.yarn_kg.value, 0) if row.yarn_kg else OPEN,
        next_words(row),
    )


def next_words(row: StyleRow) -> str:
    """The next thing to do for a style, in a few words."""
    if row.misses:
        return f"name {' and '.join(row.misses)}"
    if row.next is None or row.next.sign is Sign.HOLDS:
        return "holds"
    return f"{row.next.sign.word}: {row.next.where}"


def _total_cells(season: Season) -> tuple[Cell, ...]:
    hours = plain(season.hours.value, 0) if season.hours else ""
    kg = plain(season.yarn_kg.value, 0) if season.yarn_kg else ""
    return ("Season", "", "", plain(season.pieces, 0), "", "", "", hours, kg, "")


def _piece_table(season: Season) -> Table:
    """What one mean piece of every style takes, and what its order comes to."""
    rows: list[tuple[Cell, ...]] = [
        (season.labels[row.key], row.minutes or OPEN, row.grams or OPEN, _order(row) or OPEN) for row in season.rows
    ]
    return Table(("A piece takes", "machine time", "yarn in it", "the order comes to"), tuple(rows))


def _order(row: StyleRow) -> Figure | None:
    """Value of the order with the digits that its spread supports."""
    return replace(row.value, unit=f"{row.currency} free on board") if row.value else None


def _hours(season: Season, drawn: Mapping[str, str]) -> Section | None:
    if season.hours is None:
        return None
    labels = season.labels
    rows: list[tuple[Cell, ...]] = []
    for gauge in season.gauges:
        names = ", ".join(labels[key] for key, _ in gauge.parts)
        need: Cell = gauge.machines.figure if gauge.machines else OPEN
        rows.append((gauge_words(gauge.gauge), names, gauge.hours, gauge.days, need, machine_words(gauge) or OPEN))
    head = ("Gauge", "styles", "hours", "one machine takes", "machines", "whole")
    table = Table(head, tuple(rows), caption=HOURS_CAPTION, words=(0, 1))
    tally = "from the strokes, stops included; whisker: nine in ten"
    blocks = (*_picture("season-hours", drawn), table)
    return Section("hours", "Machine hours", tally, blocks, short=f"{shown(season.hours)} h")


HOURS_CAPTION = (
    "A gauge cannot stand in for another. Machines are those that knit all styles of the gauge in the same days; "
    "a style that says no days is in the hours alone."
)


def _yarn(season: Season, drawn: Mapping[str, str]) -> Section | None:
    if not season.lots or season.yarn_kg is None:
        return None
    rows = tuple(
        (
            f"{lot.yarn}, {lot.count}",
            colour_words(lot),
            lot.kg,
            plain(lot.cones, 0),
            _parts(lot, season),
            _standing(lot),
        )
        for lot in season.lots
    )
    head = ("Yarn to buy", "colour", "kg", "cones of 1 kg", "for", "dye lot")
    blocks = (*_picture("season-yarn", drawn), Table(head, rows, words=(0, 1, 4, 5)), Lines((LOT_LINE,)))
    tally = "losses and repairs included"
    return Section("yarn", "Yarn to buy", tally, blocks, short=f"{shown(season.yarn_kg)} kg")


LOT_LINE = (
    "Styles that share a yarn and a colour buy it together. A colour that is not named is bought apart. What dyers ask "
    "for a lot is trade habit until yours has said it."
)


def _parts(lot: Lot, season: Season) -> str:
    """Styles of a lot with the share of each."""
    labels, shares = season.labels, lot.shares
    if len(shares) == 1:
        return ", ".join(labels[key] for key in shares)
    return ", ".join(f"{labels[key]} {plain(100 * share, 0)} %" for key, share in shares.items())


def _standing(lot: Lot) -> str:
    if lot.standing is Standing.SHORT:
        return f"{plain(lot.short_kg, 0)} kg short of {plain(lot.least_kg.value, 0)}"
    return f"{lot.standing.value}, together only" if lot.is_lifted else lot.standing.value


def _findings(season: Season) -> Section | None:
    """What the season asks, then the most consequential finding of every style that needs you."""
    found = (*season.findings, *_of_styles(season))
    if not found:
        return None
    ordered = tuple(sorted(found, key=lambda finding: (finding.sign, -finding.weight)))
    needs = sum(finding.sign <= Sign.DECIDE for finding in ordered)
    tally = f"{needs} to mend or decide" if needs else "nothing to decide"
    return Section("findings", "What needs you", tally, (Findings(ordered),), short=str(len(ordered)))


def _of_styles(season: Season) -> list[Finding]:
    """The first thing of every style to decide; what several styles ask alike is said once. Stops are the season's."""
    labels = season.labels
    asking: dict[Finding, list[str]] = {}
    for row in season.rows:
        if row.next is not None and row.next.sign is Sign.DECIDE:
            asking.setdefault(row.next, []).append(labels[row.key])
    return [replace(finding, where=f"{_listed(names)}, {finding.where}") for finding, names in asking.items()]


def _listed(names: Sequence[str]) -> str:
    """Names in a row, the first few of many."""
    if len(names) <= MOST_NAMES:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"


MOST_NAMES = 4


def _picture(name: str, drawn: Mapping[str, str]) -> tuple[Block, ...]:
    return (Picture(name, drawn[name]),) if name in drawn else ()
