"""Several athletes typed at once, each with the marks that they want on one apparatus."""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member, Person
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.models import Setup
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Newcomer:
    """Somebody to be added, and the stops at which they want the apparatus; None for no setting."""

    person: Person
    stops: Setup | None


def add(session: ClubSession, piece: Piece, newcomers: Sequence[Newcomer]) -> list[Member]:
    """Add them, each with the setting that their stops are on this very apparatus.

    Nobody is added twice by a second press: ``InTheSquadAlready`` where somebody of the squad has
    the very same names, or two of them do.
    """
    known = {_names(member.person) for member in desk_athletes.find(session)}
    for newcomer in newcomers:
        if _names(newcomer.person) in known:
            raise InTheSquadAlready(newcomer.person)
        known.add(_names(newcomer.person))
    members = desk_athletes.add_all(session, [newcomer.person for newcomer in newcomers])
    for member, newcomer in zip(members, newcomers, strict=True):
        if newcomer.stops is not None:
            marks = piece.model.marks(newcomer.stops)
            desk_settings.keep_setting(
                session,
                member.id,
                piece.model_id,
                desk_settings.setting_of_setup(piece.model, newcomer.stops),
                as_read={axis: f"mark {mark} of {piece.name}" for axis, mark in marks.items()},
            )
    return members


def _names(person: Person) -> tuple[str, str]:
    return person.family_name.casefold(), person.given_name.casefold()


class InTheSquadAlready(SettingsDeskError):
    """Somebody of the very same names is in the squad, or was typed twice."""

    def __init__(self, person: Person) -> None:
        self.person = person

    def __str__(self) -> str:
        return (
            f"{self.person.listed_name} stands here twice, or is in the squad already, and nobody"
            " was added: clear that line. Where it is another athlete of the same name, add them on"
            " a page of their own"
        )
