"""Several athletes on one page, with their marks on one apparatus: a squad's first evening."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms.form import BaseForm

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import several as desk_several
from settingsdesk.desk.squad.athletes import Member, NameNotPrintable, Person
from settingsdesk.desk.squad.marks_on_scales import key_at
from settingsdesk.desk.squad.several import InTheSquadAlready, Newcomer, typed_in_a_line
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import MarkField, alone_mm, blaming, form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import ParagraphField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

ROWS = 12
"""So many athletes stand on one page: a group at one apparatus."""
MOST_LETTERS = 4000

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


class LinesField(ParagraphField):
    """An athlete a line: names, then the marks of all axes; ``data`` is all lines, empty ones too,
    so that each is called by the number it has on the page."""

    data: Any

    def read(self, typed: str) -> Any:
        return [line.strip() for line in typed.splitlines()]

    def shown(self, value: Any) -> str:
        return "\n".join(value)


class SeveralForm(DeskForm):
    """Athletes line by line, and a row for each: given0, family0, low_rail0 and the like."""

    group_name = WordsField("Group", optional=True, width="w-16")
    lines = LinesField("An athlete on each line", most=MOST_LETTERS, optional=True)

    def rows(self, piece: Piece) -> list[list[Any]]:
        """The fields of every row: given name, family name, a mark of every axis."""
        keys = ["given", "family", *(axis.key for axis in piece.model.axes)]
        return [[self[f"{key}{row}"] for key in keys] for row in range(ROWS)]

    def newcomers(self, piece: Piece) -> Iterator[Newcomer]:
        """Whoever was typed; what is half filled in becomes a mistake of its field."""
        yield from self._of_lines(piece)
        for row, (given, family, *marks) in enumerate(self.rows(piece), start=1):
            stops = [mark.data for mark in marks]
            typed = [mark for mark in marks if mark.data is not None or mark.errors]
            if given.errors or family.errors:
                continue
            if not (given.data or family.data):
                if typed:
                    given.errors = [*given.errors, "Enter whose marks these are"]
                continue
            if typed and len(typed) < len(stops):
                for mark in marks:
                    if mark not in typed:
                        mark.errors = [*mark.errors, f"{mark.ask}, or clear the others"]
                continue
            person = Person(family.data, given.data, group_name=self.group_name.data or "")
            with (
                self.refusals(given, NameNotPrintable),
                self.refusals(given, CharacterNotInFont),
            ):
                desk_athletes.must_have_letters(person)
            is_whole = bool(typed) and None not in stops
            newcomer = Newcomer(person, tuple(stops) if is_whole else None, f"Athlete {row}")
            if newcomer.stops is not None:
                lengths_mm = alone_mm(piece.model, newcomer.stops)
                with blaming(self, piece.model, lengths_mm, field=f"{{}}{row - 1}"):
                    desk_several.must_stand(piece.model, newcomer.stops)
            yield newcomer

    def _of_lines(self, piece: Piece) -> Iterator[Newcomer]:
        for number, line in enumerate(self.lines.data or (), start=1):
            if not line:
                continue
            try:
                newcomer = typed_in_a_line(line, piece.model, self.group_name.data or "")
                desk_athletes.must_have_letters(newcomer.person)
                if newcomer.stops is not None:
                    desk_several.must_stand(piece.model, newcomer.stops)
            except SettingsDeskError as refused:
                self.lines.errors = [*self.lines.errors, f"Line {number}: {refused}"]
            else:
                yield replace(newcomer, typed_at=f"Line {number}")


@blueprint.route("/<int:apparatus_id>", methods=["GET", "POST"])
def add(apparatus_id: int) -> Page:
    """Type names and marks, and have athletes with their settings."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    form = _form(piece)
    if request.method == "POST" and (members := _added(form, piece)):
        added = "1 athlete is" if len(members) == 1 else f"{len(members)} athletes are"
        tell(
            f"{added} added.",
            (_to_a_rotation(piece, members), "Plan a rotation of them"),
            (url_for("cards.choose", apparatus_id=piece.id), "Print their cards"),
            (url_for("several.add", apparatus_id=piece.id), "Type further athletes"),
        )
        return redirect(url_for("athletes.index"), 303)
    return (
        render_template(
            "squad/several.html",
            form=form,
            piece=piece,
            examples=_examples(piece),
            marks_on=key_at(piece),
        ),
        form.status,
    )


def _added(form: SeveralForm, piece: Piece) -> list[Member]:
    """Everybody who was typed; nobody where anything is wrong, and all that is wrong told at once.

    A coach who has typed a squad does not put one mistake right to be told of the next.
    """
    form.validate()
    newcomers = list(form.newcomers(piece))
    if not newcomers and not form.mistakes:
        form.form_errors.append("Enter the names of one athlete or more")
    with work(writes=True) as session:
        if not form.mistakes:
            with suppress(InTheSquadAlready):
                return desk_several.add(session, piece, newcomers)
        there = desk_several.already_there(session, newcomers)
        form.form_errors += [str(refusal) for refusal in there]
    return []


def _examples(piece: Piece) -> list[str]:
    """Two lines as they would be typed, with the marks at which it stands or the middle ones."""
    middle = tuple(axis.scale.count // 2 for axis in piece.model.axes)
    marks = piece.model.marks(piece.setup or middle).values()
    between = "; " if any(" " in mark for mark in marks) or not any(_figures(marks)) else " "
    return [between.join([names, *marks]) for names in ("Ana Neu", "Neu, Ana Maria")]


def _figures(marks: Iterable[str]) -> Iterator[bool]:
    return (any(map(str.isdigit, mark)) for mark in marks)


def _to_a_rotation(piece: Piece, members: Sequence[Member]) -> str:
    """Where a rotation of those who have a setting is ordered; they are ticked there."""
    ids = [member.id for member in members]
    return url_for("rotations.new", apparatus_id=piece.id, who=ids)


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
