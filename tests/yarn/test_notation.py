"""The notation of counts: what means the same reads the same; what can mean two things is asked."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.yarn.count import Count, count_of, count_of_unequal, slash_is_plain, system_of, systems
from loopwright.yarn.notation import parse_count, parse_yarn, read
from loopwright.yarn.twist import Twist

ALIKE = [
    # every spelling of a row is the same yarn
    (
        "2/30 Nm",
        "Nm 2/30",
        "Nm 30/2",
        "30/2 Nm",
        "NM 2/30",
        "nm2/30",
        "2/30nm",
        "2/30 metric",
        "Nm 30 x 2",
        "30 Nm x 2",
    ),
    ("2/30 Nm", "2/30\u00a0Nm", "ＮＭ　２／３０", " 2 / 30  Nm ", "2/30 Nm.", "2/30's Nm", "2/30’s Nm", "2/30s Nm"),
    ("2/28 NeW", "2/28NeW", "2/28 worsted", "2/28s worsted count", "NeW 28/2", "2/28 NeK"),
    ("3/9 NeW", "9/3 NeW", "NeW 3/9"),
    ("Ne 30/2", "30/2 Ne", "2/30 Ne", "NeC 30/2", "30/2 cotton count", "30/2 english cotton"),
    ("Ne 30", "30 Ne", "Ne 30/1", "30/1 Ne", "Ne30", "30s Ne", "Ne 30 singles", "Ne 30 cotton count"),
    ("16 YSW", "YSW 16", "16 skeins", "16 Yorkshire skeins", "16 yorkshire woollen skeins"),
    ("NeL 14", "14 NeL", "14 lea", "14 linen lea", "lea 14"),
    ("2.5 run", "2,5 run", "2.5 runs", "run 2.5"),
    ("20 tex", "tex 20", "20tex", "20,0 tex", "20.0 tex"),
    ("20 tex x 2", "20 tex × 2", "20tex x2", "tex 20 x 2", "20 TEX X 2"),
    ("70 den", "70 denier", "70D", "den 70", "70 d"),
    ("70 den x 2", "70D × 2", "70 denier x2"),
    ("dtex 78 f 34 x 2", "78 dtex f34/2", "78 dtex f 34 x 2", "dtex 78f34/2", "78f34 dtex x 2", "78/34f dtex x 2"),
    ("78 dtex f 34 x 2", "2/78 dtex f 34", "78/2 dtex f34", "78 f34/2 dtex"),
    ("70 den f 24", "70D/24F", "70d/24f", "70 den /24f"),
    ("20 tex + 30 tex + 12 tex", "20+30+12 tex", "20 tex+30 tex+12 tex"),
    ("2 ends of 2/28 Nm", "two ends 2/28 Nm", "two ends of 2/28 Nm", "2 x 2/28 Nm", "2x2/28 Nm", "2/28 Nm, 2 ends"),
    ("3 ends of 70 den", "70 den, three ends", "3 x 70 den", "70 den 3 ends"),
    ("60/2 spun silk resultant", "60/2 Ne silk resultant", "Ne 120/2", "resultant 60/2 spun silk"),
    ("60/2 spun silk singles", "Ne 60/2", "60/2 Ne silk singles"),
    (
        "R 41 tex/2; 20 tex",
        "20 tex x 2; R 41 tex",
        "20 tex x 2, R 41 tex",
        "R 410 dtex / 2; 20 tex",
        "20 tex x 2 R 41 tex",
    ),
    ("R 41 tex/2", "20.5 tex x 2"),
    ("8 ends of 7 NeW", "eight ends of 7s worsted", "8 ends 7 NeW"),
]


@pytest.mark.parametrize("spellings", ALIKE, ids=lambda row: row[0])
def test_spellings_of_one_yarn_read_as_one_count(spellings: tuple[str, ...]) -> None:
    first = parse_count(spellings[0])
    assert [parse_count(spelling) for spelling in spellings] == [first] * len(spellings)


DIFFERENT = [
    ("2/30 Nm", "2/30 Ne"),
    ("2/30 Nm", "2/30 NeW"),
    ("2/28 Nm", "2 ends of 28 Nm"),
    ("60/2 spun silk resultant", "60/2 spun silk singles"),
    ("70 den", "70 dtex"),
    ("8 ends of 7 NeW", "7 NeW x 8"),
    ("8 NeW x 7", "7 NeW x 8"),
    ("R 41 tex/2; 20 tex", "20 tex x 2"),
]


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_yarns_that_differ_read_as_different_counts(one: str, other: str) -> None:
    assert parse_count(one) != parse_count(other)


def test_the_words_typed_are_kept() -> None:
    assert parse_count("  Nm 30/2 ").text == "Nm 30/2"


def test_a_two_fold_cotton_is_never_read_as_thirty_folds() -> None:
    assert parse_count("2/30 Ne").folds == 2


def test_seven_fold_eights_and_eight_ends_of_sevens_are_told_apart_by_their_tex() -> None:
    # section 1.2: eight ends of 7s weigh 1012 tex, seven-fold 8s 775 tex
    assert parse_count("8 ends of 7 NeW").tex == pytest.approx(1012, abs=0.5)
    assert parse_count("8 NeW x 7").tex == pytest.approx(775, abs=0.5)


# every count that can be built reads again from its label

numbers = st.integers(min_value=100, max_value=30_000).map(lambda hundredths: hundredths / 100)
counts = st.builds(
    lambda number, system, folds, ends: count_of(number, system, folds=folds, ends=ends),
    numbers,
    st.sampled_from(sorted(systems())),
    st.integers(1, 12),
    st.integers(1, 12),
)


@given(counts)
def test_the_label_of_a_count_reads_as_the_same_count(count: Count) -> None:
    assert parse_count(count.label) == count


@given(numbers, st.sampled_from(["dtex", "denier", "tex"]), st.integers(1, 200), st.integers(1, 6))
def test_the_label_of_a_filament_yarn_keeps_its_filaments(
    number: float, system: str, filaments: int, folds: int
) -> None:
    count = count_of(number, system, filaments=filaments, folds=folds)
    assert parse_count(count.label) == count


@given(st.lists(numbers, min_size=2, max_size=5), st.integers(1, 4))
def test_the_label_of_unequal_folds_names_each_single(singles_tex: list[float], ends: int) -> None:
    count = count_of_unequal(singles_tex, "tex", ends=ends)
    assert parse_count(count.label) == count
    assert parse_count(count.label).tex == pytest.approx(ends * sum(singles_tex))


@given(st.integers(1, 12), st.integers(1, 200), st.sampled_from(["Nm", "Ne", "NeW", "YSW", "NeL", "run"]))
def test_in_a_slash_the_smaller_number_is_the_fold_whatever_the_order(folds: int, number: int, system: str) -> None:
    spellings = [f"{folds}/{number} {system}", f"{number}/{folds} {system}", f"{system} {number}/{folds}"]
    if slash_is_plain(number, folds):
        assert {parse_count(each) for each in spellings} == {count_of(number, system, folds=folds)}
    elif slash_is_plain(folds, number):
        assert {parse_count(each) for each in spellings} == {count_of(folds, system, folds=number)}
    else:
        for each in spellings:
            with pytest.raises(Problem, match="can be"):
                parse_count(each)


@given(counts, st.data())
def test_capitals_and_spaces_change_nothing(count: Count, data: st.DataObject) -> None:
    label = count.label
    shouted = "".join(data.draw(st.sampled_from([sign.upper(), sign.lower()])) for sign in label)
    assert parse_count(shouted.replace(" ", data.draw(st.sampled_from([" ", "  ", "\u00a0", "\t"])))) == count


# what can be read in two ways

QUESTIONS = [
    ("30/2", "metric"),
    ("2/30", "metric"),
    ("2/30s", "metric"),
    ("30", "count system"),
    ("30s", "count system"),
    ("12.5", "count system"),
    ("3 ends of 28", "count system"),
    ("30/2 cotton", "cotton (Ne)"),
    ("2/28 cashmere", "metric"),
    ("28 merino", "count system"),
    ("8/7 NeW", "8 yarns of 7 NeW or 7 yarns of 8 NeW"),
    ("7/8 NeW", "yarns of"),
    ("5/6 Nm", "yarns of"),
    ("3/2 Ne", "yarns of"),
    ("60/2 silk", "resultant"),
    ("60/2 spun silk", "resultant"),
    ("Ne 60/2 silk", "resultant"),
    ("Ne 60/2 spun silk", "resultant"),
    ("70/34 den", "filaments"),
    ("70/2 den", "filaments"),
    ("2/70 den", "folds"),
    ("78/34 dtex", "filaments"),
    ("20/22 den silk", "filaments"),
    ("20/2 tex", "filaments"),
    ("dtex 78/34/2", "which the filaments"),
    ("70/34 den x 2", "which the filaments"),
    ("2/78 dtex x 2", "side by side"),
    ("Ne 30 f 34", "filaments are said of"),
    ("2/78 dtex f 34 x 2", "side by side"),
    ("Ne 60 x 2 resultant", "folded yarn, or one of its singles"),
    ("20 tex/2", "folded yarn, or one of its singles"),
    ("R 41 tex", "how many singles"),
    ("Nm 28/2/3", "side by side"),
    ("Nm 28/2 x 3", "side by side"),
    ("30 x 2 Nm", "ends of"),
    ("8 x 7 NeW", "ends of"),
    ("2/30 Nm S 400", "of the singles or of the fold"),
    ("1,000 den", "1000 or 1.000"),
    ("1,100 dtex", "1100 or 1.100"),
]


@pytest.mark.parametrize(("written", "question"), QUESTIONS)
def test_what_can_be_read_in_two_ways_is_asked(written: str, question: str) -> None:
    with pytest.raises(Problem) as asked:
        parse_yarn(written)
    assert question in asked.value.what
    assert asked.value.tries


@pytest.mark.parametrize("written", [written for written, _ in QUESTIONS])
def test_the_words_offered_for_a_question_can_be_typed_and_read(written: str) -> None:
    with pytest.raises(Problem) as asked:
        parse_yarn(written)
    offered = [words for each in asked.value.tries for words in re.findall("“([^”]+)”", each)]
    assert offered
    readings = [(reading.count, reading.twist) for reading in map(read, offered)]
    assert len(readings) == 1 or len(set(readings)) > 1


def test_metric_silk_is_read_as_the_metric_system_says() -> None:
    assert parse_yarn("2/60 Nm silk")[0] == parse_count("2/60 Nm")


def test_a_blend_with_a_little_silk_is_no_spun_silk() -> None:
    assert parse_yarn("Ne 60/2 80 cotton 20 silk")[0] == parse_count("Ne 60/2")


# fibre behind the count

FIBRES = [
    ("2/30 Nm wool", "wool_combed"),
    ("2/30 Nm Merino", "wool_combed"),
    ("2/30 Nm extra-fine merino wool", "wool_combed"),
    ("2/30 Nm worsted wool", "wool_combed"),
    ("16 YSW wool", "wool_carded"),
    ("16 YSW lambswool", "wool_carded"),
    ("16 YSW alpaca", "alpaca_carded"),
    ("2/28 Nm alpaca", "alpaca"),
    ("4 run wool", "wool_carded"),
    ("Ne 30 cotton", "cotton"),
    ("Ne 30 100% cotton", "cotton"),
    ("Ne 30 100 cotton", "cotton"),
    ("2/28 Nm cashmere", "cashmere"),
    ("70 den nylon", "polyamide_filament"),
    ("dtex 78 f 34 x 2 polyamide", "polyamide_filament"),
    ("Ne 30 polyamide", "polyamide_staple"),
    ("20 den spandex", "elastane"),
    ("14 lea flax", "linen"),
    ("30/1 Ne rayon", "viscose"),
    ("2/30 Nm 70 wool 30 polyamide", "70 wool_combed 30 polyamide_staple"),
    ("2/30 Nm 70% wool, 30% nylon", "70 wool_combed 30 polyamide_staple"),
    ("2/30 Nm wool 70 nylon 30", "70 wool_combed 30 polyamide_staple"),
    ("2/30 Nm 70/30 wool/nylon", "70 wool_combed 30 polyamide_staple"),
    ("2/30 Nm, 70/30 wool nylon", "70 wool_combed 30 polyamide_staple"),
    ("2/28 Nm 90,5 merino 9,5 cashmere", "90.5 wool_combed 9.5 cashmere"),
    ("3 ends of 2/28 Nm cashmere", "cashmere"),
    ("2/28 Nm cashmere, 3 ends", "cashmere"),
    ("20 tex Z 700 x 2 S 450; R 41 tex cotton", "cotton"),
    ("R 41 tex S 450/2 Z 700; 20 tex cotton", "cotton"),
    ("2/30 Nm", None),
]


@pytest.mark.parametrize(("written", "fibre"), FIBRES)
def test_the_fibre_behind_a_count_is_split_off(written: str, fibre: str | None) -> None:
    assert parse_yarn(written)[1] == fibre


def test_a_count_alone_is_asked_where_only_a_count_is_wanted() -> None:
    with pytest.raises(Problem, match="only the count"):
        parse_count("2/30 Nm wool")


def test_twists_are_read_with_their_directions() -> None:
    expected = Twist(600, "Z", 400, "S")
    for written in ("2/30 Nm Z 600 S 400", "30 Nm Z600 x 2 S400", "30 Nm z 600 tpm x 2 s 400 t/m"):
        assert read(written).twist == expected
    assert read("30 Nm Z 600").twist == Twist(600, "Z")
    assert read("30 Nm x 2 S 400").twist == Twist(fold_tpm=400, fold_direction="S")
    assert read("2/30 Nm").twist == Twist()


# hostile input

HOSTILE = [
    "",
    " ",
    "\n\t",
    "\x00",
    "/",
    "//",
    "x",
    "+",
    ";",
    "R",
    "r ; r",
    "Nm",
    "Nm /",
    "Nm /30",
    "Nm 30/",
    "30/ Nm",
    "/30 Nm",
    "2//30 Nm",
    "2\\30 Nm",
    "2|30 Nm",
    "2-30 Nm",
    "-30 Nm",
    "−30 Nm",
    "- 30 Nm",
    "30 -2 Nm",
    "-2 ends of 30 Nm",
    "0 Nm",
    "0.0 tex",
    "0/30 Nm",
    "30/0 Nm",
    "0/0 Nm",
    "0 ends of 30 Nm",
    "0 x 30 Nm",
    "99 ends of 30 Nm",
    "999999999 x 30 Nm",
    "2.5 ends of 30 Nm",
    "30 Nm x 0",
    "30 Nm x 1.5",
    "30 Nm x 99",
    "2.5/30.5 Nm",
    "40/80 Nm",
    "nan Nm",
    "inf tex",
    "1e9 tex",
    "1e400 tex",
    "0x10 tex",
    "1_000 tex",
    "9999999999 tex",
    "9" * 150 + " tex",
    "9" * 5000 + " tex",
    "0." + "0" * 100 + "1 tex",
    "2000000 tex",
    "0.05 tex",
    "0.4 den",
    "20000 Nm",
    "0.0005 Nm",
    "12.3.4 Nm",
    "..5 Nm",
    "1.2,3 Nm",
    "1 000 den",
    "½ run",
    "2½ run",
    "2²/30 Nm",
    "②/30 Nm",
    "٢/٣٠ Nm",
    "二/三十 Nm",
    "2/30 Νm",  # a Greek capital that looks like N
    "2/30 Nm Ne",
    "Nm 2/30 Ne",
    "Nm Ne 30",
    "30 Nm 30 Nm",
    "2/30 Nm 3 ends of 4 ends",
    "3 x 2/28 Nm 2 ends",
    "2/30 Nm resultant resultant",
    "2/30 Nm gravel",
    "2/30 Nm 60 wool 30 nylon",
    "2/30 Nm 110 wool",
    "2/30 Nm 0 wool 100 nylon",
    "2/30 Nm 70 wool nylon",
    "2/30 Nm 70 wool 30",
    "2/30 Nm wool nylon",
    "2/30 Nm 70/30 wool",
    "2/30 Nm 70/30 wool/nylon/silk",
    "2/30 nn",
    "20 tex +",
    "+ 20 tex",
    "20 tex + wool",
    "20 tex + 30",
    "tex 20 + 30 + 12",
    "2/30 Nm + 70",
    "20 tex + 30 + 12 Nm",
    "20 tex Z 700 + 30 tex Z 600",
    "20 tex Z x 2",
    "20 tex Z -700",
    "20 tex x 2; R",
    "20 tex x 2; R 41",
    "20 tex x 2; R 400 tex",
    "20 tex x 2; R 4 tex",
    "R 41 tex/0",
    "R 41 tex/2; 30 tex",
    "R 0 tex/2",
    "R tex",
    "dtex 78 f 0",
    "dtex 78 f 34 f 24",
    "78 dtex f34/2/3",
    "2/78 dtex f34/2",
    "2/30 Nm f 34",
    "3/5 den f 7",
    "70 den f 24 x 2/3",
    "4 ply",
    "DK",
    "aran weight",
    "'; drop table yarns; --",
    "<b>2/30 Nm</b>",
    "{{ 2/30 Nm }}",
    "2/30 Nm" * 40,
    "😀 2/30 Nm",
    "2/30 Nm 😀",
    "wool 2/30 Nm",
]


@pytest.mark.parametrize("written", HOSTILE, ids=lambda written: ascii(written[:30]))
def test_what_is_no_count_is_refused_in_words(written: str) -> None:
    with pytest.raises(Problem) as refused:
        parse_yarn(written)
    assert refused.value.what
    assert refused.value.tries


LETTERS = st.text(alphabet="0123456789/x+;,. NnMmeEWwTtfFRrSsZzDd%-x²½", max_size=30)
NUMBERS_AND_SYSTEMS = ["2", "30", "2/30", "8/7", "0", "1,5", "Nm", "Ne", "NeW", "tex", "den", "dtex", "run"]
MARKS = ["x", "x 2", "/2", "f 34", "R", ";", "+", "Z 700", "S", "ends of", "two ends", "resultant", "%"]
FIBRE_WORDS = ["wool", "70 wool 30 nylon", "silk"]
PIECES = st.lists(st.sampled_from([*NUMBERS_AND_SYSTEMS, *MARKS, *FIBRE_WORDS]), max_size=7).map(" ".join)


def count_or_problem(written: str) -> Count | Problem:
    try:
        return parse_yarn(written)[0]
    except Problem as problem:
        return problem


@given(st.one_of(st.text(max_size=60), LETTERS, PIECES))
def test_any_text_is_a_yarn_or_a_problem_and_nothing_else(written: str) -> None:
    read_as = count_or_problem(written)
    if isinstance(read_as, Problem):
        assert read_as.what
        assert read_as.tries
    else:
        assert 0.1 <= read_as.resultant_tex <= 1e6
        assert read_as.folds >= 1
        assert read_as.ends >= 1


def test_every_word_for_a_count_system_is_read_as_that_system() -> None:
    for key in systems():
        for word in system_of(key).words:
            assert parse_count(f"30 {word}").system == key
