"""Two styles on one sheet, and as one document: differences first, what is alike folded, then both in one layout.

In: `Compared`. Out: a `Sheet` of the usual blocks for every format, JSON form (docs/json.md). Nothing is reckoned here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from loopwright import __version__
from loopwright.cost.sheet import CostSheet
from loopwright.draw.season import Bar, prices_picture
from loopwright.figure import Figure, plain
from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import letter_of_point, tolerance_cm, words_of
from loopwright.report import brief
from loopwright.report.blocks import Block, Cell, Findings, Lines, Picture, Section, Sentence, Steps, Table
from loopwright.report.sheet import FOOT, Sheet
from loopwright.report.tables import capital, cm_text, fabric_rows
from loopwright.study.compared import Compared, CompareRow, Verdict, zone_groups
from loopwright.study.study import StyleStudy
from loopwright.study.ways.compare import GROUPS

FORMAT = "loopwright comparison 1"
NONE = "–"
ALL_ELSE = "all else"
OF_DIFFERENCES = (
    "A difference is sure when nine cases in ten of it lie on one side of nothing. What both rest on alike is taken "
    "out of its spread; all else, and the cloth of two yarns, is taken as independent."
)


def comparison_sheet(compared: Compared) -> Sheet:
    """The sheet of two styles."""
    makers = (_differences, _decided, _price, _yarn, _fabric, _sizes, _minutes, _only, _stops)
    sections = [section for make in makers for section in make(compared)]
    first, second = compared.names
    titles = [study.style.style.name for study in (compared.first, compared.second)]
    return Sheet(
        title=f"{first} and {second}",
        subtitle=" · ".join(dict.fromkeys(titles)),
        brief=_brief(compared),
        lede=lede(compared),
        under_lede=(),
        sections=tuple(sections),
        foot=f"{FOOT} {OF_DIFFERENCES}",
    )


def _brief(compared: Compared) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """What each of the two is, in a few facts."""
    made = []
    for name, study in zip(compared.names, (compared.first, compared.second), strict=True):
        header = study.style.style
        facts = [("Name", header.name), ("Number", header.number), ("Season", header.season)]
        facts += [pair for group, pairs in brief.groups(study) if group == "Structure and gauge" for pair in pairs]
        made.append((name, tuple(pair for pair in facts if pair[1])))
    return tuple(made)


def lede(compared: Compared) -> Sentence:
    """The price apart, then mass and minutes, in two sentences."""
    first, second = compared.names
    if compared.is_alike:
        return Sentence((f"{capital(first)} and {second} do not differ in anything that was compared.",))
    parts: list[Cell] = []
    price = compared.row("price")
    if price is None or price.difference is None:
        why = price.missing if price else "neither has one"
        parts.append(f"The prices cannot be compared: {why}.")
    elif price.verdict is Verdict.ALIKE:
        parts += [f"{capital(first)} and {second} both cost ", price.first or "", "."]
    else:
        more = "more" if price.difference.value > 0 else "less"
        parts += [f"{capital(second)} costs ", _size_of(price.difference), f" {more} than {first}{_open(price)}."]
    parts += _takes(compared)
    counts = {verdict: len(compared.of(verdict)) for verdict in Verdict}
    parts.append(
        f" Of {len(compared.rows)} quantities {counts[Verdict.DIFFERENT]} differ surely and "
        f"{counts[Verdict.OPEN]} not surely; {counts[Verdict.ALIKE]} are alike."
    )
    return Sentence(tuple(parts))


def _takes(compared: Compared) -> Iterator[Cell]:
    """What the second takes of yarn and machine time against the first."""
    said = [(compared.row("yarn_g"), "yarn"), (compared.row("knitting_min"), "machine time")]
    price = compared.row("price")
    whose = "It" if price and price.verdict in TOLD else capital(compared.names[1])
    told = [(row, row.difference, noun) for row, noun in said if row and row.difference and row.verdict in TOLD]
    for place, (row, gap, noun) in enumerate(told):
        yield f" {whose} takes " if place == 0 else " and "
        yield _size_of(gap)
        yield f" {'more' if gap.value > 0 else 'less'} {noun}{_open(row)}"
    if told:
        yield "."


TOLD = (Verdict.DIFFERENT, Verdict.OPEN)


def _open(row: CompareRow) -> str:
    return ", which is not sure" if row.verdict is Verdict.OPEN else ""


def _size_of(figure: Figure) -> Figure:
    """A difference without its sign."""
    return figure if figure.value >= 0 else replace(figure, value=-figure.value, low=-figure.high, high=-figure.low)


def _differences(compared: Compared) -> Iterator[Section]:
    rows = compared.of(*TOLD, Verdict.UNTOLD)
    first, second = compared.names
    blocks: list[Block] = []
    if drawn := price_picture(compared):
        blocks.append(Picture("prices", drawn))
    if rows:
        head = ("Differences first", first, second, f"{second} less {first}", "how sure")
        blocks.append(Table(head, tuple(_row(row) for row in rows), words=(0, 4)))
    else:
        blocks.append(Lines(("No quantity differs.",)))
    if lonely := tuple(_lonely(compared)):
        blocks.append(Lines(lonely))
    if alike := _alike(compared):
        blocks.append(Steps(f"Alike in both: {len(alike)}", alike))
    sure, unsure = (len(compared.of(verdict)) for verdict in TOLD)
    yield Section("differences", "What differs", f"{sure} surely · {unsure} not surely", tuple(blocks), short=str(sure))


def _lonely(compared: Compared) -> Iterator[str]:
    """Zones that only one of the two has."""
    for name, zones in zip(compared.names, compared.zones_of_one, strict=True):
        if zones:
            yield f"Only {name} has a cloth for: {', '.join(zones)}."


def _row(row: CompareRow) -> tuple[Cell, ...]:
    said = row.missing or ("sure" if row.verdict is Verdict.DIFFERENT else row.verdict.value)
    return capital(row.words), row.first or NONE, row.second or NONE, row.difference or NONE, said


def _alike(compared: Compared) -> tuple[tuple[str, str], ...]:
    """What is alike, quantities and then what was decided alike."""
    told = [(capital(row.words), row.first.text()) for row in compared.of(Verdict.ALIKE) if row.first]
    told += [(label, one) for label, one, two in _facts(compared) if one == two]
    return tuple(told)


def _facts(compared: Compared) -> Iterator[tuple[str, str, str]]:
    """(what was decided, the first's, the second's) of both briefs."""
    one, two = (_by_label(study) for study in (compared.first, compared.second))
    for label in in_one_order(list(one), list(two)):
        yield label, one.get(label, NONE), two.get(label, NONE)


def _by_label(study: StyleStudy) -> dict[str, str]:
    """Facts of the brief by label; a yarn by its place, since its name is what may differ."""
    facts: dict[str, str] = {}
    for group, pairs in brief.groups(study):
        yarns = 0
        for label, value in pairs:
            is_yarn = group == "Yarn" and label not in ("Fibre", "Price")
            yarns += is_yarn
            own = f"Yarn {yarns}" if group == "Yarn" else group.partition(" ")[0]
            place = own if is_yarn else f"{own}: {label.lower()}"
            facts[place] = f"{label}, {value}" if is_yarn else value
    return facts


def _decided(compared: Compared) -> Iterator[Section]:
    rows = tuple((label, one, two) for label, one, two in _facts(compared) if one != two)
    if rows:
        table = Table(("Decided", *compared.names), rows, words=(0, 1, 2))
        yield Section("decided", "Decided otherwise", "", (table,), short=str(len(rows)))


def price_picture(compared: Compared) -> str:
    """Both prices at one scale with their spread; nothing while they cannot be compared."""
    row, one, two = compared.row("price"), compared.first.pricing, compared.second.pricing
    if row is None or row.difference is None or one is None or two is None:
        return ""
    sheets = (one.sheet, two.sheet)
    if any(sheet.fob.figure.value <= 0 for sheet in sheets):  # a price of nothing has no scale
        return ""
    bars = [
        Bar(name, f"{plain(sheet.pieces, 0)} pieces", _parts(sheet), sheet.fob.figure, decimals=2)
        for name, sheet in zip(compared.names, sheets, strict=True)
    ]
    return prices_picture(bars, (*GROUPS, ALL_ELSE))


def _parts(sheet: CostSheet) -> tuple[tuple[str, float], ...]:
    """The price by groups of direct cost, and all else that stands on it."""
    groups = {
        name: sum(float(line.amount.amount) for line in sheet.lines if line.key.partition(" ")[0] in keys)
        for name, keys in GROUPS.items()
    }
    rest = float(sheet.fob.amount.amount) - sum(groups.values())
    return tuple((name, value) for name, value in {**groups, ALL_ELSE: max(rest, 0.0)}.items() if value > 0)


def _price(compared: Compared) -> Iterator[Section]:
    """The cost sheets line by line; lines that neither has are left out."""
    one, two = compared.first.pricing, compared.second.pricing
    if one is None or two is None or one.sheet.currency != two.sheet.currency:
        return
    sheets = [{line.key: line for line in each.sheet.lines} for each in (one, two)]
    rows: list[tuple[Cell, ...]] = []
    strong: set[int] = set()
    for key in in_one_order(list(sheets[0]), list(sheets[1])):
        lines = [sheet.get(key) for sheet in sheets]
        amounts = [float(line.amount.amount) if line else 0.0 for line in lines]
        if any(amounts):
            line = lines[0] or lines[1]
            strong |= {len(rows)} if line and line.part == "total" else set()
            words = capital(line.words) if line else key
            rows.append((words, *(plain(each, 2) for each in amounts), signed(amounts[1] - amounts[0], 2)))
    head = ("A piece", *compared.names, one.sheet.currency)
    table = Table(head, tuple(rows), strong=frozenset(strong), caption="Last column: the second less the first.")
    yield Section("price", "Price", "line by line, to the cent", (table,))


def in_one_order(first: Sequence[str], second: Sequence[str]) -> list[str]:
    """The keys of both, each once; what only the second has stands before what it precedes there.

    >>> in_one_order(["yarn a", "knitting", "wash"], ["yarn b", "knitting", "press", "wash"])
    ['yarn a', 'yarn b', 'knitting', 'press', 'wash']
    """
    keys = list(first)
    for place, key in enumerate(second):
        if key not in keys:
            following = next((each for each in second[place:] if each in first), None)
            keys.insert(keys.index(following) if following else len(keys), key)
    return keys


def signed(value: float, decimals: int) -> str:
    """A difference with its sign; nothing of it is a dash.

    >>> signed(1.5, 1), signed(-0.04, 1)
    ('+1.5', '–')
    """
    text = plain(value, decimals)
    if float(f"{value:.{decimals}f}") == 0:
        return NONE
    return f"+{text}" if value > 0 else text


def _yarn(compared: Compared) -> Iterator[Section]:
    """Every yarn of both in one table."""
    rows: list[tuple[Cell, ...]] = []
    for name, study in zip(compared.names, (compared.first, compared.second), strict=True):
        for key, yarn in study.yarns.items():
            price = study.style.yarns[key].price_per_kg
            currency = study.style.rates.get("currency", "EUR")
            paid = f"{plain(price, 2)} {currency}/kg" if price is not None else NONE
            counts = (yarn.counts()["tex"], yarn.diameter_mm)
            rows.append((name, yarn.name, yarn.count.label, yarn.blend.label, *counts, paid))
    if rows:
        head = ("Style", "yarn", "count", "fibre", "at the needle", "diameter", "price")
        yield Section("yarn", "Yarn", "", (Table(head, tuple(rows), words=(0, 1, 2, 3)),), short=str(len(rows)))


def _fabric(compared: Compared) -> Iterator[Section]:
    """A table for every group of zones that are one cloth in both."""
    blocks: list[Block] = []
    for zones in zone_groups(compared.first, compared.second):
        pair = [study.fabrics.get(zones[0]) for study in (compared.first, compared.second)]
        facts: list[tuple[Cell, ...]] = [
            ("Structure", *(fabric.structure.name if fabric else NONE for fabric in pair)),
            ("Yarn", *(fabric.yarn.name if fabric else NONE for fabric in pair)),
        ]
        rows = (*facts, *fabric_rows(pair))
        blocks.append(Table((capital(", ".join(zones)), *compared.names), tuple(rows)))
    if blocks:
        yield Section("fabric", "Fabric", "", tuple(blocks), short=str(len(blocks)))


def _sizes(compared: Compared) -> Iterator[Section]:
    """Measures of the base size beside each other, then what every common size differs by."""
    one, two = compared.first.size_table, compared.second.size_table
    if one is None or two is None:
        return
    sizes = [size for size in one.sizes if size in two.sizes]
    if not sizes:
        said = f"No size in common: {', '.join(one.sizes)} and {', '.join(two.sizes)}."
        yield Section("sizes", "Sizes", "", (Lines((said,)),))
        return
    names = [name for name in one.names if name in two.names]
    base = one.base_size if one.base_size in sizes else sizes[0]
    first = Table(
        ("Letter", f"size {base}, cm", *compared.names, "apart", "tolerance"),
        tuple(_measure(name, base, one, two) for name in names),
        words=(0, 1),
    )
    rows = [(words_of(name), *(signed(_apart(name, size, one, two), 1) for size in sizes)) for name in names]
    moved = tuple(row for row in rows if set(row[1:]) != {NONE})
    blocks: list[Block] = [first]
    if moved:
        blocks.append(Table(("Apart in cm, second less first", *sizes), moved))
    left = [name for name in (*one.names, *two.names) if name not in names]
    if left:
        blocks.append(Lines((f"Measures that only one has: {', '.join(words_of(name) for name in left)}.",)))
    yield Section("sizes", "Sizes", f"in common: {', '.join(sizes)}", tuple(blocks), short=str(len(sizes)))


def _apart(name: str, size: str, one: SizeTable, two: SizeTable) -> float:
    return two.value_cm(size, name) - one.value_cm(size, name)


def _measure(name: str, size: str, one: SizeTable, two: SizeTable) -> tuple[str, ...]:
    apart = _apart(name, size, one, two)
    values = (cm_text(table.value_cm(size, name)) for table in (one, two))
    return (letter_of_point(name), words_of(name), *values, signed(apart, 1), f"± {tolerance_cm(name):g}")


def _minutes(compared: Compared) -> Iterator[Section]:
    """Knitting and make-up minutes of every size that both have."""
    one, two = ({size.size: size for size in study.sizes} for study in (compared.first, compared.second))
    first, second = compared.names
    rows = tuple(
        (
            size,
            one[size].minutes or NONE,
            two[size].minutes or NONE,
            one[size].makeup.total,
            two[size].makeup.total,
            one[size].grams,
            two[size].grams,
        )
        for size in one
        if size in two
    )
    if rows:
        head = ("Size", f"{first} knitting", second, f"{first} make-up", second, f"{first} yarn", second)
        yield Section("minutes", "Minutes and yarn by size", "", (Table(head, rows),), short=str(len(rows)))


def _only(compared: Compared) -> Iterator[Section]:
    """Findings that only one of the two has."""
    for key, name, findings in zip(
        ("only-first", "only-second"), compared.names, (compared.only_first, compared.only_second), strict=True
    ):
        if findings:
            yield Section(key, f"Only in {name}", "", (Findings(findings),), short=str(len(findings)))


def _stops(compared: Compared) -> Iterator[Section]:
    """What was refused in either, since it leaves figures out."""
    said = [
        f"{name}: {problem.sentence()}"
        for name, study in zip(compared.names, (compared.first, compared.second), strict=True)
        for problem in study.refused
    ]
    if said:
        yield Section("refused", "To be mended first", "", (Lines(tuple(said)),), short=str(len(said)))


def comparison_document(compared: Compared) -> dict[str, Any]:
    """Two styles as JSON."""
    return {
        "format": FORMAT,
        "program_version": __version__,
        "first": _style(compared.names[0], compared.first),
        "second": _style(compared.names[1], compared.second),
        "quantities": [_quantity(row) for row in compared.rows],
        "decided_otherwise": [
            {"what": label, "first": one, "second": two} for label, one, two in _facts(compared) if one != two
        ],
        "zones_only_first": list(compared.zones_of_one[0]),
        "zones_only_second": list(compared.zones_of_one[1]),
        "only_first": [finding.as_dict() for finding in compared.only_first],
        "only_second": [finding.as_dict() for finding in compared.only_second],
        "measures_apart_cm": _measures_apart(compared),
    }


def _style(name: str, study: StyleStudy) -> Mapping[str, Any]:
    return {
        "name": name,
        "style": study.style.style.model_dump(mode="json"),
        "refused": [problem.as_dict() for problem in study.refused],
    }


def _quantity(row: CompareRow) -> Mapping[str, Any]:
    figures = {"first": row.first, "second": row.second, "difference": row.difference}
    return {
        "key": row.key,
        "about": row.matter.word,
        "words": row.words,
        **{name: figure.as_dict() if figure else None for name, figure in figures.items()},
        "verdict": row.verdict.value,
        "missing": row.missing,
    }


def _measures_apart(compared: Compared) -> dict[str, dict[str, float]]:
    """By common size and point: the second's measure less the first's, cm."""
    one, two = compared.first.size_table, compared.second.size_table
    if one is None or two is None:
        return {}
    names = [name for name in one.names if name in two.names]
    return {
        size: {name: round(_apart(name, size, one, two), 4) for name in names}
        for size in one.sizes
        if size in two.sizes
    }
