"""Erasing what is kept of an athlete: what goes is named, and it goes by a second press."""

from flask import Blueprint, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.lists.uploads import discard_all
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.store.errors import DeskIsBusy, NoRoomLeft
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.sent_in import folder_of_lists
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import desk, work


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
    doomed = Doomed(
        athlete_id,
        member.listed_name,
        lambda _session, _number: (),
        lambda session, number: erasing.erase(session, number, photo_ids),
        url_for("athletes.show", athlete_id=athlete_id),
        f"Everything that is kept about {member.listed_name} goes, for good: names, group, start"
        " number, settings.",
        going_along=erasing.goes,
        more=erasing.to_erase,
        template="squad/erase.html",
        is_done=lambda: clean_up("What was kept about this athlete is erased."),
    )
    return ask(doomed, url_for("athletes.index"))


def clean_up(done: str) -> str:
    """Let go of what is left of it outside the tables; what was done, and where a copy may be."""
    desk().kept.forget()
    discard_all(folder_of_lists())
    try:
        desk().store.leave_no_traces()
    except (DeskIsBusy, NoRoomLeft):
        done += (
            " The disk could not be cleaned up now: it is done when the desk is stopped, or with"
            " the next athlete who is erased."
        )
    copies = desk().data.copies()
    if copies:
        names = ", ".join(file.name for file in copies)
        done += f" These files in the data folder may still have it; delete them there: {names}."
    return done
