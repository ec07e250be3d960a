"""Many jobs give the same results wherever they run: here, in processes, on a cluster by its address."""

import pytest

from loopwright.problems import Problem
from loopwright.runner import Cluster, Processes, Serial, runner_for

NUMBERS = [3, 1, 4, 1, 5]


def square(number: int) -> int:
    return number * number


def test_jobs_here_and_in_processes_give_the_same_results_in_order():
    seen: list[tuple[int, int]] = []
    assert Serial().map(square, NUMBERS, lambda *each: seen.append(each)) == [9, 1, 16, 1, 25]
    assert seen == [(0, 9), (1, 1), (2, 16), (3, 1), (4, 25)]
    told: list[tuple[int, int]] = []
    assert Processes(2).map(square, NUMBERS, lambda *each: told.append(each)) == [9, 1, 16, 1, 25]
    assert sorted(told) == seen


def test_a_cluster_is_used_by_its_address():
    """Oracle: the cluster of a general-purpose library, started here."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, protocol="tcp://"
    ) as cluster:
        runner = runner_for(cluster.scheduler_address)
        assert isinstance(runner, Cluster)
        told: list[tuple[int, int]] = []
        assert runner.map(square, NUMBERS, lambda *each: told.append(each)) == [9, 1, 16, 1, 25]
        assert sorted(told) == [(0, 9), (1, 1), (2, 16), (3, 1), (4, 25)]


def test_nobody_at_the_address_is_said_in_words():
    pytest.importorskip("distributed")
    with pytest.raises(Problem, match=r"nobody answers at tcp://127\.0\.0\.1:1"):
        Cluster("tcp://127.0.0.1:1").map(square, NUMBERS)


@pytest.mark.parametrize("where", ["", "none", "0", "-2", "2.5"])
def test_what_is_no_number_of_processes_is_refused(where):
    with pytest.raises(Problem, match="no number of processes"):
        runner_for(where)


def test_one_process_means_none():
    assert isinstance(runner_for("1"), Serial)
    assert isinstance(runner_for(2), Processes)
