"""The apparatus in the hall: what each is, and what stands there now."""

from datetime import date
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.checks import checks
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import calibrations, mats_of_day, models
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import (
    LONGEST_END_NAME,
    NotAMat,
    NotEndNames,
    NotTheseMats,
    Piece,
)
from settingsdesk.desk.hall.mats_of_day import NotADayForMats
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import MarkField, alone_mm, blaming, form_of
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    ChoiceField,
    DayField,
    LengthField,
    RadiosField,
    WordsField,
    number_of_a_row,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("apparatus", __name__, url_prefix="/apparatus")
blueprint.context_processor(shown.for_templates)


FIRST_END, SECOND_END = "first_end", "second_end"
MORE, LESS = "more", "less"


class PieceForm(DeskForm):
    """One apparatus as the hall speaks of it."""

    name = WordsField("Name", most=40, width="w-16")
    place = WordsField("Place in the hall", most=60, width="w-16", optional=True)
    mat = LengthField("Mats under the apparatus", default=0)


class ChangedPieceForm(PieceForm, EditForm):
    """Another name, place or mat; the names of its ends are added below."""


class MatsForm(EditForm):
    """The mats of one day: so much more than on record, or less; empty as on record."""

    day = DayField("Day")
    which_way = RadiosField(
        "Than on record", choices=[(MORE, "More mat"), (LESS, "Less mat")], default=MORE
    )
    by = LengthField("By how much", optional=True)

    @property
    def more_mm(self) -> int:
        """How much more lies there, below 0 less."""
        by_mm = self.by.data or 0
        return -by_mm if self.which_way.data == LESS else by_mm


class NewPieceForm(PieceForm):
    """A further apparatus."""

    model = ChoiceField("Apparatus model", read_choice=int)


@blueprint.get("/")
def index() -> str:
    """Every apparatus with what stands there now, kind by kind."""
    with work() as session:
        pieces = desk_apparatus.all_pieces(session)
        model_names = {version.id: version.model.name for version in models.all_models(session)}
    return render_template(
        "hall/apparatus/index.html", kinds=shown.by_kind(pieces), model_names=model_names
    )


@blueprint.route("/new", methods=["GET", "POST"])
def new() -> Page:
    """Add an apparatus of a model."""
    form = NewPieceForm()
    with work() as session:
        known = models.all_models(session)
    form.model.offer(
        (version.id, f"{version.model.kind.name}: {version.model.name}") for version in known
    )
    if request.method == "GET":
        form.model.data = request.args.get("model", type=number_of_a_row)
    if form.accepted():
        with (
            form.refusals(at=form.name),
            form.refusals(form.mat, NotAMat),
            work(writes=True) as session,
        ):
            added = desk_apparatus.add_piece(
                session, form.name.data, form.place.data, form.model.data, form.mat.data or 0
            )
            flash(f"{added.name} is added. Next, record its present marks.")
            return redirect(url_for("apparatus.show", apparatus_id=added.id), 303)
    return render_template("hall/apparatus/new.html", form=form, models=known), form.status


@blueprint.get("/<int:apparatus_id>")
def show(apparatus_id: int) -> str:
    """One apparatus: drawing, facts, record."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        version = models.model(session, piece.model_id)
        stood = desk_apparatus.setups(session, apparatus_id)
        record = calibrations.on_record(session, apparatus_id, version.model)
        care = checks.cares(session, [piece])[0]
    return render_template(
        "hall/apparatus/show.html",
        piece=piece,
        version=version,
        stood=stood,
        record=record,
        care=care,
        today=today(),
        mats_to_come=[piece.as_on(day).mats for day, _ in mats_of_day.to_come(piece)],
        picture=_picture(piece),
    )


@blueprint.route("/<int:apparatus_id>/edit", methods=["GET", "POST"])
def edit(apparatus_id: int) -> Page:
    """Another name, place or mat, and what its ends are called."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    form = _changed_piece_form(piece)
    has_ends = FIRST_END in form
    if form.accepted():
        with (
            form.refusals(at=form.name),
            form.refusals(form.mat, NotAMat, NotTheseMats),
            form.refusals(form[FIRST_END if has_ends else "name"], NotEndNames),
            work(writes=True) as session,
        ):
            form.must_be_as_read(data=_as_kept(desk_apparatus.piece(session, apparatus_id)))
            desk_apparatus.change_piece(
                session, apparatus_id, form.name.data, form.place.data, form.mat.data or 0
            )
            if has_ends:
                desk_apparatus.call_ends(
                    session, apparatus_id, form[FIRST_END].data, form[SECOND_END].data
                )
            flash(f"{form.name.data} is changed.")
            return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)
    return render_template("hall/apparatus/edit.html", form=form, piece=piece), form.status


@blueprint.route("/<int:apparatus_id>/mats", methods=["GET", "POST"])
def mats(apparatus_id: int) -> Page:
    """More or less mat on a day, from now on; the rail stays, and so does every setting."""
    with work(writes=request.method == "POST") as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        form = MatsForm(data=_mats_as_kept(piece, _day_asked()))
        if form.accepted():
            day = form.day.data or today()
            with (
                form.refusals(form.day, NotADayForMats),
                form.refusals(form.by, NotTheseMats),
                session.or_nothing(),
            ):
                form.must_be_as_read(data=_mats_as_kept(piece, day))
                mats_of_day.lie_on(session, apparatus_id, day, form.more_mm)
                flash(_said_of_mats(piece, day, form.more_mm))
                return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)
    to_come = [piece.as_on(day).mats for day, _ in mats_of_day.to_come(piece)]
    return render_template(
        "hall/apparatus/mats.html", form=form, piece=piece, to_come=to_come
    ), form.status


@blueprint.route("/<int:apparatus_id>/stands", methods=["GET", "POST"])
def stands(apparatus_id: int) -> Page:
    """Record the present marks, mark by mark; then back to where the coach came from."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    then = own_address(
        request.args.get("then"), otherwise=url_for("apparatus.show", apparatus_id=apparatus_id)
    )
    form = _marks_form(piece)
    if form.accepted():
        stops = [form[axis.key].data for axis in piece.model.axes]
        with (
            form.refusals(),
            blaming(
                form, piece.model, alone_mm(piece.model, stops), alone_mm(piece.model, piece.setup)
            ),
            work(writes=True) as session,
        ):
            desk_apparatus.read_off(session, apparatus_id, stops, form["how"].data)
            flash(f"The present marks of {piece.name} are recorded.")
            return redirect(then, 303)
    return render_template(
        "hall/apparatus/stands.html", form=form, piece=piece, then=then
    ), form.status


@blueprint.route("/<int:apparatus_id>/take-away", methods=["GET", "POST"])
def take_away(apparatus_id: int) -> Page:
    """Ask, and take away an apparatus that was added by mistake."""
    with work() as session:
        name = desk_apparatus.name_of(session, apparatus_id)
    doomed = Doomed(
        apparatus_id,
        name,
        desk_apparatus.hanging,
        desk_apparatus.take_away,
        url_for("apparatus.show", apparatus_id=apparatus_id),
        "The apparatus goes, with what was recorded of the marks at which it stood and what was"
        " taped at it.",
        "One that is faulty is taken out of use instead: report the fault.",
    )
    return ask(doomed, url_for("apparatus.index"))


@blueprint.get("/rule-books")
def rule_books() -> str:
    """Every limit of the club's rule books, with where it comes from."""
    with work() as session:
        books = desk_rule_books.all_books(session)
    return render_template("hall/apparatus/rule_books.html", books=books, kinds=KINDS)


def _changed_piece_form(piece: Piece) -> ChangedPieceForm:
    """The form of an apparatus; of one that has two ends, with what they are called."""
    called = piece.model.kind.ends_called or ()
    fields = {
        field: WordsField(
            f"What the hall calls its {word} end",
            most=LONGEST_END_NAME,
            width="w-16",
            optional=True,
        )
        for field, word in zip((FIRST_END, SECOND_END), called, strict=False)
    }
    return form_of(fields, ChangedPieceForm)(data=_as_kept(piece))


def _as_kept(piece: Piece) -> dict[str, str | int]:
    """What the form of an apparatus is filled with."""
    first_end, second_end = piece.end_names or ("", "")
    return {
        "name": piece.name,
        "place": piece.place,
        "mat": piece.mats.on_record_mm,
        FIRST_END: first_end,
        SECOND_END: second_end,
    }


def _day_asked() -> date:
    """The day of the address; today where it has none that can be read."""
    try:
        return date.fromisoformat(request.args.get("day", ""))
    except ValueError:
        return today()


def _mats_as_kept(piece: Piece, day: date) -> dict[str, Any]:
    """What the form of a day's mats is filled with."""
    more_mm = piece.as_on(day).mats.more_mm
    return {"day": day, "which_way": LESS if more_mm < 0 else MORE, "by": abs(more_mm) or None}


def _said_of_mats(piece: Piece, day: date, more_mm: int) -> str:
    when = "today" if day == today() else f"on {shown.day(day)}"
    if not more_mm:
        return f"{piece.name} has the mats on record {when}."
    more = f"{shown.length(abs(more_mm))} {'more' if more_mm > 0 else 'less'}"
    return (
        f"{piece.name} has {more} mat {when}. Heights above the mat count it; no rail, no setting"
        " and no mark changes, and it is over with the day."
    )


def _marks_form(piece: Piece) -> DeskForm:
    fields = {axis.key: MarkField(axis) for axis in piece.model.axes}
    how = WordsField("How it was read", most=80, optional=True, width="w-32")
    standing = piece.setup or (None,) * len(piece.model.axes)
    known = {axis.key: stop for axis, stop in zip(piece.model.axes, standing, strict=True)}
    return form_of({**fields, "how": how}, DeskForm)(data=known)


def _picture(piece: Piece) -> Drawing | None:
    if piece.setup is None:
        return None
    model = piece.model
    return shown.picture(
        model,
        model.measures_mm(piece.setup),
        model.marks(piece.setup),
        piece.mat_mm,
        seen_from=piece.seen_from,
    )
