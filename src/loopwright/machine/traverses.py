"""Which feeds each carriage traverse lays: systems, yarn carriers and where they are parked.

A carrier can only start from the side where it was left, and serves one system per traverse. The state is the side of
the carriage and of every carrier; each traverse takes as many of the next feeds as its systems and the carriers parked
at its side allow; when none is there it runs empty. In: feeds as yarn letters. Out: feeds per traverse.
Transfer passes inside a structure are taken to leave the carriage where its carriers are (a system transfers on the
way). Not covered: seconds (`timeline`), the best order of stripes (later). Source: production reference 4.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from loopwright.problems import Problem

Parked = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Beds:
    """Side of the carriage (0 left, 1 right) and of every carrier as (yarn, side)."""

    carriage: int
    carriers: Parked


def parked_left(yarns: tuple[str, ...], carriers_each: int) -> Beds:
    """All carriers at the left with the carriage."""
    return Beds(0, tuple((yarn, 0) for yarn in yarns for _ in range(carriers_each)))


@dataclass(frozen=True, slots=True)
class Laid:
    """Feeds laid by each traverse (0: empty), and the state after the last."""

    feeds: tuple[int, ...]
    beds: Beds


@lru_cache(maxsize=8192)
def lay(pattern: tuple[str, ...], phase: int, feeds: int, systems: int, beds: Beds) -> Laid:
    """Lay the next `feeds` feeds of an endless `pattern` of yarn letters, starting at `phase`.

    >>> ab = lay(("a", "b"), 0, 100, 1, parked_left(("a", "b"), 1))    # P-36: stripes of one course, one system
    >>> len(ab.feeds)
    150

    Raises:
        Problem: a yarn of the pattern has no carrier.
    """
    missing = set(pattern) - {yarn for yarn, _ in beds.carriers}
    if missing:
        raise Problem(
            "machine.carriers", f"no carrier holds yarn {', '.join(sorted(missing))}.", tries=["one carrier each"]
        )
    carriage, carriers = beds.carriage, list(beds.carriers)
    laid: list[int] = []
    done = 0
    while done < feeds:
        taken = _take(pattern, phase + done, min(systems, feeds - done), carriage, carriers)
        laid.append(taken)
        done += taken
        carriage = 1 - carriage
    return Laid(tuple(laid), Beds(carriage, tuple(carriers)))


def _take(pattern: tuple[str, ...], first: int, most: int, carriage: int, carriers: list[tuple[str, int]]) -> int:
    """Feeds that this traverse takes; moves their carriers across."""
    used: list[int] = []
    for feed in range(most):
        yarn = pattern[(first + feed) % len(pattern)]
        free = (index for index, place in enumerate(carriers) if place == (yarn, carriage) and index not in used)
        carrier = next(free, None)
        if carrier is None:
            break
        used.append(carrier)
    for index in used:
        carriers[index] = (carriers[index][0], 1 - carriage)
    return len(used)
