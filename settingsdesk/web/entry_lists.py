"""Lists of entries that clubs have sent: looked at, corrected where a person has to, and taken."""

from collections.abc import Iterator

from flask import Blueprint, flash, redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from settingsdesk.desk import entry_lists, meets
from settingsdesk.desk.entry_lists import Look
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

blueprint = Blueprint("entry_lists", __name__, url_prefix="/meets/<int:meet_id>/lists")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

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


@blueprint.route("", methods=["GET", "POST"])
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
                entry_lists.look(
                    session, meet_id, upload.content, upload.file_name, form.sent_by.data
                )
            key = _waiting().keep(upload)
            return redirect(url_for("entry_lists.look", meet_id=meet_id, key=key, **told), 303)
    return render_template("entry_lists/send.html", form=form, meet=meet), form.status


@blueprint.get("/<key>")
def look(meet_id: int, key: str) -> Page:
    """What the list comes to: who, which settings, and each cell that is to be settled."""
    return _page(meet_id, key)


@blueprint.post("/<key>/columns")
def correct(meet_id: int, key: str) -> Page:
    """Say what columns hold; it is remembered for this club's lists of this layout."""
    seen = _seen(meet_id, key)
    form = _columns_form(seen)
    if not form.accepted():
        return _page(meet_id, key, form)
    mapped = {place: dict(told) for place, told in seen.mapped.items()}
    for place, told in _told(seen, form):
        mapped[place] = mapped.get(place, {}) | told
    with work(writes=True) as session:
        entry_lists.remember(session, coach().shown_name, _sent_by(), seen.key, mapped)
    flash("The list is read anew, and the next one of this layout from this club will be alike.")
    return redirect(_address("entry_lists.look", meet_id, key), 303)


@blueprint.post("/<key>/keep")
def keep(meet_id: int, key: str) -> Page:
    """Enter everybody, if it would still do just what was shown."""
    form = KeepForm()
    upload = _waiting().find(key)
    with work(writes=True) as session:
        seen = _look(session, meet_id, upload)
        if seen.fingerprint != form.fingerprint.data:
            flash("Nothing was kept: something has changed at the desk since. Look at it again.")
            return redirect(_address("entry_lists.look", meet_id, key), 303)
        entered, kept = entry_lists.take(session, coach().shown_name, meet_id, seen)
    _waiting().discard(key)
    tell(
        f"{entered} entered, {kept} settings kept, {len(seen.preview.queries)} cells left to"
        " settle with the club.",
        (url_for("entries.settle", meet_id=meet_id), "What is to be settled"),
        (url_for("entry_lists.send", meet_id=meet_id), "Take in the next list"),
    )
    return redirect(url_for("entries.index", meet_id=meet_id), 303)


@blueprint.post("/<key>/discard")
def discard(meet_id: int, key: str) -> Response:
    """Let go of the list; nothing of it was kept."""
    _waiting().discard(key)
    flash("Nothing of the list was kept.")
    return redirect(url_for("entry_lists.send", meet_id=meet_id), 303)


def _page(meet_id: int, key: str, columns: DeskForm | None = None) -> Page:
    seen = _seen(meet_id, key)
    with work() as session:
        meet = meets.meet(session, meet_id)
    form = columns or _columns_form(seen)
    page = render_template(
        "entry_lists/look.html",
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


def _seen(meet_id: int, key: str) -> Look:
    upload = _waiting().find(key)
    with work() as session:
        return _look(session, meet_id, upload)


def _look(session: Session, meet_id: int, upload: Upload) -> Look:
    accepts_mm = request.args.get("accepts", default=0, type=int)
    return entry_lists.look(
        session,
        meet_id,
        upload.content,
        upload.file_name,
        _sent_by(),
        max(0, min(accepts_mm, 100)),
    )


def _columns_form(seen: Look) -> DeskForm:
    """For every column what it holds and in which unit; for every table names and datum."""
    fields: dict[str, object] = {}
    known: dict[str, object] = {}
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


def _address(endpoint: str, meet_id: int, key: str) -> str:
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
