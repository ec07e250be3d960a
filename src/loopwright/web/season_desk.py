"""A season worked out in the background: every style studied once, with progress, and stopped when nobody waits.

In: lines of the shelf. Out: `SeasonAnswer`, the parts of the season's page. Studies are kept by item and version, so
that coming back costs only what changed. Not covered: what a season adds up (`season`), how it is said (`report`).
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from loopwright.draw.garment import garments_at_one_scale
from loopwright.problems import Problem
from loopwright.report.blocks import Picture
from loopwright.report.html import Reasons, block_html, reason_html, sentence_html
from loopwright.report.season_pictures import season_pictures
from loopwright.report.season_sheet import season_sheet
from loopwright.season.season import season_of
from loopwright.store.shelf import Shelf
from loopwright.store.values import Item, Line
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.web.kept import keep
from loopwright.web.sections import contents_html, section_frame

KEPT_STUDIES, KEPT_ANSWERS = 400, 20
AT_ONCE = 50  # items fetched by one query
MOST_GARMENTS = 8  # silhouettes beside each other
PARTS = ("lede", "garments", "styles", "hours", "yarn", "findings", "foot")


@dataclass(frozen=True, slots=True)
class SeasonAnswer:
    """Parts of the season's page by name, the reasons behind their figures, and styles that cannot be read."""

    parts: Mapping[str, str]
    reasons: Reasons
    unreadable: tuple[str, ...]

    def reason(self, key: str) -> str | None:
        """HTML of why a figure is what it is."""
        figure = self.reasons.figures.get(key)
        return reason_html(figure, key, nested=self.reasons) if figure is not None else None


class SeasonDesk:
    """Seasons that people look at."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._studies: OrderedDict[tuple[int, int], StyleStudy] = OrderedDict()
        self.answers: OrderedDict[str, SeasonAnswer] = OrderedDict()

    async def work(self, name: str, lines: Sequence[Line], progress: Callable[[int], None]) -> SeasonAnswer:
        """Study every style of a season; `progress` hears how many are done. Cancelling the task stops it."""
        studies: list[tuple[Line, StyleStudy]] = []
        unreadable: list[str] = []
        for start in range(0, len(lines), AT_ONCE):
            some = lines[start : start + AT_ONCE]
            items = await asyncio.to_thread(self.shelf.load_many, [line.id for line in some])
            by_id = {item.id: item for item in items}
            for done, line in enumerate(some, start=start + 1):
                try:
                    studies.append((line, await self._study(by_id[line.id])))
                except (Problem, KeyError):  # a style of an older program, or archived meanwhile
                    unreadable.append(line.name)
                progress(done)
        answer = await asyncio.to_thread(season_answer, name, studies, tuple(unreadable))
        keep(self.answers, name, answer, KEPT_ANSWERS)
        return answer

    async def _study(self, item: Item) -> StyleStudy:
        key = (item.id, item.version)
        study = self._studies.get(key)
        if study is None:
            study = await asyncio.to_thread(lambda: light(study_style(read_style(item.document))))
        keep(self._studies, key, study, KEPT_STUDIES)
        return study


def light(study: StyleStudy) -> StyleStudy:
    """A study without its strokes and panels: what a season adds up, at a tenth of the memory."""
    base = study.base
    sizes = (replace(base, panels=()),) if base is not None else ()
    return replace(study, sizes=sizes, making=replace(study.making, sizes=()))


def season_answer(
    name: str, studies: Sequence[tuple[Line, StyleStudy]], unreadable: tuple[str, ...] = ()
) -> SeasonAnswer:
    """The parts of a season's page."""
    season = season_of(name, [(str(line.id), study) for line, study in studies])
    hrefs = {str(line.id): f"/items/{line.id}" for line, _ in studies}
    sheet = season_sheet(season, season_pictures(season), hrefs)
    reasons = Reasons("season-")
    parts = dict.fromkeys(PARTS, "")
    told = f'<p class="line">Cannot be read: {len(unreadable)} styles.</p>' if unreadable else ""
    lede = f'<p class="lede">{sentence_html(sheet.lede, reasons)}</p>{told}'
    parts["lede"] = lede + contents_html(sheet.sections)
    parts["garments"] = _garments(season.labels, studies)
    for number, section in enumerate(sheet.sections, start=1):
        body = "".join(block_html(block, reasons) for block in section.blocks)
        parts[section.key] = section_frame(section, number, body)
    parts["foot"] = f"<footer>{sheet.foot}</footer>"
    return SeasonAnswer(parts, reasons, unreadable)


def _garments(labels: Mapping[str, str], studies: Sequence[tuple[Line, StyleStudy]]) -> str:
    drawn = [
        (labels.get(str(line.id), line.number), study.base.plan.measures)
        for line, study in studies
        if study.base is not None
    ][:MOST_GARMENTS]
    if not drawn:
        return ""
    svg = garments_at_one_scale(drawn, width=760, key="garments")
    return block_html(Picture("garments", svg), Reasons())
