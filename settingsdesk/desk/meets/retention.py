"""Whose time is over: guests some days after their meet, who left some days after they went.

It runs by itself while the desk serves. A clock that leaps must erase nobody, so a day counts only
when the desk has seen it and two more after it: what is over is over by the third last day seen.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from settingsdesk.desk.clock import today
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.meets.same_person import at_the_bars_now
from settingsdesk.desk.rounds import Rounds
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import so_many
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.clubs import Club, all_clubs, this_club
from settingsdesk.store.work import ClubSession, Store

BY = "kept long enough"
"""Who erases them."""

DAYS_SEEN = 3
MOST_DAYS = 3650
MOST_AT_ONCE = 10
"""So many in one unit of work, so that nobody waits long for a turn to write."""
MOST_IN_A_ROUND = 200
EVERY_SECONDS = 3600.0
TOLD_FOR_DAYS = 7
"""So long the day's page says what was done."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Keeping:
    """For how many days athletes are kept: guests after their meet, who left after they went.

    ``left_days`` is None where nobody goes by the time alone.
    """

    guests_days: int
    left_days: int | None

    def __post_init__(self) -> None:
        for days in (self.guests_days, self.left_days):
            if days is not None and not 0 <= days <= MOST_DAYS:
                raise DaysNotPossible


@dataclass(frozen=True, slots=True)
class Cleared:
    """What was done by itself on a day: how many guests went, and how many who had left."""

    on: date
    guests: int
    left: int

    @property
    def in_words(self) -> str:
        """In one sentence, for the day's page."""
        both = [
            so_many(self.guests, "guest") if self.guests else "",
            so_many(self.left, "athlete") + " who had left" if self.left else "",
        ]
        return f"{' and '.join(one for one in both if one)} erased: their time was over"


def keeping(session: ClubSession) -> Keeping:
    """What the club has set."""
    return keeping_of(this_club(session))


def keeping_of(club: Club) -> Keeping:
    """The same of a club that was read."""
    return Keeping(club.guests_kept_days, club.left_kept_days)


def keep(session: ClubSession, keeping: Keeping) -> None:
    """Set for how long athletes are kept."""
    club = this_club(session)
    club.guests_kept_days, club.left_kept_days = keeping.guests_days, keeping.left_days
    session.flush()


def last_cleared(session: ClubSession) -> Cleared | None:
    """What was done by itself in the last days; None where it was nothing."""
    told = this_club(session).last_cleared
    if told is None:
        return None
    cleared = Cleared(date.fromisoformat(told["on"]), told["guests"], told["left"])
    return cleared if today() - cleared.on <= timedelta(days=TOLD_FOR_DAYS) else None


def clear(store: Store, on: date) -> int:
    """Erase whose time is over, as of a day on which the desk looks; gives how many.

    At most ``MOST_IN_A_ROUND`` of each club; the next round goes on.
    """
    with store.installation(writes=False) as session:
        clubs = [club.id for club in all_clubs(session)]
    count = sum(_clear(store, club_id, on) for club_id in clubs)
    if count:
        store.leave_no_traces()
    return count


def _clear(store: Store, club_id: int, on: date) -> int:
    with store.work(club_id, writes=False) as session:
        counts = _seen(this_club(session), on)
        if counts != this_club(session).days_seen:
            _see(store, club_id, counts)
        over = _over(session, date.fromisoformat(counts[0])) if len(counts) == DAYS_SEEN else []
    for start in range(0, len(over), MOST_AT_ONCE):
        part = over[start : start + MOST_AT_ONCE]
        with store.work(club_id, by=BY, writes=True) as session:
            for athlete_id, _ in part:
                erasing.erase_from_everywhere(session, athlete_id)
            _tell(session, on, [is_guest for _, is_guest in part])
    return len(over)


def _seen(club: Club, on: date) -> list[str]:
    """The last days seen with this one; days after it were a clock's that has been put right."""
    before = {day for day in club.days_seen if day < on.isoformat()}
    return sorted({*before, on.isoformat()})[-DAYS_SEEN:]


def _see(store: Store, club_id: int, counts: list[str]) -> None:
    with store.work(club_id, by=BY, writes=True) as session:
        this_club(session).days_seen = counts


def _over(session: ClubSession, day: date) -> list[tuple[int, bool]]:
    """Whose time was over on that day, and whether they are guests; nobody at the bars now."""
    kept = keeping(session)
    busy = {number for _run, there in at_the_bars_now(session) for number in there}
    guests = kept_meets.guests_of_before(
        session, day - timedelta(days=kept.guests_days), MOST_IN_A_ROUND
    )
    left = (
        kept_athletes.left_before(session, day - timedelta(days=kept.left_days), MOST_IN_A_ROUND)
        if kept.left_days is not None
        else ()
    )
    both = [*((number, True) for number in guests), *((number, False) for number in left)]
    return [one for one in both if one[0] not in busy][:MOST_IN_A_ROUND]


def _tell(session: ClubSession, on: date, guests: list[bool]) -> None:
    club = this_club(session)
    before = club.last_cleared or {}
    same_day = before.get("on") == on.isoformat()
    club.last_cleared = {
        "on": on.isoformat(),
        "guests": sum(guests) + (before["guests"] if same_day else 0),
        "left": len(guests) - sum(guests) + (before["left"] if same_day else 0),
    }


class Clearing(Rounds):
    """Looks once an hour whose time is over."""

    def __init__(
        self, store: Store, done: Callable[[], None], every_seconds: float = EVERY_SECONDS
    ):
        def clear_and_tell() -> None:
            if clear(store, today()):
                done()

        super().__init__("athletes whose time is over", clear_and_tell, every_seconds)


class DaysNotPossible(SettingsDeskError):
    """A number of days was given that is none, or is longer than anybody's time as an athlete."""

    sentence = f"Days must be from 0 to {MOST_DAYS}; empty for as long as nobody erases them"
