"""Sampling by attributes: the plan table against its own structure, and the binomial against another library."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from loopwright.makeup.inspection import acceptance_probability, quality_at_acceptance, sampling_plan
from loopwright.problems import Problem
from loopwright.sources.table import table

PLANS = table("loopwright.makeup", "sampling_plans")
LETTERS = table("loopwright.makeup", "sampling_letters")
AQLS = (1.0, 1.5, 2.5, 4.0, 6.5)


@given(n=st.integers(1, 1000), accept=st.integers(0, 60), faulty=st.floats(0, 1))
def test_the_chance_of_passing_agrees_with_an_independent_binomial(n: int, accept: int, faulty: float) -> None:
    assert acceptance_probability(n, accept, faulty) == pytest.approx(binom.cdf(accept, n, faulty), abs=1e-10)


@given(n=st.integers(2, 500), accept=st.integers(0, 21), probability=st.floats(0.01, 0.99))
def test_the_quality_found_is_passed_with_the_probability_asked(n: int, accept: int, probability: float) -> None:
    if accept < n:
        faulty = quality_at_acceptance(n, accept, probability)
        assert binom.cdf(accept, n, faulty) == pytest.approx(probability, abs=1e-9)


@given(n=st.integers(2, 300), accept=st.integers(0, 20), faulty=st.floats(0.001, 0.5))
def test_a_worse_lot_never_passes_more_easily(n: int, accept: int, faulty: float) -> None:
    assert acceptance_probability(n, accept, faulty) >= acceptance_probability(n, accept, 1.5 * faulty) - 1e-12


def test_a_lot_just_at_the_limit_passes_nearly_always_in_every_cell_of_the_table() -> None:
    """Production reference 9.2: 0.87-0.89 for Ac 0, 0.91-0.92 for Ac 1, 0.95-0.99 above (each to its last digit)."""
    bands = {0: (0.865, 0.895), 1: (0.905, 0.925)}
    for row in PLANS:
        accept = int(row["accept"])
        low, high = bands.get(accept, (0.945, 0.995))
        passes = acceptance_probability(int(row["sample_pieces"]), accept, row["aql_percent"] / 100)
        assert low <= passes <= high, (row.text("letter"), row.text("aql_percent"), passes)


def test_every_letter_has_a_plan_for_every_limit_and_refuses_one_fault_more_than_it_accepts() -> None:
    cells = PLANS.by("letter", "aql_percent")
    assert len(cells) == len(LETTERS.rows) * len(AQLS)
    assert all(row["reject"] == row["accept"] + 1 for row in PLANS)


def test_the_table_is_diagonal_one_letter_further_is_one_limit_stricter() -> None:
    """The same sample and numbers: letter J at 2.5 accepts what K accepts at 1.5; so the standard is built."""
    own = {
        (row.text("letter"), row["aql_percent"]): int(row["accept"]) for row in PLANS if "own" in row.text("locator")
    }
    letters = [row.text("letter") for row in LETTERS]
    for (letter, aql), accept in own.items():
        further, stricter = letters.index(letter) + 1, AQLS.index(aql) - 1
        if further < len(letters) and stricter >= 0:
            assert own.get((letters[further], AQLS[stricter]), accept) == accept


def test_lot_sizes_follow_one_another_without_a_gap() -> None:
    for smaller, larger in zip(LETTERS.rows, LETTERS.rows[1:], strict=False):
        assert larger["lot_low_pieces"] == smaller["lot_high_pieces"] + 1
        assert larger["sample_pieces"] > smaller["sample_pieces"]


@given(lot=st.integers(1, 10**7), aql=st.sampled_from(AQLS))
def test_a_sample_is_never_larger_than_its_lot(lot: int, aql: float) -> None:
    plan = sampling_plan(lot, aql)
    assert 1 <= plan.sample_pieces <= lot
    assert plan.inspect_all == (plan.sample_pieces == lot)


def test_a_lot_smaller_than_its_plan_is_inspected_piece_by_piece() -> None:
    plan = sampling_plan(10, 1.0)
    assert plan.inspect_all
    assert plan.sample_pieces == 10


def test_a_lot_above_the_table_gets_the_largest_letter_and_says_so() -> None:
    plan = sampling_plan(1_000_000, 2.5)
    assert plan.letter == "N"
    assert "1000000" in plan.note
    assert "150000" in plan.note
    assert sampling_plan(150_000, 2.5).note == ""


def test_critical_faults_are_never_accepted() -> None:
    plan = sampling_plan(1000, 0)
    assert (plan.sample_pieces, plan.accept, plan.reject) == (80, 0, 1)


@pytest.mark.parametrize(("lot", "aql"), [(0, 2.5), (-40, 2.5), (1000, 3.0)])
def test_an_empty_lot_or_an_unknown_limit_is_refused_with_what_to_try(lot: int, aql: float) -> None:
    with pytest.raises(Problem) as caught:
        sampling_plan(lot, aql)
    assert caught.value.tries


def test_a_share_of_faults_above_one_is_refused() -> None:
    with pytest.raises(Problem, match=r"3 % is 0\.03"):
        acceptance_probability(80, 5, 3)
