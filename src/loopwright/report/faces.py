"""The type faces of every page and sheet, found in the packages that carry them, and the theme as CSS variables."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

from loopwright.draw import theme

FACES = (  # family, weight, style, package, part of the file's name
    ("Source Sans Pro", 400, "normal", "font_source_sans_pro", "SourceSansPro-Regular"),
    ("Source Sans Pro", 600, "normal", "font_source_sans_pro", "SourceSansPro-Semibold"),
    ("Source Serif Pro", 400, "normal", "font_source_serif_pro", "SourceSerifPro-Regular"),
    ("Source Serif Pro", 600, "normal", "font_source_serif_pro", "SourceSerifPro-Semibold"),
    ("Source Serif Pro", 400, "italic", "font_source_serif_pro", "SourceSerifPro-It"),
)


FONT_FOLDERS = (
    "/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts",
    "/Library/Fonts", "/System/Library/Fonts", "~/Library/Fonts", "C:/Windows/Fonts",
)  # fmt: skip
HAN = "的套罗纹针收横纵"  # letters of a face for Simplified Chinese
HAN_FILES = re.compile(r"cjk|han|hei|song|sun|fallback|pingfang|yahei|wqy|gothic", re.IGNORECASE)


class HanFace(NamedTuple):
    """An installed face for Simplified Chinese: its family, its file, the code points it has a form for."""

    family: str
    file: Path
    letters: frozenset[int]


@cache
def han_face() -> HanFace | None:
    """The face for Simplified Chinese of this machine; none when it has none. It is looked for once."""
    folders = [Path(each).expanduser() for each in FONT_FOLDERS]
    files = sorted(
        path
        for folder in folders
        if folder.is_dir()
        for path in folder.rglob("*")
        if path.suffix.lower() in (".otf", ".ttf", ".ttc") and HAN_FILES.search(path.name)
    )
    upright = sorted(files, key=lambda path: ("Serif" in path.name, "Regular" not in path.name, path.name))
    return next((face for path in upright for face in _han_faces(path)), None)


def _han_faces(path: Path) -> Iterator[HanFace]:
    """Faces in a file that have the letters, those of Simplified Chinese first; none of a file that is no font."""
    from fontTools.ttLib import TTCollection, TTFont, TTLibError

    try:
        faces = TTCollection(path, lazy=True).fonts if path.suffix.lower() == ".ttc" else [TTFont(path, lazy=True)]
        named = [(name, face) for face in faces if (name := face["name"].getDebugName(1))]
        for family, face in sorted(named, key=lambda pair: (not pair[0].endswith("SC"), len(pair[0]))):
            letters = frozenset(face.getBestCmap() or {})
            if letters.issuperset(map(ord, HAN)):
                yield HanFace(family, path, letters)
    except (TTLibError, OSError):
        return


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
