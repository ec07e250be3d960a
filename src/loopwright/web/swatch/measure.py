"""The form for one hand on a ruler: one question at a time, large; beside it every place with its running result.

In: the document of a swatch, its checked values, the sitting on show. Out: HTML. The question itself belongs to the
browser (`workroom/bench.js`), which puts it together from the list of places; here are the list and the sittings.
Not covered: what readings prove (`report.swatch`), fields that are typed once (`brief`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from loopwright.study.swatch_parts import SittingSpec
from loopwright.web.swatch.places import PLACES, Taken, is_list, taken_at
from loopwright.web.swatch.readings import SHORT

_WHY = {
    "off-machine": "as it comes off, within the hour",
    "dry-relaxed": "laid flat a day",
    "wet-relaxed": "soaked, dried flat",
    "fully-relaxed": "washed and tumbled until it moves no more",
    "finished": "as the garment will be",
}


def measure_html(swatch: str, raw: Mapping[str, Any], spec: SittingSpec, sitting: str, *, may_edit: bool) -> str:
    """The form over the places of a sitting."""
    taken = [taken_at(swatch, sitting, raw, spec, place) for place in PLACES]
    rows = "".join(place_html(each, may_edit=may_edit) for each in taken)
    question = _question() if may_edit else ""
    return (
        f'<div class="measuring" data-sitting="{escape(sitting, quote=True)}">{question}'
        f'<ol class="places" aria-label="Places, with what they have so far">{rows}</ol></div>'
    )


def place_html(taken: Taken, *, may_edit: bool) -> str:
    """A place: its question, its readings, the running result."""
    name, field = escape(taken.place.name, quote=True), taken.field
    unit = f" <i>{escape(field.unit)}</i>" if field.unit else ""
    several = ' data-several="true"' if is_list(field) else ""
    hint = f' data-hint="{escape(field.hint, quote=True)}"' if field.hint else ""
    off = "" if may_edit else " disabled"
    readings = "".join(
        f'<button type="button" class="reading" data-reading="{number}" aria-label="'
        f'{escape(taken.asks, quote=True)}, reading {number}: {escape(said, quote=True)}; change it"{off}>'
        f"{escape(said)}</button>"
        for number, said in enumerate(taken.readings, start=1)
    )
    result = f'<b class="result">{escape(taken.result)}</b>' if taken.result else ""
    wanted = f'<span class="wanted">{escape(taken.wanted)}</span>' if taken.wanted else ""
    return (
        f'<li data-key="{name}" data-place="{name}" data-unit="{escape(field.unit, quote=True)}"{several}{hint}>'
        f'<button type="button" class="ask" data-ask="{escape(taken.asks, quote=True)}"{off}>'
        f"{escape(taken.asks)}{unit}</button>"
        f'<span class="readings">{readings}</span><span class="running">{result}{wanted}</span></li>'
    )


def _question() -> str:
    return (
        '<form class="question" data-keep autocomplete="off"><label for="reading"></label>'
        '<p class="typing"><input id="reading" inputmode="decimal" autocomplete="off" spellcheck="false" '
        'aria-describedby="reading-said reading-not"><i></i></p>'
        '<p class="line" id="reading-said"></p><p class="why-not" id="reading-not" role="alert"></p>'
        '<p class="line keys-line"><kbd>Enter</kbd> takes it; empty, goes on <kbd>↑</kbd> <kbd>↓</kbd> places '
        "<kbd>←</kbd> the last reading again</p></form>"
    )


def sittings_html(sittings: Mapping[str, SittingSpec], shown: str) -> str:
    """Buttons for the sitting to look at, beside the heading."""
    if len(sittings) < 2:
        return ""
    buttons = "".join(
        f'<button type="button" class="size" data-size="{escape(key, quote=True)}" '
        f'aria-pressed="{"true" if key == shown else "false"}">{escape(key)}</button>'
        for key in sittings
    )
    return f'<span class="pick" role="group" aria-label="Sitting on show">{buttons}</span>'


def new_sitting_html(states: Sequence[str], washes: int, *, is_first: bool) -> str:
    """The form that begins a sitting: its state and its washes."""
    state = states[-1] if states else "off-machine"
    options = "".join(
        f'<option value="{each}"{" selected" if each == state else ""}>{each.replace("-", " ")}: {_WHY[each]}</option>'
        for each in SHORT
    )
    opened = " open" if is_first else ""
    heading = "Begin the first sitting" if is_first else "New sitting"
    return (
        f'<details class="bring sitting" data-keep{opened}><summary>{heading}</summary><form data-sitting-new>'
        f'<label><span>State of the swatch</span><select name="state">{options}</select></label>'
        f'<label><span>Washes so far</span><input name="washes" inputmode="numeric" value="{washes}"></label>'
        '<p><button class="button">Begin it</button></p><p class="why-not" role="alert"></p></form></details>'
    )
