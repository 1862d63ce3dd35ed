"""The club's athletes, and finding one by a few letters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Index,
    Row,
    Select,
    and_,
    case,
    event,
    false,
    func,
    literal,
    not_,
    or_,
    select,
)
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.domain.base.names import bare, findable, folded, heard, usual_name
from settingsdesk.store.base import (
    Base,
    ClubOwned,
    of_same_club,
    referred_to,
    row_by_id,
    utc_now,
)
from settingsdesk.store.order_of_names import place_in_order
from settingsdesk.store.work import add_rows

SEARCHED = ("family_name", "given_name", "printed_name", "group_name", "start_number")
"""What a search finds an athlete by, in the order in which they are sorted."""

NAMES_AT_A_TIME = 1000

_WHO_COUNTS = ("club_id", "meet_id", "left_on", "taken_into_id")
"""With these before the order, a squad is counted and leafed through without reading its rows."""


class Athlete(ClubOwned, Base):
    """One athlete, with no more about the person than the work at the apparatus needs."""

    __tablename__ = "athlete"
    __table_args__ = (
        referred_to(),
        of_same_club("meet_id", "meet"),
        of_same_club("taken_into_id", "athlete"),
        Index(None, *_WHO_COUNTS, "in_order", "id", "searched"),
        Index(None, *_WHO_COUNTS, "group_name", "in_order"),
        Index(None, "club_id", "meet_id", "left_on", "heard_name"),
        Index(None, "club_id", "taken_into_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    family_name: Mapped[str]
    given_name: Mapped[str]
    printed_name: Mapped[str] = mapped_column(default="")
    """The name on cards and sheets; empty means the usual form, given name and initial."""
    group_name: Mapped[str] = mapped_column(default="")
    start_number: Mapped[str] = mapped_column(default="")
    left_on: Mapped[date | None]
    """The day on which the athlete left the club; empty while they are in it."""
    meet_id: Mapped[int | None]
    """The meet for which another club entered them; empty for the club's own squad."""
    taken_into_id: Mapped[int | None]
    """The other entry of the same person that this one was taken in to; empty where it counts."""
    erased_on: Mapped[date | None]
    """The day on which the person's data were erased; the row is only a number then."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    created_by: Mapped[str]
    searched: Mapped[str]
    """All names folded, and as they may be typed elsewhere; filled when written."""
    in_order: Mapped[bytes]
    """What athletes are sorted by; filled when written."""
    heard_name: Mapped[str]
    """The name on cards as it is heard when it is called out; filled when written."""


_HAS_LEFT = Athlete.left_on.is_not(None)
Index(
    None,
    Athlete.club_id,
    Athlete.meet_id,
    Athlete.in_order,
    sqlite_where=_HAS_LEFT,
    postgresql_where=_HAS_LEFT,
)


@event.listens_for(Athlete, "before_insert")
@event.listens_for(Athlete, "before_update")
def _fill_searched(_mapper: Any, _connection: Any, athlete: Athlete) -> None:
    names = {name: getattr(athlete, name) or "" for name in SEARCHED}
    for column, value in made_of(names).items():
        setattr(athlete, column, value)


def made_of(names: Mapping[str, str]) -> dict[str, str | bytes]:
    """What is kept beside the names to find, sort and tell them apart by."""
    each = [names.get(name) or "" for name in SEARCHED]
    family_name, given_name, printed_name, *_ = each
    return {
        "searched": findable(each),
        "in_order": place_in_order(*each),
        "heard_name": heard(printed_name or usual_name(family_name, given_name)),
    }


def add_all(
    session: Session, by: str, names: Iterable[Mapping[str, str]], meet_id: int | None
) -> list[int]:
    """Further athletes of those names, by column; their numbers, in that order."""
    about = {"created_by": by, "meet_id": meet_id}
    rows = [{**about, **person, **made_of(person)} for person in names]
    return add_rows(session, Athlete, rows)


def by_id(session: Session, athlete_id: int) -> Athlete:
    """The athlete, or ``NotInThisClub``."""
    return row_by_id(session, Athlete, athlete_id)


def by_ids(session: Session, athlete_ids: Iterable[int]) -> dict[int, Athlete]:
    """Those athletes by number, in the order given; a number nobody has is left out."""
    if not (numbers := list(athlete_ids)):
        return {}
    rows = session.scalars(select(Athlete).where(Athlete.id.in_(numbers)))
    found = {athlete.id: athlete for athlete in rows}
    return {number: found[number] for number in numbers if number in found}


def alike(
    session: Session, words: Sequence[str], meet_id: int | None, most: int
) -> Sequence[Athlete]:
    """Those in whose names any of the words occurs, of the squad or of a meet's guests.

    Whoever has most of the words comes first, so that who is most like is never cut off.
    """
    of_list = Athlete.meet_id.is_(None) if meet_id is None else Athlete.meet_id == meet_id
    have = [_sought(word) for word in words]
    asked = select(Athlete).where(
        of_list,
        Athlete.taken_into_id.is_(None),
        Athlete.erased_on.is_(None),
        or_(false(), *have),
    )
    how_many = sum((case((has, 1), else_=0) for has in have), literal(0))
    in_order = asked.order_by(how_many.desc(), Athlete.in_order, Athlete.id)
    return session.scalars(in_order.limit(most)).all()


def taken_in(session: Session, athlete_id: int) -> Sequence[Athlete]:
    """The other entries of the same person that were taken in to this one."""
    asked = select(Athlete).where(Athlete.taken_into_id == athlete_id)
    return session.scalars(asked.order_by(Athlete.id)).all()


Question = Select[Athlete]
"""A question for athletes that others may narrow further before it is asked."""


def of_squad(words: str = "", group: str = "", *, left: bool = False) -> Question:
    """The question for the squad's in whose names, group or start number every typed word occurs.

    Case, accents, apostrophes and ae for ä do not matter; athletes of other clubs are left out,
    and so are entries that were taken in to another of the same person. ``group`` is one group's
    whole name, or empty for all. With ``left`` those who have left the club, otherwise those who
    are in it. Other tables narrow it further.
    """
    asked = select(Athlete).where(
        Athlete.meet_id.is_(None),
        Athlete.left_on.is_not(None) if left else Athlete.left_on.is_(None),
        Athlete.taken_into_id.is_(None),
    )
    if left:  # whoever is erased has left
        asked = asked.where(Athlete.erased_on.is_(None))
    if group:
        asked = asked.where(Athlete.group_name == group)
    for word in words.split():
        asked = asked.where(_sought(word))
    return asked


def _sought(word: str) -> ColumnElement[bool]:
    either = dict.fromkeys([(folded(word),), tuple(bare(word).split())])
    return or_(*(_names_have(*words) for words in either))


def _names_have(*words: str) -> ColumnElement[bool]:
    """All of the words; of no word at all, nobody."""
    have = [Athlete.searched.contains(word, autoescape=True) for word in words]
    return and_(*have) if have else false()


def present_among(athlete_ids: Iterable[int]) -> Question:
    """The question for those of the squad who are in the club, of the ones with these numbers."""
    # Said so that no index of the whole squad answers it: SQLite would take that one.
    gone = or_(
        Athlete.meet_id.is_not(None),
        Athlete.left_on.is_not(None),
        Athlete.taken_into_id.is_not(None),
    )
    return select(Athlete).where(Athlete.id.in_(list(athlete_ids)), not_(gone))


def besides(asked: Question, athlete_ids: Iterable[int]) -> Question:
    """Of those asked for, the ones without these numbers."""
    return asked.where(Athlete.id.not_in(list(athlete_ids)))


def by_name(
    session: Session, asked: Question, most: int | None = None, after: int = 0
) -> Sequence[Athlete]:
    """Those asked for by family name: at most so many, after so many that come before them."""
    in_order = asked.order_by(Athlete.in_order, Athlete.id)
    return session.scalars(in_order.limit(most).offset(after or None)).all()


def search(session: Session, words: str = "", *, left: bool = False) -> Sequence[Athlete]:
    """All whom ``of_squad`` asks for, by family name."""
    return by_name(session, of_squad(words, left=left))


def names_of_squad(session: Session) -> Iterator[Row[int, str, str]]:
    """Number, family name and given name of everybody in the squad, some at a time."""
    names = of_squad().with_only_columns(Athlete.id, Athlete.family_name, Athlete.given_name)
    yield from session.execute(names, execution_options={"yield_per": NAMES_AT_A_TIME})


def heard_as(
    session: Session, given_names: Iterable[str], heard_names: Iterable[str]
) -> Sequence[Athlete]:
    """Whoever is in the squad with one of those given names, or printed names as they are heard."""
    either = Athlete.given_name.in_(list(given_names)) | Athlete.heard_name.in_(list(heard_names))
    here = select(Athlete).where(Athlete.meet_id.is_(None), Athlete.left_on.is_(None))
    return session.scalars(here.where(either).order_by(Athlete.id)).all()


def count(session: Session, asked: Question) -> int:
    """How many are asked for."""
    return session.scalar(asked.with_only_columns(func.count(Athlete.id))) or 0


def how_many(session: Session) -> int:
    """All athletes that the session may see, guests and those who left among them."""
    return session.scalars(select(func.count()).select_from(Athlete)).one()


def anybody(session: Session) -> bool:
    """Whether anybody is in the squad."""
    return session.scalar(of_squad().with_only_columns(Athlete.id).limit(1)) is not None


def group_names(session: Session, most: int) -> Sequence[str]:
    """The names of the groups that present athletes of the squad are in, as names are ordered.

    None where there are more than so many.
    """
    asked = of_squad().with_only_columns(Athlete.group_name).where(Athlete.group_name != "")
    found = session.scalars(asked.distinct().limit(most + 1)).all()
    if len(found) > most:
        return []
    return sorted(found, key=lambda name: (place_in_order(name), name))


def left_before(session: Session, day: date, most: int) -> Sequence[int]:
    """The numbers of those of the squad who left before a day, and are there with their person."""
    asked = select(Athlete.id).where(
        Athlete.meet_id.is_(None),
        Athlete.left_on < day,
        Athlete.erased_on.is_(None),
        Athlete.taken_into_id.is_(None),
    )
    return session.scalars(asked.order_by(Athlete.id).limit(most)).all()
