"""A run on two phones that is interrupted in every way that a hall knows, at random."""

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page, expect

from settingsdesk.desk.checks import findings
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunView
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    FoundAt,
    Rechecked,
    StepDone,
    TakenBack,
)
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.checks.findings import Step
from tests.browser.served_desk import ServedDesk
from tests.conftest import DemoClub

RUN_ID = 1
MAIN_BUTTONS = ("All steps are done", "Checked alone", "The turn is over")
PRESSED = """all => {
    const one = all[0];
    if (!one || one.disabled || !one.checkVisibility()) return false;
    document.querySelectorAll("[name=on_paper]").forEach((tick) => { tick.checked = true; });
    one.click();
    return true;
}"""
"""Looked at and pressed in one go, for between two goes the page may have become another one."""
AS_SHOWN = "one => [one.dataset.state, one.className, Object.keys(localStorage).length]"


@dataclass
class Interruptions:
    """Interrupts a run that both phones have open, and holds what must be so after each time."""

    desk: ServedDesk
    club: DemoClub
    phones: tuple[Page, Page]
    chance: random.Random
    happened: int = 0

    def one(self) -> str:
        """Interrupt once, whichever way, and look at both phones; what it was."""
        ways: dict[str, Callable[[Page], None]] = {
            "reload": lambda one: one.reload(),
            "network": self._without_network,
            "second phone": self._both_press,
            "withdrawal": self._withdrawn,
            "restart": self._restarted,
            "swallowed": self._swallowed,
        }
        way = self.chance.choice(sorted(ways))
        one = self.chance.choice(self.phones)
        self._press(one)
        ways[way](one)
        self.happened += 1
        self._must_be_true(way)
        return way

    def _press(self, page: Page) -> None:
        """Press what the page offers, if it does: it may just be changing."""
        for words in self.chance.sample(MAIN_BUTTONS, len(MAIN_BUTTONS)):
            if page.get_by_role("button", name=words, exact=True).evaluate_all(PRESSED):
                return

    def _without_network(self, page: Page) -> None:
        page.context.set_offline(True)
        self._press(page)
        expect(page.locator(".bars.old")).to_be_visible()
        if self.chance.random() < 0.5:
            page.reload()
            none = page.get_by_role(
                "heading", name="no copy of this page"
            )  # gone before it was kept
            expect(page.locator(".bars.old").or_(none)).to_be_visible()
        self._press(self.phones[page is self.phones[0]])
        page.context.set_offline(False)

    def _both_press(self, _page: Page) -> None:
        for phone in self.phones:
            self._press(phone)

    def _withdrawn(self, page: Page) -> None:
        with self.club.work(writes=True) as session:
            view = desk_run.run(session, RUN_ID)
            found = findings.add_finding(
                session, view.piece.id, "Frayed", withdraws=True, press_key=str(self.happened)
            )
        self._press(page)
        with self.club.work(writes=True) as session:
            findings.take_step(session, found.id, Step.RELEASED, "Seen to")
        with self.club.work(writes=True) as session:
            view = desk_run.run(session, RUN_ID)
            if view.run.stage is not Stage.OVER:
                desk_run.read_off(session, view, view.number, view.run.mostly_at)

    def _restarted(self, page: Page) -> None:
        self.desk.kill()
        self._press(page)
        for phone in self.phones:
            expect(phone.locator(".bars.old")).to_be_visible()
        self.desk.start()

    def _swallowed(self, page: Page) -> None:
        self.desk.freeze()
        self._press(page)
        expect(page.locator(".bars.old")).to_be_visible()
        self.desk.thaw()

    def _shown(self, phone: Page) -> tuple[bool, list[Any]]:
        """Whether a phone shows what is true now with nothing kept, and what it shows."""
        answer = phone.context.request.get(f"{self.desk.address}/bars/{RUN_ID}/latest")
        if answer.status == 503:  # the phone asks again, too
            return False, ["the desk is busy"]
        assert answer.ok, f"{answer.status} {answer.url}: {answer.text()}"
        assert "json" in answer.headers["content-type"], f"{answer.url}: {answer.text()}"
        shown = phone.locator("main [data-state]").evaluate(AS_SHOWN)
        is_true = shown[0] == answer.json()["state"] and shown[2] == 0 and "old" not in shown[1]
        return is_true, shown

    def _must_be_true(self, way: str) -> None:
        for _ in range(600):
            # Both at once: what one has kept may reach the desk when the other was true already.
            shown = [self._shown(phone) for phone in self.phones]
            said = [phone.get_by_role("heading", level=1).inner_text() for phone in self.phones]
            if all(is_true for is_true, _ in shown) and said[0] == said[1]:
                break
            self.phones[0].wait_for_timeout(100)
        else:
            raise AssertionError(f"{way}: the phones show {shown} and say {said}")
        with self.club.work() as session:
            view = desk_run.run(session, RUN_ID)
        if said[0].endswith("is on"):
            assert is_checked(view), way


def is_checked(view: RunView) -> bool:
    """Whether everything that was moved was checked after it, counted from the events alone."""
    taken_back = {event.what.number for event in view.events if isinstance(event.what, TakenBack)}
    due = True  # before the first of a run a check is due always
    for event in view.events:
        if event.number in taken_back:
            continue
        if isinstance(event.what, StepDone | AllDone | FoundAt):
            due = True
        elif isinstance(event.what, Rechecked):
            due = False
    return not due
