"""The files of a pack: every format that was asked for, by name.

In: `StyleStudy`, formats, paper. Out: bytes by name, all made before any is written. Not covered: putting them into a
folder (`report.files`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from loopwright.draw.fabric_glb import fabric_glb
from loopwright.problems import Problem
from loopwright.report.blocks import Picture
from loopwright.report.document import study_document
from loopwright.report.files import document_json
from loopwright.report.pack.cost_workbook import cost_workbook
from loopwright.report.pack.language import Tongue, require_language
from loopwright.report.pack.leaves import Pack, cost_pack_of, findings_for_the_factory, is_of_money, pack_of
from loopwright.report.pack.pages import pack_pdf, pages_document, pages_pdf, require_paper
from loopwright.report.pack.panels_dxf import panels_dxf
from loopwright.report.pack.schema import FILE, FORMAT, OF_YARN_STAYS_HOME, STAYS_HOME, pack_schema
from loopwright.report.pack.workbook import specification_workbook
from loopwright.report.size_files import size_csv
from loopwright.report.tables import distinct_fabrics
from loopwright.study.labels import care_of_style, labels_of
from loopwright.study.study import StyleStudy

FORMATS = ("pdf", "xlsx", "dxf", "svg", "glb", "csv", "json")
NOT_FOR_THEM = ("price", "refused")  # parts of the study's document that stay at home


def pack_files(
    study: StyleStudy,
    formats: Sequence[str] = FORMATS,
    *,
    paper: str = "A4",
    language: str = "en",
    with_cost: bool = False,
    pages: Mapping[str, Any] | None = None,
) -> dict[str, bytes]:
    """The files of a pack by name; the confidential cost sheet among them only when asked for.

    `pages` are those of an issue, printed in the place of the study's own.

    Raises:
        Problem: nothing to knit yet, something refused, an unknown format, paper or language,
            letters that cannot be printed.
    """
    unknown = [each for each in formats if each not in FORMATS]
    if unknown or not formats:
        said = ", ".join(unknown) or "nothing"
        raise Problem("pack", f"“{said}” is no format of a pack.", tries=[", ".join(FORMATS)])
    _require_sound(study, paper)
    require_language(language)
    pack = pack_of(study)
    header = study.style.style
    title = f"{header.name}, style {header.number}, {pages['issue'] if pages else pack.issue}"
    makers: Mapping[str, Callable[[], dict[str, bytes]]] = {
        "pdf": lambda: {"specification.pdf": pages_pdf(pages or pages_document(pack, paper), language)},
        "xlsx": lambda: {"specification.xlsx": specification_workbook(study, (title,), language)},
        "dxf": lambda: {"panels.dxf": panels_dxf(study.sizes, title=title)},
        "svg": lambda: _drawings(pack, language),
        "glb": lambda: _fabrics(study),
        "csv": lambda: {"sizes.csv": size_csv(study.size_table)} if study.size_table else {},
        "json": lambda: {"pack.json": document_json(pack_document(study)), FILE: document_json(pack_schema())},
    }
    files: dict[str, bytes] = {}
    for each in FORMATS:
        if each in formats:
            files |= makers[each]()
    if with_cost:
        files |= cost_files(study, formats, paper=paper)
    return files


def _require_sound(study: StyleStudy, paper: str) -> None:
    """Check the paper, and that nothing of the style was refused."""
    require_paper(paper)
    if study.refused:
        raise study.refused[0]


def _drawings(pack: Pack, language: str) -> dict[str, bytes]:
    """The drawings of the pages as files of their own, each once, by name."""
    tongue = Tongue(language)
    drawn = {block.name: block.svg for leaf in pack.leaves for block in leaf.main if isinstance(block, Picture)}
    return {f"{name}.svg": tongue.picture(svg).encode("utf-8") for name, svg in drawn.items()}


def _fabrics(study: StyleStudy) -> dict[str, bytes]:
    """A piece of every fabric at yarn level, by the names of its zones."""
    simulations = study.making.cloth.simulations
    return {
        f"fabric-{zones.replace(', ', '-')}.glb": fabric_glb(fabric, simulations[zones.partition(",")[0]].cloth)
        for zones, fabric in distinct_fabrics(study.fabrics).items()
    }


def cost_files(study: StyleStudy, formats: Sequence[str] = ("pdf", "xlsx"), *, paper: str = "A4") -> dict[str, bytes]:
    """The confidential cost sheet by name.

    Raises:
        Problem: no price yet, something refused, an unknown paper, or no format that a cost sheet has.
    """
    _require_sound(study, paper)
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
    """The study as data without money, and the label and care that follow from it; form as in `schema`."""
    assumed = {key: said for key, said in study.assumptions.items() if not is_of_money(key, said)}
    whole = study_document(replace(study, findings=findings_for_the_factory(study), assumptions=assumed))
    kept = {"$schema": FILE} | {key: value for key, value in whole.items() if key not in NOT_FOR_THEM}
    kept["format"] = FORMAT
    kept["style"] = style_for_the_factory(whole["style"])
    labels = labels_of(study)
    kept["labels"] = [label.as_dict() for label in labels.labels]
    kept["care"] = dict(care_of_style(study).lines)
    return kept


def style_for_the_factory(document: Mapping[str, Any]) -> dict[str, Any]:
    """The document of a style without what stays at home: money, targets, records with their notes."""
    kept = {key: value for key, value in document.items() if key not in STAYS_HOME}
    yarns = document.get("yarns", {})
    kept["yarns"] = {
        name: {key: value for key, value in yarn.items() if key not in OF_YARN_STAYS_HOME}
        for name, yarn in yarns.items()
    }
    return kept
