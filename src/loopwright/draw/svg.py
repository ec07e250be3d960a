"""SVG as text: elements, escaped words, fills by pattern. Every picture has a title and a sentence of description."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from loopwright.draw import theme

Attribute = str | float | int


def element(name: str, content: str = "", /, **attributes: Attribute) -> str:
    """One element; underscores in attribute names become hyphens, `class_` becomes class.

    >>> element("line", x1=0, y1=0, x2=10.0, y2=0.125, stroke_width=1)
    '<line x1="0" y1="0" x2="10" y2="0.12" stroke-width="1"/>'
    """
    words = "".join(f' {_name(key)}="{_value(value)}"' for key, value in attributes.items())
    return f"<{name}{words}>{content}</{name}>" if content else f"<{name}{words}/>"


def _name(key: str) -> str:
    return key.rstrip("_").replace("_", "-") if key != "viewBox" else key


def _value(value: Attribute) -> str:
    return escape(value, quote=True) if isinstance(value, str) else number(value)


def number(value: float) -> str:
    """A coordinate with at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


def words(
    x: float, y: float, text: str, *, size: float = 13, anchor: str = "start", fill: str = theme.INK, **more: Attribute
) -> str:
    """A line of text; the text is escaped here and nowhere else."""
    attributes: dict[str, Attribute] = {"x": x, "y": y, "font_size": size, "text_anchor": anchor, "fill": fill, **more}
    return element("text", escape(text), **attributes)


def line(
    x1: float, y1: float, x2: float, y2: float, *, width: float = 1, stroke: str = theme.INK, dash: str = ""
) -> str:
    """A straight line."""
    extra: dict[str, Attribute] = {"stroke_dasharray": dash} if dash else {}
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, **extra)


def path(points: Iterable[tuple[float, float]], *, closed: bool = False, **attributes: Attribute) -> str:
    """A polyline or polygon."""
    text = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")
    return element("path", d=text, **attributes)


def hover(content: str, text: str, **attributes: Attribute) -> str:
    """A group whose pointer text says `text`."""
    return element("g", element("title", escape(text)) + content, **attributes)


def picture(
    content: str, *, width: float, height: float, title: str, description: str, key: str, **more: Attribute
) -> str:
    """A whole picture: scales with its column, readable by screen readers. `key` is unique on the page."""
    head = element("title", escape(title), id=f"{key}-t") + element("desc", escape(description), id=f"{key}-d")
    attributes: dict[str, Attribute] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(width)} {number(height)}",
        "width": width,
        "height": height,
        "role": "img",
        "aria-labelledby": f"{key}-t {key}-d",
        "font_family": theme.SANS,
        **more,
    }
    return element("svg", head + content, **attributes)


_PATTERNS = {
    "upright": (4, '<path d="M1 0V4" stroke="{ink}" stroke-width="0.8"/>'),
    "slant": (6, '<path d="M0 6L6 0M-1 1L1 -1M5 7L7 5" stroke="{ink}" stroke-width="0.8"/>'),
    "level": (4, '<path d="M0 1H4" stroke="{ink}" stroke-width="0.8"/>'),
    "dots": (5, '<circle cx="2" cy="2" r="0.8" fill="{ink}"/>'),
    "crosses": (5, '<path d="M0 0L5 5M5 0L0 5" stroke="{ink}" stroke-width="0.6"/>'),
}


def patterns(key: str) -> str:
    """Definitions of the pattern fills of a picture; use `fill(key, name)`."""
    shapes = "".join(
        element(
            "pattern",
            element("rect", width=size, height=size, fill=theme.PAPER) + shape.format(ink=theme.INK),
            id=f"{key}-{name}",
            width=size,
            height=size,
            patternUnits="userSpaceOnUse",
        )
        for name, (size, shape) in _PATTERNS.items()
    )
    return element("defs", shapes)


def fill(key: str, name: str) -> str:
    """A fill by name: a pattern of `patterns(key)`, or "ink", "tone", "paper", "dark"."""
    flat = {"ink": theme.INK, "tone": theme.TONE_2, "paper": theme.PAPER, "dark": theme.TONE_3, "light": theme.TONE_1}
    return flat.get(name) or f"url(#{key}-{name})"
