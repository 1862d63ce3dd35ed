"""The shape of the program: arrows run one way, SQL stays in the store, files stay readable."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import settingsdesk

PACKAGE = Path(settingsdesk.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))

BELOW_DESK = {"domain", "planner", "cards", "sheets", "store"}
MAY_IMPORT = {
    "domain": set[str](),
    "planner": {"domain"},
    "cards": {"domain"},
    "sheets": {"domain"},
    "store": {"domain"},
    "config": {"domain"},
    "resources": {"domain"},
    "desk": {*BELOW_DESK, "config", "resources"},
    "web": {*BELOW_DESK, "config", "resources", "desk"},
    "cli": {*BELOW_DESK, "config", "resources", "desk", "web"},
    "__main__": {"cli"},
}
AT_HOME = {
    "flask": {"web"},
    "flask_wtf": {"web"},
    "wtforms": {"web"},
    "click": {"cli", "web"},
    "alembic": {"store"},
    "didppy": {"planner"},
    "fpdf": {"cards"},
    "qrcode": {"cards"},
    "openpyxl": {"sheets"},
    "PIL": {"desk"},
}
LONGEST_FILE = 450


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


def ours(module: str, name: str) -> str | None:
    """Which layer of ours an import reaches into, or None."""
    first, _, rest = f"{module}.{name}".partition(".")
    return rest.partition(".")[0] or "settingsdesk" if first == "settingsdesk" else None


class TestTheDomain:
    def test_it_starts_without_web_database_or_command_line(self):
        """What the trade knows holds wherever it is shown or kept."""
        modules = [f"settingsdesk.domain.{file.stem}" for file in (PACKAGE / "domain").glob("*.py")]
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


class TestTheFiles:
    @pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(PACKAGE)))
    def test_none_needs_a_table_of_contents(self, file):
        """When it does, it is two files."""
        assert len(file.read_text("utf-8").splitlines()) <= LONGEST_FILE

    def test_nine_functions_in_ten_fit_a_screen(self):
        """And half of all have twelve lines or fewer."""
        lengths = sorted(
            node.end_lineno - node.lineno + 1
            for file in FILES
            for node in ast.walk(ast.parse(file.read_text("utf-8")))
            if isinstance(node, ast.FunctionDef)
        )
        assert lengths[len(lengths) // 2] <= 12
        assert lengths[len(lengths) * 9 // 10] <= 55
