"""The check lists of the club: looked at, changed, and put back to the shipped ones."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.checks import check_lists
from settingsdesk.domain.base.kinds import KINDS, kind_of
from settingsdesk.domain.checks.checks import (
    CheckList,
    Group,
    IntervalNotPossible,
    Occasion,
    occasion_of,
)
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import Box, CountField, ParagraphField
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("check_lists", __name__, url_prefix="/check-lists")
blueprint.context_processor(shown.for_templates)
blueprint.context_processor(lambda: {"edition": check_lists.shipped_edition()})

MOST_LETTERS_OF_A_GROUP = 6000


class ListForm(EditForm):
    """The items of a list, one a line; the groups are added below."""


@blueprint.get("/")
def index() -> str:
    """Every list that counts, kind by kind."""
    with work() as session:
        lists = check_lists.check_lists(session, list(KINDS))
    return render_template(
        "checks/check_lists/index.html", lists=lists, kinds=KINDS, occasions=list(Occasion)
    )


@blueprint.route("/<kind>/<occasion>", methods=["GET", "POST"])
def edit(kind: str, occasion: str) -> Page:
    """One list with its sources, and the club's changes to it."""
    when, named = occasion_of(occasion), kind_of(kind)
    with work() as session:
        present = check_lists.check_list(session, kind, when)
        history = check_lists.list_history(session, kind, when)
    form = _form(present)
    if form.accepted():
        months = form["months"].data if when.interval else None
        with (
            form.refusals(),
            form.refusals(form["months"] if when.interval else None, IntervalNotPossible),
            work(writes=True) as session,
        ):
            present = check_lists.check_list(session, kind, when)
            form.must_be_as_read(data=_as_kept(present))
            check_lists.keep_list(session, present, _lines(form), months)
            flash(f"{when.words}, {named.name.lower()}: the list is changed.")
            return redirect(url_for("check_lists.index"), 303)
    page = render_template(
        "checks/check_lists/edit.html",
        form=form,
        kind=named,
        occasion=when,
        present=present,
        shipped=check_lists.shipped_list(kind, when),
        besides=check_lists.shipped_besides(present),
        history=history,
        groups=list(Group),
    )
    return page, form.status


@blueprint.post("/<kind>/<occasion>/shipped")
def shipped(kind: str, occasion: str) -> Response:
    """Use the shipped list again."""
    when = occasion_of(occasion)
    with work(writes=True) as session:
        check_lists.back_to_shipped(session, kind_of(kind).key, when)
    flash(f"{when.words}, {kind_of(kind).name.lower()}: the shipped list counts again.")
    return redirect(url_for("check_lists.edit", kind=kind, occasion=occasion), 303)


def _form(present: CheckList) -> ListForm:
    fields: dict[str, Box] = {
        group.value: ParagraphField(group.words, most=MOST_LETTERS_OF_A_GROUP, optional=True)
        for group in Group
    }
    interval = present.occasion.interval
    if interval:
        fields["months"] = CountField(
            "Made at least every", least=interval.least, most=interval.most, unit="months"
        )
    return form_of(fields, ListForm)(data=_as_kept(present))


def _as_kept(present: CheckList) -> dict[str, object]:
    """What the form of a list is filled with."""
    lines = {
        group.value: "\n".join(item.words for item in items) for group, items in present.groups
    }
    return {**lines, "months": present.months}


def _lines(form: ListForm) -> list[tuple[Group, str]]:
    return [
        (group, line)
        for group in Group
        for line in form[group.value].data.splitlines()
        if line.strip()
    ]
