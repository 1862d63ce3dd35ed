"""What watches the desk is told whether it can answer, and nothing else."""

from flask import Flask
from sqlalchemy import text

from settingsdesk.config import DataFolder
from settingsdesk.store.work import Store
from tests.databases import Databases


class TestHealth:
    def test_is_well_without_a_session(self, app: Flask) -> None:
        answer = app.test_client().get("/health")

        assert (answer.status_code, answer.text) == (200, "well\n")
        assert "Set-Cookie" not in answer.headers
        assert answer.headers["Cache-Control"] == "no-store"

    def test_a_database_of_another_version_is_not_well(self, app: Flask, store: Store) -> None:
        """An upgrade that was forgotten, or a newer version that was taken back."""
        with store.installation(writes=True) as session:
            session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
        answer = app.test_client().get("/health")
        assert (answer.status_code, answer.text) == (503, "the database is of another version\n")

    def test_a_database_that_does_not_answer_is_not_well(
        self, app: Flask, data: DataFolder, store: Store, databases: Databases
    ) -> None:
        store.close()
        if data.server:
            databases.forget(data.database)
        else:
            data.database.write_bytes(b"no database at all" * 1000)
            for log in data.path.glob("*-wal"):
                log.unlink()
        answer = app.test_client().get("/health")
        assert (answer.status_code, answer.text) == (503, "the database does not answer\n")
