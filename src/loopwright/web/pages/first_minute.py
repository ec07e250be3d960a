"""The first minute: an empty shelf offers the invented example, or a first study from three answers."""

from __future__ import annotations

from html import escape

from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame
from loopwright.web.pages.lists import bring_html
from loopwright.web.start import garments


def first_minute(*, may_edit: bool) -> None:
    """The page of an empty shelf."""
    with frame("Begin", here="season", help_page="first-minute") as aside:
        with aside:
            Part("about", "<h1>Begin</h1><p class='subtitle'>the shelf is empty</p>")
        said = (
            "Nothing is on the shelf yet. Name a garment, a yarn and a gauge, and you see what it weighs, how it is "
            "shaped and how long it knits; or look around in an invented example first."
        )
        Part("lede", f'<p class="lede">{said}</p>')
        if may_edit:
            Part("begin", _begin_html())
    Wires({})


def _begin_html() -> str:
    example = (
        '<p class="line">The crew of Nachtlinie 7, a fictional night-train company: three pullovers with their yarns, '
        "machines, sizes and rates. All of it is invented, and says so.</p>"
        '<p><button type="button" class="button" data-do="post" data-value="/api/demo" data-go="/">Open the example'
        "</button></p>"
    )
    return (
        f"{_section('yours', 'Your first style', start_form_html())}{_section('example', 'The example', example)}"
        f"{_section('file', 'From a file', bring_html())}"
    )


def start_form_html() -> str:
    """Three questions that make a first study."""
    choices = "".join(f"<option>{escape(name)}</option>" for name in garments())
    return (
        '<form class="plain-form" data-form action="/api/start" method="post">'
        f'<label><span>Garment</span><select name="garment">{choices}</select></label>'
        '<label><span>Yarn</span><input name="yarn" placeholder="2/30 Nm merino" autocomplete="off"></label>'
        '<label><span>Gauge</span><input name="gauge" placeholder="12" inputmode="decimal" autocomplete="off"></label>'
        '<p class="why-not" role="alert"></p>'
        '<p><button class="button filled">Show the study</button></p></form>'
    )


def _section(key: str, heading: str, body: str) -> str:
    return (
        f'<section aria-labelledby="h-{key}"><div class="body"><div class="head"><h2 id="h-{key}">{heading}</h2></div>'
        f"{body}</div></section>"
    )
