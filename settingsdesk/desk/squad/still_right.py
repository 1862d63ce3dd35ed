"""Still right? Settings that a coach should look at with the athlete, since people grow.

A setting is asked about where nobody has looked at it for a season, where its athlete was noted to
have grown since, and where it began with another athlete's. A coach confirms it as it stands, with
one press, or changes it. Confirming changes no mark: what was printed by it counts as before.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from settingsdesk.desk.clock import now
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import growth as kept_growth
from settingsdesk.store import still_right as kept_still_right
from settingsdesk.store.athletes import Question
from settingsdesk.store.clubs import this_club
from settingsdesk.store.settings import SettingConfirmation
from settingsdesk.store.still_right import AskedAbout
from settingsdesk.store.work import ClubSession

MOST_DAYS = 3650


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A coach has looked at a version of a setting, and it is right as it stands."""

    id: int
    setting_id: int
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class GrowthNote:
    """A coach saw that an athlete has grown; ``number`` is what a later look is greater than."""

    id: int
    number: int
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class AskedOfSquad:
    """How many of the squad have a setting that is asked about, and the first of them by name."""

    first: Member
    athletes: int


def season(session: ClubSession) -> int | None:
    """After how many days a setting is asked about in this club; 0 or None for no age."""
    return this_club(session).season_days


def keep_season(session: ClubSession, days: int | None) -> None:
    """Set it; ``SeasonNotPossible``."""
    if days is not None and not 0 <= days <= MOST_DAYS:
        raise SeasonNotPossible
    this_club(session).season_days = days
    session.flush()


def asked_about(
    session: ClubSession, athlete_ids: Collection[int], season_days: int | None
) -> dict[int, AskedAbout]:
    """Which present settings of those athletes are asked about, by the setting's number.

    Nobody asks about those of guests and of who has left.
    """
    found = kept_still_right.asked_about(session, athlete_ids, _before(season_days))
    return {one.setting_id: one for one in found}


def doubted(session: ClubSession, versions: Collection[SettingVersion]) -> set[int]:
    """Whose setting among those is old or outgrown, by the athletes' numbers."""
    athlete_ids = {version.athlete_id for version in versions}
    asked = asked_about(session, athlete_ids, season(session))
    found = (asked.get(version.id) for version in versions)
    return {one.athlete_id for one in found if one is not None and one.is_doubted}


def asked_of(
    current: Iterable[SettingVersion], notes: Sequence[GrowthNote], season_days: int | None
) -> dict[int, AskedAbout]:
    """The same of one athlete of the squad whose settings and notes are read already."""
    before = _before(season_days)
    last = max((note.number for note in notes), default=0)
    found = (
        AskedAbout(
            version.athlete_id,
            version.id,
            is_old=before is not None and version.looked.at < before,
            is_outgrown=last > version.looked.growth,
            is_untried=version.untried,
        )
        for version in current
    )
    return {one.setting_id: one for one in found if one.is_doubted or one.is_untried}


def to_whom_it_asks(season_days: int | None) -> Callable[[Question], Question]:
    """What narrows a question for athletes to those with a setting that is asked about."""
    before = _before(season_days)
    return lambda asked: kept_still_right.with_one(asked, before)


def of_squad(session: ClubSession, season_days: int | None) -> AskedOfSquad | None:
    """Whether anybody of the squad has one, in one statement."""
    found = kept_still_right.first_of_squad(session, _before(season_days))
    return AskedOfSquad(desk_athletes.member_of(found[0]), found[1]) if found else None


def why(asked: AskedAbout, season_days: int | None) -> Iterator[str]:
    """Why a setting is asked about, in sentences without their stops."""
    if asked.is_untried:
        yield "It began with another athlete's setting"
    if asked.is_outgrown:
        yield "Has grown since anybody looked"
    if asked.is_old:
        yield f"Nobody has looked for a season ({season_days} days)"


def confirm(
    session: ClubSession, athlete_id: int, setting_id: int, seen: int
) -> tuple[SettingVersion, bool]:
    """Confirm a setting as it stands; it, and whether this press did it.

    ``seen`` is the number of its last confirmation as whoever confirms has seen it, 0 for none:
    where it was confirmed since, the press was sent twice and changes nothing. ``NotThatOneNow``
    where another version counts by now.
    """
    desk_athletes.member(session, athlete_id)
    current = desk_settings.current(session, athlete_id)
    version = next((one for one in current if one.id == setting_id), None)
    if version is None:
        raise NotThatOneNow
    known = kept_still_right.confirmations_of(session, [athlete_id])
    last = next((one.id for one in known if one.setting_id == setting_id), 0)
    if last not in (0, seen):
        return version, False
    session.add(
        SettingConfirmation(athlete_id=athlete_id, setting_id=setting_id, recorded_by=session.by)
    )
    session.flush()
    return version, True


def note_growth(session: ClubSession, athlete_id: int, seen: int) -> bool:
    """Note that an athlete has grown; whether this press did it.

    ``seen`` is the number of the last note as whoever presses has seen it, 0 for none.
    """
    desk_athletes.member(session, athlete_id)
    notes = growth_of(session, athlete_id)
    if notes and notes[0].id != seen:
        return False
    number = kept_still_right.next_growth(session)
    session.add(kept_growth.Growth(athlete_id=athlete_id, number=number, recorded_by=session.by))
    session.flush()
    return True


def growth_of(session: ClubSession, athlete_id: int) -> list[GrowthNote]:
    """What was noted of an athlete's growth, the newest first."""
    rows = kept_growth.of_athlete(session, athlete_id)
    return [GrowthNote(row.id, row.number, row.recorded_at, row.recorded_by) for row in rows]


def confirmations_of(session: ClubSession, athlete_id: int) -> Mapping[int, list[Confirmation]]:
    """The confirmations of an athlete's settings, by the setting's number, the newest first."""
    found: dict[int, list[Confirmation]] = {}
    for row in kept_still_right.confirmations_of(session, [athlete_id]):
        told = Confirmation(row.id, row.setting_id, row.recorded_at, row.recorded_by)
        found.setdefault(row.setting_id, []).append(told)
    return found


def _before(season_days: int | None) -> datetime | None:
    return now() - timedelta(days=season_days) if season_days else None


class SeasonNotPossible(SettingsDeskError):
    """A season that is none, or longer than anybody's time as an athlete."""

    sentence = f"A season must have from 0 to {MOST_DAYS} days; 0 or empty asks about no age"


class NotThatOneNow(SettingsDeskError):
    """A setting was confirmed that is not the one that counts (a page answers 409)."""

    sentence = (
        "The setting has been changed since the page was opened, so nothing was confirmed: open"
        " the athlete's page, look at it with the athlete, and confirm it there if it is right"
    )
