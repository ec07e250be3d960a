"""Settings of every test run: property tests are judged by their answers, never by the clock.

The gate draws the same examples each time, so a few of them say as much as many; here they are drawn anew each time.
What fails is said at once, so that a run that is cut off has told what it knew. Breadth comes before depth: the first
cases of every test run before the further cases of any; what waits for a compiler, a server or a browser runs after
what does not. A run that has to end by a given moment, on a machine that is slow that day, then lacks the dearest tests
and the further cases, and says how many (LOOPWRIGHT_TESTS_UNTIL, in seconds since 1970).
"""

import os
import time
from collections import Counter

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("here", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("gate", settings.get_profile("here"), derandomize=True, max_examples=25)
settings.load_profile("gate" if os.environ.get("CI") else "here")

UNTIL = float(os.environ.get("LOOPWRIGHT_TESTS_UNTIL") or "inf")
LEFT_OUT = "left out: the time of this run was up"
FIRST_CASES = 4
DEAR = (  # parts of the names of tests that wait for a compiler, a server or a browser
    "tests/mechanics/",
    "tests/web_browser/",
    "_process",
    "test_mechanics_command",
    "test_page_in_browser",
    "test_door_by_schema",
    "test_office",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    met: Counter[str] = Counter()

    def turn(item: pytest.Item) -> tuple[bool, bool]:
        name = item.nodeid.partition("[")[0]
        met[name] += 1
        return met[name] > FIRST_CASES, any(part in name for part in DEAR)

    items.sort(key=turn)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    if time.time() > UNTIL:
        pytest.skip(LEFT_OUT)


class SaysAtOnce:
    """Prints each failure when it happens, and at the end how many tests had no time."""

    def __init__(self) -> None:
        self.left_out = 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            print(f"\nfailed in {report.when}: {report.nodeid}\n{report.longreprtext[-2500:]}", flush=True)
        if report.skipped and LEFT_OUT in report.longreprtext:
            self.left_out += 1

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.left_out:
            terminalreporter.write_line(f"{self.left_out} tests were left out: the time of this run was up.")


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(SaysAtOnce())
