"""The athletes: the lists, one person, and what they want on everything that stands in the hall."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards import remarks as desk_remarks
from settingsdesk.desk.cards.text import CardText, Named, text_of
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import choosing, marks_on_scales
from settingsdesk.desk.squad import over_time as desk_over_time
from settingsdesk.desk.squad import setting_drafts as desk_drafts
from settingsdesk.desk.squad import setting_versions as desk_setting_versions
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad import still_right as desk_still_right
from settingsdesk.desk.squad.athletes import AT_ONCE, Member, Person
from settingsdesk.desk.squad.choosing import Sought
from settingsdesk.desk.squad.over_time import OverTime
from settingsdesk.desk.squad.setting_versions import Step
from settingsdesk.desk.squad.settings import Carried, SettingVersion
from settingsdesk.desk.squad.still_right import Confirmation, GrowthNote
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.rule_books import OutsideRule, RuleBook
from settingsdesk.domain.settings.card import CardLine
from settingsdesk.domain.settings.dot_plot import DotAxis, DotPlot, named_plot
from settingsdesk.domain.settings.purposes import OTHERS, USUAL
from settingsdesk.domain.settings.transfer import AxisFit
from settingsdesk.store.still_right import AskedAbout
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    ChoiceField,
    CountField,
    DayField,
    SoughtField,
    TickField,
    WordsField,
    number_of_a_row,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.squad import (
    erasing,
    keeping,
    kept,
    marks_table,
    same_person,
    setting_pages,
    squad_mates,
    still_right,
)
from settingsdesk.web.squad.choosing import GroupField, PurposeField
from settingsdesk.web.squad.setting_pages import ANOTHER, another_address

Page = str | Response | tuple[str, int]

blueprint = Blueprint("athletes", __name__, url_prefix="/athletes")
blueprint.context_processor(shown.for_templates)
setting_pages.add_to(blueprint)
marks_table.add_to(blueprint)
same_person.add_to(blueprint)
erasing.add_to(blueprint)
keeping.add_to(blueprint)
kept.add_to(blueprint)
still_right.add_to(blueprint)
squad_mates.add_to(blueprint)


class LevelField(ChoiceField):
    """A level that the rule books tell apart, or only the rules that hold for every level."""

    blank = "Rules for every level"


class SearchForm(DeskForm):
    """What the list is narrowed by."""

    q = SoughtField("Name or start number", width="w-16")
    group = GroupField("Group")
    asked = TickField("Only whose setting is asked about")
    page = CountField("Page", least=1, default=1)


class SquadForm(DeskForm):
    """Whose settings for which model, and for what, are compared."""

    model = ChoiceField("Apparatus model", read_choice=int)
    purpose = PurposeField("Settings for")
    group = GroupField("Group")
    page = CountField("Page", least=1, default=1)


class LevelForm(DeskForm):
    """With which rules the settings are compared."""

    level = LevelField("Level")


class PersonForm(DeskForm):
    """What the club keeps of a person."""

    given_name = WordsField("Given name", optional=True, width="w-16")
    family_name = WordsField("Family name", optional=True, width="w-16")
    printed_name = WordsField("Printed name", optional=True, width="w-16")
    group_name = WordsField("Group", optional=True, width="w-16")
    start_number = WordsField("Start number", most=12, optional=True, width="w-4")

    def person(self) -> Person:
        """The person as the form has it; raises what the desk refuses."""
        return Person(
            family_name=self.family_name.data or "",
            given_name=self.given_name.data or "",
            printed_name=self.printed_name.data or "",
            group_name=self.group_name.data or "",
            start_number=self.start_number.data or "",
        )


class NewPersonForm(PersonForm):
    """A further athlete; of a name that is in the squad already only where that is meant."""

    another_one = TickField("Add another athlete of that name")


class ChangedPersonForm(PersonForm, EditForm):
    """Other names, another group or start number."""


class LeavingForm(DeskForm):
    """The day on which an athlete leaves."""

    left_on = DayField("Left on")


class ComingBackForm(DeskForm):
    """Nothing to say but yes."""


@dataclass(frozen=True, slots=True)
class OnPiece:
    """A setting in the marks of one apparatus: its card's lines beside how far off each is."""

    carried: Carried
    text: CardText

    @property
    def called(self) -> str:
        """The apparatus, and what the marks are for where that is not the usual purpose."""
        return desk_settings.named_for(self.text.apparatus, self.carried.purpose)

    @property
    def lines(self) -> list[tuple[CardLine, AxisFit]]:
        return list(zip(self.text.lines, self.carried.transfer.best.axes, strict=True))

    @property
    def fits(self) -> bool:
        """Whether every axis is within what the athlete accepts."""
        return not self.carried.transfer.best.warnings


@dataclass(frozen=True, slots=True)
class KindPart:
    """All of an athlete's settings for one apparatus kind, and the hall's apparatus of it."""

    name: str
    versions: tuple[SettingVersion, ...]
    outside: dict[int, tuple[OutsideRule, ...]]
    pieces: tuple[OnPiece, ...]
    over_time: tuple[OverTime, ...]


@dataclass(frozen=True, slots=True)
class Looking:
    """What is known of whether an athlete's settings are still right."""

    asked: Mapping[int, AskedAbout]
    growth: Sequence[GrowthNote]
    confirmations: Mapping[int, Sequence[Confirmation]]

    def last_confirmation(self, version: SettingVersion) -> int:
        """The number of a setting's last one, 0 where there is none."""
        return next((one.id for one in self.confirmations.get(version.id, ())), 0)

    @property
    def last_growth(self) -> int:
        """The number of the last note, 0 where there is none."""
        return self.growth[0].id if self.growth else 0


@blueprint.get("/")
def index() -> str:
    """Everybody who is in the club, or those that the search finds."""
    return _list(left=False)


@blueprint.get("/left")
def left() -> str:
    """Those who have left."""
    return _list(left=True)


def _list(*, left: bool) -> str:
    form = SearchForm(request.args)
    with work() as session:
        groups = desk_athletes.groups(session)
        season = coach().season_days
        page = desk_athletes.page(
            session,
            form.q.data or "",
            form.group.data or "",
            left=left,
            number=form.page.data or 1,
            narrowed=desk_still_right.to_whom_it_asks(season) if form.asked.data else None,
        )
        ids = [member.id for member in page.members]
        marks, scales = ({}, []) if left else marks_on_scales.marks_of_each(session, ids)
        asked = desk_still_right.asked_about(session, ids, season).values()
        compared = _compared_of(session, form.group.data) if form.group.data else None
    form.group.offer_groups(groups)
    return render_template(
        "squad/left.html" if left else "squad/index.html",
        search=form,
        listed=page.members,
        marks=marks,
        scales=scales,
        asked={one.athlete_id for one in asked if one.is_doubted},
        untried={one.athlete_id for one in asked if one.is_untried},
        count=page.count,
        page=page.number,
        pages=page.pages,
        sought=bool(form.q.data or form.group.data or form.asked.data),
        compared=compared,
    )


def _compared_of(session: ClubSession, group: str) -> int | None:
    """The first model for which somebody of the group has a setting, by its number."""
    numbers = [version.id for version in desk_settings.models_of_squad(session)]
    of_group = Sought(group=group)
    used = (one for one in numbers if choosing.with_setting(session, [one], of_group).found)
    return next(used, None)


@blueprint.route("/new", methods=["GET", "POST"])
def new() -> Page:
    """Add an athlete; then on to the setting for a model, or to the next one."""
    form = NewPersonForm(data={"group_name": request.args.get("group", "")})
    model_id = request.args.get("model", type=number_of_a_row)
    namesakes: Sequence[Member] = ()
    if form.accepted():
        with (
            form.refusals(at=form.given_name),
            form.refusals(form.printed_name, CharacterNotInFont),
            work(writes=True) as session,
        ):
            desk_athletes.must_have_letters(form.person())
            namesakes = desk_athletes.of_same_names(session, form.person())
            if namesakes and not form.another_one.data:
                raise OfSameName(namesakes[0].listed_name)
            member = desk_athletes.add(session, form.person())
            if request.form.get("do") == ANOTHER:
                flash(f"{member.printed_name} is added. Add the next one.")
                return redirect(another_address(member, model_id), 303)
            flash(f"{member.printed_name} is added. Enter a setting next.")
            return redirect(_next_of(member, model_id), 303)
    with work() as session:
        groups = desk_athletes.groups(session)
    body = render_template("squad/new.html", form=form, groups=groups, namesakes=namesakes)
    return body, form.status


class OfSameName(SettingsDeskError):
    """An athlete was to be added whose name is in the squad already."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"{self.name} is in the squad already, and nobody was added. Open that entry below if"
            " it is the same person; tick the box if it is another one of the same name"
        )


def _next_of(member: Member, model_id: int | None) -> str:
    """The form of a new athlete's setting for a model, or their page."""
    if model_id is None:
        return url_for("athletes.show", athlete_id=member.id)
    return url_for("athletes.setting", athlete_id=member.id, model_id=model_id)


@blueprint.route("/<int:athlete_id>/edit", methods=["GET", "POST"])
def edit(athlete_id: int) -> Page:
    """Other names, another group or start number."""
    with work(writes=request.method == "POST") as session:
        member = desk_athletes.member(session, athlete_id)
        form = ChangedPersonForm(obj=member.person)
        if form.accepted():
            with (
                form.refusals(at=form.given_name),
                form.refusals(form.printed_name, CharacterNotInFont),
                session.or_nothing(),
            ):
                person = form.person()
                form.must_be_as_read()
                desk_athletes.must_have_letters(person)
                changed = desk_athletes.change(session, athlete_id, person)
                flash(f"{changed.printed_name} is changed.")
                return redirect(url_for("athletes.show", athlete_id=athlete_id), 303)
        groups = desk_athletes.groups(session)
    usual = replace(member.person, printed_name="").usual_name
    return (
        render_template("squad/edit.html", form=form, member=member, usual=usual, groups=groups),
        form.status,
    )


@blueprint.route("/<int:athlete_id>/leave", methods=["GET", "POST"])
def leave(athlete_id: int) -> Page:
    """Ask, and take an athlete off the lists."""
    form = LeavingForm(data={"left_on": today()})
    if form.accepted():
        with form.refusals(at=form.left_on), work(writes=True) as session:
            member = desk_athletes.leave(session, athlete_id, form.left_on.data or today())
            flash(f"{member.printed_name} is off the lists. Settings and history are kept.")
            return redirect(url_for("athletes.show", athlete_id=athlete_id), 303)
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
    return render_template("squad/leave.html", form=form, member=member), form.status


@blueprint.route("/<int:athlete_id>/come-back", methods=["GET", "POST"])
def come_back(athlete_id: int) -> Page:
    """Ask, and put an athlete back on the lists."""
    form = ComingBackForm()
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            member = desk_athletes.come_back(session, athlete_id)
            flash(f"{member.printed_name} is back on the lists.")
            return redirect(url_for("athletes.show", athlete_id=athlete_id), 303)
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
    return render_template("squad/come_back.html", form=form, member=member), form.status


@blueprint.route("/<int:athlete_id>/take-away", methods=["GET", "POST"])
def take_away(athlete_id: int) -> Page:
    """Ask, and take away an athlete who was typed by mistake."""
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
    doomed = Doomed(
        athlete_id,
        member.listed_name,
        desk_athletes.hanging,
        desk_athletes.take_away,
        url_for("athletes.show", athlete_id=athlete_id),
        f"The entry of {member.listed_name} goes: names, group and start number.",
        "An athlete who has left is taken off the lists instead, and the history is kept. One who"
        " was typed twice becomes one with the other entry.",
        desk_athletes.going_along,
    )
    return ask(doomed, url_for("athletes.index"))


@blueprint.get("/<int:athlete_id>")
def show(athlete_id: int) -> str:
    """One athlete: person, settings, and each of them on everything that stands in the hall."""
    form = LevelForm(request.args)
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        books = desk_rule_books.all_books(session)
        versions = desk_settings.history(session, athlete_id)
        current = desk_settings.current_of(versions)
        models = desk_models.all_models(session)
        entered = desk_entries.entered_for(session, athlete_id)
        growth = desk_still_right.growth_of(session, athlete_id)
        is_here = member.left_on is None and not any(entry.is_guest for _, entry in entered)
        looked = Looking(
            desk_still_right.asked_of(current if is_here else (), growth, coach().season_days),
            growth,
            desk_still_right.confirmations_of(session, athlete_id),
        )
        parts = list(
            _kind_parts(session, member, versions, looked, models, books, form.level.data or "")
        )
        cards = desk_issued.of_athlete(session, athlete_id)
        drafts = desk_drafts.of_athlete(session, athlete_id, current)
        messages = desk_remarks.of_athlete(session, athlete_id)
    form.level.offer((level, level) for level in _levels(books, parts))
    by_number = {version.id: version for version in models}
    return render_template(
        "squad/show.html",
        member=member,
        parts=parts,
        looked=looked,
        usual=USUAL,
        others=OTHERS,
        there={(version.model_id, version.purpose) for version in current},
        why={
            number: list(desk_still_right.why(asked, coach().season_days))
            for number, asked in looked.asked.items()
        },
        entered=entered,
        drafts=[(by_number[draft.model_id], draft) for draft in drafts],
        rules=form,
        waiting=[one for one in messages if one.answered_at is None],
        cards=[card for card in cards if not card.superseded and not card.revoked],
        choose=setting_pages.choose_form(models),
    )


def _kind_parts(
    session: ClubSession,
    member: Member,
    history: Sequence[SettingVersion],
    looked: Looking,
    models: Sequence[ModelVersion],
    books: Sequence[RuleBook],
    level: str,
) -> Iterator[KindPart]:
    current = desk_settings.current_of(history)
    carried = desk_settings.on_every_piece(session, current)
    all_over_time = {
        version.id: told
        for version in current
        if (told := _over_time(version, history, looked, models, carried)) is not None
    }
    for kind in {version.setting.kind.key: version.setting.kind for version in current}.values():
        versions = tuple(version for version in current if version.setting.kind.key == kind.key)
        pieces = [on_piece for on_piece in carried if on_piece.piece.model.kind.key == kind.key]
        yield KindPart(
            kind.name,
            versions,
            {
                version.id: desk_rule_books.outside_any(books, version.setting, level)
                for version in versions
            },
            tuple(
                OnPiece(piece, text_of(member, piece, Named(), coach().length_unit.value))
                for piece in sorted(pieces, key=lambda on_piece: on_piece.of_another_model)
            ),
            tuple(all_over_time[one.id] for one in versions if one.id in all_over_time),
        )


def _over_time(
    latest: SettingVersion,
    history: Sequence[SettingVersion],
    looked: Looking,
    models: Sequence[ModelVersion],
    carried: Sequence[Carried],
) -> OverTime | None:
    """A setting over time; None where nothing has happened since its first version."""
    of_one = (latest.model_id, latest.purpose)
    versions = [one for one in history if (one.model_id, one.purpose) == of_one]
    if len(versions) == 1 and latest.confirmed_at is None:
        return None
    [printed] = [version.model for version in models if version.id == latest.model_id]
    pieces = [one.piece for one in carried if one.piece.model_id == latest.model_id]
    told = (looked.confirmations, looked.growth)
    return desk_over_time.of_setting(versions, *told, printed, pieces, coach().length_unit)


def _levels(books: Sequence[RuleBook], parts: Sequence[KindPart]) -> list[str]:
    kinds = [part.versions[0].setting.kind for part in parts]
    return sorted({level for book in books for kind in kinds for level in book.levels(kind)})


@blueprint.get("/<int:athlete_id>/history")
def history(athlete_id: int) -> str:
    """Every version of every setting: who, when, why, what was typed, and what it changed.

    Those of entries that were taken in come after the athlete's own.
    """
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        entries = [member, *desk_athletes.taken_in(session, athlete_id)]
        unit = coach().length_unit
        steps = [(entry, desk_setting_versions.steps(session, entry.id, unit)) for entry in entries]
    return render_template(
        "squad/history.html",
        member=member,
        entries=[(entry, _by_model(of_entry)) for entry, of_entry in steps if of_entry],
    )


def _by_model(steps: Sequence[Step]) -> list[tuple[str, list[Step]]]:
    by_model = groupby(steps, key=lambda step: (step.version.model_id, step.version.wanted_for))
    return [(name, list(versions)) for (_, name), versions in by_model]


@blueprint.get("/squad")
def squad() -> str:
    """The squad's settings for one model beside each other: a dot plot and a table."""
    form = SquadForm(request.args)
    with work() as session:
        models = desk_settings.models_of_squad(session)
        if not models:
            return render_template("squad/squad_empty.html")
        version = next((version for version in models if version.id == form.model.data), models[0])
        purpose = form.purpose.data or USUAL
        pages = choosing.pages(session, version.id, form.group.data or "", purpose)
        page = min(form.page.data or 1, pages)
        sought = Sought(group=form.group.data or "", after=(page - 1) * AT_ONCE)
        offer = choosing.with_setting(session, [version.id], sought, purpose=purpose)
        ids = [member.id for member in offer.found]
        found = desk_settings.latest_of_each(session, ids, version.id, purpose)
        beside = desk_settings.any_beside(session)
    form.model.offer((version.id, version.model.name) for version in models)
    form.group.offer_groups(offer.groups)
    form.model.data = version.id
    settings = [(member, found[member.id]) for member in offer.found]
    return render_template(
        "squad/squad.html",
        search=form,
        version=version,
        purpose=purpose,
        beside=beside,
        settings=settings,
        offer=offer,
        page=page,
        pages=pages,
        plot=_dots(version, settings) if settings else None,
    )


def _dots(version: ModelVersion, settings: Sequence[tuple[Member, SettingVersion]]) -> DotPlot:
    axes = [
        DotAxis(
            axis.name,
            canonical_in_words(axis),
            tuple(setting.setting.axes[axis.key].wanted_mm for _, setting in settings),
        )
        for axis in version.model.kind.axes
    ]
    count = len(settings)
    who = "1 athlete" if count == 1 else f"{count} athletes"
    title = f"Settings of {who} for {version.model.name}"
    names = [member.listed_name for member, _ in settings]
    return named_plot(title, axes, names, coach().length_unit)
