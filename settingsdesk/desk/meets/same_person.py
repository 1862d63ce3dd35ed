"""Two entries of one athlete become one, with both histories.

The entry that is taken in keeps its settings, cards and past rotations, which are never changed;
all that is still to come goes over to the one that stays. Where both have something, the coach
says which counts.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256

from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.meets.raise_requests import steps_that_count
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import crew_notes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.crew_notes import OfModel
from settingsdesk.desk.squad.setting_versions import told
from settingsdesk.desk.squad.settings import Latest, SettingVersion
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.names import bare
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import everybody_in, from_data
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import card_remarks as kept_card_remarks
from settingsdesk.store import cards as kept_cards
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import growth as kept_growth
from settingsdesk.store import left_out as kept_left_out
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

PERSON = {
    "given_name": "Given name",
    "family_name": "Family name",
    "printed_name": "Printed name",
    "group_name": "Group",
    "start_number": "Start number",
}
OF_A_RAISE = (
    "apparatus_id",
    "step",
    "raise_mm",
    "told_by",
    "told_on",
    "remark",
    "recorded_at",
    "recorded_by",
    "after_setting",
)
OF_A_GROWTH = ("number", "recorded_at", "recorded_by")
MOST_LIKELY = 30
"""So many who may be the same person are offered before anybody is looked for."""


@dataclass(frozen=True, slots=True)
class Both:
    """One thing of the two entries beside each other, in words; empty where one has none of it.

    ``key`` names what the coach has to choose, where both have it and they differ. ``since`` says
    then of each how it is known, where that helps to choose.
    """

    about: str
    stays: str
    taken: str
    key: str = ""
    since: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two entries of one athlete: the one that stays, the one to be taken in, what each has.

    ``seen`` changes with whatever is told here, so that nothing is united that was not looked at.
    """

    stays: Member
    taken: Member
    lines: tuple[Both, ...]
    settings: Latest = field(repr=False)
    entries: dict[int, dict[int, kept_meets.Entry]] = field(repr=False)

    @property
    def questions(self) -> tuple[Both, ...]:
        """What the coach has to choose."""
        return tuple(line for line in self.lines if line.key)

    @property
    def seen(self) -> str:
        """A word made of all that is told."""
        return sha256(repr(self).encode()).hexdigest()[:16]


def likely(session: ClubSession, athlete_id: int) -> list[Member]:
    """Who may be the same person: whoever shares a name with them, the most alike first."""
    person = desk_athletes.member(session, athlete_id).person
    words = f"{person.given_name} {person.family_name}".split()
    own = [bare(word) for word in words]
    return [
        other
        for other in found(session, athlete_id, words)
        if any(word in bare(f"{other.listed_name} {other.printed_name}") for word in own)
    ]


def found(session: ClubSession, athlete_id: int, words: Iterable[str]) -> list[Member]:
    """Other entries of the same list in whose name one of the words occurs; most words first."""
    row = kept_athletes.by_id(session, athlete_id)
    others = kept_athletes.alike(session, list(words), row.meet_id, MOST_LIKELY + 1)
    return [desk_athletes.member_of(other) for other in others if other.id != athlete_id]


def compare(session: ClubSession, stays_id: int, taken_id: int) -> Comparison:
    """What each of the two has, and where the coach has to choose.

    Raises ``TakenIn`` where one was taken in already, ``NotTwoEntries``, ``StaysHasLeft`` or
    ``AtTheBarsNow`` where they cannot become one.
    """
    stays = desk_athletes.member(session, stays_id)
    taken = desk_athletes.member(session, taken_id)
    _must_be_two_of_one_list(session, stays, taken)
    settings = _latest(session, [stays_id, taken_id])
    entries = _entries_of(session, [stays_id, taken_id])
    lines = (
        *_persons(stays, taken),
        *_settings(session, settings, stays_id, taken_id),
        *_notes(settings, stays_id, taken_id),
        *_entries(session, entries[stays_id], entries[taken_id]),
        *_records(session, stays_id, taken_id),
    )
    return Comparison(stays, taken, lines, settings, entries)


def unite(session: ClubSession, both: Comparison, takes: Mapping[str, bool], seen: str) -> Member:
    """Make the two one; ``takes`` says of each question whether the one taken in counts.

    ``both`` is how they compare in this unit of work. Raises ``ChangedSinceSeen`` where something
    is not as it was ``seen``, and ``NotChosen`` where a question is open; nothing is changed then.
    """
    stays_id, taken_id = both.stays.id, both.taken.id
    if both.seen != seen:
        raise ChangedSinceSeen
    for question in both.questions:
        if question.key not in takes:
            raise NotChosen(question.about)
    stays, taken = (kept_athletes.by_id(session, athlete_id) for athlete_id in (stays_id, taken_id))
    _take_person(stays, taken, takes)
    _take_settings(session, both, takes)
    _take_notes(session, both, takes)
    _take_entries(session, both, stays, takes)
    _take_places(session, stays_id, taken_id)
    _take_the_rest(session, stays, taken)
    session.flush()
    return desk_athletes.member_of(stays)


def _must_be_two_of_one_list(session: ClubSession, stays: Member, taken: Member) -> None:
    of_list = {kept_athletes.by_id(session, member.id).meet_id for member in (stays, taken)}
    if stays.id == taken.id or len(of_list) > 1:
        raise NotTwoEntries
    if stays.left_on is not None and taken.left_on is None:
        raise StaysHasLeft(stays.listed_name, taken.listed_name)
    must_not_be_at_the_bars(session, stays, taken)


def must_not_be_at_the_bars(session: ClubSession, *both: Member) -> None:
    """Nobody is who is listed for a rotation under way, or has joined its run: ``AtTheBarsNow``."""
    if (refusal := open_run_of(session, *both)) is not None:
        raise refusal


def open_run_of(session: ClubSession, *members: Member) -> "AtTheBarsNow | None":
    """The refusal of what must wait for a run with one of them that is still open, or None."""
    for run, there in at_the_bars_now(session):
        for member in members:
            if member.id in there:
                return AtTheBarsNow(member.listed_name, run.rotation.name, run.id)
    return None


def at_the_bars_now(session: ClubSession) -> Iterator[tuple[kept_runs.Run, set[int]]]:
    """The runs under way, each with everybody who is listed or has joined."""
    for run in kept_runs.under_way_whole(session):
        listed = {turn.athlete_id for turn in run.rotation.turns}
        joined = everybody_in(from_data(event.word, event.told) for event in run.events)
        yield run, listed | set(joined)


def _persons(stays: Member, taken: Member) -> Iterator[Both]:
    for column, about in PERSON.items():
        ours, theirs = (str(getattr(member.person, column)) for member in (stays, taken))
        if ours or theirs:
            yield Both(about, ours, theirs, column if ours and theirs and ours != theirs else "")


def _latest(session: ClubSession, athlete_ids: Sequence[int]) -> Latest:
    return desk_settings.latest_by_model(session, athlete_ids, desk_models.all_models(session))


def _settings(
    session: ClubSession,
    settings: Latest,
    stays_id: int,
    taken_id: int,
) -> Iterator[Both]:
    unit = Unit(kept_clubs.this_club(session).length_unit)
    for of, of_each in settings.items():
        ours, theirs = of_each.get(stays_id), of_each.get(taken_id)
        any_of_them = ours or theirs
        if any_of_them is None:
            continue
        differ = ours and theirs and ours.setting.axes != theirs.setting.axes
        yield Both(
            f"Setting for {any_of_them.wanted_for}",
            _setting_told(ours, unit),
            _setting_told(theirs, unit),
            _question(*of) if differ else "",
            (_since(ours), _since(theirs)),
        )


def _notes(settings: Latest, stays_id: int, taken_id: int) -> Iterator[Both]:
    """What the crew is told of each."""
    for model_id, of_each in _usual(settings):
        ours, theirs = (
            of_each[one].crew_note if one in of_each else "" for one in (stays_id, taken_id)
        )
        if ours or theirs:
            name = next(iter(of_each.values())).model_name
            differ = ours and theirs and ours != theirs
            key = f"note{model_id}" if differ else ""
            yield Both(f"Note for the crew, {name}", ours, theirs, key)


def _usual(settings: Latest) -> Iterator[tuple[int, Mapping[int, SettingVersion]]]:
    """The usual settings by the model's number: a note goes with a model, whatever it is for."""
    for (model_id, purpose), of_each in settings.items():
        if purpose is USUAL:
            yield model_id, of_each


def _question(model_id: int, purpose: Purpose) -> str:
    """By what it is asked which setting counts."""
    return f"model{model_id}" + ("" if purpose is USUAL else f"_{purpose}")


def _setting_told(version: SettingVersion | None, unit: Unit) -> str:
    if version is None:
        return ""
    axes = version.setting.kind.axes
    return "; ".join(f"{axis.name} {told(version.setting.axes[axis.key], unit)}" for axis in axes)


def _since(version: SettingVersion | None) -> str:
    if version is None:
        return ""
    kept_on = day_in_words(local_date(version.recorded_at))
    return f" (version {version.version}, {kept_on}, {version.recorded_by})"


def _entries(
    session: ClubSession,
    ours: Mapping[int, kept_meets.Entry],
    theirs: Mapping[int, kept_meets.Entry],
) -> Iterator[Both]:
    unit = Unit(kept_clubs.this_club(session).length_unit)
    for meet_id in dict.fromkeys([*ours, *theirs]):
        entry, other = (_entry_told(entries.get(meet_id), unit) for entries in (ours, theirs))
        name = kept_meets.by_id(session, meet_id).name
        differ = entry and other and entry != other
        yield Both(f"Entry for {name}", entry, other, f"entry{meet_id}" if differ else "")


def _entries_of(
    session: ClubSession, athlete_ids: Sequence[int]
) -> dict[int, dict[int, kept_meets.Entry]]:
    """The entries of each, by the meet's number."""
    of_each: dict[int, dict[int, kept_meets.Entry]] = {athlete_id: {} for athlete_id in athlete_ids}
    for row in kept_meets.entries_of_athletes(session, athlete_ids):
        of_each[row.athlete_id][row.meet_id] = row
    return of_each


def _entry_told(row: kept_meets.Entry | None, unit: Unit) -> str:
    if row is None:
        return ""
    number = f"number {row.start_number}" if row.start_number else "no start number"
    parts = [row.from_club, number, row.division, "withdrawn" if row.withdrawn_at else ""]
    asked = steps_that_count(row.raise_requests)
    raises = [step.in_words(unit) for step in asked.values()]
    return ", ".join(part for part in (*parts, *raises) if part)


def _records(session: ClubSession, stays_id: int, taken_id: int) -> Iterator[Both]:
    """What is nobody's choice: all of it is kept."""
    ids = (stays_id, taken_id)
    listed = kept_rotations.times_listed(session, ids)
    counted = {
        "Cards": [len(kept_cards.of_athlete(session, one)) for one in ids],
        "Messages from cards": [len(kept_card_remarks.of_athlete(session, one)) for one in ids],
        "Rotations": [listed.get(one, 0) for one in ids],
    }
    for about, (ours, theirs) in counted.items():
        if ours or theirs:
            yield Both(about, str(ours or ""), str(theirs or ""))


def _take_person(
    stays: kept_athletes.Athlete, taken: kept_athletes.Athlete, takes: Mapping[str, bool]
) -> None:
    for column in PERSON:
        if takes.get(column, not getattr(stays, column)):
            setattr(stays, column, getattr(taken, column))


def _take_settings(session: ClubSession, both: Comparison, takes: Mapping[str, bool]) -> None:
    reason = f"From the other entry, {both.taken.listed_name}, which was merged into this one"
    # The usual one comes first: it stands before the others in the list of purposes.
    for (model_id, purpose), of_each in both.settings.items():
        ours, theirs = of_each.get(both.stays.id), of_each.get(both.taken.id)
        if theirs is not None and takes.get(_question(model_id, purpose), ours is None):
            desk_settings.keep_setting(
                session,
                both.stays.id,
                model_id,
                theirs.setting,
                reason,
                theirs.as_read,
                looked=theirs.looked,
                untried=theirs.untried,
                purpose=purpose,
            )


def _take_notes(session: ClubSession, both: Comparison, takes: Mapping[str, bool]) -> None:
    taken: dict[OfModel, str] = {}
    for model_id, of_each in _usual(both.settings):
        ours, theirs = of_each.get(both.stays.id), of_each.get(both.taken.id)
        if theirs is not None and theirs.crew_note:
            has_none = ours is None or not ours.crew_note
            if takes.get(f"note{model_id}", has_none):
                taken[both.stays.id, model_id] = theirs.crew_note
    crew_notes.write_all(session, taken)


def _take_entries(
    session: ClubSession,
    both: Comparison,
    stays: kept_athletes.Athlete,
    takes: Mapping[str, bool],
) -> None:
    ours = both.entries[both.stays.id]
    for meet_id, theirs in both.entries[both.taken.id].items():
        if meet_id not in ours:
            theirs.athlete = stays
            continue
        _take_entry(session, ours[meet_id], theirs, counts=takes.get(f"entry{meet_id}", False))


def _take_entry(
    session: ClubSession, ours: kept_meets.Entry, theirs: kept_meets.Entry, *, counts: bool
) -> None:
    """Both are entered: what counts goes to the entry that stays, the other is withdrawn."""
    present = steps_that_count(ours.raise_requests)
    for step in list(theirs.raise_requests):
        if counts or step.apparatus_id not in present:
            # Asked when it was asked. What was said of the marks was said of the other entry's:
            # whether those that count now include it is asked anew.
            told = {name: getattr(step, name) for name in OF_A_RAISE}
            ours.raise_requests.append(kept_meets.RaiseRequest(**told))
    if counts:
        for column in ("from_club", "start_number", "division", "withdrawn_at", "withdrawn_by"):
            setattr(ours, column, getattr(theirs, column))
    if theirs.withdrawn_at is None:
        theirs.withdrawn_at, theirs.withdrawn_by = utc_now(), session.by


def _take_places(session: ClubSession, stays_id: int, taken_id: int) -> None:
    """On lists that nobody has begun, the one who stays has the place; once where both were."""
    for rotation in kept_runs.rotations_not_begun(session, taken_id):
        listed = [turn.athlete_id for turn in rotation.turns]
        asked = OrderRequest.from_data(rotation.asked)
        if stays_id in listed:
            listed.remove(taken_id)
            asked = asked.only_for(listed)
        else:
            listed = [stays_id if listed_id == taken_id else listed_id for listed_id in listed]
            asked = asked.with_one_for(taken_id, stays_id)
        kept_rotations.relist(session, rotation, listed)
        rotation.asked = asked.to_data()


def _take_the_rest(
    session: ClubSession, stays: kept_athletes.Athlete, taken: kept_athletes.Athlete
) -> None:
    for remark in kept_card_remarks.of_athlete(session, taken.id):
        remark.athlete_id = stays.id
    for line in kept_left_out.of_athlete(session, taken.id):
        line.athlete_id = stays.id
    for note in kept_growth.of_athlete(session, taken.id):
        told = {name: getattr(note, name) for name in OF_A_GROWTH}
        session.add(kept_growth.Growth(athlete_id=stays.id, **told))
    for card in kept_cards.of_athlete(session, taken.id):
        card.superseded_at = card.superseded_at or utc_now()
    for earlier in kept_athletes.taken_in(session, taken.id):
        earlier.taken_into_id = stays.id
    taken.taken_into_id = stays.id
    taken.left_on = taken.left_on or today()


class NotTwoEntries(SettingsDeskError):
    """An entry with itself, or a guest of a meet with somebody of another list."""

    sentence = (
        "Two entries of the club's own athletes, or of guests at the same meet, can become one;"
        " these are not such two. Nothing was changed"
    )


class StaysHasLeft(SettingsDeskError):
    """Somebody present was to be taken in to the entry of somebody who has left."""

    def __init__(self, stays: str, taken: str) -> None:
        self.stays, self.taken = stays, taken

    def __str__(self) -> str:
        return (
            f"{self.stays} has left, and {self.taken} is here: put {self.stays} back on the lists"
            f" first, or begin on the page of {self.taken}"
        )


class AtTheBarsNow(SettingsDeskError):
    """An athlete is listed for a run that is still open, whether the turn is over or to come."""

    def __init__(self, name: str, rotation: str, run_id: int) -> None:
        self.name, self.rotation, self.run_id = name, rotation, run_id

    def __str__(self) -> str:
        return (
            f"{self.name} is on the list of {self.rotation}, and its run at the apparatus is still"
            " open: end that run, then come back to this page"
        )


class ChangedSinceSeen(SettingsDeskError):
    """Something of the two was changed while the question stood on the page."""

    sentence = (
        "One of the two was changed while the page was open, and nothing is done yet: look at"
        " both once more, and choose again"
    )


class NotChosen(SettingsDeskError):
    """Both have something, and nobody said which counts."""

    def __init__(self, about: str) -> None:
        self.about = about

    def __str__(self) -> str:
        return f"Choose which counts: {self.about}"
