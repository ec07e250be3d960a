"""Minutes of a piece and of a garment: the sum of its strokes over the share of the time that the machine runs.

In: timelines, `VBed`. Out: figures with spread, each able to say which setting moves it most. The net seconds are
linear in reversal, rack, overrun, the traverses of a narrowing, the bind-off move and in one over speed, so the slopes
come exactly from the timeline's own arrays.
Not covered: the size mix and the price (`study`, `cost`). Source: production reference 4.1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from loopwright.figure import Figure, Term, linear
from loopwright.machine.machine import VBed, carriage, carriage_figure
from loopwright.machine.timeline import Timeline
from loopwright.shaping.panel import Work
from loopwright.units import SECONDS_PER_MINUTE


@dataclass(frozen=True, slots=True)
class Slopes:
    """Net seconds of some pieces and their slopes with the machine's settings."""

    net_s: float
    per_speed: float
    per_overrun: float
    per_reversal: float
    per_rack: float
    per_narrowing_traverse: float
    per_bind_off_move: float
    traverses: int


def slopes(timeline: Timeline, machine: VBed) -> Slopes:
    """Seconds and slopes of one piece."""
    moving = timeline.speed_m_per_s > 0
    narrowing_s = float(timeline.seconds[timeline.kind == Work.NARROWING].sum())
    narrowing_racks = int(timeline.racks[timeline.kind == Work.NARROWING].sum())
    inverse = 1 / timeline.speed_m_per_s[moving]
    travel = (timeline.needles[moving] * machine.pitch_m + machine.overrun.value) * inverse
    return Slopes(
        net_s=timeline.total_s,
        per_speed=-float(travel.sum()) / machine.speed_plain.value,
        per_overrun=float(inverse.sum()),
        per_reversal=float(np.count_nonzero(moving)),
        per_rack=float(timeline.racks.sum()),
        per_narrowing_traverse=(narrowing_s - narrowing_racks * machine.rack.value) / carriage("narrowing_traverses"),
        per_bind_off_move=float(timeline.still_s.sum()) / carriage("bind_off_move"),
        traverses=timeline.traverses,
    )


def net_minutes(name: str, pieces: Slopes, machine: VBed) -> Figure:
    """Minutes of the strokes alone."""
    return _minutes(name, pieces, machine, share=1.0, with_stops=False)


def standard_minutes(name: str, pieces: Slopes, machine: VBed) -> Figure:
    """Minutes with stops: net seconds over 60·η."""
    return _minutes(name, pieces, machine, share=machine.running_share.value, with_stops=True)


def _minutes(name: str, pieces: Slopes, machine: VBed, *, share: float, with_stops: bool) -> Figure:
    scale = 1 / (SECONDS_PER_MINUTE * share)
    value = pieces.net_s * scale
    terms = [
        Term("v", machine.speed_plain, pieces.per_speed * scale),
        Term("X", machine.overrun, pieces.per_overrun * scale),
        Term("tᵣ", machine.reversal, pieces.per_reversal * scale),
        Term("t_rack", machine.rack, pieces.per_rack * scale),
        Term("n_narrow", carriage_figure("narrowing_traverses"), pieces.per_narrowing_traverse * scale),
        Term("t_bind", carriage_figure("bind_off_move"), pieces.per_bind_off_move * scale),
    ]
    if with_stops:
        terms.append(Term("η", machine.running_share, -value / share))
    return linear(
        name,
        value,
        "min",
        terms,
        words="every carriage traverse of all pieces, added up" + (", over the running share" if with_stops else ""),
        formula="Σ [(N·p + X)/v + tᵣ] / (60·η)" if with_stops else "Σ [(N·p + X)/v + tᵣ] / 60",
        source="carriage walked traverse by traverse",
    )


def total(parts: Sequence[tuple[Slopes, int]]) -> Slopes:
    """All pieces together, from the slopes of one piece and how many such pieces there are."""
    names = [field.name for field in fields(Slopes)]
    return Slopes(**{name: sum(getattr(one, name) * pieces for one, pieces in parts) for name in names})
