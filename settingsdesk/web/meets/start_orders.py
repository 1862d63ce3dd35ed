"""Start orders of a meet: typed, sent as a sheet, or drawn by lot, and never re-arranged."""

from collections.abc import Iterable, Sequence, Set

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms.form import BaseForm

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet, MeetSession
from settingsdesk.desk.meets.refusals import NobodyDrawn
from settingsdesk.desk.meets.start_orders import OrderLine, Place, StartOrder
from settingsdesk.desk.meets.typed_orders import StartList, read_sent, read_typed
from settingsdesk.desk.runs import outcome
from settingsdesk.domain.changeover.crew import CREWS
from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.refusals import FileRefused
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChecksField,
    ChoiceField,
    CountField,
    PaperField,
    ParagraphField,
    number_of_a_row,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import work

blueprint = Blueprint("start_orders", __name__, url_prefix="/start-orders")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

HANDS = [(crew, {1: "One person", 2: "Two people", 4: "Four people"}[crew]) for crew in CREWS]


class PlaceForm(DeskForm):
    """Which rotation of the session, on which apparatus, for how many hands."""

    number = CountField("Rotation", least=1, most=start_orders.MOST_ROTATIONS)
    apparatus = ChoiceField("Apparatus", read_choice=int)
    hands = ChoiceField("People at the apparatus", choices=HANDS, read_choice=int)


class OrderField(ParagraphField):
    """Who starts, line by line; it may be empty where a sheet is sent instead."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class ListForm(DeskForm):
    """An order as it is typed, or as a sheet that was sent."""

    order = OrderField("Start order", most=10_000, render_kw={"rows": 12})
    file = PaperField("Or a sheet", accept=".xlsx,.csv,.tsv,.txt", optional=True)

    def listed(self, entrants: Sequence[Entrant]) -> tuple[StartList, str] | None:
        """What was typed or sent, and how it came; None where a message stands in the form.

        A sheet that has faults comes back as lines to put right: no page can send a file again.
        """
        if self.file.data and self._is_typed():
            self._told(self.file, "Type the order or send a sheet, not both: nothing was taken")
            return None
        came_by = "imported" if self.file.data else "typed"
        try:
            found = self._read(entrants)
        except FileRefused as refusal:
            self._told(self.file, str(refusal))
            return None
        if not found.faults and not found.athlete_ids:
            self._told(self.order, "Enter who starts, one on each line, or send a sheet")
            return None
        if not found.faults:
            return found, came_by
        self.order.raw_data = [found.text]
        self._told(self.order, *map(str, found.faults))
        return None

    def _is_typed(self) -> bool:
        """Whether anything was typed other than what stood in the box."""
        return (self.order.data or "").split() != (self.order.object_data or "").split()

    def _read(self, entrants: Sequence[Entrant]) -> StartList:
        file = self.file.data
        if file is None:
            return read_typed(self.order.data, entrants)
        return read_sent(read_table(file.stream.read(), str(file.filename)), entrants)

    @staticmethod
    def _told(field: ParagraphField | PaperField, *sentences: str) -> None:
        field.errors = [*field.errors, *sentences]


class NewForm(PlaceForm, ListForm):
    """The first order of a rotation."""


class ChangeForm(ListForm, EditForm):
    """Another order for a rotation."""

    hands = ChoiceField("People at the apparatus", choices=HANDS, read_choice=int)

    def tell_as(self, lines: str) -> None:
        """Have what was typed or sent told as an order is that stands, to be compared with it.

        A sheet's lines stand in the box from now on, since no page can send a file again.
        """
        self.order.data = lines
        if self.file.data:
            self.order.raw_data = [lines]


class DrawForm(PlaceForm):
    """Who takes part in the lot."""

    clubs = ChecksField("Clubs", optional=True)
    divisions = ChecksField("Divisions", optional=True)
    too = ChecksField("Draw these too", read_choice=int, optional=True)
    asked = CarriedField("Of whom it was asked")

    def chosen(self, coming: Iterable[Entrant]) -> list[Entrant]:
        """The athletes of the ticked clubs and divisions; where none is ticked, of all."""
        return [
            entrant
            for entrant in coming
            if (not self.clubs.data or entrant.from_club in self.clubs.data)
            and (not self.divisions.data or entrant.division in self.divisions.data)
        ]

    def drawn(self, chosen: Sequence[Entrant], elsewhere: Set[int]) -> list[int] | None:
        """Those of them who are drawn; None where somebody has to be asked of first.

        A lot is drawn once: of ``elsewhere``, who seem to be on another apparatus, nobody is in it
        whom nobody has ticked.
        """
        asked = [entrant for entrant in chosen if entrant.member.id in elsewhere]
        told = " ".join(str(entrant.member.id) for entrant in asked)
        if asked and self.asked.data != told:
            self.asked.data, self.asked.raw_data = told, [told]
            return None
        ticked = set(self.too.data or ())
        return [
            entrant.member.id
            for entrant in chosen
            if entrant.member.id not in elsewhere or entrant.member.id in ticked
        ]


@blueprint.get("/<int:rotation_id>")
def show(rotation_id: int) -> str:
    """One start order: who, in which order, at which marks, and how it came."""
    with work() as session:
        order = start_orders.start_order(session, rotation_id)
        runs = outcome.of_rotations(session, [rotation_id]).get(rotation_id, [None])
        listed = [member.id for member in order.view.listed]
        asked = remarks.ask_first(session, listed, order.view.piece.model.kind.key)
    return render_template(
        "meets/start_orders/show.html",
        order=order,
        outcome=runs[0],
        carried=order.view.carried[order.view.piece.id],
        came_by=start_orders.CAME_BY,
        asked=asked,
    )


@blueprint.route("/sessions/<int:session_id>/new", methods=["GET", "POST"])
def new(session_id: int) -> Page:
    """Type the order of one rotation, or send it as a sheet.

    A page that leads here may name athletes by their numbers (``who``), in their order.
    """
    with work(writes=request.method == "POST") as session:
        meet, part, entrants = _at(session, session_id)
        lines = start_orders.orders_at(session, meet)
        free = _first_free(lines, session_id)
        form = NewForm(data={"number": free, "hands": 2, "order": _named(entrants)})
        _offer(form, meet)
        if form.accepted() and (listed := form.listed(entrants)):
            with form.refusals(), session.or_nothing():
                line = start_orders.set_new(
                    session,
                    _place(session_id, form),
                    listed[0].athlete_ids,
                    listed[1],
                    form.hands.data,
                )
                return _shown(line, "The start order is set.")
    page = render_template(
        "meets/start_orders/new.html", form=form, meet=meet, part=part, entrants=entrants
    )
    return page, form.status


@blueprint.route("/sessions/<int:session_id>/draw", methods=["GET", "POST"])
def draw(session_id: int) -> Page:
    """Draw the order of one rotation by lot."""
    with work(writes=request.method == "POST") as session:
        meet, part, entrants = _at(session, session_id)
        lines = start_orders.orders_at(session, meet)
        free = _first_free(lines, session_id)
        form = DrawForm(data={"number": free, "hands": 2})
        _offer(form, meet)
        coming = [entrant for entrant in entrants if entrant.is_in]
        names = [(one.member.id, one.member.listed_name) for one in coming]
        form.too.offer(names)
        form.clubs.offer(_counted(entrant.from_club for entrant in coming))
        form.divisions.offer(_counted(entrant.division for entrant in coming))
        if form.accepted():
            at_once = form.refusals(form.clubs, NobodyDrawn)
            with form.refusals(), at_once, session.or_nothing():
                place, chosen = _place(session_id, form), form.chosen(coming)
                ids = [entrant.member.id for entrant in chosen]
                elsewhere = start_orders.seem_elsewhere(session, meet, lines, place, ids)
                drawn = form.drawn(chosen, elsewhere)
                if drawn is not None:
                    line = start_orders.draw(session, place, drawn, form.hands.data)
                    return _shown(line, "The start order is drawn.")
    asked = set((form.asked.data or "").split())
    form.too.offer(named for named in names if str(named[0]) in asked)
    page = render_template(
        "meets/start_orders/draw.html", form=form, meet=meet, part=part, coming=len(coming)
    )
    return page, form.status


@blueprint.route("/<int:rotation_id>/edit", methods=["GET", "POST"])
def edit(rotation_id: int) -> Page:
    """Another order for a rotation: the one that stands, to be changed line by line."""
    with work(writes=request.method == "POST") as session:
        order = start_orders.start_order(session, rotation_id)
        entrants = list(order.entrants.values())
        form = ChangeForm(data=_as_kept(order))
        if form.accepted() and (listed := form.listed(entrants)):
            with form.refusals(), session.or_nothing():
                form.tell_as(
                    _lines(order.entrants[athlete_id] for athlete_id in listed[0].athlete_ids)
                )
                form.must_be_as_read(by=order.line.set_by, data=_as_kept(order))
                line = start_orders.change_order(
                    session,
                    rotation_id,
                    listed[0].athlete_ids,
                    listed[1],
                    form.hands.data,
                    order.line.seen,
                )
                return _shown(line, "The start order is changed.")
    page = render_template(
        "meets/start_orders/edit.html",
        form=form,
        order=order,
        entrants=entrants,
        came_by=start_orders.CAME_BY,
    )
    return page, form.status


@blueprint.post("/<int:rotation_id>/move")
def move(rotation_id: int) -> Response:
    """One athlete to the place above or below: the jury's change, typed in."""
    athlete_id = request.form.get("athlete", default=0, type=number_of_a_row)
    place = request.form.get("place", default=0, type=number_of_a_row)
    seen = request.form.get("seen", default="")
    with work(writes=True) as session:
        start_orders.move(session, rotation_id, athlete_id, place, seen)
    address = url_for("start_orders.show", rotation_id=rotation_id, _anchor="in-start-order")
    return redirect(address, 303)


@blueprint.post("/<int:rotation_id>/withdrawn")
def take_off_withdrawn(rotation_id: int) -> Response:
    """Whoever was withdrawn goes off the order; the others stay as they stand."""
    with work(writes=True) as session:
        line = start_orders.take_off_withdrawn(session, rotation_id)
    return _shown(line, "Scratched athletes are off the order; the others stand as they stood.")


@blueprint.route("/<int:rotation_id>/away", methods=["GET", "POST"])
def take_away(rotation_id: int) -> Page:
    """Take the order away, after a question; the entries stay."""
    form = DeskForm()
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            meet = meets.meet_of_session(session, start_orders.take_away(session, rotation_id))
            flash("The start order is deleted.")
            return redirect(url_for("meets.show", meet_id=meet.id), 303)
    with work() as session:
        order = start_orders.start_order(session, rotation_id)
    page = render_template(
        "meets/start_orders/away.html", form=form, order=order, came_by=start_orders.CAME_BY
    )
    return page, form.status


def _at(session: ClubSession, session_id: int) -> tuple[Meet, MeetSession, list[Entrant]]:
    meet = meets.meet_of_session(session, session_id)
    return meet, meet.session(session_id), entries.entrants(session, meet.id)


def _named(entrants: Iterable[Entrant]) -> str:
    """The lines of those whom the address names; nothing where it names nobody."""
    known = {entrant.member.id: entrant for entrant in entrants if entrant.is_in}
    asked = request.args.getlist("who", type=number_of_a_row)
    return _lines(known[number] for number in dict.fromkeys(asked) if number in known)


def _first_free(lines: Iterable[OrderLine], session_id: int) -> int:
    """The rotation that the form offers: the asked one, else the first with nothing set."""
    asked = request.args.get("rotation", type=number_of_a_row)
    taken = {line.number for line in lines if line.session.id == session_id}
    numbers = range(1, start_orders.MOST_ROTATIONS + 1)
    return asked or next((number for number in numbers if number not in taken), 1)


def _offer(form: PlaceForm, meet: Meet) -> None:
    form.apparatus.offer([(piece.piece.id, piece.piece.name) for piece in meet.pieces])


def _place(session_id: int, form: PlaceForm) -> Place:
    return Place(session_id, form.number.data or 1, form.apparatus.data)


def _counted(words: Iterable[str]) -> list[tuple[str, str]]:
    """The words that are not empty, each with how many there are."""
    listed = [word for word in words if word]
    return [(name, f"{name} ({listed.count(name)})") for name in dict.fromkeys(listed)]


def _as_kept(order: StartOrder) -> dict[str, str | int]:
    """What the form of an order is filled with."""
    return {"order": _as_lines(order), "hands": order.view.asked.hands}


def _as_lines(order: StartOrder) -> str:
    """The order as it would be typed, without those who were withdrawn."""
    coming = (order.entrants[member.id] for member in order.view.listed)
    return _lines(entrant for entrant in coming if entrant.is_in)


def _lines(entrants: Iterable[Entrant]) -> str:
    return "\n".join(
        f"{entrant.start_number} {entrant.member.listed_name}"
        if entrant.start_number
        else f"{entrant.member.listed_name}; {entrant.from_club}"
        for entrant in entrants
    )


def _shown(line: OrderLine, said: str) -> Response:
    flash(said)
    return redirect(url_for("start_orders.show", rotation_id=line.rotation_id), 303)
