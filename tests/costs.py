"""What tests cost, in seconds of a processor: scripts/test -p tests.costs tests/web

How long a test took depends on what else the machine does; this hardly. It counts the test's own
process, the processes that it waited for and, where there is a ``/proc``, those that live on under
it: the browser stays for all of a run.
"""

import os
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

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
    own_s = used.user + used.system + used.children_user + used.children_system
    return own_s + _used_by_children_s()


def _used_by_children_s() -> float:
    """What living children have used, and theirs; each with those that it waited for."""
    used_s, children = {}, defaultdict(list)
    for file in Path("/proc").glob("[0-9]*/stat"):
        try:
            _, _, rest = file.read_text().rpartition(")")
        except OSError:  # it is gone
            continue
        fields = rest.split()
        number = int(file.parent.name)
        children[int(fields[1])].append(number)
        used_s[number] = sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")
    family = list(children[os.getpid()])
    for number in family:
        family += children[number]
    return sum(used_s[number] for number in family)


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
