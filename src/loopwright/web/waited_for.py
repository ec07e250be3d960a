"""Long work in a thread, one piece at a time, for windows that ask again and again how far it is.

In: a key that names the work, and what does it. Out: `Progress`, with the answer in it when it is done. What a window
asked before is dropped when it asks anew; work that nobody has asked after for a while stops; answers are kept for all
who ask again. Not covered: the work itself, and work that must end when the shelf says so.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, Literal, TypeVar

FORGOTTEN_S = 30.0
MOST_KEPT = 60  # answers; each is small
State = Literal["none", "waiting", "working", "done", "stopped", "failed"]
Report = Callable[[float], None]
GivenUp = Callable[[], bool]
A = TypeVar("A")
Do = Callable[[Report, GivenUp], A]


class GaveUp(Exception):
    """Nobody waits for the work any more."""


@dataclass(frozen=True, slots=True)
class Progress(Generic[A]):
    """How far a piece of work is: its share, and the answer when it is done."""

    state: State
    share: float = 0.0
    seconds: float = 0.0
    answer: A | None = None


@dataclass(slots=True)
class _Job(Generic[A]):
    begun: float
    windows: dict[str, float] = field(default_factory=dict)
    state: State = "waiting"
    share: float = 0.0
    answer: A | None = None
    ended: float = 0.0


class Works(Generic[A]):
    """All pieces of work of one sort, and the answers of those that were done."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._jobs: OrderedDict[Hashable, _Job[A]] = OrderedDict()
        self._lock, self._one = threading.Lock(), threading.Lock()
        self._closed = False

    def begin(self, key: Hashable, window: str, do: Do[A]) -> Progress[A]:
        """Do it for a window, which no longer waits for anything else; `do` raises `GaveUp` when it was stopped."""
        with self._lock:
            for other, job in self._jobs.items():
                if other != key:
                    job.windows.pop(window, None)
            known = self._jobs.get(key)
            if known is None or known.state in ("stopped", "failed"):
                known = self._jobs[key] = _Job(time.monotonic(), {window: time.monotonic()})
                threading.Thread(target=self._run, args=(do, known), name=self.name, daemon=True).start()
            self._jobs.move_to_end(key)
            known.windows[window] = time.monotonic()
            self._keep_few()
            return _progress(known)

    def progress(self, key: Hashable, window: str) -> Progress[A]:
        """How far it is; asking says that the window still waits."""
        with self._lock:
            job = self._jobs.get(key)
            if job is None:
                return Progress("none")
            if window in job.windows:
                job.windows[window] = time.monotonic()
            return _progress(job)

    def give_up(self, key: Hashable, window: str) -> Progress[A]:
        """A window no longer waits; the last one stops the work."""
        with self._lock:
            job = self._jobs.get(key)
            if job is None:
                return Progress("none")
            job.windows.pop(window, None)
            if not job.windows and job.state in ("waiting", "working"):
                job.state = "stopped"
            return _progress(job)

    def answer(self, key: Hashable) -> A | None:
        """The answer, when it is there."""
        job = self._jobs.get(key)
        return job.answer if job is not None and job.state == "done" else None

    def close(self) -> None:
        """The program ends."""
        self._closed = True

    def _keep_few(self) -> None:
        ended = [key for key, job in self._jobs.items() if job.state not in ("waiting", "working")]
        for key in ended[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[key]

    def _run(self, do: Do[A], job: _Job[A]) -> None:
        def stop() -> bool:
            waited = max(list(job.windows.values()), default=0.0) > time.monotonic() - FORGOTTEN_S
            return self._closed or job.state == "stopped" or not waited

        def report(share: float) -> None:
            job.share = max(job.share, min(share, 1.0))

        with self._one:
            try:
                if stop():
                    job.state = "stopped"
                    return
                job.state = "working"
                job.answer = do(report, stop)
                job.state = "done"
            except GaveUp:
                job.state = "stopped"
            finally:
                job.ended = time.monotonic()
                if job.state == "working":  # our fault: told to the log by the thread that dies of it
                    job.state = "failed"


def _progress(job: _Job[A]) -> Progress[A]:
    return Progress(job.state, job.share, (job.ended or time.monotonic()) - job.begun, job.answer)
