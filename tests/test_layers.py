"""The shape of the program: arrows run one way, SQL stays in the store, rooms form no circle."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import settingsdesk
from settingsdesk.resources import folder

PACKAGE = Path(settingsdesk.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))
TEMPLATES = folder("templates")
TESTS = Path(__file__).parent

BELOW_DESK = {"domain", "planner", "cards", "sheets", "store"}
MAY_IMPORT = {
    "domain": set[str](),
    "planner": {"domain"},
    "words": {"domain"},
    "cards": {"domain", "words"},
    "sheets": {"domain"},
    "store": {"domain"},
    "config": {"domain"},
    "folder_lock": {"domain"},
    "resources": {"domain"},
    "desk": {*BELOW_DESK, "config", "folder_lock", "resources"},
    "web": {*BELOW_DESK, "config", "resources", "desk", "words"},
    "cli": {*BELOW_DESK, "config", "folder_lock", "resources", "desk", "web", "words"},
    "__main__": {"cli"},
}
AT_HOME = {
    "flask": {"web"},
    "arabic_reshaper": {"cards"},
    "babel": {"words"},
    "flask_wtf": {"web"},
    "wtforms": {"web"},
    "click": {"cli", "web"},
    "alembic": {"store"},
    "didppy": {"planner"},
    "fpdf": {"cards"},
    "gunicorn": {"web"},
    "qrcode": {"cards"},
    "openpyxl": {"sheets"},
    "PIL": {"desk"},
    "pyotp": {"desk"},
    "pyrage": {"desk"},
    "pyuca": {"store"},
    "zxcvbn": {"desk"},
}
ROOMED = ("domain", "desk", "web")
"""Layers whose modules stand in rooms; the same room has the same name in each."""


def layer(file: Path) -> str:
    """The package or the top-level module of ours that a file belongs to."""
    return file.relative_to(PACKAGE).parts[0].removesuffix(".py")


@cache
def imports(file: Path) -> list[tuple[str, str]]:
    """Every module that a file imports, with each name taken from it."""
    return list(_imports(file))


def _imports(file: Path) -> Iterator[tuple[str, str]]:
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        match node:
            case ast.Import():
                yield from ((alias.name, "") for alias in node.names)
            case ast.ImportFrom(level=0, module=str(module)):
                yield from ((module, alias.name) for alias in node.names)
            case ast.ImportFrom():
                yield f"settingsdesk.{layer(file)}", ""


def room(file: Path) -> str | None:
    """The room of a layer that a file stands in; None for what stands beside the rooms."""
    parts = file.relative_to(PACKAGE).parts
    return parts[1] if len(parts) == 3 else None


def rooms(layer_name: str) -> set[str]:
    """The rooms of a layer."""
    return {found for file in FILES if layer(file) == layer_name and (found := room(file))}


def arrows(layer_name: str) -> dict[str, set[str]]:
    """Which other rooms of its layer each room imports from."""
    reached: dict[str, set[str]] = {name: set() for name in rooms(layer_name)}
    for file in FILES:
        here = room(file)
        if layer(file) != layer_name or here is None:
            continue
        for module, name in imports(file):
            parts = f"{module}.{name}".split(".")
            if parts[:2] == ["settingsdesk", layer_name] and parts[2] in reached:
                reached[here].add(parts[2])
        reached[here].discard(here)
    return reached


def ours(module: str, name: str) -> str | None:
    """Which layer of ours an import reaches into, or None."""
    first, _, rest = f"{module}.{name}".partition(".")
    return rest.partition(".")[0] or "settingsdesk" if first == "settingsdesk" else None


class TestTheDomain:
    def test_it_starts_without_web_database_or_command_line(self):
        """What the trade knows holds wherever it is shown or kept."""
        modules = [
            ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts)
            for file in (PACKAGE / "domain").rglob("*.py")
        ]
        program = (
            f"import importlib, sys; [importlib.import_module(name) for name in {modules}];"
            "print(sorted({name.partition('.')[0] for name in sys.modules}))"
        )
        run = subprocess.run(
            [sys.executable, "-I", "-c", program], capture_output=True, text=True, check=True
        )
        loaded = set(ast.literal_eval(run.stdout))
        assert "settingsdesk" in loaded
        assert not loaded & {"flask", "sqlalchemy", "click", "wtforms", "fpdf", "openpyxl"}

    @pytest.mark.parametrize("file", [file for file in FILES if layer(file) == "domain"], ids=str)
    def test_it_imports_the_standard_library_and_itself_only(self, file):
        """Seen in the text of every module, so that no lazy import escapes."""
        tops = {module.partition(".")[0] for module, _ in imports(file)}
        assert tops <= {*sys.stdlib_module_names, "settingsdesk"}


class TestTheArrows:
    def test_the_package_itself_imports_nothing(self):
        """Else importing the domain would bring everything with it."""
        assert imports(PACKAGE / "__init__.py") == []

    def test_every_layer_has_its_place(self):
        """A new package must say what it may import."""
        assert {layer(file) for file in FILES} - {"__init__"} <= MAY_IMPORT.keys()

    @pytest.mark.parametrize("name", MAY_IMPORT)
    def test_a_layer_imports_only_what_lies_below_it(self, name):
        """Web and command line, the desk, then store, cards, sheets and planner, the domain."""
        against = {
            (file.name, reached)
            for file in FILES
            if layer(file) == name
            for reached in (ours(*one) for one in imports(file))
            if reached is not None and reached not in MAY_IMPORT[name] | {name}
        }
        assert against == set()

    @pytest.mark.parametrize("library", AT_HOME)
    def test_a_library_is_known_to_its_own_layer_only(self, library):
        """Changing one of them changes one layer."""
        users = {
            layer(file)
            for file in FILES
            if any(module.partition(".")[0] == library for module, _ in imports(file))
        }
        assert users <= AT_HOME[library]

    def test_sql_stays_in_the_store(self):
        """Outside it a session is handed on, and nothing else of the database is known."""
        taken = {
            (file.name, module, name)
            for file in FILES
            if layer(file) != "store"
            for module, name in imports(file)
            if module.partition(".")[0] == "sqlalchemy"
        }
        assert {(module, name) for _, module, name in taken} <= {("sqlalchemy.orm", "Session")}


class TestTheRooms:
    @pytest.mark.parametrize("layer_name", ROOMED)
    def test_they_form_no_circle(self, layer_name):
        """Whoever changes a room knows which rooms can feel it: those above."""
        TopologicalSorter(arrows(layer_name)).prepare()

    @pytest.mark.parametrize("layer_name", ROOMED)
    def test_no_two_modules_of_a_room_import_each_other(self, layer_name):
        """Not even where only the type checker would see it."""
        graph = {
            ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts): {
                reached
                for module, name in imports(file)
                for reached in (module, f"{module}.{name}")
            }
            for file in FILES
            if layer(file) == layer_name and file.stem != "__init__"
        }
        TopologicalSorter({name: found & graph.keys() for name, found in graph.items()}).prepare()

    @pytest.mark.parametrize("layer_name", ROOMED)
    def test_each_says_in_a_sentence_what_it_is_for(self, layer_name):
        """The first thing that somebody reads who opens a room."""
        for name in rooms(layer_name):
            text = (PACKAGE / layer_name / name / "__init__.py").read_text("utf-8")
            assert ast.get_docstring(ast.parse(text))

    def test_a_room_has_one_name_on_every_floor(self):
        """What is asked on a page of a room is answered in the desk's room of that name."""
        pages = {entry.name for entry in TEMPLATES.iterdir()}
        assert rooms("web") == pages
        assert rooms("web") - {"frame", "today"} <= rooms("desk")
        assert rooms("desk") - {"terminal", "demo", "backups"} <= rooms("web")

    @pytest.mark.parametrize("layer_name", ROOMED)
    def test_the_tests_of_a_room_stand_in_a_room_of_its_name(self, layer_name):
        """One looks for the test of a module where the module stands."""
        tested = {file.parent.name for file in (TESTS / layer_name).glob("*/test_*.py")}
        assert tested <= rooms(layer_name)


class TestTheFunctions:
    def test_nine_in_ten_fit_a_screen(self):
        """And half of all have twelve lines or fewer."""
        lengths = sorted(
            node.end_lineno - node.lineno + 1
            for file in FILES
            for node in ast.walk(ast.parse(file.read_text("utf-8")))
            if isinstance(node, ast.FunctionDef)
        )
        assert lengths[len(lengths) // 2] <= 12
        assert lengths[len(lengths) * 9 // 10] <= 55
