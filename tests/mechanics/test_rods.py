"""One yarn alone against the theory of thin rods: straight, arc, elastica, helix; and the order of convergence.

Closed forms: bending energy of an arc B·L/(2R²), the inflexional elastica (Euler 1744; Love, "A Treatise on the
Mathematical Theory of Elasticity", chapter XIX, from memory), curvature and torsion of a helix, and Călugăreanu, White
and Fuller: linking number of a ribbon = twist + writhe.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from loopwright.mechanics.kernels.repeat import Touch, Yarns
from loopwright.mechanics.newton import polished
from loopwright.mechanics.setting import with_set
from loopwright.mechanics.state import State, System, read
from loopwright.mechanics.stiffness import curvature_of

FAR = 1e3  # height of the repeat: the next course is out of reach
NO_CONTACT = Touch(0.0, 2.5, 2)


def one_yarn(q, width, length, *, curvature=0.0, torsion=0.7, residual=0.0, axial=300.0, touch=NO_CONTACT):
    """A repeat of one yarn: `length` of it over a period of `width`."""
    one, n = np.ones(1), len(q)
    yarns = Yarns(
        np.array([0, n]), length / n * one, length * one, one, axial * one, torsion * one, one, residual * one
    )
    lattice = np.array([width, 0.0, FAR, curvature])
    return System(yarns, touch=touch), State(np.asarray(q, float), np.empty(0), lattice, np.zeros(1))


def ring(radius, nodes):
    """A closed ring as a cloth bent to a full turn: one straight yarn whose period goes once round."""
    q = np.column_stack([np.arange(nodes) * 2 * math.pi * radius / nodes, np.zeros(nodes), np.zeros(nodes)])
    return q, 2 * math.pi * radius, 2 * nodes * radius * math.sin(math.pi / nodes)


def coil(radius, pitch, nodes, *, hand=1):
    """A helix along the courses, one turn per period; `hand` +1 is right-handed."""
    turn = 2 * math.pi * np.arange(nodes) / nodes
    q = np.column_stack([pitch * turn / (2 * math.pi), radius * np.cos(turn), hand * radius * np.sin(turn)])
    chord = math.hypot(pitch / nodes, 2 * radius * math.sin(math.pi / nodes))
    return q, nodes * chord


def observed_order(errors):
    return [math.log2(coarse / fine) for coarse, fine in pairwise(errors)]


def test_a_straight_yarn_has_no_energy_and_pulls_at_nothing():
    q = np.column_stack([np.linspace(0, 20, 40, endpoint=False), np.zeros(40), np.zeros(40)])
    for curvature, alpha in ((0.0, 0.0), (0.05, math.pi / 2)):
        system, state = one_yarn(q, 20.0, 20.0, curvature=curvature)
        reading = read(replace(system, alpha=alpha), state)
        assert reading.energy == pytest.approx(0, abs=1e-12)
        assert np.abs(reading.gradient).max() < 1e-10


def test_a_ring_has_the_bending_energy_of_theory_and_comes_nearer_by_the_square_of_the_edge():
    radius = 3.0
    theory = 2 * math.pi * radius / (2 * radius**2)
    errors = []
    for nodes in (20, 40, 80, 160):
        q, width, length = ring(radius, nodes)
        system, state = one_yarn(q, width, length, curvature=1 / radius)
        reading = read(system, state)
        assert reading.parts[0] == pytest.approx(0, abs=1e-10), "the ring's edges have their rest length"
        errors.append(abs(reading.energy - theory))
    assert errors[-1] < 1e-3 * theory
    assert observed_order(errors) == pytest.approx([2, 2, 2], abs=0.05)


def test_a_ring_wants_to_open_with_the_moment_of_theory():
    """dE/dk of B·L·k²/2 at fixed length, while the period stays the yarn's length: B·L·k."""
    radius, nodes = 4.0, 200
    q, width, length = ring(radius, nodes)
    system, state = one_yarn(q, width, length, curvature=1 / radius)
    assert read(system, state).forces[3] == pytest.approx(width / radius, rel=1e-3)


def test_a_helix_has_the_bending_energy_of_theory_and_comes_nearer_by_the_square_of_the_edge():
    radius, pitch = 1.5, 5.0
    along = math.hypot(radius, pitch / (2 * math.pi))
    curvature, length = radius / along**2, 2 * math.pi * along
    errors = []
    for nodes in (24, 48, 96, 192):
        q, chords = coil(radius, pitch, nodes)
        reading = read(*one_yarn(q, pitch, chords, torsion=0.0))
        errors.append(abs(reading.parts[1] - curvature**2 * length / 2))
    assert errors[-1] < 1e-3 * curvature**2 * length / 2
    assert observed_order(errors) == pytest.approx([2, 2, 2], abs=0.05)


@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize("pitch", [2.0, 5.0, 12.0])
def test_a_vector_carried_along_a_helix_turns_by_the_solid_angle_that_its_tangent_encloses(hand, pitch):
    """Holonomy of one turn = 2π(1 − cos of the tangent's cone), of the hand of the helix.

    Twist −β/2π makes the material frame close; White: then the writhe of a turn is +β/2π. A right-handed coil has
    positive writhe.
    """
    radius, errors = 1.5, []
    steep = pitch / math.hypot(2 * math.pi * radius, pitch)
    for nodes in (24, 48, 96):
        q, length = coil(radius, pitch, nodes, hand=hand)
        near = np.array([hand * 2 * math.pi * (1 - steep)])
        system, state = one_yarn(q, pitch, length)
        beta = read(system, replace(state, holonomy=near)).holonomy[0]
        errors.append(abs(beta - near[0]))
    assert errors[-1] < 0.02
    assert observed_order(errors) == pytest.approx([2, 2], abs=0.1)


@pytest.mark.parametrize("hand", [1, -1])
def test_writhe_of_a_closed_coil_by_the_gauss_integral_is_its_holonomy(hand):
    """A coil of ten turns wound on a ring; its writhe is its holonomy over 2π, up to whole turns (White, Fuller).

    The coil lies on a cloth bent to a full circle, so its period closes on itself.
    """
    turns, ring_radius, radius, nodes = 10, 12.0, 1.5, 400
    along = 2 * math.pi * np.arange(nodes) / nodes
    q = np.column_stack([ring_radius * along, radius * np.cos(turns * along), hand * radius * np.sin(turns * along)])
    width = 2 * math.pi * ring_radius
    system, state = one_yarn(q, width, 10.0, curvature=1 / ring_radius)
    beta = read(system, state).holonomy[0]
    angle = q[:, 0] / ring_radius
    out = ring_radius + q[:, 2]
    closed = np.column_stack([out * np.sin(angle), q[:, 1], out * np.cos(angle)])
    writhe = gauss_writhe(closed)
    assert hand * writhe > 3
    fraction = beta / (2 * math.pi) - writhe
    assert fraction == pytest.approx(round(fraction), abs=1e-6)


def gauss_writhe(points):
    """Writhe of a closed polygon, exact for each pair of edges (Klenin and Langowski 2000, method 1a, from memory)."""
    start, end = points, np.roll(points, -1, axis=0)
    total, n = 0.0, len(points)
    for i in range(n):
        others = np.arange(i + 2, n if i else n - 1)
        if not len(others):
            continue
        r13, r14 = start[others] - start[i], end[others] - start[i]
        r23, r24 = start[others] - end[i], end[others] - end[i]
        faces = [np.cross(r13, r14), np.cross(r14, r24), np.cross(r24, r23), np.cross(r23, r13)]
        faces = [each / np.linalg.norm(each, axis=1)[:, None] for each in faces]
        angle = sum(np.arcsin(np.clip((faces[m] * faces[(m + 1) % 4]).sum(axis=1), -1, 1)) for m in range(4))
        r34, r12 = end[others] - start[others], end[i] - start[i]
        total += float((angle * np.sign((np.cross(r34, r12) * r13).sum(axis=1))).sum())
    return 2 * total / (4 * math.pi)


@pytest.mark.parametrize("hand", [1, -1])
def test_a_lively_yarn_winds_itself_into_the_coil_that_gives_its_twist_away(hand):
    """White: the twist that a coil of the yarn's own sense sheds is stored as writhe, so its twist energy falls."""
    q, length = coil(0.4, 8.0, 60, hand=hand)
    straight = np.column_stack([q[:, 0], np.zeros((60, 2))])
    lively = -0.5 * hand  # natural twist angle of a yarn that wants to lose twist of the coil's hand
    coiled = read(*one_yarn(q, 8.0, length, residual=lively)).parts[2]
    opposite = read(*one_yarn(coil(0.4, 8.0, 60, hand=-hand)[0], 8.0, length, residual=lively)).parts[2]
    flat = read(*one_yarn(straight, 8.0, length, residual=lively)).parts[2]
    assert flat == pytest.approx(0.5 * 0.7 / length * 0.5**2, rel=1e-9)
    assert coiled < flat < opposite


def elastica(slack):
    """Parameter m, energy and height of the inflexional elastica of length 1 over a period of `slack` < 1, B = 1.

    One period is four quarter arcs: length 4K/λ, period (4/λ)(2E − K), energy 8λ(E − (1 − m)K).
    """
    m = brentq(lambda m: 2 * ellipe(m) / ellipk(m) - 1 - slack, 1e-9, 0.82)
    rate = 4 * ellipk(m)
    return m, 8 * rate * (ellipe(m) - (1 - m) * ellipk(m)), 2 * math.sqrt(m) / rate


@pytest.mark.parametrize("slack", [0.9, 0.7, 0.5])
def test_a_slack_yarn_between_held_ends_takes_the_form_of_the_elastica(slack):
    """Energy and height of Euler's elastica; the discrete yarn comes nearer by the square of its edge."""
    length = 40.0
    _, energy, half_height = elastica(slack)
    errors = []
    for nodes in (24, 48, 96):
        state_of_rest = _at_rest(slack * length, length, nodes)
        reading, q = state_of_rest
        errors.append(abs(reading.energy * length - energy))
        assert np.ptp(q[:, 1]) / 2 / length == pytest.approx(half_height, rel=0.02 * (24 / nodes) ** 2 + 2e-3)
    assert errors[-1] < 4e-3 * energy
    assert observed_order(errors) == pytest.approx([2, 2], abs=0.15)


def _at_rest(width, length, nodes):
    """A yarn that starts as a planar sine and relaxes with its period held."""
    along = np.arange(nodes) / nodes
    q = np.column_stack([width * along, 0.3 * length * np.sin(2 * math.pi * along), np.zeros(nodes)])
    q[:, 1] *= math.sqrt(max(0.02, 1 - (width / length) ** 2)) / 1.5
    system, state = one_yarn(q, width, length, torsion=0.0, axial=1e5)
    polish = polished(system, state, (False, False, False, False), tolerance=1e-8, most_steps=400)
    assert np.abs(polish.reading.gradient[:-4]).max() < 1e-6
    assert np.ptp(polish.state.q[:, 2]) < 1e-6
    return polish.reading, polish.state.q


def test_the_closed_form_of_the_elastica_is_that_of_its_own_integrals():
    """Height and period by quadrature of the curve whose tangent angle is 2·asin(√m·sn)."""
    m, energy, half_height = elastica(0.7)
    rate = 4 * ellipk(m)
    quarter = np.linspace(0, ellipk(m), 20001)
    amplitude = np.interp(
        quarter, [ellipkinc(p, m) for p in np.linspace(0, math.pi / 2, 4001)], np.linspace(0, math.pi / 2, 4001)
    )
    angle = 2 * np.arcsin(math.sqrt(m) * np.sin(amplitude))
    bend = 2 * math.sqrt(m) * rate * np.cos(amplitude)
    step = quarter / rate
    assert 4 * np.trapezoid(np.cos(angle), step) == pytest.approx(0.7, abs=1e-6)
    assert 4 * np.trapezoid(bend**2 / 2, step) == pytest.approx(energy, rel=1e-6)
    assert np.trapezoid(np.sin(angle), step) == pytest.approx(half_height, rel=1e-6)
    assert ellipeinc(math.pi / 2, m) == pytest.approx(ellipe(m))


def test_a_twisted_ring_buckles_out_of_its_plane_at_the_twist_that_michell_found():
    """Total twist 2π√3·B/C: Michell 1889, as quoted in the literature of elastic rings (from memory).

    The ring is a straight yarn on a cloth bent to a full turn. Just below the threshold no small move lowers its
    energy, just above it the two moves of the second harmonic do.
    """
    threshold = 2 * math.pi * math.sqrt(3) / 0.7
    for share, falling in ((0.0, 0), (0.97, 0), (1.03, 2)):
        system, state = ring_in_balance(4.0, 100, residual=share * threshold)
        stiffness = curvature_of(system, state, np.zeros(4)).dense()[:-4, :-4]
        values = np.linalg.eigvalsh(stiffness)
        assert (values < -1e-6).sum() == falling
        assert (np.abs(values) < 1e-6).sum() >= 6, "a ring can be shifted and turned freely"


def ring_in_balance(radius, nodes, residual):
    """A ring whose yarn is just so long that it wants to become neither larger nor smaller."""
    q, width, chords = ring(radius, nodes)

    def cloth(length):
        return one_yarn(q, width, length, curvature=1 / radius, residual=residual, axial=1e4)

    def swelling(length):
        forces = read(*cloth(length)).forces
        return forces[0] * 2 * math.pi - forces[3] / radius**2

    return cloth(brentq(swelling, 0.999 * chords, 1.001 * chords, xtol=1e-14))


# --- frames and set


def winding(nodes=40):
    """A wavy yarn that is its own mirror image half a period on, so that it has no holonomy."""
    along = 2 * math.pi * np.arange(nodes) / nodes
    return np.column_stack(
        [
            9 * along / (2 * math.pi) + 0.3 * np.sin(2 * along),
            2 * np.sin(2 * along + 0.3),
            0.6 * np.sin(along) + 0.4 * np.cos(3 * along),
        ]
    )


def test_frames_without_set_or_twist_give_the_energy_of_plain_bending():
    """To 1e-9: section 5 of the reference."""
    system, state = one_yarn(winding(), 9.0, 14.0)
    plain = read(system, state)
    assert plain.holonomy == pytest.approx(0, abs=1e-9)
    framed, start = with_set(system, state, 0.0)
    turned = [read(framed, replace(start, angles=start.angles + turn)).parts[1] for turn in (0.0, 0.9)]
    assert turned[0] == pytest.approx(plain.parts[1], rel=1e-9)
    assert turned[1] == pytest.approx(turned[0], rel=1e-9), "a round yarn has no upper side"


def test_frames_of_a_twisted_yarn_lose_the_little_bending_that_theory_says():
    """Averaged directors shorten the curvature of a vertex by the cosine of half its twist: section 5."""
    system, state = one_yarn(winding(), 9.0, 14.0)
    total, n = 0.4, len(state.q)
    framed, start = with_set(system, state, 0.0, residual=np.array([total]))
    twists = np.full(n, total / n)
    twists[0] -= total  # the last edge of the repeat before stands at the full twist
    natural = np.column_stack([np.zeros((n, 2)), twists])
    framed = replace(framed, frames=framed.frames._replace(natural=natural))
    bending = read(framed, replace(start, angles=total * np.arange(n) / n)).parts[1]
    period = np.array([9.0, 0, 0])
    edges = np.diff(np.vstack([state.q[-1:] - period, state.q, state.q[:1] + period]), axis=0)
    t = edges / np.linalg.norm(edges, axis=1)[:, None]
    half_turn = np.arccos((t[:-1] * t[1:]).sum(axis=1)) / 2
    vertices = 2 * np.tan(half_turn) ** 2 / (14.0 / n)
    assert vertices.sum() == pytest.approx(read(system, state).parts[1], rel=1e-9)
    assert bending == pytest.approx(float((vertices * np.cos(twists / 2) ** 2).sum()), rel=1e-9)


def test_a_yarn_set_wholly_in_its_form_holds_no_bending():
    q, length = coil(1.5, 5.0, 40)
    system, state = one_yarn(q, 5.0, length)
    for share, left in ((0.0, 1.0), (0.5, 0.25), (1.0, 0.0)):
        framed, start = with_set(system, state, share)
        bent = read(framed, start).energy
        straight = read(*with_set(system, state, 0.0)).energy
        assert bent == pytest.approx(left * straight, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("share", [0.5, 0.9])
def test_set_leaves_a_relaxed_cloth_alone_and_weakens_its_curl_by_as_much(rest, share):
    """Moment × (1 − f), dimensions unchanged: independent feasibility study, not a publication, section 8.2."""
    answer = rest("plain")
    system, state = with_set(answer.system, answer.state, share)
    moved = polished(system, state, (True, False, True, False)).state
    assert moved.lattice[:3] == pytest.approx(answer.state.lattice[:3], rel=0.03)
    moments = [
        [read(replace(each, alpha=alpha), at).forces[3] for alpha in (0.0, math.pi / 2)]
        for each, at in ((answer.system, answer.state), (system, moved))
    ]
    assert np.array(moments[1]) / np.array(moments[0]) == pytest.approx(1 - share, rel=0.3)
