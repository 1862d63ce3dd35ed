"""What is said of the last backup: well only where it can be relied on."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from settingsdesk.config import BackupNotes
from settingsdesk.desk.backups import standing as told
from settingsdesk.desk.backups.standing import Standing, standing

NOON = datetime(2026, 11, 30, 12).astimezone(UTC)
MADE = BackupNotes(Path("stick"), NOON, Path("stick/desk.zip"))


class TestTheLastBackup:
    @pytest.mark.parametrize(
        ("notes", "later", "said"),
        [
            (BackupNotes(), timedelta(0), Standing(False, "Nothing is backed up")),
            (
                BackupNotes(Path("stick")),
                timedelta(0),
                Standing(False, "Nothing is backed up"),
            ),
            (MADE, timedelta(days=7), Standing(True, "Last backup: 30 November 2026")),
            (
                MADE,
                timedelta(days=7, seconds=1),
                Standing(False, "Last backup: 30 November 2026, none since"),
            ),
            (
                replace(MADE, failed_at=NOON + timedelta(days=1), why="No room"),
                timedelta(days=1),
                Standing(
                    False,
                    "The backup of 1 December 2026 failed: No room. Last backup: 30 November 2026",
                ),
            ),
            (
                BackupNotes(failed_at=NOON, why="No room"),
                timedelta(0),
                Standing(
                    False, "The backup of 30 November 2026 failed: No room. There is no backup"
                ),
            ),
        ],
    )
    def test_is_told_as_it_is(
        self,
        monkeypatch: pytest.MonkeyPatch,
        notes: BackupNotes,
        later: timedelta,
        said: Standing,
    ) -> None:
        monkeypatch.setattr(told, "now", lambda: NOON + later)
        assert standing(notes) == said
