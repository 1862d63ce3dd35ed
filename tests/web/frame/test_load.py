"""What is open to everybody or takes long is answered at a pace, and nobody waits for nothing."""

from pathlib import Path

import pytest
from flask import Flask

from settingsdesk.desk.workers import SeveralWorkers
from settingsdesk.domain.base.codes import CARD_CODE_LENGTH
from settingsdesk.web.frame import load
from settingsdesk.web.frame.load import CARDS, COPIES, PAPERS, SHEETS
from settingsdesk.web.frame.paces import (
    MOST_CLIENTS,
    Counts,
    Kind,
    Load,
    OwnCounts,
    Pace,
    SharedCounts,
)
from tests.conftest import Clock, DemoClub
from tests.databases import rows_in
from tests.web.pages import Reader

CARD = "/C/" + "A" * CARD_CODE_LENGTH
SECRET = b"k" * 32
SOME = Kind("some", Pace(3, 0.5), Pace(5, 1))


@pytest.fixture(params=["one worker", "several workers"])
def counts(request: pytest.FixtureRequest, tmp_path: Path) -> Counts:
    """Where one process counts, and where several do."""
    if request.param == "one worker":
        return OwnCounts()
    return SharedCounts(SeveralWorkers(tmp_path / "workers"))


class TestPace:
    def test_so_many_at_once_then_so_many_each_second(self, clock: Clock, counts: Counts) -> None:
        counted = Load(SECRET, clock, counts)
        assert [counted.take(SOME, "a") for _ in range(4)] == [0, 0, 0, 2]

        clock.seconds += 2
        assert [counted.take(SOME, "a") for _ in range(2)] == [0, 2]

    def test_all_together_have_a_pace_of_their_own(self, clock: Clock, counts: Counts) -> None:
        counted = Load(SECRET, clock, counts)
        taken = [counted.take(SOME, client) for client in "aabbccd"]

        assert taken == [0, 0, 0, 0, 0, 1, 1]

    def test_what_was_refused_costs_nothing(self, clock: Clock, counts: Counts) -> None:
        """Whoever loads a page again and again waits no longer for it."""
        counted = Load(SECRET, clock, counts)
        for _ in range(100):
            counted.take(SOME, "a")

        clock.seconds += 2
        assert counted.take(SOME, "a") == 0
        assert counted.take(SOME, "b") == 0

    def test_no_more_is_remembered_than_there_is_room_for(self, clock: Clock) -> None:
        """An attacker with many addresses fills no memory."""
        many, counted = Kind("many", Pace(1, 1), Pace(10**6, 1)), Load(SECRET, clock)
        for number in range(MOST_CLIENTS + 100):
            counted.take(many, str(number))

        assert counted.take(many, "0") == 0
        assert counted.take(many, str(MOST_CLIENTS + 99)) == 1

    def test_nor_is_the_table_of_several_workers_ever_larger(
        self, clock: Clock, tmp_path: Path
    ) -> None:
        many = Kind("many", Pace(1, 1), Pace(10**6, 1))
        counted = Load(SECRET, clock, SharedCounts(SeveralWorkers(tmp_path / "workers")))
        clients = SharedCounts.ROWS * SharedCounts.PLACES_BESIDE + 100
        for number in range(clients):
            clock.seconds += 0.0001
            counted.take(many, str(number))

        assert counted.take(many, str(clients - 1)) == 1
        assert (tmp_path / "workers" / "paces").stat().st_size == SharedCounts.BYTES


class TestSeveralWorkers:
    def test_they_count_together(self, clock: Clock, tmp_path: Path) -> None:
        """A hall is let through at the same pace however many workers answer it."""
        workers = [
            Load(SECRET, clock, SharedCounts(SeveralWorkers(tmp_path / "workers")))
            for _ in range(4)
        ]
        assert [counted.take(SOME, "a") for counted in workers] == [0, 0, 0, 2]
        assert [counted.take(SOME, "b") for counted in workers] == [0, 0, 1, 1]

    def test_what_was_counted_before_the_machine_was_started_counts_no_more(
        self, clock: Clock, counts: Counts
    ) -> None:
        """Its clock begins anew then."""
        counted = Load(SECRET, clock, counts)
        for _ in range(3):
            counted.take(SOME, "a")
        clock.seconds = 1

        assert counted.take(SOME, "a") == 0

    def test_whoever_reads_the_file_learns_of_nobody(self, clock: Clock, tmp_path: Path) -> None:
        counted = Load(SECRET, clock, SharedCounts(SeveralWorkers(tmp_path / "workers")))
        counted.take(SOME, "192.0.2.7")
        table = (tmp_path / "workers" / "paces").read_bytes()

        assert any(table)
        assert b"192" not in table

    def test_nor_does_whoever_reads_the_memory_of_one(self, clock: Clock) -> None:
        """By the stamp of a sign-in anybody could come in as that coach."""
        counts = OwnCounts()
        for secret in (SECRET, b"another secret"):
            Load(secret, clock, counts).take(SOME, "stamp of Runa")
        kept = vars(counts)["_left"]

        assert len(kept) == 4
        assert "Runa" not in repr(kept)


class TestCards:
    @staticmethod
    def statuses(reader: Reader, times: int, address: str = "192.0.2.7") -> list[int]:
        asked = {"REMOTE_ADDR": address}
        return [reader.client.get(CARD, environ_overrides=asked).status_code for _ in range(times)]

    def test_a_full_hall_behind_one_address_is_never_refused(self, clock: Clock) -> None:
        """200 spectators: two cards each in one moment, then one every ten seconds, for an hour."""
        counted = Load(SECRET, clock)
        assert not any(counted.take(CARDS, "the hall") for _ in range(2 * 200))
        for _ in range(3600):
            clock.seconds += 1
            assert not any(counted.take(CARDS, "the hall") for _ in range(200 // 10))

    def test_who_asks_for_more_reads_when_to_ask_again(
        self, stranger: Reader, clock: Clock
    ) -> None:
        assert set(self.statuses(stranger, CARDS.client.at_once)) == {404}

        refused = stranger.client.get(CARD, environ_overrides={"REMOTE_ADDR": "192.0.2.7"})

        assert refused.status_code == 429
        assert refused.headers["Retry-After"] == "1"
        assert "Very many cards are being looked up just now. Wait 1 second" in refused.text
        assert "What is printed on the card can be used meanwhile." in refused.text
        assert refused.headers["Referrer-Policy"] == "no-referrer"
        clock.seconds += 1
        assert self.statuses(stranger, 1) == [404]

    def test_another_address_is_answered_meanwhile(self, stranger: Reader) -> None:
        self.statuses(stranger, CARDS.client.at_once + 1)

        assert self.statuses(stranger, 1, "192.0.2.8") == [404]

    def test_all_addresses_together_have_a_limit_for_whom_nobody_knows(
        self, stranger: Reader, pages: Reader
    ) -> None:
        """Whoever is signed in, or in at a station, does not wait for those who look on."""
        for number in range(CARDS.all.at_once // CARDS.client.at_once + 1):
            self.statuses(stranger, CARDS.client.at_once, f"192.0.2.{number}")
        pages.get("/")

        assert self.statuses(stranger, 1, "198.51.100.1") == [429]
        assert self.statuses(pages, 1, "198.51.100.1") == [404]

    def test_a_reader_writes_nothing(self, demo_club: DemoClub, scanner: Reader) -> None:
        before = rows_in(demo_club.data.where)
        self.statuses(scanner, CARDS.client.at_once + 10)

        assert rows_in(demo_club.data.where) == before


class TestPapersAndSheets:
    @pytest.mark.parametrize(
        ("kind", "method", "path"),
        [
            (PAPERS, "GET", "/cards/1/cards.pdf"),
            (PAPERS, "GET", "/sheets/squad.xlsx"),
            (COPIES, "GET", f"/C/{'A' * 26}/card.pdf"),
            (SHEETS, "POST", "/sheets/"),
        ],
    )
    def test_one_coach_does_not_keep_the_desk_busy_alone(
        self, pages: Reader, clock: Clock, kind: Kind, method: str, path: str
    ) -> None:
        pages.get("/")
        statuses = [
            pages.client.open(path, method=method, buffered=True).status_code
            for _ in range(kind.client.at_once + 1)
        ]
        assert 429 not in statuses[:-1]
        assert statuses[-1] == 429

        clock.seconds += 1 / kind.client.each_second
        assert pages.client.open(path, method=method, buffered=True).status_code != 429

    def test_every_file_that_is_drawn_is_counted(self, app: Flask) -> None:
        """A new one without a pace fails here."""
        drawn = {
            rule.endpoint
            for rule in app.url_map.iter_rules()
            if rule.rule.endswith((".pdf", ".xlsx", ".csv"))
        }
        assert drawn - load.PAPER_ENDPOINTS == {"sheets.template_as_csv", "card.file"}
        assert drawn >= load.PAPER_ENDPOINTS
