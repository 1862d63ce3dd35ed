"""The club's usual accepted deviations, axis by axis of the kinds that it has."""

from collections.abc import Mapping, Sequence

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import usual_deviations
from settingsdesk.desk.hall.usual_deviations import OfAxis
from settingsdesk.domain.base.kinds import Kind
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import DeviationField
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("usual_deviations", __name__, url_prefix="/apparatus/usual-deviations")
blueprint.context_processor(shown.for_templates)


@blueprint.route("/", methods=["GET", "POST"])
def edit() -> Page:
    """See what counts where a setting says nothing, and change it."""
    with work() as session:
        kinds = usual_deviations.kinds_known(session)
        known = usual_deviations.usual(session)
    form = _form(kinds, known)
    if form.accepted():
        typed = {
            (kind.key, axis.key): form[_named(kind.key, axis.key)].data or 0
            for kind in kinds
            for axis in kind.axes
        }
        with form.refusals(), work(writes=True) as session:
            form.must_be_as_read(data=_filled(usual_deviations.usual(session)))
            usual_deviations.keep(session, typed)
            flash("Saved. Only warnings go by these.")
            return redirect(url_for("apparatus.index"), 303)
    page = render_template("hall/usual_deviations/edit.html", form=form, kinds=kinds, named=_named)
    return page, form.status


def _named(kind: str, axis: str) -> str:
    return f"{kind}_{axis}"


def _form(kinds: Sequence[Kind], known: Mapping[OfAxis, int]) -> EditForm:
    fields = {
        _named(kind.key, axis.key): DeviationField(f"{axis.name}, ±", optional=True)
        for kind in kinds
        for axis in kind.axes
    }
    return form_of(fields, EditForm)(data=_filled(known))


def _filled(known: Mapping[OfAxis, int]) -> dict[str, int]:
    """What the form is filled with."""
    return {_named(*of): length_mm for of, length_mm in known.items()}
