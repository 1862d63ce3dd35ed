"""A meet day with four workers: whichever answers, the answer is right."""

import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import text

from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.stations import stations
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.server import served_elsewhere
from settingsdesk.store.settings import Setting, SettingValue
from settingsdesk.store.work import Store
from settingsdesk.web.frame.kept import FORGET
from settingsdesk.web.frame.work import OURS, Desk
from settingsdesk.web.workers import _WatchedServer
from tests.conftest import Account, DemoClub, folder_with, new_app
from tests.databases import Databases, Where, on_server
from tests.desk.sample_meet import BARS, DAY, checked_before_use, hold
from tests.own_port import HERE
from tests.web.pages import Page
from tests.web.rotations.making import plans
from tests.web.served_by_workers import Over, ServedByWorkers, children_of, until
from tests.web.stations.conftest import come_in

CUT = text(
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
    " WHERE datname = current_database() AND pid <> pg_backend_pid()"
)

HEAD = b"Family name;Given name;Group;Model;Low rail height (cm);High rail height (cm);"
HEAD += b"Rail spread (cm)\n"


@dataclass(frozen=True)
class Day:
    """What the workers serve."""

    served: ServedByWorkers
    app: Flask
    club: DemoClub
    codes: stations.StationCodes
    hard: tuple[int, int]
    """Two rotations of which no order is proven soon."""
    browsers: list[Over] = field(default_factory=list)

    def browser(self, number: int) -> Over:
        """One that asks the worker of that number."""
        self.browsers.append(Over(self.app, self.served, self.served.workers()[number]))
        return self.browsers[-1]

    def coach(self, number: int) -> Over:
        """The coach's, who signs in there."""
        browser = self.browser(number)
        page = browser.sign_in(self.club.account.sign_in_name, self.club.account.password)
        assert page.status == 200
        return browser


@pytest.fixture(scope="module")
def whole_day(
    demo_database: Where,
    demo_account: Account,
    databases: Databases,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Day]:
    data = folder_with(databases, demo_database, tmp_path_factory.mktemp("workers") / "desk")
    data.card_key()
    ink = card_keys.code_key(data, "http://127.0.0.1:5000")
    with closing(Store(data.where)) as store:
        club = DemoClub(data, store, demo_account)
        held = hold(club)
        checked_before_use(club, held.apparatus_id)
        with club.work(writes=True) as session:
            station = stations.open_station(session, ink, held.session_id, held.apparatus_id)
            codes = stations.codes(session, ink, station.id)
        hard = _hard_rotations(club)
        with ServedByWorkers(data, workers=4) as served:
            yield Day(served, new_app(data, store), club, codes, hard)


@pytest.fixture
def day(whole_day: Day) -> Iterator[Day]:
    """The same for each test; none leaves a connection to the next."""
    yield whole_day
    for browser in whole_day.browsers:
        browser.close()
    whole_day.browsers.clear()


def _hard_rotations(club: DemoClub) -> tuple[int, int]:
    chance = random.Random(1)  # noqa: S311 -- an invented squad
    with club.work(writes=True) as session:
        bars = next(one for one in apparatus.all_pieces(session) if one.name == BARS)
        crowd = [
            Athlete(family_name=f"Zorn {number:02}", given_name="Ada", created_by="Runa")
            for number in range(32)
        ]
        session.add_all(crowd)
        session.flush()
        for athlete in crowd:
            marks = (
                chance.randrange(1600, 1760, 10),
                chance.randrange(2350, 2550, 10),
                chance.randrange(1500, 1760, 10),
            )
            values = [
                SettingValue(axis=axis.key, wanted_mm=mm)
                for axis, mm in zip(bars.model.kind.axes, marks, strict=True)
            ]
            session.add(
                Setting(
                    athlete_id=athlete.id,
                    model_id=bars.model_id,
                    version=1,
                    recorded_by="Runa",
                    values=values,
                )
            )
        session.flush()
        asked = OrderRequest(turns=3, rest_turns=3)
        ids = [athlete.id for athlete in crowd]
        one, other = (
            desk_rotation.add_rotation(session, name, today(), bars.id, ids, asked)
            for name in ("A long evening", "Another one")
        )
        return one.id, other.id


class Master:
    """What a worker says to the process over it."""

    def __init__(self) -> None:
        self.ppid, self.signs_of_life = os.getppid(), 0

    def notify(self) -> None:
        self.signs_of_life += 1


class TestEachSecond:
    @pytest.fixture
    def server(self, app: Flask) -> Iterator[_WatchedServer]:
        """A worker's, that waits for whom it is told."""
        listening = socket.create_server((HERE, 0))
        server = _WatchedServer(app, listening, Master())
        yield server
        server.stop()
        server.run()

    def test_a_worker_gives_a_sign_of_life_and_forgets_what_another_has_erased(
        self, app: Flask, server: _WatchedServer
    ) -> None:
        desk: Desk = app.extensions[OURS]
        desk.kept.answer("card", 1, lambda: "somebody")
        desk.workers.tell(FORGET)
        server.maintenance(time.monotonic())

        assert server._worker.signs_of_life == 1
        assert desk.kept.answer("card", 1, lambda: "nobody") == "nobody"

    def test_it_ends_when_the_process_over_it_is_gone(self, server: _WatchedServer) -> None:
        """Or it would hold the data folder, and nobody could start the desk again."""
        ended: list[int] = []
        before = signal.signal(signal.SIGTERM, lambda number, _frame: ended.append(number))
        server.maintenance(time.monotonic())
        assert ended == []
        server._worker.ppid = -1
        server.maintenance(time.monotonic())
        server._worker.ppid = os.getppid()
        signal.signal(signal.SIGTERM, before)

        assert ended == [signal.SIGTERM]


@on_server
class TestASearch:
    def test_begun_by_one_it_is_seen_by_a_second_and_stopped_by_a_third(self, day: Day) -> None:
        coach, before = day.coach(0), plans(day.club)
        page = coach.get(f"/rotations/{day.hard[0]}").send("Plan it")
        assert page.heading == "Finding the best order"

        coach.to(day.served.workers()[1])
        until(lambda: "The best order so far needs" in coach.get(page.address).text)
        shown = coach.get(page.address)
        done = coach.to(day.served.workers()[2]) and shown.send("Stop and use the best so far")

        assert done.banners == ["The search was stopped, and the best order so far was taken."]
        assert plans(day.club) == before + 1
        assert coach.to(day.served.workers()[3]).get(page.address).heading == "A long evening"

    def test_of_a_worker_that_is_killed_the_others_say_so_and_its_planner_is_gone(
        self, day: Day
    ) -> None:
        coach, doomed = day.coach(1), day.served.workers()[1]
        page = coach.get(f"/rotations/{day.hard[1]}").send("Plan it")
        planners = children_of(doomed)
        assert len(planners) == 1

        day.served.kill(doomed)
        shown = coach.to().get(page.address)

        assert shown.heading == "Another one"
        assert "The search was cut off, and no order of it was kept" in shown.banners[0]
        until(lambda: not any(children_of(pid) for pid in day.served.workers()))


@on_server
class TestAList:
    def test_sent_to_one_it_is_taken_by_another(self, day: Day) -> None:
        coach = day.coach(0)
        sent = HEAD + b"Vandermeer;Isolde;Squad 1;Hall frame A;165;245;160\n"
        page = coach.get("/sheets/").send("Check the sheet", file=(BytesIO(sent), "squad.csv"))
        coach.to(day.served.workers()[2])
        page.send("Save all of it")

        with day.club.work() as session:
            assert [one.listed_name for one in athletes.find(session, "Vandermeer")] == [
                "Vandermeer, Isolde"
            ]


@on_server
class TestAStation:
    def test_of_two_phones_at_once_and_a_worker_killed_none_is_lost_and_none_counts_twice(
        self, day: Day
    ) -> None:
        """Each of a crew of two presses what both see, in the same moment."""
        ivo, jo = day.browser(0), day.browser(1)
        come_in(ivo, day.codes, "Ivo").send("Begin rotation 1", of_day=str(DAY))
        come_in(jo, day.codes, "Jo")
        for round_of_presses in range(30):
            pages = [phone.get("/station/now") for phone in (ivo, jo)]
            assert pages[0].heading == pages[1].heading
            if pages[0].heading == "All turns done":
                break
            if round_of_presses == 3:
                day.served.kill(day.served.workers()[0])
                ivo.to()
                pages[0] = ivo.get("/station/now")
            _press_at_once(pages)

        with day.club.work() as session:
            events = desk_run.run(session, 1).events
        kinds = Counter(type(event.what).__name__ for event in events)
        assert kinds == {"Begun": 1, "AllDone": 3, "Rechecked": 3, "TurnOver": 3}


def _press_at_once(pages: list[Page]) -> None:
    heading = pages[0].heading
    button = (
        "The turn is over"
        if "is on" in heading
        else "All steps are done"
        if "Set for" in heading
        else "Checked by a second person"
    )
    answers: list[Page] = []
    threads = [
        threading.Thread(
            target=lambda page=page: answers.append(page.send(button, checker="Signe Moe"))
        )
        for page in pages
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 2


@on_server
class TestTheConnections:
    def test_that_were_cut_are_made_anew_unseen(self, day: Day) -> None:
        """The database server was started anew in the night; nobody in the hall hears of it."""
        browsers = [day.browser(number) for number in range(4)]
        for browser in browsers:
            assert browser.get("/sign-in").status == 200
        with day.club.store.installation(writes=False) as session:
            cut = session.connection().execute(CUT).scalars().all()
        assert len(cut) >= 4

        assert [browser.get("/sign-in").status for browser in browsers] == [200] * 4
        assert [browser.get("/health").response.text for browser in browsers] == ["well\n"] * 4
        # What kept other desks off the database was cut too: a worker sees to that.
        until(lambda: served_elsewhere(day.club.data.server, "another machine"))


@on_server
class TestAnotherMachine:
    def test_that_names_the_same_database_serves_nothing(self, day: Day, tmp_path: Path) -> None:
        """A copy of the folder: its keys fit, and it knows of no lock in the other one."""
        # A worker that was killed may have held it: another one takes it in its next round.
        until(lambda: served_elsewhere(day.club.data.server, "another machine"))
        copied = shutil.copytree(day.club.data.path, tmp_path / "copied")
        told = {"SETTINGSDESK_DATA": str(copied), "SETTINGSDESK_DATABASE_URL": day.club.data.server}
        command = [sys.executable, "-m", "settingsdesk", "serve", "--port", "1"]
        refused = subprocess.run(
            command, env={**os.environ, **told}, capture_output=True, text=True, check=False
        )

        assert refused.returncode == 2
        assert f"(serving at {HERE}, port {day.served.port}, " in refused.stderr
        assert day.served.is_well()


@on_server
class TestTheEnd:
    def test_what_was_asked_is_answered_and_nothing_is_left(self, demo_club: DemoClub) -> None:
        """Whoever presses while the desk is stopped for an upgrade has saved, or is told.

        The desk is this test's own: where several processes share the tests out, any other of this
        module may come after it.
        """
        body = b"sign_in_name=runa&password=wrong"
        head = (
            "POST /sign-in HTTP/1.1",
            "Host: localhost",
            "Content-Type: application/x-www-form-urlencoded",
            f"Content-Length: {len(body)}",
        )
        with ServedByWorkers(demo_club.data, workers=2) as served:
            workers = served.workers()
            with socket.create_connection((HERE, served.port), timeout=60) as line:
                line.sendall("\r\n".join((*head, "", "")).encode() + body[:5])
                until(served.is_well)
                served.process.send_signal(signal.SIGTERM)
                until(lambda: not served.is_well())
                line.sendall(body[5:])
                answer = b"".join(iter(lambda: line.recv(65536), b""))

            assert answer.startswith(b"HTTP/1.1 400 ")
            assert b"\r\nConnection: close\r\n" in answer
            assert served.process.wait(60) == 0
            assert not any(children_of(pid) for pid in workers)
