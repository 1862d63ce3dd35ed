"""What a coach's list says of each athlete, made ready to be taken: who it is, and the settings."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import LONGEST_NAME, Person
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.typed_settings import Wish, setting_wished
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.names import folded
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.sheets.lists.preview import EVERY_AXIS, Accepted, ListPreview, PersonFound
from settingsdesk.store.work import ClubSession


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
    kind: str | None = None
    is_named: bool = True
    """Whether the list itself says which model is meant, by its name."""

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

    ``known`` is the athlete's number. Where ``why_not`` says something, nothing of the line is
    taken; ``name_open`` where that can be settled by saying which of two names comes first.
    """

    person: Person
    club: str
    start_number: str
    group: str
    raise_request: str
    known: int | None
    settings: tuple[ListedSetting, ...]
    why_not: str = ""
    name_open: bool = False
    kept_group: str | None = None
    """The group that stays of whoever is known, where the list says another."""
    is_ticked: bool = True
    """Whether they are to be taken, as far as whoever looks at the list is concerned."""


class Taker(Protocol):
    """Who is there already, on what apparatus a list is meant, and how somebody new comes in."""

    reason: str
    """Why a setting has another version now."""

    def known(self, person: Person, club: str, start_number: str, group: str) -> int | None:
        """The athlete that a line is about, None for a new one.

        Raises ``SeveralOfThatName``, ``HasLeft`` or ``NamesSwapped``.
        """

    def club_alike(self, name: str) -> str:
        """A club that has come in already under a name a little different; empty for none."""

    def not_listed(self, people: Sequence[ListedPerson]) -> Iterable[str]:
        """Whoever is there for the clubs of a list, and does not stand on it."""

    def group_kept(self, athlete_id: int) -> str | None:
        """The group of somebody known that a list does not change; None where there is none."""

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
    sent_by: str,
    accepts_mm: int,
    chosen: Mapping[str, str],
) -> list[ListedPerson]:
    """Everybody on a list, in its order.

    ``versions`` are the models that are known, ``sent_by`` the club where the list names none,
    ``accepts_mm`` the deviation that is accepted where neither the list nor the setting before
    states one, ``chosen`` the model by its name for kinds of apparatus of which the list names
    none.
    """
    by_person: dict[int, list[Accepted]] = {}
    for one in preview.accepted:
        by_person.setdefault(one.person, []).append(one)
    who = [_who(taker, found, found.club or sent_by) for found in preview.persons]
    times = Counter(one.known for one in who if one.known is not None)
    present = desk_settings.latest_by_model(session, times, versions)
    reading = _Reading(taker, versions, present, accepts_mm, chosen)
    people = [
        reading.listed(found, one, found.club or sent_by, by_person.get(place, []))
        for place, (found, one) in enumerate(zip(preview.persons, who, strict=True))
    ]
    return [
        replace(one, why_not=TWICE) if one.known is not None and times[one.known] > 1 else one
        for one in people
    ]


@dataclass(frozen=True, slots=True)
class _Who:
    """Whom a list names: somebody new, somebody ``known`` by number, or ``why_not``."""

    person: Person
    known: int | None
    why_not: str


def _who(taker: Taker, found: PersonFound, club: str) -> _Who:
    person = Person(found.shown[:LONGEST_NAME] or "?", "")
    if not found.is_split:
        return _Who(person, None, NAME_WHOLE if found.names_first else NAMES_OPEN)
    try:
        person = Person(found.family_name, found.given_name, group_name=found.group)
        return _Who(person, taker.known(person, club, found.start_number, found.group), "")
    except SettingsDeskError as refusal:
        return _Who(person, None, str(refusal))


@dataclass(frozen=True, slots=True)
class _Reading:
    """One list being made ready for one taker; ``present`` goes by model and athlete."""

    taker: Taker
    versions: Sequence[ModelVersion]
    present: Mapping[int, Mapping[int, SettingVersion]]
    accepts_mm: int
    chosen: Mapping[str, str]

    def listed(
        self, found: PersonFound, who: _Who, club: str, values: Sequence[Accepted]
    ) -> ListedPerson:
        known = who.known
        return ListedPerson(
            person=who.person,
            club=club,
            start_number=found.start_number,
            group=found.group,
            raise_request=found.raise_request,
            known=known,
            settings=_once_a_model(tuple(self._settings(found, known, values))),
            why_not=who.why_not,
            name_open=not found.is_split and not found.names_first,
            kept_group=self._kept_group(known, found.group),
        )

    def _kept_group(self, known: int | None, group: str) -> str | None:
        kept = self.taker.group_kept(known) if known is not None and group else None
        return kept if kept is not None and folded(kept) != folded(group) else None

    def _settings(
        self, found: PersonFound, known: int | None, values: Sequence[Accepted]
    ) -> Iterator[ListedSetting]:
        groups: dict[tuple[str | None, str | None], dict[str, Accepted]] = {}
        for one in values:
            groups.setdefault((one.model, one.kind), {})[one.axis] = one
        for (model_name, kind), wanted in groups.items():
            version, why_not = self._version(model_name, kind, wanted)
            if version is None:
                named = bool(model_name)
                yield ListedSetting(
                    None, model_name or "", None, {}, why_not, kind=kind, is_named=named
                )
                continue
            stated = {
                axis.key: _accepts_mm(found, model_name, kind, axis.key)
                for axis in version.model.kind.axes
            }
            found_setting = self._setting(version, wanted, stated, known)
            yield replace(found_setting, kind=version.model.kind.key, is_named=bool(model_name))

    def _setting(
        self,
        version: ModelVersion,
        wanted: Mapping[str, Accepted],
        stated_mm: Mapping[str, int | None],
        known: int | None,
    ) -> ListedSetting:
        """What a list leaves out of deviation and weight stays as it is kept."""
        model = version.model
        as_read = {key: f"{one.read} ({one.converted})" for key, one in wanted.items()}
        present = self.present[version.id].get(known) if known is not None else None
        listed = ListedSetting(
            version,
            model.name,
            None,
            as_read,
            present=present,
            marks={key: one.mark for key, one in wanted.items() if one.mark is not None},
        )
        lacking = [axis for axis in model.kind.axes if axis.key not in wanted]
        if lacking:
            names = ", ".join(axis.in_a_sentence for axis in lacking)
            return replace(listed, why_not=f"{names} lacking")
        wishes = {}
        try:
            for axis in model.axes:
                read = wanted[axis.key]
                before = present.setting.axes[axis.key] if present else None
                accepts_mm = stated_mm[axis.key]
                if accepts_mm is None:
                    accepts_mm = before.accepts_mm if before else self.accepts_mm
                stop = None if read.mark is None else axis.scale.stop_of(read.mark)
                weight = before.weight if before else 1
                wishes[axis.key] = Wish(read.value_mm, stop, accepts_mm, weight)
            return replace(listed, setting=setting_wished(model, wishes))
        except SettingsDeskError as refusal:
            return replace(listed, why_not=str(refusal))

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
        has_marks = any(one.mark is not None for one in wanted.values())
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
    """The settings, of which none is taken where two of them are for the same model."""
    times = Counter(one.model.id for one in settings if one.model is not None)
    return tuple(
        replace(one, setting=None, why_not=MODEL_TWICE)
        if one.model is not None and times[one.model.id] > 1
        else one
        for one in settings
    )


NAMES_OPEN = "nobody has said which of the two names comes first"
NAME_WHOLE = "where one name ends cannot be told: write the family name, a comma and the given name"
TWICE = "more than one line fits this athlete: tell them apart, or leave one line"

MODEL_TWICE = "the list says more than one thing of this model: leave the one that holds"


class NamesUndecided(SettingsDeskError):
    """A list was to be taken whose names nobody can tell apart."""

    def __str__(self) -> str:
        return (
            "One column holds both names: say which of them comes first, the family name or the"
            " given name, because cards show no family name"
        )
