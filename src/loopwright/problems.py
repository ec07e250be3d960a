"""How we speak when something cannot be made, or when a person should look at something.

A `Problem` is raised for what a person can mend: where, what is wrong in trade words with both numbers, the limit,
what to try. A `Finding` travels with an answer: the study of a half-described style still computes what it can and
lists the rest. Plain `ValueError` and assertions are for our own mistakes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any


class Problem(Exception):
    """Something in the style, file or words given that a person can mend.

    Args:
        where: the place in trade words ("sleeve, size XL", "yarns.main.count").
        what: one sentence with the numbers that disagree.
        limit: the limit and where it comes from; empty when there is none.
        tries: what to try, each one sentence or less.
        is_gap: something was left out, rather than given wrongly; the rest can stand without it.
    """

    def __init__(
        self, where: str, what: str, *, limit: str = "", tries: Sequence[str] = (), is_gap: bool = False
    ) -> None:
        self.where = where
        self.what = what
        self.limit = limit
        self.tries = tuple(tries)
        self.is_gap = is_gap
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The whole message as plain text: where, what, limit, tries."""
        parts = [f"{self.where}: {self.what}"]
        if self.limit:
            parts.append(f"Limit: {self.limit}.")
        if self.tries:
            parts.append(f"Try: {'; '.join(self.tries)}.")
        return " ".join(parts)

    def at(self, place: str) -> Problem:
        """The same problem, met at `place`: put before the place already known."""
        where = place if self.where in ("", "quantity") else f"{place}, {self.where}"
        return Problem(where, self.what, limit=self.limit, tries=self.tries, is_gap=self.is_gap)

    def as_dict(self) -> dict[str, Any]:
        """JSON form; keys `where`, `what`, `limit`, `tries`."""
        return {"where": self.where, "what": self.what, "limit": self.limit, "tries": list(self.tries)}


class Sign(IntEnum):
    """What a finding asks of the reader, in order of consequence."""

    STOPS = 0
    DECIDE = 1
    KNOW = 2
    HOLDS = 3

    @property
    def word(self) -> str:
        """The word shown beside the sign."""
        return self.name.capitalize()


@dataclass(frozen=True, slots=True)
class Finding:
    """A sentence that the study adds to its figures.

    `weight` orders findings of one sign, larger first: usually how far past its limit a thing is.
    """

    sign: Sign
    where: str
    sentence: str
    tries: tuple[str, ...] = ()
    consequence: str = ""
    weight: float = 0.0
    source: str = ""

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "sign": self.sign.word.lower(),
            "where": self.where,
            "sentence": self.sentence,
            "tries": list(self.tries),
            "consequence": self.consequence,
            "source": self.source,
        }


@dataclass(slots=True)
class Collector:
    """Gathers findings while a study runs, and computes the parts that can be computed."""

    findings: list[Finding] = field(default_factory=list)
    refused: list[Problem] = field(default_factory=list)

    def stops(self, problem: Problem) -> None:
        """Keep a problem as a finding that stops its part; what was given wrongly is also refused."""
        if not problem.is_gap:
            self.refused.append(problem)
        tail = f" Limit: {problem.limit}." if problem.limit else ""
        self.findings.append(Finding(Sign.STOPS, problem.where, problem.what + tail, problem.tries, weight=1.0))

    def add(self, findings: Iterable[Finding]) -> None:
        """Keep findings that a part returned."""
        self.findings.extend(findings)

    def in_order(self) -> tuple[Finding, ...]:
        """All findings: what stops first, then by weight; equal findings once."""
        unique = dict.fromkeys(sorted(self.findings, key=lambda finding: (finding.sign, -finding.weight)))
        return tuple(unique)
