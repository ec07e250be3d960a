"""No plan is cheaper than the exact one: the same edges solved as integer programmes by an independent solver (HiGHS).

The integer programme is written from the words of the limits, not from the dynamic programme: a yes or no for every
event and course, spacing as clashes within a window, the squared deviation as the secants of the parabola between
neighbouring whole needles (exact, because the stair stands on whole needles).
"""

import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from loopwright.problems import Problem
from loopwright.shaping.exact import exact_edge
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, WantedEdge
from loopwright.shaping.exact_pair import EdgePair, PairPlan, alternate, symmetric, together

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
        self.low: list[float] = []
        self.top: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def variable(self, cost: float, *, whole: bool = False, low: float = 0, top: float = np.inf) -> int:
        self.cost.append(cost)
        self.whole.append(int(whole))
        self.low.append(low)
        self.top.append(top)
        return len(self.cost) - 1

    def row(self, terms: dict[int, float], low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def solved(self) -> np.ndarray | None:
        cells = [(index, at, factor) for index, row in enumerate(self.rows) for at, factor in row[0].items()]
        places, columns, factors = zip(*cells, strict=True)
        matrix = csr_array((factors, (places, columns)), shape=(len(self.rows), len(self.cost)))
        answer = milp(
            self.cost,
            integrality=self.whole,
            bounds=Bounds(self.low, self.top),
            constraints=LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows]),
            options={"mip_rel_gap": 0.0},
        )
        assert answer.status in (0, 2), answer.message
        return answer.x if answer.status == 0 else None


def add_edge(programme: Programme, edge: WantedEdge, limits: EdgeLimits, costs: EdgeCosts) -> dict[int, tuple]:
    """Variables and rows of one edge; event variable → (course, needles, strokes, narrowing)."""
    n, courses = edge.needles, edge.courses
    span = span_of(edge, limits)
    events = {}
    for course in range(courses + 1):
        for needles, strokes, narrowing in wished(course, courses, span, limits, costs):
            at = programme.variable(costs.per_stroke * strokes, whole=True, top=1)
            events[at] = (course, needles, strokes, narrowing)
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
        yield from ((needles, costs.event_strokes, True) for needles in limits.needles_per_event)
        yield from ((-needles, costs.back_strokes, False) for needles in limits.needles_back)
    if course in limits.bind_off_courses:
        sizes = range(limits.bind_off_from, span[1] - span[0] + 1)
        yield from ((each, each * costs.bind_off_strokes, False) for each in sizes)


def add_deviation(programme, edge, events, span, costs):
    """The stair's level in each course, and the square of its distance from the outline."""
    before: dict[int, float] = {}
    weight = costs.per_mm2 * (10 / edge.needles_per_cm) ** 2
    for course in range(edge.courses):
        level = programme.variable(0.0, low=span[0], top=span[1])
        arriving = {at: float(event[1]) for at, event in events.items() if event[0] == course}
        programme.row({level: -1.0, **before, **arriving}, 0, 0)
        before = {level: 1.0}
        middle = (edge.needles_moved[course] + edge.needles_moved[course + 1]) / 2
        nearest = min((whole - middle) ** 2 for whole in range(span[0], span[1] + 1))
        squared = programme.variable(weight, low=nearest)
        for whole in range(span[0], span[1]):
            slope = 2 * whole + 1 - 2 * middle
            programme.row({squared: 1.0, level: -slope}, (whole - middle) ** 2 - slope * whole, np.inf)


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
    assert plan.shaped.cost == pytest.approx(expected, rel=NEARLY, abs=NEARLY)
    return True


@pytest.mark.parametrize("batch", [0, 1, *(pytest.param(batch, marks=pytest.mark.slow) for batch in range(2, 10))])
def test_no_plan_of_an_edge_is_cheaper_than_the_exact_one(batch):
    planned = sum(compared(*random_case(1000 * batch + each, longest=34, widest=9)) for each in range(50))
    assert planned >= 30


def random_pair(seed: int) -> EdgePair:
    """Two edges of one panel or one seam; now and then with limits of their own."""
    dice = random.Random(seed)
    there_and_back = dice.random() < 0.2
    courses = dice.randint(2, 22)
    sides = [
        random_edge(dice, courses=courses, needles=dice.randint(0, min(6, courses)), there_and_back=there_and_back)
        for _ in range(2)
    ]
    limits = random_limits(dice, courses=courses, there_and_back=there_and_back)
    other = random_limits(dice, courses=courses, there_and_back=there_and_back) if dice.random() < 0.4 else limits
    return EdgePair(sides[0], sides[1], limits, other, random_costs(dice))


def least_pair_cost(pair: EdgePair, both_strokes: float) -> float | None:
    """By an integer programme."""
    programme = Programme()
    left = add_edge(programme, pair.left, pair.left_limits, pair.costs)
    right = add_edge(programme, pair.right, pair.right_limits, pair.costs)
    saving = pair.costs.per_stroke * (2 * pair.costs.event_strokes - both_strokes)
    for course in range(pair.left.courses + 1):
        sides = [narrowings_at(course, left, pair.costs), narrowings_at(course, right, pair.costs)]
        shared = programme.variable(-saving, whole=True, top=1)
        for side in sides:
            programme.row({shared: 1.0, **dict.fromkeys(side, -1.0)}, -np.inf, 0)
    answer = programme.solved()
    if answer is None:
        return None
    taken = [[event for at, event in side.items() if answer[at] > 0.5] for side in (left, right)]
    met = {event[0] for event in taken[0] if is_narrowing(event)} & {e[0] for e in taken[1] if is_narrowing(e)}
    both = counted_cost(pair.left, pair.costs, taken[0]) + counted_cost(pair.right, pair.costs, taken[1])
    return both - saving * len(met)


def least_symmetric_cost(pair: EdgePair, both_strokes: float) -> float | None:
    """By an integer programme in which both edges have the same events."""
    programme = Programme()
    costs = replace(pair.costs, event_strokes=both_strokes / 2)
    left = add_edge(programme, pair.left, pair.left_limits, costs)
    right = add_edge(programme, pair.right, pair.left_limits, costs)
    for at, other in zip(left, right, strict=True):
        assert left[at] == right[other]
        programme.row({at: 1.0, other: -1.0}, 0, 0)
    answer = programme.solved()
    if answer is None:
        return None
    taken = [event for at, event in left.items() if answer[at] > 0.5]
    return counted_cost(pair.left, costs, taken) + counted_cost(pair.right, costs, taken)


def is_narrowing(event) -> bool:
    return event[3]


def narrowings_at(course, events, costs):
    return [at for at, event in events.items() if event[0] == course and is_narrowing(event)]


def compared_pair(plan, expected: float | None) -> bool:
    if expected is None:
        with pytest.raises(Problem):
            plan()
        return False
    found: PairPlan = plan()
    assert found.is_optimal
    assert found.cost == pytest.approx(expected, rel=NEARLY, abs=NEARLY)
    return True


@pytest.mark.parametrize("batch", [0, *(pytest.param(batch, marks=pytest.mark.slow) for batch in range(1, 4))])
def test_no_pair_of_plans_is_cheaper_when_narrowings_share_strokes(batch):
    pairs = [random_pair(1000 * batch + each) for each in range(20)]
    planned = sum(compared_pair(lambda pair=pair: together(pair, 3.0), least_pair_cost(pair, 3.0)) for pair in pairs)
    assert planned >= 10


@pytest.mark.parametrize("batch", range(2))
def test_no_one_list_of_events_for_both_edges_is_cheaper(batch):
    planned = 0
    for seed in range(9000 + 1000 * batch, 9020 + 1000 * batch):
        dice = random.Random(seed)
        courses, needles = dice.randint(2, 24), dice.randint(0, 7)
        left = random_edge(dice, courses=courses, needles=needles, there_and_back=False)
        right = random_edge(dice, courses=courses, needles=needles, there_and_back=False)
        limits = random_limits(dice, courses=courses, there_and_back=False)
        right = replace(right, needles_per_cm=left.needles_per_cm)
        pair = EdgePair(left, right, limits, limits, random_costs(dice))
        planned += compared_pair(lambda pair=pair: symmetric(pair, 3.0), least_symmetric_cost(pair, 3.0))
    assert planned >= 10


def test_no_plan_with_one_edge_on_even_and_the_other_on_odd_courses_is_cheaper():
    planned = 0
    for seed in range(30):
        pair = random_pair(20_000 + seed)
        sums = []
        for parity in (0, 1):
            left = least_cost_by_integer_programme(
                pair.left, replace(pair.left_limits, step=2, parity=parity), pair.costs
            )
            right = least_cost_by_integer_programme(
                pair.right, replace(pair.right_limits, step=2, parity=1 - parity), pair.costs
            )
            sums += [left + right] if left is not None and right is not None else []
        planned += compared_pair(lambda pair=pair: alternate(pair), min(sums, default=None))
    assert planned >= 15


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(5))
def test_no_plan_of_a_long_edge_is_cheaper_than_the_exact_one(batch):
    planned = sum(compared(*random_case(50_000 + 1000 * batch + each, longest=60, widest=16)) for each in range(12))
    assert planned >= 7
