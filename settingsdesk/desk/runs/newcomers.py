"""Somebody new to the squad gets turns in a run: added, with a first setting, and on the list."""

from collections.abc import Sequence

from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad import several as desk_several
from settingsdesk.desk.squad.athletes import Member, Person
from settingsdesk.domain.base.names import folded
from settingsdesk.domain.changeover.happenings import everybody_in
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.store.work import ClubSession


def mates(session: ClubSession, now: RunNow) -> Sequence[Member]:
    """With whose setting somebody new can begin: those of this run who have one for its model."""
    everybody = everybody_in(event.what for event in now.events)
    model = now.piece.printed
    with_one = desk_settings.latest_by_model(session, everybody, [model], [USUAL])[model.id, USUAL]
    members = desk_athletes.members(session, with_one)
    return sorted(members.values(), key=lambda member: folded(member.listed_name))


def take(
    session: ClubSession, now: RunNow, seen: int, person: Person, begins: Setup | Member
) -> RunNow:
    """Add somebody to the squad and to the run, with turns after all others.

    ``begins`` are the stops at which they want this apparatus, or the squad-mate with whose setting
    they begin; that is not tried until a coach confirms it. Raises what ``several.keep_marks``,
    ``settings.begin_with`` and ``run.join`` do.
    """
    member = desk_athletes.add(session, person)
    if isinstance(begins, Member):
        desk_settings.begin_with(session, member.id, now.piece.model_id, begins.id)
    else:
        desk_several.keep_marks(session, now.piece, member.id, begins)
    return desk_run.join(session, now, seen, [member.id])
