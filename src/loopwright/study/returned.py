"""Garments that came back against the style: every measure with its tolerance, mass, faults, and what the lot is worth.

In: a study, the pieces measured, the size of their lot. Out: `Returned`. A measure beyond its tolerance is a major
fault of its piece (common practice). How the next piece of a size will measure follows from the pieces seen: a t
distribution about their mean, the spread of a point pooled with a working assumption (`USUAL_SD_OF_TOLERANCE` of its
tolerance, worth four pieces: `swatch.statistics`), so that one piece already says something and five say more. The
share of faulty pieces in the lot is a beta distribution (Jeffreys' prior), pieces taken at random.
Not covered: reading a table (`garment.pieces`), the plans (`makeup.inspection`).
Sources: iso_2859_1; production reference 9.2, 9.3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from scipy.special import betainc, betaincinv, stdtr

from loopwright.figure import Figure, plain
from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import tolerance_cm, words_of
from loopwright.garment.pieces import FaultClass, Piece
from loopwright.makeup.inspection import SamplingPlan, acceptance_probability, sampling_plan
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import table
from loopwright.study.study import AQL_MAJOR, AQL_MINOR, StyleStudy
from loopwright.swatch.statistics import Pooled, pooled, t_quantile

AQL_PERCENT = {FaultClass.CRITICAL: 0.0, FaultClass.MAJOR: AQL_MAJOR, FaultClass.MINOR: AQL_MINOR}
USUAL_SD_OF_TOLERANCE = 0.4  # prior: spread of a point among pieces of one size, as a share of its tolerance
MEASURED_TO_CM = 0.05  # half of the last millimetre: a measure is beyond its tolerance from here on
USUAL_SD_OF_POINTS = 1.0  # prior: per cent by which points along one way of a fabric differ among themselves
NEARLY_SURE = 0.99
FEWEST_POINTS = 2  # one point alone says nothing about the fabric
SAME_WAY = 1.0  # per cent: a fabric is off along one way when its nine in ten lie beyond this


@dataclass(frozen=True, slots=True)
class PointCheck:
    """One point of measure in one size: what was wanted, what was measured, how the next piece will measure."""

    size: str
    point: str
    wanted_cm: float
    tolerance_cm: float
    values_cm: tuple[float, ...]
    sd_cm: float
    degrees: float

    @property
    def mean_cm(self) -> float:
        """Mean of the pieces."""
        return math.fsum(self.values_cm) / len(self.values_cm)

    @property
    def off_cm(self) -> float:
        """Mean less what was wanted; positive when too large."""
        return self.mean_cm - self.wanted_cm

    @property
    def off_spread_cm(self) -> float:
        """Half width of nine in ten of the mean."""
        return t_quantile(0.95, self.degrees) * self.sd_cm / math.sqrt(len(self.values_cm))

    @property
    def beyond(self) -> int:
        """Pieces beyond the tolerance."""
        return sum(is_beyond(value, self.wanted_cm, self.tolerance_cm) for value in self.values_cm)

    @property
    def next_beyond(self) -> float:
        """Probability that the next piece of this size lies beyond the tolerance."""
        scale = self.sd_cm * math.sqrt(1 + 1 / len(self.values_cm))
        above = (self.tolerance_cm - self.off_cm) / scale
        below = (-self.tolerance_cm - self.off_cm) / scale
        return float(stdtr(self.degrees, below) + stdtr(self.degrees, -above))


class Verdict(Enum):
    """What the faults of a class say of the lot."""

    PASSES = "passes"
    FAILS = "fails"
    OPEN = "not decided"


@dataclass(frozen=True, slots=True)
class ClassCheck:
    """Faults of a class against its sampling plan."""

    fault: FaultClass
    plan: SamplingPlan
    looked_at: int
    faulty: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """Fails as soon as too many are faulty; passes only when the sample of the plan has been looked at."""
        if len(self.faulty) > self.plan.accept:
            return Verdict.FAILS
        return Verdict.PASSES if self.looked_at >= self.plan.sample_pieces else Verdict.OPEN

    @property
    def missing(self) -> int:
        """Pieces still to look at before the plan can say that the lot passes."""
        return max(0, self.plan.sample_pieces - self.looked_at)

    def share_at(self, probability: float) -> float:
        """Share of faulty pieces in the lot that is exceeded with one less this probability."""
        return float(betaincinv(len(self.faulty) + 0.5, self.looked_at - len(self.faulty) + 0.5, probability))

    @property
    def worse_than_aql(self) -> float:
        """Probability that more of the lot is faulty than the AQL allows; the plan for an AQL of 0 takes 0.1 %."""
        limit = max(self.plan.aql_percent, 0.1) / 100
        return float(1 - betainc(len(self.faulty) + 0.5, self.looked_at - len(self.faulty) + 0.5, limit))

    @property
    def good_lot_passes(self) -> float:
        """Probability that the plan passes a lot just as good as its AQL."""
        return acceptance_probability(self.plan.sample_pieces, self.plan.accept, self.plan.aql_percent / 100)


@dataclass(frozen=True, slots=True)
class MassCheck:
    """Mass of the pieces of a size against the yarn that the study finds in one."""

    size: str
    expected: Figure
    values_g: tuple[float, ...]

    @property
    def mean_g(self) -> float:
        """Mean of the pieces."""
        return math.fsum(self.values_g) / len(self.values_g)

    @property
    def is_outside(self) -> bool:
        """Whether the mean lies outside the nine in ten of the study."""
        return not self.expected.low <= self.mean_g <= self.expected.high


@dataclass(frozen=True, slots=True)
class Drift:
    """By how many per cent the main fabric is off along its wales or its courses, over all points that lie that way."""

    along: str
    percent: float
    spread_percent: float
    points: int


@dataclass(frozen=True, slots=True)
class Returned:
    """All that the pieces say."""

    pieces: tuple[Piece, ...]
    lot_pieces: int | None
    points: tuple[PointCheck, ...]
    classes: tuple[ClassCheck, ...]
    masses: tuple[MassCheck, ...]
    drifts: tuple[Drift, ...]
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of the classes; not decided without a lot."""
        found = [each.verdict for each in self.classes]
        if Verdict.FAILS in found:
            return Verdict.FAILS
        return Verdict.PASSES if found and all(each is Verdict.PASSES for each in found) else Verdict.OPEN


def returned(study: StyleStudy, pieces: Sequence[Piece], lot_pieces: int | None = None) -> Returned:
    """The pieces against the style; the lot is the order when its size is left out.

    Raises:
        Problem: the style has no size table, or there is no piece of its sizes.
    """
    sizes = study.size_table
    if sizes is None:
        raise Problem("pieces", "this style has no size table to measure against.", tries=["a [garment] part"])
    own = tuple(piece for piece in pieces if piece.size in sizes.sizes)
    if not own:
        limit = f"sizes: {', '.join(sizes.sizes)}"
        raise Problem("pieces", "there is no piece in a size of this style.", limit=limit, tries=["a size by its name"])
    lot = lot_pieces or (study.style.order.pieces if study.style.order else None)
    if lot is not None and lot < len(own):
        what = f"{len(own)} pieces were looked at out of a lot of {lot}."
        raise Problem("lot", what, limit="a lot holds its sample", tries=["the pieces of the delivery"])
    points = tuple(_points(sizes, own))
    classes = tuple(_classes(sizes, own, lot)) if lot else ()
    masses = tuple(_masses(study, own))
    drifts = tuple(_drifts(points))
    findings = sorted(_findings(points, classes, masses, drifts), key=lambda each: (each.sign, -each.weight))
    return Returned(own, lot, points, classes, masses, drifts, tuple(findings))


def is_beyond(value_cm: float, wanted_cm: float, tolerance: float) -> bool:
    """Whether a measure read to the millimetre lies beyond its tolerance.

    >>> is_beyond(50.0, 49.0, 1.0), is_beyond(50.1, 49.0, 1.0)
    (False, True)
    """
    return abs(value_cm - wanted_cm) > tolerance + MEASURED_TO_CM


def pooled_cm(values_cm: Sequence[float], tolerance: float) -> Pooled:
    """Spread of a point among pieces of a size: that of the pieces, pooled with a usual share of its tolerance."""
    return pooled(values_cm, USUAL_SD_OF_TOLERANCE * tolerance)


def _points(sizes: SizeTable, pieces: Sequence[Piece]) -> Iterator[PointCheck]:
    for size in sizes.sizes:
        for point in sizes.names:
            values = tuple(
                each.measures_cm[point] for each in pieces if each.size == size and point in each.measures_cm
            )
            if values:
                tolerance = tolerance_cm(point)
                spread = pooled_cm(values, tolerance)
                yield PointCheck(size, point, sizes.value_cm(size, point), tolerance, values, spread.sd, spread.degrees)


def _classes(sizes: SizeTable, pieces: Sequence[Piece], lot: int) -> Iterator[ClassCheck]:
    for fault in FaultClass:
        faulty = tuple(piece.name for piece in pieces if _is_faulty(piece, fault, sizes))
        yield ClassCheck(fault, sampling_plan(lot, AQL_PERCENT[fault]), len(pieces), faulty)


def _is_faulty(piece: Piece, fault: FaultClass, sizes: SizeTable) -> bool:
    if any(each is fault for each, _ in piece.faults):
        return True
    return fault is FaultClass.MAJOR and any(
        is_beyond(value, sizes.value_cm(piece.size, point), tolerance_cm(point))
        for point, value in piece.measures_cm.items()
    )


def _masses(study: StyleStudy, pieces: Sequence[Piece]) -> Iterator[MassCheck]:
    for size in study.sizes:
        values = tuple(each.mass_g for each in pieces if each.size == size.size and each.mass_g is not None)
        if values:
            yield MassCheck(size.size, size.grams, values)


def _drifts(points: Sequence[PointCheck]) -> Iterator[Drift]:
    """What all points along the wales, and across them, are off by together: a fabric off its gauge.

    Every point counts once; their scatter is pooled with a usual one, as for the pieces.
    """
    rows = table("loopwright.garment", "points").by("measure")
    for along in ("wales", "courses"):
        names = {each.point for each in points if rows[each.point].text("along") == along and each.wanted_cm > 0}
        if len(names) < FEWEST_POINTS:
            continue
        shares = [_share_off(name, points) for name in sorted(names)]
        spread = pooled(shares, USUAL_SD_OF_POINTS)
        half = t_quantile(0.95, spread.degrees) * spread.sd / math.sqrt(len(shares))
        yield Drift(along, math.fsum(shares) / len(shares), half, len(shares))


def _share_off(name: str, points: Sequence[PointCheck]) -> float:
    """Per cent by which a point is off, over all sizes."""
    alike = [each for each in points if each.point == name]
    wanted = math.fsum(each.wanted_cm * len(each.values_cm) for each in alike)
    return 100 * math.fsum(each.off_cm * len(each.values_cm) for each in alike) / wanted


def _findings(
    points: Sequence[PointCheck],
    classes: Sequence[ClassCheck],
    masses: Sequence[MassCheck],
    drifts: Sequence[Drift],
) -> Iterator[Finding]:
    yield from (_class_finding(each) for each in classes if each.verdict is not Verdict.PASSES or each.faulty)
    yield from filter(None, map(_drift_finding, drifts))
    yield from (_point_finding(each) for each in points if each.beyond)
    yield from (_mass_finding(each) for each in masses if each.is_outside)


def _class_finding(check: ClassCheck) -> Finding:
    plan, count = check.plan, len(check.faulty)
    aql = f"AQL {plan.aql_percent:g}" if plan.aql_percent else "none accepted"
    seen = f"{count} of {check.looked_at} pieces {'has' if count == 1 else 'have'} a {check.fault} fault"
    if count > plan.accept:
        sentence = f"{seen} ({_names(check.faulty)}); {plan.accept} may be accepted ({aql}). The lot does not pass."
        tries = ("look at every piece", "settle the cause before the rest is made up")
        return Finding(Sign.STOPS, "lot", sentence, tries, weight=count / (plan.accept + 1), source=plan.source)
    low, high = (100 * check.share_at(each) for each in (0.05, 0.95))
    worth = f"of the lot {plain(low, 1)} to {plain(high, 1)} % may be faulty"
    if check.missing:
        sentence = (
            f"{seen}; {worth}. The plan asks for {plan.sample_pieces} pieces out of {plan.lot_pieces} and accepts "
            f"{plan.accept} ({aql}): these pieces cannot pass the lot."
        )
        is_worse = bool(check.faulty) and check.worse_than_aql > NEARLY_SURE
        if is_worse:
            sentence += " It is nearly sure that more of it is faulty than the plan allows."
        sign, more = Sign.DECIDE if is_worse else Sign.KNOW, f"look at {check.missing} more"
        return Finding(sign, "lot", sentence, (more,), weight=0.3, source=plan.source)
    sentence = f"{seen} ({_names(check.faulty)}); {plan.accept} may be accepted ({aql}), {worth}."
    return Finding(Sign.KNOW, "lot", sentence, weight=0.2, source=plan.source)


def _names(names: Sequence[str]) -> str:
    return ", ".join(names[:6]) + (" …" if len(names) > 6 else "")


def _drift_finding(drift: Drift) -> Finding | None:
    """A fabric that is off its gauge one way: the cause behind many measures that are off together."""
    if abs(drift.percent) - drift.spread_percent <= SAME_WAY:
        return None
    way, few = ("lengths", "courses") if drift.along == "wales" else ("widths", "wales")
    low, high = drift.percent - drift.spread_percent, drift.percent + drift.spread_percent
    side, cause = ("short", "denser") if drift.percent < 0 else ("long", "slacker")
    if way == "widths":
        side = "narrow" if drift.percent < 0 else "wide"
    sentence = (
        f"All {way} come out {side} together, by {plain(abs(drift.percent), 1)} % "
        f"({plain(min(abs(low), abs(high)), 1)} to {plain(max(abs(low), abs(high)), 1)}): the {few} lie {cause} than "
        "specified. That is the fabric and not the shaping."
    )
    tries = (
        f"count {few} on the pieces against the specification",
        "unrove a course and compare the loop length",
        "measure again after the relaxation that the specification names",
    )
    return Finding(Sign.DECIDE, "fabric", sentence, tries, weight=abs(drift.percent))


def _point_finding(check: PointCheck) -> Finding:
    side = "large" if check.off_cm > 0 else "small"
    count, of = check.beyond, len(check.values_cm)
    sentence = (
        f"{words_of(check.point)} in {check.size}: {plain(check.mean_cm, 1)} cm where {plain(check.wanted_cm, 1)} "
        f"± {check.tolerance_cm:g} is wanted; {count} of {of} beyond the tolerance, on average "
        f"{plain(abs(check.off_cm), 1)} too {side}."
    )
    weight = abs(check.off_cm) / check.tolerance_cm
    return Finding(Sign.DECIDE, f"{words_of(check.point)}, {check.size}", sentence, weight=weight)


def _mass_finding(check: MassCheck) -> Finding:
    side = "heavier" if check.mean_g > check.expected.value else "lighter"
    sentence = (
        f"Pieces of {check.size} weigh {plain(check.mean_g, 0)} g, {side} than the study's {check.expected.text()}: "
        "more or less yarn goes in than was priced."
    )
    tries = ("weigh them conditioned", "compare loop length and yarn count with the specification")
    weight = abs(check.mean_g / check.expected.value - 1)
    return Finding(Sign.DECIDE, f"mass, {check.size}", sentence, tries, weight=weight)


def by_size(points: Sequence[PointCheck]) -> Mapping[str, list[PointCheck]]:
    """The points of every size that was measured."""
    found: dict[str, list[PointCheck]] = {}
    for each in points:
        found.setdefault(each.size, []).append(each)
    return found
