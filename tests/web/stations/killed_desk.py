"""A run on phones at a station, while the desk under it is killed about their presses."""

import random
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from urllib.parse import urljoin

from flask import Flask

from settingsdesk.config import DataFolder
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations.stations import StationCodes
from settingsdesk.store.engine import damage_of
from settingsdesk.store.work import Store
from tests.browser.served_desk import ServedDesk
from tests.desk.sample_meet import DAY
from tests.web.pages import Page
from tests.web.served_by_workers import OverHttp
from tests.web.stations.conftest import come_in

HERE, RUN_ID, WITHIN_S = "127.0.0.1", 1, 120
OVER = "All turns done"
CHECKER = "Signe Moe"
KINDS = {
    "steps": "AllDone",
    "second": "Rechecked",
    "checked_by_name": "Rechecked",
    "over": "TurnOver",
}
"""What a word of a press puts on record."""
CUT = (OSError, HTTPException)
"""What a phone notices of a desk that is gone."""


class Phone(OverHttp):
    """A phone of a volunteer that keeps what it sent until there is an answer."""

    def __init__(self, app: Flask, port: int, sends: threading.Event) -> None:
        """``sends`` is set whenever a press is about to be sent."""
        super().__init__(app, HTTPConnection(HERE, port, timeout=WITHIN_S))
        self.sends = sends
        self.waits: tuple[str, dict[str, object]] | None = None
        self.confirmed: dict[int, str] = {}
        """By the number of the event that was seen, the word whose press was answered."""

    def post(self, address: str, values: dict[str, object]) -> Page:
        """Send a press; it counts as confirmed by its answer, before any other page is asked."""
        self.waits = address, values
        self.sends.set()
        answer = self.client.post(address, data=values)
        if answer.status_code == 303 and "seen" in values:
            self.confirmed[int(str(values["seen"]))] = str(values["do"])
        if answer.status_code != 503:
            self.waits = None
        if answer.status_code != 303:
            return self._page(answer)
        return self.get(urljoin(address, answer.headers["Location"]))

    def send_again(self) -> None:
        """What was not answered."""
        while self.waits is not None:
            self.post(*self.waits)

    def press(self) -> bool:
        """Press what the page offers; False where there is nothing more to do."""
        page = self.get("/station/now")
        if page.status == 503:
            return True
        if page.heading == OVER:
            return False
        if "is on" in page.heading:
            page.send("The turn is over")
        elif "Set for" in page.heading:
            page.send("All steps are done")
        else:
            page.send("Checked by a second person", checker=CHECKER)
        return True


@dataclass
class KilledDesk:
    """A desk with a station, phones there, and what came of killing it."""

    data: DataFolder
    app: Flask
    codes: StationCodes
    chance: random.Random
    names: tuple[str, ...] = ("Ivo", "Jo")
    """Of who holds a phone."""
    sends: threading.Event = field(default_factory=threading.Event)
    kills: int = 0
    confirmed: int = 0
    sent_again: int = 0
    ready_s: list[float] = field(default_factory=list)
    kinds: Counter[str] = field(default_factory=Counter)

    def play(self, most_kills: int, most_seconds: float) -> None:
        """Carry the rotation out; the desk is killed within so many seconds of a press."""
        desk = ServedDesk(self.data.path)
        desk.start()
        phones = [Phone(self.app, desk.port, self.sends) for _ in self.names]
        try:
            for phone, name in zip(phones, self.names, strict=True):
                come_in(phone, self.codes, name)
            phones[0].get("/station/now").send("Begin rotation 1", of_day=str(DAY))
            while self._all_press(phones, desk, self.kills < most_kills, most_seconds):
                self._look_at(phones)
            self._look_at(phones)
        finally:
            desk.kill()
            for phone in phones:
                phone.close()
                self.confirmed += len(phone.confirmed)

    def _all_press(
        self, phones: list[Phone], desk: ServedDesk, is_killed: bool, most_seconds: float
    ) -> bool:
        """Until the desk is killed or everything is done; whether anything is left to do."""
        done = threading.Event()

        def presses(phone: Phone) -> None:
            try:
                while phone.press():
                    pass
            except CUT:
                return
            done.set()

        self.sends.clear()
        threads = [threading.Thread(target=presses, args=(phone,)) for phone in phones]
        for thread in threads:
            thread.start()
        if is_killed:
            while not self.sends.wait(0.01) and any(one.is_alive() for one in threads):
                pass
            time.sleep(self.chance.uniform(0, most_seconds))
            desk.kill()
            self.kills += 1
        for thread in threads:
            thread.join()
        if not is_killed:
            return False
        began = time.monotonic()
        desk.start()
        self.ready_s.append(time.monotonic() - began)
        for phone in phones:
            phone.close()
            self.sent_again += phone.waits is not None
            phone.send_again()
        return not done.is_set()

    def _look_at(self, phones: list[Phone]) -> None:
        """Nothing that was confirmed is lost, nothing counts twice, nothing is out of its order."""
        store = Store(self.data.where)
        try:
            with store.work(1, writes=False) as session:
                events = desk_run.run(session, RUN_ID).events
        finally:
            store.close()
        kinds = [type(event.what).__name__ for event in events]
        assert [event.number for event in events] == list(range(1, len(events) + 1))
        for phone in phones:
            for seen, word in phone.confirmed.items():
                assert kinds[seen] == KINDS[word], f"{word} after event {seen} is not on record"
        turns = ["AllDone", "Rechecked", "TurnOver"] * len(kinds)
        assert kinds == ["Begun", *turns[: len(kinds) - 1]]
        assert damage_of(self.data.database) is None
        self.kinds = Counter(kinds)
