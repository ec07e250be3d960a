"""A cloth as the loop page shows it: from the atlas, from what was solved before, or with the reason why not.

In: a `Setting` and the solved files. Out: `LoopCloth`. Not covered: solving what is missing (`work`).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.figure import plain
from loopwright.mechanics import atlas
from loopwright.mechanics.cloth import SimulatedCloth, simulated_cloth
from loopwright.mechanics.live import key_of, nearest
from loopwright.mechanics.stored import Page, Stored, page_at
from loopwright.store.solved import SolvedFiles
from loopwright.web.loop.asked import Setting

LOOSEST_LIVE, TIGHTEST_LIVE = 30.0, 10.0  # loop length over diameter that is worth solving


@dataclass(frozen=True, slots=True, eq=False)
class LoopCloth:
    """What is known of a setting; without `cloth`, `lacks` says why, and `to_solve` whether solving would give it.

    `reach_mm` are the loop lengths that can be asked for without solving; `key` names the content to solve.
    """

    setting: Setting
    page: Page | None
    cloth: SimulatedCloth | None
    reach_mm: tuple[float, float]
    in_atlas: bool
    key: str
    lacks: str = ""
    to_solve: bool = False

    @property
    def diameter_mm(self) -> float:
        """Of the yarn."""
        return self.setting.yarn.diameter_mm.value

    @property
    def name(self) -> str:
        """Of the structure, as it is spoken of in a sentence."""
        return self.setting.structure.name

    @property
    def message(self) -> str:
        """How the nearest solved loop length ended, in the solver's words."""
        return self.page.message if self.page else ""


def cloth_of(setting: Setting, files: SolvedFiles) -> LoopCloth:
    """What is known of a setting now."""
    d, ratio = setting.yarn.diameter_mm.value, setting.ratio
    chapter = atlas.chapter_for(setting.structure.notation)
    key = key_of(setting.structure, ratio)
    if chapter is not None:
        reach = (chapter.reach[0] * d, chapter.reach[1] * d)
        page = page_at(chapter, ratio)
        lacks = "" if page else _outside(setting, reach, chapter.reach)
        return _told(LoopCloth(setting, page, None, reach, in_atlas=True, key=key, lacks=lacks), None)
    reach = (TIGHTEST_LIVE * d, LOOSEST_LIVE * d)
    if not TIGHTEST_LIVE <= ratio <= LOOSEST_LIVE:
        lacks = _outside(setting, reach, (TIGHTEST_LIVE, LOOSEST_LIVE))
        return LoopCloth(setting, None, None, reach, in_atlas=False, key=key, lacks=lacks)
    kept = files.read(key)
    if kept is None:
        lacks = "This notation is not among the structures worked out in advance. It can be worked out now."
        return LoopCloth(setting, None, None, reach, in_atlas=False, key=key, lacks=lacks, to_solve=True)
    page = page_at(kept, nearest_kept(kept, ratio))
    return _told(LoopCloth(setting, page, None, reach, in_atlas=False, key=key), kept)


def nearest_kept(kept: Stored, ratio: float) -> float:
    """The solved loop length: a kept chapter holds the one nearest to what was asked."""
    return min(max(nearest(ratio), kept.reach[0]), kept.reach[1])


def _told(known: LoopCloth, chapter: Stored | None) -> LoopCloth:
    """With its figures; a state that is no cloth has none, and says so."""
    if known.page is None:
        return known
    setting = known.setting
    if not known.page.is_settled:
        lacks = f"The solver came to no state that may be shown: {known.page.message} So there are no figures."
        return _with(known, None, lacks)
    cloth = simulated_cloth(setting.structure, setting.yarn, setting.loop, setting.finish, chapter=chapter)
    return _with(known, cloth, known.lacks)


def _with(known: LoopCloth, cloth: SimulatedCloth | None, lacks: str) -> LoopCloth:
    reach, key = known.reach_mm, known.key
    return LoopCloth(known.setting, known.page, cloth, reach, in_atlas=known.in_atlas, key=key, lacks=lacks)


def _outside(setting: Setting, reach_mm: tuple[float, float], reach: tuple[float, float]) -> str:
    loop, ratio = plain(setting.loop.value, 2), plain(setting.ratio, 1)
    low, high = plain(reach_mm[0], 2), plain(reach_mm[1], 2)
    return (
        f"At {loop} mm the loop is {ratio} yarn diameters long. {setting.structure.name.capitalize()} is known from "
        f"{plain(reach[0], 0)} to {plain(reach[1], 0)}, which in this yarn is {low} to {high} mm; nothing is carried "
        "on beyond that."
    )
