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
    if any(_needs_a_test(fabric) for fabric in cloth):
        facts.add("light")
    return tuple(
        Caution(entry["key"], entry["title"], entry["text"], cite(entry["source"], status=entry["status"]))
        for entry in toml(__package__, "cautions")["caution"]
        if entry["when"] in facts
    )


def _needs_a_test(fabric: Fabric) -> bool:
    """Whether a plain surface is light enough, and of a fibre, that its exemption from testing does not hold."""
    rule = toml(__package__, "cautions")["plain_surface"]
    exempt = tuple(rule["exempt_fibres"])
    is_exempt = all(fibre.startswith(exempt) for fibre in fabric.yarn.blend.fractions)
    return fabric.mass.low < rule["exempt_from_g_per_m2"] and not is_exempt
