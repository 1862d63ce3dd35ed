"""A command run as somebody at a terminal runs it."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from settingsdesk.cli import main
from settingsdesk.desk.cards import card_keys
from tests.conftest import DemoClub

Run = Callable[..., Result]


@pytest.fixture
def run(demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on the demo club, whose desk was started before."""
    card_keys.must_fit(demo_club.store, demo_club.data)
    monkeypatch.setenv("SETTINGSDESK_DATA", str(demo_club.data.path))
    monkeypatch.setenv("SETTINGSDESK_DATABASE_URL", demo_club.data.server)

    def run_one(*words: str) -> Result:
        return CliRunner().invoke(main, list(words))

    return run_one


@pytest.fixture
def run_empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on a desk with nothing on it."""
    monkeypatch.setenv("SETTINGSDESK_DATA", str(tmp_path / "empty"))

    def run_one(*words: str, typed: str | None = None) -> Result:
        return CliRunner().invoke(main, list(words), input=typed)

    return run_one


@pytest.fixture
def others_may_read_what_is_made() -> Iterator[None]:
    """As on most machines."""
    before = os.umask(0o022)
    yield
    os.umask(before)
