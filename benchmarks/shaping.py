"""Exact shaping of all edges of a pullover in seven sizes, beside the two-rate rule and an integer programme.

    .venv/bin/python benchmarks/shaping.py            everything; the integer programmes take about half a minute
    .venv/bin/python benchmarks/shaping.py --quick    one size through the integer programme

All three shape the same edges in the same run: those of worked examples B, C and E, graded, with the cap along an S.
Aims: exact at most 4 times the two-rate rule and 150 ms, and 50 times as fast as the integer programme. The integer
programme is the one of the tests, solved by HiGHS to the last digit; its costs are compared with ours on the way.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterable
from pathlib import Path

from loopwright.shaping.exact import EdgePlan, exact_edge
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, WantedEdge, straight_edge, wanted_edge
from loopwright.shaping.exact_pair import EdgePair, PairPlan, symmetric, together
from loopwright.shaping.exact_words import comparison_words
from loopwright.shaping.fashioning import Steps, shape
from study import timed

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "shaping"))
from test_exact_optimality import least_cost_by_integer_programme

SIZES = 7
GRADE = 0.04  # a size is so much wider and higher than the one before
DENSITY = {"needles_per_cm": 6.5, "courses_per_cm": 8.4}
LIMITS = EdgeLimits((1, 2))
COSTS = EdgeCosts(per_mm2=1.0, per_stroke=1.0, event_strokes=3.0)
TIMES, ALLOWANCE_MS, FASTER = 4.0, 150.0, 50.0
MIDDLE_SIZE_EDGES = {
    "armhole": (20, 58),
    "sleeve": (39, 284),
    "cap": (66, 88),
    "V neck": (59, 184),
    "raglan, body": (57, 126),
    "raglan, sleeve": (59, 126),
}


def main() -> None:
    sizes = [edges_of_size(size) for size in range(SIZES)]
    edges = [edge for size in sizes for edge in size]
    rule_ms = timed(lambda: [two_rate_steps(edge) for edge in edges], 15)
    exact_ms = timed(lambda: exact_plans(edges), 7)
    known_ms = timed(lambda: [exact_edge(edge, LIMITS, COSTS) for edge in edges], 15)
    seam_ms = timed(lambda: raglan_seam(sizes[SIZES // 2]), 5)
    both_ms = timed(lambda: both_sides(sizes[SIZES // 2]), 5)
    tried = sizes[SIZES // 2] if "--quick" in sys.argv else edges
    programme_s, widest = integer_programmes(tried)
    tried_ms = timed(lambda: exact_plans(tried), 5)
    allowed_ms = TIMES * rule_ms + ALLOWANCE_MS
    print(f"{f'{len(edges)} edges, two-rate rule':44} {rule_ms:9.2f} ms")
    print(f"{f'{len(edges)} edges, exact':44} {exact_ms:9.1f} ms   (aim: at most {allowed_ms:.0f})")
    print(f"{'  the same, edges known':44} {known_ms:9.2f} ms   ({known_ms / rule_ms:.1f} × the two-rate rule)")
    print(f"{'  both sides of the middle size as one':44} {both_ms:9.1f} ms")
    print(f"{'  raglan seam of the middle size, two as one':44} {seam_ms:9.1f} ms")
    print(f"{f'{len(tried)} edges, integer programme (HiGHS)':44} {1000 * programme_s:9.0f} ms")
    ratio = 1000 * programme_s / tried_ms
    print(f"{'  over exact':44} {ratio:9.0f} ×    (aim: at least {FASTER:.0f}; costs agree within {widest:.0e})")
    for edge in sizes[SIZES // 2]:
        words = comparison_words(two_rate_steps(edge), exact_edge(edge, LIMITS, COSTS).shaped, COSTS)
        print(f"{'  ' + edge.name:44} {words}")
    if exact_ms > allowed_ms or ratio < FASTER:
        sys.exit("an aim is missed")


def edges_of_size(size: int) -> list[WantedEdge]:
    """The edges of one size, the middle one as printed in the worked examples."""
    scale = 1 + GRADE * (size - SIZES // 2)
    edges = []
    for name, (needles, courses) in MIDDLE_SIZE_EDGES.items():
        graded, height = round(needles * scale), 2 * round(courses * scale / 2)
        make = s_curve if name == "cap" else line
        edges.append(make(name, graded, height))
    return edges


def line(name: str, needles: int, courses: int) -> WantedEdge:
    return straight_edge(name, needles, courses, **DENSITY)


def s_curve(name: str, needles: int, courses: int) -> WantedEdge:
    """A cap: a third faster than its mean at the foot and the top, a third slower half-way."""
    wave = needles / (6 * math.pi)
    wanted = [needles * k / courses + wave * math.sin(2 * math.pi * k / courses) for k in range(courses)]
    return wanted_edge(name, [*wanted, needles], **DENSITY)


def two_rate_steps(edge: WantedEdge) -> Steps:
    """The classic plan: one needle at a time where the courses allow it, else two."""
    per_event = 1 if 2 * edge.needles <= edge.courses else 2
    return shape(edge.needles, edge.courses, per_event=per_event)


def exact_plans(edges: Iterable[WantedEdge]) -> list[EdgePlan]:
    """Plans of edges never seen before."""
    exact_edge.cache_clear()
    return [exact_edge(edge, LIMITS, COSTS) for edge in edges]


def raglan_seam(size: list[WantedEdge]) -> PairPlan:
    together.cache_clear()
    body, sleeve = (edge for edge in size if edge.name.startswith("raglan"))
    return together(EdgePair(body, sleeve, LIMITS, LIMITS, COSTS), 5.0)


def both_sides(size: list[WantedEdge]) -> list[PairPlan]:
    exact_edge.cache_clear()
    return [symmetric(EdgePair(edge, edge, LIMITS, LIMITS, COSTS), 3.0) for edge in size]


def integer_programmes(edges: Iterable[WantedEdge]) -> tuple[float, float]:
    """(seconds of all, largest difference of a cost from the exact plan's)."""
    seconds, widest = 0.0, 0.0
    for edge in edges:
        start = time.perf_counter()
        cost = least_cost_by_integer_programme(edge, LIMITS, COSTS)
        seconds += time.perf_counter() - start
        plan = exact_edge(edge, LIMITS, COSTS)
        widest = max(widest, abs(cost - plan.shaped.cost) if cost is not None else math.inf)
    return seconds, widest


if __name__ == "__main__":
    main()
