"""Athletes handed over to the host of a meet on the same desk, without a file in between.

What is handed over is a list as the guest would send it as a file, with settings only for the
models that stand at the meet: it is written in the guest's unit of work, and read, settled and
entered in the host's as every list is. No unit of work is about two clubs.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from operator import attrgetter

from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus_sheets import name_from_sheet
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.destinations import GuestsEntries
from settingsdesk.desk.lists.way_out import row_of
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.guest_clubs import Away
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad.athletes import Member, Person, member_of
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import Kind
from settingsdesk.domain.base.names import folded
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.squad_writing import SquadRow, squad_csv
from settingsdesk.store import guest_clubs as kept
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.base import utc_now
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.guest_clubs import HandedOver, MeetDelivery, MeetGuest
from settingsdesk.store.settings import ValueOfSquad
from settingsdesk.store.work import ClubSession, Store

LIST_NAME = "handed-over.csv"
"""What the list would be called as a file."""


@dataclass(frozen=True, slots=True)
class Handed:
    """One athlete who was handed over; ``withdrawn_at`` where they do not come."""

    member: Member
    entry: int
    sent_at: datetime
    withdrawn_at: datetime | None
    after_setting: int
    """Settings with greater numbers were kept after what was sent."""


@dataclass(frozen=True, slots=True)
class AtHost:
    """What the host announces to its guests: the meet, and what stands in the hall."""

    facts: MeetFacts
    entered_as: str
    apparatus: tuple[tuple[str, str, str], ...]
    """Each with its model's name, and the kind of that."""

    @property
    def kinds(self) -> frozenset[str]:
        """The kinds of apparatus that settings are sent for."""
        return frozenset(kind for _, _, kind in self.apparatus)

    def models_of(self, kinds: Collection[str]) -> list[str]:
        """The names of the models of those kinds that stand there, each once."""
        return list(dict.fromkeys(model for _, model, kind in self.apparatus if kind in kinds))


@dataclass(frozen=True, slots=True)
class Preview:
    """What handing over would come to at the host, before it is done.

    ``left`` is what the host would have to settle; ``to_add`` are models there for which somebody
    has no setting but has one for another model of that kind. What else the host has stays its own.
    """

    look: Look
    left: tuple[Line, ...]
    fingerprint: str
    to_add: tuple[str, ...]
    elsewhere: Mapping[tuple[str, str], Sequence[ApparatusModel]]

    @property
    def kinds(self) -> list[Kind]:
        """The kinds of apparatus of the settings that would be entered, each once."""
        listed = (one.setting for person in self.look.people for one in person.settings)
        return list({kept.kind.key: kept.kind for kept in listed if kept is not None}.values())

    def not_sent(self, person: Person) -> list[str]:
        """The models of somebody's settings that stay here, as they do not stand there."""
        name = _name(person.family_name, person.given_name)
        return [model.name for model in self.elsewhere.get(name, ())]


@dataclass(frozen=True, slots=True)
class Result:
    """What became of it: athletes that came new, settings, places left open.

    ``not_sent`` is how many settings stayed here, as their models do not stand there.
    """

    entered: int
    settings: int
    left: tuple[Line, ...]
    not_sent: int


def handed(session: ClubSession, meet_away_id: int) -> list[Handed]:
    """Whoever was handed over for it, by name."""
    return [
        Handed(
            *(member_of(row.athlete), row.entry, row.sent_at, row.withdrawn_at),
            row.after_setting,
        )
        for row in kept.handed_over(session, meet_away_id)
    ]


def changed_since(
    session: ClubSession, there: Away, hall: AtHost, sent: Iterable[Handed]
) -> frozenset[int]:
    """Who of them has a setting for what stands there that is newer than what the host has."""
    comes = {one.member.id: one.after_setting for one in sent if not one.withdrawn_at}
    newest = kept_settings.last_of_each_model(session, comes)
    ours = {name: (model, kind) for model, name, kind, _, _ in newest}
    stand_there = _names_there(hall, there.host_name, ours)
    return frozenset(
        number
        for model, _, _, number, last in newest
        if number is not None and last is not None and model in stand_there and last > comes[number]
    )


def at_host(store: Store, who: SignedIn, there: Away) -> AtHost:
    """The meet as its host announces it now; ``NoLongerOpen``."""
    with _at_host(store, who, there, writes=False) as (session, row):
        facts = desk_meets.announced(session, row.meet_id)
        return AtHost(facts, row.entered_as, tuple(kept.apparatus_at(session, row.meet_id)))


def preview(
    store: Store, who: SignedIn, there: Away, hall: AtHost, athlete_ids: Collection[int]
) -> Preview:
    """What handing over those athletes, and whoever was handed over before, would come to."""
    listed = _list(store, who, there, hall, athlete_ids)
    with _at_host(store, who, there, writes=False) as (session, row):
        taker = GuestsEntries(session, row.meet_id, listed.untried)
        seen = coach_lists.look(session, taker, listed.content, LIST_NAME, row.entered_as)
    kinds = {model.kind.key for models in listed.elsewhere.values() for model in models}
    return Preview(
        seen,
        tuple(coach_lists.left_out(seen)),
        seen.fingerprint,
        tuple(hall.models_of(kinds)),
        listed.elsewhere,
    )


def hand_over(
    store: Store,
    who: SignedIn,
    there: Away,
    hall: AtHost,
    athlete_ids: Collection[int],
    fingerprint: str,
) -> Result:
    """Enter them at the host, if it would still do just what was shown: all of it or nothing.

    What could not be read stays a line for the host to settle, as of every list. Whoever was
    handed over before is sent again with it. ``ChangedSince``, ``NobodyReady``, ``NoLongerOpen``.
    """
    listed = _list(store, who, there, hall, athlete_ids)
    with _at_host(store, who, there, writes=True) as (session, row):
        taker = GuestsEntries(session, row.meet_id, listed.untried)
        seen = coach_lists.look(session, taker, listed.content, LIST_NAME, row.entered_as)
        if seen.fingerprint != fingerprint:
            raise ChangedSince
        if not seen.ready:
            raise NobodyReady
        entered, settings = coach_lists.take(session, taker, seen)
        left = tuple(coach_lists.left_out(seen))
        session.add(
            MeetDelivery(
                meet_guest_id=row.id,
                recorded_by=session.by,
                entered=entered,
                settings=settings,
                left_out=len(left),
            )
        )
        numbers = _entries(session, row, seen)
        for entry in listed.back & set(numbers.values()):
            desk_entries.enter_again(session, entry)
    _keep(store, who, there, listed, numbers)
    return Result(entered, settings, left, sum(map(len, listed.elsewhere.values())))


def withdraw(store: Store, who: SignedIn, there: Away, athlete_id: int) -> str:
    """Say that an athlete does not come; the name. ``NotInThisClub``, ``NoLongerOpen``."""
    with store.work(who.club_id, writes=False) as session:
        one = next((one for one in handed(session, there.id) if one.member.id == athlete_id), None)
    if one is None:
        raise NotInThisClub(HandedOver.spoken(), athlete_id)
    with _at_host(store, who, there, writes=True) as (session, row):
        for number, club, _, _ in kept.entries_of(session, row.meet_id):
            if number == one.entry and folded(club) == folded(row.entered_as):
                desk_entries.withdraw_entry(session, one.entry)
    with store.work(who.club_id, by=who.shown_name, account=who.account_id, writes=True) as session:
        for row_here in kept.handed_over(session, there.id):
            if row_here.athlete_id == athlete_id:
                row_here.withdrawn_at = utc_now()
    return one.member.listed_name


@contextmanager
def _at_host(
    store: Store, who: SignedIn, there: Away, *, writes: bool
) -> Iterator[tuple[ClubSession, MeetGuest]]:
    """The host's unit of work, and the row by which this club is its guest; ``NoLongerOpen``."""
    by = f"{who.shown_name}, {who.club_name}"
    with store.work(there.host_id, by=by, account=who.account_id, writes=writes) as session:
        row, closed_at = kept.with_closing(session, there.guest)
        if closed_at is not None or row.ended_at is not None or row.guest_club != who.club_id:
            raise NoLongerOpen(there.meet_name, there.host_name)
        yield session, row


@dataclass(frozen=True, slots=True)
class _List:
    """A list as it would be sent as a file; who is in it, by name, and whose entries come again.

    It says what was wanted ``at`` that moment, by settings up to the one of that number,
    ``after_setting``. ``elsewhere`` are models on which somebody has a setting and which do not
    stand there; ``untried`` names and models, as the host calls them, of settings that somebody has
    not tried.
    """

    at: datetime
    after_setting: int
    content: bytes
    sent: Mapping[tuple[str, str], int]
    back: frozenset[int]
    elsewhere: Mapping[tuple[str, str], Sequence[ApparatusModel]]
    untried: frozenset[tuple[str, str, str]]


def _list(
    store: Store, who: SignedIn, there: Away, hall: AtHost, athlete_ids: Collection[int]
) -> _List:
    """The list of those athletes, and of whoever was sent before and comes.

    ``OfOneName`` where two of them could not be told apart.
    """
    at = utc_now()
    with store.work(who.club_id, writes=False) as session:
        before = kept.handed_over(session, there.id)
        coming = {row.athlete_id for row in before if not row.withdrawn_at} | set(athlete_ids)
        versions = [
            version
            for version in desk_models.all_models(session)
            if version.model.kind.key in hall.kinds
        ]
        values = list(kept_settings.values_of_squad(session, coming, [USUAL]))
    sent = _told_apart(values)
    models = _models_there(hall, there.host_name, versions)
    left = _elsewhere(values, models, {version.id: version.model for version in versions})
    back = {row.entry for row in before if row.withdrawn_at and row.athlete_id in coming}
    content = squad_csv(_rows(values, models), squad_columns().axes)
    after_setting = max((value.setting_id or 0 for value in values), default=0)
    untried = {
        (*_name(one.family_name, one.given_name), models[one.model_id].name)
        for one in values
        if one.is_untried and one.model_id in models
    }
    return _List(at, after_setting, content, sent, frozenset(back), left, frozenset(untried))


def _told_apart(values: Iterable[ValueOfSquad]) -> dict[tuple[str, str], int]:
    """The athletes by their names, as a list tells them apart; ``OfOneName`` where it could not."""
    ids: dict[tuple[str, str], int] = {}
    for value in values:
        name = _name(value.family_name, value.given_name)
        if ids.setdefault(name, value.athlete_id) != value.athlete_id:
            raise OfOneName(value.family_name, value.given_name)
    return ids


def _models_there(
    hall: AtHost, host_name: str, versions: Collection[ModelVersion]
) -> dict[int, ApparatusModel]:
    """Which of this club's models stand there, by number, each under the name that the host has."""
    ours = {version.model.name: (version.id, version.model.kind.key) for version in versions}
    names = _names_there(hall, host_name, ours)
    return {
        version.id: replace(version.model, name=names[version.id])
        for version in versions
        if version.id in names
    }


def _names_there(
    hall: AtHost, host_name: str, ours: Mapping[str, tuple[int, str]]
) -> dict[int, str]:
    """The host's names of this club's models that stand there, by this club's numbers.

    ``ours`` are all models of the club, number and kind by name. One that came by the host's
    apparatus sheet may be kept under a longer name, where the plain one means something else here:
    then it is that one.
    """
    plain = KnownModels({name: kind for name, (_, kind) in ours.items()})
    halls = [name for name in (hall.facts.hall, hall.facts.name, host_name) if name]
    found: dict[int, str] = {}
    for _, name, kind in hall.apparatus:
        from_sheet = [taken for at in halls if (taken := name_from_sheet(name, at)) in ours]
        known = from_sheet[0] if from_sheet else plain.named(name)
        if known is not None and ours[known][1] == kind:
            found[ours[known][0]] = name
    return found


def _rows(
    values: Iterable[ValueOfSquad], there: Mapping[int, ApparatusModel]
) -> Iterator[SquadRow]:
    """Names, and the settings for what stands there; no group, which is this club's own."""
    for _, of_athlete in groupby(values, key=attrgetter("athlete_id")):
        told = list(of_athlete)
        by_model: dict[int, list[ValueOfSquad]] = {}
        for value in told:
            if value.model_id in there:
                by_model.setdefault(value.model_id, []).append(value)
        for model_id, wanted in by_model.items():
            yield replace(row_of(wanted, there[model_id]), group="")
        if not by_model:
            yield replace(row_of(told, None), group="")


def _elsewhere(
    values: Iterable[ValueOfSquad],
    there: Mapping[int, ApparatusModel],
    of_kinds: Mapping[int, ApparatusModel],
) -> dict[tuple[str, str], list[ApparatusModel]]:
    """Models on which somebody has a setting, where they have none for those of its kind there."""
    found: dict[tuple[str, str], list[ApparatusModel]] = {}
    for _, of_athlete in groupby(values, key=attrgetter("athlete_id")):
        told = list(of_athlete)
        theirs = dict.fromkeys(one.model_id for one in told if one.model_id in of_kinds)
        sent = {there[number].kind for number in theirs if number in there}
        left = [of_kinds[number] for number in theirs if of_kinds[number].kind not in sent]
        if left:
            found[_name(told[0].family_name, told[0].given_name)] = left
    return found


def _entries(session: ClubSession, row: MeetGuest, seen: Look) -> dict[tuple[str, str], int]:
    """The entries of whoever was taken, by name."""
    taken = {_name(one.person.family_name, one.person.given_name) for one in seen.taken}
    return {
        name: number
        for number, club, family_name, given_name in kept.entries_of(session, row.meet_id)
        if folded(club) == folded(row.entered_as)
        and (name := _name(family_name, given_name)) in taken
    }


def _keep(
    store: Store,
    who: SignedIn,
    there: Away,
    listed: _List,
    numbers: Mapping[tuple[str, str], int],
) -> None:
    """Note at the guest who is entered at the host; a press that was cut off is made good again."""
    with store.work(who.club_id, by=who.shown_name, account=who.account_id, writes=True) as session:
        known = {row.athlete_id: row for row in kept.handed_over(session, there.id)}
        for name, entry in numbers.items():
            athlete_id = listed.sent[name]
            row = known.get(athlete_id)
            if row is None:
                row = HandedOver(meet_away_id=there.id, athlete_id=athlete_id)
                session.add(row)
            row.entry, row.sent_at, row.withdrawn_at = entry, listed.at, None
            row.after_setting = listed.after_setting


def _name(family_name: str, given_name: str) -> tuple[str, str]:
    return folded(family_name), folded(given_name)


class NoLongerOpen(SettingsDeskError):
    """The host has ended it, or its club is closed (a page answers 410)."""

    def __init__(self, meet: str, host: str) -> None:
        self.meet, self.host = meet, host

    def __str__(self) -> str:
        return (
            f"{self.host} takes no more entries for {self.meet} from here. Nothing was sent: talk"
            " to them, or send a list"
        )


class ChangedSince(SettingsDeskError):
    """What was shown is not what it would do now."""

    sentence = "Nothing was sent: something has changed since. Check it again"


class NobodyReady(SettingsDeskError):
    """Of nobody who was chosen anything can be entered."""

    sentence = "None of these can be entered: read why beside each, and put it right first"


class OfOneName(SettingsDeskError):
    """Two athletes of one name were to be handed over: the host could not tell whose is what."""

    def __init__(self, family_name: str, given_name: str) -> None:
        self.family_name, self.given_name = family_name, given_name

    def __str__(self) -> str:
        return (
            f"Several of these are called {self.family_name}, {self.given_name}, and the host could"
            " not tell whose setting is whose. Choose one of them; the host enters the other"
        )
