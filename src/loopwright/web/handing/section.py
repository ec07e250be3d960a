"""Handing over, as the page says it: ways out, the form that issues, issues made, what differs, questions and answers.

In: issues and questions of the shelf, what differs. Out: HTML. What a person types in a form stays when the page is
written anew. Not covered: making an issue (`desk`), its pages (`report.pack`).
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from loopwright.report.blocks import Section
from loopwright.report.html import Reasons, block_html
from loopwright.report.pack.issuing import changes_table
from loopwright.report.pack.language import LANGUAGES
from loopwright.report.pack.pages import PAPERS
from loopwright.report.pack.writing import FORMATS
from loopwright.store.values import Issue, Item, Question
from loopwright.web.handing.values import Compared, Handed
from loopwright.web.size_preview import file_stem
from loopwright.web.times import time_words

KEY = "pack"
FORMAT_WORDS = {
    "pdf": "pages (PDF)", "xlsx": "workbook", "dxf": "panels (DXF)", "svg": "drawings (SVG)", "glb": "fabrics (GLB)",
    "csv": "size table (CSV)",
    "json": "data (JSON)",
}  # fmt: skip
MOST_SHOWN = 60  # rows of a leaf in what differs; the files have all


def hand_over_section() -> Section:
    """The section; what was issued is asked for by the page."""
    return Section(KEY, "Hand over", "the factory pack", ())


def hand_over_html(item: Item, *, may_edit: bool) -> str:
    """The whole section, but for what was issued."""
    doors = "".join(_door_html(item, *door) for door in _DOORS)
    form = _form_html(item.id) if may_edit else ""
    return (
        f'{_choices_html()}<ul class="doors across" aria-label="As it stands, not issued">{doors}</ul>{form}'
        f'<details class="handing pages-of" data-keep><summary>Look at the pages</summary>'
        f'<div class="leafing" data-pages="/api/items/{item.id}/pack-page"><p class="acts">'
        '<button type="button" class="button" data-leaf="-1" disabled>Back</button>'
        '<button type="button" class="button" data-leaf="1" disabled>Forward</button> <span role="status"></span></p>'
        "</div></details>"
        f'<div class="handed" data-keep data-issues="/api/items/{item.id}/issues"></div>'
    )


def _choices_html() -> str:
    """Paper and language: of the files, the pages to look at, and the issue."""
    papers = "".join(f"<option>{paper}</option>" for paper in PAPERS)
    languages = "".join(f'<option value="{key}">{name}</option>' for key, name in LANGUAGES.items())
    return (
        f'<p class="says-of pack-choices" data-keep><label>Paper <select name="paper">{papers}</select></label>'
        f'<label>Language <select name="language">{languages}</select></label></p>'
    )


_DOORS = (
    ("pack", ".pdf", "factory pack (PDF)"),
    ("pack-files", "-pack.zip", "factory pack, all files"),
    ("cost-sheet", "-cost-confidential.zip", "cost sheet, confidential"),
)


def _door_html(item: Item, door: str, end: str, words: str) -> str:
    """A file of the style as it stands; fetched by the page, so that what stops it is said on it."""
    name = escape(f"{file_stem(item)}{end}", quote=True)
    address = f"/api/items/{item.id}/{door}"
    fetched = f'data-fetch="{address}" data-name="{name}" data-chosen="pack-choices"'
    return f'<li><button type="button" class="link" {fetched}>{words}</button></li>'


def _form_html(item_id: int) -> str:
    """The form that issues."""
    formats = "".join(
        f'<label><input type="checkbox" name="formats" value="{each}" checked> {FORMAT_WORDS.get(each, each)}</label>'
        for each in FORMATS
    )
    return (
        f'<details class="handing" data-keep><summary>Issue it</summary>'
        f'<form class="issuing" data-issue="/api/items/{item_id}/issues">'
        f'<fieldset><legend>Files</legend><div class="takes">{formats}</div></fieldset>'
        "<label><span>For, names with a semicolon between</span>"
        '<input name="recipients" autocomplete="off" maxlength="2000"></label>'
        '<label><span>Note</span><textarea name="note" rows="2" maxlength="5000"></textarea></label>'
        '<p class="acts"><button class="button filled">Issue</button></p>'
        '<p class="why-not" role="alert"></p></form></details>'
    )


def handed_html(item_id: int, handed: Handed, *, may_edit: bool) -> str:
    """What was handed over, and what was asked about it."""
    issues = handed.issues
    if not issues:
        return '<p class="line">Nothing was issued yet.</p>'
    rows = "".join(_row_html(item_id, each, handed.questions) for each in issues)
    said = f'<p class="moved"><b>{escape(_last_words(issues[0]))}</b> {escape(handed.moved_on)}</p>'
    head = "".join(f'<th scope="col">{words}</th>' for words in ("Issue", "when", "from", "for", "version", "files"))
    table = (
        '<div class="scroll" tabindex="0" role="group" aria-label="Issues"><table class="issues">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )
    return said + table + _compare_html(item_id, issues) + _questions_html(item_id, handed, may_edit=may_edit)


def _last_words(issue: Issue) -> str:
    names = f" for {'; '.join(issue.recipients)}" if issue.recipients else ""
    return f"Issue {issue.number} of {time_words(issue.at)}{names}."


def _row_html(item_id: int, issue: Issue, questions: Sequence[Question]) -> str:
    at = f"/api/items/{item_id}/issues/{issue.number}"
    stem = f"issue-{issue.number:02d}"
    files = (
        f'<button type="button" class="link" data-fetch="{at}/pack" data-name="{stem}.pdf">PDF</button> '
        f'<button type="button" class="link" data-fetch="{at}/pack-files" data-name="{stem}.zip">all files</button>'
    )
    still = sum(each.answer is None for each in questions if each.issue == issue.number)
    open_words = f'<br><span class="line">{still} open</span>' if still else ""
    note = f'<br><span class="line">{escape(issue.note)}</span>' if issue.note else ""
    return (
        f'<tr data-key="issue-{issue.number}"><th scope="row">{issue.number}{open_words}</th>'
        f"<td>{escape(time_words(issue.at))}</td><td>{escape(issue.by)}</td>"
        f"<td>{escape('; '.join(issue.recipients)) or '–'}{note}</td><td class='n'>{issue.version}</td>"
        f"<td>{files}</td></tr>"
    )


def _compare_html(item_id: int, issues: Sequence[Issue]) -> str:
    """Two issues to lay side by side, and what differs."""
    numbers = [f"<option value='{each.number}'>issue {each.number}</option>" for each in issues]
    first = "".join(numbers)
    second = f'<option value="">the study as it stands</option>{first}'
    return (
        f'<form class="differing" data-differences="/api/items/{item_id}/issue-differences"><p class="says-of">'
        f'<label>What differs from <select name="first">{first}</select></label>'
        f'<label>to <select name="second">{second}</select></label>'
        '<button class="button">Compare</button></p></form><div class="differences" data-keep></div>'
    )


def differences_html(found: Compared) -> str:
    """What differs between two issues."""
    to = f"issue {found.second}" if found.second else "the study as it stands"
    decisions = "".join(
        f"<div><dt>{escape(where)}</dt><dd>{escape(change)}</dd></div>" for where, change in found.decided
    )
    chosen = f'<h4>Decided otherwise</h4><dl class="chosen">{decisions}</dl>' if decisions else ""
    table = block_html(changes_table(found.changes, MOST_SHOWN), Reasons("")) if found.changes else ""
    return (
        f'<h3 tabindex="-1">From issue {found.first} to {to}</h3>'
        f'<p class="said">{escape(found.says)}</p>{chosen}{table}'
        '<p class="acts"><button type="button" class="button" data-fold-differences>Fold</button></p>'
    )


def _questions_html(item_id: int, handed: Handed, *, may_edit: bool) -> str:
    """Questions, those that are open first, each with its answer or the place to write one; the form that asks."""
    questions = handed.questions
    still = [each for each in questions if each.answer is None]
    done = [each for each in questions if each.answer is not None]
    count = f"{len(still)} open" if still else "none is open" if questions else "none yet"
    items = "".join(_question_html(item_id, each, may_edit=may_edit) for each in (*still, *reversed(done)))
    listed = f'<ol class="asked">{items}</ol>' if items else ""
    numbers = "".join(f"<option value='{each.number}'>issue {each.number}</option>" for each in handed.issues)
    places = "".join(f'<option value="{escape(each, quote=True)}"></option>' for each in handed.places)
    form = _ask_html(item_id, numbers) + f'<datalist id="places-of-issue">{places}</datalist>' if may_edit else ""
    return f'<h3 class="of-questions">Questions <span>{count}</span></h3>{listed}{form}'


def _question_html(item_id: int, question: Question, *, may_edit: bool) -> str:
    place = f", {question.place}" if question.place else ""
    head = f'<p class="place">Issue {question.issue}{escape(place)}</p><p class="said">{_lines(question.text)}</p>'
    asked = f'<p class="line">{escape(question.by)}, {escape(time_words(question.at))}</p>'
    if question.answer is not None:
        when = f", {escape(time_words(question.answered_at))}" if question.answered_at else ""
        answer = (
            f'<p class="answer">{_lines(question.answer)}</p>'
            f'<p class="line">{escape(question.answered_by or "")}{when}</p>'
        )
    elif may_edit:
        answer = (
            f'<form class="answering" data-keep data-answer="/api/items/{item_id}/questions/{question.id}/answer">'
            f'<label><span class="unseen">Answer to: {escape(question.text[:80])}</span>'
            '<textarea name="text" rows="1" maxlength="5000" placeholder="Answer"></textarea></label>'
            '<button class="button">Answer</button><p class="why-not" role="alert"></p></form>'
        )
    else:
        answer = '<p class="line">open</p>'
    state = "open" if question.answer is None else "done"
    return f'<li data-key="question-{question.id}-{state}">{head}{asked}{answer}</li>'


def _ask_html(item_id: int, numbers: str) -> str:
    return (
        f'<details class="handing" data-keep data-key="ask"><summary>Ask a question</summary>'
        f'<form class="asking" data-ask="/api/items/{item_id}/issues"><label><span>About</span>'
        f'<select name="issue">{numbers}</select></label>'
        '<label><span>Place on it</span><input name="place" list="places-of-issue" maxlength="200" '
        'autocomplete="off" placeholder="a leaf, or in words"></label>'
        '<label><span>Question</span><textarea name="text" rows="2" maxlength="5000"></textarea></label>'
        '<label><span>Who asks; empty: you</span><input name="by" maxlength="200" autocomplete="off"></label>'
        '<p class="acts"><button class="button">Ask</button></p><p class="why-not" role="alert"></p></form></details>'
    )


def _lines(text: str) -> str:
    """Text of a person's own, its lines kept."""
    return "<br>".join(map(escape, text.split("\n")))
