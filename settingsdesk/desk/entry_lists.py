"""A club's list of entries: looked at as a whole, corrected where a person has to, then taken.

Nothing is kept before somebody has seen what it comes to. What is taken is what the preview took;
each cell that was queried stays a line for the host to settle with the club.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy.orm import Session

from settingsdesk.desk import meets as desk_meets
from settingsdesk.desk import models as desk_models
from settingsdesk.desk import settings as desk_settings
from settingsdesk.desk.athletes import Person
from settingsdesk.desk.meets import Entrant, Meet
from settingsdesk.desk.models import ModelVersion
from settingsdesk.desk.wishes import Wish, setting_wished
from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.domain.kinds import KINDS
from settingsdesk.domain.settings import Setting
from settingsdesk.sheets.lists.preview import Accepted, ListPreview, Mapped, PersonFound
from settingsdesk.sheets.lists.reading import layout_key, read_lists
from settingsdesk.store import list_mappings as kept_mappings
from settingsdesk.store.base import folded, utc_now


@dataclass(frozen=True, slots=True)
class ListedSetting:
    """What a list says of one athlete on one model; ``why_not`` is empty where it is whole."""

    model: ModelVersion | None
    model_name: str
    setting: Setting | None
    as_read: Mapping[str, str]
    why_not: str


@dataclass(frozen=True, slots=True)
class ListedPerson:
    """One athlete of a list: who it is, whether they are entered already, and their settings."""

    person: Person
    club: str
    start_number: str
    division: str
    raise_request: str
    known: Entrant | None
    settings: tuple[ListedSetting, ...]
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """A list as it would be taken; ``mapped`` is what somebody said of its columns, then or now."""

    preview: ListPreview
    mapped: Mapped
    key: str
    people: tuple[ListedPerson, ...]

    @property
    def names_open(self) -> bool:
        """Whether somebody has to say which of two names comes first."""
        return any(one.why_not for one in self.people)

    @property
    def ready(self) -> bool:
        """Whether it can be taken as it is."""
        return bool(self.people) and not self.names_open

    @property
    def fingerprint(self) -> str:
        """The same as long as taking it would do the same."""
        told = [(one.person, one.club, one.start_number, one.settings) for one in self.people]
        return sha256(repr(told).encode()).hexdigest()


def look(
    session: Session,
    meet_id: int,
    content: bytes,
    file_name: str,
    sent_by: str,
    accepts_mm: int = 0,
) -> Look:
    """What taking a list would do, read as somebody corrected lists of its layout before.

    ``sent_by`` is the club where the list names none, ``accepts_mm`` the deviation that is
    accepted where it states none. Raises ``FileRefused``.
    """
    meet = desk_meets.meet(session, meet_id)
    models = desk_models.model_kinds(session)
    plain = read_lists(content, file_name, models)
    key = layout_key(plain.tables)
    row = kept_mappings.find(session, sent_by, key)
    mapped: Mapped = row.mapping if row else {}
    preview = read_lists(content, file_name, models, mapped) if mapped else plain
    people = tuple(_people(session, meet, preview, sent_by, accepts_mm))
    return Look(preview, mapped, key, people)


def remember(session: Session, by: str, sent_by: str, key: str, mapped: Mapped) -> None:
    """Keep how that club's lists of that layout are to be read, now and the next time."""
    row = kept_mappings.find(session, sent_by, key)
    if row is None:
        row = kept_mappings.ListMapping(sent_by=sent_by, layout_key=key)
        session.add(row)
    row.mapping = {place: dict(told) for place, told in mapped.items()}
    row.kept_at, row.kept_by = utc_now(), by
    session.flush()


def take(session: Session, by: str, meet_id: int, seen: Look) -> tuple[int, int]:
    """Enter everybody and keep their settings; how many were entered, and settings kept.

    Whoever is entered already is not entered twice: a setting that differs is a new version.
    ``NamesUndecided`` where nobody has said which of two names comes first.
    """
    if not seen.ready:
        raise NamesUndecided
    entered = kept = 0
    for one in seen.people:
        entrant = one.known
        if entrant is None:
            entrant = desk_meets.enter_guest(
                session, by, meet_id, one.person, one.club, one.start_number, one.division
            )
            entered += 1
        for listed in one.settings:
            if listed.setting is None or listed.model is None:
                continue
            before = desk_settings.latest(session, entrant.member.id, listed.model.id)
            after = desk_settings.keep_setting(
                session,
                by,
                entrant.member.id,
                listed.model.id,
                listed.setting,
                "From the club's list",
                listed.as_read,
            )
            kept += before is None or after.version != before.version
    return entered, kept


def _people(
    session: Session, meet: Meet, preview: ListPreview, sent_by: str, accepts_mm: int
) -> Iterator[ListedPerson]:
    entrants = desk_meets.entrants(session, meet.id)
    by_person: dict[int, list[Accepted]] = {}
    for one in preview.accepted:
        by_person.setdefault(one.person, []).append(one)
    versions = desk_models.all_models(session)
    for place, found in enumerate(preview.persons):
        club = found.club or sent_by
        values = by_person.get(place, [])
        settings = tuple(_settings(meet, versions, found, values, accepts_mm))
        try:
            person = Person(found.family_name, found.given_name)
            why_not = ""
        except SettingsDeskError as refusal:
            person, why_not = Person(found.shown[:80] or "?", ""), str(refusal)
        if not found.is_split:
            why_not = NAMES_OPEN
        yield ListedPerson(
            person=person,
            club=club,
            start_number=found.start_number[:12],
            division=found.group[:40],
            raise_request=found.raise_request,
            known=_known(entrants, person, club, found.start_number),
            settings=settings,
            why_not=why_not,
        )


def _known(
    entrants: Sequence[Entrant], person: Person, club: str, start_number: str
) -> Entrant | None:
    """The entry that a line of a list is about; twins are told apart by their start numbers."""
    alike = [
        one
        for one in entrants
        if folded(one.member.listed_name) == folded(f"{person.family_name}, {person.given_name}")
        and folded(one.from_club) == folded(club)
    ]
    if start_number:
        numbered = [one for one in alike if one.start_number == start_number]
        alike = numbered or [one for one in alike if not one.start_number]
    return alike[0] if len(alike) == 1 else None


def _settings(
    meet: Meet,
    versions: Sequence[ModelVersion],
    found: PersonFound,
    values: Sequence[Accepted],
    accepts_mm: int,
) -> Iterator[ListedSetting]:
    groups: dict[tuple[str | None, str | None], dict[str, Accepted]] = {}
    for one in values:
        groups.setdefault((one.model, one.kind), {})[one.axis] = one
    for (model_name, kind), wanted in groups.items():
        version, why_not = _version(meet, versions, model_name, kind, wanted)
        if version is None:
            yield ListedSetting(None, model_name or "", None, {}, why_not)
            continue
        accepts = {
            axis.key: found.accepts_mm.get((model_name, kind, axis.key), accepts_mm)
            for axis in version.model.kind.axes
        }
        yield _setting(version, wanted, accepts)


def _setting(
    version: ModelVersion, wanted: Mapping[str, Accepted], accepts_mm: Mapping[str, int]
) -> ListedSetting:
    model = version.model
    lacking = [axis for axis in model.kind.axes if axis.key not in wanted]
    as_read = {key: f"{one.read} ({one.converted})" for key, one in wanted.items()}
    if lacking:
        names = ", ".join(axis.in_a_sentence for axis in lacking)
        return ListedSetting(version, model.name, None, as_read, f"{names} lacking")
    try:
        wishes = {
            axis.key: Wish(
                wanted[axis.key].value_mm,
                _stop(axis.scale.stop_of, wanted[axis.key].mark),
                accepts_mm[axis.key],
            )
            for axis in model.axes
        }
        setting = setting_wished(model, wishes)
    except SettingsDeskError as refusal:
        return ListedSetting(version, model.name, None, as_read, str(refusal))
    return ListedSetting(version, model.name, setting, as_read, "")


def _stop(stop_of: Callable[[str], int], mark: str | None) -> int | None:
    return None if mark is None else stop_of(mark)


def _version(
    meet: Meet,
    versions: Sequence[ModelVersion],
    model_name: str | None,
    kind: str | None,
    wanted: Mapping[str, Accepted],
) -> tuple[ModelVersion | None, str]:
    """For which model a setting is kept: the one that is named, else that of the hall's apparatus.

    Marks are those of a model that is named, and of no other.
    """
    named = {version.model.name.casefold(): version for version in versions}
    if model_name and model_name.casefold() in named:
        return named[model_name.casefold()], ""
    has_marks = any(one.mark is not None for one in wanted.values())
    if has_marks:
        told = f"the model {model_name!r} is not known here" if model_name else "no model is named"
        return None, f"marks are given and {told}: ask on which model, or for centimetres"
    if kind not in KINDS:
        return None, "nothing tells on which apparatus: choose it for the columns"
    there = [one.piece.model_id for one in meet.pieces if one.piece.model.kind.key == kind]
    by_id = {version.id: version for version in versions}
    own = [version.id for version in versions if version.model.kind.key == kind]
    for number in (*there, *own):
        if number in by_id:
            return by_id[number], ""
    return None, f"no model of {KINDS[kind].name.lower()} is known here"


NAMES_OPEN = "nobody has said which of the two names comes first"


class NamesUndecided(SettingsDeskError):
    """A list was to be taken whose names nobody can tell apart."""

    def __str__(self) -> str:
        return (
            "One column holds both names: say which of them comes first, the family name or the"
            " given name, because cards show no family name"
        )
