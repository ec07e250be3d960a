"""The answer for a swatch with sittings: the bench in the place of the study, for the sitting that a window looks at.

In: an `Item` of the shelf that holds one swatch. Out: HTML by part, and the reason behind every figure. A swatch is
worked out in hundredths of a second, so no study of a fabric is made for it.
Not covered: who is told (`desk`), the form (`measure`), pictures (`photo_section`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape

from loopwright.problems import Problem
from loopwright.report.blocks import Lines, Note, Section
from loopwright.report.html import Reasons, block_html, sentence_html
from loopwright.report.sheet import Sheet
from loopwright.report.swatch import swatch_sheet
from loopwright.store.kinds import is_specimen
from loopwright.store.values import Item, Kind
from loopwright.study.style import Style, read_style
from loopwright.study.swatch_parts import SpecimenSpec
from loopwright.study.swatch_study import SwatchStudy, study_swatch
from loopwright.web.answer import Answer
from loopwright.web.answer import answer_of as studied_answer
from loopwright.web.brief import brief_html
from loopwright.web.sections import contents_html, problem_html, section_frame, title_html
from loopwright.web.swatch.brief import groups_of_swatch
from loopwright.web.swatch.changed import changed_section
from loopwright.web.swatch.measure import measure_html, new_sitting_html, sittings_html
from loopwright.web.swatch.next_words import next_form_html, next_section
from loopwright.web.swatch.photo_section import photo_html

BENCH = (
    "photo", "measure", "readings", "findings", "changed", "next", "sittings", "spread", "people", "stretch", "checks",
)  # fmt: skip
SHORT_NAMES = {
    "findings": "Findings",
    "checks": "Cautions",
    "sittings": "Life",
    "spread": "Scatter",
    "changed": "Changed",
    "people": "Hands",
    "stretch": "Stretch",
}


def answer_of(item: Item, last: Answer | None = None) -> Answer:
    """The answer to an item of any kind; `last` is the one that people looked at until now."""
    if item.kind is Kind.SWATCH and is_specimen(item.document):
        return _swatch_answer(item)
    return studied_answer(item, last)


@dataclass(slots=True)
class SwatchAnswer(Answer):
    """A swatch as it was worked out; without `swatch`, `problem` says why."""

    style: Style | None = None
    swatch: SwatchStudy | None = None

    @property
    def sections(self) -> tuple[str, ...]:
        """The sections of the bench in their order."""
        return BENCH

    @property
    def spec(self) -> SpecimenSpec | None:
        """The swatch as it is written."""
        return next(iter(self.style.swatches.values())) if self.style else None

    def shown_size(self, size: str) -> str:
        """The sitting asked for when it is there, else the last one."""
        sittings = self.spec.sittings if self.spec else {}
        return size if size in sittings else next(reversed(sittings), "")

    def parts(self, size: str = "", *, may_edit: bool = True) -> Mapping[str, str]:
        """HTML of every part with this sitting on show."""
        key = (self.shown_size(size), may_edit, False)
        if key not in self._written:
            writer = _Writer(self, key[0], may_edit=may_edit)
            written = writer.parts()
            self._reasons.update(writer.reasons)
            self._written[key] = written
        return self._written[key]


def _swatch_answer(item: Item) -> SwatchAnswer:
    style: Style | None = None
    try:
        style = read_style(item.document)
        today = datetime.now(UTC).date().isoformat()
        return SwatchAnswer(
            item, None, None, style=style, swatch=study_swatch(style, next(iter(style.swatches)), today=today)
        )
    except Problem as problem:
        return SwatchAnswer(item, None, problem, style=style)


class _Writer:
    """Writes the bench out for one sitting."""

    def __init__(self, answer: SwatchAnswer, sitting: str, *, may_edit: bool) -> None:
        self.answer, self.sitting, self.may_edit = answer, sitting, may_edit
        self.reasons: dict[str, Reasons] = {}

    def parts(self) -> dict[str, str]:
        """All parts by name."""
        item = self.answer.item
        made = dict.fromkeys(("title", "brief", "lede", *BENCH, "foot"), "")
        made["title"] = title_html(item, may_edit=self.may_edit)
        made["brief"] = brief_html(
            groups_of_swatch(item.document, self.answer.swatch, self.sitting), may_edit=self.may_edit
        )
        if self.answer.swatch is None:
            assert self.answer.problem is not None
            said = f'<p class="lede">{escape(self.answer.problem.what)}</p>'
            return made | {"lede": said, "findings": problem_html(self.answer.problem)}
        return made | self._studied(swatch_sheet(self.answer.swatch))

    def _studied(self, sheet: Sheet) -> dict[str, str]:
        changed = changed_section(self.answer.swatch) if self.answer.swatch else None
        own = (self._measuring(), *self._picturing(), *([changed] if changed else []), next_section())
        by_key = {section.key: section for section in (*own, *sheet.sections)}
        sections = [by_key[key] for key in BENCH if key in by_key]
        made = {"lede": self._lede(sheet, sections), "foot": f"<footer>{escape(sheet.foot)}</footer>"}
        for number, section in enumerate(sections, start=1):
            made[section.key] = self._section(section, number)
        return made

    def _lede(self, sheet: Sheet, sections: Sequence[Section]) -> str:
        reasons = self._new_reasons("lede")
        return f'<p class="lede">{sentence_html(sheet.lede, reasons)}</p>{contents_html(sections, SHORT_NAMES)}'

    def _section(self, section: Section, number: int) -> str:
        reasons = self._new_reasons(section.key)
        if section.key == "measure":
            return section_frame(section, number, self._measure(), self._sittings())
        if section.key == "photo":
            return section_frame(section, number, self._pictures(), self._sittings())
        if section.key == "next":
            return section_frame(section, number, next_form_html(None))
        body = "".join(block_html(block, reasons) for block in section.blocks)
        return section_frame(section, number, body)

    def _new_reasons(self, key: str) -> Reasons:
        return self.reasons.setdefault(f"{key}-", Reasons(f"{key}-"))

    def _measuring(self) -> Section:
        """The section in which readings are typed."""
        spec = self.answer.spec
        assert spec is not None
        sitting = spec.sittings.get(self.sitting)
        if sitting is None:
            return Section("measure", "Measure", "no sitting yet", (Lines(()),), short="0")
        bench = self.answer.swatch.bench if self.answer.swatch else None
        found = next((each for each in bench.specimen.sittings if each.key == self.sitting), None) if bench else None
        tally = f"sitting {self.sitting}: {found.state_words}" if found else self.sitting
        many = sum(len(getattr(sitting, name)) for name in _COUNTED)
        return Section("measure", "Measure", tally, (), _NOTES, short=str(many))

    def _picturing(self) -> tuple[Section, ...]:
        """The section of pictures, once there is a sitting to take them at."""
        spec = self.answer.spec
        sitting = spec.sittings.get(self.sitting) if spec else None
        if sitting is None:
            return ()
        taken = sum(photo.confirmed for photo in sitting.photos.values())
        tally = f"{len(sitting.photos)} of sitting {self.sitting}, {taken} in the record" if sitting.photos else ""
        return (Section("photo", "Picture", tally, (), _PICTURE_NOTES, short=str(len(sitting.photos))),)

    def _pictures(self) -> str:
        spec = self.answer.spec
        assert spec is not None
        return photo_html(self.sitting, spec.sittings[self.sitting], may_edit=self.may_edit)

    def _sittings(self) -> str:
        spec = self.answer.spec
        return sittings_html(spec.sittings, self.sitting) if spec else ""

    def _measure(self) -> str:
        """The form of the sitting on show, and the way to a new sitting."""
        spec = self.answer.spec
        assert spec is not None
        key, raw = next(iter(self.answer.item.document["swatches"].items()))
        states = [each.state for each in spec.sittings.values()]
        washes = max((each.washes for each in spec.sittings.values()), default=0)
        new = new_sitting_html(states, washes, is_first=not states) if self.may_edit else ""
        if self.sitting not in spec.sittings:
            return new or '<p class="line">Nothing was measured yet.</p>'
        sitting, written = spec.sittings[self.sitting], raw["sittings"][self.sitting]
        return measure_html(key, written, sitting, self.sitting, may_edit=self.may_edit) + new


_COUNTED = ("wales", "courses", "mass_g", "width_cm", "length_cm", "thickness_mm", "marks_width_mm", "marks_length_mm",
            "diagonals_mm", "mark_offset_mm", "lean_deg")  # fmt: skip
_NOTES = (
    Note(
        "One hand on the ruler",
        "A decimal or a fraction: 65.5, 65,5 or 65 1/2. Enter keeps each reading at once.",
    ),
    Note("At several places", "Away from the edges, flat, unstretched; five places tell how far the cloth varies."),
    Note("± beside a mean", "Nine cases in ten. While readings are few it leans on the usual spread of the trade."),
)
_PICTURE_NOTES = (
    Note("Until you say it sits", "The reading is provisional and moves nothing else."),
    Note("What helps", "Straight above, light from one side, 12 pixels or more for each wale, a card flat beside it."),
)
