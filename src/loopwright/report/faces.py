"""The type faces of every page and sheet, found in the packages that carry them, and the theme as CSS variables."""

from __future__ import annotations

from importlib import resources
from importlib.util import find_spec
from pathlib import Path

from loopwright.draw import theme

FACES = (  # family, weight, style, package, part of the file's name
    ("Source Sans Pro", 400, "normal", "font_source_sans_pro", "SourceSansPro-Regular"),
    ("Source Sans Pro", 600, "normal", "font_source_sans_pro", "SourceSansPro-Semibold"),
    ("Source Serif Pro", 400, "normal", "font_source_serif_pro", "SourceSerifPro-Regular"),
    ("Source Serif Pro", 600, "normal", "font_source_serif_pro", "SourceSerifPro-Semibold"),
    ("Source Serif Pro", 400, "italic", "font_source_serif_pro", "SourceSerifPro-It"),
)


_VARIABLES = ("PAPER", "BOARD", "INK", "INK_2", "INK_3", "THREAD", "TINT", "TONE_1", "TONE_2", "TONE_3", "RULE", "HAIR")


def theme_variables() -> str:
    """The theme's values as CSS variables (`--name`)."""
    variables = "".join(f"--{name.lower().replace('_', '-')}:{getattr(theme, name)};" for name in _VARIABLES)
    return f":root{{{variables}--sans:{theme.SANS};--serif:{theme.SERIF}}}"


def blocks_css() -> str:
    """The style of the blocks that sheets and pages share."""
    return (resources.files(__package__) / "blocks.css").read_text("utf-8")


def font_file(package: str, part: str, kinds: tuple[str, ...] = (".woff2", ".otf", ".ttf")) -> Path | None:
    """The smallest file of a face in its package among these kinds of file; none when it is not there."""
    spec = find_spec(package)
    folders = list(spec.submodule_search_locations or ()) if spec else []
    found = [path for folder in folders for path in Path(folder).rglob(f"{part}.*") if path.suffix in kinds]
    return min(found, key=lambda path: path.stat().st_size, default=None)
