"""What tests cost, in seconds of a processor: scripts/test -p tests.costs tests/web

How long a test took depends on what else the machine does; this hardly. It counts the test's own
process and the processes that it waited for, and not the browser, which stays for all of a run: it
is ended, and waited for, after the last test.
"""

import os
from collections import Counter
from collections.abc import Iterator

import pytest

COST = "cost_s"
DEAREST = 25


@pytest.hookimpl(wrapper=True)
def pytest_runtest_setup(item: pytest.Item) -> Iterator[None]:
    yield from _counted(item)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    yield from _counted(item)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Iterator[None]:
    if nextitem is None:
        yield
    else:
        yield from _counted(item)


def _counted(item: pytest.Item) -> Iterator[None]:
    before_s = _used_s()
    try:
        yield
    finally:
        item.user_properties.append((COST, _used_s() - before_s))


def _used_s() -> float:
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The dearest tests, and what each folder costs."""
    costs: Counter[str] = Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", None) == "teardown":
                costs[report.nodeid] += sum(
                    value for name, value in report.user_properties if name == COST
                )
    folders: Counter[str] = Counter()
    for test, cost_s in costs.items():
        folders[test.partition("::")[0].rpartition("/")[0]] += cost_s
    for title, sums in (("dearest tests", costs), ("folders", folders)):
        terminalreporter.section(f"seconds of a processor: {title}")
        for name, cost_s in sums.most_common(DEAREST):
            terminalreporter.line(f"{cost_s:8.2f} {name}")
    terminalreporter.line(f"{sum(costs.values()):8.2f} all {len(costs)}")
