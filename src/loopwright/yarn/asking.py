"""Questions about a count that can be read in two ways, and refusals of what is no count.

In: the pieces of the written count. Out: a `Problem` whose `tries` hold, between “ ”, the exact words to type for each
reading. Nothing is guessed: a wrong count is a wrong fabric, a wrong mass and a wrong price.
Not covered: reading itself (`notation`). Sources: section 1.2 of the fabric reference.
"""

from __future__ import annotations

from loopwright.problems import Problem
from loopwright.yarn.count import MOST_TOGETHER, systems

WHERE = "yarn count"


def not_a_count(text: str) -> Problem:
    """The words hold no count."""
    return Problem(WHERE, f"“{text}” is no yarn count.", tries=["“2/30 Nm”", "“Ne 30/2”", "“20 tex x 2”", "“70 den”"])


def signs(text: str, sign: str) -> Problem:
    """A raised, lowered or fraction sign, which is one letter and could be read as figures."""
    return Problem(
        WHERE,
        f"“{text}” holds “{sign}”, which cannot be told from other figures.",
        tries=["write a decimal, for instance “2.5 run”", "write a fold with a slash, for instance “2/30 Nm”"],
    )


def minus(text: str, number: str) -> Problem:
    """A minus: a negative count, or a range."""
    return Problem(
        WHERE,
        f"“{text}” holds “{number}”: a count is one number above 0, neither negative nor a range.",
        tries=[f"“{text.replace(number, number.lstrip('- '))}”" if text.startswith("-") else "write “2/30 Nm”"],
    )


def thousands(text: str, number: str) -> Problem:
    """A comma with three figures behind it: thousands, or decimals?"""
    readings = [number.replace(",", mark) for mark in ("", ".")]
    return Problem(
        WHERE,
        f"“{number}” can be {readings[0]} or {readings[1]}.",
        tries=[f"“{text.replace(number, reading)}”" for reading in readings],
    )


def no_system(first: str, second: str | None, tail: str) -> Problem:
    """A number without its count system."""
    if second is None:
        return Problem(
            WHERE,
            f"{first} is a number without a count system: metric, cotton, worsted, tex?",
            tries=[f"“{words}{tail}”" for words in (f"{first} Nm", f"Ne {first}", f"{first} NeW", f"{first} tex")],
        )
    folds, number = sorted((first, second), key=float)
    if float(folds) > MOST_TOGETHER:
        return not_a_count(f"{first}/{second}{tail}")
    return Problem(
        WHERE,
        f"{first}/{second} has no count system: is it metric (Nm), cotton (Ne) or worsted (NeW)?",
        tries=[f"“{folds}/{number} Nm{tail}”", f"“Ne {number}/{folds}{tail}”", f"“{folds}/{number} NeW{tail}”"],
    )


def two_systems(text: str, one: str, other: str) -> Problem:
    """One count in two systems."""
    return Problem(
        WHERE, f"“{text}” is given in {one} and in {other}.", tries=[f"leave {one} out", f"leave {other} out"]
    )


def unread(text: str, rest: str) -> Problem:
    """Words behind a number that name neither a system nor a fibre."""
    return Problem(
        WHERE,
        f"“{rest}” in “{text}” is neither a count system nor a fibre known here.",
        limit=f"count systems: {', '.join(system.symbol for system in systems().values())}",
        tries=["name the system, for instance “2/30 Nm” or “Ne 30/2 cotton”"],
    )


def which_is_the_fold(first: str, second: str, symbol: str, tail: str) -> Problem:
    """Two numbers so alike that either may be the fold: 8/7 is eight ends of 7s, or seven-fold 8s."""
    readings = [(first, second), (second, first)]
    able = [(folds, number) for folds, number in readings if float(folds) <= MOST_TOGETHER]
    if not able:
        return too_many(min(float(first), float(second)), "folds")
    ends = [f"“{folds} ends of {number} {symbol}{tail}”" for folds, number in able]
    folded = [f"“{number} {symbol} x {folds}{tail}” (folded)" for folds, number in able]
    return Problem(
        WHERE,
        f"{first}/{second} {symbol} can be {first} yarns of {second} {symbol} or {second} yarns of {first} {symbol}.",
        limit="the larger number is read as the count when it is at least twice the smaller",
        tries=[*ends, *folded],
    )


def filaments_or_folds(first: str, second: str, symbol: str, tail: str) -> Problem:
    """In tex, dtex and denier a slash may part count and filaments, count and folds, or the ends of a range."""
    small, large = sorted((first, second), key=float)
    tries = [f"“{first} {symbol} f {second}{tail}” (filaments)"] if second == small else []
    if float(small) <= MOST_TOGETHER:
        tries.append(f"“{large} {symbol} x {small}{tail}” (folds)")
    if float(large) < 2 * float(small):
        tries.append(f"“{(float(small) + float(large)) / 2:g} {symbol}{tail}” (the middle of a range)")
    return Problem(
        WHERE,
        f"{first}/{second} {symbol}: does the slash part the count from its filaments or from its folds?",
        tries=tries or [f"write “{large} {symbol}{tail}” and the filaments behind f"],
    )


def filaments_of_spun(number: str, filaments: str, symbol: str) -> Problem:
    """Filaments in a count system of spun yarn."""
    return Problem(
        WHERE,
        f"{number} {symbol} f {filaments}: filaments are said of yarns counted in dtex, denier or tex.",
        tries=[f"“{number} dtex f {filaments}”", f"“{number} den f {filaments}”", f"“{number} {symbol}”"],
    )


def resultant_or_singles(number: str, folds: str, symbol: str, tail: str) -> Problem:
    """ "20 tex/2": is 20 tex the folded yarn or one of its singles?"""
    return Problem(
        WHERE,
        f"{number} {symbol}/{folds}: is {number} {symbol} the folded yarn, or one of its singles?",
        tries=[
            f"“R {number} {symbol}/{folds}{tail}” (the folded yarn)",
            f"“{number} {symbol} x {folds}{tail}” (singles)",
        ],
    )


def silk_number(number: str, folds: str, symbol: str, tail: str) -> Problem:
    """Spun silk is mostly written with the resultant first, other yarns with the singles."""
    words = f"{number}/{folds} {symbol}".strip()
    tries = [f"“{words}{tail} resultant”", f"“{words}{tail} singles”"]
    if not symbol:
        tries.append(f"“{folds}/{number} Nm{tail}” (metric, singles)")
    return Problem(
        WHERE,
        f"{words}{tail}: spun silk is mostly named by its resultant. Is {number} the folded yarn or a single?",
        tries=tries,
    )


def ends_or_cabled(times: str, yarn: str, tail: str) -> Problem:
    """A folded yarn times a number: fed side by side, or folded again (cabled)?"""
    return Problem(
        WHERE,
        f"{times} times {yarn}: fed side by side, or twisted together again (a cabled yarn)?",
        limit="a cabled yarn is read by its resultant count",
        tries=[f"“{times} ends of {yarn}{tail}”", "the cabled yarn's resultant, for instance “R 90 tex/6”"],
    )


def three_numbers(first: str, filaments: str, folds: str, symbol: str, tail: str) -> Problem:
    """ "78/34/2 dtex": count, filaments and folds, in an order that mills do not share."""
    return Problem(
        WHERE,
        f"{first}/{filaments}/{folds} {symbol}: which is the count, which the filaments, which the folds?",
        tries=[f"“{first} {symbol} f {filaments} x {folds}{tail}”"],
    )


def ends_or_folds(first: str, second: str, symbol: str, tail: str) -> Problem:
    """ "30 x 2 Nm": thirty ends of Nm 2, or two-fold Nm 30?"""
    tries = [f"“{first} {symbol} x {second}{tail}”"]
    if float(first) <= MOST_TOGETHER:
        tries.append(f"“{first} ends of {second} {symbol}{tail}”")
    return Problem(
        WHERE,
        f"{first} x {second} {symbol} can be {first} ends of {second} {symbol} or {second} folds of {first} {symbol}.",
        tries=tries,
    )


def whose_twist(number: str, symbol: str, folds: int, twist: str, tail: str) -> Problem:
    """One twist beside a folded yarn: of its singles or of its fold?"""
    return Problem(
        WHERE,
        f"{twist} stands beside a yarn of {folds} folds: is it the twist of the singles or of the fold?",
        tries=[
            f"“{number} {symbol} {twist} x {folds}{tail}” (singles)",
            f"“{number} {symbol} x {folds} {twist}{tail}” (fold)",
        ],
    )


def too_many(number: float, what: str) -> Problem:
    """More folds or ends than a knitting yarn has, a part of one, or none."""
    return Problem(
        WHERE,
        f"A yarn of {number:g} {what} cannot be.",
        limit=f"whole {what}, from 1" + ("" if what == "filaments" else f" to {MOST_TOGETHER}"),
        tries=["write folds before the slash and the count behind it, for instance “2/30 Nm”"],
    )


def two_answers(text: str, what: str) -> Problem:
    """The same thing said twice."""
    return Problem(
        WHERE, f"“{text}” gives {what} twice.", tries=[f"give {what} once, for instance “3 ends of 2/28 Nm”"]
    )


def folds_unsaid(number: str, symbol: str, tail: str) -> Problem:
    """A resultant without the number of its folds."""
    return Problem(
        WHERE,
        f"R {number} {symbol} is the resultant of a folded yarn; of how many singles?",
        tries=[f"“R {number} {symbol}/2{tail}” for two", f"“{number} {symbol}{tail}” for a single yarn"],
    )


def twist_in_a_sum(text: str) -> Problem:
    """Twists of unequal singles, of which a yarn holds one."""
    return Problem(
        WHERE,
        f"“{text}” gives twists for unequal singles; a yarn here holds one twist for its singles and one for its fold.",
        tries=["leave the twists out of the count, and give them beside it", "“20 tex + 30 tex + 12 tex”"],
    )


def not_only_a_count(text: str, fibre: str) -> Problem:
    """Fibre words where only a count is asked."""
    return Problem(
        WHERE,
        f"“{text}” is a count with a fibre ({fibre}); here only the count is asked.",
        tries=["leave the fibre out"],
    )
