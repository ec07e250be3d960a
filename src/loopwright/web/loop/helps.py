"""What would help against roll and lean, ranked, with effect and cost; each remedy leads to the two side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from urllib.parse import urlencode

from loopwright.figure import plain
from loopwright.mechanics.cloth import SimulatedCloth
from loopwright.mechanics.findings import cloth_findings
from loopwright.mechanics.remedies import Aim, Remedy, ranked, remedies
from loopwright.problems import Finding
from loopwright.report.blocks import Block, Cell, Link, Table
from loopwright.web.loop.asked import SECOND, TRIAL_YARN, Setting
from loopwright.web.loop.cloth import LoopCloth

MOST = 7


def finding_blocks(cloth: SimulatedCloth) -> tuple[Finding, ...]:
    """What the cloth asks of a person, but for the tries: the table below ranks them."""
    return tuple(
        Finding(each.sign, each.where, f"{each.sentence} {each.consequence}".strip(), weight=each.weight)
        for each in cloth_findings(cloth, place="edges and lean")
    )


def remedy_blocks(known: LoopCloth) -> list[Block]:
    """A table for each thing that can be lessened."""
    assert known.cloth is not None
    found = remedies(known.cloth)
    blocks: list[Block] = []
    for aim, head in _AIMS:
        rows = tuple(_row(known.setting, each, aim) for each in ranked(found, aim)[:MOST])
        if rows and (aim == "curl" or known.cloth.lean is not None):
            blocks.append(
                Table((head, "what is left", "after", "width", "yarn", "time", "what it costs you"), rows, words=(0, 6))
            )
    return blocks


_AIMS: Sequence[tuple[Aim, str]] = (("curl", "Against the roll"), ("lean", "Against the lean"))


def _row(setting: Setting, remedy: Remedy, aim: Aim) -> tuple[Cell, ...]:
    left = remedy.curl_left if aim == "curl" else remedy.lean_left
    after = remedy.side_radius_mm if aim == "curl" else remedy.lean_deg
    return (
        _linked(setting, remedy),
        _share(left),
        after if after is not None and abs(after.high - after.low) > TINY else _lies(remedy, aim),
        _signed(remedy.width_percent),
        _signed(remedy.mass_percent),
        _signed(remedy.minutes_percent),
        remedy.cost,
    )


TINY = 1e-3  # of a millimetre or a degree: nothing that anybody could see


def _lies(remedy: Remedy, aim: Aim) -> str:
    if remedy.cloth is None:
        return "–"
    return "flat" if aim == "curl" else "straight"


def _share(left: float | None) -> str:
    if left is None:
        return "–"
    return "none" if left < LEAST else f"{plain(100 * left, 0)} %"


LEAST = 0.005


def _signed(percent: float | None) -> str:
    if percent is None:
        return "–"
    text = plain(percent, 0)
    return "same" if text == "0" else f"{'+' if percent > 0 else ''}{text} %"


def _linked(setting: Setting, remedy: Remedy) -> Cell:
    """The remedy, leading to it beside this cloth where it can be shown."""
    after = remedy.cloth
    return remedy.words if after is None else Link(remedy.words, f"/loop?{urlencode(dict(_beside(setting, after)))}")


def yarn_words(setting: Setting) -> str:
    """The yarn so that it can be asked for with another structure; nothing where it is the usual one."""
    if setting.asked.yarn or setting.yarn.name == TRIAL_YARN:
        return setting.asked.yarn
    return f"{setting.yarn.count.label} {setting.yarn.blend.label}"


def _beside(setting: Setting, after: SimulatedCloth) -> Iterator[tuple[str, object]]:
    said = {key: value for key, value in setting.asked.said().items() if key != "version"}
    yield from said.items()
    same = after.structure.notation == setting.structure.notation
    yield f"{SECOND}structure", setting.asked.structure if same else after.structure.key
    if same and setting.asked.zone:
        yield f"{SECOND}zone", setting.asked.zone
    yarn = setting.asked.yarn if same else yarn_words(setting)
    if yarn:
        yield f"{SECOND}yarn", yarn
    yield f"{SECOND}loop_mm", round(after.geometry.loop_length_mm.value, 3)
    if after.finish.share.value != setting.finish.share.value or setting.asked.set_percent is not None:
        yield f"{SECOND}set_percent", round(100 * after.finish.share.value, 1)
    if after.finish.residual_turns_per_m is not None:
        yield f"{SECOND}twist_per_m", round(after.finish.residual_turns_per_m.value, 2)
