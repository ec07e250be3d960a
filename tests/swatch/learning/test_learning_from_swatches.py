"""What is learnt from swatches, beside hand arithmetic, a dense normal distribution, and drawers of known truth."""

import math

import numpy as np
import pytest
from devtools.simulated_drawers import another_house, drawn_from_prior
from scipy import stats

from loopwright.fabric.geometry import predicted_geometry
from loopwright.figure import Basis, State, entered
from loopwright.problems import Problem
from loopwright.structure.library import library
from loopwright.swatch.learning.agreement import agreements, disagreement_findings
from loopwright.swatch.learning.drawer import Drawer, Planned, Wanted, cloth_of, learnt, reading_of
from loopwright.swatch.learning.levels import Cloth, rule
from loopwright.swatch.learning.posterior import conditioned, design_of, factors_of
from loopwright.swatch.learning.prior import belief
from loopwright.swatch.learning.scale import from_scale, reading_sd, to_scale
from loopwright.swatch.learning.scales import log_prior, scales_of
from loopwright.swatch.observed import Observed, Quantity
from loopwright.yarn.yarn import Yarn, yarn_from_words

MERINO, COTTON = yarn_from_words("2/30 Nm merino"), yarn_from_words("Ne 30/2 cotton")
PLAIN, RIB = library()["plain"], library()["rib-2x1"]
RELAXED = State.FULLY_RELAXED


def counted(
    name: str, wales: float, courses: float, *, structure=PLAIN, yarn=MERINO, loop=6.15, **more
) -> list[Observed]:
    """A swatch counted to 0.8 per cent."""
    pairs = ((Quantity.WALES, wales), (Quantity.COURSES, courses))
    state = more.pop("state", RELAXED)
    return [Observed(name, structure, yarn, loop, state, which, value, 0.008 * value, **more) for which, value in pairs]


def wales_of(drawer: Drawer, *, structure=PLAIN, yarn=MERINO, loop=6.15, lot=""):
    return drawer.predict(structure, yarn, loop, RELAXED, Quantity.WALES, lot)


def test_an_empty_drawer_leaves_every_figure_as_published():
    """Plain, fully relaxed, wool: kw 4.2 (4.0 to 4.4), so the band of the wales is that of kw (table of constants)."""
    prediction = wales_of(learnt([]))
    published = predicted_geometry(PLAIN, entered("l", 6.15, "mm"), RELAXED, fibre="wool_combed").wales_per_cm
    assert prediction.posterior == prediction.prior
    assert prediction.prior.value == pytest.approx(published.value, rel=1e-12)
    assert prediction.prior.spread == pytest.approx(published.spread, rel=0.06)  # the slope's doubt comes to it
    assert not prediction.is_moved
    assert prediction.prior.basis is Basis.PUBLISHED


def test_one_reading_is_weighed_against_the_prior_as_by_hand():
    """Normal prior, normal reading: the mean moves by cov/(var + noise), size of the effects by size of the effects."""
    seen = Observed("one", PLAIN, MERINO, 6.15, RELAXED, Quantity.THICKNESS, 1.2, 0.05)
    drawer = learnt([seen])
    block = drawer.blocks["thickness"]
    cloth = Cloth(PLAIN, MERINO, 6.15, RELAXED)
    read, asked = belief(cloth_of(seen), Quantity.THICKNESS), belief(cloth, Quantity.THICKNESS)
    away, noise = math.log(1.2) - read.mean, reading_sd(seen) ** 2
    means, variances, weights = [], [], []
    for node in block.nodes:
        size = {True: node.scale.within, False: node.scale.between}
        variance = sum(size[key[0]] * part**2 for key, part in read.effects.items()) + noise
        own = sum(size[key[0]] * part**2 for key, part in asked.effects.items())
        shared = sum(size[key[0]] * part * read.effects.get(key, 0.0) for key, part in asked.effects.items())
        means.append(shared / variance * away)
        variances.append(own - shared**2 / variance)
        weights.append(node.scale.weight)
    mean = np.average(means, weights=weights)
    sd = math.sqrt(np.average(np.array(variances) + (np.array(means) - mean) ** 2, weights=weights))
    said = drawer.predict(PLAIN, MERINO, 6.15, RELAXED, Quantity.THICKNESS)
    assert said.mean == pytest.approx(asked.mean + mean, abs=1e-12)
    assert said.sd == pytest.approx(sd, rel=1e-10)


def test_many_readings_are_conditioned_like_a_dense_normal_distribution():
    """Oracle: the joint covariance of readings and questions written out whole, and numpy's solve."""
    simulated = drawn_from_prior(3, 9, 7, tuple(Quantity))
    drawer = learnt(simulated.observations)
    wanted = [Wanted(each.cloth, each.quantity) for each in simulated.held]
    joint = drawer.joint(wanted)
    for name, block in drawer.blocks.items():
        told = [drawer.observations[place] for place in drawer.places[name]]
        asked = [row for row, each in enumerate(wanted) if each.quantity in {seen.quantity for seen in told}]
        sums = [belief(cloth_of(each), each.quantity) for each in told]
        sums += [belief(wanted[row].cloth, wanted[row].quantity) for row in asked]
        columns: dict = {}
        design, count = design_of([each.effects for each in sums], columns), len(told)
        away = np.array([to_scale(o.quantity, o.value) - b.mean for o, b in zip(told, sums, strict=False)])
        noise = np.diag([reading_sd(each) ** 2 for each in told])
        means, covariances, weights = [], [], [node.scale.weight for node in block.nodes]
        for node in block.nodes:
            whole = design @ np.diag(factors_of(columns, node.scale)) @ design.T
            gain = np.linalg.solve(whole[:count, :count] + noise, whole[:count, count:]).T
            means.append([each.mean for each in sums[count:]] + gain @ away)
            covariances.append(whole[count:, count:] - gain @ whole[:count, count:])
        mean = np.average(means, axis=0, weights=weights)
        apart = np.array(means) - mean
        covariance = np.average(covariances, axis=0, weights=weights)
        covariance = covariance + np.einsum("k,ki,kj->ij", weights, apart, apart)
        assert joint.mean[asked] == pytest.approx(mean, abs=1e-9)
        assert joint.covariance[np.ix_(asked, asked)] == pytest.approx(covariance, rel=1e-6, abs=1e-12)


def test_the_size_of_departures_is_learnt_like_by_integration_over_a_fine_grid():
    """Oracle: the density of the two log factors summed over 33 × 33 points."""
    rng = np.random.default_rng(11)
    between, within = 0.02**2, 0.01**2
    cloth = np.repeat(np.eye(8), 4, axis=0)
    away = cloth @ (2 * math.sqrt(between) * rng.normal(size=8)) + 0.5 * math.sqrt(within) * rng.normal(size=32)

    def log_likelihood(first: float, second: float) -> float:
        covariance = math.exp(first) * between * cloth @ cloth.T + math.exp(second) * within * np.eye(32)
        return float(stats.multivariate_normal(np.zeros(32), covariance).logpdf(away))

    points = scales_of(log_likelihood)
    steps = np.linspace(-4, 4, 33)
    density = np.array([[log_likelihood(a, b) + log_prior(a, b) for b in steps] for a in steps])
    weights = np.exp(density - density.max())
    weights /= weights.sum()
    for side, along in ((0, weights.sum(axis=1)), (1, weights.sum(axis=0))):
        logs = np.log([(each.between, each.within)[side] for each in points])
        mean, own = along @ steps, np.array([each.weight for each in points])
        assert own @ logs == pytest.approx(mean, abs=0.08)
        sd = math.sqrt(along @ (steps - mean) ** 2)
        assert math.sqrt(own @ (logs - own @ logs) ** 2) == pytest.approx(sd, rel=0.2)


def test_effects_of_a_published_band_add_up_to_it():
    """Variances of all effects of wales of plain in wool: ln(4.4/4.0)/3.29 squared (table of constants)."""
    usual = Cloth(PLAIN, MERINO, 10 * math.sqrt(MERINO.tex.value) / 13.5, RELAXED)
    parts = {key: part for key, part in belief(usual, Quantity.WALES).effects.items() if key[3] != "slope"}
    assert sum(part**2 for part in parts.values()) == pytest.approx((math.log(4.4 / 4.0) / 3.2897) ** 2, rel=1e-3)


def test_a_swatch_of_the_very_cloth_makes_the_figure_measured_and_is_named():
    """After one swatch of the same yarn and structure counts hold to about 3 % (fabric reference, rule 3)."""
    said = wales_of(learnt(counted("N7 swatch 1", 6.5, 9.2)))
    assert said.is_measured
    assert "N7 swatch 1" in said.posterior.why.words
    assert said.posterior.value == pytest.approx(6.5, rel=0.02)
    assert 0.02 < said.posterior.spread / said.posterior.value < 0.04


def test_a_swatch_further_away_in_loop_length_moves_the_figure_without_measuring_it():
    """A swatch's constants hold within ± 12 % of its loop length (fabric reference 14)."""
    drawer = learnt(counted("tight", 7.4, 10.6, loop=5.3))
    assert wales_of(drawer, loop=5.3).is_measured
    assert wales_of(drawer, loop=5.9).is_measured
    far = wales_of(drawer, loop=6.15)
    assert not far.is_measured
    assert "moved by tight" in far.posterior.why.words
    assert far.sd > wales_of(drawer, loop=5.9).sd > wales_of(drawer, loop=5.3).sd


def test_a_swatch_of_plain_moves_rib_of_the_same_yarn_and_plain_of_another():
    base = predicted_geometry(PLAIN, entered("l", 6.15, "mm"), RELAXED, fibre="wool_combed").wales_per_cm.value
    drawer = learnt(counted("slack", 0.93 * base, 9.0))
    for structure, yarn in ((RIB, MERINO), (PLAIN, COTTON), (RIB, COTTON)):
        said = wales_of(drawer, structure=structure, yarn=yarn)
        assert said.mean < said.prior_mean
    own = wales_of(drawer)
    assert own.mean - own.prior_mean < wales_of(drawer, yarn=COTTON).mean - wales_of(drawer, yarn=COTTON).prior_mean


def test_counting_a_swatch_tells_its_mass_without_a_balance():
    """Mass is wales × courses × yarn of a loop: 4 % more of both is 8 % more mass, less what is doubted."""
    geometry = predicted_geometry(PLAIN, entered("l", 6.15, "mm"), RELAXED, fibre="wool_combed")
    drawer = learnt(counted("dense", 1.04 * geometry.wales_per_cm.value, 1.04 * geometry.courses_per_cm.value))
    mass = drawer.predict(PLAIN, MERINO, 6.15, RELAXED, Quantity.MASS)
    assert 1.05 < mass.posterior.value / mass.prior.value < 1.08
    assert mass.sd < 0.7 * mass.prior_sd
    assert not mass.is_measured  # nobody weighed it


def test_counts_before_and_after_the_wash_tell_the_shrinkage():
    """Width change is 100·(w before/w after − 1): 6.0 to 6.6 wales is −9.1 % (eq 6.2)."""
    before = counted("N7 swatch 2", 6.0, 8.2, state=State.DRY_RELAXED)
    after = counted("N7 swatch 2", 6.6, 9.0, washes=1)
    said = learnt([*before, *after]).predict(PLAIN, MERINO, 6.15, RELAXED, Quantity.WIDTH_CHANGE)
    assert said.posterior.value == pytest.approx(-9.1, abs=1.0)
    assert said.posterior.spread < 0.6 * said.prior.spread


def test_an_old_swatch_and_a_swatch_of_another_lot_tell_less():
    fresh = wales_of(learnt(counted("a", 6.4, 9.0, lot="A")), lot="A")
    old = wales_of(learnt(counted("a", 6.4, 9.0, lot="A", days_old=4 * 365)), lot="A")
    other = wales_of(learnt(counted("a", 6.4, 9.0, lot="B")), lot="A")
    assert fresh.sd < min(old.sd, other.sd)
    assert abs(old.mean - old.prior_mean) < abs(fresh.mean - fresh.prior_mean)
    assert abs(other.mean - other.prior_mean) < abs(fresh.mean - fresh.prior_mean)


def test_the_order_of_the_drawer_says_nothing():
    told = [*counted("a", 6.4, 9.0), *counted("b", 4.9, 9.4, structure=RIB, loop=5.6), *counted("c", 7.0, 9.6)]
    one, other = wales_of(learnt(told)), wales_of(learnt(told[::-1]))
    assert one.mean == pytest.approx(other.mean, abs=1e-10)
    assert one.sd == pytest.approx(other.sd, rel=1e-8)


def leaning(name: str, lean: float, yarn: Yarn) -> Observed:
    return Observed(name, PLAIN, yarn, 2.8, RELAXED, Quantity.LEAN, lean, 0.5)


def test_a_lean_of_unknown_direction_becomes_a_signed_figure():
    """Before a swatch the lean may go either way as far as its tabled high end; after one it has a side."""
    single = yarn_from_words("Ne 30 cotton")
    drawer = learnt([leaning("torque 1", 7.0, single)])
    said = drawer.predict(PLAIN, single, 2.8, RELAXED, Quantity.LEAN)
    assert said.prior.low == pytest.approx(-said.prior.high)
    assert said.posterior.low > 0
    assert said.is_measured
    assert "right positive" in said.posterior.why.words


def test_an_s_yarn_learns_its_side_from_a_z_yarn():
    """Twist one way leans one way, twist the other way the other; which is which is only learnt (reference 7)."""

    def twisted(direction: str) -> Yarn:
        from dataclasses import replace

        base = yarn_from_words("Ne 30 cotton", name=f"{direction} cotton")
        return replace(base, singles_twist_tpm=750.0, singles_direction=direction)

    drawer = learnt([leaning(f"torque {n}", 9.0, twisted("Z")) for n in (1, 2)])
    assert drawer.predict(PLAIN, twisted("S"), 2.8, RELAXED, Quantity.LEAN).mean < -0.5


def test_a_swatch_that_disagrees_is_told_and_still_counts():
    told = [each for n in range(5) for each in counted(f"swatch {n}", 6.8 + 0.02 * n, 8.9)]
    assert not disagreement_findings(learnt(told))
    wrong = [*told, *counted("slip of the ruler", 7.9, 8.9)]
    (finding,) = disagreement_findings(learnt(wrong))
    assert finding.where == "slip of the ruler"
    assert "7.90 per cm" in finding.sentence
    assert wales_of(learnt(wrong)).mean > wales_of(learnt(told)).mean


def test_leaving_a_swatch_out_is_the_same_as_never_having_knitted_it():
    """Oracle: the closed form of leave-one-out beside a drawer without the swatch, at the same sizes of departure."""
    told = [*counted("a", 6.4, 9.0), *counted("b", 6.9, 9.4), *counted("c", 6.6, 9.1)]
    drawer = learnt(told)
    block, beliefs = drawer.blocks["counts"], [belief(cloth_of(each), each.quantity) for each in told]
    away, weights, means = block.away, [], []
    for node in block.nodes:
        columns: dict = {}
        design = design_of([each.effects for each in beliefs], columns)
        whole = design @ np.diag(factors_of(columns, node.scale)) @ design.T
        kept = whole[2:, 2:] + np.diag(block.noise[2:])
        means.append(away[:2] - whole[:2, 2:] @ np.linalg.solve(kept, away[2:]))
        weights.append(node.scale.weight)
    mean, _ = block.left_out([0, 1])
    assert mean == pytest.approx(np.average(means, axis=0, weights=weights), abs=1e-10)
    first = agreements(drawer)[0].readings[0]
    assert first.predicted == pytest.approx(6.4 / math.exp(mean[0]), rel=1e-9)


def test_the_spread_that_a_swatch_to_come_would_leave_is_what_it_leaves():
    """Simulated: 40 swatches of the same plan, each learnt; the mean variance left, against the closed form."""
    told = [*counted("a", 4.9, 9.4, structure=RIB, loop=5.6), *counted("b", 6.6, 9.1)]
    drawer, rng = learnt(told), np.random.default_rng(5)
    target = Wanted(Cloth(RIB, MERINO, 5.4, RELAXED), Quantity.WALES)
    plan = [reading_of(Cloth(RIB, MERINO, 5.4, RELAXED, "", "to come"), which, 0.008)
            for which in (Quantity.WALES, Quantity.COURSES)]  # fmt: skip
    (left,) = drawer.variance_after([target], [plan])
    joint = drawer.joint([Wanted(each.cloth, each.quantity) for each in plan])
    spread = joint.covariance + np.diag([each.sd**2 for each in plan])
    variances = []
    for reading in rng.multivariate_normal(joint.mean, spread, size=40):
        new = [_as_read(each, float(value)) for each, value in zip(plan, reading, strict=True)]
        variances.append(learnt([*told, *new]).predict(RIB, MERINO, 5.4, RELAXED, Quantity.WALES).sd ** 2)
    error = np.std(variances) / math.sqrt(len(variances))
    assert left[0, 0] < 0.8 * drawer.joint([target]).covariance[0, 0]
    assert np.mean(variances) == pytest.approx(left[0, 0], abs=2 * error + 0.1 * left[0, 0])


def _as_read(planned: Planned, scaled: float) -> Observed:
    cloth, value = planned.cloth, from_scale(planned.quantity, scaled)
    return Observed(
        cloth.swatch, cloth.structure, cloth.yarn, cloth.loop_length_mm, cloth.state, planned.quantity, value,
        planned.sd * value,
    )  # fmt: skip


@pytest.mark.parametrize("make", [drawn_from_prior, another_house])
def test_nine_in_ten_held_out_numbers_lie_in_their_band(make):
    """25 drawers of 8 swatches, 3 held out; the numbers of a drawer hang together: 25 to 225 independent ones.

    Binomial tolerance for 75 swatches: 0.9 ± 2.6·√(0.9·0.1/75). The benchmark asks 87 to 93 % of many more.
    """
    inside = []
    for seed in range(25):
        simulated = make(seed, 11, 8)
        drawer = learnt(simulated.observations)
        said = drawer.predict_all([Wanted(_bare(each.cloth), each.quantity) for each in simulated.held])
        inside += [
            p.posterior.low <= each.true <= p.posterior.high for p, each in zip(said, simulated.held, strict=True)
        ]
    assert np.mean(inside) == pytest.approx(0.9, abs=2.6 * math.sqrt(0.09 / 75))


def _bare(cloth: Cloth) -> Cloth:
    return Cloth(cloth.structure, cloth.yarn, cloth.loop_length_mm, cloth.state, cloth.lot)


def test_a_reading_that_no_cloth_has_is_refused_in_words():
    with pytest.raises(Problem, match="measure again"):
        learnt([Observed("x", PLAIN, MERINO, 6.15, RELAXED, Quantity.WALES, -1.0, 0.1)])
    with pytest.raises(Problem, match="below nil"):
        learnt([Observed("x", PLAIN, MERINO, 6.15, RELAXED, Quantity.WALES, 6.0, -0.1)])


def test_what_was_measured_on_the_machine_is_left_out_and_listed():
    drawer = learnt(counted("fresh", 6.0, 8.0, state=State.ON_MACHINE))
    assert len(drawer.left_out) == 2
    assert not wales_of(drawer).is_moved


def test_an_unmoved_block_keeps_its_prior_exactly():
    block = conditioned([], np.zeros(0), np.zeros(0))
    answer = block.ask([belief(Cloth(PLAIN, MERINO, 6.15, RELAXED), Quantity.LEAN).effects])
    assert answer.mean == pytest.approx([0.0])
    assert answer.covariance == pytest.approx(answer.before)
    assert rule("own_share") == 0.5
