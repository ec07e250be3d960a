"""One written term of a count: a number, its system, its filaments, folds and twists, and which number is the fold.

In: a cursor on plain text. Out: the pieces as typed, then the singles number and the folds they mean. Assumption: the
smaller number of x/y is the fold, in cotton as in metric and worsted ("2/30 Ne" is met beside "30/2 Ne").
Not covered: several terms, ends and resultants (`notation`). Sources: iso_1139; section 1.2 of the fabric reference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from loopwright.yarn import asking
from loopwright.yarn.count import MOST_TOGETHER, slash_is_plain, system_of
from loopwright.yarn.scanning import Cursor
from loopwright.yarn.twist import Direction, Twist


@dataclass(frozen=True, slots=True)
class Term:
    """The pieces of a term as typed.

    `second` is the number after the slash of x/y; `late` one after the slash behind the system or the filaments.
    """

    first: str
    second: str | None
    late: str | None
    multiplied: str | None
    system: str | None
    filaments: str | None
    first_twist: tuple[str, float] | None
    second_twist: tuple[str, float] | None


@dataclass(frozen=True, slots=True)
class Folded:
    """What a term means: so many folds of singles of one number."""

    number: float
    folds: int


def term_at(cursor: Cursor, text: str) -> Term:
    """The term that stands next.

    Raises:
        Problem: no number stands there.
    """
    system = cursor.system()
    first = cursor.number()
    if first is None:
        raise asking.not_a_count(text)
    cursor.plural()
    filaments = cursor.filaments()
    slashed = cursor.folds("/")
    second, late = (slashed, None) if filaments is None else (None, slashed)
    cursor.plural()
    system = system or cursor.system()
    filaments = filaments or cursor.filaments()
    first_twist = cursor.twist()
    late = late or cursor.folds("/")
    multiplied = cursor.folds("x")
    return Term(first, second, late, multiplied, system, filaments, first_twist, cursor.twist())


def folded(term: Term, system: str, number_is: str | None, tail: str) -> Folded:
    """The singles number and the folds of a term whose system is known.

    Raises:
        Problem: the term can be read in two ways, or its folds are no whole number from 1 to 24.
    """
    symbol, is_direct = system_of(system).symbol, system_of(system).is_direct
    if term.filaments is not None and not is_direct:
        raise asking.filaments_of_spun(term.first, term.filaments, symbol)
    behind = [number for number in (term.late, term.multiplied) if number is not None]
    if term.second is None and not (term.late and term.filaments is None):
        folds = _folds_behind(term, behind, symbol, tail)
        if number_is == "resultant" and folds > 1:
            raise asking.resultant_or_singles(term.first, str(folds), symbol, tail)
        return Folded(float(term.first), folds)
    if term.second is None and is_direct:
        raise asking.resultant_or_singles(term.first, behind[0], symbol, tail)
    second = term.second or behind.pop(0)
    if behind:
        raise _three_numbers(term, second, behind[0], is_direct, symbol, tail)
    if is_direct and term.filaments is None:
        raise asking.filaments_or_folds(term.first, second, symbol, tail)
    pair = _slashed(term.first, second, symbol, tail)
    return Folded(pair.number * pair.folds, pair.folds) if number_is == "resultant" else pair


def twist_of(term: Term, folds: int, system: str, tail: str) -> Twist:
    """The twists that a term says.

    Raises:
        Problem: one twist beside a yarn folded by a slash: of the singles or of the fold?
    """
    first, second = term.first_twist, term.second_twist
    by_slash = term.multiplied is None and folds > 1
    if by_slash and (first is None) != (second is None):
        direction, tpm = first or second or ("", 0.0)
        number = term.first if term.first != str(folds) else term.second or term.first
        raise asking.whose_twist(number, system_of(system).symbol, folds, f"{direction} {tpm:g}", tail)
    return twist_from(first, second)


def twist_from(singles: tuple[str, float] | None, fold: tuple[str, float] | None) -> Twist:
    """Twist of singles and of fold, each as direction and turns per metre."""
    return Twist(
        singles_tpm=singles[1] if singles else None,
        singles_direction=cast(Direction, singles[0]) if singles else None,
        fold_tpm=fold[1] if fold else None,
        fold_direction=cast(Direction, fold[0]) if fold else None,
    )


def filaments_of(term: Term) -> int | None:
    """The number of filaments a term says; none when it says none.

    Raises:
        Problem: a yarn of no filaments.
    """
    if term.filaments is None:
        return None
    if int(term.filaments) == 0:
        raise asking.too_many(0, "filaments")
    return int(term.filaments)


def whole(number: str | float, what: str) -> int:
    """A number of folds or ends as a whole number.

    Raises:
        Problem: none, a part of one, or more than any knitting yarn has.
    """
    value = float(number)
    if not (value.is_integer() and 1 <= value <= MOST_TOGETHER):
        raise asking.too_many(value, what)
    return int(value)


def _folds_behind(term: Term, behind: list[str], symbol: str, tail: str) -> int:
    if len(behind) > 1:
        single = f"{term.first} {symbol} f {term.filaments} x {behind[0]}"
        raise asking.ends_or_cabled(behind[1], single, tail)
    return whole(behind[0], "folds") if behind else 1


def _three_numbers(term: Term, second: str, last: str, is_direct: bool, symbol: str, tail: str) -> Exception:
    if is_direct and term.filaments is None and float(term.first) > float(second):
        return asking.three_numbers(term.first, second, last, symbol, tail)
    if is_direct and term.filaments is None:
        return asking.ends_or_cabled(last, f"{second} {symbol} x {term.first}", tail)
    filaments = f" f {term.filaments}" if term.filaments else ""
    return asking.ends_or_cabled(last, f"{term.first}/{second} {symbol}{filaments}", tail)


def _slashed(first: str, second: str, symbol: str, tail: str) -> Folded:
    small, large = sorted((float(first), float(second)))
    if not small.is_integer():
        if not large.is_integer():
            raise asking.too_many(small, "folds")
        return Folded(small, whole(large, "folds"))
    if large.is_integer() and not slash_is_plain(large, int(small)):
        raise asking.which_is_the_fold(first, second, symbol, tail)
    return Folded(large, whole(small, "folds"))
