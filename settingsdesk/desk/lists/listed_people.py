"""What a coach's list says of each athlete, made ready to be taken: who it is, and the settings."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from settingsdesk.cards.lettering import CharacterNotInFont, lettered
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.lists.answers import who_key
from settingsdesk.desk.lists.compared_with_marks import ComparedWithMarks
from settingsdesk.desk.lists.mark_scales import MarkScale, mark_scales
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import LONGEST_NAME, Person
from settingsdesk.desk.squad.setting_drafts import Half
from settingsdesk.desk.squad.settings import Latest, SettingVersion, UsualOneFirst, named_for
from settingsdesk.desk.squad.typed_marks import AS_PRINTED, listed_in_words
from settingsdesk.desk.squad.typed_settings import AsTyped, lengths_alone_mm, setting_typed
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.names import folded
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.domain.settings import blame
from settingsdesk.domain.settings.crew_note import NoteTooLong, as_kept
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.sheets.lists.preview import (
    EVERY_AXIS,
    Accepted,
    ListPreview,
    PersonFound,
    Place,
    Query,
    model_key,
)
from settingsdesk.store.work import ClubSession

NOWHERE: Place = ("", 0, "")


@dataclass(frozen=True, slots=True)
class ListedSetting:
    """What a list says of one athlete on one model; ``why_not`` is empty where it is whole.

    ``present`` is what the athlete wants there now, None where that is nothing. ``kind`` is that
    of the apparatus, None where nothing tells it.
    """

    model: ModelVersion | None
    model_name: str
    setting: Setting | None
    as_read: Mapping[str, str]
    why_not: str = ""
    present: SettingVersion | None = None
    marks: Mapping[str, str] = field(default_factory=dict)
    """The marks that the list gives, by axis."""
    scale: MarkScale | None = None
    """On whose scale those marks are read; None where there are none."""
    kind: str | None = None
    is_named: bool = True
    """Whether the list itself says which model is meant, by its name."""
    reason: str = ""
    """Why it is as it is."""
    at: Place = NOWHERE
    """Where the first of its values stands."""
    halves: Mapping[str, Half] = field(default_factory=dict)
    """What is clear of it, by axis: a draft for the form, where it is not whole."""
    purpose: Purpose = USUAL
    untried: bool = False
    """Whether it is another athlete's so far, as whoever hands it over knows."""
    takes_back: bool = False
    """Whether the athlete wanted just that before somebody changed it to what is kept now."""
    crew_note: str = ""
    """What the list has for the crew; without a word what there is stays."""
    half_way: bool = False
    """Whether a length of it lies half-way between two marks, as is said of its cell."""

    @property
    def new_note(self) -> str:
        """What taking it tells the crew from then on; empty where that changes nothing."""
        before = self.present.crew_note if self.present else ""
        return self.crew_note if self.setting is not None and self.crew_note != before else ""

    @property
    def called(self) -> str:
        """Its model, and the purpose where that is not the usual one."""
        return named_for(self.model_name, self.purpose)

    @property
    def is_usual(self) -> bool:
        """Whether it is the usual one of its model."""
        return self.purpose is USUAL

    @property
    def before(self) -> Setting | None:
        """The setting that the athlete has there now, None where there is none."""
        return self.present.setting if self.present else None

    @property
    def is_kept_already(self) -> bool:
        """Whether taking it changes nothing."""
        return self.setting is not None and self.setting == self.before


@dataclass(frozen=True, slots=True)
class ListedPerson:
    """One athlete of a list: who it is, whether they are known already, and their settings.

    ``found`` is what the list says of them. ``known`` is the athlete's number, ``kept`` how the
    squad knows them, ``becomes`` how it will where taking the list changes that. Where ``why_not``
    says something, nothing of the line is taken.
    """

    found: PersonFound
    person: Person
    known: int | None
    settings: tuple[ListedSetting, ...]
    why_not: str = ""
    kept: Person | None = None
    becomes: Person | None = None
    may_be: Mapping[int, str] = field(default_factory=dict)
    """Those who may be meant by the name, by number and as they are listed; somebody is asked."""
    said_who: str = ""
    """What was answered: a number of those, or ``SOMEBODY_NEW``."""
    is_ticked: bool = True
    """Whether they are to be taken, as far as whoever looks at the list is concerned."""

    @property
    def is_out_unless_ticked(self) -> bool:
        """Whether they stay out without anybody's word: it would take back, or they do not come."""
        return self.why_not == SAID_NOT_COMING or any(one.takes_back for one in self.settings)

    @property
    def who_is_asked(self) -> str:
        """Whom the name may mean, and what is to be said."""
        return _may_be(self.found, self.may_be)

    @property
    def as_said(self) -> str:
        """How whoever is meant is listed, where somebody had to say who that is."""
        return self.may_be[int(self.said_who)] if self.said_who.isdecimal() else ""

    @property
    def name_open(self) -> bool:
        """Whether it can be settled by saying which of two names comes first."""
        return self.why_not == NAMES_OPEN

    @property
    def kept_group(self) -> str | None:
        """The group that stays of whoever is known, where the list says another."""
        if self.kept is None or self.becomes or not self.found.group:
            return None
        kept = self.kept.group_name
        return kept if folded(kept) != folded(self.found.group) else None

    @property
    def changes(self) -> Iterator[str]:
        """What taking it changes of the person, in words."""
        if self.known is None:
            yield "Is added to the squad"
        person = self.becomes or self.person
        before = self.kept or Person(person.family_name, person.given_name)
        if self.known is not None and self.becomes is None:
            return
        if person.printed_name != before.printed_name:
            was = before.printed_name or before.usual_name
            yield f"Printed name: '{was}' becomes '{person.printed_name}'"
        if person.group_name != before.group_name:
            was = f"'{before.group_name}' becomes " if before.group_name else ""
            yield f"Group: {was}'{person.group_name}'"


class Taker(Protocol):
    """Who is there already, on what apparatus a list is meant, and how somebody new comes in."""

    reason: str
    """Why a setting has another version now, where the list does not say it."""
    takes_ours: bool
    """Whether a sheet of our own columns is taken as one: whole, with groups and printed names."""
    takes_purposes: bool
    """Whether settings for other purposes than competition are taken; a meet has nothing of them.
    """
    has_our_marks: bool
    """Whether marks are those of the club's own apparatus, unless somebody says otherwise."""

    def known(self, person: Person, found: PersonFound) -> int | None:
        """The athlete that a line is about, None for a new one.

        Raises ``SeveralOfThatName``, ``NoSuchNumberHere``, ``HasLeft`` or ``NamesSwapped``.
        """

    def may_be(self, found: PersonFound) -> Mapping[int, str]:
        """Who may be meant by a name that nobody has alone or in full, by number and as listed."""

    def club_alike(self, name: str) -> str:
        """A club that has come in already under a name a little different; empty for none."""

    def not_listed(self, people: Sequence[ListedPerson]) -> Iterable[str]:
        """Whoever is there for the clubs of a list, and does not stand on it."""

    def kept(self, athlete_id: int) -> Person | None:
        """How the squad knows an athlete; None where it is not the squad's list."""

    def is_untried(self, found: PersonFound, model_name: str) -> bool:
        """Whether somebody who is handed over has not tried their setting for a model."""

    def model_of(self, kind: str, versions: Sequence[ModelVersion], named: str) -> ModelVersion:
        """For which model of a kind lengths are meant where a list names none that is known.

        ``named`` is the one that it names. Raises ``NoModelOfThatKind``, ``SeveralModels`` or
        ``ModelNotKnown``.
        """

    def take_all(self, session: ClubSession, coming: Sequence[ListedPerson]) -> Sequence[int]:
        """Let everybody new in; the athletes' numbers, in that order."""

    def keep_left_out(
        self, session: ClubSession, sent_by: str, layout_key: str, lines: Iterable[Line]
    ) -> None:
        """Keep what a list left out, where somebody else than its owner has to settle it."""


def listed_people(
    session: ClubSession,
    taker: Taker,
    preview: ListPreview,
    versions: Sequence[ModelVersion],
    accepts_mm: int,
    chosen: Mapping[str, str],
    scales: Mapping[str, str],
    whom: Mapping[str, str],
) -> tuple[list[ListedPerson], list[Query]]:
    """Everybody on a list, in its order, and what is asked of it now that the desk is known.

    ``versions`` are the models that are known, ``accepts_mm`` the deviation that is accepted where
    neither the list nor the setting before states one, ``chosen`` the model by its name for kinds
    of apparatus of which the list names none, ``scales`` what was said of the scales of marks,
    ``whom`` by ``who_key`` who is meant by a name: a number, or ``SOMEBODY_NEW``.
    """
    # All faults of a sheet of our own are told at once, of whoever waits for an answer too.
    values = _by_person([*preview.accepted, *(preview.waiting if preview.is_ours else ())])
    unbelieved = _by_person(preview.unbelieved)
    who = [_who(taker, found, whom.get(who_key(found.at), "")) for found in preview.persons]
    if preview.is_ours:
        who = _new_in_ours(preview.persons, who)
    times = Counter(meant.known for meant in who if meant.known is not None)
    present = desk_settings.latest_by_model(session, times, versions)
    scale_of: Mapping[int, MarkScale] = {}
    if preview.is_ours:  # its columns say that marks are those of the model's scale
        scale_of = {version.id: MarkScale(version.model, AS_PRINTED) for version in versions}
    elif any(value.mark is not None for of_person in values.values() for value in of_person):
        scale_of = mark_scales(session, versions, scales, are_ours=taker.has_our_marks)
    reading = _Reading(taker, preview.is_ours, versions, present, accepts_mm, chosen, scale_of)
    people = [
        reading.listed(found, meant, values.get(at, []), unbelieved.get(at, []))
        for at, (found, meant) in enumerate(zip(preview.persons, who, strict=True))
    ]
    people = [
        replace(athlete, why_not=TWICE)
        if athlete.known is not None and times[athlete.known] > 1
        else athlete
        for athlete in people
    ]
    open_still = [query for query in preview.queries if query.place not in reading.kept_already]
    return people, [*open_still, *reading.queries]


def _by_person(values: Iterable[Accepted]) -> dict[int, list[Accepted]]:
    by_person: dict[int, list[Accepted]] = {}
    for value in values:
        by_person.setdefault(value.person, []).append(value)
    return by_person


@dataclass(frozen=True, slots=True)
class _Who:
    """Whom a list names: somebody new, somebody ``known`` by number, or ``why_not``."""

    person: Person
    known: int | None
    why_not: str
    may_be: Mapping[int, str] = field(default_factory=dict)
    said: str = ""


def _who(taker: Taker, found: PersonFound, answer: str) -> _Who:
    """Whom a name means; where it is in full nobody's, or several's, by that answer alone."""
    meant, is_open = _by_full_name(taker, found)
    may_be = taker.may_be(found) if is_open else {}
    if not may_be:
        return meant
    if answer.isdecimal() and int(answer) in may_be:
        return replace(meant, known=int(answer), why_not="", may_be=may_be, said=answer)
    if answer == SOMEBODY_NEW:
        why_not = "" if found.is_split else meant.why_not
        return replace(meant, why_not=why_not, may_be=may_be, said=answer)
    if found.is_split and meant.why_not:  # several have the name in full, as it says
        return replace(meant, may_be=may_be)
    return replace(meant, why_not=_may_be(found, may_be), may_be=may_be)


def _may_be(found: PersonFound, may_be: Mapping[int, str]) -> str:
    return MAY_BE.format(name=quoted(found.shown), listed=" or ".join(may_be.values()))


def _by_full_name(taker: Taker, found: PersonFound) -> tuple[_Who, bool]:
    """Whom a name in full means, and whether somebody else may be meant as far as it tells."""
    person = Person(found.shown[:LONGEST_NAME] or "?", "")
    if not found.is_split:
        return _Who(person, None, NAME_WHOLE if found.names_first else NAMES_OPEN), True
    try:
        person = Person(found.family_name, found.given_name, found.printed_name, found.group)
        known = taker.known(person, found)
        return _Who(person, known, ""), known is None
    except SettingsDeskError as refusal:
        return _Who(person, None, str(refusal)), isinstance(refusal, SeveralOfThatName)


def _new_in_ours(persons: Sequence[PersonFound], who: Sequence[_Who]) -> list[_Who]:
    """Nobody new comes in with one name, or as two: in our columns an athlete has several rows.

    Those whom the squad of another desk told apart by their numbers are two here too.
    """
    rows: dict[tuple[str, str], list[PersonFound]] = {}
    for found in persons:
        rows.setdefault(_names(found), []).append(found)
    checked = []
    for found, meant in zip(persons, who, strict=True):
        others = [
            other.at[1]
            for other in rows[_names(found)]
            if other.at[1] != found.at[1]
            and (other.number_here == found.number_here or not found.number_here)
        ]
        why_not = meant.why_not
        if meant.known is None and not why_not and not (found.family_name and found.given_name):
            why_not = BOTH_NAMES
        elif meant.known is None and not why_not and others:
            why_not = OTHER_GROUP.format(row=others[0])
        checked.append(replace(meant, why_not=why_not))
    return checked


def _names(found: PersonFound) -> tuple[str, str]:
    return found.family_name.casefold(), found.given_name.casefold()


@dataclass(frozen=True, slots=True)
class _Reading:
    """One list being made ready for one taker; ``present`` goes by model and athlete.

    ``scales`` are those of marks, by model, where the list has any. ``queries`` are what only the
    desk can tell of a cell, ``kept_already`` the places of lengths that are hardly believed and are
    the athlete's already: nobody is asked about those again.
    """

    taker: Taker
    is_ours: bool
    versions: Sequence[ModelVersion]
    present: Latest
    accepts_mm: int
    chosen: Mapping[str, str]
    scales: Mapping[int, MarkScale]
    queries: list[Query] = field(default_factory=list)
    kept_already: set[Place] = field(default_factory=set)
    wanted: dict[tuple[int, tuple[tuple[str, AsTyped], ...]], Setting] = field(default_factory=dict)
    marks: ComparedWithMarks = field(default_factory=ComparedWithMarks)

    def listed(
        self,
        found: PersonFound,
        who: _Who,
        values: Sequence[Accepted],
        unbelieved: Sequence[Accepted],
    ) -> ListedPerson:
        known = who.known
        kept = self.taker.kept(known) if known is not None else None
        again = [value for value in unbelieved if known is not None and self._is_kept(known, value)]
        self.kept_already.update(value.place for value in again)
        return ListedPerson(
            found=found,
            person=who.person,
            known=known,
            settings=self._beside_the_usual(
                known, _once_a_model(tuple(self._settings(found, known, [*values, *again])))
            ),
            why_not=who.why_not,
            may_be=who.may_be,
            said_who=who.said,
            kept=kept,
            becomes=self._becomes(found, kept),
        )

    def _beside_the_usual(
        self, known: int | None, settings: tuple[ListedSetting, ...]
    ) -> tuple[ListedSetting, ...]:
        """The settings, the usual ones first; none for another purpose without a usual one."""
        comes = {one.model.id for one in settings if one.setting and one.is_usual and one.model}
        checked = (
            replace(one, setting=None, why_not=str(UsualOneFirst(one.model.model, one.purpose)))
            if one.model
            and one.setting
            and not one.is_usual
            and one.model.id not in comes
            and known not in self.present[one.model.id, USUAL]
            else one
            for one in settings
        )
        return tuple(sorted(checked, key=lambda one: not one.is_usual))

    def _becomes(self, found: PersonFound, kept: Person | None) -> Person | None:
        """The person as our own sheet has it; what it leaves blank stays as it is kept."""
        if kept is None or not self.is_ours:
            return None
        now = replace(
            kept,
            printed_name=found.printed_name or kept.printed_name,
            group_name=found.group or kept.group_name,
        )
        return now if now != kept else None

    def _is_kept(self, known: int, value: Accepted) -> bool:
        """Whether the athlete has just that length on a model that may be meant."""
        return any(
            (present := self.present[version.id, value.purpose].get(known)) is not None
            and value.axis in present.setting.axes
            and present.setting.axes[value.axis].wanted_mm == value.value_mm
            for version in self.versions
            if value.model in (None, version.model.name) and value.kind == version.model.kind.key
        )

    def _settings(
        self, found: PersonFound, known: int | None, values: Sequence[Accepted]
    ) -> Iterator[ListedSetting]:
        groups: dict[tuple[str | None, str | None, Purpose], dict[str, Accepted]] = {}
        for value in values:
            groups.setdefault((value.model, value.kind, value.purpose), {})[value.axis] = value
        for (model_name, kind, purpose), wanted in groups.items():
            if purpose is not USUAL and not self.taker.takes_purposes:
                continue
            of_what = model_key(model_name, purpose)
            version, why_not = self._version(model_name, kind, wanted)
            if version is None and self.is_ours:
                continue  # it is asked at its cell already
            listed = ListedSetting(
                version,
                model_name or "",
                None,
                {},
                why_not,
                kind=kind,
                is_named=bool(model_name),
                reason=found.reasons.get(of_what, "") if self.is_ours else self.taker.reason,
                purpose=purpose,
                at=min(value.place for value in wanted.values()),
                crew_note=self._note_of(found, model_name, next(iter(wanted.values())).person),
            )
            if version is not None:
                stated = {
                    axis.key: _accepts_mm(found, of_what, kind, axis.key)
                    for axis in version.model.kind.axes
                }
                is_untried = self.taker.is_untried(found, version.model.name)
                listed = replace(listed, untried=is_untried)
                listed = self._on_model(listed, version, wanted, stated, known)
            yield listed

    def _note_of(self, found: PersonFound, model_name: str | None, person: int) -> str:
        """What the crew is told of somebody on a model; asked about where no card can carry it.

        A remark in a row that names no model is told on each of which lengths stand there.
        """
        nothing = found.crew_notes.get(None, ("", NOWHERE))
        note, at = found.crew_notes.get(model_name, nothing)
        try:
            return lettered(as_kept(note))
        except (CharacterNotInFont, NoteTooLong) as refusal:
            self.queries.append(Query(*at, note, str(refusal), person))
            return ""

    def _on_model(
        self,
        listed: ListedSetting,
        version: ModelVersion,
        wanted: Mapping[str, Accepted],
        stated_mm: Mapping[str, int | None],
        known: int | None,
    ) -> ListedSetting:
        """What a list leaves out of deviation and weight stays as it is kept."""
        model = version.model
        theirs = self.present[version.id, listed.purpose]
        present = theirs.get(known) if known is not None else None
        listed = replace(
            listed,
            model_name=model.name,
            kind=model.kind.key,
            as_read=self._as_read(wanted, None),
            present=present,
            marks={key: value.mark for key, value in wanted.items() if value.mark is not None},
            halves={
                key: Half(value.value_mm, value.mark, listed_in_words(value.read, value.converted))
                for key, value in wanted.items()
            },
        )
        if listed.marks:
            scale = self.scales[version.id]
            listed = replace(listed, scale=scale)
            if scale.model is None:
                return replace(listed, why_not=scale.why_not)
            model = scale.model
            if not self.is_ours:
                listed = replace(listed, as_read=self._as_read(wanted, scale))
        stops = self._stops(model, wanted)
        lacking = [axis for axis in model.kind.axes if axis.key not in stops]
        if lacking:
            names = ", ".join(axis.in_a_sentence for axis in lacking)
            return replace(listed, why_not=f"{names} missing")
        typed = {}
        for axis in model.axes:
            before = present.setting.axes[axis.key] if present else None
            accepts_mm = stated_mm[axis.key]
            if accepts_mm is None:
                accepts_mm = before.accepts_mm if before else self.accepts_mm
            weight = before.weight if before else 1
            length_mm, stop = wanted[axis.key].value_mm, stops[axis.key]
            typed[axis.key] = AsTyped(length_mm, stop, accepts_mm, weight)
        try:
            listed = replace(listed, setting=self._wanted(version.id, model, typed))
            return self._compared_with_marks(listed, model, wanted)
        except blame.NOT_TOGETHER as refusal:
            said = blame.of_lengths(refusal, model, lengths_alone_mm(model, typed))[1]
            return replace(listed, why_not=str(said))
        except SettingsDeskError as refusal:
            return replace(listed, why_not=str(refusal))

    def _compared_with_marks(
        self, listed: ListedSetting, model: ApparatusModel, wanted: Mapping[str, Accepted]
    ) -> ListedSetting:
        """What is said of lengths that no mark comes to; what is kept already is said no more."""
        if listed.setting is None or listed.is_kept_already:
            return listed
        lengths = {key: value for key, value in wanted.items() if value.value_mm is not None}
        said = self.marks.said(model, listed.setting, lengths)
        self.queries.extend(one.query for one in said)
        return replace(listed, half_way=any(one.is_half_way for one in said))

    def _wanted(
        self, model_id: int, model: ApparatusModel, typed: Mapping[str, AsTyped]
    ) -> Setting:
        """The setting that was typed; worked out once for all who want the same."""
        same = (model_id, tuple(typed.items()))
        if same not in self.wanted:
            self.wanted[same] = setting_typed(model, typed)
        return self.wanted[same]

    def _as_read(
        self, wanted: Mapping[str, Accepted], scale: MarkScale | None
    ) -> Mapping[str, str]:
        """What the list says of each axis, for the record; of marks with the scale."""
        of = scale.in_words if scale is not None else ""
        return {
            key: listed_in_words(value.read, value.converted, of if value.mark is not None else "")
            for key, value in wanted.items()
        }

    def _stops(
        self, model: ApparatusModel, wanted: Mapping[str, Accepted]
    ) -> dict[str, int | None]:
        """The stops of the marks that the scales have, None for lengths; a query at any other."""
        stops: dict[str, int | None] = {}
        for axis in model.axes:
            value = wanted.get(axis.key)
            if value is None:
                continue
            try:
                stops[axis.key] = None if value.mark is None else axis.scale.stop_of(value.mark)
            except NoSuchLabel as refusal:
                self.queries.append(Query(*value.place, value.read, str(refusal), value.person))
        return stops

    def _version(
        self, model_name: str | None, kind: str | None, wanted: Mapping[str, Accepted]
    ) -> tuple[ModelVersion | None, str]:
        """For which model a setting is kept: the one named or chosen, else what the taker says.

        Marks are those of a model that is named or chosen, and of no other.
        """
        named = {version.model.name.casefold(): version for version in self.versions}
        meant = (model_name or self.chosen.get(kind or "", "")).casefold()
        if meant in named:
            return named[meant], ""
        has_marks = any(value.mark is not None for value in wanted.values())
        if has_marks:
            told = (
                f"the model {quoted(model_name)} is not known"
                if model_name
                else "no model is named"
            )
            return None, f"marks are given and {told}: ask on which model, or for centimetres"
        if kind not in KINDS:
            return None, "nothing tells on which apparatus: choose it for the columns"
        try:
            return self.taker.model_of(kind, self.versions, model_name or ""), ""
        except SettingsDeskError as refusal:
            return None, str(refusal)


def _accepts_mm(
    found: PersonFound, model_name: str | None, kind: str | None, axis: str
) -> int | None:
    """What the list says of an axis, or else of every axis; it may name the kind or not."""
    of_axis = ((model_name, at_kind, at) for at in (axis, EVERY_AXIS) for at_kind in (kind, None))
    return next((found.accepts_mm[at] for at in of_axis if at in found.accepts_mm), None)


def _once_a_model(settings: tuple[ListedSetting, ...]) -> tuple[ListedSetting, ...]:
    """The settings, of which none is taken where two of them are for one model and purpose."""
    times = Counter(
        (setting.model.id, setting.purpose) for setting in settings if setting.model is not None
    )
    return tuple(
        replace(setting, setting=None, why_not=MODEL_TWICE)
        if setting.model is not None and times[setting.model.id, setting.purpose] > 1
        else setting
        for setting in settings
    )


SOMEBODY_NEW = "new"
"""The answer that a name is nobody's who is known."""
MAY_BE = "{name} may be {listed}: say who is meant, or write the whole name"
SAID_NOT_COMING = "you said so at the remark"
NAMES_OPEN = "nobody has said which of the two names comes first"
NAME_WHOLE = "where one name ends cannot be told: write the family name, a comma and the given name"
BOTH_NAMES = "somebody new needs a family name and a given name: write the one that is missing"
OTHER_GROUP = "row {row} is of the same athlete in another group: leave one of the two groups"
TWICE = "more than one line fits this athlete: tell them apart, or leave one line"

MODEL_TWICE = "the list says more than one thing of this model: leave the one that holds"


class SeveralOfThatName(SettingsDeskError):
    """A line could be about more than one athlete."""

    def __init__(self, person: Person, told_apart_by: str) -> None:
        self.person = person
        self.told_apart_by = told_apart_by

    def __str__(self) -> str:
        return (
            f"several are called {self.person.family_name}, {self.person.given_name}: tell them"
            f" apart by their {self.told_apart_by}"
        )


class NamesUndecided(SettingsDeskError):
    """A list was to be taken whose names nobody can tell apart."""

    sentence = (
        "One column holds both names: say which of them comes first, the family name or the"
        " given name, because cards show no family name"
    )
