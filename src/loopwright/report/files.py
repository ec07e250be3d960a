"""Putting a study away: JSON and the HTML sheet in a folder, each file whole.

In: `StyleStudy`, folder. Out: paths. Everything is computed before the first byte is written; every file is written
beside its place and moved in one step, so a full disk or a kill leaves no half file, at worst one older than the other.
"""

from __future__ import annotations

import errno
import secrets
import shutil
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import orjson

from loopwright.draw.cloth import cloth_picture
from loopwright.draw.curl import curl_picture
from loopwright.draw.makeup_map import makeup_map
from loopwright.draw.needles import needle_notation_picture
from loopwright.draw.panel import panels_picture
from loopwright.draw.point_paper import point_paper_picture
from loopwright.draw.price import price_bar, price_line, quantity_curve, share_bars
from loopwright.draw.running_thread import running_thread_picture
from loopwright.draw.section import cross_section_picture
from loopwright.draw.strokes import Row, strokes_picture
from loopwright.problems import Problem
from loopwright.report.document import study_document
from loopwright.report.page import page
from loopwright.report.sheet import sheet_of, shown_size
from loopwright.report.tables import distinct_fabrics
from loopwright.study.knitting import SizeStudy
from loopwright.study.making import Cloth, Making
from loopwright.study.study import StyleStudy
from loopwright.study.ways import ways_of_making


def study_json(study: StyleStudy) -> bytes:
    """The study as JSON, indented, keys as documented in docs/json.md."""
    return document_json(study_document(study))


def document_json(document: Mapping[str, Any]) -> bytes:
    """A document of values as indented JSON."""
    option = orjson.OPT_INDENT_2 | orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_NON_STR_KEYS
    return orjson.dumps(document, option=option) + b"\n"


def study_page(study: StyleStudy) -> str:
    """The study as one HTML page with its pictures and its ways of making."""
    return page(sheet_of(study, pictures=pictures(study), every_size=True, ways=ways_of_making(study)))


def pictures(study: StyleStudy, size: str = "", before: tuple[float, str] | None = None) -> dict[str, str]:
    """SVG texts of everything that can be drawn, by name; panels and strokes of `size` or of the base size.

    `before` is where the price was before the last change that moved it, with what then was otherwise.
    """
    shown = shown_size(study, size)
    return {**making_pictures(study.making, shown.size if shown else ""), **_price_pictures(study, before)}


@lru_cache(maxsize=16)
def making_pictures(making: Making, size: str) -> Mapping[str, str]:
    """Pictures that no order or rate can change: cloth, diagrams, and panels and strokes of a size."""
    return {**_cloth_pictures(making.cloth), **_size_pictures(making, size)}


@lru_cache(maxsize=16)
def _cloth_pictures(cloth: Cloth) -> Mapping[str, str]:
    """Face and back of every distinct fabric at yarn level, point paper and running thread of every structure."""
    drawn: dict[str, str] = {}
    fabrics = distinct_fabrics(cloth.fabrics).values()
    for number, fabric in enumerate(fabrics, start=1):
        drawn[f"cloth-face-{number}"] = cloth_picture(fabric, "face", key=f"cloth-face-{number}")
        drawn[f"cloth-back-{number}"] = cloth_picture(fabric, "back", key=f"cloth-back-{number}")
        drawn[f"curl-{number}"] = curl_picture(fabric, width=250, key=f"curl-{number}")
        drawn[f"cut-{number}"] = cross_section_picture(fabric, key=f"cut-{number}")
    structures = dict.fromkeys(fabric.structure for fabric in fabrics)
    for number, structure in enumerate(structures, start=1):
        drawn[f"needles-{number}"] = needle_notation_picture(structure.notation, key=f"needles-{number}")
        drawn[f"point-{number}"] = point_paper_picture(structure.notation, key=f"point-{number}")
        drawn[f"thread-{number}"] = running_thread_picture(structure.notation, width=500, key=f"thread-{number}")
    return drawn


def _size_pictures(making: Making, size: str) -> dict[str, str]:
    worked = next((each for each in making.sizes if each.size == size), None)
    if worked is None:
        return {}
    plans = [panel.plan for panel in worked.panels]
    drawn = {
        "panels": panels_picture(
            plans, size=size, wanted=worked.plan.wanted, seams=[join.name for join in worked.plan.joins]
        )
    }
    drawn["makeup"] = makeup_map(worked.plan.measures, worked.seams)
    if timed := timed_rows(worked):
        drawn["strokes"] = strokes_picture(timed, size=size)
    return drawn


def timed_rows(size: SizeStudy) -> list[Row]:
    """Rows of the stroke timeline of a size: panel, pieces, timeline."""
    return [(panel.plan.name, panel.plan.pieces, panel.timeline) for panel in size.panels if panel.timeline]


def _price_pictures(study: StyleStudy, before: tuple[float, str] | None) -> dict[str, str]:
    pricing, targets = study.pricing, study.style.targets
    if pricing is None or pricing.sheet.fob.figure.value <= 0:  # a price of nothing has no scale
        return {}
    breaks = {each.pieces: each.figure for each in pricing.breaks}
    shares = {share.words: share.share for share in pricing.spread.fob.shares}
    return {
        "line": price_line(pricing.sheet.fob.figure, target=targets.price, quoted=targets.quoted_price, before=before),
        "bar": price_bar(pricing.sheet, target=targets.price),
        "curve": quantity_curve(pricing.law, breaks, pieces=pricing.sheet.pieces, target=targets.price),
        "shares": share_bars(shares),
    }


def write_study(study: StyleStudy, folder: Path) -> tuple[Path, ...]:
    """Write `study.json` and `sheet.html` into `folder`, which is made when it is not there.

    Raises:
        Problem: the folder cannot be written to, or is a file.
    """
    return write_folder(folder, {"study.json": study_json(study), "sheet.html": study_page(study).encode("utf-8")})


def write_folder(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Put files into `folder`, which is made when it is not there; none has changed when one cannot be written.

    Raises:
        Problem: the folder cannot be written to, or is a file.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _put_away(folder, contents)
    except OSError as error:
        raise Problem(
            f"folder {folder}", f"nothing can be written there ({error.strerror}).", tries=["another folder with --out"]
        ) from error


def write_new_folder(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Make a folder with these files in one step: it is there whole, or not at all.

    Raises:
        Problem: there is such a folder already, or it cannot be written.
    """
    beside = folder.with_name(f".{folder.name}.{secrets.token_hex(6)}")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside.mkdir()
        for name, data in contents.items():
            (beside / name).write_bytes(data)
        beside.rename(folder)
    except OSError as error:
        is_taken = error.errno in (errno.ENOTEMPTY, errno.EEXIST, errno.ENOTDIR)
        why = "there is something of that name" if is_taken else error.strerror
        tries = ["again, under the next number"] if is_taken else ["another folder with --out"]
        raise Problem(f"folder {folder}", f"nothing can be written there ({why}).", tries=tries) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return tuple(folder / name for name in contents)


def write_whole(path: Path, data: bytes) -> None:
    """Write one file whole: beside its place, then moved.

    Raises:
        Problem: it cannot be written there.
    """
    try:
        _put_away(path.parent, {path.name: data})
    except OSError as error:
        tries = ["another name or folder"]
        raise Problem(f"file {path}", f"it cannot be written ({error.strerror}).", tries=tries) from error


def _put_away(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write every file beside its place, then move them: when one cannot be written, none has changed."""
    beside: dict[Path, Path] = {}
    try:
        for name, data in contents.items():
            path = folder / name
            if path.is_dir():
                raise IsADirectoryError(errno.EISDIR, f"{name} is a folder", str(path))
            beside[path] = _beside(path)
            beside[path].write_bytes(data)
        for path, written in beside.items():
            written.replace(path)
    finally:
        for written in beside.values():
            written.unlink(missing_ok=True)
    return tuple(beside)


def _beside(path: Path) -> Path:
    """A new empty file in the folder of `path`, with the permissions that the person's own files get."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(6)}")
    beside.open("xb").close()
    return beside
