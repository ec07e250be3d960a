"""A structure on its page: the needle notation to draw on, what follows from it, and its diagrams.

In: a document that holds one structure. Out: a section of the sheet, and the HTML of the drawing grid. While a notation
cannot be knitted its grid stays as drawn and the section says what is wrong. Nothing is typed twice: diagrams and
counts are made from the notation.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from html import escape
from typing import Any

from loopwright.draw.needles import stitch_sign
from loopwright.draw.point_paper import point_paper_picture
from loopwright.draw.running_thread import running_thread_picture
from loopwright.fabric.behaviour import curl_of, run_of
from loopwright.problems import Problem
from loopwright.report.blocks import Block, Lines, Note, Picture, Section, Table
from loopwright.report.tables import feeds_per_course
from loopwright.structure.library import Structure, library, structure_from
from loopwright.structure.notation import Feed, Move, Rack, Stitch, steps_of

CELL = 24.0


def structure_section(document: Mapping[str, Any]) -> Section:
    """What follows from the notation, and its diagrams; or why it cannot be knitted."""
    key, spec = _only(document)
    try:
        structure = structure_from(key, {**spec, "name": spec.get("name") or key})
    except Problem as problem:
        said = Lines((problem.sentence(),))
        return Section("structure", "Needle notation", "cannot be knitted as it stands", (said,))
    blocks: tuple[Block, ...] = (
        Picture("point-drawn", point_paper_picture(structure.notation, key="point-drawn")),
        Picture("thread-drawn", running_thread_picture(structure.notation, width=500, key="thread-drawn")),
        Table(("Follows from the notation", "counted"), counts_of(structure)),
    )
    tally = "the one place where a structure is written"
    return Section("structure", "Needle notation", tally, blocks, _notes(structure), f"{structure.anatomy.feeds} feeds")


def _only(document: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    key, spec = next(iter(document["structures"].items()))
    return key, dict(spec)


def counts_of(structure: Structure) -> tuple[tuple[str, str], ...]:
    """What is counted from a notation, as rows of words."""
    counted, run = structure.anatomy, run_of(structure, filament=False)
    pieces = [f"{counted.loops} loops"]
    pieces += [f"{counted.tucks} tuck{'s' * (counted.tucks != 1)}"] if counted.tucks else []
    pieces += [f"{counted.floats} float places"] if counted.floats else []
    return (
        ("Yarn per repeat", " + ".join(pieces)),
        ("Needles, feeds", f"{counted.needles}, {counted.feeds}"),
        ("Beds in use", "both" if counted.beds > 1 else "one"),
        ("Visible courses, face : back", f"{counted.front_courses:g} : {counted.back_courses:g}"),
        ("Feeds for a visible course", feeds_per_course(counted)),
        ("Face loops, back loops", f"{counted.front_loops}, {counted.back_loops}"),
        ("Transfer passes, racking steps", f"{counted.transfer_passes}, {counted.racks}"),
        ("Most tucks held on a needle", str(counted.held_tucks)),
        ("Longest float", f"{counted.longest_float} needles"),
        ("Edges", curl_of(structure).words),
        ("Unroves", run.unroves),
        ("Ladders", run.ladders),
    )


def _notes(structure: Structure) -> tuple[Note, ...]:
    same = [each.name for each in library().values() if each.notation == structure.notation]
    made = [Note("Edit", "Arrows walk, K T M and . write. Shift and arrows mark a block. Every drawing here is made "
                 "from these cells and none can be edited by itself.")]  # fmt: skip
    if same:
        made.append(Note("Known by name", f"Needle for needle this is {same[0]}."))
    made.append(Note("Name", "House names differ. The notation travels with the name, so nobody knits another."))
    return tuple(made)


def notation_html(document: Mapping[str, Any], *, may_edit: bool = True) -> str:
    """The place where the page draws the grid; its cells travel as data. A notation that cannot be read says so."""
    key, spec = _only(document)
    lines = list(spec.get("courses", []))
    try:
        steps = [_step(step) for step in steps_of(lines)]
    except Problem as problem:
        return f'<p class="why-not">{escape(problem.sentence())}</p>'
    held = {"lines": lines, "gating": spec.get("gating", "rib"), "steps": steps, "signs": _signs()}
    at = escape(json.dumps(["structures", key, "courses"]), quote=True)
    off = "" if may_edit else ' aria-disabled="true"'
    return (
        f'<div class="notation" data-key="notation" data-at="{at}"{off} '
        f'data-notation="{escape(json.dumps(held), quote=True)}"></div>'
    )


def _step(step: Feed | Move | Rack) -> dict[str, Any]:
    if isinstance(step, Feed):
        front, back = ("".join(stitch.value for stitch in bed) for bed in (step.front, step.back))
        return {"kind": "feed", "front": front, "back": back, "yarn": step.yarn, "role": step.role}
    if isinstance(step, Move):
        marks = "".join("X" if moved else "." for moved in step.needles)
        return {"kind": "move", "from_front": step.from_front, "needles": marks}
    return {"kind": "rack", "offset": step.offset}


def _signs() -> dict[str, dict[str, str]]:
    """The sign of every stitch on both beds, as the drawings have it."""
    return {
        bed: {stitch.value: stitch_sign(stitch, 13, 12, CELL, is_back) for stitch in Stitch}
        for bed, is_back in (("front", False), ("back", True))
    }
