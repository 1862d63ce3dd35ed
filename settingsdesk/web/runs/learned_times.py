"""What was learned of a model's times at the apparatus, for the coach to look at and to accept."""

from flask import Blueprint, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.runs import learned_times
from settingsdesk.domain.times.time_limits import FAR_OFF
from settingsdesk.domain.times.time_plot import time_plot
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import CarriedField, number_carried
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work

blueprint = Blueprint("times", __name__, url_prefix="/apparatus/models/<int:model_id>/times")
blueprint.context_processor(shown.for_templates)


class AcceptForm(DeskForm):
    """The times that the coach has seen, and the version of the model beside them."""

    version = CarriedField()
    seen = CarriedField()


@blueprint.get("")
def show(model_id: int) -> str:
    """Present and fitted times, their errors, what was left out, and the plot."""
    with work() as session:
        learned = learned_times.learned(session, model_id)
    return render_template(
        "runs/times/show.html",
        learned=learned,
        fit=learned.fit,
        model=learned.version.model,
        plot=time_plot(learned.fit) if learned.fit else None,
        far_off=FAR_OFF,
    )


@blueprint.post("/accept")
def accept(model_id: int) -> Response:
    """Use the fitted times from now on."""
    form = AcceptForm()
    read = number_carried(form.version.data, 0)
    with work(writes=True) as session:
        now = learned_times.accept(session, model_id, read, str(form.seen.data))
    tell(
        f"{now.model.name} has the fitted times (version {now.version}). Orders worked out from now"
        " on use them.",
        (url_for("rotations.index"), "To the rotations"),
    )
    return redirect(url_for("models.show", model_id=model_id), 303)
