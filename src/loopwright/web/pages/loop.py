"""The loop at rest: why a cloth curls, leans and stretches, what if, and what would help; one cloth or two."""

from __future__ import annotations

from html import escape

from fastapi import Request
from nicegui import ui
from pydantic import ValidationError

from loopwright.problems import Problem
from loopwright.web.brief_line import line_html
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import PATIENCE_S, frame
from loopwright.web.house import House
from loopwright.web.loop.asked import AskedBeside
from loopwright.web.loop.door import LoopAnswer, answer_to
from loopwright.web.loop.parts import HEADING
from loopwright.web.pages.not_there import not_there
from loopwright.web.yarn_view import YarnView

LINK = "loop"


def register(house: House) -> None:
    """The page; its address says the whole setting."""

    @ui.page("/loop", response_timeout=PATIENCE_S)
    async def loop_page(request: Request) -> None:
        try:
            asked = asked_of(request)
            answer = await answer_to(house, asked, may_edit=house.may_edit(request))
        except Problem as problem:
            not_there(problem)
            return
        build(answer)


def asked_of(request: Request) -> AskedBeside:
    """The setting that the address says.

    Raises:
        Problem: it says something that cannot be.
    """
    try:
        return AskedBeside.model_validate(dict(request.query_params))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])[:60]
        raise Problem(where or "address", f"{first['msg'][:120]}.", tries=["/loop"]) from None


def build(answer: LoopAnswer) -> None:
    """Fill the page with the first answer; what follows is asked for by the page itself."""
    parts = answer.parts
    with frame(HEADING, here="loop", help_page="loop") as aside:
        with aside:
            Part("line", line_html(HEADING, [HEADING], "set it")).classes("line-place")
            Part(
                "about", f"<h1>{HEADING}</h1><p class='subtitle'>why cloth curls, leans and stretches, and what if</p>"
            )
            for name in ("told", "cloth", "beside"):
                Part(name, parts[name])
        Part("lede", parts["lede"]).classes("lede-box")
        Part("work", parts["work"])
        _yarns(answer)
        for name in ("figures", "help", "trust"):
            Part(name, parts.get(name, ""))
        Part("foot", _FOOT)
    Wires({"loop": answer.query, "why": f"/api/loop/why?{answer.query}&key="})


def _yarns(answer: LoopAnswer) -> None:
    """The section that is seen before it is read: one cloth and how it lies, or two cloths."""
    section = ui.element("section").props('aria-label="At yarn level" data-number="1"').classes("loop-yarns")
    with section, ui.element("div").classes("body"):
        Part("yarns-head", answer.parts["yarns-head"])
        with ui.element("div").classes("yarns-side-by-side"):
            for place in range(2):
                _view(answer, place)
            Part("lying", lying_html(answer)).classes("lying-place")
        Part("doors", answer.parts["doors"])


def _view(answer: LoopAnswer, place: int) -> None:
    shown = answer.views[place] if place < len(answer.views) else None
    url, still, label, caption = (shown.url, shown.still, shown.label, shown.caption) if shown else ("", "", "", "")
    with ui.element("div").props(f'data-loop-view="{place}" data-url="{url}"{"" if shown else " hidden"}'):
        YarnView(url, still=still, label=label, caption=caption, link=LINK)


def lying_html(answer: LoopAnswer) -> str:
    """The free piece beside the cloth, where it stands alone."""
    first = answer.views[0] if answer.views else None
    source = f' src="{escape(first.lying, quote=True)}" alt="A free piece of it as it will lie"' if first else ' alt=""'
    return f'<figure class="lying"{"" if len(answer.views) == 1 else " hidden"}><img{source}></figure>'


_FOOT = (
    "<footer>Simulated (S): yarn loops at rest, without friction. Spread: nine cases in ten. It says why and what if; "
    "a swatch says how much.</footer>"
)
