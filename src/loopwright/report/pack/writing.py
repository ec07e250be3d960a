"""A pack put away: every format that was asked for in one folder, whole or not at all.

In: `StyleStudy`, folder, formats, paper. Out: paths. Everything is made before the first byte is written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import orjson

from loopwright.problems import Problem
from loopwright.report.blocks import Picture
from loopwright.report.document import study_document
from loopwright.report.files import put_away
from loopwright.report.pack.cost_workbook import cost_workbook
from loopwright.report.pack.leaves import Pack, cost_pack_of, is_of_money, pack_of
from loopwright.report.pack.pages import pack_pdf, require_paper
from loopwright.report.pack.panels_dxf import panels_dxf
from loopwright.report.pack.workbook import specification_workbook
from loopwright.report.size_files import size_csv
from loopwright.study.labels import care_of_style, labels_of
from loopwright.study.study import StyleStudy

FORMATS = ("pdf", "xlsx", "dxf", "svg", "csv", "json")
NOT_FOR_THEM = ("price", "refused")  # parts of the study's document that stay at home
STAYS_HOME = ("rates", "targets", "swatches", "samples")  # parts of the style: money, and records with their notes


def pack_files(
    study: StyleStudy, formats: Sequence[str] = FORMATS, *, paper: str = "A4", with_cost: bool = False
) -> dict[str, bytes]:
    """The files of a pack by name; the confidential cost sheet among them only when asked for.

    Raises:
        Problem: nothing to knit yet, something refused, an unknown format or paper, letters that cannot be printed.
    """
    unknown = [each for each in formats if each not in FORMATS]
    if unknown or not formats:
        said = ", ".join(unknown) or "nothing"
        raise Problem("pack", f"“{said}” is no format of a pack.", tries=[", ".join(FORMATS)])
    require_paper(paper)
    if study.refused:
        raise study.refused[0]
    pack = pack_of(study)
    header = study.style.style
    title = f"{header.name}, style {header.number}, version {header.version}"
    makers: Mapping[str, Callable[[], dict[str, bytes]]] = {
        "pdf": lambda: {"specification.pdf": pack_pdf(pack, paper)},
        "xlsx": lambda: {"specification.xlsx": specification_workbook(study, (title,))},
        "dxf": lambda: {"panels.dxf": panels_dxf(study.sizes, title=title)},
        "svg": lambda: _drawings(pack),
        "csv": lambda: {"sizes.csv": size_csv(study.size_table)} if study.size_table else {},
        "json": lambda: {"pack.json": pack_json(study)},
    }
    files: dict[str, bytes] = {}
    for each in FORMATS:
        if each in formats:
            files |= makers[each]()
    if with_cost:
        files |= _cost_files(study, formats, paper)
    return files


def _drawings(pack: Pack) -> dict[str, bytes]:
    """The drawings of the pages as files of their own, each once, by name."""
    drawn = {block.name: block.svg for leaf in pack.leaves for block in leaf.main if isinstance(block, Picture)}
    return {f"{name}.svg": svg.encode("utf-8") for name, svg in drawn.items() if name != "points"}


def _cost_files(study: StyleStudy, formats: Sequence[str], paper: str) -> dict[str, bytes]:
    pack, pricing = cost_pack_of(study), study.pricing
    if pack is None or pricing is None:
        raise Problem("pack", "There is no price yet, so there is no cost sheet.", tries=["give the order its pieces"])
    files = {}
    if "pdf" in formats:
        files["cost-confidential.pdf"] = pack_pdf(pack, paper)
    if "xlsx" in formats:
        files["cost-confidential.xlsx"] = cost_workbook(pricing, (study.style.style.name,))
    if not files:
        what = "The cost sheet is made as pdf or xlsx, and neither was asked for."
        raise Problem("pack", what, tries=["--only pdf", "--only xlsx"])
    return files


def pack_document(study: StyleStudy) -> dict[str, Any]:
    """The study as data without money, and the label and care that follow from it; keys as in docs/json.md."""
    whole = study_document(study)
    kept = {key: value for key, value in whole.items() if key not in NOT_FOR_THEM}
    kept["style"] = {key: value for key, value in whole["style"].items() if key not in STAYS_HOME}
    kept["style"]["yarns"] = {
        name: {key: value for key, value in yarn.items() if key != "price_per_kg"}
        for name, yarn in whole["style"].get("yarns", {}).items()
    }
    kept["assumptions"] = {key: said for key, said in whole["assumptions"].items() if not is_of_money(key, said)}
    kept["findings"] = [
        each
        for each in whole["findings"]
        if each["where"] != "assumptions"
        and not is_of_money(each["where"], " ".join((each["sentence"], *each["tries"], each["consequence"])))
    ]
    labels = labels_of(study)
    kept["labels"] = [label.as_dict() for label in labels.labels]
    kept["care"] = dict(care_of_style(study).lines)
    return kept


def pack_json(study: StyleStudy) -> bytes:
    """`pack_document` as text."""
    option = orjson.OPT_INDENT_2 | orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_NON_STR_KEYS
    return orjson.dumps(pack_document(study), option=option) + b"\n"


def write_pack(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Put the files into `folder`, which is made when it is not there; none has changed when one cannot be written.

    Raises:
        Problem: the folder cannot be written to, or is a file.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return put_away(folder, files)
    except OSError as error:
        raise Problem(
            f"folder {folder}", f"nothing can be written there ({error.strerror}).", tries=["another folder with --out"]
        ) from error
