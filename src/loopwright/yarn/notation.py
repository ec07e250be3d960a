"""Reading a yarn count as the trade writes it.

In: text such as "2/30 Nm", "Ne 30/2", "20 tex Z 700 x 2 S 450; R 41 tex", "dtex 78 f 34 x 2", "3 ends of 2/28 Nm",
with a fibre behind it where a yarn is asked. Out: a `Count`, the twists said in it, the blend. Assumption: in x/y the
smaller number is the fold when the larger is at least twice as large. What can be read in two ways is asked, never
guessed: x/y without a system, 8/7 NeW, spun silk with a fold, a slash in denier, a bare number.
Not covered: the letters themselves (`scanning`), the words of the questions (`asking`), fibre names (`naming`).
Sources: iso_1139 (its fold-to-single order from memory, still disputed); section 1.2 of the fabric reference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopwright.problems import Problem
from loopwright.yarn import asking
from loopwright.yarn.count import Count, count_of, count_of_unequal, system_of, tex_of
from loopwright.yarn.fibre import Blend
from loopwright.yarn.folding import take_up_of
from loopwright.yarn.naming import blend_from_words
from loopwright.yarn.scanning import Cursor, plainly, without_asides
from loopwright.yarn.term import Term, filaments_of, folded, term_at, twist_from, twist_of, whole
from loopwright.yarn.twist import Twist


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything said in a written yarn: its count, its twists, its fibre."""

    count: Count
    twist: Twist
    blend: Blend | None


def parse_count(text: str) -> Count:
    """The count that `text` writes.

    >>> round(parse_count("2/30 Nm").tex, 2), parse_count("Ne 30/2").folds    # F-01, F-03
    (66.67, 2)
    >>> round(parse_count("three ends of 2/28 Nm").tex, 1)    # F-06
    214.3

    Raises:
        Problem: the text is no count, can be read in two ways, or says more than a count.
    """
    reading = read(text)
    if reading.blend is not None and not _is_silk(reading.blend):
        raise asking.not_only_a_count(text.strip(), reading.blend.label)
    return reading.count


def parse_yarn(text: str) -> tuple[Count, str | None]:
    """The count and the fibre behind it: a fibre key, "70 wool_combed 30 polyamide_staple" for a blend, or none.

    >>> parse_yarn("2/30 Nm 70 wool 30 polyamide")[1], parse_yarn("70 den nylon")[1], parse_yarn("Ne 30")[1]
    ('70 wool_combed 30 polyamide_staple', 'polyamide_filament', None)

    Raises:
        Problem: the text is no count, can be read in two ways, or names an unknown fibre.
    """
    reading = read(text)
    return reading.count, reading.blend.words if reading.blend else None


def read(text: str) -> Reading:
    """Count, twists and fibre of a written yarn.

    Raises:
        Problem: the text is no count, can be read in two ways, or names an unknown fibre.
    """
    asides = without_asides(plainly(text), text)
    cursor = Cursor(asides.text)
    times = cursor.take(r"([0-9]{1,9})\s*x(?=\s*[0-9a-z.])")
    if times and asides.ends:
        raise asking.two_answers(text, "the ends")
    ends = times[1] if times else asides.ends
    sentence = _Sentence(text.strip(), cursor, asides.number_is, times[1] if times else None)
    reading = _fold_to_single(sentence) if cursor.take(r"r(?![a-z])") else _single_to_fold(sentence)
    return replace(reading, count=replace(reading.count, ends=whole(ends or "1", "ends"), text=text.strip()))


@dataclass(frozen=True, slots=True)
class _Sentence:
    """A written yarn while it is read; `times` is the number of "3 x" in front of it."""

    text: str
    cursor: Cursor
    number_is: str | None
    times: str | None

    @property
    def tail(self) -> str:
        """What follows the count, as it stands in the words to type."""
        rest = self.cursor.rest()
        return f" {rest}" if rest else ""

    def blend(self, system: str | None, *, is_filament: bool) -> Blend | None:
        """The fibre behind the count.

        Raises:
            Problem: the words there are no fibre, or name another count system.
        """
        rest = self.cursor.rest()
        if not rest or self._names_a_system(rest, system):
            return None
        if system is not None:
            return blend_from_words(rest, "filament" if is_filament else system_of(system).made)
        try:
            return blend_from_words(rest)
        except Problem as problem:
            raise asking.unread(self.text, rest) from problem

    def _names_a_system(self, rest: str, system: str | None) -> bool:
        other = Cursor(rest)
        named = other.system()
        if named is None or system is None or other.rest():
            return False
        if named != system:
            raise asking.two_systems(self.text, system_of(system).symbol, system_of(named).symbol)
        self.cursor.at = len(self.cursor.text)
        return True


def _single_to_fold(sentence: _Sentence) -> Reading:
    """ "20 tex Z 700 x 2 S 450; R 41 tex", "2/30 Nm", "Ne 30/2", "20 tex + 30 tex + 12 tex"."""
    cursor = sentence.cursor
    terms = [term_at(cursor, sentence.text)]
    while cursor.take(r"\+"):
        terms.append(term_at(cursor, sentence.text))
    resultant = _measure(sentence) if cursor.take(r"[;,]?\s*r(?![a-z])") else None
    named = _system_named(terms)
    blend = sentence.blend(named, is_filament=any(term.filaments for term in terms))
    system = _system(terms, named, blend, sentence)
    if len(terms) > 1:
        return Reading(_unequal(terms, system, resultant, sentence), Twist(), blend)
    return _equal(terms[0], system, resultant, blend, sentence)


def _equal(term: Term, system: str, resultant: float | None, blend: Blend | None, sentence: _Sentence) -> Reading:
    _ask_ends_or_folds(term, system, sentence)
    meant = folded(term, system, sentence.number_is, sentence.tail)
    if resultant is not None:
        take_up_of([tex_of(meant.number, system)] * meant.folds, resultant)
    count = count_of(
        meant.number,
        system,
        folds=meant.folds,
        filaments=filaments_of(term),
        given_resultant_tex=resultant,
        text=sentence.text,
    )
    return Reading(count, twist_of(term, meant.folds, system, sentence.tail), blend)


def _unequal(terms: list[Term], system: str, resultant: float | None, sentence: _Sentence) -> Count:
    if any(term.first_twist or term.second_twist for term in terms):
        raise asking.twist_in_a_sum(sentence.text)
    singles_tex: list[float] = []
    for term in terms:
        meant = folded(term, term.system or system, sentence.number_is, sentence.tail)
        singles_tex += [tex_of(meant.number, term.system or system)] * meant.folds
    if resultant is not None:
        take_up_of(singles_tex, resultant)
    whole(len(singles_tex), "folds")
    return count_of_unequal(singles_tex, system, given_resultant_tex=resultant, text=sentence.text)


def _fold_to_single(sentence: _Sentence) -> Reading:
    """ "R 41 tex S 450/2 Z 700; 20 tex", whose R has been taken."""
    cursor = sentence.cursor
    resultant = _measure(sentence)
    fold_twist = cursor.twist()
    written_folds = cursor.folds("/")
    singles_twist = cursor.twist()
    single = _measure(sentence) if cursor.take(";") else None
    blend = sentence.blend("tex", is_filament=False)
    if written_folds is None:
        raise asking.folds_unsaid(f"{resultant:g}", "tex", sentence.tail)
    folds = whole(written_folds, "folds")
    if single is not None:
        take_up_of([single] * folds, resultant)
    single_tex = resultant / folds if single is None else single
    count = count_of(single_tex, "tex", folds=folds, given_resultant_tex=resultant, text=sentence.text)
    return Reading(count, twist_from(singles_twist, fold_twist), blend)


def _measure(sentence: _Sentence) -> float:
    """A plain count with its system, in tex."""
    cursor = sentence.cursor
    system = cursor.system()
    number = cursor.number()
    system = system or cursor.system()
    if number is None or system is None:
        raise asking.not_a_count(sentence.text)
    return tex_of(float(number), system)


def _system_named(terms: list[Term]) -> str | None:
    """The system named in a term, or by the last for all: "20 + 30 + 12 tex"; asks for that of "2/30 Nm + 70"."""
    named = {term.system for term in terms if term.system}
    for term in terms:
        if term.system is None and named not in (set(), {terms[-1].system}):
            raise asking.no_system(term.first, term.second, "")
    return terms[0].system or terms[-1].system


def _system(terms: list[Term], named: str | None, blend: Blend | None, sentence: _Sentence) -> str:
    """The system of the count; asks when none is named, and when spun silk's number can be two things."""
    term = terms[0]
    slashed = term.second or term.late
    if blend and _is_silk(blend) and slashed and named in (None, "Ne"):
        if sentence.number_is is None:
            folds, number = sorted((term.first, slashed), key=float)
            raise asking.silk_number(number, folds, named or "", sentence.tail)
        return "Ne"
    if named is None:
        raise asking.no_system(term.first, slashed or term.multiplied, sentence.tail)
    return named


def _ask_ends_or_folds(term: Term, system: str, sentence: _Sentence) -> None:
    is_bare = not (term.second or term.late or term.multiplied or term.filaments)
    if sentence.times and is_bare and float(sentence.times) > float(term.first):
        symbol = system_of(system).symbol
        raise asking.ends_or_folds(sentence.times, term.first, symbol, sentence.tail)


def _is_silk(blend: Blend) -> bool:
    return set(blend.fractions) == {"silk"}
