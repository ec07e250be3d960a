"""The help of the workroom: one page of Markdown for each place, and the words of the trade with their meaning.

In: the name of a page. Out: its title and HTML, the first use of each word of the trade linked to its meaning.
What stands in bold in a page is written just so in the workroom; what stands as code is a key, a file or a command.
HTML inside a page is shown as text. Not covered: the frame around it (`pages.help`); help of the command line (`cli`).
Sources of the words stand with each in `sources/data/vocabulary.toml`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from html import escape
from importlib import resources

from markdown_it import MarkdownIt
from markdown_it.token import Token

from loopwright import sources
from loopwright.problems import Problem
from loopwright.sources.table import bibliography, cite, toml

VOCABULARY = "vocabulary"
PAGES = (
    "first-minute", "season", "style", "yarn", "machine", "structure", "loop",
    "rates", "sizes", "swatch", "history", "keys",
    "files", "team", VOCABULARY,
)  # fmt: skip
_TITLE = "Words of the trade"
_OURS = ("identity", "common_practice", "house")  # keys of the bibliography that stand for no document


@dataclass(frozen=True, slots=True)
class Term:
    """A word of the trade: meaning, unit and symbol where it has them, other words heard for it, where it stands."""

    name: str
    meaning: str
    unit: str
    symbol: str
    heard: tuple[str, ...]
    source: str

    @property
    def key(self) -> str:
        """Its place on the page of words: "points-per-inch"."""
        return re.sub(r"[^a-z0-9]+", "-", self.name.casefold()).strip("-")


@cache
def vocabulary() -> tuple[Term, ...]:
    """All words in alphabetical order."""
    entries = toml(sources.__name__, VOCABULARY)["term"]
    return tuple(sorted((_term(entry) for entry in entries), key=lambda term: term.name.casefold()))


def _term(entry: Mapping[str, object]) -> Term:
    words = {key: str(entry.get(key, "")) for key in ("name", "meaning", "unit", "symbol")}
    heard = entry.get("heard", [])
    assert isinstance(heard, list)
    return Term(**words, heard=tuple(heard), source=_source(str(entry["source"]), str(entry.get("locator", ""))))


def _source(key: str, locator: str) -> str:
    """Where a meaning stands; a document that was not opened says so."""
    unread = key not in _OURS and bibliography()[key]["read"] == "not opened"
    return cite(key, locator, "memory" if unread else "published")


def title_of(page: str) -> str:
    """The heading of a page."""
    return _TITLE if page == VOCABULARY else _markdown(page).partition("\n")[0].removeprefix("# ").strip()


def help_html(page: str) -> str:
    """A page as HTML.

    Raises:
        Problem: there is no such page.
    """
    if page not in PAGES:
        raise Problem("help", f"there is no page on “{page[:60]}”.", tries=["the list of pages at /help"])
    return vocabulary_html() if page == VOCABULARY else _rendered(page)


def overview_html() -> str:
    """Every page with its first sentence."""
    rows = "".join(
        f'<dt><a href="/help/{page}">{escape(title_of(page))}</a></dt><dd>{escape(_first_sentence(page))}</dd>'
        for page in PAGES
    )
    return f"<h1>Help</h1><dl>{rows}</dl>"


def _first_sentence(page: str) -> str:
    if page == VOCABULARY:
        return f"{len(vocabulary())} words as they are used here, with unit and symbol."
    paragraph = _markdown(page).split("\n\n")[1].replace("\n", " ").replace("**", "").replace("`", "")
    return paragraph.partition(". ")[0].rstrip(".") + "."


@cache
def _markdown(page: str) -> str:
    return (resources.files(__package__) / "help" / f"{page}.md").read_text("utf-8")


@cache
def _rendered(page: str) -> str:
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(_markdown(page))
    linked: set[str] = set()
    for before, token in zip([None, *tokens], tokens, strict=False):
        if token.type == "inline" and not (before and before.type in ("heading_open", "th_open")):
            token.children = list(_with_links(token.children or [], linked))
    return str(reader.renderer.render(tokens, reader.options, {}))


def _with_links(parts: list[Token], linked: set[str]) -> Iterator[Token]:
    """The parts of a line, each word of the trade not linked before as a link; links and bold stay as they are."""
    depth = 0
    for part in parts:
        depth += part.nesting if part.type.startswith(("link_", "strong_")) else 0
        if part.type == "text" and not depth:
            yield from _split(part.content, linked)
        else:
            yield part


def _split(text: str, linked: set[str]) -> Iterator[Token]:
    start = 0
    for found in _any_term().finditer(text):
        key = _key_of(found[1])
        if key in linked:
            continue
        linked.add(key)
        yield _text(text[start : found.start(1)])
        yield Token("link_open", "a", 1, attrs={"href": f"/help/{VOCABULARY}#{key}", "class": "term"})
        yield _text(found[1])
        yield Token("link_close", "a", -1)
        start = found.end(1)
    yield _text(text[start:])


def _text(content: str) -> Token:
    return Token("text", "", 0, content=content)


@cache
def _any_term() -> re.Pattern[str]:
    """Any word of the vocabulary, singular or plural; the longest that fits."""
    names = sorted((term.name for term in vocabulary()), key=len, reverse=True)
    return re.compile(rf"\b((?:{'|'.join(re.escape(name) for name in names)})s?)(?!\w|-\w)", re.IGNORECASE)


def _key_of(said: str) -> str:
    keys = {term.name.casefold(): term.key for term in vocabulary()}
    return keys.get(said.casefold()) or keys[said.casefold().removesuffix("s")]


@cache
def vocabulary_html() -> str:
    """The words as a list, each with a place to link to."""
    rows = "".join(_term_html(term) for term in vocabulary())
    said = "The words as this program uses them. Your browser's find (<code>Ctrl F</code>) finds other names as well."
    return f"<h1>{_TITLE}</h1><p>{said}</p><dl>{rows}</dl>"


def _term_html(term: Term) -> str:
    signs = ", ".join(filter(None, (term.symbol, term.unit)))
    shown = f" <small>{escape(signs)}</small>" if signs else ""
    notes = [f"Heard as: {', '.join(term.heard)}."] if term.heard else []
    notes.append(f"From: {term.source}.")
    return (
        f'<dt id="{term.key}" tabindex="-1">{escape(term.name)}{shown}</dt><dd>{escape(term.meaning)} '
        f"<small>{escape(' '.join(notes))}</small></dd>"
    )
