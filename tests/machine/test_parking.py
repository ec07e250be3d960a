"""The cheapest parking of carriers against a plain search over every carrier, and against the counts of the reference.

The search of the tests moves single carriers (not counts of a yarn), forwards, breadth first, and picks every possible
set of carriers; it shares nothing with the program but the rules of the carriage.
"""

import random
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.machine.parking import best_order, best_parking, intarsia_passes
from loopwright.machine.traverses import Beds, lay
from loopwright.problems import Problem

Carriers = tuple[str, ...]


def fewest_traverses(courses: str, systems: int, carriers: Carriers, sides: tuple[int, ...]) -> int:
    """Breadth first over (courses done, carriage, side of every carrier), the carriage at the left."""
    level, crossed = {(0, 0, sides)}, 0
    seen = set(level)
    while not any(done == len(courses) for done, _, _ in level):
        following = set()
        for done, carriage, now in level:
            here = [index for index, side in enumerate(now) if side == carriage]
            for taken in range(min(systems, len(courses) - done, len(here)) + 1):
                wanted = sorted(courses[done : done + taken])
                for chosen in combinations(here, taken):
                    if sorted(carriers[index] for index in chosen) == wanted:
                        moved = tuple(1 - side if index in chosen else side for index, side in enumerate(now))
                        following.add((done + taken, 1 - carriage, moved))
        level = following - seen
        seen |= level
        crossed += 1
    return crossed


def replayed(courses: str, start: Beds, feeds: tuple[int, ...]) -> int:
    """Courses that the told traverses really lay from the told start, carriers checked."""
    places, carriage, done = list(start.carriers), start.carriage, 0
    for taken in feeds:
        for yarn in courses[done : done + taken]:
            places.remove((yarn, carriage))
            places.append((yarn, 2 + carriage))  # on its way: not to be used again in this traverse
        places = [(yarn, 3 - side if side > 1 else side) for yarn, side in places]
        carriage, done = 1 - carriage, done + taken
    return done


def cases(count: int, seed: int):
    """Stripes, systems and carriers of small random jobs."""
    draw = random.Random(seed)
    for _ in range(count):
        letters = "abc"[: draw.randint(1, 3)]
        stripes = tuple((draw.choice(letters), draw.randint(1, 4)) for _ in range(draw.randint(1, 4)))
        yield stripes, draw.randint(1, 2), draw.randint(1, 4), {yarn: draw.randint(1, 2) for yarn, _ in stripes}


@pytest.mark.parametrize(("stripes", "repeats", "systems", "held"), list(cases(80, seed=7)))
def test_no_start_and_no_choice_of_moves_needs_fewer_traverses(stripes, repeats, systems, held):
    courses = "".join(yarn * count for yarn, count in stripes) * repeats
    carriers = tuple(yarn for yarn in sorted(held) for _ in range(held[yarn]))
    starts = product((0, 1), repeat=len(carriers))
    fewest = min(fewest_traverses(courses, systems, carriers, sides) for sides in starts)
    found = best_parking(stripes, repeats=repeats, systems=systems, carriers=held)
    assert found.traverses == fewest
    told = tuple(side for _, side in found.start.carriers)
    assert fewest_traverses(courses, systems, carriers, told) == fewest


stripes_of_any_kind = st.lists(st.tuples(st.sampled_from("abcd"), st.integers(1, 6)), min_size=1, max_size=5).map(tuple)


@settings(deadline=None)
@given(stripes=stripes_of_any_kind, repeats=st.integers(1, 8), systems=st.integers(1, 4), each=st.integers(1, 2))
def test_the_told_traverses_lay_every_course_with_a_carrier_at_hand(stripes, repeats, systems, each):
    held = {yarn: each for yarn, _ in stripes}
    found = best_parking(stripes, repeats=repeats, systems=systems, carriers=held)
    courses = "".join(yarn * count for yarn, count in stripes) * repeats
    assert replayed(courses, found.start, found.feeds) == len(courses)
    assert max(found.feeds) <= systems


@settings(deadline=None)
@given(stripes=stripes_of_any_kind, repeats=st.integers(1, 8), systems=st.integers(1, 4), data=st.data())
def test_taking_all_one_can_from_any_side_is_never_better(stripes, repeats, systems, data):
    found = best_parking(stripes, repeats=repeats, systems=systems)
    yarns = sorted({yarn for yarn, _ in stripes})
    start = Beds(0, tuple((yarn, data.draw(st.integers(0, 1))) for yarn in yarns))
    pattern = tuple(yarn for yarn, count in stripes for _ in range(count))
    assert found.traverses <= len(lay(pattern, 0, len(pattern) * repeats, systems, start).feeds)
    assert found.traverses <= found.from_one_side


@settings(deadline=None, max_examples=30)
@given(stripes=stripes_of_any_kind, systems=st.integers(1, 3))
def test_a_free_order_is_never_worse_and_knits_the_same_stripes(stripes, systems):
    kept, free = (choose(stripes, repeats=6, systems=systems) for choose in (best_parking, best_order))
    assert free.traverses <= kept.traverses
    assert sorted(free.stripes) == sorted(stripes)
    assert free.stripes[0] == stripes[0]


def test_a_free_order_really_saves_where_the_given_one_strands_a_carrier():
    stripes = (("a", 4), ("b", 2), ("c", 3), ("d", 1), ("e", 2))
    kept, free = (choose(stripes, repeats=25, systems=2) for choose in (best_parking, best_order))
    assert free.traverses < kept.traverses < kept.from_one_side


def test_words_name_the_sides_and_both_counts():
    found = best_parking((("a", 2), ("b", 2)), repeats=25, systems=2)
    assert "a starts left and b right" in found.words
    assert "51 traverses" in found.words
    assert "100 from one side" in found.words
    assert found.saved == 49


def test_words_say_when_no_other_start_is_better():
    assert "no other start needs fewer" in best_parking((("a", 2), ("b", 2)), repeats=25, systems=1).words


def test_several_carriers_of_a_yarn_are_counted_in_words():
    found = best_parking((("a", 3), ("b", 1)), repeats=10, systems=3, carriers={"a": 3, "b": 1})
    assert found.saved == 0 or "of a" in found.words


@pytest.mark.parametrize(("areas", "systems", "passes"), [(1, 1, 1), (5, 2, 3), (6, 2, 3), (7, 4, 2)])
def test_intarsia_areas_share_the_systems(areas, systems, passes):
    assert intarsia_passes(areas=areas, systems=systems) == passes


@pytest.mark.parametrize(
    "wrong",
    [
        {"stripes": ()},
        {"stripes": (("a", 0),)},
        {"repeats": 0},
        {"systems": 0},
        {"carriers": {"b": 1}},
        {"carriers": {"a": 40, "b": 200}},
    ],
)
def test_stripes_that_cannot_be_laid_are_refused(wrong):
    with pytest.raises(Problem):
        best_parking(**{"stripes": (("a", 2), ("b", 2)), "repeats": 2, "systems": 2} | wrong)


def test_too_many_stripes_to_try_every_order_are_refused_with_both_numbers():
    with pytest.raises(Problem, match=r"7 stripes.*6 stripes"):
        best_order(tuple((yarn, 1) for yarn in "abcdefg"), systems=2)
