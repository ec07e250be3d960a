"""`study_swatch(style, key) -> SwatchStudy`: everything that follows from one swatch of a document.

In: `Style` with its swatches. Out: the bench of the swatch, findings in order of consequence, what it tells the
learning, and cautions. Pure. Not covered: what the whole drawer has learnt, the garment (`study`).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.figure import State
from loopwright.problems import Collector, Finding
from loopwright.study.cautions import Caution, cautions
from loopwright.study.style import Style
from loopwright.study.taken_swatch import specimen_of
from loopwright.swatch.bench import Bench, bench_of
from loopwright.swatch.consistency import findings_of
from loopwright.swatch.expected import expected_fabric
from loopwright.swatch.observations import told_by
from loopwright.swatch.observed import Observed


@dataclass(frozen=True, slots=True)
class SwatchStudy:
    """A swatch with all that follows from it."""

    bench: Bench
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
    kept = cautions(is_child=False, has_raised_surface=False, fabrics=[fabric] if fabric else [])
    return SwatchStudy(
        bench,
        Collector(list(findings_of(bench))).in_order(),
        told_by(bench, today=today),
        kept if specimen.sittings else (),
    )
