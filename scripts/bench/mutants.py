"""Changes the program at places drawn at random, one at a time, and looks whether a test notices.

    python scripts/bench/mutants.py settingsdesk/planner tests/planner [--many 60] [--seed 1]

It works on a copy of the repository. First those tests run once, and of each line it is noted which
of them come to it. Then each change is tried with the tests that come to its line, the quickest
first, until one fails; one under which they take ten times as long counts as noticed too, since a
search that never ends is. Texts, types and assertions are left as they are. Prints each change as
it was tried, and how many were noticed by module. Some that were not change nothing that anybody
could see; the others want a test. Whoever reads them decides.
Needs coverage (pip install coverage), which is no part of the tests otherwise.
"""

import argparse
import ast
import importlib
import json
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import coverage
import pytest

ROOT = Path(__file__).parents[2]
COPIED = ("settingsdesk", "templates", "tests", "seed", "scripts", "pyproject.toml")
STARTS_WITHIN_S, TIMES_AS_LONG = 60, 10
"""Seconds of a processor, since how long something takes depends on what else the machine does."""
LONGEST_S = 3600

SIGNS: dict[type[ast.AST], tuple[str, ...]] = {
    ast.Lt: ("<", "<=", ">="),
    ast.LtE: ("<=", "<", ">"),
    ast.Gt: (">", ">=", "<="),
    ast.GtE: (">=", ">", "<"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "+"),
    ast.FloorDiv: ("//", "*"),
    ast.And: ("and", "or"),
    ast.Or: ("or", "and"),
}
"""How an operator is written, and what it becomes."""
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
LEFT_OUT = (ast.Assert, ast.JoinedStr, ast.Raise)
PUT_TOGETHER = (ast.List, ast.Tuple, ast.JoinedStr)
"""What is put together by a plus is no sum: every test would notice a minus there."""


def main() -> None:
    """Draw the changes, and try each."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", help="whose modules are changed")
    parser.add_argument("tests", nargs="+", help="that should notice")
    parser.add_argument("--many", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--without", nargs="*", default=[], help="modules of these names")
    told = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place)
        for name in COPIED:
            there = ROOT / name
            (shutil.copytree if there.is_dir() else shutil.copy)(there, copy / name)
        reach = Reach.of(copy, told.folder, told.tests)
        changes = [
            change
            for file in sorted((copy / told.folder).rglob("*.py"))
            if file.stem not in told.without
            for change in Module(str(file.relative_to(copy)), file.read_bytes()).changes()
        ]
        drawn = random.Random(told.seed).sample(changes, min(told.many, len(changes)))
        print(f"{len(changes)} changes could be made, {len(drawn)} are tried", flush=True)
        counts: Counter[tuple[str, str]] = Counter()
        for change in drawn:
            came_of_it = _tried(copy, change, reach)
            counts[change.file, came_of_it] += 1
            print(f"{came_of_it:12} {change.file}:{change.line}: {change}", flush=True)
        for (file, came_of_it), count in sorted(counts.items()):
            print(f"{count:5} {came_of_it:12} {file}")
        print(dict(Counter(came_of_it for _, came_of_it in counts.elements())))


@dataclass(frozen=True)
class Change:
    """Some bytes of a file that become others."""

    file: str
    line: int
    start: int
    end: int
    was: str
    becomes: str

    def __str__(self) -> str:
        return f"{' '.join(self.was.split())!r} -> {' '.join(self.becomes.split())!r}"

    def made(self, source: bytes) -> bytes:
        """The file with it."""
        return source[: self.start] + self.becomes.encode() + source[self.end :]


class Module:
    """The text of a module, and what could be changed in it."""

    def __init__(self, file: str, source: bytes) -> None:
        self._file, self._source = file, source
        self._begins = [0, *(at + 1 for at, byte in enumerate(source) if byte == ord("\n"))]

    def changes(self) -> Iterator[Change]:
        """Every change, from the top down."""
        for node in _looked_at(ast.parse(self._source)):
            yield from self._other_signs(node)
            yield from self._other_values(node)
            if isinstance(node, ast.If | ast.IfExp):
                span = self._span(node.test)
                asked = self._source[slice(*span)].decode()
                yield self._change(node.test.lineno, span, f"(({asked}) and False)")
                yield self._change(node.test.lineno, span, f"(({asked}) or True)")

    def _other_signs(self, node: ast.AST) -> Iterator[Change]:
        for left, operator, right in _operators(node):
            span = self._span(left)[1], self._span(right)[0]
            between = self._source[slice(*span)].decode()
            sign, *others = SIGNS.get(type(operator), ("",))
            for other in others:
                yield self._change(right.lineno, span, between.replace(sign, other, 1))

    def _other_values(self, node: ast.AST) -> Iterator[Change]:
        match node:
            case ast.Constant(value=bool()):
                yield self._change(node.lineno, self._span(node), str(not node.value))
            case ast.Constant(value=int() as number):
                yield self._change(node.lineno, self._span(node), str(number + 1))
            case ast.UnaryOp(op=ast.Not()):
                start, _ = self._span(node)
                yield self._change(node.lineno, (start, start + len("not")), "")
            case ast.Call(func=ast.Name(id=name) as called) if name in NAMES:
                yield self._change(node.lineno, self._span(called), NAMES[name])
            case ast.Continue():
                yield self._change(node.lineno, self._span(node), "break")

    def _span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        ends = self._begins[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0)
        return self._begins[node.lineno - 1] + node.col_offset, ends

    def _change(self, line: int, span: tuple[int, int], becomes: str) -> Change:
        return Change(self._file, line, *span, self._source[slice(*span)].decode(), becomes)


def _looked_at(node: ast.AST) -> Iterator[ast.AST]:
    """A node and what is in it, without types and texts."""
    yield node
    for name, value in ast.iter_fields(node):
        for inner in value if isinstance(value, list) else [value]:
            if name in ("annotation", "returns", "decorator_list") or isinstance(inner, LEFT_OUT):
                continue
            if isinstance(inner, ast.AST):
                yield from _looked_at(inner)


def _operators(node: ast.AST) -> Iterator[tuple[ast.expr, ast.AST, ast.expr]]:
    match node:
        case ast.BinOp(left=left, op=operator, right=right):
            if not isinstance(left, PUT_TOGETHER) and not isinstance(right, PUT_TOGETHER):
                yield left, operator, right
        case ast.BoolOp(op=operator, values=values):
            for left, right in pairwise(values):
                yield left, operator, right
        case ast.Compare(left=left, ops=operators, comparators=others):
            yield from zip([left, *others], operators, others, strict=False)


@dataclass(frozen=True)
class Reach:
    """Which tests come to each line, and how long each takes."""

    by_line: dict[str, list[str]]
    """By ``file:line``, and by ``file`` those that come to any line of it."""
    seconds: dict[str, float]

    @classmethod
    def of(cls, copy: Path, folder: str, tests: list[str]) -> "Reach":
        """Run the tests once; what they load of others is loaded here too, for all that come."""
        notes = copy / "notes.json"
        if _run(copy, tests, LONGEST_S, Watching(copy, folder, notes)):
            sys.exit("The tests fail without any change")
        loaded, *seen = json.loads(notes.read_text())
        for name in loaded:
            with suppress(Exception):  # whatever it is, the tests load it by themselves
                importlib.import_module(name)
        return cls(*seen)

    def tests(self, change: Change) -> list[str]:
        """Those that come to it, the quickest first; what is read once, all of its module."""
        file = change.file
        found = self.by_line.get(f"{file}:{change.line}") or self.by_line.get(file, [])
        return sorted(found, key=lambda test: self.seconds[test])


def _tried(copy: Path, change: Change, reach: Reach) -> str:
    tests = reach.tests(change)
    if not tests:
        return "not reached"
    file = copy / change.file
    source = file.read_bytes()
    file.write_bytes(change.made(source))
    usual_s = sum(reach.seconds[test] for test in tests)
    try:
        status = _run(copy, ["-x", *tests], STARTS_WITHIN_S + round(TIMES_AS_LONG * usual_s))
    except TimeoutError:
        return "without end"
    finally:
        file.write_bytes(source)
    return "noticed" if status else "UNNOTICED"


def _run(copy: Path, told: list[str], most_s: int, *plugins: object) -> int:
    """Pytest's exit status, in a process forked from this one.

    ``TimeoutError`` where it takes more than so many seconds of a processor.
    """
    process = os.fork()
    if process == 0:
        status = 1
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s))
            status = _pytest(copy, told, plugins)
        finally:
            os._exit(status)
    ends_at = time.monotonic() + LONGEST_S
    while not (ended := os.waitpid(process, os.WNOHANG))[0]:
        if time.monotonic() > ends_at:  # it waits for what never comes
            os.killpg(process, signal.SIGKILL)
        time.sleep(0.02)
    if os.WIFSIGNALED(ended[1]):
        raise TimeoutError
    return ended[1]


def _pytest(copy: Path, told: list[str], plugins: Sequence[object]) -> int:
    os.setsid()  # whatever it begins ends with it
    os.chdir(copy)
    sys.path[0] = str(copy)
    # Two changes within a second could be of one size: nothing compiled is to be taken for new.
    sys.dont_write_bytecode = True
    quiet = os.open(os.devnull, os.O_RDWR)
    for stream in (1, 2):
        os.dup2(quiet, stream)
    loaded_before = "ignore::pytest.PytestAssertRewriteWarning"
    always = ["-q", "-p", "no:cacheprovider", "-W", loaded_before]
    return pytest.main([*always, *told], plugins=plugins)


class Watching:
    """What the first run sees: a plugin of its pytest."""

    def __init__(self, copy: Path, folder: str, notes: Path) -> None:
        self._copy, self._notes, self._seconds = copy, notes, dict[str, float]()
        source = [str(copy / folder)]
        self._seen = coverage.Coverage(data_file=None, config_file=False, source=source)

    def pytest_configure(self) -> None:
        """Begin, before any of it is loaded."""
        self._seen.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[object]:
        """Note what is seen from now on under this test."""
        self._seen.switch_context(item.nodeid)
        begins = time.process_time()
        try:
            return (yield)
        finally:
            self._seconds[item.nodeid] = time.process_time() - begins
            self._seen.switch_context("")

    def pytest_sessionfinish(self) -> None:
        """Write it down."""
        self._seen.stop()
        found, by_line = self._seen.get_data(), defaultdict[str, set[str]](set)
        for file in found.measured_files():
            name = str(Path(file).relative_to(self._copy))
            for line, tests in found.contexts_by_lineno(file).items():
                for where in (name, f"{name}:{line}"):
                    by_line[where] |= {*tests} - {""}
        told = {where: sorted(tests) for where, tests in by_line.items()}
        loaded = [name for name in sys.modules if not name.startswith(("settingsdesk", "tests"))]
        self._notes.write_text(json.dumps([loaded, told, self._seconds]))


if __name__ == "__main__":
    main()
