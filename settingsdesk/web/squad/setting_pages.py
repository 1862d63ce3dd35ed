"""Entering a setting for a model: typed, shown as what it becomes, then kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import crew_notes
from settingsdesk.desk.squad import setting_drafts as desk_drafts
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.moved_marks import MarksThere, marks_there
from settingsdesk.desk.squad.setting_drafts import Draft
from settingsdesk.desk.squad.setting_versions import told
from settingsdesk.desk.squad.settings import SettingVersion, UsualOneFirst
from settingsdesk.desk.squad.typed_marks import in_words, mark_told
from settingsdesk.desk.squad.typed_settings import Datums, setting_typed
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.hall.rule_books import OutsideRule
from settingsdesk.domain.settings import blame
from settingsdesk.domain.settings.crew_note import LONGEST, NoteTooLong
from settingsdesk.domain.settings.purposes import USUAL, Purpose, purpose_of
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import blaming
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import ChoiceField, WordsField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.squad.setting_forms import (
    DatumForm,
    SettingForm,
    as_typed,
    datum_form,
    setting_form,
)

Page = str | Response | tuple[str, int]

ANOTHER = "another"
"""The button that saves and goes on with a further athlete."""


class ModelForm(DeskForm):
    """For which model a setting is entered."""

    model = ChoiceField("Apparatus model", read_choice=int)


@dataclass(frozen=True, slots=True)
class Subject:
    """Whose setting for which model is entered, and what is known before anything is typed."""

    member: Member
    version: ModelVersion
    present: SettingVersion | None
    pieces: tuple[Piece, ...]
    taken_from: Piece | None
    purpose: Purpose
    usual: SettingVersion | None
    """The setting for competition, with which one for another purpose is filled in at first."""
    draft: Draft | None
    """What a list told of it, and was not whole; None where it is filled in from an apparatus."""

    @property
    def lacking(self) -> str:
        """What a draft does not say, in words."""
        return ", ".join(self.draft.lacking(self.model)) if self.draft else ""

    @property
    def model(self) -> ApparatusModel:
        return self.version.model

    @property
    def known(self) -> SettingVersion | None:
        """What is kept, or the usual one where nothing is for that purpose."""
        return self.present or self.usual

    @property
    def is_usual(self) -> bool:
        """Whether it is the usual setting."""
        return self.purpose is USUAL

    @property
    def wanted_for(self) -> str:
        """The model, and the purpose where that is not the usual one."""
        return desk_settings.named_for(self.model.name, self.purpose)

    @property
    def before(self) -> Setting | None:
        """What the form is filled in with: what stands on an apparatus, or what is kept."""
        kept = self.known.setting if self.known else None
        if self.taken_from is None:
            return kept
        standing = self.taken_from.must_stand_somewhere()
        taken = setting_of_setup(self.taken_from.model, standing)
        if kept is None:
            return taken
        axes = {
            key: Wanted(wanted.wanted_mm, kept.axes[key].accepts_mm, kept.axes[key].weight)
            for key, wanted in taken.axes.items()
        }
        return Setting(taken.kind, axes)

    @property
    def before_mm(self) -> Mapping[str, float] | None:
        """The lengths that the form was filled in with."""
        if (before := self.before) is None:
            return None
        return {key: wanted.wanted_mm for key, wanted in before.axes.items()}

    def with_marks_of_before(self, typed: Mapping[str, str], setting: Setting) -> dict[str, str]:
        """What was typed; of a length that was only left as it was filled in, its mark.

        Nobody has measured that length: it was worked out from the mark, which still counts when
        the scale is told otherwise.
        """
        before = self.before
        marks = self._marks_of_before
        return {
            axis: marks[axis]
            if axis in marks
            and mark_told(words) is None
            and before is not None
            and before.axes[axis].wanted_mm == setting.axes[axis].wanted_mm
            else words
            for axis, words in typed.items()
        }

    @property
    def _marks_of_before(self) -> Mapping[str, str]:
        """The marks, in words, of which the form was filled in with the lengths."""
        if self.taken_from is not None:
            standing = self.taken_from.must_stand_somewhere()
            labels = self.taken_from.model.marks(standing)
            return {axis: in_words(label, self.taken_from.name) for axis, label in labels.items()}
        told = self.known.as_read if self.known else {}
        return {axis: words for axis, words in told.items() if mark_told(words)}

    @property
    def reason(self) -> str:
        """A reason to begin with, where the setting is taken from an apparatus."""
        if self.taken_from is None:
            return ""
        return f"As it stood on {self.taken_from.name} on {shown.day(today())}"


@dataclass(frozen=True, slots=True)
class Becoming:
    """One axis of what was typed: as typed, as it becomes, as it is kept now."""

    axis: AxisKind
    typed: str
    now: str
    before: str
    datum: str


@dataclass(frozen=True, slots=True)
class Check:
    """All that a coach should see before a setting is kept."""

    lines: tuple[Becoming, ...]
    changes: bool
    picture: Drawing
    there: tuple[MarksThere, ...]
    outside: tuple[OutsideRule, ...]

    def stays(self, axis: AxisKind) -> bool:
        """Whether no apparatus has it at another mark than before."""
        return not any(on.marks[axis.key].moves for on in self.there)


def add_to(blueprint: Blueprint) -> None:
    """Add these pages to the room of the athletes."""
    blueprint.add_url_rule("/<int:athlete_id>/settings", view_func=choose)
    blueprint.add_url_rule(
        "/<int:athlete_id>/settings/<int:model_id>/crew-note",
        view_func=crew_note,
        methods=["GET", "POST"],
    )
    blueprint.add_url_rule(
        "/<int:athlete_id>/settings/<int:model_id>", view_func=setting, methods=["GET", "POST"]
    )


class CrewNoteForm(EditForm):
    """What the crew is told of an athlete on a model."""

    words = WordsField("Note for the crew", most=LONGEST, optional=True)


def crew_note(athlete_id: int, model_id: int) -> Page:
    """Write, change or take away the note for whoever sets that model for an athlete."""
    with work(writes=request.method == "POST") as session:
        member = desk_athletes.member(session, athlete_id)
        version = desk_models.model(session, model_id)
        form = CrewNoteForm(data={"words": crew_notes.note(session, athlete_id, model_id)})
        if form.accepted():
            with (
                form.refusals(form.words, NoteTooLong, CharacterNotInFont),
                session.or_nothing(),
            ):
                form.must_be_as_read()
                kept = crew_notes.write(session, athlete_id, model_id, form.words.data or "")
                flash(_said_of_note(member, kept))
                return redirect(url_for("athletes.show", athlete_id=athlete_id), 303)
    return (
        render_template("squad/crew_note.html", form=form, member=member, version=version),
        form.status,
    )


def _said_of_note(member: Member, note: str) -> str:
    if not note:
        return f"There is no note for the crew about {member.printed_name} any more."
    return (
        "The note for the crew is kept. Cards made from now on have it; a crew sheet that is"
        " printed already has to be printed anew."
    )


def choose_form(models: Sequence[ModelVersion]) -> ModelForm:
    """The form in which a model is chosen, kind by kind."""
    form = ModelForm(request.args)
    named = sorted(models, key=lambda version: (version.model.kind.name, version.model.name))
    form.model.offer(
        (version.id, f"{version.model.kind.name}: {version.model.name}") for version in named
    )
    return form


def choose(athlete_id: int) -> Page:
    """For which model? Leads on to its form."""
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        models = desk_models.all_models(session)
    form = choose_form(models)
    if "model" in request.args and form.validate():
        address = url_for("athletes.setting", athlete_id=athlete_id, model_id=form.model.data)
        return redirect(address, 303)
    return (
        render_template("squad/choose.html", member=member, form=form, models=models),
        form.status,
    )


def setting(athlete_id: int, model_id: int) -> Page:
    """The form of a setting; what it becomes; keeping it; and back to where one came from."""
    with work() as session:
        subject = _subject(session, athlete_id, model_id)
    datum = datum_form(subject.model, request.args)
    datums = datum.datums()
    subject.model.must_know_its_section(datums.height, datums.spread)
    version = subject.present.version if subject.present else 0
    form = setting_form(
        subject.model,
        datums,
        subject.before,
        subject.reason,
        version,
        subject.pieces,
        subject.taken_from,
        subject.draft,
    )
    if not datum.mistakes and form.accepted() and request.form.get("do") != "change":
        lengths_mm = form.lengths_mm(subject.model, datums)
        with blaming(form, subject.model, lengths_mm, subject.before_mm, field="{}_length"):
            try:
                return _checked_or_kept(subject, datums, form)
            except blame.NOT_TOGETHER:
                raise
            except SettingsDeskError as refusal:
                with form.refusals(form.at(refusal)):
                    raise
    return _asked(subject, datum, form)


def _subject(session: ClubSession, athlete_id: int, model_id: int) -> Subject:
    version = desk_models.model(session, model_id)
    pieces = desk_apparatus.pieces_of_kind(session, version.model.kind.key)
    asked = request.args.get("from", type=number_of_a_row)
    ours = tuple(piece for piece in pieces if piece.model_id == model_id)
    taken_from = next((piece for piece in ours if piece.id == asked), None)
    purpose = purpose_of(request.args.get("purpose", "")) or USUAL
    latest = desk_settings.latest_by_model(session, [athlete_id], [version], {USUAL, purpose})
    usual, present = (latest[model_id, one].get(athlete_id) for one in (USUAL, purpose))
    if purpose is not USUAL and usual is None:
        raise UsualOneFirst(version.model, purpose)
    drafts = desk_drafts.of_athlete(session, athlete_id, [usual] if usual else [])
    of_model = next((draft for draft in drafts if draft.model_id == model_id), None)
    return Subject(
        member=desk_athletes.member(session, athlete_id),
        version=version,
        present=present,
        pieces=ours,
        taken_from=taken_from,
        purpose=purpose,
        usual=usual,
        draft=None if taken_from or purpose is not USUAL else of_model,
    )


def _asked(subject: Subject, datum: DatumForm, form: SettingForm) -> Page:
    status = max(datum.status, form.status)
    body = render_template(
        "squad/setting.html",
        subject=subject,
        member=subject.member,
        then=_then(),
        datum_form=datum,
        datums=datum.datums(),
        form=form,
        forms=[datum, form],
    )
    return body, status


def _checked_or_kept(subject: Subject, datums: Datums, form: SettingForm) -> Page:
    model = form.marks_model(subject.model, subject.pieces)
    setting = setting_typed(model, {axis.key: form.typed(axis.key) for axis in model.axes}, datums)
    typed = subject.with_marks_of_before(as_typed(form, model, datums, subject.pieces), setting)
    form.must_be_of(subject.present, setting)
    asks = form.asks(form.doubts(setting))
    if request.form.get("do") in ("keep", ANOTHER) and not asks:
        return _kept(subject, setting, form, typed)
    with work() as session:
        outside = desk_rule_books.outside_any(desk_rule_books.all_books(session), setting)
    check = _check(subject, setting, typed, outside)
    sent = {
        field.name: field.data if field is form.asked else request.form.get(field.name, "")
        for field in form
    }
    return render_template(
        "squad/check.html",
        subject=subject,
        member=subject.member,
        then=_then(),
        form=form,
        check=check,
        mats=_other_mats(subject.pieces, datums),
        mats_mm=datums.mat_mm,
        sent=sent,
        left=[(on, {**sent, **form.leaving(on)}) for on in check.there if form.can_leave(on)],
    )


def _other_mats(pieces: Sequence[Piece], datums: Datums) -> list[Piece]:
    """The apparatus of the model on which other mats lie than those that heights are above."""
    if not datums.over_mat:
        return []
    return [piece for piece in pieces if piece.mat_mm != datums.mat_mm]


def _kept(
    subject: Subject, setting: Setting, form: SettingForm, typed: Mapping[str, str]
) -> Response:
    with work(writes=True) as session:
        kept = desk_settings.keep_setting(
            session,
            subject.member.id,
            subject.version.id,
            setting,
            form.reason.data or "",
            typed,
            instead_of=form.instead_of,
            purpose=subject.purpose,
        )
    is_on_cards = kept.version > 1 and kept.purpose is USUAL
    outdated = " Cards printed before it are out of date." if is_on_cards else ""
    if request.form.get("do") == ANOTHER:
        flash(
            f"The setting of {subject.member.printed_name} for {kept.wanted_for} is"
            f" kept.{outdated} Add the next athlete."
        )
        return redirect(another_address(subject.member, subject.version.id), 303)
    then = _then()
    links = (
        *(
            (url_for("cards.choose", apparatus_id=piece.id), f"Print cards for {piece.name}")
            for piece in subject.pieces
            if kept.purpose is USUAL
        ),
        (url_for("athletes.index"), "Go to the next athlete"),
    )
    tell(
        f"Version {kept.version} of the setting of {subject.member.printed_name} for"
        f" {kept.wanted_for} is kept.{outdated}",
        *(() if then else links),
    )
    return redirect(then or url_for("athletes.show", athlete_id=subject.member.id), 303)


def another_address(member: Member, model_id: int | None) -> str:
    """The form of a further athlete, of the same group, and whose setting is entered next."""
    return url_for("athletes.new", group=member.person.group_name or None, model=model_id)


def _then() -> str:
    """Where to go on once it is kept, such as at a run that waits for it; empty for the athlete."""
    return own_address(request.args.get("then"), otherwise="")


def _check(
    subject: Subject,
    setting: Setting,
    typed: Mapping[str, str],
    outside: tuple[OutsideRule, ...],
) -> Check:
    unit = coach().length_unit
    present = subject.present.setting if subject.present else None
    return Check(
        lines=tuple(
            Becoming(
                axis,
                typed[axis.key],
                told(setting.axes[axis.key], unit),
                told(present.axes[axis.key], unit) if present else "",
                canonical_in_words(axis),
            )
            for axis in setting.kind.axes
        ),
        changes=present is None or present.axes != setting.axes,
        picture=shown.picture(
            subject.model, {key: wanted.wanted_mm for key, wanted in setting.axes.items()}
        ),
        there=tuple(marks_there(present, setting, subject.pieces)),
        outside=outside,
    )
