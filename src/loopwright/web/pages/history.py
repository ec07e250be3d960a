"""The history of an item: every change with who and when, two versions compared, an older one brought back."""

from __future__ import annotations

from html import escape

from fastapi import Request
from nicegui import ui

from loopwright.problems import Problem
from loopwright.store.document import cells
from loopwright.store.values import Change, Item, Kind, Step
from loopwright.web.brief_line import line_html
from loopwright.web.elements import Part, Wires
from loopwright.web.fields import label_of, text_of
from loopwright.web.frame import frame
from loopwright.web.house import House
from loopwright.web.pages.not_there import not_there
from loopwright.web.times import time_words

SHOWN_STEPS = 6


def register(house: House) -> None:
    """The page of an item's history; `first` and `second` are versions to compare."""

    @ui.page("/items/{item_id}/history")
    def history_page(item_id: int, request: Request, first: int = 0, second: int = 0) -> None:
        try:
            item = house.shelf.load(item_id)
            changes = house.shelf.history(item_id)
            pair = (first or max(1, item.version - 1), second or item.version)
            steps = house.shelf.differences(item_id, *pair)
        except Problem as problem:
            not_there(problem)
            return
        style = (item.id, item.name) if item.kind is Kind.STYLE else None
        title = f"History of {item.name}"
        line = line_html(title, [item.name], "compare")
        with frame(title, here="history", help_page="history", style=style) as aside:
            with aside:
                Part("line", line).classes("line-place")
                Part("about", about_html(item))
                Part("compare", compare_form_html(item, *pair))
            Part("lede", f'<p class="lede">{escape(lede(item, changes))}</p>')
            Part("differences", differences_html(steps, *pair))
            Part("changes", changes_html(changes, item, may_edit=house.may_edit(request)))
        Wires({"item": item.id, "version": item.version, "at": item.changed_at.isoformat()})


def lede(item: Item, changes: list[Change]) -> str:
    """One sentence on the whole history."""
    people = list(dict.fromkeys(change.by for change in changes))
    by = people[0] if len(people) == 1 else f"{len(people)} people"
    since = f"{changes[-1].at:%d %B %Y}" if changes else ""
    many = f"{item.version} version{'s' * (item.version != 1)}"
    return f"{item.name} has {many} by {by} since {since}. Nothing here is lost: any of them can be brought back."


def about_html(item: Item) -> str:
    """Name and the way back."""
    return f'<h1>{escape(item.name)}</h1><p class="subtitle"><a href="/items/{item.id}">back to it</a></p>'


def compare_form_html(item: Item, first: int, second: int) -> str:
    """Two versions to compare."""
    fields = "".join(
        f'<label class="field"><span>{words}</span><input name="{name}" type="number" min="1" max="{item.version}" '
        f'value="{value}"></label>'
        for name, words, value in (("first", "Version", first), ("second", "with version", second))
    )
    return (
        f'<form class="group" method="get" action="/items/{item.id}/history"><h2>Compare</h2>{fields}'
        '<p><button class="button">Compare</button></p></form>'
    )


def differences_html(steps: list[Step], first: int, second: int) -> str:
    """What differs between two versions."""
    rows = "".join(
        f'<tr><th scope="row">{escape(label_of(step.path))}</th><td>{escape(text_of(step.before)) or "left out"}</td>'
        f"<td>{escape(text_of(step.after)) or 'left out'}</td></tr>"
        for whole in steps
        for step in cells(whole)
    )
    table = (
        f'<table><thead><tr><th scope="col">Field</th><th scope="col">version {first}</th>'
        f'<th scope="col">version {second}</th></tr></thead><tbody>{rows}</tbody></table>'
        if rows
        else '<p class="line">These two versions say the same.</p>'
    )
    return _section("differences", "Compared", f"version {first} with version {second}", table)


def changes_html(changes: list[Change], item: Item, *, may_edit: bool) -> str:
    """All changes, newest first."""
    rows = "".join(_row(change, item, may_edit=may_edit) for change in changes)
    table = (
        '<table><thead><tr><th scope="col">Version</th><th scope="col">when</th><th scope="col">who</th>'
        f'<th scope="col">what</th><td></td></tr></thead><tbody>{rows}</tbody></table>'
    )
    return _section("changes", "All changes", f"{len(changes)} shown", table)


def _row(change: Change, item: Item, *, may_edit: bool) -> str:
    acts = [f'<a href="/items/{item.id}/history?first={change.version}&amp;second={item.version}">compare</a>']
    if may_edit and change.version != item.version:
        acts.append(
            f'<button type="button" class="link" data-do="restore" data-value="{change.version}">bring back</button>'
        )
    return (
        f'<tr><th scope="row">{change.version}</th><td>{escape(time_words(change.at))}</td>'
        f"<td>{escape(change.by)}</td><td>{_what(change)}</td><td class='n'>{' '.join(acts)}</td></tr>"
    )


def _what(change: Change) -> str:
    changed = [cell for step in change.steps for cell in cells(step)]
    label = f"<b>{escape(change.action.value)}</b> {escape(change.label)}"
    steps = [
        f"{escape(label_of(step.path))}: {escape(_short(step.before))} → {escape(_short(step.after))}"
        for step in changed[:SHOWN_STEPS]
    ]
    if len(changed) > SHOWN_STEPS:
        steps.append(f"and {len(changed) - SHOWN_STEPS} more")
    return f"{label}<br>{'<br>'.join(steps)}" if steps else label


def _short(value: object) -> str:
    text = text_of(value) or "left out"
    return text if len(text) <= 60 else f"{text[:60]}…"


def _section(key: str, heading: str, tally: str, body: str) -> str:
    return (
        f'<section aria-labelledby="h-{key}"><div class="body"><div class="head"><h2 id="h-{key}">{heading}</h2>'
        f'<p class="tally">{escape(tally)}</p></div><div class="scroll">{body}</div></div></section>'
    )
