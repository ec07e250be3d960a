"""A simulated cloth in the units of the trade, with spread and trust: what the atlas says of this structure and yarn.

In: structure, yarn, loop length (mm), and how the yarn has been finished (`Finish`). Out: `SimulatedCloth`: wales and
courses per cm as `StitchGeometry`, thickness, radius of the roll of side and end edges, lean, stretch, each a `Figure`
of basis "simulated". Spread: yarn diameter and set are taken at both ends of their bands, the model's own spread
(`data/trust.csv`) and the error of reading the atlas are added. Nothing here knows friction, recovery or the edges of a
real piece. Not covered: fitting (`calibration`), findings (`findings`). Source: mechanics reference, sections 10 and
14.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from loopwright.fabric.geometry import StitchGeometry
from loopwright.figure import Basis, Figure, State, Term, banded, power_law
from loopwright.mechanics import atlas
from loopwright.mechanics.balance import is_balanced
from loopwright.mechanics.stored import Page, Stored, page_at
from loopwright.mechanics.trust import trust_of
from loopwright.sources.table import Row
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn

MODEL = "loop mechanics: relaxed yarn loops without friction"
SOFT_PULL, LOCK = 1, 4  # which of the tensions is told as everyday stretch (0.1 B/d³) and as lock (1 B/d³)
FLAT_RADIUS = 60.0  # diameters: an edge that rolls no tighter than this lies practically flat


@dataclass(frozen=True, slots=True)
class Finish:
    """What finishing has done to the yarn.

    `share` of set f (0 none, 1 all) as a figure; `held_set` the set taken while held at firm proportions (0 none);
    `residual_turns_per_m` the yarn's remaining liveliness, Z positive, where somebody measured it; `diameter_mm` where
    it is known better than from count and packing; `rigidity_n_mm2` the bending rigidity of the yarn where it was
    fitted.
    """

    share: Figure
    held_set: float = 0.0
    residual_turns_per_m: Figure | None = None
    diameter_mm: Figure | None = None
    rigidity_n_mm2: Figure | None = None


def washed() -> Finish:
    """The finish that is assumed when nothing was measured: washed, f = 0.8 (0.5 to 0.95)."""
    share = banded(
        "set of the yarn",
        0.8,
        "",
        low=0.5,
        high=0.95,
        basis=Basis.ASSUMED,
        words="washed or steamed yarn keeps most of its bend; a swatch's roll or gauge fits it",
        source="mechanics reference, section 10 (assumed)",
    )
    return Finish(share)


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedCloth:
    """What the mechanics says of a cloth. A figure that the model cannot give is None; `missing` says why, in words."""

    structure: Structure
    yarn: Yarn
    finish: Finish
    page: Page
    loop_over_diameter: Figure
    geometry: StitchGeometry
    thickness: Figure
    side_radius: Figure | None
    end_radius: Figure | None
    sides_to_back: bool
    ends_to_back: bool
    lean: Figure | None
    width_stretch: Figure | None
    length_stretch: Figure | None
    width_lock: Figure | None
    length_lock: Figure | None
    missing: tuple[str, ...]

    @property
    def is_balanced(self) -> bool:
        """Whether symmetry alone says that it neither curls nor leans."""
        return is_balanced(self.structure.notation)

    def figures(self) -> dict[str, Figure]:
        """All figures by a key whose tail is the unit."""
        found = {
            "loop_over_diameter": self.loop_over_diameter,
            "simulated_wales_per_cm": self.geometry.wales_per_cm,
            "simulated_courses_per_cm": self.geometry.courses_per_cm,
            "simulated_thickness_mm": self.thickness,
            "side_roll_radius_mm": self.side_radius,
            "end_roll_radius_mm": self.end_radius,
            "simulated_lean_deg": self.lean,
            "simulated_width_stretch_percent": self.width_stretch,
            "simulated_length_stretch_percent": self.length_stretch,
            "simulated_width_lock_percent": self.width_lock,
            "simulated_length_lock_percent": self.length_lock,
        }
        return {key: figure for key, figure in found.items() if figure is not None}


def simulated_cloth(
    structure: Structure,
    yarn: Yarn,
    loop_length_mm: Figure,
    finish: Finish | None = None,
    *,
    chapter: Stored | None = None,
) -> SimulatedCloth | None:
    """The cloth as simulated, or None when neither the atlas nor `chapter` (solved live) holds this loop length."""
    how = finish or washed()
    diameter = how.diameter_mm or yarn.diameter_mm
    ratio = power_law(
        "loop length over yarn diameter",
        loop_length_mm.value / diameter.value,
        "",
        [Term("l", loop_length_mm), Term("d", diameter, -1)],
        words="the one number that everything hangs on: small is tight, plain jams at 16.7",
        formula="l / d",
        source="definition",
    )
    known = chapter or atlas.chapter_for(structure.notation)
    if known is None:
        return None
    page = page_at(known, ratio.value if chapter is None else known.reach[0])
    if page is None or not (page["wale"].is_known and page["course"].is_known and page["depth"].is_known):
        return None
    reader = _Reader(known, page, ratio, diameter, how, structure)
    return reader.cloth(yarn, loop_length_mm)


@dataclass(frozen=True, slots=True, eq=False)
class _Reader:
    """Reads figures off a chapter at the ends of the bands of diameter and set."""

    chapter: Stored
    page: Page
    ratio: Figure
    diameter: Figure
    finish: Finish
    structure: Structure

    def cloth(self, yarn: Yarn, loop_length_mm: Figure) -> SimulatedCloth:
        """All figures of the cloth."""
        d, held = self.diameter.value, self.finish.held_set

        def per_cm(spacing: float) -> float:
            return 10 / (spacing * d)

        wales = self._figure("wales per cm", "per cm", lambda p, _: p.spacing("wale", held).value, per_cm, "wales")
        courses = self._figure(
            "courses per cm", "per cm", lambda p, _: p.spacing("course", held).value, per_cm, "courses"
        )
        thickness = self._figure(
            "thickness, unloaded", "mm", lambda p, _: p["depth"].value, lambda x: x * d, "thickness"
        )
        if wales is None or courses is None or thickness is None:
            raise ValueError(f"the atlas holds no rest state of {self.structure.key}")
        geometry = StitchGeometry(self.structure, loop_length_mm, wales, courses, State.FULLY_RELAXED)
        missing: list[str] = []
        share = self.finish.share.value
        return SimulatedCloth(
            structure=self.structure,
            yarn=yarn,
            finish=self.finish,
            page=self.page,
            loop_over_diameter=self.ratio,
            geometry=geometry,
            thickness=thickness,
            side_radius=self._radius("sides", missing),
            end_radius=self._radius("ends", missing),
            sides_to_back=self.page.curvature("sides", share).value > 0,
            ends_to_back=self.page.curvature("ends", share).value > 0,
            lean=self._lean(missing),
            width_stretch=self._stretch("width", SOFT_PULL, missing),
            length_stretch=self._stretch("length", SOFT_PULL, missing),
            width_lock=self._stretch("width", LOCK, missing),
            length_lock=self._stretch("length", LOCK, missing),
            missing=tuple(missing),
        )

    def _pages(self) -> list[Page]:
        """The page at both ends of the band of l/d as far as the atlas goes, and in the middle."""
        low, high = self.chapter.reach
        ends = (max(self.ratio.low, low), min(self.ratio.high, high))
        found = [page_at(self.chapter, each) for each in ends if low <= each <= high]
        return [self.page, *(each for each in found if each is not None)]

    def _figure(
        self,
        name: str,
        unit: str,
        number: Callable[[Page, float], float],
        in_unit: Callable[[float], float],
        quantity: str,
        *,
        words: str = "",
    ) -> Figure | None:
        """A figure from a number of the page, with the band over diameter and set; None when the number is unknown."""
        share = self.finish.share
        value = in_unit(number(self.page, share.value))
        if not math.isfinite(value):
            return None
        near = [in_unit(number(page, each)) for page in self._pages() for each in (share.low, share.value, share.high)]
        near = [each for each in near if math.isfinite(each) and each * value > 0]
        trust = self._trust(quantity)
        arm = math.log1p(trust["spread"])
        low = value * math.exp(-math.hypot(arm, math.log(value / min(near)))) if value else 0.0
        high = value * math.exp(math.hypot(arm, math.log(max(near) / value))) if value else 0.0
        return banded(
            name,
            value,
            unit,
            low=min(low, high),
            high=max(low, high),
            basis=Basis.SIMULATED,
            words=f"{words}{'; ' if words else ''}{trust.text('words')}",
            source=f"{MODEL}, atlas of program version {atlas.header()['program']}",
            state=State.FULLY_RELAXED,
        )

    def _trust(self, quantity: str) -> Row:
        return trust_of(quantity, self.structure, self.ratio.value)

    def _radius(self, way: str, missing: list[str]) -> Figure | None:
        if is_balanced(self.structure.notation):
            return None
        bend = self.page.curvature(way, self.finish.share.value).value
        edge = "side" if way == "sides" else "end"
        if not math.isfinite(bend):
            missing.append(f"the roll of the {edge} edges did not settle")
            return None
        if abs(bend) < 1 / FLAT_RADIUS:
            return None
        toward = "back" if bend > 0 else "face"
        stopped = self.page.is_bound(way, self.finish.share.value)
        bound = "; contact stops the roll: it is no tighter than this" if stopped else ""
        return self._figure(
            f"radius of the roll of {edge} edges",
            "mm",
            lambda page, share: abs(1 / page.curvature(way, share).value),
            lambda x: x * self.diameter.value,
            "radius",
            words=f"rolls to the {toward}; a free edge of a long piece, set in its rest state{bound}",
        )

    def _lean(self, missing: list[str]) -> Figure | None:
        twist = self.finish.residual_turns_per_m
        if is_balanced(self.structure.notation):
            return banded(
                "lean of the wales",
                0.0,
                "°",
                low=0.0,
                high=0.0,
                basis=Basis.IDENTITY,
                words="face and back loops are alike, so whatever the twist does on one side it undoes on the other",
                source="symmetry of the notation",
            )
        if twist is None:
            missing.append("lean: the residual twist of the yarn is not known; hang a loop of it in water and count")
            return None
        loop_m = self.ratio.value * self.diameter.value / 1000
        leans = [
            self.page.lean(turns * loop_m, self.finish.share.value).value
            for turns in (twist.low, twist.value, twist.high)
        ]
        if not all(math.isfinite(each) for each in leans):
            missing.append("lean: the twisted cloth did not settle")
            return None
        spread = self._trust("lean")["spread"]
        low, high = min(leans), max(leans)
        return banded(
            "lean of the wales",
            leans[1],
            "°",
            low=low - spread * abs(leans[1]),
            high=high + spread * abs(leans[1]),
            basis=Basis.SIMULATED,
            words=f"right positive, seen on the face; {self._trust('lean').text('words')}",
            source=MODEL,
            state=State.FULLY_RELAXED,
        )

    def _stretch(self, way: str, place: int, missing: list[str]) -> Figure | None:
        what = "stretch" if place == SOFT_PULL else "lock-up"
        found = self._figure(
            f"{way} {what}, simulated",
            "%",
            lambda page, _: page[f"stretch_{way}_{place}"].value,
            lambda x: 100 * x,
            "stretch",
            words="pulled by 0.1 B/d³" if place == SOFT_PULL else "pulled by 1 B/d³, where the yarn begins to lock",
        )
        if found is None:
            missing.append(f"{way} {what}: the loops gave way before this pull was reached")
        return found


def force_n_per_cm(*, reduced_tension: float, rigidity_n_mm2: float, diameter_mm: float) -> float:
    """Tension in newtons per cm of width from the model's B/d³.

    >>> round(force_n_per_cm(reduced_tension=0.1, rigidity_n_mm2=0.0066, diameter_mm=0.27), 2)  # reference, section 10
    0.34
    """
    return 10 * reduced_tension * rigidity_n_mm2 / diameter_mm**3
