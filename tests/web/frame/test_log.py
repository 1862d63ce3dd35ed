"""The log says who did what and how it ended, and nothing that belongs to a person."""

import io
import json
import logging
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.exc import StatementError

from settingsdesk.desk.squad import athletes
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.clubs import Account, Membership
from settingsdesk.store.parts import Part
from settingsdesk.web.frame.log import JsonLines
from tests.conftest import DEMO_PASSWORD, DemoClub
from tests.databases import of_files
from tests.web.every_press import PRESSES
from tests.web.everybody import Hall, begin_runs, lay
from tests.web.pages import Reader
from tests.web.whole_desk import SMALL, one_of_everything

WALKS = (
    *("accounts.password", "athletes.edit", "athletes.erase", "athletes.keeping", "athletes.leave"),
    *("athletes.new", "athletes.setting", "athletes.unite", "bars.end", "card.tell"),
    *("cards.choose", "cards.index", "cards.withdraw", "checks.begin", "coach_lists.keep"),
    *("coach_lists.send", "entries.new", "findings.new", "meet_cards.choose", "meets.new"),
    *("remarks.answer", "rotations.new", "sheets.index", "start_orders.new", "station.card"),
    *("station.confirm", "station.enter", "station.leave", "stations.open_one", "times.accept"),
)


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """What is logged meanwhile, by whatever logs in this process."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    before = root.level
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    yield written
    root.removeHandler(handler)
    root.setLevel(before)


def read(lines: io.StringIO) -> list[dict[str, object]]:
    return [json.loads(line) for line in lines.getvalue().splitlines()]


class TestNothingOfAPerson:
    def test_walks_of_the_desk_leave_no_name_no_code_and_no_secret(
        self, demo_club: DemoClub, demo_app: Flask, tmp_path: Path, lines: io.StringIO
    ) -> None:
        """Whoever keeps the log, or is sent it, learns of no child."""
        hall = Hall(one_of_everything(demo_club, demo_app, tmp_path), Reader)
        begin_runs(hall, SMALL)
        for name in WALKS:
            lay(hall, SMALL, name)
            PRESSES[name](hall)
        scanner = Reader(demo_app)
        for address in (f"/C/{hall.code}", f"/C/{hall.code}X", f"/S/{hall.station_code}", "/nix"):
            scanner.client.get(address)
        scanner.sign_in("runa", "not my password at all")
        demo_app.extensions["settingsdesk"].searches.close()

        log = lines.getvalue()
        assert len(read(lines)) > len(WALKS)
        assert [secret for secret in secrets_of(hall, demo_club) if secret in log] == []

    def test_an_unexpected_error_tells_where_it_was_and_not_what_it_said(
        self, app_of_its_own: Flask, lines: io.StringIO
    ) -> None:
        """Python puts values into what an error says."""
        app_of_its_own.testing = False

        def fails() -> str:
            raise ValueError("Jagna Bąkiewicz has no 1713")

        app_of_its_own.view_functions["help.page"] = fails
        assert app_of_its_own.test_client().get("/help?name=Jagna").status_code == 500

        failed = [line for line in read(lines) if line.get("error")]
        assert [line["error"] for line in failed] == ["ValueError"]
        assert str(failed[0]["at"]).endswith("fails']")
        assert "Jagna" not in lines.getvalue()
        assert "1713" not in lines.getvalue()

    @of_files  # a server says the row itself, and the log takes no word of an error
    def test_an_error_of_the_database_does_not_show_what_it_was_given(
        self, demo_club: DemoClub
    ) -> None:
        """SQLAlchemy would print every parameter."""
        with pytest.raises(StatementError) as failed, demo_club.work(writes=True) as session:
            session.add(Part(name="Bąkiewicz's pin", kind=None, minimum=1, created_by="Runa"))
        assert "Bąkiewicz" not in str(failed.value)
        assert "hide_parameters" in str(failed.value)


def secrets_of(hall: Hall, club: DemoClub) -> list[str]:
    """Everything that must be in no log, as it was used on these walks."""
    with club.work() as session:
        people = session.scalars(select(Athlete)).all()
        printed = [athletes.member_of(row).printed_name for row in people]
        names = [name for row in people for name in (row.family_name, row.given_name)]
        coaches = [row.shown_name for row in session.scalars(select(Membership))]
    with club.store.installation(writes=False) as session:
        coaches += [row.password_hash for row in session.scalars(select(Account))]
    keys = [club.data.card_key().hex(), club.data.secret_key().hex()]
    codes = [str(hall.desk.ids[name]) for name in ("code", "short_code", "station_code")]
    typed = [DEMO_PASSWORD, "nine kettles", "not my password", "Lowered by one", "Auermann", "Ivo"]
    sought = [*names, *printed, *coaches, *keys, *codes, *hall.desk.stamps.values(), *typed]
    return [one for one in dict.fromkeys(sought) if len(one) > 2]


class TestWhatIsLogged:
    def test_signing_in_right_and_wrong_with_account_and_address(
        self, demo_app: Flask, demo_club: DemoClub, lines: io.StringIO
    ) -> None:
        Reader(demo_app).sign_in("runa", "not my password at all")
        Reader(demo_app).sign_in("runa", DEMO_PASSWORD)

        wrong, right = [line for line in read(lines) if line["event"] == "accounts.sign_in"]
        assert (wrong["result"], wrong["account"]) == ("refused", None)
        assert (right["result"], right["account"]) == ("done", demo_club.account.account_id)
        assert {wrong["address"], right["address"]} == {"127.0.0.1"}

    def test_a_limit_that_is_reached(self, demo_app: Flask, lines: io.StringIO) -> None:
        for _ in range(12):
            Reader(demo_app).sign_in("runa", "not my password at all")
        assert read(lines)[-1]["result"] == "limited"

    def test_a_page_that_is_only_looked_at_is_not(
        self, demo_pages: Reader, lines: io.StringIO
    ) -> None:
        """Phones ask each second; who looked at whom is nobody's business."""
        demo_pages.get("/athletes/1")
        assert read(lines) == []

    def test_time_in_utc_and_one_line_each(self, scanner: Reader, lines: io.StringIO) -> None:
        scanner.client.get("/nothing%0d%0ahere%0a%22level%22")
        [line] = read(lines)
        moment = datetime.fromisoformat(str(line["time"]))
        assert moment.utcoffset() == timedelta(0)
        assert (line["event"], line["result"], line["status"]) == ("no such page", "refused", 404)

    @pytest.mark.parametrize("told", ["a\nb", "a\r\n{}", "\u2028", "\x1b[31m", '"}\n{"time": 1}'])
    def test_ends_of_lines_in_a_value_begin_no_line(self, told: str, lines: io.StringIO) -> None:
        """Nobody writes a line of the log by what they send."""
        logging.getLogger("settingsdesk.tests").warning("%s", told)
        [line] = read(lines)
        assert line["event"] == told
        assert lines.getvalue().isascii()

    def test_what_another_library_says_has_no_values(self, lines: io.StringIO) -> None:
        logging.getLogger("waitress").warning("Exception while serving %s", "/C/ABC")
        logging.getLogger("waitress").warning("Exception while serving /C/ABC")
        assert "ABC" not in lines.getvalue()
        assert read(lines)[0]["about"] == "Exception while serving %s"
