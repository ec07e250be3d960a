"""The desk of issues: makes the next one of a style, tells what has changed since the last, sets pages to look at.

In: an item of the shelf, what the person says. Out: `Issued` kept on the shelf; differences; pictures of pages. A study
is made by the desk of the page and shared with it; what is slow runs in a thread. Of a version that was looked at, the
pages and the differences are kept, so that turning a page asks nothing anew.
Not covered: what an issue holds (`report.pack.issuing`), HTML (`section`).
"""

from __future__ import annotations

import asyncio
import io
import zipfile
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TypeVar

from loopwright.problems import Problem
from loopwright.report.pack.differing import Difference, counted, differences
from loopwright.report.pack.issued import ISSUE_FILE, Issued, handed, issue_of
from loopwright.report.pack.issuing import (
    PAGES_FILE,
    decided,
    differs_from,
    for_the_factory,
    issue_pack,
    issue_pdf,
    nothing_differs,
)
from loopwright.report.pack.language import require_language
from loopwright.report.pack.leaves import pack_of
from loopwright.report.pack.pages import pages_document, pages_png, require_paper
from loopwright.report.pack.writing import FORMATS
from loopwright.store.shelf import Shelf
from loopwright.study.study import StyleStudy
from loopwright.web.answer import Answer
from loopwright.web.desk import Desk
from loopwright.web.handing.values import Compared, Wanted
from loopwright.web.kept import keep
from loopwright.web.pack_door import zipped

MOST_LOOKED_AT = 3  # packs whose pages are held as pictures; a few megabytes each
MOST_COMPARED = 40
T = TypeVar("T")


@dataclass(slots=True)
class IssueDesk:
    """Issues of the styles of one shelf."""

    shelf: Shelf
    desk: Desk
    _pictures: OrderedDict[Hashable, tuple[bytes, ...]] = field(default_factory=OrderedDict)
    _compared: OrderedDict[Hashable, Compared] = field(default_factory=OrderedDict)
    _setting: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def issue(self, item_id: int, wanted: Wanted, by: str) -> tuple[int | None, str]:
        """Issue a style: the number, and what changed in words; no number while nothing did and nobody confirmed it.

        Raises:
            Problem: what stops a pack, or another window issued it meanwhile.
        """
        answer = await self.desk.answer(item_id)
        return await asyncio.to_thread(self._issue, answer, wanted, by)

    def _issue(self, answer: Answer, wanted: Wanted, by: str) -> tuple[int | None, str]:
        item, study = answer.item, _study_of(answer)
        require_paper(wanted.paper)
        require_language(wanted.language)
        last = self.last(item.id)
        number = last.number + 1 if last else 1
        if wanted.after != number - 1:
            what = f"issue {number - 1} was made in another window meanwhile."
            raise Problem("issue", what, tries=["look at what it says, then issue again"])
        said = handed(
            number=number,
            style_version=item.version,
            when=datetime.now(UTC).isoformat(timespec="seconds"),
            by=by[:200],
            recipients=wanted.recipients,
            note=wanted.note,
        )
        if last is not None and not wanted.confirmed and not differs_from(study, last):
            return None, nothing_differs(last)
        issued, files = issue_pack(
            study,
            item.document,
            said,
            last=last,
            formats=wanted.formats or FORMATS,
            paper=wanted.paper,
            language=wanted.language,
        )
        self.shelf.add_issue(
            item.id,
            number,
            version=item.version,
            record=issued.model_dump(mode="json"),
            files=zipped(files),
            by=by,
            recipients=wanted.recipients,
            note=wanted.note,
        )
        found = counted(issued.differences)
        if last is None:
            return number, "The first issue is made."
        return number, f"Issue {number} is made: {found} from issue {last.number}." if found else nothing_differs(last)

    def last(self, item_id: int) -> Issued | None:
        """The newest issue of a style; none where there is none yet.

        Raises:
            Problem: no such item, or its record cannot be read.
        """
        issues = self.shelf.issues(item_id)
        return self.record(item_id, issues[0].number) if issues else None

    def record(self, item_id: int, number: int) -> Issued:
        """The record of an issue.

        Raises:
            Problem: there is none, or it cannot be read.
        """
        return issue_of(self.shelf.issue_record(item_id, number), f"issue {number}")

    def files(self, item_id: int, number: int) -> bytes:
        """All files of an issue as one ZIP; of one that came with a back-up its pages, printed again, and its record.

        Raises:
            Problem: there is no such issue, or its pages cannot be set.
        """
        kept = self.shelf.issue_files(item_id, number)
        if kept is not None:
            return kept
        issued = self.record(item_id, number)
        return zipped({PAGES_FILE: issue_pdf(issued), ISSUE_FILE: for_the_factory(issued).as_json()})

    def pdf(self, item_id: int, number: int) -> bytes:
        """The pages of an issue.

        Raises:
            Problem: there is no such issue, or its pages cannot be set.
        """
        with zipfile.ZipFile(io.BytesIO(self.files(item_id, number))) as archive:
            if PAGES_FILE in archive.namelist():
                return archive.read(PAGES_FILE)
        return issue_pdf(self.record(item_id, number))  # an issue without pages among its files: set when asked for

    async def compared(self, item_id: int, first: int, second: int | None) -> Compared:
        """What differs from an issue to another one, or to the style as it stands.

        Raises:
            Problem: there is no such issue, or what stops a pack.
        """
        if second is not None:
            key: Hashable = (item_id, first, second)
            return await self._once(self._compared, MOST_COMPARED, key, lambda: self._two(item_id, first, second))
        answer = await self.desk.answer(item_id)
        key = (item_id, first, "now", answer.item.version)
        return await self._once(self._compared, MOST_COMPARED, key, lambda: self._with_now(answer, first))

    def _two(self, item_id: int, first: int, second: int) -> Compared:
        before, after = self.record(item_id, first), self.record(item_id, second)
        found = differences(before.pages, after.pages)
        return Compared(first, second, _says(before, found), decided(before.inputs, after.inputs), found)

    def _with_now(self, answer: Answer, first: int) -> Compared:
        before = self.record(answer.item.id, first)
        found = differs_from(_study_of(answer), before)
        return Compared(first, None, _says(before, found), decided(before.inputs, answer.item.document), found)

    def places(self, item_id: int, number: int) -> tuple[str, ...]:
        """What the leaves of an issue are called: the places that can be asked about; none where it cannot be read."""
        try:
            leaves = self.record(item_id, number).pages["leaves"]
        except Problem:
            return ()
        return tuple(dict.fromkeys(leaf["title"] for leaf in leaves))

    async def moved_on(self, item_id: int) -> str:
        """Whether a style has moved on since its last issue, in words; empty where there is none.

        Raises:
            Problem: no such item.
        """
        issues = await asyncio.to_thread(self.shelf.issues, item_id)
        if not issues:
            return ""
        try:
            found = await self.compared(item_id, issues[0].number, None)
        except Problem as problem:
            return f"What stands here now cannot be laid beside it: {problem.what}"
        return f"The study has moved on: {counted(found.changes)}." if found.changes else "Nothing has changed since."

    async def page(self, item_id: int, paper: str, language: str, page: int) -> tuple[bytes, int]:
        """A page of the pack as it stands, as a picture, and how many there are.

        Raises:
            Problem: what stops a pack, or no such page.
        """
        require_paper(paper)
        answer = await self.desk.answer(item_id)
        async with self._setting:  # pages are set once, however many ask for them at once
            pictures = await self._once(
                self._pictures,
                MOST_LOOKED_AT,
                (item_id, answer.item.version, paper, language),
                lambda: pages_png(pages_document(pack_of(_study_of(answer)), paper), language),
            )
        if page > len(pictures):
            raise Problem("page", f"there is no page {page}.", limit=f"1 to {len(pictures)}")
        return pictures[page - 1], len(pictures)

    async def _once(self, held: OrderedDict[Hashable, T], most: int, key: Hashable, make: Callable[[], T]) -> T:
        """What is held under a key, made in a thread when it is not there; the oldest is let go."""
        made = held[key] if key in held else await asyncio.to_thread(make)
        keep(held, key, made, most)
        return made


def _study_of(answer: Answer) -> StyleStudy:
    """The study of an answer.

    Raises:
        Problem: it cannot be studied, or is no style.
    """
    if answer.study is None:
        raise answer.problem or Problem("pack", "only a style is handed over.", tries=["open a style"])
    return answer.study


def _says(before: Issued, found: Sequence[Difference]) -> str:
    return f"{counted(found)} from issue {before.number}." if found else nothing_differs(before)
