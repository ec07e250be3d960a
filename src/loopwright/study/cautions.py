"""Cautions that a style calls for: children, raised surfaces, needles, machines, dyes.

In: facts of the style. Out: cautions in words. They never replace local rules and licensed practice, and say so.
Not covered: test methods and limits (later). Source: production reference 10.5, each caution with its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from loopwright.fabric.fabric import Fabric
from loopwright.sources.table import cite, toml

DEFERENCE = "Cautions of the trade, not legal advice: local rules and licensed practice come first."
LIGHT_G_PER_M2 = 88.2  # 2.6 oz/yd², the usual exemption of plain surfaces (16 CFR 1610, from memory)
QUICK_BURNING = ("cotton", "viscose", "linen", "modal", "lyocell", "hemp")


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution: title, text, source in words."""

    key: str
    title: str
    text: str
    source: str

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"key": self.key, "title": self.title, "text": self.text, "source": self.source}


def cautions(*, is_child: bool, has_raised_surface: bool, fabrics: Iterable[Fabric]) -> tuple[Caution, ...]:
    """The cautions that apply, most specific first."""
    cloth = list(fabrics)
    facts = {"always"}
    if is_child:
        facts.add("child")
    if has_raised_surface or any(fabric.yarn.spinning == "brushed" for fabric in cloth):
        facts.add("raised")
    if any(fabric.mass.low < LIGHT_G_PER_M2 and _burns_quickly(fabric) for fabric in cloth):
        facts.add("light")
    return tuple(
        Caution(entry["key"], entry["title"], entry["text"], cite(entry["source"], status=entry["status"]))
        for entry in toml(__package__, "cautions")["caution"]
        if entry["when"] in facts
    )


def _burns_quickly(fabric: Fabric) -> bool:
    return any(fibre.startswith(QUICK_BURNING) for fibre in fabric.yarn.blend.fractions)
