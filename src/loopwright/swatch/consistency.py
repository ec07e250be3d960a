"""What a person should look at in the record of a swatch: findings on its readings, one against the other.

In: `Bench`. Out: findings. Two ways to know one thing are laid side by side (weight and counts, width and needles,
ruler and picture, offset and diagonals); a reading that stands apart, a count that looks like another unit, a limit
that will not hold, and what is missing are named. Nothing is changed or dropped.
Not covered: agreement with other swatches (`learning.agreement`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.mass import fabric_mass, piece_lengths
from loopwright.figure import NINE_IN_TEN_SD, entered, plain
from loopwright.problems import Finding, Sign
from loopwright.swatch.bench import NAMES, Bench, Measured, Stage
from loopwright.swatch.combining import disagreement
from loopwright.swatch.limits import chance_words
from loopwright.swatch.observed import Quantity
from loopwright.swatch.reduction import lean_by_method
from loopwright.swatch.statistics import WANTED_ERROR_PERCENT

FEWEST_WALES, FEWEST_COURSES = 100, 100  # prior: size of a swatch that can be counted well
APART = 3.0  # standard errors from which two ways to know one thing contradict each other
SLIPS_CM = {1.0: "1 cm", 2.54: "an inch", 5.0: "5 cm", 20.0: "20 cm"}  # lengths that a count may have been taken over
SLIP_REACH = 0.2  # how near a ratio has to come to such a length
HOLDS = 0.9  # a limit holds when it is kept in nine cases of ten


def findings_of(bench: Bench) -> tuple[Finding, ...]:
    """Everything to look at, in no order."""
    found = [*_missing(bench), *_loop_findings(bench)]
    for stage in bench.stages:
        for measured in stage.measured.values():
            found += [*_reading_findings(bench, stage, measured), *_limit_findings(bench, stage, measured)]
        found += [*_weight_findings(bench, stage), *_needle_findings(bench, stage), *_lean_findings(bench, stage)]
    return tuple(found)


def _missing(bench: Bench) -> Iterator[Finding]:
    specimen = bench.specimen
    place = specimen.name
    if specimen.unreliable:
        sentence = f"{place} is marked unreliable ({specimen.unreliable}): it counts for nothing."
        yield Finding(Sign.DECIDE, place, sentence, ("knit it again",), weight=0.9)
    for sitting in specimen.sittings:
        if sitting.unreliable and not specimen.unreliable:
            yield Finding(Sign.KNOW, place, f"The sitting {sitting.key} is left out: {sitting.unreliable}.", weight=0.4)
    if not specimen.sittings:
        yield Finding(
            Sign.KNOW, place, "Nothing was measured yet.", ("count wales and courses over 10 cm",), weight=0.5
        )
    if specimen.yarn is None:
        yield Finding(
            Sign.KNOW, place, "No yarn is named: nothing is expected or learnt.", ("name its yarn",), weight=0.4
        )
    if bench.loop_length_mm is None:
        tries = ("unrove a course of known loops", "type the loop length")
        yield Finding(
            Sign.KNOW, place, "Its loop length is not known: nothing is expected or learnt.", tries, weight=0.5
        )
    small = [
        f"{count} {words}"
        for count, words, fewest in (
            (specimen.needles, "needles", FEWEST_WALES),
            (specimen.courses, "courses", FEWEST_COURSES),
        )
        if count is not None and count < fewest
    ]
    if small:
        sentence = f"It is small ({', '.join(small)}); edges reach into the counts."
        yield Finding(Sign.KNOW, place, sentence, ("100 needles and 100 courses or more",), weight=0.2, source="prior")
    if any(each.mass_g and not each.air for each in specimen.reliable_sittings):
        sentence = (
            "It was weighed, and the air it lay in is not noted; wool gains 1 % of mass for 5 % of humidity or so."
        )
        yield Finding(Sign.KNOW, place, sentence, ("24 h at 20 °C and 65 %",), weight=0.1, source="common practice")


def _loop_findings(bench: Bench) -> Iterator[Finding]:
    typed, unroved = bench.specimen.loop_length_mm, bench.unroved
    if typed is None or unroved is None:
        return
    apart = 100 * (unroved.mean / typed - 1)
    if abs(unroved.mean - typed) > max(APART * unroved.estimate.standard_error, 0.01 * typed):
        sentence = (
            f"The loop length was set at {plain(typed, 2)} mm, and unroved courses give {plain(unroved.mean, 2)} mm, "
            f"{plain(abs(apart), 1)} % {'more' if apart > 0 else 'less'}. The one typed is used."
        )
        tries = ("leave loop_length_mm out, and the unroved one is used", "check the cam setting")
        yield Finding(Sign.DECIDE, bench.specimen.name, sentence, tries, weight=abs(apart) / 10)
    feeds = {each.feed for sitting in bench.specimen.reliable_sittings for each in sitting.unroved}
    if len(feeds) > 1:
        yield from _feed_findings(bench)


def _feed_findings(bench: Bench) -> Iterator[Finding]:
    """Feeds that knit loops of different lengths."""
    by_feed: dict[str, list[float]] = {}
    for sitting in bench.specimen.reliable_sittings:
        for each in sitting.unroved:
            by_feed.setdefault(each.feed, []).extend(length / each.loops for length in each.lengths_mm)
    means = {feed: sum(values) / len(values) for feed, values in by_feed.items() if values}
    if means and max(means.values()) > 1.02 * min(means.values()):
        said = ", ".join(f"{feed or 'all'} {plain(mean, 2)} mm" for feed, mean in means.items())
        sentence = f"The feeds differ in loop length: {said}. Their mean is used."
        yield Finding(Sign.KNOW, bench.specimen.name, sentence, ("even out the cam settings",), weight=0.3)


def _reading_findings(bench: Bench, stage: Stage, measured: Measured) -> Iterator[Finding]:
    """Readings that stand apart, ruler against picture, people, slips of units, readings that are too few."""
    place, name = bench.specimen.name, NAMES[measured.quantity]
    for key, summary in measured.hand.items():
        for outlier in summary.outliers:
            sentence = f"{name.capitalize()}, sitting {key}: {outlier.words}. It stays in the mean of {summary.n}."
            tries = ("measure that place again", "take it out if it was a slip")
            yield Finding(Sign.DECIDE, place, sentence, tries, weight=0.5, source="Grubbs' test")
    if measured.by_hand and measured.by_photo and disagreement(measured.by_hand, measured.by_photo) > APART:
        unit = measured.quantity.unit
        sentence = (
            f"{name.capitalize()}, {stage.words}: by hand {plain(measured.by_hand.value, 2)}, from the picture "
            f"{plain(measured.by_photo.value, 2)} {unit}. They contradict each other; the spread was widened."
        )
        yield Finding(Sign.DECIDE, place, sentence, ("count once more", "look at the lattice again"), weight=0.8)
    if measured.people is not None and measured.people.between_sd > measured.people.repeatability_sd:
        sentence = (
            f"{name.capitalize()}, {stage.words}: people differ by {plain(measured.people.between_sd, 2)}, one "
            f"person's readings by {plain(measured.people.repeatability_sd, 2)} {measured.quantity.unit}."
        )
        yield Finding(Sign.KNOW, place, sentence, (measured.people.advice,), weight=0.3, source="ISO 5725-2, one-way")
    yield from _slips(bench, measured)
    yield from _too_few(bench, stage, measured)


def _slips(bench: Bench, measured: Measured) -> Iterator[Finding]:
    """A count that would fit if it had been counted over another length."""
    if measured.quantity not in (Quantity.WALES, Quantity.COURSES) or not measured.expected or not measured.hand:
        return
    over_cm = {sitting.key: sitting.count_over_cm for sitting in bench.specimen.sittings}
    for key, summary in measured.hand.items():
        ratio = measured.expected.value / summary.mean
        for length, words in SLIPS_CM.items():
            if length != over_cm[key] and abs(math.log(ratio * length / over_cm[key])) < SLIP_REACH:
                sentence = (
                    f"{NAMES[measured.quantity].capitalize()}, sitting {key}: {plain(summary.mean, 2)} per cm, and "
                    f"{plain(measured.expected.value, 2)} is expected. It may have been counted over {words}."
                )
                yield Finding(Sign.DECIDE, bench.specimen.name, sentence, ("check count_over_cm",), weight=0.9)


def _too_few(bench: Bench, stage: Stage, measured: Measured) -> Iterator[Finding]:
    """How many readings would bring a count within two per cent."""
    if measured.quantity not in (Quantity.WALES, Quantity.COURSES) or measured.by_photo or len(measured.hand) != 1:
        return
    (summary,) = measured.hand.values()
    half, enough = summary.half_95, summary.needed
    if half is None or 100 * half / summary.mean <= WANTED_ERROR_PERCENT or enough is None:
        return
    sentence = (
        f"{NAMES[measured.quantity].capitalize()}, {stage.words}: {summary.n} readings give "
        f"± {plain(100 * half / summary.mean, 1)} % at 95 %; {enough} would give ± {WANTED_ERROR_PERCENT:g} %."
    )
    yield Finding(Sign.KNOW, bench.specimen.name, sentence, weight=0.1, source="eq 14.1")


def _limit_findings(bench: Bench, stage: Stage, measured: Measured) -> Iterator[Finding]:
    """A limit that will probably not be kept; only the last stage at which the quantity was measured counts."""
    latest = bench.latest(measured.quantity)
    if measured.verdict is None or latest is None or latest[0] is not stage:
        return
    passes = measured.verdict.true_value_passes
    if min(passes, measured.verdict.next_piece_passes) >= HOLDS:
        return
    value = plain(measured.estimate.value, 2 if measured.quantity in (Quantity.WALES, Quantity.COURSES) else 1)
    sentence = (
        f"{NAMES[measured.quantity].capitalize()}, {stage.words}: {value} {measured.quantity.unit}. "
        f"The limit is {measured.verdict.limit.words}: the chance to keep it is {chance_words(passes)}, for the "
        f"next piece {chance_words(measured.verdict.next_piece_passes)}."
    )
    tries = _remedies(measured.quantity)
    sign = Sign.DECIDE if passes < HOLDS else Sign.KNOW
    yield Finding(sign, bench.specimen.name, sentence, tries, weight=1 - passes)


def _remedies(quantity: Quantity) -> tuple[str, ...]:
    if quantity is Quantity.LEAN:
        return ("a balanced fold", "a tighter loop", "courses of S and Z yarn by turns")
    if quantity in (Quantity.WIDTH_CHANGE, Quantity.LENGTH_CHANGE):
        return ("a tighter loop", "relax the panels before they are joined", "allow for it in the size")
    return ("change the loop length",)


def _weight_findings(bench: Bench, stage: Stage) -> Iterator[Finding]:
    """Weight over size against counts and loop length: they are one identity."""
    yarn, loop = bench.specimen.yarn, bench.loop_length_mm
    if yarn is None or loop is None or not all(each in stage.measured for each in _IDENTITY):
        return
    wales, courses, mass = (stage.measured[each] for each in _IDENTITY)
    if not mass.hand:
        return
    figures = [stage.figure(each.quantity, each.estimate, "measured") for each in (wales, courses)]
    length = entered("loop length", loop, "mm")
    geometry = StitchGeometry(bench.specimen.structure, length, figures[0], figures[1], stage.state)
    lengths = piece_lengths(bench.specimen.structure, loop_length_mm=loop, wales_per_cm=figures[0].value)
    counted = fabric_mass(geometry, yarn, lengths)
    apart = 100 * (counted.value / mass.estimate.value - 1)
    reach = APART * math.hypot(counted.spread / NINE_IN_TEN_SD, mass.estimate.standard_error)
    said = (
        f"Weight over size gives {plain(mass.estimate.value, 0)} g/m², counts and loop length give "
        f"{plain(counted.value, 0)}"
    )
    if abs(counted.value - mass.estimate.value) <= reach:
        if stage is not bench.stages[-1]:
            return
        near = max(1, math.ceil(abs(apart)))
        yield Finding(Sign.HOLDS, bench.specimen.name, f"{said}: they agree within {near} %.", weight=0.1)
        return
    sentence = f"{said}: they are {plain(abs(apart), 0)} % apart, more than the readings allow."
    tries = ("weigh again in standard air", "check the count of the yarn", "unrove a course for the loop length")
    yield Finding(Sign.DECIDE, bench.specimen.name, sentence, tries, weight=abs(apart) / 10, source="eq 3.2")


_IDENTITY = (Quantity.WALES, Quantity.COURSES, Quantity.MASS)
EDGE_SHARE = 0.03  # prior: edges that roll, and selvedge wales that lie closer, take this much of a width


def _needle_findings(bench: Bench, stage: Stage) -> Iterator[Finding]:
    """Needles over counted wales against the width on the table."""
    needles, anatomy = bench.specimen.needles, bench.specimen.structure.anatomy
    widths = [width for sitting in stage.sittings for width in sitting.width_cm]
    if needles is None or not widths or Quantity.WALES not in stage.measured:
        return
    wales = needles * anatomy.visible_wales / anatomy.needles
    computed = wales / stage.measured[Quantity.WALES].estimate.value
    width = sum(widths) / len(widths)
    apart = 100 * (width / computed - 1)
    if abs(apart) <= 100 * 3 * EDGE_SHARE:
        return
    sentence = (
        f"{needles} needles at the wales counted are {plain(computed, 1)} cm wide, and the swatch measures "
        f"{plain(width, 1)} cm: {plain(abs(apart), 0)} % apart."
    )
    tries = ("check the needles", "check the length counted over", "was a piece cut out of it?")
    yield Finding(Sign.DECIDE, bench.specimen.name, sentence, tries, weight=abs(apart) / 100)


def _lean_findings(bench: Bench, stage: Stage) -> Iterator[Finding]:
    """Offset, diagonals and angle say the same lean, or they do not."""
    for sitting in stage.sittings:
        means = {method: sum(values) / len(values) for method, values in lean_by_method(sitting).items()}
        if len(means) < 2 or max(means.values()) - min(means.values()) < METHODS_APART:
            continue
        said = ", ".join(f"{method} {plain(mean, 1)} %" for method, mean in means.items())
        sentence = f"Lean, {stage.words}: the ways to measure it differ ({said})."
        tries = ("was the square marked on the cloth at rest?", "measure the offset over the height")
        yield Finding(Sign.DECIDE, bench.specimen.name, sentence, tries, weight=0.4)


METHODS_APART = 1.5  # points of per cent; two readings of either method differ by less
