"""Meets: the host's desk for days, sessions and apparatus, and the way to all that belongs."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import entries, guest_clubs, meets, start_numbers, start_orders
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.meets import MeetPiece
from settingsdesk.desk.meets.refusals import NotATimeOfDay
from settingsdesk.desk.runs import outcome
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChoiceField,
    CountField,
    DayField,
    ParagraphField,
    RadiosField,
    TickField,
    WordsField,
    number_carried,
    number_of_a_row,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import work

blueprint = Blueprint("meets", __name__, url_prefix="/meets")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]


class MeetForm(DeskForm):
    """What is announced of a meet."""

    name = WordsField("Name", width="w-32", ask="Enter the name of the meet")
    hall = WordsField("Hall", width="w-32", optional=True)
    begins_on = DayField("First day")
    ends_on = DayField("Last day")
    cards_until = DayField("Cards are good until", optional=True)
    note = ParagraphField("Note", most=500, optional=True)


class ChangedMeetForm(MeetForm, EditForm):
    """Another name, hall or days."""


class SessionForm(DeskForm):
    """A part of a meet."""

    name = WordsField("Name", most=40, optional=True, width="w-16")
    held_on = DayField("Day")
    begins_at = WordsField("Begins at", most=20, optional=True, width="w-4")

    @contextmanager
    def session_refusals(self) -> Iterator[None]:
        """What is refused of a session, each at its field."""
        with self.refusals(self.held_on), self.refusals(self.begins_at, NotATimeOfDay):
            yield


class NewSessionForm(SessionForm):
    """A further session; ``after`` is the number of the last one that was seen."""

    after = CarriedField()


class ChangedSessionForm(SessionForm, EditForm):
    """Another name, day or hour for a session."""


class StandsForm(EditForm):
    """An apparatus in the meet's hall, and the rules that hold there."""

    piece = ChoiceField("Apparatus", read_choice=int)
    rules = ChoiceField("Rule book and level", optional=True)


class NumbersForm(DeskForm):
    """How start numbers are given out."""

    how = RadiosField(
        "Order",
        choices=[("list", "As the entries are listed, by club and name"), ("lot", "At random")],
        ask="Choose how the numbers are given out",
    )
    first = CountField("First number", least=1, most=start_numbers.HIGHEST_FIRST)
    anew = TickField("Give another number to those who have one too")


@blueprint.get("/")
def index() -> str:
    """The meets: those to come and under way, and those that are over."""
    with work() as session:
        known = meets.all_meets(session)
        away = guest_clubs.all_away(session)
    to_come = sorted(
        (meet for meet in known if meet.facts.ends_on >= today()),
        key=lambda meet: meet.facts.begins_on,
    )
    over = [meet for meet in known if meet.facts.ends_on < today()]
    return render_template("meets/index.html", to_come=to_come, over=over, away=away)


@blueprint.route("/new", methods=["GET", "POST"])
def new() -> Page:
    """A further meet."""
    form = MeetForm()
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            added = meets.add_meet(session, _facts(form))
            flash(f"{added.facts.name} is on the list. Now say which apparatus stands there.")
            return redirect(url_for("meets.show", meet_id=added.id), 303)
    return render_template("meets/new.html", form=form), form.status


@blueprint.get("/<int:meet_id>")
def show(meet_id: int) -> str:
    """One meet whole: sessions with their start orders, apparatus, entries, and the way on."""
    with work() as session:
        meet = meets.meet(session, meet_id)
        clubs = entries.clubs(session, meet_id)
        lines = start_orders.orders_at(session, meet)
        outcomes = outcome.of_rotations(session, [line.rotation_id for line in lines])
    return render_template(
        "meets/show.html",
        meet=meet,
        clubs=clubs,
        lines=lines,
        outcomes=outcomes,
        came_by=start_orders.CAME_BY,
        gone={athlete_id for club in clubs for athlete_id in club.withdrawn},
        twice=start_numbers.given_twice(clubs),
    )


@blueprint.route("/<int:meet_id>/edit", methods=["GET", "POST"])
def edit(meet_id: int) -> Page:
    """Another name, hall or days."""
    with work() as session:
        meet = meets.meet(session, meet_id)
    form = ChangedMeetForm(obj=meet.facts)
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            form.must_be_as_read(obj=meets.announced(session, meet_id))
            meets.change_meet(session, meet_id, _facts(form))
            flash("The meet is changed.")
            return redirect(url_for("meets.show", meet_id=meet_id), 303)
    return render_template("meets/edit.html", form=form, meet=meet), form.status


@blueprint.route("/<int:meet_id>/sessions/new", methods=["GET", "POST"])
def new_session(meet_id: int) -> Page:
    """A further session."""
    with work() as session:
        meet = meets.meet(session, meet_id)
    last = max((part.number for part in meet.sessions), default=0)
    form = NewSessionForm(data={"held_on": meet.facts.begins_on, "after": last})
    if form.accepted():
        with form.session_refusals(), work(writes=True) as session:
            added = meets.add_session(
                session,
                meet_id,
                form.name.data,
                form.held_on.data or meet.facts.begins_on,
                form.begins_at.data,
                after=_seen(form.after.data),
            )
            flash(f"{added.in_words} is on the list.")
            return redirect(url_for("meets.show", meet_id=meet_id), 303)
    return render_template("meets/session.html", form=form, meet=meet, part=None), form.status


@blueprint.route("/<int:meet_id>/sessions/<int:session_id>", methods=["GET", "POST"])
def edit_session(meet_id: int, session_id: int) -> Page:
    """Another name, day or hour for a session."""
    with work() as session:
        meet = meets.meet(session, meet_id)
    part = meet.session(session_id)
    form = ChangedSessionForm(obj=part)
    if form.accepted():
        with form.session_refusals(), work(writes=True) as session:
            form.must_be_as_read(obj=meets.meet(session, meet_id).session(session_id))
            meets.change_session(
                session,
                session_id,
                form.name.data,
                form.held_on.data or part.held_on,
                form.begins_at.data,
            )
            flash("The session is changed.")
            return redirect(url_for("meets.show", meet_id=meet_id), 303)
    return render_template("meets/session.html", form=form, meet=meet, part=part), form.status


def _seen(carried: str) -> int | None:
    """The number of the last session that the page knew; None where it carries none."""
    number = number_carried(carried)
    return number if number >= 0 else None


@blueprint.route("/<int:meet_id>/take-away", methods=["GET", "POST"])
def take_away(meet_id: int) -> Page:
    """Ask, and take away a meet that was typed by mistake."""
    with work() as session:
        name = meets.meet(session, meet_id).facts.name
    doomed = Doomed(
        meet_id,
        name,
        meets.hanging,
        meets.take_away,
        url_for("meets.show", meet_id=meet_id),
        "The meet goes, with what was said of the apparatus that stand there.",
        "One whose days or name are wrong is changed instead.",
    )
    return ask(doomed, url_for("meets.index"))


@blueprint.route("/<int:meet_id>/sessions/<int:session_id>/take-away", methods=["GET", "POST"])
def take_session_away(meet_id: int, session_id: int) -> Page:
    """Ask, and take away a session that was typed by mistake."""
    with work() as session:
        part = meets.meet(session, meet_id).session(session_id)
    doomed = Doomed(
        session_id,
        part.in_words,
        meets.hanging_on_session,
        meets.take_session_away,
        url_for("meets.edit_session", meet_id=meet_id, session_id=session_id),
        "The session goes.",
        "One whose day or name is wrong is changed instead.",
    )
    return ask(doomed, url_for("meets.show", meet_id=meet_id))


@blueprint.route("/<int:meet_id>/apparatus", methods=["GET", "POST"])
def put_apparatus(meet_id: int) -> Page:
    """Say that an apparatus stands in the hall, or by which rules; ``?piece=`` for one of them."""
    with work() as session:
        meet = meets.meet(session, meet_id)
        pieces = apparatus.all_pieces(session)
        books = rule_books.all_books(session)
    stands = {piece.piece.id: piece for piece in meet.pieces}.get(
        request.args.get("piece", 0, type=number_of_a_row)
    )
    rules = _rules_on_offer(books, [stands.piece] if stands else pieces)
    form = StandsForm(data=_as_it_stands(stands, rules))
    form.piece.offer([(piece.id, piece.name) for piece in pieces])
    form.rules.offer((words, words) for words in rules)
    if form.accepted():
        book, level = rules.get(form.rules.data or "", ("", ""))
        with form.refusals(form.rules), work(writes=True) as session:
            if stands is not None:
                present = meets.meet(session, meet_id).piece(stands.piece.id)
                form.must_be_as_read(data=_as_it_stands(present, rules))
            meets.put_apparatus(session, meet_id, form.piece.data, book, level)
            flash("The apparatus stands at the meet.")
            return redirect(url_for("meets.show", meet_id=meet_id), 303)
    page = render_template(
        "meets/apparatus.html", form=form, meet=meet, pieces=pieces, stands=stands
    )
    return page, form.status


@blueprint.route("/<int:meet_id>/numbers", methods=["GET", "POST"])
def numbers(meet_id: int) -> Page:
    """Give out start numbers to those who have none, or to all anew."""
    form = NumbersForm(data={"how": "list", "first": 1})
    with work() as session:
        meet = meets.meet(session, meet_id)
        clubs = entries.clubs(session, meet_id)
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            given = start_numbers.give_numbers(
                session,
                meet_id,
                form.first.data or 1,
                by_lot=form.how.data == "lot",
                anew=form.anew.data,
            )
            flash(
                f"{given.entrants} start numbers were given out, {given.first} to {given.last},"
                f" {'drawn at random' if form.how.data == 'lot' else 'as listed'}."
            )
            return redirect(url_for("entries.index", meet_id=meet_id), 303)
    page = render_template("meets/numbers.html", form=form, meet=meet, clubs=clubs)
    return page, form.status


@blueprint.post("/<int:meet_id>/apparatus/<int:apparatus_id>/away")
def take_apparatus_away(meet_id: int, apparatus_id: int) -> Response:
    """Say that an apparatus does not stand there."""
    with work(writes=True) as session:
        meets.take_apparatus_away(session, meet_id, apparatus_id)
    flash("The apparatus does not stand at the meet any more.")
    return redirect(url_for("meets.show", meet_id=meet_id), 303)


def _facts(form: MeetForm) -> MeetFacts:
    ends_on = form.ends_on.data or today()
    return MeetFacts(
        form.name.data,
        form.hall.data,
        form.begins_on.data or ends_on,
        ends_on,
        form.cards_until.data or MeetFacts.usual_end_of_cards(ends_on),
        form.note.data,
    )


def _as_it_stands(
    stands: MeetPiece | None, rules: Mapping[str, tuple[str, str]]
) -> dict[str, object]:
    """What the form shows of an apparatus that stands there already."""
    if stands is None:
        return {}
    at_present = (stands.rule_book, stands.level)
    chosen = next((words for words, rule in rules.items() if rule == at_present), None)
    return {"piece": stands.piece.id, "rules": chosen}


def _rules_on_offer(
    books: Iterable[RuleBook], pieces: Iterable[Piece]
) -> dict[str, tuple[str, str]]:
    """Every rule book by itself and with each level for these apparatus, by what a coach reads.

    A level that holds for some kinds of apparatus only, says for which.
    """
    kinds = {piece.model.kind.key: piece.model.kind for piece in pieces}.values()
    offered = {}
    for book in books:
        offered[f"{book.name}, all levels"] = (book.name, "")
        of_kinds: dict[str, list[str]] = {}
        for kind in kinds:
            for level in book.levels_at_meets(kind):
                of_kinds.setdefault(level, []).append(kind.name.lower())
        for level, names in sorted(of_kinds.items()):
            of = f" ({', '.join(names)})" if len(names) < len(kinds) else ""
            offered[f"{book.name}, {level}{of}"] = (book.name, level)
    return offered
