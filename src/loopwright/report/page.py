"""The sheet as one HTML file that needs nothing else: type, drawings, reasons of every figure, no outside request.

In: `Sheet`. Out: HTML text. The look is `page.css`; a figure is a button that opens its reason in the margin, and on
paper the reasons stand at the end. All words of a person are escaped here and in `draw.svg`, nowhere else.
"""

from __future__ import annotations

from base64 import b64encode
from functools import cache
from hashlib import sha256
from html import escape
from importlib import resources

from loopwright.report.faces import FACES, blocks_css, font_file, theme_variables
from loopwright.report.html import (
    Reasons,
    all_reasons_html,
    block_html,
    contents_html,
    logo,
    section_html,
    sentence_html,
)
from loopwright.report.sheet import Sheet


def page(sheet: Sheet) -> str:
    """The whole page."""
    reasons = Reasons()
    lede = f'<p class="lede">{sentence_html(sheet.lede, reasons)}</p>'
    under = "".join(block_html(block, reasons) for block in sheet.under_lede)
    sections = "".join(section_html(section, index, reasons) for index, section in enumerate(sheet.sections, start=1))
    body = (
        f'<a class="skip" href="#study">To the study</a>{_brief(sheet)}'
        f'<main id="study">{lede}{under}{contents_html(sheet.sections)}'
        f"{sections}{all_reasons_html(reasons)}<footer>{escape(sheet.foot)}</footer></main>"
        '<div id="margin" class="margin" aria-live="polite"></div>'
    )
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_policy()}">'
        f"<title>{escape(sheet.title)}</title><style>{_faces()}{_css()}</style></head>"
        f"<body>{body}<script>{_script()}</script></body></html>\n"
    )


def _brief(sheet: Sheet) -> str:
    groups = "".join(
        f"<h3>{escape(name)}</h3><dl>"
        + "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(value)}</dd></div>" for label, value in pairs)
        + "</dl>"
        for name, pairs in sheet.brief
    )
    return (
        f'<header class="brief" tabindex="0" aria-label="The brief"><p class="mark">{logo()} Loopwright</p>'
        f"<h1>{escape(sheet.title)}</h1>"
        f'<p class="subtitle">{escape(sheet.subtitle)}</p>{groups}</header>'
    )


@cache
def _css() -> str:
    """The style sheet with the theme's values filled in."""
    return theme_variables() + blocks_css() + (resources.files(__package__) / "page.css").read_text("utf-8")


@cache
def _policy() -> str:
    """Nothing from outside, and no script but ours."""
    digest = b64encode(sha256(_script().encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; style-src 'unsafe-inline'; font-src data:; script-src 'sha256-{digest}'"


@cache
def _script() -> str:
    return (resources.files(__package__) / "page.js").read_text("utf-8")


@cache
def _faces() -> str:
    """The type faces from their packages, inside the page; a face that is not there falls back to the reader's own."""
    return "".join(_face(*face) for face in FACES)


def _face(family: str, weight: int, style: str, package: str, part: str) -> str:
    file = font_file(package, part)
    if file is None:
        return ""
    kind = {".otf": "opentype", ".ttf": "truetype", ".woff": "woff", ".woff2": "woff2"}[file.suffix]
    data = b64encode(file.read_bytes()).decode("ascii")
    source = f"url(data:font/{file.suffix[1:]};base64,{data}) format('{kind}')"
    return f"@font-face{{font-family:'{family}';font-weight:{weight};font-style:{style};src:{source}}}"
