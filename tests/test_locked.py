"""What is installed is what was written down: every package with its version and hashes."""

import json
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
LOCKED = ROOT / "scripts" / "locked"
PINNED = re.compile(r"^([\w.-]+)==([^\s;]+)[^\n]*(?:\n +[^\n]*)*", re.MULTILINE)


def locked(name: str) -> dict[str, tuple[str, str]]:
    """Of each package of a lock file its version, and what stands behind it."""
    text = (LOCKED / name).read_text(encoding="utf-8")
    return {found[1]: (found[2], found[0]) for found in PINNED.finditer(text)}


def wanted(*extras: str) -> set[str]:
    """The packages that pyproject.toml names."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    more = [line for extra in extras for line in project["optional-dependencies"][extra]]
    return {re.split(r"[<>=!~; \[]", line)[0] for line in [*project["dependencies"], *more]}


class TestTheLock:
    @pytest.mark.parametrize(("name", "extras"), [("run.txt", ()), ("test.txt", ("test",))])
    def test_it_has_whatever_is_needed(self, name: str, extras: tuple[str, ...]) -> None:
        """A package that is asked for and not locked would stop every installation."""
        assert wanted(*extras) - locked(name).keys() == set()

    @pytest.mark.parametrize("name", ["run.txt", "test.txt"])
    def test_every_package_has_hashes_and_most_have_those_of_several_platforms(
        self, name: str
    ) -> None:
        hashes = {
            package: re.findall(r"--hash=sha256:[0-9a-f]{64}\b", told)
            for package, (_, told) in locked(name).items()
        }
        assert [package for package, those in hashes.items() if not those] == []
        assert len(hashes["sqlalchemy"]) > 10

    def test_both_have_the_same_versions(self) -> None:
        run, test = locked("run.txt"), locked("test.txt")
        assert {name: version for name, (version, _) in run.items()}.items() <= {
            name: version for name, (version, _) in test.items()
        }.items()

    def test_it_is_what_installations_are_made_from(self) -> None:
        """No script installs anything past it."""
        made = (ROOT / "scripts" / "set_up.py").read_text(encoding="utf-8")
        assert '["--require-hashes", "--requirement", str(lock)]' in made
        assert '["--no-deps", "--no-build-isolation", "--editable", str(ROOT)]' in made
        assert made.count('"pip", "install"') == 1


class TestTheBillOfMaterials:
    def test_it_names_every_package_of_the_lock_with_a_licence(self) -> None:
        bill = json.loads((LOCKED / "bill.json").read_text(encoding="utf-8"))
        told = {part["name"]: part["version"] for part in bill["components"]}

        assert told == {name: version for name, (version, _) in locked("run.txt").items()}
        assert all(part["licenses"][0]["license"]["name"] for part in bill["components"])
