"""Which of the squad's settings a coach is asked about: old ones, outgrown ones, untried ones."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, exists, false, func, or_, select
from sqlalchemy.orm import Session, aliased

from settingsdesk.store.athletes import Athlete, Question, of_squad
from settingsdesk.store.growth import Growth
from settingsdesk.store.settings import Setting, SettingConfirmation, is_untried


class AskedAbout(NamedTuple):
    """A setting that somebody should look at with the athlete, and why."""

    athlete_id: int
    setting_id: int
    is_old: bool
    is_outgrown: bool
    is_untried: bool

    @property
    def is_doubted(self) -> bool:
        """Whether it may be right no longer; one that is only untried never was."""
        return self.is_old or self.is_outgrown


def asked_about(
    session: Session, athlete_ids: Collection[int], before: datetime | None
) -> Sequence[AskedAbout]:
    """Which present settings of those of the squad are asked about.

    ``before`` is the moment since which somebody must have looked at one; None for any age.
    """
    old, outgrown, untried = _old(before), _outgrown(), is_untried()
    asked = select(Setting.athlete_id, Setting.id, old, outgrown, untried)
    asked = asked.join(Setting.athlete).where(
        Setting.athlete_id.in_(athlete_ids),
        Athlete.meet_id.is_(None),
        Athlete.left_on.is_(None),
        Athlete.taken_into_id.is_(None),
        or_(old, outgrown, untried),
        _counts(),
    )
    return [AskedAbout(*row) for row in session.execute(asked)]


def with_one(asked: Question, before: datetime | None) -> Question:
    """Of the athletes asked for, those with a setting that is asked about."""
    # Of nearly all athletes there is no note of growth: those are told by one list of who has one.
    outgrown = Setting.athlete_id.in_(select(Growth.athlete_id)) & _outgrown()
    those = select(Setting.athlete_id).where(or_(_old(before), is_untried(), outgrown), _counts())
    return asked.where(Athlete.id.in_(those))


def first_of_squad(session: Session, before: datetime | None) -> tuple[Athlete, int] | None:
    """Of whoever in the squad has such a setting the first by name, and how many there are."""
    asked = with_one(of_squad(), before).add_columns(func.count().over())
    found = session.execute(asked.order_by(Athlete.in_order, Athlete.id).limit(1)).first()
    return (found[0], found[1]) if found else None


def next_growth(session: Session) -> int:
    """The number of the next note of growth: greater than all that was answered so far.

    Those of an athlete who was erased are gone, and what answered them is not.
    """
    numbers = (Growth.number, Setting.answers_growth, SettingConfirmation.answers_growth)
    asked = select(*(select(func.max(number)).scalar_subquery() for number in numbers))
    return max(number or 0 for number in session.execute(asked).one()) + 1


def confirmations_of(
    session: Session, athlete_ids: Collection[int]
) -> Sequence[SettingConfirmation]:
    """Every confirmation of those athletes' settings, the newest first."""
    asked = select(SettingConfirmation).where(SettingConfirmation.athlete_id.in_(athlete_ids))
    return session.scalars(asked.order_by(SettingConfirmation.id.desc())).all()


def _counts() -> ColumnElement[bool]:
    """Whether it is the newest version."""
    later = aliased(Setting)
    return ~exists().where(
        later.athlete_id == Setting.athlete_id,
        later.model_id == Setting.model_id,
        later.purpose == Setting.purpose,
        later.version > Setting.version,
    )


def _old(before: datetime | None) -> ColumnElement[bool]:
    if before is None:
        return false()
    looked_at = func.coalesce(Setting.looked_at, Setting.recorded_at)
    return (looked_at < before) & ~_confirmed(SettingConfirmation.recorded_at >= before)


def _outgrown() -> ColumnElement[bool]:
    noted = exists().where(
        Growth.athlete_id == Setting.athlete_id,
        Growth.number > Setting.answers_growth,
        ~_confirmed(SettingConfirmation.answers_growth >= Growth.number),
    )
    return noted.correlate_except(Growth)


def _confirmed(*how: ColumnElement[bool]) -> ColumnElement[bool]:
    # Said, since it may stand in another question inside the one for the settings.
    found = exists().where(SettingConfirmation.setting_id == Setting.id, *how)
    return found.correlate_except(SettingConfirmation)
