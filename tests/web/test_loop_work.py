"""Structures solved live: once for all who wait, stopped when nobody does, kept when done, and told truthfully."""

import asyncio
import threading
import time
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loopwright.mechanics import atlas
from loopwright.mechanics.chapter import Chapter
from loopwright.mechanics.fields import PLACE
from loopwright.problems import Problem
from loopwright.store.solved import SolvedFiles
from loopwright.store.values import Kind
from loopwright.structure.library import library
from loopwright.web.loop import work as work_module

OWN = {"structures": {"own": {"name": "Broken rib", "courses": ["F:KK B:--", "F:K- B:-K"]}}}
PATIENCE_S = 600.0


def a_chapter(structure: Any, ratio: float) -> Chapter:
    """What a solver could hand over: numbers and yarns of plain under this notation."""
    known = atlas.chapter_for(library()["plain"].notation)
    assert known is not None
    one = slice(3, 4)
    return Chapter(
        structure.key, structure.notation.lines(), structure.notation.gating.value, np.array([ratio]),
        known.numbers[one], known.nodes[one] * known.unit, known.lattices[one], known.pulled[one] * known.unit,
        known.pulled_lattices[one], known.first, known.feeds, known.letters, known.diameters, ("at rest",),
    )  # fmt: skip


class Solver:
    """A solver that works until it is told to end; it counts how often it was asked."""

    def __init__(self) -> None:
        self.asked, self.stopped, self.go_on = 0, 0, threading.Event()
        self.fault: Exception | None = None
        self.settled = 1.0

    def __call__(self, structure, ratio, carry_on, report) -> Chapter:
        self.asked += 1
        report(f"{structure.name}, loop {ratio:g} diameters: at rest")
        while carry_on() and not self.go_on.is_set():
            time.sleep(0.005)
        if not carry_on():
            self.stopped += 1
        if self.fault:
            raise self.fault
        chapter = a_chapter(structure, work_module.nearest(ratio))
        numbers = chapter.numbers.copy()
        numbers[:, PLACE["settled"]] = self.settled
        return replace(chapter, numbers=numbers)


@pytest.fixture
def solver(house):
    made = Solver()
    house.loops.bench.work = made
    yield made
    house.loops.bench.close()
    made.go_on.set()


@pytest.fixture
def own(house) -> int:
    return house.shelf.add(Kind.STRUCTURE, OWN, by="test").id


async def post(door, path: str, own: int, window: str, **more) -> dict:
    answer = await door.post(f"/loop/{path}", json={"structure": str(own), "window": window, **more})
    assert answer.status_code in (200, 201), answer.text
    return answer.json()


async def progress(door, own: int, window: str) -> dict:
    return (await door.get(f"/loop/work?structure={own}&window={window}")).json()


async def until(door, own: int, window: str, *states: str) -> dict:
    end = time.monotonic() + PATIENCE_S
    while (told := await progress(door, own, window))["state"] not in states:
        assert time.monotonic() < end, told
        await asyncio.sleep(0.01)
    return told


async def test_two_windows_wait_for_one_work(door, own, solver, house):
    await post(door, "work", own, "one")
    await post(door, "work", own, "two")
    told = await until(door, own, "two", "working")
    assert "come to rest" in told["words"]
    solver.go_on.set()
    await until(door, own, "one", "done", "none")
    assert solver.asked == 1
    answer = (await door.get(f"/loop/answer?structure={own}")).json()
    assert len(answer["views"]) == 1
    assert len(list(house.loops.files.folder.iterdir())) == 1


async def test_what_is_solved_is_known_to_the_next_program(door, own, solver, house):
    solver.go_on.set()
    await post(door, "work", own, "one")
    await until(door, own, "one", "done")
    house.loops.files = house.loops.bench.files = SolvedFiles(house.loops.files.folder)
    assert (await door.get(f"/loop/answer?structure={own}")).json()["views"]
    assert (await post(door, "work", own, "one"))["state"] == "none"
    assert solver.asked == 1


async def test_a_torn_file_is_solved_again(door, own, solver, house):
    solver.go_on.set()
    await post(door, "work", own, "one")
    await until(door, own, "one", "done")
    (file,) = house.loops.files.folder.iterdir()
    file.write_bytes(file.read_bytes()[:100])
    house.loops.files = house.loops.bench.files = SolvedFiles(house.loops.files.folder)
    assert "Work it out now" in (await door.get(f"/loop/answer?structure={own}")).json()["parts"]["work"]
    await post(door, "work", own, "one")
    await until(door, own, "one", "done")
    assert solver.asked == 2
    assert (await door.get(f"/loop/answer?structure={own}")).json()["views"]


async def test_one_of_two_who_gives_up_does_not_stop_the_other(door, own, solver):
    await post(door, "work", own, "one")
    await post(door, "work", own, "two")
    await until(door, own, "one", "working")
    assert (await post(door, "work/stop", own, "one"))["state"] == "working"
    assert solver.stopped == 0
    solver.go_on.set()
    await until(door, own, "two", "done")


async def test_the_last_who_gives_up_stops_the_work_and_nothing_is_kept(door, own, solver, house):
    await post(door, "work", own, "one")
    await until(door, own, "one", "working")
    told = await post(door, "work/stop", own, "one")
    assert told["state"] == "stopped"
    end = time.monotonic() + PATIENCE_S
    while not solver.stopped:
        assert time.monotonic() < end
        await asyncio.sleep(0.01)
    assert not house.loops.files.folder.exists()
    await post(door, "work", own, "one")  # it can be begun anew
    solver.go_on.set()
    await until(door, own, "one", "done")


async def test_work_that_nobody_asks_after_stops(door, own, solver, monkeypatch):
    monkeypatch.setattr(work_module, "FORGOTTEN_S", 0.2)
    await post(door, "work", own, "one")
    await asyncio.sleep(0.6)
    assert solver.stopped == 1
    assert (await progress(door, own, "another"))["state"] == "stopped"


async def test_what_is_no_cloth_is_told_in_the_words_of_the_solver(door, own, solver):
    solver.fault = Problem("structure own", "nothing is cloth at this loop length.", tries=["a longer loop"])
    solver.go_on.set()
    await post(door, "work", own, "one")
    assert "nothing is cloth" in (await until(door, own, "one", "failed"))["words"]


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
async def test_a_solver_that_breaks_is_our_fault_and_can_be_tried_again(door, own, solver):
    solver.fault = FloatingPointError("broken")
    solver.go_on.set()
    await post(door, "work", own, "one")
    assert "our fault" in (await until(door, own, "one", "failed"))["words"]
    solver.fault = None
    await post(door, "work", own, "one")
    await until(door, own, "one", "done")


async def test_a_state_that_did_not_settle_has_no_figures_and_says_so(door, own, solver):
    solver.settled = 0.0
    solver.go_on.set()
    await post(door, "work", own, "one")
    await until(door, own, "one", "done")
    answer = (await door.get(f"/loop/answer?structure={own}")).json()
    assert answer["views"] == []
    assert "no state that may be shown" in answer["parts"]["lede"]
    assert "data-why" not in answer["parts"]["lede"]
    assert answer["parts"]["work"] == ""


async def test_what_the_atlas_holds_is_not_solved(door, solver):
    answer = await door.post("/loop/work", json={"structure": "plain", "window": "one"})
    assert answer.json()["state"] == "none"
    assert solver.asked == 0


async def test_one_structure_is_solved_at_a_time(door, own, solver, house):
    other = {"structures": {"own": {"name": "Other rib", "courses": ["F:KKK B:---", "F:K-- B:-KK"]}}}
    second = house.shelf.add(Kind.STRUCTURE, other, by="test").id
    await post(door, "work", own, "one")
    await until(door, own, "one", "working")
    await post(door, "work", second, "one")
    assert (await progress(door, second, "one"))["state"] == "waiting"
    solver.go_on.set()
    await until(door, second, "one", "done")
    assert solver.asked == 2
