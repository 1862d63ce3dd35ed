"""Beginning with a squad-mate's setting: whose, as it is, and not tried until a coach says so."""

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import choosing
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import AT_ONCE
from settingsdesk.desk.squad.choosing import Sought
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import CountField, SoughtField, number_carried
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.work import work
from settingsdesk.web.squad.choosing import GroupField


class MatesForm(DeskForm):
    """Whose settings are shown."""

    q = SoughtField("Name or start number", width="w-16")
    group = GroupField("Group")
    page = CountField("Page", least=1, default=1)


def add_to(blueprint: Blueprint) -> None:
    """Add this page to the room of the athletes."""
    blueprint.add_url_rule(
        "/<int:athlete_id>/settings/<int:model_id>/squad-mates",
        view_func=squad_mates,
        methods=["GET", "POST"],
    )


def squad_mates(athlete_id: int, model_id: int) -> str | Response:
    """The settings of the squad for a model, the athlete's own group first; beginning with one."""
    then = own_address(request.args.get("then"), otherwise="")
    if request.method == "POST":
        return _begun(athlete_id, model_id, then)
    form = MatesForm(request.args)
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        version = desk_models.model(session, model_id)
        if desk_settings.latest(session, athlete_id, model_id) is not None:
            return redirect(
                url_for("athletes.setting", athlete_id=athlete_id, model_id=model_id), 303
            )
        group = member.person.group_name if "group" not in request.args else form.group.data
        page = form.page.data or 1
        sought = Sought(
            form.q.data or "", group or "", after=(page - 1) * AT_ONCE, besides=[athlete_id]
        )
        offer = choosing.with_one_for(session, [model_id], sought)
        ids = [mate.id for mate in offer.found]
        theirs = desk_settings.latest_of_each(session, ids, model_id)
    form.group.offer_groups(offer.groups)
    form.group.data = group or None
    return render_template(
        "squad/squad_mates.html",
        member=member,
        version=version,
        search=form,
        mates=[(mate, theirs[mate.id]) for mate in offer.found],
        page=page,
        further=offer.further,
        then=then,
    )


def _begun(athlete_id: int, model_id: int, then: str) -> Response:
    mate_id = number_carried(request.form.get("mate"))
    with work(writes=True) as session:
        member = desk_athletes.member(session, athlete_id)
        version = desk_settings.begin_with(session, athlete_id, model_id, mate_id)
    tell(
        f"{member.printed_name} begins with that setting for {version.model_name}. It says “Not"
        " tried” everywhere until a coach confirms it at the bars."
    )
    return redirect(then or url_for("athletes.show", athlete_id=athlete_id), 303)
