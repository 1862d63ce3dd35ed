"""Apparatus sheets: the file and the printed table for clubs that come, and the way in."""

from flask import Blueprint, flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import apparatus, apparatus_sheets, mark_photos
from settingsdesk.domain.hall.mark_lengths import mark_lengths
from settingsdesk.web.frame.fields import ChecksField, PaperField, WordsField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.sent_in import upload_of, waiting
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import desk, work

blueprint = Blueprint("apparatus_sheets", __name__, url_prefix="/apparatus-sheets")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]


class OutForm(DeskForm):
    """Which apparatus go on the sheet, and what the hall is called."""

    hall = WordsField("Hall", width="w-32", optional=True)
    pieces = ChecksField("Apparatus", read_choice=int, ask="Choose at least one apparatus")


class InForm(DeskForm):
    """The file that a host has sent."""

    file = PaperField("Apparatus sheet", accept=".json", ask="Choose the file")


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """Choose what goes on a sheet, or send one in."""
    with work() as session:
        pieces = apparatus.all_pieces(session)
    form = OutForm(data={"pieces": [piece.id for piece in pieces]})
    form.pieces.offer([(piece.id, piece.name) for piece in pieces])
    if form.accepted():
        told = {"hall": form.hall.data, "apparatus": form.pieces.data}
        return redirect(url_for("apparatus_sheets.show", **told), 303)
    return render_template(
        "hall/apparatus_sheets/index.html", form=form, pieces=pieces
    ), form.status


@blueprint.get("/sheet")
def show() -> str:
    """Every stop of the chosen apparatus with its length, to be printed for whoever has no desk."""
    hall, numbers = _asked()
    with work() as session:
        sheet = apparatus_sheets.export(session, numbers, hall, with_marks=False)
        pieces = [piece for piece in apparatus.all_pieces(session) if piece.id in numbers]
        read_at = mark_photos.of_models(session, [piece.model_id for piece in pieces])
    return render_template(
        "hall/apparatus_sheets/show.html",
        sheet=sheet,
        pieces=pieces,
        read_at=read_at,
        hall=hall,
        numbers=numbers,
        mark_lengths=mark_lengths,
    )


@blueprint.get("/sheet.json")
def file() -> Response:
    """The same as the file that another desk takes in."""
    hall, numbers = _asked()
    with work() as session:
        sheet = apparatus_sheets.export(
            session, numbers, hall, with_marks="plain" not in request.args
        )
    content = apparatus_sheets.file_of(sheet)
    response = make_response(content)
    response.headers["Content-Type"] = "application/json; charset=utf-8"
    response.headers["Content-Disposition"] = 'attachment; filename="apparatus-sheet.json"'
    return response


@blueprint.route("/in", methods=["GET", "POST"])
def send() -> Page:
    """Send in the sheet of a hall that the club goes to."""
    form = InForm()
    if form.accepted():
        with form.refusals(at=form.file):
            upload = upload_of(form.file.data)
            with work() as session:
                apparatus_sheets.look(session, upload.content)
            key = waiting().keep(upload)
            return redirect(url_for("apparatus_sheets.look", key=key), 303)
    return render_template("hall/apparatus_sheets/send.html", form=form), form.status


@blueprint.get("/in/<key>")
def look(key: str) -> str:
    """What taking it would do, apparatus by apparatus."""
    upload = waiting().find(key)
    with work() as session:
        seen = apparatus_sheets.look(session, upload.content)
    return render_template("hall/apparatus_sheets/look.html", seen=seen, key=key)


@blueprint.post("/in/<key>/keep")
def keep(key: str) -> Response:
    """Add all of it."""
    upload = waiting().find(key)
    with desk().workers.turn("photos"), work(writes=True) as session:
        seen = apparatus_sheets.take(session, upload.content)
    waiting().discard(key)
    flash(
        f"{len(seen.lines)} apparatus of {seen.sheet.hall or seen.sheet.host} can be worked out"
        " and printed for now. Check the marks there before anybody goes up."
    )
    return redirect(url_for("apparatus.index"), 303)


def _asked() -> tuple[str, list[int]]:
    return request.args.get("hall", "")[:80], request.args.getlist(
        "apparatus", type=number_of_a_row
    )
