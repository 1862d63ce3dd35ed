"""What hosts of this desk keep of an athlete whom a guest handed over, and how that is erased."""

from collections.abc import Iterable
from dataclasses import dataclass

from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.meets.guest_clubs import Away, away_of
from settingsdesk.desk.meets.same_person import AtTheBarsNow, open_run_of
from settingsdesk.desk.squad.athletes import member_of
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import guest_clubs as kept
from settingsdesk.store.work import ClubSession, Store


@dataclass(frozen=True, slots=True)
class CopyAtHost:
    """What the host of a meet keeps of an athlete who was handed over to it.

    ``athlete_id`` is the host's number of them; ``at_the_bars`` a run of its, still open.
    """

    host_id: int
    host_name: str
    meet_name: str
    athlete_id: int
    at_the_bars: bool


def sent_to(session: ClubSession, athlete_id: int) -> list[tuple[Away, int]]:
    """The meets elsewhere that one athlete was handed over for, each with the host's entry."""
    return [(away_of(row), entry) for row, entry in kept.handed_over_of(session, athlete_id)]


def copies_at_hosts(
    store: Store, who: SignedIn, sent: Iterable[tuple[Away, int]]
) -> list[CopyAtHost]:
    """What hosts of this desk still keep of one athlete, whether or not they take more entries.

    None of an athlete whom the host has taken into its own squad since.
    """
    found = []
    for there, entry in sent:
        with store.work(there.host_id, writes=False) as session:
            row = kept.guest_by_entry(session, there.guest, who.club_id, entry)
            if row is not None:
                is_there = open_run_of(session, member_of(row)) is not None
                found.append(
                    CopyAtHost(there.host_id, there.host_name, there.meet_name, row.id, is_there)
                )
    return found


def erase_copies(store: Store, who: SignedIn, copies: Iterable[CopyAtHost]) -> None:
    """Erase them at their hosts, each in a unit of work of the host's; ``AtTheBarsThere``."""
    for copy in copies:
        by = f"{who.shown_name}, {who.club_name}"
        with store.work(copy.host_id, by=by, account=who.account_id, writes=True) as session:
            try:
                erasing.erase(session, copy.athlete_id)
            except AtTheBarsNow as refusal:
                raise AtTheBarsThere(copy.meet_name, copy.host_name) from refusal


class AtTheBarsThere(SettingsDeskError):
    """Somebody was to be erased who is listed for a run of a host that is still open."""

    def __init__(self, meet: str, host: str) -> None:
        self.meet, self.host = meet, host

    def __str__(self) -> str:
        return (
            f"This athlete is on the list of a run that is under way at {self.meet} ({self.host})."
            " Erase when it has ended"
        )
