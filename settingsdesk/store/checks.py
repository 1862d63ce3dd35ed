"""Checks of the apparatus: the club's own lists, every check with its answers, and photos."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    CheckConstraint,
    ColumnElement,
    Index,
    LargeBinary,
    Select,
    String,
    UniqueConstraint,
    bindparam,
    cast,
    func,
    literal,
    select,
)
from sqlalchemy.orm import Mapped, Session, aliased, mapped_column, selectinload, undefer

from settingsdesk.store.base import (
    AppendOnly,
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    referred_to,
    row_by_id,
    utc_now,
)

ANSWERS_RECHECK = "again-"


class CheckListVersion(AppendOnly, ClubOwned, Base):
    """One version of the club's own list for a kind and an occasion; the latest one counts."""

    __tablename__ = "check_list_version"
    __table_args__ = (
        UniqueConstraint("club_id", "kind", "occasion", "version"),
        CheckConstraint("version >= 1", name="version"),
        CheckConstraint("interval_months >= 0", name="interval_months"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    occasion: Mapped[str]
    version: Mapped[int]
    shipped: Mapped[bool]
    """Whether the shipped items count again; ``items`` is empty then."""
    items: Mapped[list[dict[str, Any]]]
    interval_months: Mapped[int]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]


class Photo(AppendOnly, ClubOwned, Base):
    """A photo as the desk encoded it anew: JPEG, without anything but the picture."""

    __tablename__ = "photo"
    __table_args__ = (referred_to(),)

    id: Mapped[int] = mapped_column(primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    width_px: Mapped[int]
    height_px: Mapped[int]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]


class ApparatusCheck(AppendOnly, ClubOwned, Base):
    """One check of an apparatus, as it was made."""

    __tablename__ = "apparatus_check"
    __table_args__ = (
        referred_to(),
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "press_key"),
        Index(None, "club_id", "apparatus_id", "made_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    occasion: Mapped[str]
    list_version: Mapped[int]
    """Of the club's own list; 0 is the shipped one."""
    made_on: Mapped[date]
    place: Mapped[str]
    made_by: Mapped[str]
    """Who looked: the coach signed in, or a qualified person from outside."""
    address: Mapped[str]
    second_by: Mapped[str]
    """Who looked a second time; empty where the check was made alone."""
    remark: Mapped[str]
    recheck: Mapped[str]
    """What has to be looked at again."""
    recheck_on: Mapped[date | None]
    press_key: Mapped[str]
    """Of the form it came from, so that a second press adds nothing."""
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]

    answers: Mapped[list[CheckAnswer]] = children_by(
        "CheckAnswer.check_id", "ApparatusCheck", order_by="CheckAnswer.place"
    )


class CheckAnswer(AppendOnly, ClubOwned, Base):
    """One item of a check in the words that were shown, and what was answered."""

    __tablename__ = "check_answer"
    __table_args__ = (
        of_same_club("check_id", "apparatus_check"),
        of_same_club("photo_id", "photo"),
        of_same_club("finding_id", "finding"),
        UniqueConstraint("club_id", "check_id", "item"),
        Index(None, "club_id", "finding_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    check_id: Mapped[int]
    place: Mapped[int]
    item: Mapped[str]
    group_key: Mapped[str]
    words: Mapped[str]
    source: Mapped[str]
    answer: Mapped[str]
    together: Mapped[bool]
    """Whether it was answered with others in one press, not by itself."""
    remark: Mapped[str]
    photo_id: Mapped[int | None]
    finding_id: Mapped[int | None]
    """The finding that the answer opened, or that was open for this item already."""


def latest_lists(session: Session, kind: str | None = None) -> Sequence[CheckListVersion]:
    """The version that counts of every list of the club's own, in one query."""
    given = {"kind": kind} if kind else {}
    return session.scalars(_latest_lists(of_one_kind=bool(kind)), given).all()


@cache  # as those that count
def _latest_lists(*, of_one_kind: bool) -> Select[CheckListVersion]:
    version = CheckListVersion
    newest = (
        select(version.kind, version.occasion, func.max(version.version).label("version"))
        .group_by(version.kind, version.occasion)
        .subquery()
    )
    is_newest = (
        (version.kind == newest.c.kind)
        & (version.occasion == newest.c.occasion)
        & (version.version == newest.c.version)
    )
    asked = select(version).join(newest, is_newest)
    return asked.where(version.kind == bindparam("kind")) if of_one_kind else asked


def list_history(session: Session, kind: str, occasion: str) -> Sequence[CheckListVersion]:
    """Every version of one list, the newest first."""
    version = CheckListVersion
    asked = select(version).where(version.kind == kind, version.occasion == occasion)
    return session.scalars(asked.order_by(version.version.desc())).all()


def check_by_id(session: Session, check_id: int) -> ApparatusCheck:
    """The check with its answers, or ``NotInThisClub``."""
    return row_by_id(session, ApparatusCheck, check_id)


def check_by_press(session: Session, press_key: str) -> ApparatusCheck | None:
    """The check that came from that form."""
    return session.scalar(select(ApparatusCheck).where(ApparatusCheck.press_key == press_key))


def checks_of(session: Session, apparatus_id: int, limit: int) -> Sequence[ApparatusCheck]:
    """The last checks of an apparatus with their answers, the newest first."""
    check = ApparatusCheck
    asked = select(check).where(check.apparatus_id == apparatus_id)
    newest_first = asked.order_by(check.made_on.desc(), check.id.desc()).limit(limit)
    return session.scalars(newest_first.options(selectinload(check.answers))).all()


def last_recorded(session: Session, apparatus_id: int) -> datetime | None:
    """The latest moment at which a check of that apparatus was recorded."""
    asked = select(func.max(ApparatusCheck.recorded_at))
    return session.scalar(asked.where(ApparatusCheck.apparatus_id == apparatus_id))


def checks_that_count(
    session: Session, apparatus_ids: Iterable[int]
) -> Sequence[tuple[ApparatusCheck, bool, bool]]:
    """The checks that say how those apparatus are looked after, the oldest first, in one query.

    Of each whether it is the last of its apparatus and occasion, and whether it left something to
    be looked at again that is open.
    """
    found = session.execute(_that_count(), {"apparatus_ids": list(apparatus_ids)})
    return [(row, bool(last), bool(left)) for row, last, left in found]


@cache  # every page at the apparatus asks it, and to put it together takes longer than the answer
def _that_count() -> Select[ApparatusCheck, bool, bool]:
    check = ApparatusCheck
    place = func.row_number().over(
        partition_by=(check.apparatus_id, check.occasion),
        order_by=(check.made_on.desc(), check.id.desc()),
    )
    those: BindParameter[int] = bindparam("apparatus_ids", expanding=True)
    asked = select(check.id, place.label("place"))
    ranked = asked.where(check.apparatus_id.in_(those)).subquery()
    is_last, is_open = ranked.c.place == 1, _is_open()
    counting = select(check, is_last, is_open).join(ranked, ranked.c.id == check.id)
    return counting.where(is_last | is_open).order_by(check.id)


def open_rechecks(session: Session, apparatus_id: int) -> Sequence[ApparatusCheck]:
    """The checks of an apparatus that left something to be looked at again, the oldest first.

    Only those that no check has answered since.
    """
    return session.scalars(_open_rechecks(), {"apparatus_id": apparatus_id}).all()


@cache  # as those that count
def _open_rechecks() -> Select[ApparatusCheck]:
    check = ApparatusCheck
    of_one = check.apparatus_id == bindparam("apparatus_id")
    return select(check).where(of_one, _is_open()).order_by(check.id)


def _is_open() -> ColumnElement[bool]:
    """Whether a check left something to be looked at again and no check has answered it since.

    The answer stands in a later check of the same apparatus, as the item that ``answers_recheck``
    names.
    """
    check, later, answer = ApparatusCheck, aliased(ApparatusCheck), CheckAnswer
    item = literal(ANSWERS_RECHECK).concat(cast(check.id, String))
    is_later = (
        (later.club_id == check.club_id)
        & (later.apparatus_id == check.apparatus_id)
        & (later.id > check.id)
    )
    is_answer = (
        (answer.club_id == later.club_id) & (answer.check_id == later.id) & (answer.item == item)
    )
    answered = select(later.id).join(answer, is_answer).where(is_later).correlate(check).exists()
    return ((check.recheck != "") | check.recheck_on.is_not(None)) & ~answered


def answers_recheck(check_id: int) -> str:
    """The key of the item that answers what a check left to be looked at again."""
    return f"{ANSWERS_RECHECK}{check_id}"


def answers_on_finding(
    session: Session, finding_id: int
) -> Sequence[tuple[CheckAnswer, ApparatusCheck]]:
    """Every answer that belongs to a finding, with its check, the oldest first."""
    asked = (
        select(CheckAnswer, ApparatusCheck)
        .join(
            ApparatusCheck,
            (ApparatusCheck.club_id == CheckAnswer.club_id)
            & (ApparatusCheck.id == CheckAnswer.check_id),
        )
        .where(CheckAnswer.finding_id == finding_id)
        .order_by(CheckAnswer.id)
    )
    return [(answer, check) for answer, check in session.execute(asked)]


def photos(session: Session, photo_ids: Iterable[int]) -> Sequence[Photo]:
    """The photos of those numbers, in one query."""
    asked = select(Photo).options(undefer(Photo.content))
    return session.scalars(asked.where(Photo.id.in_(list(photo_ids)))).all()


def photo_by_id(session: Session, photo_id: int) -> Photo:
    """The photo, or ``NotInThisClub``."""
    return row_by_id(session, Photo, photo_id)
