"""No yarn passes through another: the guard against an independent search, its miss rate, and interlaced starts.

The independent search knows nothing of the guard's neighbour list: it takes every pair of edges of every image, samples
their motion finely and decides by the sign of the volume that their four ends span.
"""

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.fabric.loop_path import STEPS
from loopwright.mechanics.interlacing import crossings, faults_of, holds_of
from loopwright.mechanics.kernels.descent import MOST_MOVE, placed
from loopwright.mechanics.kernels.guard import edges_cross, passes_through
from loopwright.mechanics.kernels.repeat import arcs
from loopwright.mechanics.loops import repeat_of
from loopwright.mechanics.state import pairs_of
from loopwright.structure.library import library, structure_from

pytestmark = pytest.mark.slow  # most of these relax a cloth of their own

MOMENTS = 200  # samples of a step
TOO_NEAR_TO_CALL = 1e-6


# --- two edges


def crossing_of(p, v):
    """Whether two moving edges cross, from the roots of their cubic; None when a crossing grazes an end."""
    times = np.linspace(0, 1, 4)
    volumes = [np.linalg.det((p + t * v)[1:] - (p + t * v)[0]) for t in times]
    found = False
    for root in np.roots(np.polyfit(times, volumes, 3)):
        if abs(root.imag) > 1e-5 or not -TOO_NEAR_TO_CALL < root.real < 1 + TOO_NEAR_TO_CALL:
            continue
        x = p + root.real * v
        shares, *_ = np.linalg.lstsq(np.column_stack([x[1] - x[0], x[2] - x[3]]), x[2] - x[0], rcond=None)
        inside = min(shares.min(), (1 - shares).min(), root.real, 1 - root.real)
        if abs(inside) < TOO_NEAR_TO_CALL or (inside > 0 and abs(root.imag) > 1e-9):
            return None
        found |= bool(inside > 0)
    return found


def motion(seed, move):
    """Two edges as long as those of a loop, close to each other, whose ends each move by up to `move`."""
    any_way = np.random.default_rng(seed)
    middles = np.array([np.zeros(3), 0.15 * any_way.normal(size=3)])
    along = any_way.normal(size=(2, 3))
    along *= 0.21 / np.linalg.norm(along, axis=1)[:, None]
    p = np.stack([middles - along, middles + along], axis=1).reshape(4, 3)
    return p, any_way.uniform(-1, 1, size=(4, 3)) * move / math.sqrt(3)


@given(st.integers(0, 2**32), st.sampled_from([0.1, MOST_MOVE, 1.0]))
def test_two_edges_are_said_to_cross_exactly_when_they_do(seed, move):
    p, v = motion(seed, move)
    expected = crossing_of(p, v)
    assume(expected is not None)
    assert edges_cross(p, v) == expected


@pytest.mark.parametrize("move", [MOST_MOVE, 1.0])
def test_of_a_thousand_true_crossings_of_two_edges_none_is_missed(move):
    told = Counter()
    seed = 0
    while told["crossings"] < 1000:
        seed += 1
        p, v = motion(seed, move)
        expected = crossing_of(p, v)
        if expected is None:
            continue
        told["crossings"] += expected
        told["missed"] += expected and not edges_cross(p, v)
        told["false"] += not expected and edges_cross(p, v)
    print(f"\nmoves up to {move}: {dict(told)} of {seed} motions")
    assert told["missed"] == told["false"] == 0


def test_edges_that_only_turn_round_each_other_or_slide_along_do_not_cross():
    p = np.array([[-0.2, 0, 0], [0.2, 0, 0], [0, -0.2, 0.1], [0, 0.2, 0.1]])
    away = np.array([[0, 0, 0], [0, 0, 0], [0, 0, 0.3], [0, 0, 0.3]])
    assert not edges_cross(p, away)
    assert edges_cross(p, -away)
    aside = -away + np.array([[0, 0, 0], [0, 0, 0], [2.0, 0, 0], [2.0, 0, 0]])
    assert not edges_cross(p, aside), "past the end of the other edge"


# --- whole cloth: injected faults


def guard_speaks(system, before, after):
    """What the relaxation asks before it takes a step."""
    ca, sa = system.axes
    yarns, touch = system.yarns, system.touch
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    P0, points0 = placed(before.q, before.lattice, ca, sa, yarns, touch)
    P1, points1 = placed(after.q, after.lattice, ca, sa, yarns, touch)
    return bool(
        passes_through(
            P0, before.lattice, P1, after.lattice, ca, sa, points0, points1, pairs_of(system, before), yarn_of,
            yarns.first, yarns.edge, touch.points,
        )
    )  # fmt: skip


def yarn_crosses(system, before, after):
    """The independent answer for a flat cloth: any two edges, any image, finely sampled."""
    yarns, lattice = system.yarns, before.lattice
    edges = [_edges(system, state) for state in (before, after)]
    start, step = edges[0], edges[1] - edges[0]
    moves = np.linalg.norm(step, axis=2).max(axis=1)
    moving = np.flatnonzero(moves > 0)
    half = np.linalg.norm(start[:, 1] - start[:, 0], axis=1) / 2
    middle = start.mean(axis=1)
    owner = np.repeat(np.arange(len(yarns.edge)), np.diff(yarns.first))
    rank = np.arange(len(middle)) - yarns.first[owner]
    wide, high = np.ptp(middle[:, 0]), np.ptp(middle[:, 1])
    rows, columns = math.ceil((high + 2) / lattice[2]), math.ceil((wide + 2) / lattice[0]) + 1
    for j in range(-rows, rows + 1):
        for i in range(-columns, columns + 1):
            shift = np.array([i * lattice[0] + j * lattice[1], j * lattice[2], 0.0])
            gap = np.linalg.norm(middle[moving, None] - (middle[None] + shift), axis=2)
            a, b = np.nonzero(gap < (moves + half)[moving, None] + (moves + half)[None] + 1e-9)
            a = moving[a]
            apart = np.abs(rank[a] - rank[b] - i * np.diff(yarns.first)[owner[a]])
            far = (owner[a] != owner[b]) | (j != 0) | (apart > 1)  # neighbours share a node
            a, b = a[far], b[far]
            if len(a) and _any_cross(start[a], step[a], start[b] + shift, step[b]):
                return True
    return False


def _edges(system, state):
    """Both ends of every edge, (N, 2, 3)."""
    first = system.yarns.first
    ends = np.roll(state.q, -1, axis=0)
    ends[first[1:] - 1] = state.q[first[:-1]] + np.array([state.lattice[0], 0, 0])
    return np.stack([state.q, ends], axis=1)


def _any_cross(p, u, q, v):
    times = np.linspace(0, 1, MOMENTS + 1)[:, None, None]
    a, b = p[:, 0] + times * u[:, 0], p[:, 1] + times * u[:, 1]
    c, d = q[:, 0] + times * v[:, 0], q[:, 1] + times * v[:, 1]
    volume = np.einsum("tna,tna->tn", np.cross(b - a, d - c), c - a)
    at, pair = np.nonzero(np.sign(volume[1:]) * np.sign(volume[:-1]) < 0)
    for t, n in zip(at, pair, strict=True):
        part = volume[t, n] / (volume[t, n] - volume[t + 1, n])
        ends = [(1 - part) * each[t, n] + part * each[t + 1, n] for each in (a, b, c, d)]
        matrix = np.column_stack([ends[1] - ends[0], ends[2] - ends[3]])
        shares, *_ = np.linalg.lstsq(matrix, ends[2] - ends[0], rcond=None)
        if (shares > 0).all() and (shares < 1).all():
            return True
    return False


def injected(system, state, any_way):
    """Steps no longer than the solver's own that push a piece of a loop toward, and often through, its neighbour."""
    yarns = system.yarns
    node = int(any_way.integers(len(state.q)))
    yarn = int(np.searchsorted(yarns.first, node, side="right") - 1)
    first, n = yarns.first[yarn], int(np.diff(yarns.first)[yarn])
    along = (np.arange(n) - (node - first) + n // 2) % n - n // 2
    bump = np.exp(-((along / any_way.uniform(1.5, 4.0)) ** 2))
    bump[bump < 1e-3] = 0
    near, shortest = None, math.inf
    for j in range(-3, 4):
        for i in range(-3, 4):
            shift = np.array([i * state.lattice[0] + j * state.lattice[1], j * state.lattice[2], 0.0])
            gap = state.q + shift - state.q[node]
            own = (np.arange(len(gap)) - first + n // 2 - (node - first)) % n - n // 2
            if j == 0:
                inside = (np.arange(len(gap)) >= first) & (np.arange(len(gap)) < first + n)
                gap = gap[~(inside & (np.abs(own) < 8))]
            lengths = np.linalg.norm(gap, axis=1)
            if lengths.min() < shortest:
                shortest, near = lengths.min(), gap[lengths.argmin()]
    aim = near / shortest + 0.3 * any_way.normal(size=3)
    aim *= shortest * any_way.uniform(1.0, 3.0) / np.linalg.norm(aim)
    count = math.ceil(np.abs(aim).max() / MOST_MOVE)
    for part in range(count):
        moved = [state.q.copy(), state.q.copy()]
        for which, share in enumerate((part / count, (part + 1) / count)):
            moved[which][first : first + n] += share * bump[:, None] * aim
        yield replace(state, q=moved[0]), replace(state, q=moved[1])


@pytest.mark.parametrize(("name", "times"), [("plain", 200), ("rib-1x1", 150), ("garter", 150), ("moss", 100)])
def test_yarn_pushed_through_yarn_is_always_noticed(rest, name, times):
    """600 pushes in four cloths, half of which go through; every miss and every false alarm is counted and printed."""
    system, state = rest(name).system, rest(name).state
    any_way, told = np.random.default_rng(11), Counter()
    for _ in range(times):
        for before, after in injected(system, state, any_way):
            truly, said = yarn_crosses(system, before, after), guard_speaks(system, before, after)
            told["steps"] += 1
            told["through"] += truly
            told["missed"] += truly and not said
            told["false"] += said and not truly
            if truly:
                break
    print(f"\n{name}: {dict(told)}")
    assert told["through"] > times / 3
    assert told["missed"] == 0
    assert told["false"] == 0


@pytest.mark.parametrize("along", ["width", "height", "shear"])
def test_a_step_of_the_lattice_that_pulls_the_next_repeat_through_is_noticed(rest, along):
    answer = rest("plain")
    before = answer.state
    index = ("width", "shear", "height").index(along)
    still = replace(before, lattice=before.lattice.copy())
    found = False
    for _ in range(60):
        lattice = still.lattice.copy()
        lattice[index] -= 0.1
        if lattice[0] < 0.5 or lattice[2] < 0.3:
            break
        after = replace(still, lattice=lattice)
        if guard_speaks(answer.system, still, after):
            found = True
            break
        still = after
    assert found, "a repeat pushed into its neighbour without its nodes must meet it"


@pytest.mark.parametrize("name", ["plain", "reverse-plain", "rib-1x1", "garter", "moss", "rib-2x1", "rib-2x2"])
def test_the_guard_is_silent_while_well_drawn_cloth_relaxes(rest, name):
    assert rest(name).refused == 0


# --- interlaced starts


@pytest.mark.parametrize("key", library())
def test_every_structure_of_the_library_starts_with_every_loop_held(key):
    for generic in (False, True):
        repeat = repeat_of(library()[key], 17.0, generic=generic)
        assert not faults_of(library()[key].notation, repeat.paths)
        assert any(True for _ in holds_of(library()[key].notation, repeat.paths))


def unhooked(points, kind):
    """A loop spoilt: half of it laid on the wrong side, wholly before its neighbours, or not reaching them."""
    spoilt = points.copy()
    half = len(points) // 2
    if kind == "half on the wrong side":
        spoilt[: half + 1, 2] *= -1
    elif kind == "before the cloth":
        spoilt[:, 2] += 9
    else:
        spoilt[:, 1] = spoilt[:, 1].min() - 0.3 * np.ptp(points[:, 1])
    return spoilt


KINDS = ("half on the wrong side", "before the cloth", "out of reach")
WIDE_PLAIN = structure_from("plain", {"courses": ["F:KKK"] * 3})


@pytest.mark.parametrize("kind", KINDS)
def test_a_loop_that_hangs_in_nothing_is_found_whichever_of_a_plain_cloth_it_is(kind):
    paths = repeat_of(WIDE_PLAIN, 17.0).paths
    for feed, path in enumerate(paths.paths):
        for place in path.stitches:
            broken = _spoilt(paths, feed, place, kind)
            assert faults_of(WIDE_PLAIN.notation, broken), f"feed {feed + 1}, wale {place.wale + 1}"


def test_of_the_loops_spoilt_one_by_one_in_every_structure_all_are_found(capsys):
    told = Counter()
    for once in library().values():
        # two repeats high, so that no loop hangs in its own copy and a spoilt one differs from all others
        structure = replace(once, notation=replace(once.notation, steps=once.notation.steps * 2))
        paths = repeat_of(structure, 17.0).paths
        for kind in KINDS:
            for feed, path in enumerate(paths.paths):
                for place in path.stitches:
                    told[kind, "injected"] += 1
                    told[kind, "found"] += bool(faults_of(structure.notation, _spoilt(paths, feed, place, kind)))
    with capsys.disabled():
        print()
        for kind in KINDS:
            print(f"{kind}: {told[kind, 'found']} of {told[kind, 'injected']} found")
    for kind in KINDS:
        assert told[kind, "found"] == told[kind, "injected"] > 300


def _spoilt(paths, feed, place, kind):
    path = paths.paths[feed]
    points = path.points.copy()
    loop = slice(place.first, place.first + STEPS + 1)
    points[loop] = unhooked(points[loop], kind)
    broken = list(paths.paths)
    broken[feed] = replace(path, points=points)
    return replace(paths, paths=tuple(broken))


def test_a_loop_drawn_to_the_other_side_crosses_with_the_other_hand_and_is_not_the_loop_of_the_notation():
    paths = repeat_of(WIDE_PLAIN, 17.0).paths
    place = paths.paths[1].stitches[1]
    points = paths.paths[1].points.copy()
    points[place.first : place.first + STEPS + 1, 2] *= -3  # clear of the loops it now lies on the other side of
    purled = replace(paths, paths=(paths.paths[0], replace(paths.paths[1], points=points), paths.paths[2]))
    holds = zip(holds_of(WIDE_PLAIN.notation, paths), holds_of(WIDE_PLAIN.notation, purled), strict=True)
    changed = [(old, new) for old, new in holds if old != new]
    assert [(new.left, new.right) for _, new in changed] == [(-old.left, -old.right) for old, _ in changed]
    assert len(changed) == 2, "where it is drawn through, and where the next is drawn through it"
    assert not any(new.is_held for _, new in changed)


def test_two_threads_that_cross_once_count_one_by_their_hand():
    along = np.array([[-1.0, 0, 0], [1.0, 0, 0]])
    over = np.array([[0.0, -1, 1], [0.0, 1, 1]])
    assert crossings(along, over) == -crossings(along, over * [1, 1, -1]) != 0
    assert crossings(along, over + np.array([3.0, 0, 0])) == 0
