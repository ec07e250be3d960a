"""First and second derivatives of the energy against differences, far from rest, flat and bent every way.

Checks 1 and 2 of the mechanics reference, section 12. First and last nodes of each yarn are tested by name: their
edges run into the next repeat, and that is where a slip would hide.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from loopwright.mechanics import twin
from loopwright.mechanics.kernels.repeat import Touch
from loopwright.mechanics.state import LATTICE, packed, pairs_of, read, read_packed, scale_of
from loopwright.mechanics.stiffness import curvature_of

STEP = 1e-5  # diameters, radians
AS_EXACT = 1e-7  # of the largest component
CURVATURES = (0.0, 1e-5, 0.05, -0.08)
DIRECTIONS = (0.0, 0.6, math.pi / 2)
SETS = (None, 0.7)
every_curvature = pytest.mark.parametrize("k", CURVATURES)
every_direction = pytest.mark.parametrize("alpha", DIRECTIONS, ids=["sides", "askew", "ends"])
with_and_without_set = pytest.mark.parametrize("share", SETS, ids=["no set", "set"])


def slopes(system, state, unknowns):
    """Differences of the energy along some packed unknowns."""
    pairs, unit, x = pairs_of(system, state), np.ones(4), packed(state)
    found = []
    for n in unknowns:
        step = STEP / (1 + 30 * (n == len(x) - 1))  # far nodes move by k·s²: a bend takes a smaller step
        ahead, behind = x.copy(), x.copy()
        ahead[n] += step
        behind[n] -= step
        energies = [read_packed(system, state, each, unit, pairs).energy for each in (ahead, behind)]
        found.append((energies[0] - energies[1]) / (2 * step))
    return np.array(found)


@every_curvature
@every_direction
@with_and_without_set
@pytest.mark.parametrize("name", ["plain", "rib-1x1", "garter"])
def test_the_force_on_every_node_angle_and_edge_of_the_repeat_is_the_slope_of_the_energy(
    disturbed, name, k, alpha, share
):
    system, state = disturbed(name, k=k, alpha=alpha, share=share)
    force = read(system, state).gradient
    slope = slopes(system, state, range(len(force)))
    assert np.abs(force - slope).max() < AS_EXACT * np.abs(force).max()


@with_and_without_set
@every_curvature
@pytest.mark.parametrize("place", ["first", "second", "last but one", "last"])
def test_the_nodes_at_both_ends_of_each_yarn_feel_the_next_repeat(disturbed, place, k, share):
    system, state = disturbed("links 2x2", k=k, alpha=0.6, share=share)
    first = system.yarns.first
    nodes = {"first": first[:-1], "second": first[:-1] + 1, "last but one": first[1:] - 2, "last": first[1:] - 1}[place]
    unknowns = (3 * nodes[:, None] + np.arange(3)).ravel()
    force = read(system, state).gradient
    assert np.abs(force[unknowns] - slopes(system, state, unknowns)).max() < AS_EXACT * np.abs(force[unknowns]).max()
    assert np.abs(force[unknowns]).min() > 1e-3, "a test of forces that vanish would show nothing"


@with_and_without_set
@every_curvature
@every_direction
@pytest.mark.parametrize("unknown", LATTICE)
def test_width_shear_height_and_curvature_of_a_lively_yarn_each_have_their_force(disturbed, unknown, k, alpha, share):
    system, state = disturbed("plain", k=k, alpha=alpha, share=share, turns=0.4)
    at = len(packed(state)) - 4 + LATTICE.index(unknown)
    force = read(system, state).gradient[at]
    assert abs(force - slopes(system, state, [at])[0]) < AS_EXACT * max(1.0, abs(force))


@with_and_without_set
@every_curvature
@every_direction
def test_stiffness_is_the_slope_of_the_forces(disturbed, k, alpha, share):
    system, state = disturbed("garter", k=k, alpha=alpha, share=share)
    scale, pairs, x = scale_of(state, (True,) * 4), pairs_of(system, state), packed(state)
    stiffness = curvature_of(system, state, scale, pairs).dense()
    slope = np.empty_like(stiffness)
    for n in range(len(x)):
        ahead, behind = x.copy(), x.copy()
        ahead[n] += STEP
        behind[n] -= STEP
        slope[n] = read_packed(system, state, ahead, scale, pairs).gradient
        slope[n] -= read_packed(system, state, behind, scale, pairs).gradient
    slope /= 2 * STEP
    assert np.abs(stiffness - slope).max() < 1e-6 * np.abs(stiffness).max()
    assert np.abs(stiffness - stiffness.T).max() < 1e-6 * np.abs(stiffness).max()


@with_and_without_set
@pytest.mark.parametrize("alpha", [0.3, 0.6, math.pi / 2, 2.0])
def test_flat_cloth_has_one_energy_whichever_way_it_might_be_bent(disturbed, alpha, share):
    system, state = disturbed(share=share)
    askew = replace(system, alpha=alpha)
    assert read(askew, state).energy == pytest.approx(read(system, state).energy, rel=1e-12)
    ways = [3 * node + axis for node in (0, 7, len(state.q) - 1) for axis in range(3)]
    assert read(askew, state).gradient[ways] == pytest.approx(read(system, state).gradient[ways], rel=1e-9, abs=1e-9)


@with_and_without_set
@every_curvature
@every_direction
@pytest.mark.parametrize("name", ["plain", "rib-1x1", "interlock", "half-cardigan", "links 2x2"])
def test_kernel_and_twin_agree_on_energy_and_forces(disturbed, name, k, alpha, share):
    system, state = disturbed(name, k=k, alpha=alpha, share=share)
    ours, theirs = read(system, state), twin.read(system, state)
    assert ours.parts == pytest.approx(theirs.parts, rel=1e-11, abs=1e-12)
    assert np.abs(ours.gradient - theirs.gradient).max() < 1e-11 * np.abs(theirs.gradient).max()
    assert ours.holonomy == pytest.approx(theirs.holonomy, abs=1e-12)
    assert ours.parts[3] > 0, "yarns must touch for contact to be compared"


@pytest.mark.parametrize("touch", [Touch(300.0, 3.0, 3), Touch(5.0, 2.5, 1), Touch(50.0, 2.2, 4)])
def test_kernel_and_twin_agree_for_hard_and_lofty_yarn_and_for_thin_yarn_of_the_ramp(disturbed, touch):
    system, state = disturbed("moss", k=0.05, alpha=0.6)
    for size in (1.0, 0.55):
        system = replace(system, touch=touch, size=size)
        ours, theirs = read(system, state), twin.read(system, state)
        assert ours.energy == pytest.approx(theirs.energy, rel=1e-12)
        assert np.abs(ours.gradient - theirs.gradient).max() < 1e-11 * np.abs(theirs.gradient).max()


def test_kernel_and_twin_agree_for_a_thick_and_a_thin_yarn_side_by_side(disturbed):
    system, state = disturbed("garter", k=-0.03, alpha=0.6)
    thick = system.yarns._replace(diameter=np.array([1.0, 1.4]), rigidity=np.array([1.0, 2.0]))
    system = replace(system, yarns=thick)
    ours, theirs = read(system, state), twin.read(system, state, pairs_of(system, state))
    assert ours.energy == pytest.approx(theirs.energy, rel=1e-12)
    assert np.abs(ours.gradient - theirs.gradient).max() < 1e-11 * np.abs(theirs.gradient).max()
