"""The answer of `loopwright mechanics`: blocks to be read, and the same as JSON.

In: `LoopAnswer`, and where it is asked for a second one to stand beside it. Without a yarn everything is in yarn
diameters (d) and in its bending rigidity (B); with one also in mm, per cm, and, once the rigidity is known, in newtons.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from loopwright import __version__
from loopwright.figure import Basis, Figure, banded, plain
from loopwright.mechanics.balance import is_balanced
from loopwright.mechanics.cloth import force_n_per_cm
from loopwright.mechanics.fields import TENSIONS
from loopwright.mechanics.remedies import Remedy, ranked, remedies
from loopwright.mechanics.stored import Simulated
from loopwright.mechanics.trust import trust_of
from loopwright.report.blocks import Block, Cell, Findings, Lines, Table
from loopwright.report.simulated import calibration_line, figures_document
from loopwright.study.loop_words import LoopAnswer

FORMAT = "loopwright mechanics 1"
TRUSTED = ("wales", "courses", "radius", "lean", "thickness", "stretch")
EDGES = (("sides", "Side edges"), ("ends", "End edges"))
MODULI = (("width", "Width"), ("length", "Length"), ("shear", "Shear"))
FLAT_PER_D = 1 / 60  # curvature under which an edge lies practically flat
FOOT = (
    "Loop mechanics, relaxed and without friction. S simulated; spread: nine cases in ten. Not told: which edge wins, "
    "recovery, bagging, the way back of a stretch curve."
)


def title(answer: LoopAnswer) -> str:
    """Heading of the answer."""
    setting = answer.setting
    parts = [f"{setting.structure.name[:1].upper()}{setting.structure.name[1:]}"]
    if setting.yarn is not None:
        parts.append(setting.yarn.name)
    if setting.loop_length is not None:
        parts.append(f"loop {plain(setting.loop_length.value, 2)} mm")
    parts.append(f"{plain(setting.loop_over_diameter, 1)} yarn diameters")
    if setting.plating:
        parts.append(f"plated with a yarn {plain(setting.plating, 2)} times as thick")
    return ", ".join(parts)


def answer_blocks(answer: LoopAnswer, beside: LoopAnswer | None = None) -> list[Block]:
    """Everything that is said, in order."""
    blocks: list[Block] = [dimension_table([answer, *([beside] if beside else [])])]
    if answer.findings:
        blocks.append(Findings(answer.findings))
    blocks += [roll_table(answer), stretch_table(answer), modulus_table(answer), rest_table(answer)]
    if answer.cloth is not None:
        blocks += list(remedy_tables(remedies(answer.cloth)))
    calibration = answer.setting.calibration
    if calibration is not None:
        blocks += [_calibration_table(answer), Lines((calibration_line(calibration),))]
    blocks.append(trust_table(answer))
    missing = (*answer.missing, *(calibration.missing if calibration else ()))
    if missing:
        blocks.append(Lines(("Missing:", *(f"  {line}" for line in missing))))
    where = "solved now" if answer.is_live else "from the atlas of solved cloths"
    blocks.append(Lines((f"{where[:1].upper()}{where[1:]}: {answer.page.message}.", FOOT)))
    return blocks


def dimension_table(answers: Sequence[LoopAnswer]) -> Table:
    """Dimensions of one cloth or two: in trade units where the yarn is known, else in diameters."""
    told = [_dimensions(answer) for answer in answers]
    labels = dict.fromkeys(label for each in told for label in each)
    rows: list[tuple[Cell, ...]] = [(label, *(each.get(label, "") for each in told)) for label in labels]
    return Table(("At rest", *(answer.setting.structure.name for answer in answers)), tuple(rows))


def _dimensions(answer: LoopAnswer) -> dict[str, Cell]:
    page, cloth = answer.page, answer.cloth
    rows: dict[str, Cell] = {}
    if cloth is not None:
        rows |= {
            "Wales, visible": cloth.geometry.wales_per_cm,
            "Courses, visible": cloth.geometry.courses_per_cm,
            "Thickness, unloaded": cloth.thickness,
            "Lean of the wales": cloth.lean or "",
        }
    else:
        rows |= {
            "Wale spacing": _in_diameters("wale spacing", page.spacing("wale"), answer, "wales"),
            "Course spacing": _in_diameters("course spacing", page.spacing("course"), answer, "courses"),
            "Thickness, unloaded": _in_diameters("thickness", page["depth"], answer, "thickness"),
            "Lean of the wales": lean_figure(answer) or "",
        }
    return {label: cell for label, cell in rows.items() if cell != ""}


def _in_diameters(name: str, number: Simulated, answer: LoopAnswer, quantity: str) -> Figure:
    """A length in diameters with the model's spread and the error of reading."""
    spread = trust_of(quantity, answer.setting.structure, answer.page.ratio)["spread"]
    arm = math.hypot(spread * number.value, number.error)
    return banded(
        name,
        number.value,
        "d",
        low=number.value - arm,
        high=number.value + arm,
        basis=Basis.SIMULATED,
        words="in yarn diameters",
        source="loop mechanics",
    )


def lean_figure(answer: LoopAnswer) -> Figure | None:
    """The lean where the twist of a loop is known, or nil for balanced cloth."""
    setting = answer.setting
    if answer.cloth is not None:
        return answer.cloth.lean
    turns = setting.turns_per_loop
    if turns is None or is_balanced(setting.structure.notation):
        return None
    value = answer.page.lean(turns, setting.finish.share.value).value
    arm = trust_of("lean", setting.structure, answer.page.ratio)["spread"] * abs(value)
    if not math.isfinite(value):
        return None
    return banded(
        "lean of the wales",
        value,
        "°",
        low=value - arm,
        high=value + arm,
        basis=Basis.SIMULATED,
        words=f"{turns:+.3f} residual turns in a loop; right positive, seen on the face",
        source="loop mechanics",
    )


def roll_table(answer: LoopAnswer) -> Table:
    """Which way edges roll and how tightly, for the set asked for."""
    cloth, share = answer.cloth, answer.setting.finish.share
    rows: list[tuple[Cell, ...]] = []
    for way, label in EDGES:
        radius = cloth and (cloth.side_radius if way == "sides" else cloth.end_radius)
        rows.append((label, roll_words(answer, way), radius or _radius_in_diameters(answer, way)))
    caption = f"Set of the yarn {share.text()}; a free edge of a long piece. Direction sure, radius a range."
    return Table(("Roll", "towards", "radius"), tuple(rows), caption=caption, words=(0, 1))


def roll_words(answer: LoopAnswer, way: str) -> str:
    """ "to the back", "lies flat", "to the face, stopped by contact"."""
    page, share = answer.page, answer.setting.finish.share.value
    if is_balanced(answer.setting.structure.notation):
        return "lies flat"
    bend = page.curvature(way, share).value
    if not math.isfinite(bend):
        return "did not settle"
    if abs(bend) < FLAT_PER_D:
        return "lies practically flat"
    toward = "to the back" if bend > 0 else "to the face"
    return f"{toward}, stopped by contact" if page.is_bound(way, share) else toward


def _radius_in_diameters(answer: LoopAnswer, way: str) -> Cell:
    bend = answer.page.curvature(way, answer.setting.finish.share.value)
    if is_balanced(answer.setting.structure.notation) or not abs(bend.value) >= FLAT_PER_D:
        return ""
    radius = abs(1 / bend.value)
    return _in_diameters("radius", Simulated(radius, radius * bend.error / abs(bend.value)), answer, "radius")


def stretch_rows(answer: LoopAnswer) -> Iterator[dict[str, float | None]]:
    """Strain at every tension; newtons where the rigidity is known."""
    page, stiff, d = answer.page, answer.setting.finish.rigidity_n_mm2, answer.setting.diameter_mm
    for place, tension in enumerate(TENSIONS):
        force = None
        if stiff is not None and d is not None:
            force = force_n_per_cm(reduced_tension=tension, rigidity_n_mm2=stiff.value, diameter_mm=d)
        row: dict[str, float | None] = {"tension_b_per_d3": tension, "force_n_per_cm": force}
        for way in ("width", "length"):
            row[f"{way}_stretch_percent"] = _percent(page[f"stretch_{way}_{place}"])
            other = "length" if way == "width" else "width"
            row[f"{other}_change_when_{way}_is_pulled_percent"] = _percent(page[f"sideways_{way}_{place}"])
        yield row


def _percent(number: Simulated) -> float | None:
    return 100 * number.value if number.is_known else None


def stretch_table(answer: LoopAnswer) -> Table:
    """Stretch by tension, in width and in length, with what the other direction does."""
    rows: list[tuple[Cell, ...]] = []
    for row in stretch_rows(answer):
        force = row["force_n_per_cm"]
        pull = [plain(row["tension_b_per_d3"] or 0.0, 2), *([] if force is None else [plain(force, 2)])]
        cells = [
            "gives way" if value is None else f"{plain(value, 0)} %"
            for key, value in row.items()
            if key.endswith("percent")
        ]
        rows.append((*pull, *cells))
    has_force = answer.setting.finish.rigidity_n_mm2 is not None and answer.setting.diameter_mm is not None
    head = ["Pull, B/d³", *(["N/cm"] if has_force else []), "width", "length then", "length", "width then"]
    spread = trust_of("stretch", answer.setting.structure, answer.page.ratio)["spread"]
    caption = f"Pull per undeformed width, the other way free; ± {100 * spread:.0f} % of each. 1 is where yarn locks."
    return Table(tuple(head), tuple(rows), caption=caption)


def modulus_table(answer: LoopAnswer) -> Table:
    """Small-strain moduli and the stiffness against the roll."""
    page, share = answer.page, answer.setting.finish.share.value
    scale = _newtons(answer)
    rows: list[tuple[Cell, ...]] = []
    for key, label in MODULI:
        value = page[f"modulus_{key}"].value
        rows.append((label, plain(value, 2), *([] if scale is None else [plain(value * scale, 1)])))
    rows += [
        (f"Bending, {label.lower()}, B/d", plain(page.stiffness(way, share).value, 3), *([] if scale is None else [""]))
        for way, label in EDGES
    ]
    head = ("Moduli at small strain", "B/d³", *([] if scale is None else ["N/cm"]))
    caption = "Bending stiffness at this set; for comparison at one set only."
    return Table(head, tuple(rows), caption=caption)


def _newtons(answer: LoopAnswer) -> float | None:
    """Newtons per cm in 1 B/d³; none while the rigidity of the yarn is not known."""
    stiff, d = answer.setting.finish.rigidity_n_mm2, answer.setting.diameter_mm
    if stiff is None or d is None:
        return None
    return force_n_per_cm(reduced_tension=1.0, rigidity_n_mm2=stiff.value, diameter_mm=d)


def rest_table(answer: LoopAnswer) -> Table:
    """The rest states that were found, as a range."""
    page = answer.page
    rows: list[tuple[Cell, ...]] = [
        (f"{label} spacing, d", plain(page[key].value, 3), _span(page[f"{key}_low"], page[f"{key}_high"], 3))
        for key, label in (("wale", "Wale"), ("course", "Course"))
    ]
    rows.append(
        ("Energy of a loop, B/d", plain(page["energy"].value, 3), _span(page["energy"], page["energy_high"], 3))
    )
    state = "settled" if page.is_settled else "not settled: a direction only"
    return Table(("Rest states", "lowest", "all found"), tuple(rows), caption=f"Rest state {state}.")


def _span(low: Simulated, high: Simulated, decimals: int) -> str:
    first, last = plain(low.value, decimals), plain(high.value, decimals)
    return "one" if first == last else f"{first} to {last}"


def remedy_tables(found: Sequence[Remedy]) -> Iterator[Table]:
    """What lessens curl and lean, ranked, with its cost."""
    for aim, head in (("curl", "Against the roll"), ("lean", "Against the lean")):
        rows: list[tuple[Cell, ...]] = []
        for each in ranked(found, "curl" if aim == "curl" else "lean"):
            left = each.curl_left if aim == "curl" else each.lean_left
            changes = [_signed(value) for value in (each.width_percent, each.mass_percent, each.minutes_percent)]
            rows.append((f"{each.words}; {each.cost}", f"{plain(100 * (left or 0.0), 0)} %", *changes))
        if rows:
            yield Table((head, "left", "width", "yarn", "minutes"), tuple(rows))


def _signed(value: float | None) -> str:
    if value is None:
        return "–"
    return f"{'+' if value > 0 else ''}{plain(value, 0)} %"


def _calibration_table(answer: LoopAnswer) -> Table:
    calibration = answer.setting.calibration
    assert calibration is not None
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (f"{figure.name[:1].upper()}{figure.name[1:]}", figure) for figure in calibration.figures().values()
    )
    return Table(("Fitted to swatches", "value"), rows)


def trust_table(answer: LoopAnswer) -> Table:
    """How far each kind of figure may be believed, and why."""
    rows: list[tuple[Cell, ...]] = []
    for quantity in TRUSTED:
        row = trust_of(quantity, answer.setting.structure, answer.page.ratio)
        rows.append((quantity.capitalize(), f"± {100 * row['spread']:.0f} %", row.text("words")))
    return Table(("Trust", "model's own", "why"), tuple(rows), words=(0, 2))


def answer_document(answer: LoopAnswer) -> dict[str, Any]:
    """The answer as JSON, keys with their unit: d yarn diameters, B the yarn's bending rigidity."""
    setting, page, cloth = answer.setting, answer.page, answer.cloth
    return {
        "structure": setting.structure.key,
        "structure_name": setting.structure.name,
        "notation": list(setting.structure.notation.lines()),
        "gating": setting.structure.notation.gating.value,
        "yarn": setting.yarn.name if setting.yarn else None,
        "loop_length_mm": setting.loop_length.value if setting.loop_length else None,
        "loop_over_diameter": page.ratio,
        "set_share": setting.finish.share.value,
        "residual_turns_per_loop": setting.turns_per_loop,
        "solved": "live" if answer.is_live else "atlas",
        "is_settled": page.is_settled,
        "is_balanced": is_balanced(setting.structure.notation),
        "figures": figures_document(cloth.figures()) if cloth else {},
        "at_rest": {
            "wale_spacing_d": _number(page.spacing("wale")),
            "course_spacing_d": _number(page.spacing("course")),
            "thickness_d": _number(page["depth"]),
            "energy_per_loop_b_per_d": _number(page["energy"]),
            "lean_deg": figure.as_dict() if (figure := lean_figure(answer)) else None,
        },
        "roll": {way: _roll_document(answer, way) for way, _ in EDGES},
        "stretch": list(stretch_rows(answer)),
        "moduli": {f"{key}_b_per_d3": _finite(page[f"modulus_{key}"].value) for key, _ in MODULI},
        "rest_states": {
            f"{key}_spacing_{end}_d": _finite(page[f"{key}_{end}"].value)
            for key in ("wale", "course")
            for end in ("low", "high")
        },
        "trust": [_trust_document(answer, quantity) for quantity in TRUSTED],
        "remedies": [remedy.as_dict() for remedy in remedies(cloth)] if cloth else [],
        "calibration": setting.calibration.as_dict() if setting.calibration else None,
        "findings": [finding.as_dict() for finding in answer.findings],
        "missing": list(answer.missing),
    }


def mechanics_document(answer: LoopAnswer, beside: LoopAnswer | None, written: Sequence[str]) -> dict[str, Any]:
    """The whole document of the command."""
    return {
        "format": FORMAT,
        "program_version": __version__,
        **answer_document(answer),
        "against": answer_document(beside) if beside else None,
        "written": list(written),
    }


def _number(number: Simulated) -> dict[str, float | None]:
    return {"value": _finite(number.value), "reading_error": _finite(number.error)}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _roll_document(answer: LoopAnswer, way: str) -> dict[str, Any]:
    page, share = answer.page, answer.setting.finish.share.value
    return {
        "words": roll_words(answer, way),
        "curvature_per_d": _finite(page.curvature(way, share).value),
        "moment_b_per_d2": _finite(page[f"moment_{way}"].value),
        "bending_stiffness_b_per_d": _finite(page.stiffness(way, share).value),
        "is_bound": page.is_bound(way, share),
    }


def _trust_document(answer: LoopAnswer, quantity: str) -> dict[str, Any]:
    row = trust_of(quantity, answer.setting.structure, answer.page.ratio)
    return {"quantity": quantity, "spread_share": row["spread"], "words": row.text("words")}
