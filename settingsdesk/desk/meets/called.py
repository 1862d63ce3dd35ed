"""By which names the athletes of a rotation are called where they stand together in a list."""

from collections.abc import Iterable, Mapping

from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.names_apart import Called, EnteredAs, names_apart, namesakes
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession


def called_in(
    session: ClubSession, rotation_id: int, members: Iterable[Member]
) -> dict[int, Called]:
    """The names of a rotation's athletes, told apart; by start number and club in a meet's."""
    everybody = list(members)
    alike = [member.id for one_name in namesakes(everybody) for member in one_name]
    rows = kept_rotations.entries_in(session, rotation_id, alike) if alike else ()
    entered = {row.athlete_id: EnteredAs(row.start_number, row.from_club) for row in rows}
    return names_apart(everybody, entered)


def called_at_meet(entrants: Iterable[Entrant]) -> Mapping[int, Called]:
    """The names of those entrants, told apart."""
    everybody = list(entrants)
    return names_apart(
        [entrant.member for entrant in everybody],
        {
            entrant.member.id: EnteredAs(entrant.start_number, entrant.from_club)
            for entrant in everybody
        },
    )


def not_told_apart(entrants: Iterable[Entrant]) -> list[tuple[Entrant, ...]]:
    """Those who come, have a printed name in common and no start numbers that tell them apart."""
    coming = {entrant.member.id: entrant for entrant in entrants if entrant.is_in}
    found = (
        tuple(coming[member.id] for member in alike)
        for alike in namesakes(entrant.member for entrant in coming.values())
    )
    return [
        alike
        for alike in found
        if len({entrant.start_number for entrant in alike if entrant.start_number}) < len(alike)
    ]
