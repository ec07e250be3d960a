"""A pack as PDF: A4 or Letter, tagged, fonts inside, the same bytes for the same pack.

In: `Pack`. Out: PDF bytes. The template (`pack.typ`) reads data only: no word of a person becomes markup. Text that no
face has a form for is found before anything is set (`missing_letters`).
Not covered: what stands on the leaves (`leaves`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from html import unescape
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import category

import orjson

from loopwright.draw import theme
from loopwright.figure import Figure, gap, shown, spread_shown
from loopwright.problems import Problem
from loopwright.report.blocks import Block, Cautions, Cell, Chance, Findings, Lines, Link, Picture, Steps, Table
from loopwright.report.faces import FACES, font_file, han_face
from loopwright.report.pack.differing import NOT_THERE
from loopwright.report.pack.language import in_language
from loopwright.report.pack.leaves import Leaf, Pack
from loopwright.report.terminal import sentence_text
from loopwright.study.cautions import DEFERENCE

if TYPE_CHECKING:
    import typst

PAPERS: Mapping[str, str] = {"A4": "a4", "Letter": "us-letter"}  # the word a person says: that of the template
CAUTIONS = "Cautions"
WITHOUT_PDF = "leave the PDF out: --only xlsx,dxf,svg,glb,csv,json"
LONGEST_WORD = 60  # letters; a longer run without a space may be broken anywhere
LONGEST_IN_CELL = 24  # the same where a column is narrow
PT_PER_PX = 2 / 3  # words of 12 px on the screen are 8 pt on paper, the least that is read
TALLEST_PT = 600  # of a drawing, so that it stands on a page of either paper
PREVIEW_PPI = 96
WORDS = {
    "page": "page",
    "confidential": "confidential",
    "was": "was",
    "new": "new",
    "absent": NOT_THERE,
}  # of the template
FULL_WIDTH_PX = 770  # a drawing as wide as the type area


def pack_pdf(pack: Pack, paper: str = "A4", language: str = "en") -> bytes:
    """The pack as a tagged PDF.

    Raises:
        Problem: no such paper or language, or letters that no face of the pack has a form for.
    """
    return pages_pdf(pages_document(pack, paper), language)


def pages_pdf(document: Mapping[str, Any], language: str = "en") -> bytes:
    """Pages as they are kept, as a tagged PDF in a language: the same data give the same bytes.

    Raises:
        Problem: no such language, letters that no face of the pack has a form for, or data that cannot be set.
    """
    pdf: bytes = _set(document, language, format="pdf", pdf_standards=["ua-1"])
    return pdf


def pages_png(document: Mapping[str, Any], language: str = "en", *, ppi: float = PREVIEW_PPI) -> tuple[bytes, ...]:
    """The same pages as pictures.

    Raises:
        Problem: as `pages_pdf`.
    """
    return tuple(_set(document, language, format="png", ppi=ppi))


def _set(document: Mapping[str, Any], language: str, **how: Any) -> Any:
    """The pages set in a format of the typesetter's."""
    import typst

    document, folders = with_faces(in_language({**document, "words": WORDS}, language))
    data = orjson.dumps(document).decode("utf-8")
    template = (resources.files(__package__) / "pack.typ").read_bytes()
    try:
        return typst.compile(template, font_paths=_fonts(folders), sys_inputs={"pack": data}, **how)
    except typst.TypstError as error:
        raise Problem(
            "pack", f"the pages cannot be set ({error.message}).", tries=["other words in names and notes", WITHOUT_PDF]
        ) from error


@cache
def _fonts(folders: tuple[Path, ...]) -> typst.Fonts:
    """The faces in these folders, read once."""
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[str(folder) for folder in folders])


def require_paper(paper: str) -> None:
    """Check the paper before anything is worked out.

    Raises:
        Problem: no such paper.
    """
    if paper not in PAPERS:
        raise Problem("paper", f"“{paper}” is no paper of a pack.", tries=list(PAPERS))


def with_faces(document: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[Path, ...]]:
    """The data of the pages with the families that print them, and the folders of those.

    What cannot be printed is found before anything is set; a face for Chinese is looked for only when it is needed.

    Raises:
        Problem: letters that no face has a form for, with the words they stand in.
    """
    found: dict[str, str] = {}
    for text in _texts(document):
        for letter in missing_letters(text):
            found.setdefault(letter, text)
    han = han_face() if found else None
    if han is not None:
        found = {letter: text for letter, text in found.items() if ord(letter) not in han.letters}
    if found:
        if han is None and document["language"] == "zh":
            raise Problem(
                "language",
                "Pages in Simplified Chinese need a type face with its letters, and this machine has none.",
                tries=["install a font for Simplified Chinese", "another language", WITHOUT_PDF],
            )
        letters = " ".join(sorted(found))
        where = next(iter(found.values()))
        place = where if len(where) <= LONGEST_WORD else f"{where[:LONGEST_WORD]}…"
        raise Problem(
            "pack",
            f"The faces of the pack have no form for {letters}, first met in “{place}”.",
            limit="Latin, Greek and Cyrillic letters can be printed",
            tries=["write the name or note in those letters", "install a font that has them", WITHOUT_PDF],
        )
    further, files = ([han.family], [han.file]) if han else ([], [])
    folders = tuple(sorted({path.parent for path in (*_faces(), *files)}))
    return {**document, "sans": ["Source Sans Pro", *further], "serif": ["Source Serif Pro", *further]}, folders


def missing_letters(text: str) -> str:
    """Letters of a text that no face has a form for, each once.

    >>> missing_letters("Nachtzug, Größe 38, 50 % Wolle"), missing_letters("夜行")
    ('', '夜行')
    """
    known = _known_letters()
    return "".join(dict.fromkeys(each for each in text if ord(each) not in known and not _shows_nothing(each)))


def _shows_nothing(letter: str) -> bool:
    """Whether a sign has no form to print: controls, spaces, marks of direction and of breaks."""
    return category(letter) in ("Cf", "Zs", "Cc") and letter not in SEEN_ALL_THE_SAME


SEEN_ALL_THE_SAME = "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u08e2\u1680\ufff9\ufffa\ufffb"


@cache
def _known_letters() -> frozenset[int]:
    """Code points that every face of the pages has."""
    from fontTools.ttLib import TTFont

    return frozenset.intersection(*(frozenset(TTFont(path, lazy=True).getBestCmap()) for path in _faces()))


@cache
def _faces() -> tuple[Any, ...]:
    """Files of the upright faces that the pages use.

    Raises:
        Problem: a face is not installed.
    """
    files = [font_file(package, part, (".otf",)) for _, _, style, package, part in FACES if style == "normal"]
    if None in files:
        raise Problem("pack", "The type faces of the pages are not installed.", tries=["install Loopwright again"])
    return tuple(files)


def _texts(value: Any) -> Iterator[str]:
    """Every text of the data, pictures by the words in them."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from (_words_of_svg(each) if key == "svg" else _texts(each))
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _texts(each)


def _words_of_svg(svg: str) -> Iterator[str]:
    for found in re.findall(r"<(?:text|tspan)[^>]*>([^<]*)<", svg):
        yield unescape(found)


def pages_document(pack: Pack, paper: str) -> dict[str, Any]:
    """The pages as data: all that the template reads, in English.

    Raises:
        Problem: no such paper.
    """
    require_paper(paper)
    return {
        "title": pack.title,
        "line": pack.line,
        "issue": pack.issue,
        "replaces": pack.replaces,
        "foot": pack.foot,
        "paper": PAPERS[paper],
        "confidential": pack.is_confidential,
        "colours": {"ink": theme.INK, "second": theme.INK_2, "rule": theme.TONE_3, "tone": theme.TONE_1},
        "leaves": [leaf_document(leaf) for leaf in pack.leaves],
    }


def leaf_document(leaf: Leaf) -> dict[str, Any]:
    """A leaf as the template takes it."""
    return {
        "title": leaf.title,
        "note": leaf.note,
        "main": [_block(block) for block in leaf.main],
        "side": [_block(block) for block in leaf.side],
        "flow": [_block(block) for block in leaf.flow],
    }


def _block(block: Block) -> dict[str, Any]:
    """A block as the template takes it."""
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Steps):
        lines = [[broken(what, LONGEST_IN_CELL), broken(said)] for what, said in block.lines]
        longest = max((len(what) for what, _ in lines), default=0)
        is_short = longest <= LONGEST_LABEL
        return {"kind": "steps", "heading": block.heading, "lines": lines, "is_short": is_short}
    if isinstance(block, Picture):
        said = re.search(r"<desc[^>]*>(.*?)</desc>", block.svg)
        across = re.search(r'<svg[^>]* width="([0-9.]+)"', block.svg)
        tall = re.search(r'<svg[^>]* height="([0-9.]+)"', block.svg)
        width_pt = PT_PER_PX * min(float(across[1]) if across else FULL_WIDTH_PX, FULL_WIDTH_PX)
        if across and tall:
            width_pt = min(width_pt, TALLEST_PT * float(across[1]) / float(tall[1]))
        alt = unescape(said[1]) if said else block.name
        return {"kind": "picture", "svg": block.svg, "alt": alt, "width_pt": width_pt}
    if isinstance(block, Findings):
        items = [
            {
                "sign": each.sign.word,
                "where": broken(each.where),
                "sentence": broken(each.sentence),
                "tries": f"Try: {'; '.join(each.tries)}" if each.tries else "",
            }
            for each in block.findings
        ]
        return {"kind": "findings", "items": items}
    if isinstance(block, Cautions):
        told = [{"title": each.title, "text": each.text, "source": each.source} for each in block.cautions]
        return {"kind": "cautions", "heading": CAUTIONS, "deference": DEFERENCE, "items": told}
    if isinstance(block, Lines):
        return {"kind": "lines", "lines": [broken(each) for each in block.lines]}
    return {"kind": "lines", "lines": [broken(sentence_text(block))]}


LONGEST_LABEL = 24


def _table(block: Table) -> dict[str, Any]:
    return {
        "kind": "table",
        "head": [broken(each, LONGEST_IN_CELL) for each in block.head],
        "rows": [[_cell(each) for each in row] for row in block.rows],
        "words": list(block.words),
        "strong": sorted(block.strong),
        "base": block.base,
        "hand": sorted(block.hand_set),
        "caption": block.caption,
    }


def _cell(cell: Cell) -> str | dict[str, str]:
    if isinstance(cell, Figure):
        spread = spread_shown(cell)
        unit = f"{gap(cell.unit)}{cell.unit}"
        return {
            "text": shown(cell),
            "spread": f"{spread}{unit}",
            "letter": cell.basis.letter,
            "basis": cell.basis.value,
        }
    if isinstance(cell, Link | Chance):
        return broken(cell.text, LONGEST_IN_CELL)
    return broken(cell, LONGEST_IN_CELL)


def broken(text: str, most: int = LONGEST_WORD) -> str:
    """The text with room to break in runs that no line could hold.

    >>> broken("short words") == "short words", broken("x" * 130).count("\u200b")
    (True, 2)
    """
    return re.sub(rf"(\S{{{most}}})(?=\S)", "\\1\u200b", text)
