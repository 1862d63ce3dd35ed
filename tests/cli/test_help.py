"""What every command says of itself."""

import gc
from importlib import import_module
from pathlib import Path

import pytest
from click.testing import CliRunner

from settingsdesk.cli import main


class TestHelp:
    @pytest.mark.parametrize("command", [[], *[[name] for name in main.commands]])
    def test_every_command_explains_itself(self, command: list[str]) -> None:
        shown = CliRunner().invoke(main, [*command, "--help"])

        assert shown.exit_code == 0
        assert "Usage:" in shown.output

    def test_the_readme_shows_every_command(self) -> None:
        """A command that the README does not show is not there for a coach."""
        readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")

        for name in main.commands:
            assert f"settingsdesk {name}" in readme


class TestTheProgramItself:
    def test_is_read_without_looking_for_garbage_and_what_comes_later_is_looked_through(
        self,
    ) -> None:
        """A desk that is served for months would else keep all that it ever let go."""
        import_module("settingsdesk.__main__")

        assert gc.isenabled()
