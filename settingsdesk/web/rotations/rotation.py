"""Rotations: the order in which least is readjusted, and all that changes it."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from flask import (
    Blueprint,
    abort,
    flash,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)
from werkzeug.wrappers import Response

from settingsdesk.cards.crew_sheet import crew_sheets_pdf
from settingsdesk.cards.languages import printed_in
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.clock import now, today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import Piece, SetupUnknown
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.lanes import Lane, Order, PlannedTurn
from settingsdesk.desk.rotations.order_paper import order_papers
from settingsdesk.desk.rotations.rotation import NobodyListed, NotOneOrder, WithoutSetting
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import outcome
from settingsdesk.desk.squad import choosing, still_right
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.strip import (
    MOST_NAMED,
    NARROW_LETTERS,
    WIDE_LETTERS,
    StripRow,
    strip,
)
from settingsdesk.domain.settings.dot_plot import DotAxis, DotPlot, named_plot
from settingsdesk.domain.settings.transfer import Fit
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import AForm, form_of
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import ChecksField, CountField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.rotations import making_rotations, searches
from settingsdesk.web.rotations.wishes_form import WishesForm, wishes_form
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field

blueprint = Blueprint("rotations", __name__, url_prefix="/rotations")
blueprint.context_processor(for_templates)
making_rotations.add_to(blueprint)

Page = str | Response | tuple[str, int]


class ListForm(ChoosingForm, EditForm):
    """Who is on the list of a rotation."""

    who = athletes_field()


class KeepForm(DeskForm):
    """Which turns of the order stay in their places; a turn goes by its place and its athlete."""

    kept = ChecksField(
        "Places to keep",
        optional=True,
        ask="The order was changed meanwhile: look at it, and tick the places to keep once more",
    )

    @property
    def places(self) -> list[int]:
        """The places that are ticked."""
        return [int(ticked.partition("-")[0]) for ticked in self.kept.data or []]


@blueprint.get("/")
def index() -> str:
    """The last rotations, and the way to a new one."""
    with work() as session:
        lines = desk_rotation.recent(session)
    return render_template("rotations/index.html", lines=lines)


@blueprint.post("/<int:rotation_id>/once-more")
def once_more(rotation_id: int) -> Response:
    """The same today: apparatus, list and wishes; where that cannot be, the form says why."""
    try:
        with work(writes=True) as session:
            view = desk_rotation.rotation(session, rotation_id)
            made = desk_rotation.once_more(session, view, today())
    except (SetupUnknown, WithoutSetting, NobodyListed, WithdrawnFromUse) as refusal:
        flash(f"{refusal}.")
        new = url_for("rotations.new", apparatus_id=view.piece.id, like=rotation_id)
        return redirect(new, 303)
    return searches.begin(made)


@blueprint.get("/<int:rotation_id>")
def show(rotation_id: int) -> Page:
    """The best order with what moves between turns, beside the list and the rule of thumb."""
    with work() as session:
        view = desk_rotation.rotation(session, rotation_id)
        if view.is_drawn:
            return redirect(url_for("start_orders.show", rotation_id=rotation_id), 303)
        return _page(session, view, _over_form(view), _keep_form(view))


def _page(
    session: ClubSession, view: RotationView, over: DeskForm | None, keep: KeepForm | None
) -> str:
    at_the_bars = outcome.of_rotations(session, [view.id]).get(view.id, [])
    listed = [member.id for member in view.listed]
    asked = remarks.ask_first(session, listed, view.piece.model.kind.key)
    versions = [own.version for of_piece in view.carried.values() for own in of_piece.values()]
    doubted = still_right.doubted(session, versions)
    return render_template(
        "rotations/show.html",
        view=view,
        at_the_bars=at_the_bars,
        ask_first=[str(view.called[one]) for one in listed if one in asked],
        pictures=_strips(view),
        most_named=MOST_NAMED,
        today=today(),
        plots=_plots(view),
        unlike=_off_by_name(view, Fit.warnings_in),
        nearly=_off_by_name(view, Fit.residuals_in),
        still_right=[str(view.called[one]) for one in listed if one in doubted],
        over=over,
        keep=keep,
        weighing=view.lacks_costs and searches.is_weighing(view.id),
        why=searches.WHY,
        forms=[form for form in (over, keep) if form is not None],
    )


@blueprint.get("/<int:rotation_id>/order.pdf")
def paper(rotation_id: int) -> Response:
    """The order on paper, to be hung up at the apparatus or sent to the team."""
    with work() as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        listed = [member.id for member in view.listed]
        asked = remarks.ask_first(session, listed, view.piece.model.kind.key)
        papers = order_papers(view, coach().length_unit, now(), asked)
    content = crew_sheets_pdf(papers, view.name, today(), printed_in(coach().paper_language))
    response = make_response(content)
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="order-{rotation_id}.pdf"'
    return response


@blueprint.post("/<int:rotation_id>/order")
def order_anew(rotation_id: int) -> Response:
    """Order it again from what stands on the apparatus now."""
    with work() as session:
        view = desk_rotation.rotation(session, rotation_id)
    return searches.begin(view)


@blueprint.route("/<int:rotation_id>/wishes", methods=["GET", "POST"])
def wishes(rotation_id: int) -> Page:
    """Turns, rest, hands, wishes and further apparatus; changed, it is ordered anew."""
    with work(writes=request.method == "POST") as session:
        hall = {piece.id: piece for piece in apparatus.all_pieces(session)}
        view = desk_rotation.to_arrange(session, rotation_id, hall)
        form = wishes_form(
            view,
            _others_of_the_kind(hall.values(), view.piece),
            has_purposes=desk_settings.any_beside(session),
        )
        changed = _as_asked(session, view, form, hall) if form.accepted() else None
    if changed is not None:
        return searches.begin(changed, "The rotation was ordered as you asked.")
    return render_template("rotations/wishes.html", form=form, view=view), form.status


def _others_of_the_kind(hall: Iterable[Piece], here: Piece) -> list[Piece]:
    return [piece for piece in hall if piece.model.kind == here.model.kind and piece.id != here.id]


def _as_asked(
    session: ClubSession, view: RotationView, form: WishesForm, hall: Mapping[int, Piece]
) -> RotationView | None:
    """The rotation with the wishes that were sent; None where the form says what is wrong."""
    asked = form.asked(list(view.pieces.values()))
    if not form.mistakes:
        with form.refusals(), form.refused_wishes():
            form.must_be_as_read()
            return desk_rotation.change_wishes(session, view, asked, hall)
    return None


@blueprint.post("/<int:rotation_id>/keep")
def keep_places(rotation_id: int) -> Page:
    """Fix the ticked places of the order, and let the others move."""
    with work(writes=True) as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        form = _keep_form(view)
        if form is None:
            raise NotOneOrder
        if not form.accepted():
            return _page(session, view, _over_form(view, sent=False), form), form.status
        changed = desk_rotation.keep_places(session, view, form.places)
    said = "The ticked places are fixed." if form.places else "No place is fixed any more."
    return searches.begin(changed, said)


@blueprint.post("/<int:rotation_id>/go-on")
def go_on(rotation_id: int) -> Page:
    """The first turns are over: order the rest from the marks of the last of them."""
    with work(writes=True) as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        form = _over_form(view)
        if form is None:
            raise NotOneOrder
        if not form.accepted():
            return _page(session, view, form, _keep_form(view, sent=False)), form.status
        over = form["over"].data
        changed = desk_rotation.go_on_after(session, view, over)
    return searches.begin(changed, "The rest was ordered from the marks of the last turn.")


def _over_form(view: RotationView, *, sent: bool = True) -> DeskForm | None:
    """How many turns are over, where there is one order to count in."""
    turns = _turns_to_count(view)
    if not turns or view.is_to_come:
        return None
    box = CountField("Turns that are over", least=1, most=len(turns) - 1)
    return _filled(form_of({"over": box}, DeskForm), {"over": 1}, sent=sent)


def _keep_form(view: RotationView, *, sent: bool = True) -> KeepForm | None:
    """The places of the order, those that are kept ticked; where everybody has one turn."""
    turns = _turns_to_count(view)
    if not turns or view.asked.turns > 1:
        return None
    keys = {turn.place: f"{turn.place}-{turn.member.id}" for turn in turns}
    kept = [keys[place] for _, place in view.asked.places]
    form = _filled(KeepForm, {"kept": kept}, sent=sent)
    form.kept.offer(
        [(keys[turn.place], f"{turn.place}. {view.called[turn.member.id]}") for turn in turns]
    )
    return form


def _filled(kind: type[AForm], known: Mapping[str, Any], *, sent: bool) -> AForm:
    """A form as it was sent, or as it is known where it stands beside the one that was."""
    form = kind(data=known)
    if not sent:
        form.process(data=known)
    return form


def _turns_to_count(view: RotationView) -> tuple[PlannedTurn, ...]:
    """The turns of an order on one apparatus that is up to date, where there are two or more."""
    if view.ordered is None or view.ordered.outdated or len(view.ordered.best.lanes) != 1:
        return ()
    if view.asked.groups:  # each is taken to the bars by itself
        return ()
    turns = view.ordered.best.lanes[0].turns
    return turns if len(turns) > 1 else ()


@blueprint.route("/<int:rotation_id>/take-away", methods=["GET", "POST"])
def take_away(rotation_id: int) -> Page:
    """Ask, and take away a rotation that was never begun."""
    with work() as session:
        line = desk_rotation.line(session, rotation_id)
    athletes = "1 athlete" if line.athletes == 1 else f"{line.athletes} athletes"
    doomed = Doomed(
        rotation_id,
        line.name,
        desk_rotation.hanging,
        desk_rotation.take_away,
        url_for("rotations.show", rotation_id=rotation_id),
        f"The rotation goes: its list of {athletes}, the wishes and the orders that were found."
        " Athletes and settings stay.",
    )
    return ask(doomed, url_for("rotations.index"))


@blueprint.post("/<int:rotation_id>/take-off")
def take_off(rotation_id: int) -> Response:
    """Whoever has left the club goes off the list, and the others are ordered."""
    with work(writes=True) as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        changed = desk_rotation.take_off_who_left(session, view)
    return searches.begin(changed, "Whoever had left is off the list; it was re-planned.")


@blueprint.route("/<int:rotation_id>/list", methods=["GET", "POST"])
def change_list(rotation_id: int) -> Page:
    """Who is on the list; those who stay keep their places, newcomers are put at its end."""
    changed = None
    with work(writes=request.method == "POST") as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        listed = [member.id for member in view.listed]
        form = ListForm(who=listed)
        kind = view.piece.model.kind
        # Whoever is on the list stays on offer, also where nobody ticks them any more.
        ticked = {*listed, *(form.who.data or ())}
        offer = choosing.for_kind(session, kind, form.sought(), ticked)
        form.take(offer, with_groups=True)
        if not form.names and form.accepted():
            chosen = [member.id for member in offer.ticked if member.id in (form.who.data or ())]
            stay = [athlete_id for athlete_id in listed if athlete_id in chosen]
            newcomers = [athlete_id for athlete_id in chosen if athlete_id not in listed]
            with form.refusals(), session.or_nothing():
                form.must_be_as_read()
                changed = desk_rotation.change_list(session, view, [*stay, *newcomers])
    if changed is not None:
        return searches.begin(changed, "The list was changed and re-planned.")
    return render_template("rotations/list.html", form=form, view=view, offer=offer), form.status


@blueprint.post("/<int:rotation_id>/move")
def move(rotation_id: int) -> Response:
    """An athlete to another place on the coach's list; a second press finds them there already."""
    athlete_id = request.values.get("athlete", type=number_of_a_row)
    place = request.form.get("place", default=0, type=number_of_a_row)
    with work(writes=True) as session:
        view = desk_rotation.to_arrange(session, rotation_id)
        before = [member.id for member in view.listed]
        if athlete_id not in before or not 1 <= place <= len(before):
            abort(400)
        after = [other_id for other_id in before if other_id != athlete_id]
        after.insert(place - 1, athlete_id)
        if after != before:
            view = desk_rotation.change_list(session, view, after)
    if after != before:
        said = "The list was changed and re-planned."
        return searches.begin(view, said, anchor="the-coach-s-list")
    address = url_for("rotations.show", rotation_id=rotation_id, _anchor="the-coach-s-list")
    return redirect(address, 303)


def _off_by_name(
    view: RotationView, told: Callable[[Fit, Unit], Sequence[str]]
) -> Mapping[str, Sequence[str]]:
    """By name and apparatus, for those who go there: what the marks miss of what is wanted."""
    lanes = view.ordered.best.lanes if view.ordered else ()
    return {
        f"{view.called[turn.member.id]}{f', {lane.piece.name}' if len(lanes) > 1 else ''}": off
        for lane in lanes
        for turn in lane.turns
        if turn.member.id in view.carried[lane.piece.id]
        and (off := told(_own_fit(view, lane, turn), coach().length_unit))
    }


def _own_fit(view: RotationView, lane: Lane, turn: PlannedTurn) -> Fit:
    return view.carried[lane.piece.id][turn.member.id].transfer.best


def _strips(view: RotationView) -> list[Drawing]:
    """The orders to scale, once for a phone and once for a wide page and paper."""
    if view.ordered is None:
        return []
    orders = (
        ("Best order", view.ordered.best),
        ("Group by group", view.ordered.group_by_group),
        ("By height", view.ordered.by_height),
        ("As listed", view.ordered.as_listed),
    )
    rows = [
        _strip_row(
            view, f"{name}, {lane.piece.name}" if len(order.lanes) > 1 else name, lane, order
        )
        for name, order in orders
        if order is not None
        for lane in order.lanes
    ]
    return [
        strip(rows, NARROW_LETTERS, with_names=False),
        strip(rows, WIDE_LETTERS, with_names=True),
    ]


def _strip_row(view: RotationView, name: str, lane: Lane, order: Order) -> StripRow:
    turns = [(turn.seconds, order.turn_s) for turn in lane.turns]
    closing = [(lane.closing.seconds, 0)] if lane.closing else []
    called = tuple(view.called[turn.member.id] for turn in lane.turns)
    groups = tuple((view.called_group(block.group), len(block.turns)) for block in lane.blocks)
    return StripRow(name, (*turns, *closing), called, groups)


def _plots(view: RotationView) -> list[DotPlot]:
    """For each apparatus of the best order who has which marks there, in lengths."""
    lanes = view.ordered.best.lanes if view.ordered else ()
    return [_plot(view, lane) for lane in lanes if lane.turns]


def _plot(view: RotationView, lane: Lane) -> DotPlot:
    setups = {turn.member.id: turn.setup for turn in lane.turns}
    model = lane.piece.model
    measures_mm = [model.measures_mm(setup) for setup in setups.values()]
    axes = [
        DotAxis(
            axis.kind.name,
            canonical_in_words(axis.kind),
            tuple(round(one[axis.key]) for one in measures_mm),
        )
        for axis in model.axes
    ]
    names = [view.called[number] for number in setups]
    return named_plot(f"Marks on {lane.piece.name}", axes, names, coach().length_unit)
