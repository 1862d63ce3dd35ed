"""Several athletes on one page, with their marks on one apparatus: a squad's first evening."""

from collections.abc import Iterator
from typing import Any

from flask import Blueprint, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms.form import BaseForm

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import several as desk_several
from settingsdesk.desk.squad.athletes import NameNotPrintable, Person
from settingsdesk.desk.squad.several import InTheSquadAlready, Newcomer
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import MarkField, form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

ROWS = 12
"""So many athletes stand on one page: a group at one apparatus."""

blueprint = Blueprint("several", __name__, url_prefix="/athletes/several")
blueprint.context_processor(shown.for_templates)


class RowName(WordsField):
    """A name in a row that may stay empty, which the page says once for all of them."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class RowMark(MarkField):
    """A mark in such a row."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class SeveralForm(DeskForm):
    """A row for each athlete: fields named given0, family0, low_rail0 and the like."""

    group_name = WordsField("Group", optional=True, width="w-16")

    def rows(self, piece: Piece) -> list[list[Any]]:
        """The fields of every row: given name, family name, a mark of every axis."""
        keys = ["given", "family", *(axis.key for axis in piece.model.axes)]
        return [[self[f"{key}{row}"] for key in keys] for row in range(ROWS)]

    def newcomers(self, piece: Piece) -> Iterator[Newcomer]:
        """Whoever was typed; what is half filled in becomes a mistake of its field."""
        for given, family, *marks in self.rows(piece):
            stops = [mark.data for mark in marks]
            typed = [stop for stop in stops if stop is not None]
            if not (given.data or family.data):
                if typed:
                    given.errors = [*given.errors, "Enter whose marks these are"]
                continue
            if typed and len(typed) < len(stops):
                for mark in marks:
                    if mark.data is None:
                        mark.errors = [*mark.errors, f"{mark.ask}, or clear the others"]
                continue
            person = Person(family.data, given.data, group_name=self.group_name.data or "")
            with (
                self.refusals(given, NameNotPrintable),
                self.refusals(given, CharacterNotInFont),
            ):
                desk_athletes.must_have_letters(person)
            yield Newcomer(person, tuple(stops) if typed else None)


@blueprint.route("/<int:apparatus_id>", methods=["GET", "POST"])
def add(apparatus_id: int) -> Page:
    """Type names and marks, and have athletes with their settings."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    form = _form(piece)
    if form.accepted():
        newcomers = list(form.newcomers(piece))
        if not newcomers and not form.mistakes:
            form.form_errors.append("Enter the names of one athlete or more")
        if not form.mistakes:
            with form.refusals(None, InTheSquadAlready), work(writes=True) as session:
                members = desk_several.add(session, piece, newcomers)
                added = "1 athlete is" if len(members) == 1 else f"{len(members)} athletes are"
                tell(
                    f"{added} added.",
                    (url_for("rotations.new", apparatus_id=piece.id), "Order a rotation of them"),
                    (url_for("cards.choose", apparatus_id=piece.id), "Print their cards"),
                    (url_for("several.add", apparatus_id=piece.id), "Type further athletes"),
                )
                return redirect(url_for("athletes.index"), 303)
    return render_template("squad/several.html", form=form, piece=piece), form.status


def _form(piece: Piece) -> SeveralForm:
    fields: dict[str, Any] = {}
    for row in range(ROWS):
        place = f"Athlete {row + 1}"
        fields[f"given{row}"] = _name(f"{place}, given name", "Given name")
        fields[f"family{row}"] = _name(f"{place}, family name", "Family name")
        for axis in piece.model.axes:
            fields[f"{axis.key}{row}"] = RowMark(
                axis,
                f"{place}, mark of the {axis.kind.in_a_sentence}",
                label=axis.kind.name,
                description="",
            )
    return form_of(fields, SeveralForm)()


def _name(words: str, label: str) -> RowName:
    return RowName(words, label=label, width="w-8")
