"""The door of issues: make one, list them, their files, what differs between two, pages to look at, questions.

In: a style of the shelf. Out: JSON, and the HTML of the same for the page. Not covered: the work (`desk`).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request, Response
from pydantic import AfterValidator, Field

from loopwright.report.pack.issuing import for_the_factory
from loopwright.store.values import Issue, Question
from loopwright.web.asked import Asked, Language, Number, Paper, whole_signs
from loopwright.web.handing.desk import IssueDesk
from loopwright.web.handing.section import differences_html, handed_html
from loopwright.web.handing.values import Compared, Handed, Wanted
from loopwright.web.told import Pages, Painted, Zipped

Line = Annotated[str, Field(max_length=200), AfterValidator(whole_signs)]
Text = Annotated[str, Field(max_length=5000), AfterValidator(whole_signs)]
Page = Annotated[int, Query(ge=1, le=10_000)]


class AskedIssue(Asked):
    """An issue: paper, language, formats to take (all, when none is named), for whom, a note.

    `after` is the last issue that was seen, 0 for none; `confirmed` issues it though nothing differs from that one.
    """

    after: Annotated[int, Field(ge=0, le=10**6)]
    paper: Paper = "A4"
    language: Language = "en"
    formats: Annotated[tuple[Annotated[str, Field(max_length=20)], ...], Field(max_length=20)] = ()
    recipients: Annotated[tuple[Line, ...], Field(max_length=20)] = ()
    note: Text = ""
    confirmed: bool = False


class AskedQuestion(Asked):
    """A question: about which place of the issue, what, and who asks (whoever sends it, when nobody is named)."""

    text: Text
    place: Line = ""
    by: Line = ""


class AskedAnswer(Asked):
    """The answer to a question."""

    text: Text


def add_issue_door(
    api: FastAPI, desk: IssueDesk, who: Callable[[Request], str], may_edit: Callable[[Request], bool]
) -> None:
    """Put the ways of issues into the application behind /api."""
    _issues(api, desk, who, may_edit)
    _files(api, desk)
    _questions(api, desk, who)


def _issues(api: FastAPI, desk: IssueDesk, who: Callable[[Request], str], may_edit: Callable[[Request], bool]) -> None:
    @api.get("/items/{item_id}/issues")
    async def listed(item_id: Number, request: Request) -> dict[str, Any]:
        """The issues of a style, newest first, the questions about them, and whether the style has moved on since."""
        moved_on = await desk.moved_on(item_id)
        issues = await asyncio.to_thread(desk.shelf.issues, item_id)
        questions = await asyncio.to_thread(desk.shelf.questions, item_id)
        places = await asyncio.to_thread(desk.places, item_id, issues[0].number) if issues else ()
        told = Handed(tuple(issues), tuple(questions), moved_on, places)
        return {
            "issues": [_issue_dict(each) for each in issues],
            "questions": [_question_dict(each) for each in questions],
            "moved_on": moved_on,
            "places": list(places),
            "html": handed_html(item_id, told, may_edit=may_edit(request)),
        }

    @api.post("/items/{item_id}/issues")
    async def issue(item_id: Number, asked: AskedIssue, request: Request) -> dict[str, Any]:
        """Issue a style as it stands; nothing is issued while nothing differs and nobody has confirmed it."""
        wanted = Wanted(
            asked.paper,
            asked.language,
            asked.formats,
            _names(asked.recipients),
            asked.note,
            asked.after,
            asked.confirmed,
        )
        number, says = await desk.issue(item_id, wanted, who(request))
        return {"issued": number, "says": says}

    @api.get("/items/{item_id}/issue-differences")
    async def differences(
        item_id: Number, first: Number, second: Annotated[int | None, Query(ge=1, le=2**31 - 1)] = None
    ) -> dict[str, Any]:
        """What differs from one issue to another, or to the style as it stands when no second one is named."""
        found = await desk.compared(item_id, first, second)
        return {**_compared_dict(found), "html": differences_html(found)}


def _files(api: FastAPI, desk: IssueDesk) -> None:
    @api.get("/items/{item_id}/issues/{number}/pack", response_class=Pages)
    async def pages(item_id: Number, number: Number) -> Response:
        """The pages of an issue as they were handed over (PDF)."""
        return Pages(await asyncio.to_thread(desk.pdf, item_id, number))

    @api.get("/items/{item_id}/issues/{number}/pack-files", response_class=Zipped)
    async def files(item_id: Number, number: Number) -> Response:
        """Every file of an issue as it was handed over, in one."""
        return Zipped(await asyncio.to_thread(desk.files, item_id, number))

    @api.get("/items/{item_id}/issues/{number}/record")
    async def record(item_id: Number, number: Number) -> Response:
        """The record of an issue, without money (docs/json.md)."""
        issued = await asyncio.to_thread(desk.record, item_id, number)
        return Response(for_the_factory(issued).as_json(), media_type="application/json")

    @api.get("/items/{item_id}/pack-page", response_class=Painted)
    async def page(
        item_id: Number,
        page: Page = 1,
        paper: Paper = "A4",
        language: Language = "en",
    ) -> Response:
        """A page of the pack as it stands, as a picture; how many there are stands in the header x-pages."""
        picture, count = await desk.page(item_id, paper, language, page)
        return Painted(picture, headers={"x-pages": str(count), "cache-control": "no-store"})


def _questions(api: FastAPI, desk: IssueDesk, who: Callable[[Request], str]) -> None:
    @api.post("/items/{item_id}/issues/{number}/questions", status_code=201)
    def ask(item_id: Number, number: Number, asked: AskedQuestion, request: Request) -> dict[str, Any]:
        """Keep a question about a place of an issue."""
        by = asked.by.strip() or who(request)
        return _question_dict(desk.shelf.ask(item_id, number, place=asked.place, text=asked.text, by=by))

    @api.post("/items/{item_id}/questions/{question_id}/answer")
    def answer(item_id: Number, question_id: Number, asked: AskedAnswer, request: Request) -> dict[str, Any]:
        """Answer a question."""
        return _question_dict(desk.shelf.answer_question(item_id, question_id, text=asked.text, by=who(request)))


def _names(names: tuple[str, ...]) -> tuple[str, ...]:
    """Names that say something, each once."""
    return tuple(dict.fromkeys(name for each in names if (name := " ".join(each.split()))))


def _issue_dict(issue: Issue) -> dict[str, Any]:
    return {
        "number": issue.number,
        "version": issue.version,
        "at": issue.at.isoformat(),
        "by": issue.by,
        "recipients": list(issue.recipients),
        "note": issue.note,
    }


def _question_dict(question: Question) -> dict[str, Any]:
    return {
        "id": question.id,
        "issue": question.issue,
        "place": question.place,
        "text": question.text,
        "by": question.by,
        "at": question.at.isoformat(),
        "answer": question.answer,
        "answered_by": question.answered_by,
        "answered_at": question.answered_at.isoformat() if question.answered_at else None,
    }


def _compared_dict(found: Compared) -> dict[str, Any]:
    return {
        "first": found.first,
        "second": found.second,
        "says": found.says,
        "decided": [{"where": where, "change": change} for where, change in found.decided],
        "changes": [each.as_dict() for each in found.changes],
    }
