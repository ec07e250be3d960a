"""Structures that the atlas does not hold, solved now in a thread: once, however many windows wait for them.

In: `LoopCloth`s that lack a chapter. Out: `Progress`, asked for again and again by the windows that wait; the chapter
is kept in the solved files. One is solved at a time, others wait in line. A window may give up; when the last one has,
or none has asked for a while, the work stops and nothing is kept.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from loopwright.mechanics.chapter import Chapter, chapter_of
from loopwright.mechanics.live import nearest
from loopwright.mechanics.relax import CarryOn
from loopwright.problems import Problem
from loopwright.store.solved import SolvedFiles
from loopwright.structure.library import Structure
from loopwright.web.loop.cloth import LoopCloth

FORGOTTEN_S = 30.0
State = Literal["none", "waiting", "working", "done", "stopped", "failed"]
Solve = Callable[[Structure, float, CarryOn, Callable[[str], None]], Chapter]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a structure is; `words` are the solver's own, or why it failed."""

    state: State
    words: str = ""
    seconds: int = 0


@dataclass(slots=True)
class _Job:
    name: str
    begun: float
    windows: dict[str, float] = field(default_factory=dict)
    state: State = "waiting"
    words: str = ""
    is_given_up: bool = False


_STEPS = {"at rest": "step 1 of 2, the loops come to rest", "response": "step 2 of 2, how it rolls, leans and gives"}


def solve(structure: Structure, ratio: float, carry_on: CarryOn, report: Callable[[str], None]) -> Chapter:
    """The chapter of a structure at one loop length over diameter."""
    return chapter_of(structure, [nearest(ratio)], carry_on=carry_on, report=report)


class Workbench:
    """All structures that are being solved."""

    def __init__(self, files: SolvedFiles, work: Solve = solve) -> None:
        self.files, self.work = files, work
        self._jobs: dict[str, _Job] = {}
        self._lock, self._one = threading.Lock(), threading.Lock()

    def begin(self, known: LoopCloth, window: str) -> Progress:
        """Solve it for a window, or join those who wait for it."""
        with self._lock:
            job = self._jobs.get(known.key)
            if job is None or job.is_given_up or job.state not in ("waiting", "working"):
                job = self._jobs[known.key] = _Job(known.name, time.monotonic(), {window: time.monotonic()})
                structure, ratio = known.setting.structure, known.setting.ratio
                threading.Thread(
                    target=self._run, args=(known.key, job, structure, ratio), name=f"solve {known.key}", daemon=True
                ).start()
            job.windows[window] = time.monotonic()
            return self._told(job)

    def progress(self, key: str, window: str) -> Progress:
        """How far it is; asking says that the window still waits."""
        with self._lock:
            job = self._jobs.get(key)
            if job is None:
                return Progress("none")
            if window in job.windows:
                job.windows[window] = time.monotonic()
            return self._told(job)

    def give_up(self, key: str, window: str) -> Progress:
        """A window no longer waits; the last one takes the work with it."""
        with self._lock:
            job = self._jobs.get(key)
            if job is None:
                return Progress("none")
            job.windows.pop(window, None)
            if not job.windows and job.state in ("waiting", "working"):
                job.is_given_up = True
                job.state, job.words = "stopped", "Stopped; nothing was kept."
            return self._told(job)

    def close(self) -> None:
        """The program ends."""
        with self._lock:
            for job in self._jobs.values():
                job.is_given_up = True

    def _told(self, job: _Job) -> Progress:
        return Progress(job.state, job.words, round(time.monotonic() - job.begun))

    def _run(self, key: str, job: _Job, structure: Structure, ratio: float) -> None:
        def carry_on() -> bool:
            waited_for = max(list(job.windows.values()), default=0.0) > time.monotonic() - FORGOTTEN_S
            return waited_for and not job.is_given_up

        def report(words: str) -> None:
            step = words.rpartition(": ")[2]
            self._say(job, "working", f"{job.name}: {_STEPS.get(step, step)}")

        with self._one:
            if not carry_on():
                self._say(job, "stopped", "Stopped; nothing was kept.")
                return
            if self.files.read(key) is not None:
                self._say(job, "done", "")
                return
            try:
                self._say(job, "working", f"{job.name}: the yarn is laid into loops")
                chapter = self.work(structure, ratio, carry_on, report)
                if not carry_on():
                    self._say(job, "stopped", "Stopped; nothing was kept.")
                    return
                self.files.keep(key, chapter)
                self._say(job, "done", "")
            except Problem as problem:
                self._say(job, "failed", problem.sentence())
            finally:
                if job.state == "working":  # our fault: told to the log by the thread that dies of it
                    self._say(job, "failed", "The solver broke off; that is our fault and stands in the log.")

    def _say(self, job: _Job, state: State, words: str) -> None:
        with self._lock:
            if not (job.is_given_up and state == "working"):
                job.state, job.words = state, words
