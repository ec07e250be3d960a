"""The parts of the loop page as HTML: brief with sliders, lede, figures, what would help, how far to trust it.

In: `LoopCloth`, and the one beside it. Out: HTML by part, and the reason behind every figure. What would help takes
longer than all the rest together, so it is written by itself, when the sliders rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from html import escape

from loopwright.report.blocks import Block, Findings, Lines, Note, Section
from loopwright.report.html import Reasons, block_html, reason_html, sentence_html
from loopwright.web.loop import trust
from loopwright.web.loop.asked import SECOND, Asked
from loopwright.web.loop.beside import beside_table
from loopwright.web.loop.cloth import LoopCloth
from loopwright.web.loop.dials import dial_html, dials_of, structure_options
from loopwright.web.loop.helps import finding_blocks, remedy_blocks, yarn_words
from loopwright.web.loop.lengths import lengths_picture
from loopwright.web.loop.told import brief_words, lede_of, missing_lines, table_of
from loopwright.web.sections import contents_html, section_frame

PARTS = ("told", "cloth", "beside", "lede", "work", "yarns-head", "doors", "figures", "help", "trust")
HEADING, HELP, HELP_NUMBER = "The loop at rest", "What would help", 3


class Written:
    """A page written out: its parts and reasons."""

    def __init__(
        self, first: LoopCloth, second: LoopCloth | None, own: Sequence[tuple[str, str]] = (), *, may_edit: bool = True
    ) -> None:
        self.first, self.second, self.own, self.may_edit = first, second, own, may_edit
        self._reasons: dict[str, Reasons] = {}

    def quick(self) -> Mapping[str, str]:
        """All parts but `help`."""
        return {name: "" for name in PARTS if name != "help"} | self._parts()

    def help(self) -> str:
        """What would help; nothing while there is no cloth."""
        return self._framed(self._help(), HELP_NUMBER) if self.first.cloth else ""

    def reason(self, key: str) -> str | None:
        """HTML of why a figure is what it is; its inputs open theirs in turn."""
        _ = self.help() if key.startswith("help-") else self.quick()
        known = self._reasons.get(key.rstrip("0123456789"))
        if known is None or key not in known.figures:
            return None
        return reason_html(known.figures[key], key, nested=known)

    def _parts(self) -> dict[str, str]:
        first, second = self.first, self.second
        made = {
            "told": f'<p class="told-so" aria-hidden="true">{escape(brief_words(first))}</p>',
            "cloth": form_html(first, "This cloth", self.own),
            "beside": form_html(second, "Beside it", self.own, SECOND) if second else _offer_beside(first),
            "work": "".join(work_html(each, may_edit=self.may_edit) for each in (first, second) if each),
            "yarns-head": _yarns_head(first, second),
            "doors": doors_html(first) if first.cloth else "",
        }
        sections = self._sections()
        contents = contents_html(_contents(first, sections))
        lede = sentence_html(lede_of(first), self._new("lede-"))
        made["lede"] = f'<p class="lede">{lede}</p>{contents}'
        for number, section in enumerate(sections, start=2):
            if section.blocks:
                made[section.key] = self._framed(section, number)
        return made

    def _framed(self, section: Section, number: int) -> str:
        body = "".join(block_html(block, self._new(f"{section.key}-")) for block in section.blocks)
        return section_frame(section, number, body)

    def _new(self, prefix: str) -> Reasons:
        return self._reasons.setdefault(prefix, Reasons(prefix))

    def _sections(self) -> list[Section]:
        cloth = self.first.cloth
        if cloth is None:
            return [trust.section(None)]
        return [self._figures(), Section("help", HELP, "", (), short="ranked"), trust.section(self.first)]

    def _figures(self) -> Section:
        cloth = self.first.cloth
        assert cloth is not None
        both = self.second is not None and self.second.cloth is not None
        blocks: list[Block] = [table_of(cloth)]
        if both and self.second is not None:
            blocks = [beside_table(self.first, self.second)]
        elif self.second is not None:
            blocks = [Lines((f"Beside it: {self.second.lacks}",)), *blocks]
        charts = lengths_picture(self.first)
        blocks += [charts, Lines((CHARTS,))] if charts else []
        missing = missing_lines(cloth)
        blocks += [missing] if missing else []
        heading = "Side by side" if both else "What it does"
        tally = "simulated, relaxed without friction; press a figure for its why"
        return Section("figures", heading, tally, tuple(blocks), _notes(self.first), f"{len(cloth.figures())} figures")

    def _help(self) -> Section:
        cloth = self.first.cloth
        assert cloth is not None
        blocks: list[Block] = []
        found = finding_blocks(cloth)
        blocks += [Findings(found)] if found else []
        blocks += remedy_blocks(self.first)
        if not blocks:
            blocks = [Lines(("It neither rolls nor leans, so there is nothing to remedy.",))]
        notes = (Note("Beside it", "Press a remedy: it stands beside this cloth, both pictures under one hand."),)
        return Section("help", HELP, "the most effective first", tuple(blocks), notes, "ranked")


def _contents(known: LoopCloth, sections: Sequence[Section]) -> list[Section]:
    """The line of contents, in short words: it stands at the foot of a phone."""
    shown = [Section("yarns", "Yarns", "", (), short="turn them")] if known.cloth else []
    return [*shown, *(replace(each, heading=_SHORT[each.key]) for each in sections)]


_SHORT = {"figures": "Figures", "help": "Helps", "trust": "Trust"}


CHARTS = "Over the loop length in mm, with the band of nine cases in ten; the upright line is this cloth."


def _notes(known: LoopCloth) -> tuple[Note, ...]:
    notes = [
        Note("How it is got", f"{known.message[:1].upper()}{known.message[1:].rstrip('.')}. {_SOURCE[known.in_atlas]}")
    ]
    pull = "A gentle pull is 0.1, a lock 1 in units of the yarn's bending stiffness over its diameter cubed."
    notes.append(Note("How hard is gentle", pull))
    return tuple(notes)


_SOURCE = {
    True: "Read between loop lengths that were solved in advance; the error of that is in the spread.",
    False: "Solved for this notation and this loop length, and kept.",
}


def form_html(known: LoopCloth, group: str, own: Sequence[tuple[str, str]], front: str = "") -> str:
    """The brief of a cloth: structure, yarn, sliders."""
    setting = known.setting
    asked = setting.asked
    options = structure_options(_chosen(known, own), own) if not _is_style(known, own) else _style_option(known, own)
    yarn = escape(asked.yarn, quote=True)
    usual = escape(setting.yarn.name if not asked.yarn else "", quote=True)
    dials = "".join(dial_html(each, group) for each in dials_of(known, front))
    end = '<p><button type="button" class="link" data-loop-beside="off">Put it away</button></p>' if front else ""
    return (
        f'<div class="group loop-form"><h2>{group}</h2>'
        f'<label class="field"><span>Structure</span><select {_named(front, "structure")}>{options}</select></label>'
        f'<label class="field"><span>Yarn</span><input type="text" {_named(front, "yarn")} value="{yarn}" '
        f'placeholder="{usual}" autocomplete="off"></label>'
        f'<input type="hidden" {_named(front, "zone")} value="{escape(asked.zone, quote=True)}">'
        f'<p class="why-not" data-loop-refusal="{front}" data-keep></p>{dials}{_origin(known)}{end}</div>'
    )


def _origin(known: LoopCloth) -> str:
    """The way back to the item that the cloth is from."""
    number = known.setting.asked.structure.strip()
    if not number.isdecimal():
        return ""
    return f'<p><a href="/items/{int(number)}">to {escape(known.setting.place)}</a></p>'


def _named(front: str, name: str) -> str:
    return f'data-loop="{front}{name}" data-key="{front}{name}"'


def _chosen(known: LoopCloth, own: Sequence[tuple[str, str]]) -> str:
    name = known.setting.asked.structure.strip()
    return name if name in dict(own) else known.setting.structure.key


def _is_style(known: LoopCloth, own: Sequence[tuple[str, str]]) -> bool:
    name = known.setting.asked.structure.strip()
    return name.isdecimal() and name not in dict(own)


def _style_option(known: LoopCloth, own: Sequence[tuple[str, str]]) -> str:
    """A zone of a style comes before the others."""
    value = escape(known.setting.asked.structure, quote=True)
    return f'<option value="{value}" selected>{escape(known.setting.place)}</option>{structure_options("", own)}'


def _offer_beside(known: LoopCloth) -> str:
    other = "rib-1x1" if known.setting.structure.key == "plain" else "plain"
    return (
        f'<p><button type="button" class="button" data-loop-beside="{other}" data-compare data-loop-yarn="'
        f'{escape(yarn_words(known.setting), quote=True)}">Set another beside it <kbd>C</kbd></button></p>'
    )


def _yarns_head(first: LoopCloth, second: LoopCloth | None) -> str:
    tally = "turn it by hand or with the arrows; F B S L change the view"
    if second is not None:
        tally = "both turn together"
    if any(each.setting.structure.anatomy.tucks for each in (first, second) if each):
        tally = "indicative: tuck structures settle in more than one way"
    if first.cloth is None:
        return ""
    return f'<div class="head"><h2 id="h-yarns">At yarn level</h2><p class="tally">{tally}</p><kbd>1</kbd></div>'


def work_html(known: LoopCloth, *, may_edit: bool) -> str:
    """What can be done about a cloth that is not known yet."""
    if not known.to_solve:
        return ""
    name = escape(known.name[:1].upper() + known.name[1:])
    words = f"{name} at {known.setting.loop.value:.2f} mm is not worked out yet."
    if not may_edit:
        return f'<div class="work"><p class="line">{words} Somebody who may edit can have it worked out.</p></div>'
    query = escape(known.setting.asked.query(), quote=True)
    return (
        f'<div class="work" data-loop-work="{query}" data-key="work-{known.key}"><p class="line">{words} It takes from '
        "half a minute to several minutes; the first time the program also readies its solver, some 20 s. "
        "You can go on meanwhile; the result is kept.</p>"
        f'<p><button type="button" class="button filled" data-loop-begin>Work it out now</button></p></div>'
    )


def doors_html(known: LoopCloth) -> str:
    """Files to keep."""
    query = known.setting.asked.query()
    stem = escape(known.setting.structure.key, quote=True)
    files = "".join(
        f'<li><a href="/api/loop/{path}?{escape(query)}{more}" download="{stem}{name}">{words}</a></li>'
        for path, more, name, words in _FILES
    )
    return f'<ul class="doors across"><li>Keep:</li>{files}</ul>'


_FILES = (
    ("cloth.glb", "", ".glb", "3D file, real size (GLB)"),
    ("still.svg", "&amp;view=face", "-face.svg", "face (SVG)"),
    ("still.svg", "&amp;view=back", "-back.svg", "back (SVG)"),
    ("still.svg", "&amp;view=section", "-section.svg", "section (SVG)"),
    ("still.png", "&amp;view=face", "-face.png", "face (PNG)"),
    ("still.png", "&amp;view=lying", "-lying.png", "as it lies (PNG, some seconds)"),
)


def address(asked: Asked) -> str:
    """The address of the page about a cloth."""
    return f"/loop?{asked.query()}"
