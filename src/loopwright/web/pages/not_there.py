"""What a page says when what it is about cannot be shown."""

from __future__ import annotations

from html import escape

from loopwright.problems import Problem
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame


def not_there(problem: Problem) -> None:
    """A page with the problem in words and a way on."""
    with frame("Not there", here="", help_page="season"):
        tries = f"<p class='line'>Try: {escape('; '.join(problem.tries))}</p>" if problem.tries else ""
        words = f"{problem.where}: {problem.what}"
        Part("problem", f'<h1 class="lede">{escape(words)}</h1>{tries}<p><a href="/">To the season</a></p>')
    Wires({})
