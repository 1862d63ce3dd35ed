"""What holders of cards say is wrong, without an account: received within limits, and answered.

A remark changes nothing by itself. The coach answers it, most often by a new version of the
setting.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from settingsdesk.desk.cards import in_hand
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import card_remarks as kept_card_remarks
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession, Store

LONGEST_REMARK = 500
MOST_A_DAY = 5
"""So many remarks about one athlete's cards are taken in a day."""

SHOWN_ON_CARD = 3


@dataclass(frozen=True, slots=True)
class Remark:
    """One message from a card, and its answer; ``answered_at`` is None while it has none."""

    id: int
    member: Member
    apparatus_id: int
    apparatus: str
    card_version: int
    said: str
    received_at: datetime
    answer: str
    answered_at: datetime | None
    answered_by: str | None


def receive(store: Store, code: str, said: str) -> None:
    """Take a remark from whoever holds a card's code.

    The very same remark again is a second press and changes nothing. Raises ``NoSuchCard``,
    ``NothingSaid``, ``RemarkTooLong`` or ``TooManyRemarks``.
    """
    text = _plain(said)
    holder = in_hand.holder_of(store, code)
    with store.work(holder.club_id, writes=True) as session:
        card = desk_issued.issued(session, holder.card_id)
        before = kept_card_remarks.of_athlete(session, card.athlete_id)
        if before and before[0].said == text and before[0].answered_at is None:
            return
        since = utc_now() - timedelta(days=1)
        if kept_card_remarks.received_since(session, card.athlete_id, since) >= MOST_A_DAY:
            raise TooManyRemarks
        session.add(
            kept_card_remarks.CardRemark(
                athlete_id=card.athlete_id,
                apparatus_id=card.apparatus_id,
                card_version=card.version,
                said=text,
            )
        )


def told_on_card(session: ClubSession, card_id: str) -> list[Remark]:
    """The last remarks about the card's apparatus and their answers, for whoever holds the card.

    Those that nobody has answered are all among them.
    """
    card = desk_issued.issued(session, card_id)
    said = of_athlete(session, card.athlete_id)
    here = (remark for remark in said if remark.apparatus_id == card.apparatus_id)
    return [
        remark for place, remark in enumerate(here) if place < SHOWN_ON_CARD or not remark.answer
    ]


def ask_first(session: ClubSession, athlete_ids: Collection[int], *kinds: str) -> frozenset[int]:
    """For whom of these nothing is set on apparatus of those kinds before the coach has spoken.

    Somebody said by a card of theirs, for whichever apparatus of the kind, that something is
    wrong, and nobody has answered: the setting is the same for all of them. Whoever shows or sets
    marks for a turn asks here.
    """
    return frozenset(kept_card_remarks.waiting_about(session, athlete_ids, kinds))


def answer(session: ClubSession, remark_id: int, words: str) -> Remark:
    """Answer a remark; the holder reads the answer on the card's page. ``NothingSaid``."""
    row = kept_card_remarks.by_id(session, remark_id)
    if row.answered_at is None:
        row.answer, row.answered_at, row.answered_by = _plain(words), utc_now(), session.by
        session.flush()
    return _read(row)


def remark(session: ClubSession, remark_id: int) -> Remark:
    """One remark; ``NotInThisClub`` where there is none."""
    return _read(kept_card_remarks.by_id(session, remark_id))


def unanswered(session: ClubSession) -> list[Remark]:
    """Every remark that nobody has answered, the oldest first."""
    return [_read(row) for row in kept_card_remarks.unanswered(session)]


def of_athlete(session: ClubSession, athlete_id: int) -> list[Remark]:
    """Every remark about an athlete's cards, the newest first."""
    return [_read(row) for row in kept_card_remarks.of_athlete(session, athlete_id)]


def _read(row: kept_card_remarks.CardRemark) -> Remark:
    return Remark(
        id=row.id,
        member=desk_athletes.member_of(row.athlete),
        apparatus_id=row.apparatus_id,
        apparatus=row.apparatus.name,
        card_version=row.card_version,
        said=row.said,
        received_at=row.received_at,
        answer=row.answer,
        answered_at=row.answered_at,
        answered_by=row.answered_by,
    )


def _plain(said: str) -> str:
    """The words without signs that cannot be seen, on lines as they were typed."""
    lines = (" ".join(line.split()) for line in said.splitlines())
    text = "\n".join("".join(sign for sign in line if sign.isprintable()) for line in lines).strip()
    if not text:
        raise NothingSaid
    if len(text) > LONGEST_REMARK:
        raise RemarkTooLong(len(text))
    return text


class NothingSaid(SettingsDeskError):
    """An empty remark or answer."""

    sentence = Sentence("Write what is to be told")


class RemarkTooLong(SettingsDeskError):
    """More than anybody reads at the apparatus."""

    def __init__(self, length: int) -> None:
        self.length = length

    def __str__(self) -> str:
        return Sentence(
            "Say it in at most %(most)s characters; %(length)s were written. The coach will ask"
            " for the rest",
            most=LONGEST_REMARK,
            length=self.length,
        )


class TooManyRemarks(SettingsDeskError):
    """More remarks about one athlete in a day than a coach could answer."""

    def __str__(self) -> str:
        return Sentence(
            "%(most)s remarks about these cards came in since yesterday, and no more are taken"
            " today: tell the coach by word of mouth",
            most=MOST_A_DAY,
        )
