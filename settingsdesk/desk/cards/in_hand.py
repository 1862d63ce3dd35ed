"""A card in somebody's hand: what its code opens, whose it is, and whether it still counts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from settingsdesk.desk.cards.code_address import CARDS, CodeKey, is_scanned
from settingsdesk.desk.cards.counting import Difference, entered, to_do, verdict
from settingsdesk.desk.cards.issued import IssuedCard, on_record, printable, raise_told
from settingsdesk.desk.cards.text import CardText, Named, text_of
from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets.raise_requests import is_open
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.codes import code_hash
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card
from settingsdesk.store import cards as kept_cards
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.clubs import Revision
from settingsdesk.store.work import ClubSession, Store


@dataclass(frozen=True, slots=True)
class ScannedCard:
    """What whoever holds a card's code may see: no family name, no club, no birth date.

    ``printed_for`` is the apparatus of the card. ``now`` is the setting as it is now on the
    apparatus asked for. ``newest_version`` and ``newest_on`` name the card that superseded this
    one, where one was printed, and ``newest_counts`` whether that one does, or is out of date or
    cancelled itself; ``differences`` is empty where the card still says what counts.
    ``taken_in`` says that it was printed under another entry of the same athlete, ``scratched``
    that the entry for its meet does not count any more.
    ``withdrawn_since`` is empty unless that apparatus is withdrawn from use; by whom and why is
    the club's own affair.
    """

    name: str
    printed_for: str
    version: int
    issued_on: date
    counts_until: date | None
    now: CardText
    apparatus_id: int
    elsewhere: tuple[Piece, ...]
    differences: tuple[Difference, ...]
    newest_version: int
    newest_on: date
    newest_counts: bool
    withdrawn_since: str
    taken_in: bool = False
    scratched: bool = False

    @property
    def current(self) -> bool:
        return not (self.differences or self.taken_in)

    @property
    def replaced_by(self) -> int | None:
        """The version of a newer card that counts instead of this one."""
        is_newer = self.newest_version > self.version
        return self.newest_version if is_newer and self.newest_counts and not self.current else None

    def to_do(self, *, waits_for_answer: bool, is_stopped: bool) -> Sentence:
        """What whoever holds it has to do about it."""
        return to_do(
            self.differences,
            taken_in=self.taken_in,
            scratched=self.scratched,
            replaced_by=self.replaced_by,
            waits_for_answer=waits_for_answer,
            open_raise=self.open_raise,
            is_off=self.now.is_off,
            is_halted=is_stopped or bool(self.withdrawn_since),
        )

    @property
    def open_raise(self) -> bool:
        """Whether its marks are, or may be, without a raise of the rails: nobody sets them."""
        return is_open(self.now.raise_request)

    @property
    def marks_hold(self) -> bool:
        """Whether its marks are those that count, whatever else it says."""
        return not any(one.of_marks for one in self.differences)


@dataclass(frozen=True, slots=True)
class HeldOut:
    """A card as it was printed, whose it is, and for which apparatus.

    ``taken_in`` says that it was printed under another entry of the same athlete.
    """

    member: Member
    apparatus_id: int
    printed_for: str
    text: CardText
    id: str
    taken_in: bool = False

    @property
    def name(self) -> str:
        """By which name its athlete is called at the apparatus."""
        return self.member.printed_name


@dataclass(frozen=True, slots=True)
class Holder:
    """Whoever holds a card that counts: of which club, and the club's revision as they asked."""

    club_id: int
    card_id: str
    revision: Revision


def find(session: ClubSession, code_key: CodeKey, code: str) -> IssuedCard:
    """The card with that code, long or short as it was ``read_off``; ``NeverIssued``."""
    if is_scanned(code):
        row = kept_cards.by_code_hash(session, code_hash(code))
        if row is not None:
            return on_record(row)
        raise NeverIssued
    for key in code_key.each():
        row = kept_cards.by_short_code_mark(session, key.found_by(CARDS, code))
        if row is not None:
            return on_record(row)
    raise NeverIssued


def holder_of(store: Store, code: str) -> Holder:
    """The club and the card of a scanned code.

    ``NotAWholeCode`` where it is none, ``NeverIssued`` or another ``NoSuchCard``, ``CardHasEnded``
    where it opens nothing.
    """
    if not is_scanned(code):
        raise NotAWholeCode
    return _holder(store.row(kept_cards.HOLDER_OF, code_hash=code_hash(code.upper())))


def holder_of_typed(store: Store, code_key: CodeKey, code: str) -> Holder:
    """The same of a short code, as ``read_short_code`` read it."""
    found = (
        store.row(kept_cards.HOLDER_OF_TYPED, mark=key.found_by(CARDS, code))
        for key in code_key.each()
    )
    return _holder(next((row for row in found if row is not None), None))


def _holder(found: Any) -> Holder:
    if found is None:
        raise NeverIssued
    if any((found.revoked_at, found.left_on, found.closed_at)):
        raise NoSuchCard
    holder = Holder(found.club_id, found.id, Revision.of(found))
    if found.counts_until is not None and today() > found.counts_until:
        raise CardHasEnded(found.counts_until, holder)
    return holder


def meet_is_over(session: ClubSession, card_id: str) -> bool:
    """Whether a card was printed for a meet whose cards do not count any more.

    One that ended otherwise, since the key of the codes was changed, is needed yet.
    """
    row = kept_cards.by_id(session, card_id)
    at_meets = entered(session, [desk_athletes.as_now(session, row.athlete_id).id])
    entrant = at_meets.entry_of_card(row)
    return entrant is not None and at_meets.ends[entrant.meet_id] < today()


def copy_of(session: ClubSession, code_key: CodeKey, card_id: str) -> Card | None:
    """A card once more as it was issued, for whoever holds its code; None where it cannot be.

    It says no more of the athlete than the card's page does: no club, and the printed name. Ask
    only for one that counts.
    """
    row = kept_cards.by_id(session, card_id)
    made_by = code_key.that_made(row.id, row.code_hash)
    if made_by is None:
        return None
    name = desk_athletes.as_now(session, row.athlete_id).printed_name
    return printable(made_by, row, replace(CardText.from_data(row.content), name=name, club=""))


def held_out(session: ClubSession, card_id: str) -> HeldOut:
    """A card that somebody holds out at an apparatus; ``NotInThisClub`` where there is none."""
    row = kept_cards.by_id(session, card_id)
    member = desk_athletes.as_now(session, row.athlete_id)
    return HeldOut(
        member=member,
        apparatus_id=row.apparatus_id,
        printed_for=row.apparatus.name,
        text=CardText.from_data(row.content),
        id=row.id,
        taken_in=member.id != row.athlete_id,
    )


def differences(session: ClubSession, card: HeldOut, home: Piece) -> tuple[Difference, ...]:
    """Why a card is out of date, on the apparatus it was printed for; empty where it is not.

    ``NoSuchCard`` where its athlete has no setting for that apparatus any more.
    """
    found = _Now(session, card.member, [home]).verdict(kept_cards.by_id(session, card.id))
    if found is None:
        raise NoSuchCard
    return found


def scanned(session: ClubSession, card_id: str, apparatus_id: int | None = None) -> ScannedCard:
    """What the holder of a card sees, in the marks of the apparatus asked for.

    ``NoSuchCard`` where its athlete has no setting for that apparatus any more.
    """
    row = kept_cards.by_id(session, card_id)
    member = desk_athletes.as_now(session, row.athlete_id)
    pieces = _pieces_for(session, row)
    home = next(piece for piece in pieces if piece.id == row.apparatus_id)
    asked = next((piece for piece in pieces if piece.id == apparatus_id), home)
    now = _Now(session, member, [home, asked])
    told, why = now.text(row, asked.id), now.verdict(row)
    if told is None or why is None:
        raise NoSuchCard
    entrant = now.entered.entry_of_card(row)
    every = kept_cards.for_athletes(session, [member.id], row.apparatus_id)
    meet_id = entrant.meet_id if entrant else None
    newest = now.entered.newest(every, meet_id).get(member.id, row)
    newest_old = why if newest is row else now.verdict(newest)
    return ScannedCard(
        name=member.printed_name,
        printed_for=home.name,
        version=row.version,
        issued_on=local_date(row.issued_at),
        counts_until=row.counts_until,
        now=told,
        apparatus_id=asked.id,
        elsewhere=tuple(piece for piece in pieces if piece.id != asked.id),
        differences=why,
        newest_version=newest.version,
        newest_on=local_date(newest.issued_at),
        newest_counts=newest.revoked_at is None and not newest_old,
        withdrawn_since=asked.withdrawal.since_in_words if asked.withdrawal else "",
        taken_in=member.id != row.athlete_id,
        scratched=entrant is not None and not entrant.is_in,
    )


def _pieces_for(session: ClubSession, row: kept_cards.Card) -> list[Piece]:
    """On which apparatus of the card's kind its holder may look: a guest, on the meet's only."""
    pieces = desk_apparatus.pieces_of_kind(session, row.apparatus.model.kind)
    meet_id = row.athlete.meet_id
    if meet_id is None:
        return pieces
    there = {placed.apparatus_id for placed in kept_meets.by_id(session, meet_id).apparatus}
    return [piece for piece in pieces if piece.id in {*there, row.apparatus_id}]


def outdated_of(session: ClubSession, athlete_id: int) -> Mapping[str, tuple[Difference, ...]]:
    """Which of an athlete's cards that are not cancelled are out of date, and why, by their ids.

    Nothing is told of one that was printed under another entry, or whose setting is gone.
    """
    rows = [row for row in kept_cards.of_athlete(session, athlete_id) if row.revoked_at is None]
    if not rows:
        return {}
    member = desk_athletes.member(session, athlete_id)
    places = {row.apparatus_id: row.apparatus for row in rows}
    pieces = desk_apparatus.read_all(session, list(places.values()))
    now = _Now(session, member, pieces)
    found: dict[str, tuple[Difference, ...]] = {}
    for row in rows:
        why = now.verdict(row) if row.athlete_id == athlete_id else ()
        if why is None or why or row.athlete_id != athlete_id:
            found[row.id] = why or ()
    return found


class _Now:
    """What cards of one athlete would say now on some apparatus, less what only its club needs."""

    def __init__(self, session: ClubSession, member: Member, pieces: Sequence[Piece]) -> None:
        self._session, self._member = session, member
        self._pieces = {piece.id: piece for piece in pieces}
        self._carried = desk_settings.on_pieces(session, [member.id], pieces)
        self._unit = Unit(kept_clubs.this_club(session).length_unit)
        self.entered = entered(session, [member.id])

    def text(self, row: kept_cards.Card, apparatus_id: int) -> CardText | None:
        """What a card would say, on an apparatus; None where there is no setting for it now."""
        own = self._carried[apparatus_id].get(self._member.id)
        if own is None:
            return None
        entrant = self.entered.entry_of_card(row)
        asked = [entrant] if entrant else self.entered.entrants
        raised = raise_told(self._session, asked, self._pieces[apparatus_id], own, self._unit)
        named = Named(raise_request=raised)
        if entrant is not None:
            named = self.entered.named(self._session, entrant, raised)
        return text_of(self._member, own, named, self._unit.value)

    def verdict(self, row: kept_cards.Card) -> tuple[Difference, ...] | None:
        """Why a card is out of date, on its own apparatus; None without a setting for it."""
        now = self.text(row, row.apparatus_id)
        if now is None:
            return None
        entrant = self.entered.entry_of_card(row)
        ends = self.entered.ends[entrant.meet_id] if entrant else None
        return verdict(CardText.from_data(row.content), now, row.counts_until, ends)


class NoSuchCard(SettingsDeskError):
    """A code that opens no card: never issued, revoked, of who has left, of a closed club."""

    sentence = Sentence(
        "No card that counts here has this code. Compare it with the card; if it is right, the card"
        " does not count any more: ask the coach for a new one, and set nothing by this one"
    )


class NeverIssued(NoSuchCard):
    """No card of this desk has that code: it is mistyped, of another desk, or of an erased card.

    Whoever holds the card is told no more than of one that was cancelled.
    """


class NotAWholeCode(NoSuchCard):
    """The address ends in another code than a square carries, such as the short one of a card.

    That one opens no page, since it could be guessed, and whether there is such a card is not said.
    """

    sentence = Sentence(
        "This address needs the long code that the card’s square code carries. The short code"
        " beside it is for the coach and the station, and opens no page. Scan the square code with"
        " the phone's camera to see whether the card counts"
    )


class CardHasEnded(NoSuchCard):
    """A card after its last day: of a meet that is over, or made by a key that was changed."""

    def __init__(self, counted_until: date, holder: Holder | None = None) -> None:
        self.counted_until, self.holder = counted_until, holder

    def __str__(self) -> str:
        return Sentence(
            "This card counted until %(counted_until)s. Ask the coach for a new one, and set"
            " nothing by this one",
            counted_until=day_in_words(self.counted_until),
        )
