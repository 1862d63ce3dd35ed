"""Everybody who asks a desk for something, with the numbers of what stands on it."""

from dataclasses import dataclass

from werkzeug.routing import Rule

from tests.desk.sample_meet import DAY
from tests.web.pages import Page, Reader, words
from tests.web.whole_desk import AT_THE_BARS, AT_THE_STATION, WholeDesk

IN_THE_RUN_OF_A_STATION = frozenset(
    f"station.{name}"
    for name in (
        *("now", "latest", "confirm", "end", "fault", "card", "card: elsewhere", "marks"),
        *("leave", "scan"),
    )
) | {"bars.confirm: new marks", "bars.looked"}


@dataclass(frozen=True)
class Hall:
    """Who presses, and the numbers of what stands on the desk."""

    desk: WholeDesk
    kind: type[Reader]

    @property
    def coach(self) -> Reader:
        """A browser in which the coach is signed in."""
        return self.desk.browser(self.kind, "stamp")

    @property
    def phone(self) -> Reader:
        """A phone that is in at the station."""
        return self.desk.browser(self.kind, "station")

    @property
    def stranger(self) -> Reader:
        """A browser without any cookie."""
        return self.desk.browser(self.kind)

    def reader_of(self, endpoint: str) -> Reader:
        """Who asks for that page."""
        return self.desk.browser(self.kind, *cookies_of(endpoint))

    def __getattr__(self, name: str) -> object:
        return self.desk.ids[name]


def cookies_of(endpoint: str) -> tuple[str, ...]:
    """Those of whoever asks for that page: the coach, a phone at the station, or nobody known."""
    if endpoint in OF_STRANGERS:
        return ()
    if endpoint == "second_factor.ask":
        return ("waits_for_code",)
    return ("station",) if endpoint.startswith("station.") else ("stamp",)


def named(rule: Rule) -> str:
    """The endpoint; of two ways to one, the one for the squad, or with a line, says so."""
    if "line" in rule.arguments:
        return f"{rule.endpoint}: with a line"
    return rule.endpoint + (": squad" if rule.rule.startswith("/sheets/lists") else "")


def until_a_change_over(page: Page) -> Page:
    """Through the turns until the apparatus is to be set for somebody; checked on paper before."""
    turns = 0
    while not (turns and page.heading.startswith("Step")):
        turns += page.heading.endswith(" is on")
        to_press = ("All steps are done", "Checked alone", "The turn is over")
        page = starting(page, *to_press, on_paper="1")
    return page


def begin_runs(hall: Hall, size: str) -> None:
    """Two states more: the coach's run stands at a change-over, or a volunteer's does."""
    hall.desk.lay(size)
    until_a_change_over(hall.coach.get("/rotations/1").send("Take it to the bars"))
    hall.desk.keep(size + AT_THE_BARS)
    hall.desk.lay(size)
    until_a_change_over(hall.phone.get("/station/now").send("Begin rotation 1", of_day=str(DAY)))
    hall.desk.keep(size + AT_THE_STATION)


def lay(hall: Hall, size: str, name: str) -> None:
    """Have the desk as that page or press needs it."""
    at = ""
    if name in IN_THE_RUN_OF_A_STATION:
        at = AT_THE_STATION
    elif name == "rotations.once_more" or (name.startswith("bars.") and name != "bars.begin"):
        at = AT_THE_BARS
    hall.desk.lay(size + at)


def starting(page: Page, *begins: str, **typed: str) -> Page:
    """The first button that begins so."""
    found = [
        words(button) for button in page.tree.iter("button") if words(button).startswith(begins)
    ]
    return page.send(found[0], **typed)


OF_STRANGERS = frozenset(
    {
        *("card.file", "card.kept", "card.show", "card.tell", "station.scanned"),
        *("accounts.sign_in", "invitation.take"),
    }
)
"""Pages that are asked for without any cookie."""
