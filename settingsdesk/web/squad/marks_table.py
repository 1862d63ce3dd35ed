"""The squad's marks in one table, each cell a box: changed where they stand, saved together."""

from collections.abc import Sequence
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms.form import BaseForm

from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import marks_on_scales, marks_table
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import AT_ONCE, Member
from settingsdesk.desk.squad.marks_on_scales import OnScale
from settingsdesk.desk.squad.marks_table import Changed, MarksLacking, Row
from settingsdesk.desk.squad.settings import NewSetting, named_for
from settingsdesk.domain.base.sentences import Series
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import MarkField, alone_mm, blaming, form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChoiceField,
    CountField,
    WordsField,
    number_carried,
)
from settingsdesk.web.frame.forms import AskingForm, DeskForm
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.squad.choosing import GroupField, PurposeField

Page = str | Response | tuple[str, int]


class WhichForm(DeskForm):
    """Whose marks, and on which scale."""

    on = ChoiceField("Marks for")
    purpose = PurposeField("Settings for")
    group = GroupField("Group")
    page = CountField("Page", least=1, default=1)


class CellField(MarkField):
    """A mark in a row; one that has none of them is no setting yet."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class MarksForm(EditForm, AskingForm):
    """A box for each athlete and adjustment, named after both; ``who`` has the athletes."""

    who = CarriedField()
    reason = WordsField("Reason", most=200, optional=True)

    def cells(self, scale: OnScale, row: Row) -> list[Any]:
        """The boxes of a row."""
        return [self[_named(axis.key, row.member.id)] for axis in scale.model.axes]

    def changes(self, scale: OnScale, rows: Sequence[Row]) -> list[Changed]:
        """What is to be kept; whatever cannot be is a mistake of its cell."""
        found = []
        for row in rows:
            cells = self.cells(scale, row)
            stops = [cell.data for cell in cells]
            first = next((cell for cell in cells if cell.data != cell.object_data), cells[0])
            lacking = next((cell for cell in cells if cell.data is None), first)
            known = [stop for stop in stops if stop is not None]
            lengths_mm = alone_mm(scale.model, known) if len(known) == len(stops) else {}
            with (
                self.refusals(first),
                blaming(self, scale.model, lengths_mm, field=_named("{}", row.member.id)),
                self.refusals(lacking, MarksLacking),
            ):
                change = marks_table.changed(scale, row, stops, self.reason.data or "")
                found += [change] if change else []
        return found


def add_to(blueprint: Blueprint) -> None:
    """Add this page to the room of the athletes."""
    blueprint.add_url_rule("/marks", view_func=marks, methods=["GET", "POST"])


def marks() -> Page:
    """The table: whose marks on which scale; changed, checked as a whole, and kept together."""
    which = WhichForm(request.args)
    with work(writes=request.method == "POST") as session:
        scales = [scale for scale in marks_on_scales.scales(session) if not scale.model.lacks_drop]
        if not scales:
            return render_template("squad/squad_empty.html")
        scale = next((one for one in scales if one.key == which.on.data), _first(session, scales))
        groups = desk_athletes.groups(session)
        page = desk_athletes.page(
            session, group=which.group.data or "", number=which.page.data or 1
        )
        shown = _sent(session) if request.method == "POST" else page.members
        purpose = which.purpose.data or USUAL
        rows = marks_table.rows(session, scale, shown, purpose)
        beside = purpose is not USUAL or desk_settings.any_beside(session)
        form = _form(scale, rows)
        if form.accepted():
            with form.refusals(), session.or_nothing():
                form.must_be_as_read()
                changes = form.changes(scale, rows)
                if changes and not form.mistakes:
                    kept = [change.kept for change in changes]
                    if not form.asks(_questions(rows, changes)):
                        desk_settings.keep_settings(session, kept)
                        _say_kept(scale, rows, kept, desk_rule_books.all_books(session))
                        return redirect(_address(scale, which), 303)
                elif not form.mistakes:
                    return redirect(_address(scale, which), 303)
    which.on.offer((one.key, one.called) for one in scales)
    which.on.data = scale.key
    which.group.offer_groups(groups)
    body = render_template(
        "squad/marks.html",
        search=which,
        scale=scale,
        form=form,
        rows=rows,
        page=page,
        called=named_for(scale.called, purpose),
        purpose=None if purpose is USUAL else purpose,
        beside=beside,
        address=_address(scale, which),
    )
    return body, form.status


def _first(session: ClubSession, scales: Sequence[OnScale]) -> OnScale:
    """The scale of the model for which most of the squad have a setting, where anybody has one."""
    usual = marks_on_scales.usual_scales(scales)
    used = (version.id for version in desk_settings.models_of_squad(session))
    return next((usual[model_id] for model_id in used if model_id in usual), scales[0])


def _sent(session: ClubSession) -> list[Member]:
    """Whose rows were sent; nobody more than stand on a page."""
    numbers = [number_carried(one) for one in request.form.get("who", "").split(",")[:AT_ONCE]]
    return marks_table.listed(session, [one for one in dict.fromkeys(numbers) if one > 0])


def _form(scale: OnScale, rows: Sequence[Row]) -> MarksForm:
    fields: dict[str, Any] = {}
    known: dict[str, Any] = {"who": ",".join(str(row.member.id) for row in rows)}
    for row in rows:
        stops = row.stops or (None,) * len(scale.model.axes)
        for axis, stop in zip(scale.model.axes, stops, strict=True):
            name = _named(axis.key, row.member.id)
            words = f"{row.member.printed_name}, mark of the {axis.kind.in_a_sentence}"
            fields[name] = CellField(axis, words, optional=True, description="")
            known[name] = stop
    return form_of(fields, MarksForm)(data=known)


def _named(axis_key: str, athlete_id: int) -> str:
    return f"{axis_key}_{athlete_id}"


def _address(scale: OnScale, which: WhichForm) -> str:
    purpose = which.purpose.data or USUAL
    return url_for(
        "athletes.marks",
        on=scale.key,
        purpose=None if purpose is USUAL else purpose,
        group=which.group.data or None,
        page=which.page.data,
    )


def _questions(rows: Sequence[Row], changes: Sequence[Changed]) -> list[str]:
    """What follows from the marks that were left: it is asked about before it is kept."""
    names = {row.member.id: row.member.printed_name for row in rows}
    return [
        f"{names[change.kept.athlete_id]}: {one.told(coach().length_unit)}"
        for change in changes
        for one in change.follows
    ]


def _say_kept(
    scale: OnScale,
    rows: Sequence[Row],
    changes: Sequence[NewSetting],
    books: Sequence[RuleBook],
) -> None:
    """What was kept, and what somebody has to look at now."""
    names = {row.member.id: row.member.printed_name for row in rows}
    kept = Series([names[change.athlete_id] for change in changes], "and")
    is_usual = all(row.purpose is USUAL for row in rows)
    called = named_for(scale.version.model.name, rows[0].purpose)
    told = f"The marks of {kept} are kept for {called}."
    if is_usual and any(change.version > 1 for change in changes):
        told += " Cards printed before are out of date."
    outside = [
        names[change.athlete_id]
        for change in changes
        if desk_rule_books.outside_any(books, change.setting)
    ]
    if outside:
        told += f" Outside a rule book: {Series(outside, 'and')}; their pages say more."
    tell(told, *([(url_for("cards.index"), "Print cards")] if is_usual else []))
