"""Final inspection by attributes: how many pieces to look at, how many faults to accept, and what that proves.

In: lot size in pieces, acceptance quality limit (AQL) in per cent of faulty pieces. Out: the single sampling plan of
normal inspection at general level II, and the probability that a lot of a given quality passes it.
Main assumption: pieces are drawn at random and judged alone (binomial). An AQL of 0 takes the letter's own
sample and accepts none.
Not covered: what counts as a fault, special levels, switching to tightened inspection.
Sources: iso_2859_1 (letters read, plan table from memory and checked by the binomial); production reference 9.2.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from loopwright.problems import Problem
from loopwright.sources.table import Row, table

LARGEST_SAMPLE = 1000  # binomial coefficients of larger samples leave the range of a float; the plans stop at 500
HALVINGS = 60  # bisection steps: 2^-60 is below the resolution of a float near 1


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """Look at `sample_pieces`; `accept` faulty ones or fewer pass the lot, `reject` or more do not.

    `inspect_all`: the sample reaches the lot, so every piece is looked at. `note` says where the table was left.
    """

    lot_pieces: int
    aql_percent: float
    letter: str
    sample_pieces: int
    accept: int
    reject: int
    inspect_all: bool
    note: str
    source: str

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return asdict(self)


def sampling_plan(lot_pieces: int, aql_percent: float) -> SamplingPlan:
    """The plan for a lot at an AQL.

    >>> plan = sampling_plan(1000, 2.5)    # P-58
    >>> plan.letter, plan.sample_pieces, plan.accept, plan.reject
    ('J', 80, 5, 6)

    Raises:
        Problem: the lot is empty, or the AQL is not in the table.
    """
    if lot_pieces < 1:
        raise Problem(
            "inspection",
            f"A lot of {lot_pieces} pieces cannot be sampled; the least is 1.",
            tries=["give the order quantity"],
        )
    letter, note = _letter(lot_pieces)
    plan = _plan(letter, aql_percent)
    sample = int(plan["sample_pieces"])
    return SamplingPlan(
        lot_pieces,
        aql_percent,
        letter.text("letter"),
        min(sample, lot_pieces),
        int(plan["accept"]) if aql_percent else 0,
        int(plan["reject"]) if aql_percent else 1,
        sample >= lot_pieces,
        note,
        plan.source,
    )


def _letter(lot_pieces: int) -> tuple[Row, str]:
    """Row of the code letter, and what to say when the lot lies above the table."""
    rows = table(__package__, "sampling_letters").rows
    for row in rows:
        if lot_pieces <= row["lot_high_pieces"]:
            return row, ""
    last = rows[-1]
    return last, (
        f"The lot of {lot_pieces} pieces lies above the table, which ends at {last['lot_high_pieces']:.0f}: "
        f"its largest letter {last.text('letter')} is given."
    )


def _plan(letter: Row, aql_percent: float) -> Row:
    """Row of the plan; for an AQL of 0 the letter's own row, whose sample is taken and no fault accepted."""
    if aql_percent == 0:
        return letter
    rows = [row for row in table(__package__, "sampling_plans") if row.text("letter") == letter.text("letter")]
    for row in rows:
        if math.isclose(row["aql_percent"], aql_percent):
            return row
    known = ", ".join(row.text("aql_percent") for row in rows)
    raise Problem(
        "inspection", f"AQL {aql_percent:g} is not in the table.", limit=f"0 or {known} %", tries=[f"one of 0, {known}"]
    )


def acceptance_probability(n: int, accept: int, faulty_share: float) -> float:
    """Probability that a sample of `n` holds `accept` faulty pieces or fewer: Σ C(n, k)·p^k·(1−p)^(n−k).

    >>> round(acceptance_probability(80, 5, 0.025), 3), round(acceptance_probability(80, 5, 0.10), 3)    # P-59
    (0.985, 0.177)

    Raises:
        Problem: the share of faulty pieces is not between 0 and 1.
        ValueError: a sample size outside 1 to 1000, or an acceptance number below 0 (a mistake of ours).
    """
    if not 0 <= faulty_share <= 1:
        raise Problem(
            "inspection", f"A share of {faulty_share:g} faulty pieces lies outside 0 to 1.", tries=["3 % is 0.03"]
        )
    if not 1 <= n <= LARGEST_SAMPLE or accept < 0:
        raise ValueError(f"sample of {n} pieces with acceptance number {accept}")
    good = 1 - faulty_share
    return math.fsum(math.comb(n, k) * faulty_share**k * good ** (n - k) for k in range(min(accept, n) + 1))


def quality_at_acceptance(n: int, accept: int, probability: float) -> float:
    """Share of faulty pieces at which a lot passes with the given probability, by bisection.

    0.10 gives the quality that is nearly always refused, 0.95 the one that nearly always passes.

    >>> round(quality_at_acceptance(80, 5, 0.10), 3)    # P-59
    0.113

    Raises:
        ValueError: a probability outside 0 to 1, or a plan that accepts every sample (a mistake of ours).
    """
    if not 0 < probability < 1 or accept >= n:
        raise ValueError(f"probability {probability}, sample {n}, acceptance number {accept}")
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if acceptance_probability(n, accept, middle) > probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2
