"""Coaches' lists, for a meet or for the squad: looked at, corrected where needed, and taken."""

from collections.abc import Iterator

from flask import Blueprint, flash, redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from settingsdesk.desk import coach_lists, meets
from settingsdesk.desk import models as desk_models
from settingsdesk.desk.coach_lists import Look
from settingsdesk.desk.list_takers import MeetEntries, Squad, Taker
from settingsdesk.desk.uploads import Upload, UploadGone, WaitingFiles
from settingsdesk.domain.datums import Edge, Level
from settingsdesk.domain.kinds import KINDS
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.web.axis_fields import form_of
from settingsdesk.web.done import tell
from settingsdesk.web.fields import (
    CarriedField,
    ChoiceField,
    LengthField,
    PaperField,
    WordsField,
)
from settingsdesk.web.forms import DeskForm
from settingsdesk.web.shown import for_templates
from settingsdesk.web.work import coach, desk, work

blueprint = Blueprint("coach_lists", __name__)
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

OF_A_MEET, OF_THE_SQUAD = "/meets/<int:meet_id>/lists", "/sheets/lists"
"""Where lists of entries stand, and our own; ``meet_id`` is None for those."""

HOLDS = [
    *((f"role:{role.name.lower()}", role.value.capitalize()) for role in Role),
    *(
        (f"axis:{kind.key}/{axis.key}", f"{kind.name}: {axis.in_a_sentence}")
        for kind in KINDS.values()
        for axis in kind.axes
    ),
]
UNITS = [(unit.value, unit.in_words.capitalize()) for unit in ListUnit]
NAMES = [("family", "The family name"), ("given", "The given name")]
LEVELS = [(Level.FLOOR.value, "From the floor"), (Level.MAT.value, "From the mat")]
EDGES = [
    (Edge.UPPER.value, "To the upper edge"),
    (Edge.CENTRE.value, "To the centre"),
    (Edge.UNDERSIDE.value, "To the underside"),
]
MOST_SHOWN = 400


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
    accepts = LengthField("Accepted deviation where the list states none", optional=True)


class KeepForm(DeskForm):
    """What was shown when somebody said yes."""

    fingerprint = CarriedField()


@blueprint.route(OF_A_MEET, methods=["GET", "POST"])
def send(meet_id: int) -> Page:
    """Choose the list, and say who sent it."""
    form = SendForm()
    with work() as session:
        meet = meets.meet(session, meet_id)
    if form.accepted():
        with form.refusals(at=form.file):
            upload = _upload(form.file.data)
            told = {"sent_by": form.sent_by.data, "accepts": form.accepts.data or 0}
            with work() as session:
                taker = MeetEntries(session, meet_id)
                coach_lists.look(session, taker, upload.content, upload.file_name)
            key = _waiting().keep(upload)
            return redirect(url_for("coach_lists.look", meet_id=meet_id, key=key, **told), 303)
    return render_template("coach_lists/send.html", form=form, meet=meet), form.status


@blueprint.get(OF_A_MEET + "/<key>")
@blueprint.get(OF_THE_SQUAD + "/<key>", defaults={"meet_id": None})
def look(meet_id: int | None, key: str) -> Page:
    """What the list comes to: who, which settings, and each cell that is to be settled."""
    return _page(meet_id, key)


@blueprint.post(OF_A_MEET + "/<key>/columns")
@blueprint.post(OF_THE_SQUAD + "/<key>/columns", defaults={"meet_id": None})
def correct(meet_id: int | None, key: str) -> Page:
    """Say what columns hold; it is remembered for this club's lists of this layout."""
    seen = _seen(meet_id, key)
    form = _columns_form(seen)
    if not form.accepted():
        return _page(meet_id, key, form)
    mapped = {place: dict(told) for place, told in seen.mapped.items()}
    for place, told in _told(seen, form):
        mapped[place] = mapped.get(place, {}) | told
    chosen = {kind: form[f"model_{kind}"].data or "" for kind in seen.kinds_unnamed}
    mapped[coach_lists.MODELS] = {kind: name for kind, name in chosen.items() if name}
    with work(writes=True) as session:
        coach_lists.remember(session, coach().shown_name, _sent_by(), seen.key, mapped)
    flash("The list is read anew, and the next one of this layout from this club will be alike.")
    return redirect(_address("coach_lists.look", meet_id, key), 303)


@blueprint.post(OF_A_MEET + "/<key>/keep")
@blueprint.post(OF_THE_SQUAD + "/<key>/keep", defaults={"meet_id": None})
def keep(meet_id: int | None, key: str) -> Page:
    """Enter everybody, if it would still do just what was shown."""
    form = KeepForm()
    upload = _waiting().find(key)
    with work(writes=True) as session:
        seen = _look(session, meet_id, upload)
        if seen.fingerprint != form.fingerprint.data:
            flash("Nothing was kept: something has changed at the desk since. Look at it again.")
            return redirect(_address("coach_lists.look", meet_id, key), 303)
        new, kept = coach_lists.take(session, coach().shown_name, _taker(session, meet_id), seen)
    _waiting().discard(key)
    left = len(seen.preview.queries)
    if meet_id is None:
        tell(
            f"{new} added to the squad, {kept} settings kept, {left} cells left out: correct them"
            " in the list and bring it in again.",
            (url_for("rotations.choose_apparatus"), "Order a rotation"),
            (url_for("cards.index"), "Print cards"),
        )
        return redirect(url_for("athletes.index"), 303)
    tell(
        f"{new} entered, {kept} settings kept, {left} cells left to settle with the club.",
        (url_for("entries.settle", meet_id=meet_id), "What is to be settled"),
        (url_for("coach_lists.send", meet_id=meet_id), "Take in the next list"),
    )
    return redirect(url_for("entries.index", meet_id=meet_id), 303)


@blueprint.post(OF_A_MEET + "/<key>/discard")
@blueprint.post(OF_THE_SQUAD + "/<key>/discard", defaults={"meet_id": None})
def discard(meet_id: int | None, key: str) -> Response:
    """Let go of the list; nothing of it was kept."""
    _waiting().discard(key)
    flash("Nothing of the list was kept.")
    there = "sheets.index" if meet_id is None else "coach_lists.send"
    return redirect(url_for(there, meet_id=meet_id), 303)


def _page(meet_id: int | None, key: str, columns: DeskForm | None = None) -> Page:
    seen = _seen(meet_id, key)
    with work() as session:
        meet = None if meet_id is None else meets.meet(session, meet_id)
    form = columns or _columns_form(seen)
    page = render_template(
        "coach_lists/look.html",
        meet=meet,
        seen=seen,
        key=key,
        told=_carried(),
        keep=KeepForm(data={"fingerprint": seen.fingerprint}),
        columns=form,
        forms=[form],
        most=MOST_SHOWN,
        kinds=KINDS,
    )
    return page, form.status


def _seen(meet_id: int | None, key: str) -> Look:
    upload = _waiting().find(key)
    with work() as session:
        return _look(session, meet_id, upload)


def _look(session: Session, meet_id: int | None, upload: Upload) -> Look:
    accepts_mm = request.args.get("accepts", default=0, type=int)
    return coach_lists.look(
        session,
        _taker(session, meet_id),
        upload.content,
        upload.file_name,
        _sent_by(),
        max(0, min(accepts_mm, 100)),
    )


def _taker(session: Session, meet_id: int | None) -> Taker:
    return Squad(session) if meet_id is None else MeetEntries(session, meet_id)


def _columns_form(seen: Look) -> DeskForm:
    """For every column what it holds and in which unit; for every table names and datum.

    Before them, for every kind of apparatus of which the list names no model, which is meant.
    """
    fields: dict[str, object] = {}
    known: dict[str, object] = {}
    with work() as session:
        models = desk_models.model_kinds(session)
    for kind in seen.kinds_unnamed:
        fields[f"model_{kind}"] = ChoiceField(
            f"Model of {KINDS[kind].name.lower()} where the list names none",
            choices=[(name, name) for name, key in models.items() if key == kind],
            optional=True,
        )
        known[f"model_{kind}"] = seen.mapped.get(coach_lists.MODELS, {}).get(kind)
    for number, table in enumerate(seen.preview.tables):
        if table.names_first is not None:
            fields[f"names{number}"] = ChoiceField(
                f"Which name comes first{_of(seen, number)}", choices=NAMES, optional=True
            )
            known[f"names{number}"] = table.names_first or None
        fields[f"level{number}"] = ChoiceField(
            f"Heights are taken{_of(seen, number)}", choices=LEVELS, optional=True
        )
        fields[f"mat{number}"] = LengthField(
            f"Thickness of the mat{_of(seen, number)}", optional=True
        )
        fields[f"edge{number}"] = ChoiceField(
            f"Heights go{_of(seen, number)}", choices=EDGES, optional=True
        )
        fields[f"rail{number}"] = LengthField(
            f"Diameter of the rail{_of(seen, number)}", optional=True
        )
        for column in table.columns:
            name = f"{number}_{column.line}"
            words = f"{column.line}{', ' + column.header if column.header else ''}"
            fields[f"holds{name}"] = ChoiceField(
                f"Column {words}{_of(seen, number)} holds", choices=HOLDS, optional=True
            )
            fields[f"unit{name}"] = ChoiceField(
                f"Unit of {words}{_of(seen, number)}", choices=UNITS, optional=True
            )
            if column.axis and column.kind:
                known[f"holds{name}"] = f"axis:{column.kind}/{column.axis}"
            elif column.role:
                known[f"holds{name}"] = f"role:{column.role.name.lower()}"
            known[f"unit{name}"] = column.unit.value if column.unit else None
    return form_of(fields, DeskForm)(data=known)


def _told(seen: Look, form: DeskForm) -> Iterator[tuple[str, dict[str, str]]]:
    """What the form says that is not how the list is read already, column by column."""
    for number, table in enumerate(seen.preview.tables):
        common = {
            "level": form[f"level{number}"].data or "",
            "edge": form[f"edge{number}"].data or "",
            "mat_mm": str(form[f"mat{number}"].data or ""),
            "rail_mm": str(form[f"rail{number}"].data or ""),
            "names": form[f"names{number}"].data or "" if table.names_first is not None else "",
        }
        common = {key: value for key, value in common.items() if value}
        for column in table.columns:
            name = f"{number}_{column.line}"
            told = dict(common)
            what, _, value = (form[f"holds{name}"].data or "").partition(":")
            as_read = f"{column.kind}/{column.axis}" if column.axis else ""
            if what == "axis" and value != as_read:
                told["axis"] = value
            elif what == "role" and (column.role is None or value != column.role.name.lower()):
                told["role"] = value
            unit = form[f"unit{name}"].data
            if unit and (column.unit is None or unit != column.unit.value):
                told["unit"] = unit
            if told:
                yield f"{column.sheet}!{column.line}", told


def _of(seen: Look, number: int) -> str:
    """Which table is meant, where there are several."""
    if len(seen.preview.tables) == 1:
        return ""
    table = seen.preview.tables[number]
    return f" in table {number + 1}" + (f" ({table.sheet})" if table.sheet else "")


def _sent_by() -> str:
    return " ".join(request.args.get("sent_by", "").split())[:80]


def _carried() -> dict[str, str]:
    return {"sent_by": _sent_by(), "accepts": request.args.get("accepts", "0")}


def _address(endpoint: str, meet_id: int | None, key: str) -> str:
    told = _carried()
    return url_for(
        endpoint, meet_id=meet_id, key=key, sent_by=told["sent_by"], accepts=told["accepts"]
    )


def _upload(file: FileStorage | None) -> Upload:
    if file is None:
        raise UploadGone
    return Upload(file.filename or "", file.stream.read())


def _waiting() -> WaitingFiles:
    return WaitingFiles(desk().data.path / "sent", coach().stamp)
