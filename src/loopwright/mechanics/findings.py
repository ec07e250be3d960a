"""What the simulated cloth has to say: how edges roll, how the wales lean, where the model is not to be trusted.

In: a `SimulatedCloth`, or the structure, yarn and loop length that gave none. Out: findings. Only what the model may
claim is said: direction of the roll for sure, its radius as a range, lean when the residual twist is known, several
rest states as a range. Nothing of recovery, of which curl wins in a piece, of friction. Source: mechanics reference,
section 14.
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.figure import Figure, plain
from loopwright.mechanics import atlas
from loopwright.mechanics.cloth import SimulatedCloth
from loopwright.mechanics.edges import holding_edge
from loopwright.mechanics.remedies import ranked, remedies
from loopwright.problems import Finding, Sign
from loopwright.sources.table import table
from loopwright.structure.library import Structure

SEVERAL_RESTS = 0.02  # relative difference of two rest states that is told
MOST_TRIES = 3
SOURCE = "loop mechanics, relaxed and without friction"


def cloth_findings(cloth: SimulatedCloth, place: str = "fabric") -> tuple[Finding, ...]:
    """Findings of a simulated cloth."""
    return (*roll_findings(cloth, place), *lean_findings(cloth, place), *rest_findings(cloth, place))


def roll_findings(cloth: SimulatedCloth, place: str) -> Iterator[Finding]:
    """Which way the side edges roll, how tightly, and what holds them."""
    radius = cloth.side_radius
    if radius is None:
        return
    toward = "back" if cloth.sides_to_back else "face"
    edge = holding_edge(cloth)
    held = f"; {edge.words} holds it" if edge else ""
    size = (
        "; with tucks the radius is indicative only" if cloth.structure.anatomy.tucks else f", radius {_range(radius)}"
    )
    sentence = f"Side edges will roll to the {toward}{size}{held}."
    helping = [each for each in ranked(remedies(cloth), "curl") if each.key != "edge"]
    helping.sort(key=lambda each: each.key.startswith("structure-"))  # the same structure first
    tries = tuple(each.words for each in helping[:MOST_TRIES])
    rule = " The width of the edge is a working rule; knit a hand's length of it." if edge else ""
    consequence = f"The direction is sure; the radius is a range and grows with the set.{rule}"
    yield Finding(Sign.KNOW, place, sentence, tries, consequence, ROLL_WEIGHT, SOURCE)


def _range(figure: Figure) -> str:
    """ "6 to 14 mm", with a digit behind the point below ten."""
    decimals = 0 if figure.low >= LARGE_MM else 1
    return f"{plain(figure.low, decimals)} to {plain(figure.high, decimals)} {figure.unit}"


LARGE_MM = 5.0
ROLL_WEIGHT = 0.15  # among other things to know


def lean_findings(cloth: SimulatedCloth, place: str) -> Iterator[Finding]:
    """Where the wales lean, once the residual twist of the yarn is known."""
    lean, twist = cloth.lean, cloth.finish.residual_turns_per_m
    if lean is None or twist is None or cloth.is_balanced or lean.value == 0:
        return
    limit = table("loopwright.fabric", "spirality").by("quantity")["limit_percent"]
    side, hand = "right" if lean.value > 0 else "left", "Z" if twist.value > 0 else "S"
    low, high = sorted((abs(lean.low), abs(lean.high)))
    if lean.low < 0 < lean.high:
        low = 0.0
    percent = abs(lean.value) * PERCENT_PER_DEGREE
    sentence = (
        f"A residual twist of {plain(abs(twist.value), 0)} turns per metre {hand} leans the wales to the {side}, "
        f"{plain(low, 1)} to {plain(high, 1)}° (usual limit {limit['value']:g} %, about "
        f"{plain(limit['value'] / PERCENT_PER_DEGREE, 1)}°)."
    )
    tries = tuple(each.words for each in ranked(remedies(cloth), "lean"))[:MOST_TRIES]
    sign = Sign.DECIDE if percent > limit["value"] else Sign.KNOW
    consequence = "The side is sure; the angle is an order of magnitude until a washed swatch is measured."
    yield Finding(sign, place, sentence, tries, consequence, percent / limit["value"], SOURCE)


PERCENT_PER_DEGREE = 1.746  # 100·tan(1°), good to 1 % up to 10°


def rest_findings(cloth: SimulatedCloth, place: str) -> Iterator[Finding]:
    """Several rest states, or none."""
    page = cloth.page
    low, high = page["wale_low"].value, page["wale_high"].value
    if page.is_settled and not high > low * (1 + SEVERAL_RESTS):
        return
    name = f"{cloth.structure.name[:1].upper()}{cloth.structure.name[1:]}"
    if not page.is_settled:
        sentence = f"{name} did not come to rest here: {page.message}. Take its figures as a direction only."
    else:
        apart = plain(100 * (high / low - 1), 0)
        sentence = f"{name} has several rest states here, {apart} % apart in width; a swatch says which one it takes."
    yield Finding(Sign.KNOW, place, sentence, ("knit and wash a swatch",), weight=0.5, source=SOURCE)


def unsolved_finding(structure: Structure, loop_over_diameter: float, place: str = "fabric") -> Finding:
    """Why there is no simulated cloth: the loop length lies outside what was solved, or the structure isn't solved."""
    chapter = atlas.chapter_for(structure.notation)
    name = f"{structure.name[:1].upper()}{structure.name[1:]}"
    if chapter is None:
        sentence = f"{name} has not been simulated yet; its published figures stand alone."
        return Finding(Sign.KNOW, place, sentence, ("`loopwright mechanics` solves it in minutes",), source=SOURCE)
    low, high = chapter.reach
    side = "tighter" if loop_over_diameter < low else "slacker"
    sentence = (
        f"{name} with loops of {plain(loop_over_diameter, 1)} yarn diameters is {side} than what was simulated, "
        f"{plain(low, 0)} to {plain(high, 0)}; nothing is carried on past that."
    )
    tries = ("check count and loop length", "a longer loop" if side == "tighter" else "a shorter loop")
    return Finding(Sign.KNOW, place, sentence, tries, source=SOURCE)
