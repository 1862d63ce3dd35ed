"""Coaches' lists, for a meet or for the squad: looked at, corrected where needed, and taken."""

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.destinations import MeetEntries, Squad
from settingsdesk.desk.lists.listed_people import Taker
from settingsdesk.desk.lists.own_table import SeenPage, page_of
from settingsdesk.desk.lists.uploads import Upload
from settingsdesk.desk.meets import meets
from settingsdesk.domain.base.figures import so_many
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import DeviationField, PaperField, WordsField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.sent_in import upload_of, waiting
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import work
from settingsdesk.web.lists.list_columns import (
    MOST_ASKED,
    answers_form,
    as_said,
    asked_at,
    field_of_cell,
    field_of_tick,
    read_as,
    said_before,
)

blueprint = Blueprint("coach_lists", __name__)
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

OF_A_MEET, OF_THE_SQUAD = "/meets/<int:meet_id>/lists", "/sheets/lists"
"""Where lists of entries stand, and our own; ``meet_id`` is None for those."""

MOST_SHOWN = 400
MOST_NAMED = 5
NONE_LEFT = "nothing left out."


class SendForm(DeskForm):
    """The list that a club has sent."""

    file = PaperField(
        "List",
        accept=".xlsx,.csv,.tsv,.txt",
        ask="Choose the list",
        description=f"A .xlsx or .csv file of up to {MOST_BYTES // 1_000_000} megabytes, however"
        " it is laid out.",
    )
    sent_by = WordsField("Club", width="w-32", ask="Enter the club that sent it")
    accepts = DeviationField(
        "Accepted deviation where the list states none",
        ask="Enter which deviation is accepted where the list states none; 0 is none at all",
    )


@blueprint.route(OF_A_MEET, methods=["GET", "POST"])
def send(meet_id: int) -> Page:
    """Choose the list, and say who sent it."""
    form = SendForm()
    with work() as session:
        meet = meets.meet(session, meet_id)
    if form.accepted():
        with form.refusals(at=form.file):
            upload = upload_of(form.file.data)
            told = {"sent_by": form.sent_by.data, "accepts": form.accepts.data or 0}
            read_lists(upload.content, upload.file_name)
            key = waiting().keep(upload)
            return redirect(url_for("coach_lists.look", meet_id=meet_id, key=key, **told), 303)
    return render_template("lists/coach_lists/send.html", form=form, meet=meet), form.status


@blueprint.get(OF_A_MEET + "/<key>")
@blueprint.get(OF_THE_SQUAD + "/<key>", defaults={"meet_id": None})
def look(meet_id: int | None, key: str) -> Page:
    """The list as the coach's own table: each cell as it was read, each question in its place."""
    upload, seen = _seen(meet_id, key)
    page = _lines(seen)
    return _page(meet_id, key, upload, seen, page, answers_form(seen, page))


@blueprint.post(OF_A_MEET + "/<key>/columns")
@blueprint.post(OF_THE_SQUAD + "/<key>/columns", defaults={"meet_id": None})
def correct(meet_id: int | None, key: str) -> Page:
    """Say what columns hold, what is meant in a cell, and who is not to be taken.

    What is said of columns is remembered for this club's lists of this layout.
    """
    upload, seen = _seen(meet_id, key)
    page = _lines(seen)
    form = answers_form(seen, page)
    if not form.accepted():
        return _page(meet_id, key, upload, seen, page, form)
    with work(writes=True) as session:
        is_of_columns, _ = _say(session, key, seen, page, form)
    whose = "" if meet_id is None else " from this club"
    flash(
        f"The list was read again, and the next one of this layout will be read so{whose}."
        if is_of_columns
        else "The list was read again."
    )
    return redirect(_address("coach_lists.look", meet_id, key), 303)


@blueprint.post(OF_A_MEET + "/<key>/keep")
@blueprint.post(OF_THE_SQUAD + "/<key>/keep", defaults={"meet_id": None})
def keep(meet_id: int | None, key: str) -> Page:
    """Enter everybody, if it would still do just what was shown and nothing else was typed."""
    upload = waiting().find(key)
    with work(writes=True) as session:
        taker = _taker(session, meet_id)
        seen = _look(session, taker, upload)
        page = _lines(seen)
        form = answers_form(seen, page)
        if form.accepted():
            if any(_say(session, key, seen, page, form)):
                flash("Nothing is saved yet: the list was read again with your answers.")
                return redirect(_address("coach_lists.look", meet_id, key), 303)
            if seen.fingerprint != form["fingerprint"].data:
                flash("Nothing was saved: something has changed since. Check it again.")
                return redirect(_address("coach_lists.look", meet_id, key), 303)
            new, kept = coach_lists.take(session, taker, seen)
    if form.mistakes:
        return _page(meet_id, key, upload, seen, page, form)
    waiting().discard(key)
    return _taken(meet_id, seen, new, kept)


def _say(
    session: ClubSession, key: str, seen: Look, page: SeenPage, form: DeskForm
) -> tuple[bool, bool]:
    """Let what a form says count; whether it says another thing of columns, and of this file."""
    mapped, answers = as_said(seen, page, form)
    if is_of_columns := mapped != seen.mapped:
        coach_lists.remember(session, _sent_by(), seen.key, mapped)
    if is_of_file := answers != seen.answers:
        waiting().answer(key, answers.as_text)
    return is_of_columns, is_of_file


def _taken(meet_id: int | None, seen: Look, new: int, kept: int) -> Response:
    left, settings = _left_out(seen), so_many(kept, "setting")
    if seen.is_ours:
        rows = so_many(len(seen.changing_rows), "row")
        tell(f"All of it is saved: {rows} changed something.{_half_way(seen)}", *_next())
        return redirect(url_for("athletes.index"), 303)
    if meet_id is None:
        tell(
            f"{new} added to the squad, {settings} saved, "
            + (f"{left} left out: correct the list and bring it in again." if left else NONE_LEFT)
            + _half_way(seen),
            *_next(),
        )
        return redirect(url_for("athletes.index"), 303)
    tell(
        f"{new} entered, {settings} saved, "
        + (f"{left} left out: settle them with the club." if left else NONE_LEFT)
        + _half_way(seen),
        (url_for("entries.settle", meet_id=meet_id), "Open questions"),
        (url_for("coach_lists.send", meet_id=meet_id), "Add the next list"),
    )
    return redirect(url_for("entries.index", meet_id=meet_id), 303)


def _half_way(seen: Look) -> str:
    """Whose settings lie half-way between two marks: said once more, now that they are saved."""
    names = [
        athlete.person.listed_name
        for athlete in seen.taken
        if any(listed.half_way for listed in athlete.settings)
    ]
    if not names:
        return ""
    more = len(names) - MOST_NAMED
    told = "; ".join(names[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")
    return (
        " A length lies half-way between two marks, of which one counts and the other is as near:"
        f" see the page of {told}."
    )


def _next() -> list[tuple[str, str]]:
    """What a coach does once the squad is in."""
    return [
        (url_for("rotations.choose_apparatus"), "Plan a rotation"),
        (url_for("cards.index"), "Print cards"),
    ]


@blueprint.post(OF_A_MEET + "/<key>/discard")
@blueprint.post(OF_THE_SQUAD + "/<key>/discard", defaults={"meet_id": None})
def discard(meet_id: int | None, key: str) -> Response:
    """Let go of the list; nothing of it was kept."""
    waiting().discard(key)
    flash("Nothing of the list was saved.")
    there = "sheets.index" if meet_id is None else "coach_lists.send"
    return redirect(url_for(there, meet_id=meet_id), 303)


def _page(
    meet_id: int | None, key: str, upload: Upload, seen: Look, page: SeenPage, form: DeskForm
) -> Page:
    with work() as session:
        meet = None if meet_id is None else meets.meet(session, meet_id)
    shown = render_template(
        "lists/coach_lists/look.html",
        meet=meet,
        seen=seen,
        page=page,
        file_name=upload.file_name,
        said=list(said_before(seen)),
        so_many=so_many,
        key=key,
        told=_carried(),
        only_asked=_only_asked(seen),
        open_places=sum(1 for _ in coach_lists.left_out(seen)) if seen.is_ours else 0,
        form=form,
        read_as=read_as,
        asked_at=asked_at,
        most_asked=MOST_ASKED,
        field_of_cell=field_of_cell,
        field_of_tick=field_of_tick,
        most=MOST_SHOWN,
        kinds=KINDS,
    )
    return shown, form.status


def _seen(meet_id: int | None, key: str) -> tuple[Upload, Look]:
    upload = waiting().find(key)
    with work() as session:
        return upload, _look(session, _taker(session, meet_id), upload)


def _lines(seen: Look) -> SeenPage:
    """The lines of the page that is asked for."""
    told = _carried()
    return page_of(seen, int(told["page"]), only_asked=_only_asked(seen))


def _only_asked(seen: Look) -> bool:
    """Whether lines are left out of which nothing is asked; usual in a sheet of our own columns."""
    return _carried()["lines"] == "asked" or (seen.is_ours and _carried()["lines"] != "all")


def _look(session: ClubSession, taker: Taker, upload: Upload) -> Look:
    accepts_mm = request.args.get("accepts", default=0, type=number_of_a_row)
    return coach_lists.look(
        session,
        taker,
        upload.content,
        upload.file_name,
        _sent_by(),
        max(0, min(accepts_mm, MOST_ACCEPTED_MM)),
        Answers.from_text(upload.answers),
        as_any_list=bool(request.args.get("any_list")),
    )


def _taker(session: ClubSession, meet_id: int | None) -> Taker:
    return Squad(session) if meet_id is None else MeetEntries(session, meet_id)


def _left_out(seen: Look) -> str:
    """What of a list is not taken: "1 cell and 2 settings"; empty where all of it is."""
    found = [
        (sum(bool(athlete.why_not) and athlete.is_ticked for athlete in seen.people), "athlete"),
        (len(seen.to_settle), "cell"),
        (len(seen.not_whole), "setting"),
    ]
    return " and ".join(so_many(count, what) for count, what in found if count)


def _sent_by() -> str:
    return " ".join(request.args.get("sent_by", "").split())[:80]


def _carried() -> dict[str, str]:
    """What an address says besides the list: the club, the deviation, and which lines are shown."""
    page = request.args.get("page", default=1, type=number_of_a_row)
    lines = request.args.get("lines", "")
    return {
        "sent_by": _sent_by(),
        "accepts": request.args.get("accepts", "0"),
        "page": str(page),
        "lines": lines if lines in ("asked", "all") else "",
        "any_list": "1" if request.args.get("any_list") else "",
    }


def _address(endpoint: str, meet_id: int | None, key: str) -> str:
    told: dict[str, Any] = {"meet_id": meet_id, "key": key, **_carried()}
    return url_for(endpoint, **told)
