"""Does this yarn suit this gauge? Count rules, hook space, loop length limits.

In: count (tex), gauge E (needles per 25.4 mm of one bed), yarn diameter (mm), loop length (mm). Out: the count that
the gauge asks for with its band, and findings. Assumption: the square law on hook space; valid E 5 to E 18 flat.
Sources: spencer_2001, circular_count_note; common pairings and the hook-space test are working assumptions.
"""

from __future__ import annotations

import math

from loopwright.fabric.kin import element
from loopwright.figure import Figure, banded, plain
from loopwright.problems import Finding, Sign
from loopwright.sources.table import Row, table
from loopwright.structure.library import Structure
from loopwright.units import MM_PER_INCH
from loopwright.yarn.yarn import Yarn

COMMON_GAUGES = (3, 5, 7, 8, 9, 10, 12, 14, 16, 18)  # common practice: gauges that factories list
DIAMETER_OVER_PITCH_TOO_THICK = 0.22  # prior: the yarn does not clear the gap between needle and trick
DIAMETER_OVER_PITCH_A_NET = 0.10  # prior: the fabric is a net
TWO_BED_REACH = 0.85  # prior: the limits are drawn for plain; loops between two beds knit shorter
ALL_NEEDLE_RIB_SHARE = 0.85  # common practice: rib on all needles takes 10-20 % finer yarn than plain


def pitch_mm(gauge: float) -> float:
    """Needle pitch of a bed, 25.4/E.

    >>> round(pitch_mm(12), 3)
    2.117
    """
    return MM_PER_INCH / gauge


def count_tex_for_gauge(gauge: float, rule: str = "flat") -> float:
    """Tex that a gauge asks for: coefficient/E².

    >>> round(count_tex_for_gauge(12), 1)    # F-14, worsted count = E²/9
    55.4
    """
    return _rule(rule)["coefficient"] / gauge**2


def gauge_for_count(count_tex: float, rule: str = "flat") -> float:
    """Gauge that a count asks for: √(coefficient/T)."""
    return math.sqrt(_rule(rule)["coefficient"] / count_tex)


def rule_holds(gauge: float, rule: str = "flat") -> bool:
    """Whether a count rule is drawn for a gauge."""
    row = _rule(rule)
    return row["coarsest_gauge"] <= gauge <= row["finest_gauge"]


def gauge_of_cylinder(*, needles: int, diameter_in: float) -> float:
    """Needles per inch of a cylinder: N/(π·D).

    >>> round(gauge_of_cylinder(needles=400, diameter_in=4), 1)    # F-18
    31.8
    """
    return needles / (math.pi * diameter_in)


def usual_count(gauge: float, structure: Structure | None = None) -> Figure:
    """The count that a flat gauge asks for, with its band, for a structure (rib on all needles wants finer yarn)."""
    row = _rule("flat")
    share = ALL_NEEDLE_RIB_SHARE if structure is not None and _uses_all_needles(structure) else 1.0
    value = count_tex_for_gauge(gauge) * share
    return banded(
        "count for the gauge",
        value,
        "tex",
        low=value * row["lightest_share"],
        high=value * row["heaviest_share"],
        basis=row.basis,
        words="worsted count = E²/9" + (", 15 % finer for rib on all needles" if share < 1 else ""),
        formula="T = 7972/E²",
        source=row.source,
    )


def suitable_gauges(count_tex: float) -> tuple[int, ...]:
    """Common flat gauges whose count band holds this count."""
    return tuple(gauge for gauge in COMMON_GAUGES if usual_count(gauge).low <= count_tex <= usual_count(gauge).high)


def gauge_findings(structure: Structure, yarn: Yarn, loop_length_mm: float, gauge: float, place: str) -> list[Finding]:
    """What the gauge says against this yarn and loop length."""
    return [
        *_count_findings(structure, yarn, gauge, place),
        *_thickness_findings(yarn, gauge, place),
        *_loop_findings(structure, loop_length_mm, gauge, place),
    ]


def _count_findings(structure: Structure, yarn: Yarn, gauge: float, place: str) -> list[Finding]:
    row = _rule("flat")
    usual = usual_count(gauge, structure)
    tex = yarn.tex.value
    findings = []
    if not rule_holds(gauge):
        findings.append(
            Finding(
                Sign.KNOW,
                place,
                f"The count rule is drawn from E {row['coarsest_gauge']:g} to E {row['finest_gauge']:g}; "
                f"at E {gauge:g} measure the hook and knit a trial.",
                source=row.source,
            )
        )
    if tex > usual.high or tex < usual.low:
        heavy = tex > usual.high
        limit = usual.high if heavy else usual.low
        others = ", ".join(f"E {other}" for other in suitable_gauges(tex)) or f"E {gauge_for_count(tex):.0f}"
        findings.append(
            Finding(
                Sign.DECIDE,
                place,
                f"{plain(tex, 1)} tex is {'heavy' if heavy else 'light'} for {structure.name} on E {gauge:g}: "
                f"the gauge takes {plain(usual.low, 0)} to {plain(usual.high, 0)} tex.",
                (f"knit it on {others}", _ends_words(tex, usual.value, heavy)),
                f"{plain(100 * abs(tex / limit - 1), 0)} % {'over' if heavy else 'under'}",
                abs(math.log(tex / limit)),
                row.source,
            )
        )
    return findings


def _ends_words(tex: float, usual_tex: float, heavy: bool) -> str:
    if heavy:
        return f"a count near {plain(usual_tex, 0)} tex (Nm {plain(1000 / usual_tex, 1)})"
    return f"{max(2, round(usual_tex / tex))} ends together"


def _thickness_findings(yarn: Yarn, gauge: float, place: str) -> list[Finding]:
    ratio = yarn.diameter_mm.value / pitch_mm(gauge)
    if DIAMETER_OVER_PITCH_A_NET <= ratio <= DIAMETER_OVER_PITCH_TOO_THICK:
        return []
    thick = ratio > DIAMETER_OVER_PITCH_TOO_THICK
    limit = DIAMETER_OVER_PITCH_TOO_THICK if thick else DIAMETER_OVER_PITCH_A_NET
    consequence = "it may not clear the needle gap" if thick else "the fabric is a net"
    sentence = (
        f"The yarn is {plain(yarn.diameter_mm.value, 2)} mm thick, {plain(ratio, 2)} of the needle pitch; "
        f"{'above' if thick else 'below'} {limit:g} {consequence}."
    )
    tries = ("a finer yarn", "a coarser gauge") if thick else ("more ends", "a finer gauge")
    return [
        Finding(Sign.DECIDE, place, sentence, tries, weight=abs(math.log(ratio / limit)), source="working assumption")
    ]


def _loop_findings(structure: Structure, loop_length_mm: float, gauge: float, place: str) -> list[Finding]:
    pitch = pitch_mm(gauge) * (TWO_BED_REACH if structure.anatomy.beds == 2 else 1.0)
    shortest = element("loop_over_pitch_shortest")["value"] * pitch
    longest = element("loop_over_pitch_longest")["value"] * pitch
    if shortest <= loop_length_mm <= longest:
        return []
    short = loop_length_mm < shortest
    sentence = (
        f"A loop of {plain(loop_length_mm, 2)} mm is {'short' if short else 'long'} for E {gauge:g}: "
        f"{plain(shortest, 2)} to {plain(longest, 2)} mm knit; "
        f"beyond, {'the yarn breaks' if short else 'loops do not clear'}."
    )
    tries = (f"{plain(shortest if short else longest, 2)} mm", "another gauge")
    limit = shortest if short else longest
    weight = abs(math.log(loop_length_mm / limit))
    return [Finding(Sign.DECIDE, place, sentence, tries, weight=weight, source="working assumption")]


def loop_is_within_reach(structure: Structure, loop_length_mm: float, gauge: float) -> bool:
    """Whether a loop of this length knits on a gauge."""
    return not _loop_findings(structure, loop_length_mm, gauge, "")


def _uses_all_needles(structure: Structure) -> bool:
    anatomy = structure.anatomy
    return anatomy.beds == 2 and anatomy.front_wales + anatomy.back_wales == 2 * anatomy.needles


def _rule(name: str) -> Row:
    return table(__package__, "gauge").by("rule")[name]
