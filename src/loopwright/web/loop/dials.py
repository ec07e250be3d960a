"""The sliders of the loop page, each with its field to type into, its scale, and what it was.

In: a setting and what is known of it. Out: HTML; `workroom/loop.js` listens. A slider is a plain range field with our
own look, so that keys, touch and screen readers work as everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from loopwright.figure import plain
from loopwright.structure.library import library
from loopwright.web.loop.asked import MOST_SET, Setting
from loopwright.web.loop.cloth import LoopCloth

JAM = 16.7  # loop length over diameter at which plain jams (mechanics reference, section 9)
TWIST_REACH = 60.0  # turns per metre that the slider goes to; more can be typed
MOST_TICKS = 5


@dataclass(frozen=True, slots=True)
class Dial:
    """One slider: name in the address, label, unit, range, step, value, the given value, ticks, and what it says.

    `given` is None where nobody knows the value until it is set.
    """

    name: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    value: float
    given: float | None
    is_set: bool
    decimals: int
    ticks: Sequence[tuple[float, str]]
    says: str
    spoken: str

    @property
    def before(self) -> str:
        """What it was, when it was changed."""
        if not self.is_set:
            return ""
        return f"was {plain(self.given, self.decimals)}" if self.given is not None else "was not known"


def dials_of(known: LoopCloth, front: str = "") -> tuple[Dial, ...]:
    """The sliders of a cloth."""
    return (_loop(known, front), _set(known.setting, front), _twist(known.setting, front))


def _loop(known: LoopCloth, front: str) -> Dial:
    setting = known.setting
    low, high = math.ceil(20 * known.reach_mm[0]) / 20, math.floor(20 * known.reach_mm[1]) / 20
    value = setting.loop.value
    ratio = plain(setting.ratio, 1)
    ticks = [(each, plain(each, 0)) for each in _round_ticks(low, high)]
    return Dial(
        f"{front}loop_mm", "Loop length", "mm", min(low, value), max(high, value), 0.05, value, setting.usual_mm,
        setting.asked.loop_mm is not None, 2, ticks, f"{ratio} diameters",
        f"{plain(value, 2)} mm, {ratio} yarn diameters, {_firmness(setting.ratio)}",
    )  # fmt: skip


def _firmness(ratio: float) -> str:
    if ratio < JAM - 1:
        return "tight"
    return "firm, where plain jams" if ratio <= JAM + 1 else "slack"


def _round_ticks(low: float, high: float) -> list[float]:
    step = next(each for each in (0.5, 1, 2, 5, 10, 20) if (high - low) / each <= MOST_TICKS)
    return [step * n for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _set(setting: Setting, front: str) -> Dial:
    value = 100 * setting.finish.share.value
    words = next(words for most, words in _FINISHES if value <= most)
    ticks = [(0, "0"), (50, "50"), (80, "80"), (95, "")]
    return Dial(
        f"{front}set_percent", "Set by washing and steam", "%", 0, MOST_SET, 1, value, 80.0,
        setting.asked.set_percent is not None, 0, ticks, words, f"{plain(value, 0)} per cent: {words}",
    )  # fmt: skip


_FINISHES = ((20, "off the machine"), (60, "wetted"), (88, "washed"), (100, "steamed well"))


def _twist(setting: Setting, front: str) -> Dial:
    twist = setting.finish.residual_turns_per_m
    value = twist.value if twist else 0.0
    reach = max(TWIST_REACH, abs(value))
    ticks = [(-TWIST_REACH, "S 60"), (-30, "30"), (0, "balanced"), (30, "30"), (TWIST_REACH, "Z 60")]
    says = "not measured" if twist is None else hand_words(value)
    return Dial(
        f"{front}twist_per_m", "Twist left in the yarn", "per m", -reach, reach, 1, value, None,
        setting.asked.twist_per_m is not None, 0, ticks, says, says,
    )  # fmt: skip


def hand_words(turns_per_m: float) -> str:
    """ "Z 40 a metre", "balanced"."""
    if abs(turns_per_m) < HALF_A_TURN:
        return "balanced"
    return f"{'Z' if turns_per_m > 0 else 'S'} {plain(abs(turns_per_m), 0)} a metre"


HALF_A_TURN = 0.5


def dial_html(dial: Dial, group: str) -> str:
    """A slider with its field and scale."""
    name, label = dial.name, escape(f"{group}: {dial.label}", quote=True)
    number = f"{dial.value:.{dial.decimals}f}"
    ticks = "".join(
        f'<i style="--at:{_part(dial, at):.4f}">{escape(words)}</i>'
        for at, words in dial.ticks
        if dial.low <= at <= dial.high
    )
    changed = f' data-before="{dial.before}"' if dial.before else ""
    back = (
        f'<button type="button" class="link" data-loop-back="{name}" aria-label="{label} back">{dial.before}</button>'
        if dial.before
        else ""
    )
    given = "" if dial.given is None else f"{dial.given:.{dial.decimals}f}"
    unknown = " unknown" if dial.given is None and not dial.is_set else ""
    return (
        f'<div class="dial{unknown}"{changed}><p><span>{escape(dial.label)}</span>'
        f'<input type="text" inputmode="decimal" data-loop="{name}" data-key="{name}-typed" value="{number}" '
        f'aria-label="{label}, typed, {escape(dial.unit, quote=True)}"><i>{escape(dial.unit)}</i></p>'
        f'<input type="range" data-loop="{name}" data-key="{name}" min="{dial.low:g}" max="{dial.high:g}" '
        f'step="{dial.step:g}" value="{number}" data-given="{given}" data-set="{"yes" if dial.is_set else ""}" '
        f'data-decimals="{dial.decimals}" aria-label="{label}" aria-valuetext="{escape(dial.spoken, quote=True)}">'
        f'<p class="scale" aria-hidden="true">{ticks}</p><p class="says-so"><b>{escape(dial.says)}</b>{back}</p></div>'
    )


def _part(dial: Dial, at: float) -> float:
    return (at - dial.low) / (dial.high - dial.low)


def structure_options(chosen: str, own: Sequence[tuple[str, str]]) -> str:
    """The structures to choose from: the library, then what was drawn on the shelf (number, name)."""
    shelf = "".join(_option(number, name, chosen) for number, name in own)
    packed = "".join(_option(key, each.name, chosen) for key, each in library().items())
    drawn = f'<optgroup label="From the shelf">{shelf}</optgroup>' if shelf else ""
    return f'<optgroup label="Library">{packed}</optgroup>{drawn}'


def _option(value: str, name: str, chosen: str) -> str:
    mark = " selected" if value == chosen else ""
    return f'<option value="{escape(value, quote=True)}"{mark}>{escape(name)}</option>'
