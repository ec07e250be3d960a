"""`study_swatch(style, key) -> SwatchStudy`: everything that follows from one swatch of a document.

In: `Style` with its swatches. Out: the bench of the swatch, how its edges roll beside the loops at rest, findings in
order of consequence, what it tells the learning, and cautions. Pure.
Not covered: what the whole drawer has learnt, the garment (`study`).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.figure import Figure, State, entered, plain
from loopwright.mechanics.cloth import simulated_cloth
from loopwright.problems import Collector, Finding, Sign
from loopwright.study.cautions import Caution, cautions
from loopwright.study.style import Style
from loopwright.study.taken_swatch import specimen_of
from loopwright.swatch.bench import Bench, bench_of
from loopwright.swatch.consistency import findings_of
from loopwright.swatch.expected import expected_fabric
from loopwright.swatch.observations import told_by
from loopwright.swatch.observed import Observed
from loopwright.swatch.specimen import Sitting


@dataclass(frozen=True, slots=True)
class Roll:
    """How an edge rolls: the radius read at a sitting, and the one that the loops at rest give, where they roll."""

    edge: str
    sitting: Sitting
    radius_mm: float
    expected: Figure | None

    @property
    def finding(self) -> Finding | None:
        """What to know when the two don't agree."""
        told = self.expected
        if told is None or told.low <= self.radius_mm <= told.high:
            return None
        sentence = (
            f"The {self.edge} roll to a radius of {plain(self.radius_mm, 1)} mm; the loops at rest give {told.text()}: "
            f"the yarn took {'more' if self.radius_mm > told.value else 'less'} set than is taken for washed cloth."
        )
        return Finding(
            Sign.KNOW, f"roll of the {self.edge}", sentence, ("measure the roll after another wash",), weight=0.2
        )


@dataclass(frozen=True, slots=True)
class SwatchStudy:
    """A swatch with all that follows from it."""

    bench: Bench
    rolls: tuple[Roll, ...]
    findings: tuple[Finding, ...]
    observations: tuple[Observed, ...]
    cautions: tuple[Caution, ...]


def study_swatch(style: Style, key: str, *, today: str = "") -> SwatchStudy:
    """All answers to one swatch; `today`, a day as year-month-day, gives its readings their age.

    Raises:
        Problem: there is no such swatch, or its structure, yarn or limits cannot be read.
    """
    specimen = specimen_of(style, key)
    bench = bench_of(specimen)
    fabric = expected_fabric(specimen, bench.loop_length_mm, State.FULLY_RELAXED)
    rolls = rolls_of(bench)
    told = (each.finding for each in rolls)
    kept = cautions(is_child=False, has_raised_surface=False, fabrics=[fabric] if fabric else [])
    return SwatchStudy(
        bench,
        rolls,
        Collector([*findings_of(bench), *(each for each in told if each is not None)]).in_order(),
        told_by(bench, today=today),
        kept if specimen.sittings else (),
    )


def rolls_of(bench: Bench) -> tuple[Roll, ...]:
    """The roll of each edge as it was read last on relaxed cloth; nothing is simulated where none was read."""
    specimen, loop = bench.specimen, bench.loop_length_mm
    read: dict[str, tuple[Sitting, float]] = {}
    for sitting in specimen.reliable_sittings:
        if sitting.state is not State.ON_MACHINE:
            radii = {"sides": sitting.roll_sides_mm, "ends": sitting.roll_ends_mm}
            read |= {edge: (sitting, radius) for edge, radius in radii.items() if radius is not None}
    cloth = None
    if read and specimen.yarn is not None and loop is not None:
        cloth = simulated_cloth(specimen.structure, specimen.yarn, entered("loop length", loop, "mm"))
    expected = {"sides": cloth.side_radius, "ends": cloth.end_radius} if cloth else {}
    return tuple(Roll(edge, *read[edge], expected.get(edge)) for edge in ("sides", "ends") if edge in read)
