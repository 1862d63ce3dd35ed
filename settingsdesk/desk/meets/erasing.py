"""Erasing what is kept of an athlete's person, for good.

The person goes: names, settings with their history, cards, entries, remarks, what lists said.
What was done at the bars stays without it, under the athlete's number.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.meets.same_person import (
    AtTheBarsNow,
    must_not_be_at_the_bars,
    open_run_of,
)
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import erasing, photos_taken, taking_away
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.clubs import all_clubs
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.erased_numbers import Erased, ErasedNumbers
from settingsdesk.store.growth import Growth
from settingsdesk.store.rotations import RotationTurn
from settingsdesk.store.setting_drafts import SettingDraft
from settingsdesk.store.settings import SettingConfirmation
from settingsdesk.store.taking_away import HANGS_ON, TOLD_BEFORE, Hanging, Sort
from settingsdesk.store.work import ClubSession, Store

AGAIN = "erased before"
"""Who does it where a copy from before was put back."""

GOES = (
    *TOLD_BEFORE[kept_athletes.Athlete],
    Sort(SettingConfirmation.athlete_id, "confirmation of a setting", "confirmations of settings"),
    Sort(Growth.athlete_id, "note of growth", "notes of growth"),
    Sort(CrewNote.athlete_id, "note for the crew", "notes for the crew"),
    Sort(SettingDraft.athlete_id, "setting that is not whole", "settings that are not whole"),
    *(it for it in HANGS_ON[kept_athletes.Athlete] if it.column is not RotationTurn.athlete_id),
)
STAYS = tuple(it for it in HANGS_ON[kept_athletes.Athlete] if it.column is RotationTurn.athlete_id)


@dataclass(frozen=True, slots=True)
class PhotoToLookAt:
    """A photo on which the athlete may be; ``names_them`` where the name stands beside it."""

    id: int
    on: date
    apparatus: str
    names_them: bool


@dataclass(frozen=True, slots=True)
class ToErase:
    """What an erasure does besides what goes: what stays by a number, which words change."""

    member: Member
    called: str
    stays: tuple[Hanging, ...]
    written: tuple[str, ...]
    waits_for: AtTheBarsNow | None
    """A run that is still open, before whose end nothing is erased."""
    photos: tuple[PhotoToLookAt, ...] = ()
    other_photos: int = 0
    """How many more there are, of days on which the athlete was at no bars."""


def called_by_number(athlete_id: int) -> str:
    """What stands in place of a name."""
    return f"Athlete {athlete_id}"


def to_erase(session: ClubSession, athlete_id: int) -> ToErase:
    """What stays, and what has to be looked at; ``NotInThisClub``, ``TakenIn``, ``WasErased``."""
    member = desk_athletes.member(session, athlete_id)
    row = kept_athletes.by_id(session, athlete_id)
    called = called_by_number(athlete_id)
    stays = [*taking_away.those(session, STAYS, row), taking_away.turns_of(session, row)]
    written = words_about(session, row)
    photos, others = _photos(session, athlete_id, written)
    return ToErase(
        member,
        called,
        tuple(one for one in stays if one.count),
        tuple(written),
        open_run_of(session, member),
        photos,
        others,
    )


def going(session: ClubSession, athlete_id: int) -> tuple[Hanging, ...]:
    """What goes with an athlete."""
    return tuple(taking_away.those(session, GOES, kept_athletes.by_id(session, athlete_id)))


def _photos(
    session: ClubSession, athlete_id: int, written: Collection[str]
) -> tuple[tuple[PhotoToLookAt, ...], int]:
    """Photos beside whose words the name stands, and those of days near the athlete's runs."""
    taken = photos_taken.all_taken(session)
    if not taken:
        return (), 0
    days = {
        local_date(at) + timedelta(days=off)
        for at in photos_taken.moments_at_the_bars(session, athlete_id)
        for off in (-1, 0, 1)
    }
    told = [
        PhotoToLookAt(
            photo.id,
            local_date(photo.at),
            photo.apparatus,
            any(words in written for words in photo.words),
        )
        for photo in taken
    ]
    found = [photo for photo in told if photo.names_them or photo.on in days]
    found.sort(key=lambda photo: not photo.names_them)
    return tuple(found), len(taken) - len(found)


def words_about(session: ClubSession, row: kept_athletes.Athlete) -> list[str]:
    """What somebody wrote elsewhere with the athlete's name in it."""
    return [one.text for one in erasing.written(session, row, called_by_number(row.id))]


def erase(session: ClubSession, athlete_id: int, photo_ids: Collection[int] = ()) -> None:
    """Erase an athlete, and every entry that was taken in to theirs; and photos of the club.

    Put on the list beside the database too, so that it is done again where an older copy is put
    back. ``AtTheBarsNow`` while a run with them is under way. What it was in stays in the file
    until ``Store.leave_no_traces``.
    """
    must_not_be_at_the_bars(session, desk_athletes.member(session, athlete_id))
    if photo_ids:
        photos_taken.delete(session, photo_ids)
    erase_from_everywhere(session, athlete_id)


def erase_from_everywhere(session: ClubSession, athlete_id: int) -> None:
    """The same where it is known that the athlete is at no bars now."""
    taken_in = kept_athletes.taken_in(session, athlete_id)
    _erase(session, [*taken_in, kept_athletes.by_id(session, athlete_id)])


def erase_again(store: Store) -> int:
    """Erase whoever is on the list and is in the database all the same; gives how many.

    Asked at every start: an older copy of the database knows nothing of an erasure.
    """
    listed = list(ErasedNumbers.beside(store).all())
    if not listed:
        return 0
    with store.installation(writes=False) as session:
        clubs = [club.id for club in all_clubs(session)]
    count = 0
    for club_id in clubs:
        ours = {one.athlete_id: one for one in listed if one.club_id == club_id}
        with store.work(club_id, writes=False) as session:
            back = _come_back(session, ours)
        if back:
            with store.work(club_id, by=AGAIN, writes=True) as session:
                _erase(session, [kept_athletes.by_id(session, number) for number in back])
            count += len(back)
    if count:
        store.leave_no_traces()
    return count


def _come_back(session: ClubSession, listed: dict[int, Erased]) -> list[int]:
    """Who of them is there with a person; whoever was entered at another moment is another."""
    return [
        row.id
        for row in kept_athletes.by_ids(session, listed).values()
        if row.erased_on is None and row.created_at == listed[row.id].entered_at
    ]


def _erase(session: ClubSession, rows: Sequence[kept_athletes.Athlete]) -> None:
    erased = [Erased(session.club_id, row.id, row.created_at) for row in rows]
    for row in rows:
        _take_off_lists(session, row.id)
        erasing.take_out(session, row, called_by_number(row.id), today())
    # Last of all: whom an error kept here must not be erased by the next start.
    ErasedNumbers.beside(session).add(erased)


def _take_off_lists(session: ClubSession, athlete_id: int) -> None:
    """Lists to come go on without them; those of days before stay as a record, by number."""
    for rotation in kept_runs.rotations_not_begun(session, athlete_id):
        if rotation.held_on < today():
            continue
        listed = [turn.athlete_id for turn in rotation.turns if turn.athlete_id != athlete_id]
        if listed:
            asked = OrderRequest.from_data(rotation.asked).only_for(listed)
            kept_rotations.relist(session, rotation, listed)
            rotation.asked = asked.to_data()
    session.flush()
