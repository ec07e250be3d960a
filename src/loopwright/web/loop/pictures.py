"""Pictures of a simulated cloth: centre lines for the view that turns, stills, a 3D file.

In: `LoopCloth`. Out: bytes and text, and the words under them. The cloth is drawn at rest, leaning by the computed
angle, and as it lies with the computed curvatures; between rest and the solved pulls it is stretched by mixing. PNG
takes seconds, so it is drawn in a thread, once for an address.
"""

from __future__ import annotations

import asyncio
import math
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from loopwright.draw.centre_lines import State, centre_lines
from loopwright.draw.glb import cloth_glb
from loopwright.draw.lie import Lie
from loopwright.draw.still import Shown, still_png
from loopwright.draw.still_svg import still_svg
from loopwright.draw.tubes import Plies
from loopwright.draw.views import Side, lying_repeats
from loopwright.figure import plain
from loopwright.mechanics.form import ClothForm
from loopwright.mechanics.stored import PULLED, Page
from loopwright.problems import Problem
from loopwright.web.loop.cloth import LoopCloth

STATE = "simulated, relaxed without friction"
STILL_PX = 640
KEPT = 24
Kind = Literal["svg", "png"]


def page_of(known: LoopCloth) -> Page:
    """The page of a cloth that can be drawn.

    Raises:
        Problem: there is nothing to draw, with the reason.
    """
    if known.page is None or known.cloth is None:
        raise Problem(known.name, known.lacks, tries=["another loop length", "plain"])
    return known.page


def form_of(known: LoopCloth) -> ClothForm:
    """The form at rest, leaning by the computed angle."""
    form = page_of(known).form()
    lean = known.cloth.lean if known.cloth else None
    return leaning(form, lean.value) if lean is not None else form


def leaning(form: ClothForm, lean_deg: float) -> ClothForm:
    """A form whose wales lean further by an angle; heights stay."""
    slope = math.tan(math.radians(lean_deg))
    aside = np.array([[1.0, 0.0, 0.0], [slope, 1.0, 0.0], [0.0, 0.0, 1.0]])
    strands = tuple(replace(strand, nodes=strand.nodes @ aside) for strand in form.strands)
    return replace(form, strands=strands, shear=form.shear + form.height * slope)


def lie_of(known: LoopCloth) -> Lie:
    """How a free piece lies: the curvatures that have been computed for this set; a balanced cloth lies flat."""
    page, share = page_of(known), known.setting.finish.share.value
    cloth = known.cloth
    if cloth is None or cloth.is_balanced:
        return Lie()
    sides = page.curvature("sides", share).value if cloth.side_radius else 0.0
    ends = page.curvature("ends", share).value if cloth.end_radius else 0.0
    return Lie(side_curvature=sides, end_curvature=ends)


def lines_of(known: LoopCloth) -> bytes:
    """Centre lines for the view: at rest, as it lies, and the solved pulls."""
    page, form = page_of(known), form_of(known)
    states = [State("relaxed", form)]
    for name in PULLED:
        pulled = page.pulled_form(name)
        if pulled is None:
            continue
        wide = name.startswith("width")
        strain = pulled.width / form.width - 1 if wide else pulled.height / form.height - 1
        if strain > states[-1].strain_width * wide + states[-1].strain_length * (not wide):
            states.append(State(name, pulled, *((strain, 0.0) if wide else (0.0, strain))))
    across, along = lying_repeats(form)
    return centre_lines(
        states,
        diameter_mm=known.diameter_mm,
        across=across,
        along=along,
        lie=lie_of(known),
        plies=plies_of(known),
    )


def plies_of(known: LoopCloth) -> Plies:
    """The plies to hint at: folded yarn lies in S unless it says Z."""
    yarn = known.setting.yarn
    count = max(yarn.count.folds, 1)
    return Plies(min(count, 3), yarn.fold_direction or "S")


def shown_of(known: LoopCloth) -> Shown:
    """What a still says of itself."""
    setting = known.setting
    state = f"{setting.yarn.name}, {plain(setting.loop.value, 2)} mm a loop; {STATE}"
    name = f"{known.name[:1].upper()}{known.name[1:]}"
    return Shown(name, state, known.diameter_mm)


def caption_of(known: LoopCloth) -> str:
    """The line under the view: how much cloth, in what state."""
    form = page_of(known).form()
    across, along = lying_repeats(form)
    size = [plain(each * known.diameter_mm, 0) for each in (across * form.width, along * form.height)]
    wales, courses = (plain(each, 0) for each in (across * form.wales, along * form.courses))
    return (
        f"{shown_of(known).name}: {wales} wales by {courses} courses, {size[0]} by {size[1]} mm of cloth; {STATE}. "
        "How tightly a free edge rolls is computed; how much of the piece rolls is the picture's choice."
    )


def label_of(known: LoopCloth) -> str:
    """What is seen, for those who do not see it."""
    return f"Cloth of {known.name} at yarn level, {STATE}."


def still(known: LoopCloth, view: Side, kind: Kind) -> str | bytes:
    """One still; seconds for a PNG."""
    lie = lie_of(known) if view == "lying" else None
    form, shown, plies = form_of(known), shown_of(known), plies_of(known)
    if kind == "svg":
        return still_svg(form, view, shown, lie=lie, plies=plies, key="still")
    return still_png(form, view, shown, width=STILL_PX, lie=lie, plies=plies)


def glb_of(known: LoopCloth) -> bytes:
    """The cloth as a 3D file in real size."""
    words = f"{shown_of(known).name}; {shown_of(known).state}"
    return cloth_glb(form_of(known), diameter_mm=known.diameter_mm, plies=plies_of(known), words=words)


class Drawer:
    """Pictures that take a while, drawn in threads: the same one is drawn once, the last few are kept."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, asyncio.Future[str | bytes]] = OrderedDict()

    async def made(self, address: str, make: Callable[[], str | bytes]) -> str | bytes:
        """The picture of an address."""
        known = self._made.get(address)
        if known is None or (known.done() and (known.cancelled() or known.exception() is not None)):
            known = asyncio.ensure_future(asyncio.to_thread(make))
            self._made[address] = known
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
        return await asyncio.shield(known)
