"""Settings: what each athlete wants on a model, every version of it."""

from __future__ import annotations

from collections.abc import Collection, Generator, Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any, ClassVar, Literal, NamedTuple

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Index,
    Row,
    Select,
    String,
    UniqueConstraint,
    bindparam,
    exists,
    func,
    select,
)
from sqlalchemy.orm import (
    Mapped,
    MappedSQLExpression,
    Session,
    aliased,
    column_property,
    contains_eager,
    joinedload,
    mapped_column,
)
from sqlalchemy.orm.attributes import set_committed_value

from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete, Question, of_squad
from settingsdesk.store.base import (
    AppendOnly,
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    parent_by,
    referred_to,
    row_by_id,
    utc_now,
)
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.growth import SO_FAR
from settingsdesk.store.json_sql import numbers_given
from settingsdesk.store.work import add_rows

PurposeName = Literal["competition", "training", "learning"]
PURPOSES = "purpose IN ('competition', 'training', 'learning')"

ROWS_AT_A_TIME = 1000


class SettingConfirmation(AppendOnly, ClubOwned, Base):
    """A coach has looked at a setting with the athlete, and it is right as it stands."""

    part_of = "setting"
    __tablename__ = "setting_confirmation"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        of_same_club("setting_id", "setting"),
        Index(None, "club_id", "athlete_id"),
        Index(None, "club_id", "setting_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    setting_id: Mapped[int]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    answers_growth: Mapped[int] = mapped_column(default=SO_FAR)
    """The number of the last note of growth when it was confirmed; 0 where there was none."""

    athlete: Mapped[Athlete] = parent_by("SettingConfirmation.athlete_id", "Athlete")
    setting: Mapped[Setting] = parent_by("SettingConfirmation.setting_id", "Setting")


def _of_confirmations(column: Mapped[Any], setting_id: Mapped[int]) -> Any:
    """The greatest of a column in the confirmations of a setting; None where it has none."""
    asked = select(func.max(column)).where(SettingConfirmation.setting_id == setting_id)
    return asked.correlate_except(SettingConfirmation).scalar_subquery()


class Setting(AppendOnly, ClubOwned, Base):
    """What one athlete wants on one model, from one moment on; its values are written with it."""

    part_of = "athlete"
    __tablename__ = "setting"
    __table_args__ = (
        referred_to(),
        of_same_club("athlete_id", "athlete"),
        of_same_club("model_id", "apparatus_model"),
        UniqueConstraint("club_id", "athlete_id", "model_id", "purpose", "version"),
        Index(None, "club_id", "model_id", "athlete_id"),
        CheckConstraint("version >= 1", name="version"),
        CheckConstraint(PURPOSES, name="purpose"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    model_id: Mapped[int]
    purpose: Mapped[PurposeName] = mapped_column(
        String, default="competition", server_default="competition"
    )
    """What it is for: versions are counted for each. Who has any for a model has one for
    competition."""
    version: Mapped[int]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    reason: Mapped[str] = mapped_column(default="")
    looked_at: Mapped[datetime | None]
    """When somebody last looked whether it suits the athlete, where that was before it was
    recorded: the same marks on another scale, say. Empty where that was the moment."""
    answers_growth: Mapped[int] = mapped_column(default=SO_FAR, server_default="0")
    """The number of the last note of growth when somebody looked; 0 where there was none."""
    untried: Mapped[bool] = mapped_column(default=False, server_default="0")
    """Whether it began with another athlete's, and nobody had confirmed it."""
    confirmed_at: Mapped[datetime | None] = column_property(
        _of_confirmations(SettingConfirmation.recorded_at, id)  # noqa: A003 -- its own number
    )
    """When it was confirmed last, as it was read; empty where it never was."""
    confirms_growth: Mapped[int | None] = column_property(
        _of_confirmations(SettingConfirmation.answers_growth, id)  # noqa: A003 -- its own number
    )
    """The number of the last note of growth when it was confirmed last."""

    crew_note: ClassVar[MappedSQLExpression[str | None]]
    """The words of ``CrewNote`` of its athlete for its model."""

    athlete: Mapped[Athlete] = parent_by("Setting.athlete_id", "Athlete")
    model: Mapped[ApparatusModel] = parent_by("Setting.model_id", "ApparatusModel")
    values: Mapped[list[SettingValue]] = children_by(
        "SettingValue.setting_id", "Setting", back="setting"
    )


LAST = select(func.coalesce(func.max(Setting.id), 0)).scalar_subquery()
"""The last setting's number, for what is written now: whatever is kept later has a greater one.

No clock changes that, so which of two came first is told by it.
"""

_IS_BESIDE = Setting.purpose != USUAL
Index(
    None,
    Setting.club_id,
    Setting.purpose,
    sqlite_where=_IS_BESIDE,
    postgresql_where=_IS_BESIDE,
)


class SettingValue(AppendOnly, ClubOwned, Base):
    """What is wanted on one axis, against the canonical datum."""

    part_of = "setting"
    __tablename__ = "setting_value"
    __table_args__ = (
        of_same_club("setting_id", "setting"),
        UniqueConstraint("club_id", "setting_id", "axis"),
        CheckConstraint("accepts_mm >= 0", name="accepts_mm"),
        CheckConstraint("weight >= 0", name="weight"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    setting_id: Mapped[int]
    axis: Mapped[str]
    wanted_mm: Mapped[int]
    accepts_mm: Mapped[int] = mapped_column(default=0)
    """The deviation the athlete accepts, up or down."""
    weight: Mapped[int] = mapped_column(default=1)
    """How much this axis matters to the athlete beside the others."""
    as_read: Mapped[str] = mapped_column(default="")
    """What was read or typed, with its datum and unit or its mark, before it became millimetres."""

    setting: Mapped[Setting] = parent_by("SettingValue.setting_id", "Setting", back="values")


def is_untried() -> ColumnElement[bool]:
    """Whether a setting began with another athlete's, and nobody has confirmed it."""
    confirmed = exists().where(SettingConfirmation.setting_id == Setting.id)
    # Said, since it may stand in another question inside the one for the settings.
    return Setting.untried.is_(True) & ~confirmed.correlate_except(SettingConfirmation)


def add_one(session: Session, row: dict[str, Any], values: Sequence[dict[str, Any]]) -> Setting:
    """A further setting by column, with its values by column."""
    setting = Setting(**row, values=[SettingValue(**value) for value in values])
    session.add(setting)
    session.flush()
    for confirmed in ("confirmed_at", "confirms_growth"):
        set_committed_value(setting, confirmed, None)  # to ask for it would be a statement more
    return setting


Setting.crew_note = column_property(  # read with the row: whoever sets by it has to see it
    select(CrewNote.words)
    .where(
        CrewNote.club_id == Setting.club_id,
        CrewNote.athlete_id == Setting.athlete_id,
        CrewNote.model_id == Setting.model_id,
    )
    .correlate(Setting)
    .scalar_subquery(),
    expire_on_flush=False,
)


def add_all(session: Session, settings: Sequence[tuple[dict[str, Any], list[Any]]]) -> None:
    """Further settings by column, each with its values by column."""
    numbers = add_rows(session, Setting, [row for row, _ in settings])
    values = [
        {**value, "setting_id": number}
        for number, (_, of_setting) in zip(numbers, settings, strict=True)
        for value in of_setting
    ]
    add_rows(session, SettingValue, values)


def by_id(session: Session, setting_id: int) -> Setting:
    """The setting, or ``NotInThisClub``."""
    return row_by_id(session, Setting, setting_id)


def latest(
    session: Session, athlete_id: int, model_id: int, purpose: Purpose = USUAL
) -> Setting | None:
    """What the athlete wants on the model now for that purpose, with its values."""
    found = latest_by_model(session, [athlete_id], [model_id], [purpose])
    return next((row for row, _ in found), None)


Models = Collection[int] | Select[int]
"""Models by their numbers, or the question for those."""


def models_of_kind(kind: str) -> Models:
    """The question for the models of a kind of apparatus."""
    return select(ApparatusModel.id).where(ApparatusModel.kind == kind)


def with_one(
    asked: Question, models: Models, *, lacking: bool = False, purpose: Purpose = USUAL
) -> Question:
    """Of the athletes asked for, those with a setting for one of the models; or those without."""
    # By an index alone, once: one athlete after the other would cost most where hardly one has one.
    have = select(Setting.athlete_id).where(Setting.model_id.in_(models))
    if purpose is not USUAL:  # who has any has the usual one
        have = have.where(Setting.purpose == purpose)
    return asked.where(Athlete.id.not_in(have) if lacking else Athlete.id.in_(have))


def each_with_one(asked: Question, models: Models) -> Question:
    """As ``with_one``, where few are asked for, by their numbers: one athlete after the other."""
    return asked.where(
        exists().where(Setting.athlete_id == Athlete.id, Setting.model_id.in_(models))
    )


def any_beside(session: Session) -> bool:
    """Whether anybody has a setting beside the usual ones."""
    return session.scalar(select(Setting.id).where(_IS_BESIDE).limit(1)) is not None


def models_of_squad(session: Session) -> Sequence[int]:
    """The numbers of the models that somebody of the present squad has a setting for.

    The one for which most have one comes first.
    """
    asked = select(Setting.model_id).join(Setting.athlete).group_by(Setting.model_id)
    asked = asked.where(Athlete.meet_id.is_(None), Athlete.left_on.is_(None))
    most_first = func.count(Setting.athlete_id.distinct()).desc()
    return session.scalars(asked.order_by(most_first, Setting.model_id)).all()


def athletes_by_mark(session: Session, model_id: int) -> Sequence[int]:
    """The numbers of those of whom a setting for a model was once typed as a mark of it."""
    asked = select(Setting.athlete_id).join(Setting.athlete).join(Setting.values).distinct()
    asked = asked.where(Setting.model_id == model_id, Athlete.taken_into_id.is_(None))
    told = SettingValue.as_read.startswith("mark ") | SettingValue.as_read.contains("(mark ")
    return session.scalars(asked.where(told)).all()


def newest_number(session: Session) -> int:
    """The number of the club's newest setting; 0 where there is none."""
    return session.scalar(select(func.max(Setting.id))) or 0


def latest_by_model(
    session: Session,
    athlete_ids: Iterable[int],
    model_ids: Iterable[int],
    purposes: Iterable[Purpose],
) -> list[tuple[Setting, int]]:
    """What each athlete wants on those models now for those purposes, with values, in one query.

    Each with the number of the athlete asked for: an entry that was taken in to another wants what
    that one does, as past rotations still list it.
    """
    those = {
        "athlete_ids": list(athlete_ids),
        "model_ids": list(model_ids),
        "purposes": list(purposes),
    }
    found = session.execute(_latest_on_models(), those).unique()
    return [(setting, athlete_id) for setting, athlete_id in found if setting is not None]


def latest_of_kinds(
    session: Session,
    athlete_ids: Iterable[int],
    kinds: Iterable[str],
    purposes: Iterable[Purpose],
) -> Sequence[Row[Setting, int]]:
    """What each athlete wants on every model of those kinds now, by the model's name.

    In one query, each with its values and its model, and the number of the athlete asked for.
    """
    those = {
        "athlete_ids": list(athlete_ids),
        "kinds": list(kinds),
        "purposes": list(purposes),
    }
    found = session.execute(_latest_of_kinds(), those).unique()
    have = (row for row in found if row[0] is not None)
    return sorted(have, key=lambda row: row[0].model.name)


@cache  # many pages ask it, and to put it together takes a third of the time to its answer
def _latest_on_models() -> Select[Setting, int]:
    return _latest(Setting.model_id.in_(bindparam("model_ids", expanding=True)))


@cache
def _latest_of_kinds() -> Select[Setting, int]:
    kind = ApparatusModel.kind.in_(bindparam("kinds", expanding=True))
    of_kinds = select(ApparatusModel.id).where(kind)
    asked = _latest(Setting.model_id.in_(of_kinds)).outerjoin(Setting.model)
    return asked.options(contains_eager(Setting.model))


def _latest(which: ColumnElement[bool]) -> Select[Setting, int]:
    """The newest version of every setting of ``athlete_ids`` for ``purposes`` that is of ``which``.

    Each with the number that was asked for: of an entry that was taken in, the other one counts.
    For whoever has none there is a row with None.
    """
    # An outer join begins with the numbers, one after the other: asked for more than a few, SQLite
    # would rather look through the whole club.
    asked = numbers_given("athlete_ids")
    taken_into = select(Athlete.taken_into_id).where(Athlete.id == asked.c.value).scalar_subquery()
    asked_for = select(
        asked.c.value.label("id"),
        func.coalesce(taken_into, asked.c.value).label("counts_id"),
    ).subquery()
    later = aliased(Setting)
    is_old = exists().where(
        later.athlete_id == Setting.athlete_id,
        later.model_id == Setting.model_id,
        later.purpose == Setting.purpose,
        later.version > Setting.version,
    )
    asked_about = which & Setting.purpose.in_(bindparam("purposes", expanding=True))
    newest = (asked_for.c.counts_id == Setting.athlete_id) & asked_about & ~is_old
    rows = select(Setting, asked_for.c.id).select_from(asked_for).outerjoin(Setting, newest)
    return rows.options(joinedload(Setting.values))


class ValueOfSquad(NamedTuple):
    """What one athlete of the squad wants on one axis of a model now.

    Whoever has no setting has one with None from ``model_id`` on.
    """

    athlete_id: int
    family_name: str
    given_name: str
    printed_name: str
    group_name: str
    model_id: int
    reason: str
    axis: str
    wanted_mm: int
    accepts_mm: int
    setting_id: int
    crew_note: str | None
    purpose: PurposeName
    is_untried: bool


def values_of_squad(
    session: Session,
    athlete_ids: Collection[int] | None = None,
    purposes: Collection[Purpose] = tuple(Purpose),
) -> Generator[ValueOfSquad]:
    """What the squad, or some of it, wants on every model now: by family name, then as entered.

    One statement, whose rows come some at a time: a squad of any size takes little memory, and
    objects would take five times as long.
    """
    later = aliased(Setting)
    is_old = exists().where(
        later.athlete_id == Setting.athlete_id,
        later.model_id == Setting.model_id,
        later.purpose == Setting.purpose,
        later.version > Setting.version,
    )
    is_asked_for = (Setting.athlete_id == Athlete.id) & Setting.purpose.in_(purposes) & ~is_old
    asked = (
        of_squad()
        .with_only_columns(
            Athlete.id,
            Athlete.family_name,
            Athlete.given_name,
            Athlete.printed_name,
            Athlete.group_name,
            Setting.model_id,
            Setting.reason,
            SettingValue.axis,
            SettingValue.wanted_mm,
            SettingValue.accepts_mm,
            Setting.id,
            CrewNote.words,
            Setting.purpose,
            is_untried(),
        )
        .select_from(Athlete)
        .outerjoin(Setting, is_asked_for)
        .outerjoin(
            CrewNote,
            (CrewNote.athlete_id == Setting.athlete_id) & (CrewNote.model_id == Setting.model_id),
        )
        .outerjoin(SettingValue, SettingValue.setting_id == Setting.id)
        .order_by(Athlete.in_order, Athlete.id, SettingValue.id)
    )
    if athlete_ids is not None:
        asked = asked.where(Athlete.id.in_(athlete_ids))
    # Closed also where it is not read to its end: a server keeps it open until it is told.
    with session.execute(asked, execution_options={"yield_per": ROWS_AT_A_TIME}) as found:
        yield from map(ValueOfSquad._make, found)


def last_of_each_model(
    session: Session, athlete_ids: Collection[int]
) -> Sequence[Row[int, str, str, int | None, int | None]]:
    """Each model of the club with who of those has a usual setting, and the last one's number.

    Number, name and kind; then the athlete and that, None where none of them has any.
    """
    theirs = (
        (Setting.model_id == ApparatusModel.id)
        & Setting.athlete_id.in_(athlete_ids)
        & (Setting.purpose == USUAL)
    )
    asked = select(
        *(ApparatusModel.id, ApparatusModel.name, ApparatusModel.kind),
        *(Setting.athlete_id, func.max(Setting.id)),
    ).outerjoin(Setting, theirs)
    return session.execute(asked.group_by(ApparatusModel.id, Setting.athlete_id)).all()


def history(session: Session, athlete_id: int) -> Sequence[Setting]:
    """Every setting of the athlete, whole, by model and purpose, the newest first."""
    asked = select(Setting).where(Setting.athlete_id == athlete_id)
    whole = asked.options(joinedload(Setting.values), joinedload(Setting.model, innerjoin=True))
    newest_first = whole.order_by(Setting.model_id, Setting.purpose, Setting.version.desc())
    return session.scalars(newest_first).unique().all()


def versions_of(session: Session, athlete_ids: Iterable[int]) -> Sequence[Setting]:
    """Every setting of those athletes with its values, without its model."""
    asked = select(Setting).where(Setting.athlete_id.in_(list(athlete_ids)))
    return session.scalars(asked.options(joinedload(Setting.values))).unique().all()


def kinds_of(session: Session, athlete_ids: Iterable[int]) -> dict[int, set[str]]:
    """For which kinds of apparatus each of those athletes has a setting; who has none is absent."""
    asked = select(Setting.athlete_id, ApparatusModel.kind).join(Setting.model).distinct()
    found: dict[int, set[str]] = {}
    for athlete_id, kind in session.execute(asked.where(Setting.athlete_id.in_(list(athlete_ids)))):
        found.setdefault(athlete_id, set()).add(kind)
    return found
