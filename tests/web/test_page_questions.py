"""How many questions a page asks the database."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
from sqlalchemy import Engine, event

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.squad import athletes, settings
from tests.conftest import DemoClub
from tests.web.pages import Reader

PAGES = [
    "/",
    "/apparatus/",
    "/athletes/",
    "/athletes/1",
    "/athletes/squad",
    "/cards/",
    "/cards/1",
    "/convert/",
    "/rotations/1",
    "/rotations/new",
    "/sheets/squad.csv",
]


@contextmanager
def questions() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)


def grow(demo_club: DemoClub) -> None:
    """One more model, with a setting of the first athlete for it, and two apparatus of it."""
    with demo_club.work(writes=True) as session:
        bars = apparatus.piece(session, 1)
        known = models.model(session, bars.model_id).model
        added = models.add_model(session, "Runa", replace(known, name="Hall frame B"))
        for name in ("Bars in the annexe", "Bars in the store"):
            apparatus.add_piece(session, name, "", added.id, 0)
        athlete = athletes.find(session)[0]
        taken = settings.setting_of_setup(known, bars.must_stand_somewhere())
        settings.keep_setting(session, "Runa", athlete.id, added.id, taken)


class TestAPage:
    @pytest.mark.parametrize("path", PAGES)
    def test_asks_no_more_of_a_larger_hall(
        self, demo_pages: Reader, demo_club: DemoClub, path: str
    ) -> None:
        """One question for each apparatus, and a page grows slow with the club."""
        with questions() as before:
            demo_pages.client.get(path)
        grow(demo_club)

        with questions() as after:
            demo_pages.client.get(path)

        assert len(before) > 3
        assert len(after) == len(before)
