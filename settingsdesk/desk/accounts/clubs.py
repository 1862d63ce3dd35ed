"""The club of a desk: made once, and for now the only one there."""

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.clubs import Club, all_clubs
from settingsdesk.store.work import Store


def make_club(store: Store, name: str, unit: Unit) -> int:
    """Make the desk's club; gives its number. ``ClubUnnamed``, or ``OneClubOnly`` after the first.

    ``unit`` is the one in which its people read and type lengths.
    """
    if not name.strip():
        raise ClubUnnamed
    with store.installation(writes=True) as session:
        for present in all_clubs(session):
            raise OneClubOnly(present.name)
        club = Club(name=name.strip(), length_unit=unit.value)
        session.add(club)
        session.flush()
        return club.id


def is_empty(store: Store) -> bool:
    """Whether nobody has put a club on this desk yet."""
    with store.installation(writes=False) as session:
        return not all_clubs(session)


def only_club(store: Store) -> int:
    """The number of the desk's club; ``NoClubYet`` where there is none."""
    with store.installation(writes=False) as session:
        for club in all_clubs(session):
            return club.id
    raise NoClubYet


class ClubUnnamed(SettingsDeskError):
    """A club was given no name."""

    sentence = "Give the club a name: it stands on every page and, if you like, on the cards"


class OneClubOnly(SettingsDeskError):
    """A second club was to be made: nobody could tell which of them a command means."""

    def __init__(self, present: str) -> None:
        self.present = present

    def __str__(self) -> str:
        return (
            f"{self.present} is on this desk already, and a desk holds one club for now: name"
            " another folder by SETTINGSDESK_DATA for another club"
        )


class NoClubYet(SettingsDeskError):
    """A command needs a club and the desk has none."""

    sentence = "There is no club on this desk yet: settingsdesk init NAME, or settingsdesk demo"
