"""An answer: one version of an item, studied and written out as the parts of its page.

In: an `Item` of the shelf. Out: `Answer` with HTML by part and size, and the reason behind every figure on it. Written
once for all windows that show the item. Not covered: who is told (`desk`), what a person may type (`brief`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

from loopwright.figure import plain
from loopwright.garment.measures import words_of
from loopwright.problems import Finding, Problem
from loopwright.report.blocks import Findings, Section
from loopwright.report.files import pictures
from loopwright.report.html import (
    Reasons,
    block_html,
    reason_html,
    sentence_html,
)
from loopwright.report.objects import object_lede, object_sections
from loopwright.report.sheet import Sheet, sheet_of
from loopwright.report.ways import KEY as WAYS
from loopwright.store.values import Item, Kind
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.study.ways import ways_of_making
from loopwright.web.brief import assumptions_html, brief_html, groups_of
from loopwright.web.handing.section import hand_over_html, hand_over_section
from loopwright.web.known_ways import NO_WAYS, KnownWays
from loopwright.web.sections import contents_html, problem_html, section_frame, sizes_html, title_html
from loopwright.web.size_grid import size_grid_html
from loopwright.web.size_preview import size_doors_html
from loopwright.web.structure_section import notation_html, structure_section
from loopwright.web.swatch.next_words import next_form_html, next_section
from loopwright.web.swatch.pieces_section import own_section, pieces_form_html

SECTIONS = (
    "findings", "structure", "fabric", "sizes", "panels", "minutes", "makeup", "price", "ways", "machine", "rates",
    "neighbours", "yarn",
    "checks", "assumptions", "next", "returned", "pack",
)  # fmt: skip
ONE_SIZE = ("panels", "minutes", "makeup")
PARTS = ("title", "brief", "lede", *SECTIONS, "foot")


@dataclass(slots=True)
class Answer:
    """A studied version of an item. `study` is none when the document cannot be read; then `problem` says why.

    `before` is the price before the last change that moved it, and what then was otherwise. `ways` are the ways of
    making it; those of an older answer while the new ones are worked out.
    """

    item: Item
    study: StyleStudy | None
    problem: Problem | None
    before: tuple[float, str] | None = None
    ways: KnownWays = NO_WAYS
    _written: dict[tuple[str, bool, bool], Mapping[str, str]] = field(default_factory=dict)
    _reasons: dict[str, Reasons] = field(default_factory=dict)

    def parts(self, size: str = "", *, may_edit: bool = True) -> Mapping[str, str]:
        """HTML of every part with this size on show; an empty part is not shown."""
        ways = self.ways
        key = (self.shown_size(size), may_edit, ways.are_old)
        if key not in self._written:
            writer = _Writer(self, key[0], ways, may_edit=may_edit)
            written = writer.parts()
            self._reasons.update(writer.reasons)  # whole: somebody may ask for one while the page is written anew
            self._written[key] = written
        return self._written[key]

    @property
    def sections(self) -> tuple[str, ...]:
        """The parts of its study in their order on the page."""
        return SECTIONS

    @property
    def lacks_ways(self) -> bool:
        """Whether its ways of making are still to be worked out."""
        return self.item.kind is Kind.STYLE and bool(self.study and self.study.sizes) and self.ways.are_old

    def work_out_ways(self) -> None:
        """Work the ways of making out: some tenths of a second, so after everything else."""
        if self.study is not None:
            self.ways = KnownWays(ways_of_making(self.study), are_old=False)

    def shown_size(self, size: str) -> str:
        """The size asked for when the study has it, else the base size."""
        if self.study is None or self.study.base is None:
            return ""
        return size if size in [each.size for each in self.study.sizes] else self.study.base.size

    def reason(self, key: str) -> str | None:
        """HTML of why a figure is what it is; its inputs open theirs in turn."""
        prefix = key.rstrip("0123456789")
        known = self._reasons.get(prefix)
        if known is None or key not in known.figures:
            return None
        return reason_html(known.figures[key], key, nested=known)

    def keep_reasons(self, prefix: str, reasons: Reasons) -> None:
        """Keep the reasons of figures that a door wrote for its page."""
        self._reasons[prefix] = reasons


def answer_of(item: Item, last: Answer | None = None) -> Answer:
    """Study an item; `last` is the answer that people looked at until now."""
    try:
        study = study_style(read_style(studied_document(item)))
    except Problem as problem:
        return Answer(item, None, problem)
    return Answer(item, study, None, _before(study, last), last.ways.after(last.study, study) if last else NO_WAYS)


def _before(study: StyleStudy, last: Answer | None) -> tuple[float, str] | None:
    """Where the price was before it last moved: the price of the last answer, or what that one remembers."""
    if last is None or last.study is None or last.study.pricing is None or study.pricing is None:
        return None
    old, new = last.study.pricing.sheet, study.pricing.sheet
    if old.fob.amount == new.fob.amount or old.currency != new.currency:
        return last.before if old.currency == new.currency else None
    said = f", at {plain(old.pieces, 0)} pieces" if old.pieces != new.pieces else ""
    return old.fob.figure.value, said


TRIAL_YARN: Mapping[str, Any] = {"trial": {"name": "trial yarn", "count": "2/30 Nm", "fibres": "merino"}}


def studied_document(item: Item) -> dict[str, Any]:
    """What is studied for an item: its document; a structure is tried in a yarn of ours."""
    if item.kind is not Kind.STRUCTURE:
        return item.document
    key = next(iter(item.document["structures"]))
    return {**item.document, "yarns": TRIAL_YARN, "zones": {"body": {"structure": key, "yarn": "trial"}}}


class _Writer:
    """Writes an answer out for one size."""

    def __init__(self, answer: Answer, size: str, ways: KnownWays, *, may_edit: bool) -> None:
        self.answer, self.size, self.ways, self.may_edit = answer, size, ways, may_edit
        self.item, self.study = answer.item, answer.study
        self.reasons: dict[str, Reasons] = {}

    def _new_reasons(self, prefix: str) -> Reasons:
        """The reasons of one part, to be written."""
        return self.reasons.setdefault(prefix, Reasons(prefix))

    def parts(self) -> dict[str, str]:
        """All parts by name; what stops the study, or a part that cannot be reckoned, is said in their place."""
        made = dict.fromkeys(PARTS, "")
        made["title"] = title_html(self.item, may_edit=self.may_edit)
        groups = groups_of(self.item.document, self.study, is_style=self.item.kind is Kind.STYLE)
        made["brief"] = brief_html(groups, may_edit=self.may_edit)
        try:
            return made | self._studied()
        except Problem as problem:
            stopped = {"lede": f'<p class="lede">{escape(problem.what)}</p>', "findings": problem_html(problem)}
            return made | stopped

    def _studied(self) -> dict[str, str]:
        """What the study says; a `Problem` where it cannot be read or reckoned."""
        if self.study is None:
            assert self.answer.problem is not None
            raise self.answer.problem
        sheet = sheet_of(self.study, pictures=self._pictures(), size=self.size, ways=self.ways.ways)
        sections = self._sections(sheet)
        made = {"lede": self._lede(sheet, sections)}
        for number, section in enumerate(sections, start=1):
            made[section.key] = self._section(section, number)
        made["foot"] = f"<footer>{escape(sheet.foot)}</footer>"
        return made

    def _pictures(self) -> dict[str, str]:
        """The study's pictures; diagrams of a structure's own page stand beside its notation already."""
        assert self.study is not None
        drawn = pictures(self.study, self.size, self.answer.before)
        if self.item.kind is not Kind.STRUCTURE:
            return drawn
        return {name: svg for name, svg in drawn.items() if not name.startswith(("needles-", "point-", "thread-"))}

    def _sections(self, sheet: Sheet) -> list[Section]:
        assert self.study is not None
        if self.item.kind is Kind.STYLE:
            return [*self.ways.beside(sheet.sections, self.study), *self._followed()]
        wanted = _OBJECT_SECTIONS[self.item.kind]
        own = (structure_section(self.item.document),) if self.item.kind is Kind.STRUCTURE else ()
        by_key = {section.key: section for section in (*own, *sheet.sections, *object_sections(self.study))}
        found = relevant(self.study.findings, self.item.kind)
        by_key["findings"] = Section("findings", "What needs you", "", (Findings(tuple(found)),), short=str(len(found)))
        return [by_key[key] for key in SECTIONS if key in wanted and key in by_key and (key != "findings" or found)]

    def _followed(self) -> Iterator[Section]:
        """What follows the study: the next swatch, the garments that came back, handing it over."""
        assert self.study is not None
        if self.study.fabrics:
            yield next_section()
        if self.study.size_table is not None:
            yield own_section(self.study)
        yield hand_over_section()

    def _lede(self, sheet: Sheet, sections: Sequence[Section]) -> str:
        assert self.study is not None
        own = (
            None
            if self.item.kind is Kind.STYLE
            else object_lede(self.study, is_structure=self.item.kind is Kind.STRUCTURE)
        )
        reasons = self._new_reasons("lede-")
        said = sentence_html(own or sheet.lede, reasons)
        under = "".join(block_html(block, reasons) for block in sheet.under_lede)
        return f'<p class="lede">{said}</p>{under}{contents_html(sections)}'

    def _section(self, section: Section, number: int) -> str:
        write = _OWN_WRITERS.get(section.key)
        reasons = self._new_reasons(self._prefix(section.key))
        body = write(self, section, reasons) if write else "".join(block_html(each, reasons) for each in section.blocks)
        body += self._loop_door(section.key)
        is_old = section.key == WAYS and self.ways.are_old
        return section_frame(section, number, body, self._sizes(section.key), is_old=is_old)

    def _loop_door(self, key: str) -> str:
        """The way from a fabric, or a structure, to its loop at rest."""
        if key != {Kind.STYLE: "fabric", Kind.STRUCTURE: "structure"}.get(self.item.kind):
            return ""
        zones = list(self.study.fabrics) if self.study and self.item.kind is Kind.STYLE else [""]
        ways = ", ".join(
            f'<a href="/loop?structure={self.item.id}{f"&amp;zone={zone}" if zone else ""}">'
            f"{zone or 'see its yarns, set beside others'}</a>"
            for zone in zones
        )
        return f'<p class="line loop-door">Why it curls, leans and stretches, and what if: {ways}</p>' if zones else ""

    def _prefix(self, key: str) -> str:
        """Of the reasons of a section; one that shows a size at a time has its own for every size."""
        assert self.study is not None
        if key not in ONE_SIZE:
            return f"{key}-"
        return f"{key}-{[each.size for each in self.study.sizes].index(self.size)}-"

    def _sizes(self, key: str) -> str:
        """The sizes to look at, beside the heading of a section that shows one at a time."""
        assert self.study is not None
        if key not in ONE_SIZE or len(self.study.sizes) < 2:
            return ""
        return sizes_html([each.size for each in self.study.sizes], self.size)

    def assumptions(self, _section: Section, _reasons: Reasons) -> str:
        """What was taken, each with a place to type over it."""
        assert self.study is not None
        return assumptions_html(self.study.assumptions, may_edit=self.may_edit)

    def next(self, _section: Section, _reasons: Reasons) -> str:
        """The form that asks which swatch to knit next."""
        return next_form_html(self.item.id)

    def returned(self, section: Section, reasons: Reasons) -> str:
        """Garments that came back, and the form that brings more."""
        assert self.study is not None
        table = self.study.size_table
        rest = "".join(block_html(block, reasons) for block in section.blocks)
        words = [words_of(point) for point in table.names] if table else []
        return rest + (pieces_form_html(self.item.id, words) if self.may_edit else "")

    def pack(self, _section: Section, _reasons: Reasons) -> str:
        """Ways to hand it over."""
        return hand_over_html(self.item, may_edit=self.may_edit)

    def structure(self, section: Section, reasons: Reasons) -> str:
        """The notation to draw on, then its diagrams."""
        return notation_html(self.item.document, may_edit=self.may_edit) + "".join(
            block_html(block, reasons) for block in section.blocks
        )

    def sizes(self, section: Section, reasons: Reasons) -> str:
        """The size table as a grid, then how each point is measured."""
        assert self.study is not None
        rest = "".join(block_html(block, reasons) for block in section.blocks[1:])
        grid = size_grid_html(self.study, may_edit=self.may_edit)
        doors = size_doors_html(self.item, may_edit=self.may_edit) if grid else ""
        return grid + doors + rest


_OWN_WRITERS: Mapping[str, Callable[[_Writer, Section, Reasons], str]] = {
    "assumptions": _Writer.assumptions,
    "next": _Writer.next,
    "pack": _Writer.pack,
    "returned": _Writer.returned,
    "sizes": _Writer.sizes,
    "structure": _Writer.structure,
}
_OBJECT_SECTIONS: Mapping[Kind, tuple[str, ...]] = {
    Kind.YARN: ("findings", "fabric", "yarn"),
    Kind.MACHINE: ("machine",),
    Kind.STRUCTURE: ("findings", "structure", "fabric", "neighbours"),
    Kind.RATES: ("rates",),
    Kind.SIZES: ("findings", "sizes"),
    Kind.SWATCH: ("findings", "fabric", "yarn"),
}


def relevant(findings: Iterable[Finding], kind: Kind) -> list[Finding]:
    """Findings that a thing of this kind can answer for."""
    if kind is Kind.STYLE:
        return list(findings)
    places = {Kind.SIZES: ("sizes", "garment")}.get(kind, ("body", "zones.body", "yarns", "notation", "structures"))
    return [each for each in findings if each.where.startswith(places) and not each.sentence.startswith("No ")]
