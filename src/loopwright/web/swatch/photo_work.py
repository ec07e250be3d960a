"""Pictures read in a thread: one at a time, the last word of a window first, each reading kept for all who ask again.

In: the bytes of a picture by their name, and what is said of it. Out: `Progress`, asked for again and again; the answer
is in it when it is done. What a window asked before is dropped when it asks anew; a reading that nobody has asked
after for a while stops. Not covered: the reading itself (`swatch.photo`), taking it into the record (`photo_door`).
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from loopwright.swatch.photo.answer import PhotoReading, PhotoRefused
from loopwright.swatch.photo.photo import read_of_picture
from loopwright.swatch.photo.picture import Picture, Unreadable, read_picture
from loopwright.swatch.photo.refusal import Stopped
from loopwright.swatch.photo.scale import ScaleRefusal
from loopwright.web.swatch.photo_asked import Told

FORGOTTEN_S = 30.0
MOST_KEPT = 60  # readings; each is small
State = Literal["none", "waiting", "working", "done", "stopped", "failed"]
Answer = PhotoReading | PhotoRefused
Report = Callable[[float], None]
GivenUp = Callable[[], bool]
Fetch = Callable[[str], bytes]
Read = Callable[[Picture, Told, Report, GivenUp], Answer]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a picture is: its share, and the answer when it is done; `size_px` as soon as the picture is open."""

    state: State
    share: float = 0.0
    seconds: float = 0.0
    answer: Answer | None = None
    size_px: tuple[int, int] | None = None


@dataclass(slots=True)
class _Job:
    begun: float
    windows: dict[str, float] = field(default_factory=dict)
    state: State = "waiting"
    share: float = 0.0
    answer: Answer | None = None
    size_px: tuple[int, int] | None = None
    ended: float = 0.0


def read(picture: Picture, told: Told, report: Report, stop: GivenUp) -> Answer:
    """Read a picture as a window says."""
    return read_of_picture(picture, told.as_asked(), progress=report, cancelled=stop)


class PhotoBench:
    """All pictures that are being read, and the readings of those that were."""

    def __init__(self, fetch: Fetch, work: Read = read) -> None:
        self.fetch, self.work = fetch, work
        self._jobs: OrderedDict[tuple[str, str], _Job] = OrderedDict()
        self._lock, self._one = threading.Lock(), threading.Lock()
        self._open: tuple[str, Picture] | None = None
        self._closed = False

    def begin(self, photo: str, told: Told, window: str) -> Progress:
        """Read a picture for a window, which no longer waits for anything else."""
        key = (photo, told.name)
        with self._lock:
            for other, job in self._jobs.items():
                if other != key:
                    job.windows.pop(window, None)
            known = self._jobs.get(key)
            if known is None or known.state in ("stopped", "failed"):
                known = self._jobs[key] = _Job(time.monotonic(), {window: time.monotonic()})
                threading.Thread(target=self._run, args=(photo, told, known), name="read a photo", daemon=True).start()
            self._jobs.move_to_end(key)
            known.windows[window] = time.monotonic()
            self._keep_few()
            return _progress(known)

    def progress(self, photo: str, told: Told, window: str) -> Progress:
        """How far it is; asking says that the window still waits."""
        with self._lock:
            job = self._jobs.get((photo, told.name))
            if job is None:
                return Progress("none")
            if window in job.windows:
                job.windows[window] = time.monotonic()
            return _progress(job)

    def give_up(self, photo: str, told: Told, window: str) -> Progress:
        """A window no longer waits; the last one stops the reading."""
        with self._lock:
            job = self._jobs.get((photo, told.name))
            if job is None:
                return Progress("none")
            job.windows.pop(window, None)
            if not job.windows and job.state in ("waiting", "working"):
                job.state = "stopped"
            return _progress(job)

    def answer(self, photo: str, told: Told) -> Answer | None:
        """The reading of a picture, when it is there."""
        job = self._jobs.get((photo, told.name))
        return job.answer if job is not None and job.state == "done" else None

    def close(self) -> None:
        """The program ends."""
        self._closed = True

    def _keep_few(self) -> None:
        ended = [key for key, job in self._jobs.items() if job.state not in ("waiting", "working")]
        for key in ended[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[key]

    def _run(self, photo: str, told: Told, job: _Job) -> None:
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
                picture = self._picture(photo)
                job.size_px = (picture.width_px, picture.height_px)
                job.answer = self.work(picture, told, report, stop)
                job.state = "done"
            except Unreadable as problem:
                job.answer = PhotoRefused(ScaleRefusal.UNREADABLE.value, problem.what, problem.tries)
                job.state = "done"
            except Stopped:
                job.state = "stopped"
            finally:
                job.ended = time.monotonic()
                if job.state == "working":  # our fault: told to the log by the thread that dies of it
                    job.state = "failed"

    def _picture(self, photo: str) -> Picture:
        """The picture, open; the last one stays open, for a person says one thing about it after the other."""
        if self._open is None or self._open[0] != photo:
            self._open = None
            self._open = (photo, read_picture(self.fetch(photo)))
        return self._open[1]


def _progress(job: _Job) -> Progress:
    return Progress(job.state, job.share, (job.ended or time.monotonic()) - job.begun, job.answer, job.size_px)
