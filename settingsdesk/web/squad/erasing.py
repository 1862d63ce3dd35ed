"""Erasing what is kept of an athlete: what goes is named, and it goes by a second press."""

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.lists.uploads import discard_all
from settingsdesk.desk.meets import copies_at_hosts, erasing
from settingsdesk.desk.meets.copies_at_hosts import CopyAtHost
from settingsdesk.desk.meets.same_person import must_not_be_at_the_bars
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.store.errors import DeskIsBusy, NoRoomLeft
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.sent_in import folder_of_lists
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import coach, desk, work


@dataclass(frozen=True, slots=True)
class ToErase:
    """What an erasure would do here, and what hosts of this desk keep that goes with it."""

    here: erasing.ToErase
    at_hosts: Sequence[CopyAtHost]

    @property
    def waits_at(self) -> CopyAtHost | None:
        """A host at whose bars the athlete is listed now."""
        return next((copy for copy in self.at_hosts if copy.at_the_bars), None)


def add_to(blueprint: Blueprint) -> None:
    """Add this page to the room of the athletes."""
    blueprint.add_url_rule(
        "/<int:athlete_id>/erase", view_func=erase, methods=["GET", "POST"], endpoint="erase"
    )


def erase(athlete_id: int) -> Response | tuple[str, int]:
    """Ask, and erase everything that is kept about one athlete."""
    photo_ids = request.form.getlist("photo", type=number_of_a_row)
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        sent = copies_at_hosts.sent_to(session, athlete_id)
    at_hosts = copies_at_hosts.copies_at_hosts(desk().store, coach(), sent)
    doomed = Doomed(
        athlete_id,
        member.listed_name,
        lambda _session, _number: (),
        lambda session, number: erasing.erase(session, number, photo_ids),
        url_for("athletes.show", athlete_id=athlete_id),
        f"Everything that is kept about {member.listed_name} goes, for good: names, group, start"
        " number, settings.",
        going_along=erasing.going,
        more=lambda session, number: ToErase(erasing.to_erase(session, number), at_hosts),
        template="squad/erase.html",
        first=lambda: _erase_at_hosts(member, at_hosts),
        is_done=lambda: clean_up("What was kept about this athlete is erased."),
    )
    return ask(doomed, url_for("athletes.index"))


def _erase_at_hosts(member: Member, at_hosts: Sequence[CopyAtHost]) -> None:
    """Before it is erased here, where it is known then of whom the hosts have copies."""
    if not at_hosts:
        return
    with work() as session:
        must_not_be_at_the_bars(session, member)
    copies_at_hosts.erase_copies(desk().store, coach(), at_hosts)


def clean_up(done: str) -> str:
    """Let go of what is left of it outside the tables; what was done, and where a copy may be."""
    desk().kept.forget()
    discard_all(folder_of_lists())
    try:
        desk().store.leave_no_traces()
    except (DeskIsBusy, NoRoomLeft):
        when = "" if desk().data.server else "when the desk is stopped, or "
        done += (
            f" The disk could not be cleaned up now: it is done {when}with the next athlete who is"
            " erased."
        )
    copies = desk().data.copies()
    if copies:
        names = ", ".join(file.name for file in copies)
        done += f" These files in the data folder may still have it; delete them there: {names}."
    return done
