"""No plan is cheaper than the exact one: the same edges solved as integer programmes by an independent solver (HiGHS).

The integer programme is written from the words of the limits, not from the dynamic programme: a yes or no for every
event and course, spacing as clashes within a window, the squared deviation as the secants of the parabola between
neighbouring whole needles (exact, because the stair stands on whole needles).
"""

import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from loopwright.problems import Problem
from loopwright.shaping.exact import exact_edge
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, WantedEdge

NEARLY = 1e-6  # the solver's own tolerance on whole numbers


def random_edge(dice: random.Random, *, courses: int, needles: int, there_and_back: bool) -> WantedEdge:
    """A line, a bulging curve or a wandering outline from about nought to a whole needle."""
    t = np.linspace(0, 1, courses + 1)
    if there_and_back:
        wanted = needles * np.sin(np.pi * t) ** dice.choice([1, 2])
        end = dice.choice([0, 0, 1, -1])
    else:
        wanted = needles * t ** dice.choice([0.5, 1.0, 1.0, 2.0])
        end = needles
    wanted = wanted + np.array([dice.gauss(0, dice.choice([0, 0.3])) for _ in t])
    values = [*wanted[:-1].tolist(), float(end)]
    return WantedEdge("edge", tuple(values), dice.choice([2.0, 3.6, 6.5]), dice.choice([3.0, 5.0, 8.4]))


def random_limits(dice: random.Random, *, courses: int, there_and_back: bool) -> EdgeLimits:
    step = dice.choice([1, 2, 2, 3])
    windows = {} if there_and_back else random_windows(dice, courses)
    bind_offs = sorted(dice.sample(range(courses + 1), dice.choice([0, 0, 1, 2])))
    return EdgeLimits(
        dice.choice([(1,), (2,), (1, 2), (1, 2, 3), (1, 3), (2, 3)]),
        needles_back=dice.choice([(1,), (1, 2)]) if there_and_back else (),
        courses_between=dice.randint(1, 5),
        step=step,
        parity=dice.randrange(step),
        first_after=dice.choice([0, 1, 1, 2, 4]),
        straight_end=dice.choice([0, 0, 1, 4]),
        bind_off_from=dice.randint(2, 4),
        bind_off_courses=tuple(bind_offs),
        **windows,
    )


def random_windows(dice: random.Random, courses: int) -> dict[str, int]:
    wanted = {"first_before": dice.randint(1, courses), "last_after": dice.randint(0, courses)}
    return {name: course for name, course in wanted.items() if dice.random() < 0.3}


def random_costs(dice: random.Random) -> EdgeCosts:
    return EdgeCosts(
        per_mm2=dice.choice([0.0, 1.0, 1.0, 2.5]),
        per_stroke=dice.choice([0.0, 0.3, 1.0, 5.0]),
        event_strokes=dice.choice([2.0, 3.0]),
        back_strokes=dice.choice([0.0, 1.0]),
        bind_off_strokes=dice.choice([1.0, 4.0]),
    )


class Programme:
    """An integer programme that grows by variables and rows."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.whole: list[int] = []
        self.top: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def variable(self, cost: float, *, whole: bool, top: float) -> int:
        self.cost.append(cost)
        self.whole.append(int(whole))
        self.top.append(top)
        return len(self.cost) - 1

    def row(self, terms: dict[int, float], low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def solved(self) -> np.ndarray | None:
        matrix = lil_array((len(self.rows), len(self.cost)))
        for index, (terms, _, _) in enumerate(self.rows):
            for variable, factor in terms.items():
                matrix[index, variable] = factor
        low, high = [each[1] for each in self.rows], [each[2] for each in self.rows]
        answer = milp(
            self.cost,
            integrality=self.whole,
            bounds=Bounds(0, self.top),
            constraints=LinearConstraint(matrix.tocsr(), low, high),
            options={"mip_rel_gap": 0.0},
        )
        assert answer.status in (0, 2), answer.message
        return answer.x if answer.status == 0 else None


def add_edge(programme: Programme, edge: WantedEdge, limits: EdgeLimits, costs: EdgeCosts) -> dict[int, tuple]:
    """Variables and rows of one edge; event variable → (course, needles, strokes)."""
    n, courses = edge.needles, edge.courses
    span = span_of(edge, limits)
    events = {}
    for course in range(courses + 1):
        for needles, strokes in wished(course, courses, span, limits, costs):
            at = programme.variable(costs.per_stroke * strokes, whole=True, top=1)
            events[at] = (course, needles, strokes)
    for course in range(courses + 1):
        window = [at for at, event in events.items() if course <= event[0] < course + limits.courses_between]
        programme.row(dict.fromkeys(window, 1.0), 0, 1)
    programme.row({at: event[1] for at, event in events.items()}, n, n)
    if limits.first_before is not None and n:
        programme.row({at: 1.0 for at, event in events.items() if event[0] <= limits.first_before}, 1, np.inf)
    if limits.last_after is not None and n:
        programme.row({at: 1.0 for at, event in events.items() if event[0] >= limits.last_after}, 1, np.inf)
    add_deviation(programme, edge, events, span, costs)
    return events


def span_of(edge: WantedEdge, limits: EdgeLimits) -> tuple[int, int]:
    if not limits.needles_back:
        return 0, edge.needles
    reach = max(*limits.needles_per_event, *limits.needles_back)
    low, high = int(np.floor(min(edge.needles_moved))), int(np.ceil(max(edge.needles_moved)))
    return min(0, low) - reach, max(0, high) + reach


def wished(course, courses, span, limits, costs):
    fits = (course - limits.parity) % limits.step == 0
    if fits and limits.first_after <= course <= courses - limits.straight_end:
        yield from ((needles, costs.event_strokes) for needles in limits.needles_per_event)
        yield from ((-needles, costs.back_strokes) for needles in limits.needles_back)
    if course in limits.bind_off_courses:
        most = span[1] - span[0]
        yield from ((each, each * costs.bind_off_strokes) for each in range(limits.bind_off_from, most + 1))


def add_deviation(programme, edge, events, span, costs):
    for course in range(edge.courses):
        level = {at: float(event[1]) for at, event in events.items() if event[0] <= course}
        programme.row(level, span[0], span[1])
        middle = (edge.needles_moved[course] + edge.needles_moved[course + 1]) / 2
        squared = programme.variable(costs.per_mm2 * (10 / edge.needles_per_cm) ** 2, whole=False, top=np.inf)
        programme.row({squared: 1.0}, min((whole - middle) ** 2 for whole in range(span[0], span[1] + 1)), np.inf)
        for whole in range(span[0], span[1]):
            slope = 2 * whole + 1 - 2 * middle
            terms = {squared: 1.0, **{at: -slope * needles for at, needles in level.items()}}
            programme.row(terms, (whole - middle) ** 2 - slope * whole, np.inf)


def counted_cost(edge, costs, taken) -> float:
    """Cost of whole events, summed anew."""
    stair = [sum(event[1] for event in taken if event[0] <= course) for course in range(edge.courses)]
    wanted = edge.needles_moved
    squares = [
        (10 / edge.needles_per_cm * (stair[k] - (wanted[k] + wanted[k + 1]) / 2)) ** 2 for k in range(edge.courses)
    ]
    return costs.per_mm2 * sum(squares) + costs.per_stroke * sum(event[2] for event in taken)


def least_cost_by_integer_programme(edge, limits, costs) -> float | None:
    programme = Programme()
    events = add_edge(programme, edge, limits, costs)
    answer = programme.solved()
    if answer is None:
        return None
    return counted_cost(edge, costs, [event for at, event in events.items() if answer[at] > 0.5])


def random_case(seed: int, *, longest: int, widest: int):
    dice = random.Random(seed)
    there_and_back = dice.random() < 0.3
    courses = dice.randint(1, longest)
    needles = dice.randint(0, min(widest, max(1, courses)))
    edge = random_edge(dice, courses=courses, needles=needles, there_and_back=there_and_back)
    limits = random_limits(dice, courses=courses, there_and_back=there_and_back)
    return edge, limits, random_costs(dice)


def compared(edge, limits, costs) -> bool:
    """Whether a plan exists; both solvers agree on that and on its cost."""
    expected = least_cost_by_integer_programme(edge, limits, costs)
    if expected is None:
        with pytest.raises(Problem):
            exact_edge(edge, limits, costs)
        return False
    plan = exact_edge(edge, limits, costs)
    assert plan.is_optimal
    assert plan.cost == pytest.approx(expected, rel=NEARLY, abs=NEARLY)
    return True


@pytest.mark.parametrize("batch", range(10))
def test_no_plan_of_an_edge_is_cheaper_than_the_exact_one(batch):
    planned = sum(compared(*random_case(1000 * batch + each, longest=34, widest=9)) for each in range(50))
    assert planned >= 25
