"""Entries for a meet: who comes from which club, under which number, and what is to be settled."""

from collections.abc import Sequence
from dataclasses import replace

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.clock import today
from settingsdesk.desk.meet_day import (
    transfers as desk_transfers,
)
from settingsdesk.desk.meet_day import (
    withdrawal as desk_withdrawal,
)
from settingsdesk.desk.meet_day.transfers import Grounds, Overview
from settingsdesk.desk.meets import entries, meets, unsettled_lines
from settingsdesk.desk.meets.entries import LONGEST_DIVISION, Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.meets.refusals import NotOfThisMeet
from settingsdesk.desk.squad import athletes, choosing
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    ChoiceField,
    CountField,
    DayField,
    LengthField,
    RadiosField,
    WordsField,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import coach, desk, work
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field

blueprint = Blueprint("entries", __name__, url_prefix="/meets/<int:meet_id>/entries")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

ON_A_PAGE = 60
"""So many entries stand on one page."""
MOST_SHOWN = 400
"""So many lines of lists stand on one page."""

STEPS = [
    ("asked", "Asked for"),
    ("granted", "Granted"),
    ("refused", "Refused"),
    ("dropped", "Not asked for any more"),
]


class PageForm(DeskForm):
    """Which page of the entries."""

    page = CountField("Page", least=1, default=1)


class ClubField(ChoiceField):
    """One club of those that come, or all."""

    blank = "All clubs"


class SettleForm(PageForm):
    """Of which club, and which page of it."""

    club = ClubField("Of which club", optional=True)


class NamesForm(DeskForm):
    """The names of an athlete of another club."""

    given_name = WordsField("Given name", optional=True, width="w-16")
    family_name = WordsField("Family name", optional=True, width="w-16")
    printed_name = WordsField("Printed name", optional=True, width="w-16")


class OwnEntryForm(DeskForm):
    """What is entered of an athlete besides the names."""

    from_club = WordsField("Club", width="w-32", ask="Enter the club")
    start_number = WordsField(
        "Start number", most=entries.LONGEST_START_NUMBER, optional=True, width="w-4"
    )
    division = WordsField("Division", most=LONGEST_DIVISION, optional=True, width="w-16")


class EntryForm(NamesForm, OwnEntryForm):
    """An athlete of another club."""


class ChangedEntryForm(EntryForm, EditForm):
    """The entry of an athlete of another club, changed."""


class ChangedOwnEntryForm(OwnEntryForm, EditForm):
    """The entry of an athlete of the squad, changed: the names are changed with the athlete."""


class SquadForm(ChoosingForm):
    """Athletes of the squad."""

    who = athletes_field()
    division = WordsField("Division", most=LONGEST_DIVISION, optional=True, width="w-16")


class RaiseForm(DeskForm):
    """A request to raise the rails, or what came of it."""

    apparatus = ChoiceField("Apparatus", read_choice=int)
    step = ChoiceField("What is recorded", choices=STEPS)
    raise_mm = LengthField("By how much, where it is asked for", optional=True)
    marks_include = RadiosField(
        "Where it is granted: do the athlete's marks here include it",
        choices=[("yes", "Yes, they are the raised ones"), ("no", "No, they are without it")],
        optional=True,
    )
    told_by = WordsField("Who asked, or who settled it", width="w-32", ask="Enter who it was")
    told_on = DayField("Day")
    remark = WordsField("Remark", most=200, optional=True, width="")


@blueprint.get("")
def index(meet_id: int) -> str:
    """Whoever is entered, club by club."""
    form = PageForm(request.args)
    with work() as session:
        meet = meets.meet(session, meet_id)
        counts = {club.from_club: club.entered for club in entries.clubs(session, meet_id)}
        pages = max(1, -(-sum(counts.values()) // ON_A_PAGE))
        page = min(form.page.data or 1, pages)
        grounds = desk_transfers.grounds(session, meet)
        found = desk_transfers.transfers(session, grounds, ON_A_PAGE, (page - 1) * ON_A_PAGE)
    clubs = {
        club: [entrant for entrant in found.everybody if entrant.from_club == club]
        for club in dict.fromkeys(entrant.from_club for entrant in found.everybody)
    }
    return render_template(
        "meets/entries/index.html",
        meet=meet,
        clubs=clubs,
        counts=counts,
        page=page,
        pages=pages,
        to_settle=found.athletes_to_settle,
        without={entrant.member.id for entrant in found.nowhere},
    )


@blueprint.get("/settle")
def settle(meet_id: int) -> str:
    """Some entrants' marks on the hall's apparatus, and what is to be settled before the day.

    How much it is of all of them takes looking at each, so that is kept until something changes.
    One club's is a page to print, or to send to it.
    """
    form = SettleForm(request.args)
    with work() as session:
        meet = meets.meet(session, meet_id)
        grounds = desk_transfers.grounds(session, meet)
        whole = overview = _overview(session, grounds, "")
        form.club.offer((club, f"{club} ({count})") for club, count in whole.clubs.items() if club)
        club = form.club.data if form.club.data in whole.clubs else ""
        if club:
            overview = _overview(session, grounds, club)
        page = min(form.page.data or 1, len(overview.counts))
        found = desk_transfers.transfers(session, grounds, ON_A_PAGE, (page - 1) * ON_A_PAGE, club)
    if page == 1:
        found = replace(found, namesakes=overview.namesakes)
    names = {entrant.member.id: entrant.member.listed_name for entrant in found.everybody}
    return render_template(
        "meets/entries/settle.html",
        meet=meet,
        found=found,
        names=names,
        most=MOST_SHOWN,
        most_names=ON_A_PAGE,
        counts=overview.counts,
        of_no_club=0 if club else whole.of_no_club,
        page=page,
        form=form,
        club=club,
    )


def _overview(session: ClubSession, grounds: Grounds, club: str) -> Overview:
    """Open questions, kept until something changes."""
    return desk().kept.answer(
        ("to settle", coach().club_id, grounds.meet.id, club),
        coach().revision.records,
        lambda: desk_transfers.overview(session, grounds, ON_A_PAGE, club),
    )


@blueprint.post("/settle/<int:line_id>")
def settle_line(meet_id: int, line_id: int) -> Response:
    """A line of a club's list is settled: what came of it was entered, or is of no account."""
    with work(writes=True) as session:
        unsettled_lines.settle(session, meet_id, line_id)
    flash("The line is settled.")
    return redirect(url_for("entries.settle", meet_id=meet_id), 303)


@blueprint.route("/new", methods=["GET", "POST"])
def new(meet_id: int) -> Page:
    """Enter one athlete of another club by hand."""
    form = EntryForm()
    with work() as session:
        meet = meets.meet(session, meet_id)
    if form.accepted():
        with (
            form.refusals(form.given_name),
            form.refusals(form.printed_name, CharacterNotInFont),
            work(writes=True) as session,
        ):
            athletes.must_have_letters(_person(form))
            entrant = entries.enter_guest(
                session,
                meet_id,
                _person(form),
                form.from_club.data,
                form.start_number.data,
                form.division.data,
            )
            tell(
                f"{entrant.member.listed_name} is entered. Now enter the setting.",
                (url_for("entries.index", meet_id=meet_id), f"Back to {meet.facts.name}"),
            )
            return redirect(url_for("athletes.show", athlete_id=entrant.member.id), 303)
    return render_template("meets/entries/new.html", form=form, meet=meet), form.status


@blueprint.route("/squad", methods=["GET", "POST"])
def squad(meet_id: int) -> Page:
    """Enter athletes of the squad; a second press enters nobody twice."""
    form = SquadForm()
    with work() as session:
        meet = meets.meet(session, meet_id)
        offer = choosing.not_entered(session, meet_id, form.sought(), form.who.data or ())
    form.take(offer)
    if not form.names and form.accepted():
        chosen = [member.id for member in offer.ticked]
        with form.refusals(form.who), work(writes=True) as session:
            new = entries.enter_squad(session, meet_id, chosen, form.division.data)
            flash(_entered(new))
            return redirect(url_for("entries.index", meet_id=meet_id), 303)
    return render_template(
        "meets/entries/squad.html", form=form, meet=meet, offer=offer
    ), form.status


@blueprint.route("/<int:entry_id>/take-away", methods=["GET", "POST"])
def take_away(meet_id: int, entry_id: int) -> Page:
    """Ask, and take away an entry that was typed by mistake."""
    with work() as session:
        meet, entrant = _of_meet(session, meet_id, entry_id)
    name = entrant.member.listed_name
    doomed = Doomed(
        entry_id,
        name,
        entries.hanging,
        entries.take_away,
        url_for("entries.edit", meet_id=meet_id, entry_id=entry_id),
        f"The entry of {name} for {meet.facts.name} goes"
        + (", and the guest with it." if entrant.is_guest else "; the athlete stays in the squad."),
        "An athlete who does not come is scratched instead.",
        entries.going_along,
    )
    return ask(doomed, url_for("entries.index", meet_id=meet_id))


@blueprint.route("/<int:entry_id>", methods=["GET", "POST"])
def edit(meet_id: int, entry_id: int) -> Page:
    """One entry: names, club, number, what was asked for, and whether the athlete comes."""
    with work() as session:
        meet, entrant = _of_meet(session, meet_id, entry_id)
    form = _changed_form(entrant)
    if form.accepted():
        names = isinstance(form, ChangedEntryForm)
        with (
            form.refusals(form["given_name" if names else "from_club"]),
            form.refusals(form["printed_name"] if names else None, CharacterNotInFont),
            work(writes=True) as session,
        ):
            present = entries.entrant(session, entry_id)
            form.must_be_as_read(data=_as_kept(present))
            if isinstance(form, ChangedEntryForm):
                person = _person(form, present.member.person)
                athletes.must_have_letters(person)
                athletes.change(session, entrant.member.id, person)
            entries.change_entry(
                session,
                entry_id,
                form.from_club.data,
                form.start_number.data,
                form.division.data,
            )
            flash("The entry is changed.")
            return redirect(url_for("entries.index", meet_id=meet_id), 303)
    page = render_template("meets/entries/edit.html", form=form, meet=meet, entrant=entrant)
    return page, form.status


@blueprint.post("/<int:entry_id>/withdraw")
def withdraw(meet_id: int, entry_id: int) -> Response:
    """The athlete does not come."""
    with work(writes=True) as session:
        _of_meet(session, meet_id, entry_id)
        done = desk_withdrawal.withdraw(session, entry_id)
    flash(f"The entry of {done.entrant.member.listed_name} is scratched.")
    if done.not_here:
        flash(f"Not here from now on: {'; '.join(done.not_here)}. Tell who works there.")
    for words in done.not_noted:
        flash(f"At the apparatus it could not be noted, so tell who works there. {words}")
    if done.stands_on:
        orders = "; ".join(done.stands_on)
        flash(f"The start orders stay as set; take whoever withdrew off there: {orders}.")
    return redirect(url_for("entries.edit", meet_id=meet_id, entry_id=entry_id), 303)


@blueprint.post("/<int:entry_id>/again")
def again(meet_id: int, entry_id: int) -> Response:
    """The athlete does come after all."""
    with work(writes=True) as session:
        _of_meet(session, meet_id, entry_id)
        entrant = entries.enter_again(session, entry_id)
    flash(f"{entrant.member.listed_name} is entered again.")
    return redirect(url_for("entries.edit", meet_id=meet_id, entry_id=entry_id), 303)


@blueprint.route("/<int:entry_id>/raise", methods=["GET", "POST"])
def tell_raise(meet_id: int, entry_id: int) -> Page:
    """A request to raise the rails, or what came of it: data on the entry, no change of marks."""
    with work() as session:
        meet, entrant = _of_meet(session, meet_id, entry_id)
    form = RaiseForm(data={"step": "asked", "told_on": today()})
    railed = [piece.piece for piece in meet.pieces if piece.piece.model.kind.railed]
    form.apparatus.offer([(piece.id, piece.name) for piece in railed])
    if form.accepted():
        if form.step.data == "asked" and not form.raise_mm.data:
            form.raise_mm.errors = [*form.raise_mm.errors, "Enter by how much"]
        elif form.step.data == "granted" and not form.marks_include.data:
            said = "Choose whether the marks include it: a rail is set by them"
            form.marks_include.errors = [*form.marks_include.errors, said]
        else:
            with form.refusals(form.step), work(writes=True) as session:
                entries.tell_raise(
                    session,
                    entry_id,
                    form.apparatus.data,
                    form.step.data,
                    form.raise_mm.data or 0,
                    form.told_by.data,
                    form.told_on.data or today(),
                    form.remark.data,
                    {"yes": True, "no": False}.get(form.marks_include.data or ""),
                )
                flash("It is on record. No setting was changed by it.")
                return redirect(url_for("entries.edit", meet_id=meet_id, entry_id=entry_id), 303)
    page = render_template("meets/entries/raise.html", form=form, meet=meet, entrant=entrant)
    return page, form.status


def _of_meet(session: ClubSession, meet_id: int, entry_id: int) -> tuple[Meet, Entrant]:
    meet = meets.meet(session, meet_id)
    if entries.meet_id_of_entry(session, entry_id) != meet_id:
        raise NotOfThisMeet("entry", meet.facts.name)
    return meet, entries.entrant(session, entry_id)


def _entered(new: Sequence[Entrant]) -> str:
    """Who was entered, in words."""
    if not new:
        return "Whoever was chosen is entered already: nothing was changed."
    if len(new) == 1:
        return f"{new[0].member.listed_name} is entered."
    return f"{len(new)} athletes are entered."


def _changed_form(entrant: Entrant) -> ChangedEntryForm | ChangedOwnEntryForm:
    kind = ChangedEntryForm if entrant.is_guest else ChangedOwnEntryForm
    return kind(data=_as_kept(entrant))


def _as_kept(entrant: Entrant) -> dict[str, str]:
    """What the form of an entry is filled with."""
    person = entrant.member.person
    return {
        "given_name": person.given_name,
        "family_name": person.family_name,
        "printed_name": person.printed_name,
        "from_club": entrant.from_club,
        "start_number": entrant.start_number,
        "division": entrant.division,
    }


def _person(form: EntryForm, before: Person | None = None) -> Person:
    """The person as typed; what the form does not ask stays as it was."""
    names = (form.family_name.data, form.given_name.data, form.printed_name.data)
    if before is None:
        return Person(*names)
    family, given, printed = names
    return replace(before, family_name=family, given_name=given, printed_name=printed)
