"""Many independent jobs: one after the other, in processes of this machine, or on a Dask cluster by its address.

`runner_for("tcp://host:8786")` uses the cluster, `runner_for(4)` four processes, `runner_for(1)` none. A job is a
function of the module level and its argument; results come back in the order of the arguments, each reported when it is
ready. A job gets what it needs in its argument, seeds included, so that where it ran makes no difference.
A Dask connection carries pickled code: use it on a trusted network only.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from loopwright.problems import Problem

Argument = TypeVar("Argument")
Result = TypeVar("Result")
Ready = Callable[[int, Any], None]


def ignore(_index: int, _result: Any) -> None:
    """Tell nobody."""


class Runner(Protocol):
    """Something that runs jobs."""

    def map(
        self, job: Callable[[Argument], Result], arguments: Sequence[Argument], ready: Ready = ignore
    ) -> list[Result]:
        """Results of the job on every argument, in their order; `ready(index, result)` is called as each comes."""
        ...


@dataclass(frozen=True, slots=True)
class Serial:
    """One job after the other, here."""

    def map(
        self, job: Callable[[Argument], Result], arguments: Sequence[Argument], ready: Ready = ignore
    ) -> list[Result]:
        """See `Runner`."""
        results = []
        for index, argument in enumerate(arguments):
            results.append(job(argument))
            ready(index, results[-1])
        return results


@dataclass(frozen=True, slots=True)
class Processes:
    """Jobs in so many processes of this machine."""

    count: int

    def map(
        self, job: Callable[[Argument], Result], arguments: Sequence[Argument], ready: Ready = ignore
    ) -> list[Result]:
        """See `Runner`."""
        with ProcessPoolExecutor(max_workers=self.count) as pool:
            return _gathered([pool.submit(job, argument) for argument in arguments], ready)


@dataclass(frozen=True, slots=True)
class Cluster:
    """Jobs on a Dask cluster at an address."""

    address: str

    def map(
        self, job: Callable[[Argument], Result], arguments: Sequence[Argument], ready: Ready = ignore
    ) -> list[Result]:
        """See `Runner`.

        Raises:
            Problem: the cluster's library is not installed, or nobody answers at the address.
        """
        try:
            import distributed
        except ImportError:
            raise Problem(
                "cluster", "the library for a cluster is not installed.", tries=["pip install distributed"]
            ) from None
        library: Any = distributed
        try:
            client: Any = library.Client(self.address, timeout="10s")
        except (OSError, TimeoutError) as fault:
            raise Problem(
                "cluster", f"nobody answers at {self.address}: {fault}", tries=["check the address"]
            ) from None
        with client:
            futures = client.map(job, list(arguments), pure=False)
            place = {future.key: index for index, future in enumerate(futures)}
            for future in library.as_completed(futures):
                ready(place[future.key], future.result())
            gathered: list[Result] = client.gather(futures)
            return gathered


def runner_for(where: int | str) -> Runner:
    """The runner for a number of processes or the address of a cluster.

    Raises:
        Problem: neither.
    """
    if isinstance(where, str) and "://" in where:
        return Cluster(where)
    try:
        count = int(where)
    except ValueError:
        count = 0
    if count < 1:
        raise Problem("runner", f"“{where}” is no number of processes.", tries=["2", "tcp://host:8786"])
    return Processes(count) if count > 1 else Serial()


def _gathered(futures: Sequence[Future[Result]], ready: Ready) -> list[Result]:
    place = {future: index for index, future in enumerate(futures)}
    waiting = set(futures)
    while waiting:
        done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
        for future in done:
            ready(place[future], future.result())
    return [future.result() for future in futures]
