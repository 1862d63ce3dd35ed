"""Cards: issued, printed, and looked up by whoever scans one."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from typing import Any, NamedTuple

from settingsdesk.cards.lettering import CharacterNotInFont, lettered
from settingsdesk.desk.cards.code_address import CARDS, CodeKey, is_scanned
from settingsdesk.desk.cards.counting import Difference, Entered, entered, to_do, verdict
from settingsdesk.desk.cards.text import CardText, Named, holds, text_of
from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece, as_first_said
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.raise_requests import is_open, told_with_marks
from settingsdesk.desk.rotations.rotation import NobodyListed, WithoutSetting
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.names_apart import apart_in_squad
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.codes import card_code, code_hash, short_code
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings import crew_note
from settingsdesk.domain.settings.card import Card
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import cards as kept_cards
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import Revision
from settingsdesk.store.work import ClubSession, Store


@dataclass(frozen=True, slots=True)
class IssuedCard:
    """One card on record; ``athlete_id`` is whose it is now, also where it was taken in."""

    id: str
    athlete_id: int
    apparatus_id: int
    apparatus_name: str
    version: int
    issued_on: date
    issued_by: str
    superseded: bool
    revoked: bool


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


class ForMeet(NamedTuple):
    """For which meet cards are, until when they count, and the days on which it is held."""

    meet_id: int
    counts_until: date
    days: tuple[date, ...]


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


def issue(
    session: ClubSession,
    code_key: CodeKey,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    *,
    with_club: bool = False,
) -> list[Card]:
    """Cards for those athletes on one apparatus, in the order given, ready to print.

    Of namesakes in the squad the start number is said, or the name is longer. An athlete whose
    card still says what counts gets that card again, with its code; otherwise
    a new version supersedes it. ``NobodyListed`` or ``WithoutSetting`` where one is lacking,
    ``CharacterNotInFont`` where a name has a character that cannot be printed.
    """
    if not athlete_ids:
        raise NobodyListed
    club = kept_clubs.this_club(session).name if with_club else ""
    members = desk_athletes.members(session, athlete_ids)
    piece = desk_apparatus.piece(session, apparatus_id)
    told = raises_told(session, athlete_ids, piece)
    called = apart_in_squad(session, members.values())
    named = {
        athlete_id: Named(
            club, member.person.start_number, told[athlete_id], called[athlete_id].name
        )
        for athlete_id, member in members.items()
    }
    return issue_named(
        session,
        code_key,
        piece,
        [(athlete_id, named[athlete_id]) for athlete_id in athlete_ids],
        entered(session, athlete_ids),
    )


def without_letters(session: ClubSession, athlete_ids: Sequence[int]) -> dict[int, str]:
    """Whose name cards cannot print, each with what is wrong with it, all at once.

    Leave them out of ``issue``, and everybody else gets their card.
    """
    found: dict[int, str] = {}
    for athlete_id, member in desk_athletes.members(session, athlete_ids).items():
        try:
            lettered(member.printed_name)
        except CharacterNotInFont as refusal:
            found[athlete_id] = f"{member.listed_name} has no card: {refusal}"
    return found


def issue_named(
    session: ClubSession,
    code_key: CodeKey,
    piece: Piece,
    wanted: Sequence[tuple[int, Named]],
    at_meets: Entered,
    meet: ForMeet | None = None,
) -> list[Card]:
    """The same, with what each card calls its athlete.

    ``meet`` is None for training, where they count for ever, and are for today's mats.

    A card that says the same and counts as long is given again. ``DropUnknown`` where no mark of
    the spread can be told.
    """
    piece.must_know_its_drop()
    unit = kept_clubs.this_club(session).length_unit
    ids = [athlete_id for athlete_id, _ in wanted]
    members = desk_athletes.members(session, ids)
    carried = desk_settings.on_piece(session, ids, piece)
    without = [members[athlete_id].listed_name for athlete_id in ids if athlete_id not in carried]
    if without:
        raise WithoutSetting(tuple(without), piece.model.kind.name.lower())
    meet_id, counts_until, days = meet or (None, None, (today(),))
    every = kept_cards.for_athletes(session, ids, piece.id)
    versions = {row.athlete_id: row.version for row in reversed(every)}
    theirs = at_meets.newest(every, meet_id)
    cards = []
    for athlete_id, named in wanted:
        text = text_of(members[athlete_id], carried[athlete_id], named, unit, days)
        must_be_printable(text)
        row = theirs.get(athlete_id)
        made_by = code_key.that_made(row.id, row.code_hash) if row else None
        if row is None or made_by is None or not _says_the_same(row, text, counts_until):
            version = versions.get(athlete_id, 0) + 1
            old, row = row, _new(session.by, code_key, athlete_id, piece.id, version, text)
            row.counts_until = counts_until
            if old is not None and old.superseded_at is None:
                old.superseded_at = row.issued_at
            session.add(row)
            made_by = code_key
        else:
            # What it is set by is the same; from now on it is printed as the setting is now.
            told = {"not_tried": text.not_tried, "line": row.content.get("line") or text.line}
            kept = [line["accepts"] for line in row.content["lines"]]
            if kept != [line.accepts for line in text.lines]:
                told["lines"] = text.to_data()["lines"]
            if any(row.content.get(name, "") != words for name, words in told.items()):
                row.content = {**row.content, **told}
        cards.append(_printable(made_by, row, text))
    session.flush()
    return cards


class Need(Enum):
    """Why somebody needs a card made, in the words of the page for it."""

    LACKING = "no card yet"
    """None was printed, or the last one was cancelled."""

    OLD = "out of date"
    """What is set by it is other than what counts now."""


def needed(
    session: ClubSession, code_key: CodeKey, piece: Piece, members: Collection[Member]
) -> dict[int, Need]:
    """Who of those athletes needs a card for training made, on one apparatus, by their numbers.

    Whoever has no setting for it is left out, and so is who has a card that still says what counts.
    """
    unit = Unit(kept_clubs.this_club(session).length_unit)
    known = {member.id: member for member in members}
    at_meets = entered(session, known)
    newest = at_meets.newest(kept_cards.for_athletes(session, known, piece.id), None)
    found = {}
    for athlete_id, own in desk_settings.on_piece(session, known, piece).items():
        row = newest.get(athlete_id)
        is_there = row is not None and row.revoked_at is None
        if row is None or not is_there or code_key.that_made(row.id, row.code_hash) is None:
            found[athlete_id] = Need.LACKING
            continue
        told = _raise_told(session, at_meets.of(athlete_id), piece, own, unit)
        now = text_of(known[athlete_id], own, Named(raise_request=told), unit.value)
        if verdict(CardText.from_data(row.content), now, None, None):
            found[athlete_id] = Need.OLD
    return found


@dataclass(frozen=True, slots=True)
class OutOfDate:
    """A card that was printed and says other than what counts now; no ``why``: it was cancelled."""

    version: int
    why: tuple[Difference, ...]


def out_of_date(
    session: ClubSession,
    piece: Piece,
    wanted: Sequence[tuple[Entrant, Named]],
    carried: Mapping[int, Carried],
    at_meets: Entered,
    meet_id: int,
) -> dict[int, OutOfDate]:
    """Whose newest card of those entries for an apparatus is out of date, by the athlete's number.

    Whoever has no card of that meet, or no setting any more, is left out; cards for training and
    of other meets are none of it.
    """
    unit = kept_clubs.this_club(session).length_unit
    every = kept_cards.for_athletes(session, [one.member.id for one, _ in wanted], piece.id)
    newest = at_meets.newest(every, meet_id)
    found: dict[int, OutOfDate] = {}
    for entrant, named in wanted:
        member = entrant.member
        row = newest.get(member.id)
        if row is None or member.id not in carried:
            continue
        now = text_of(member, carried[member.id], named, unit)
        ends = at_meets.ends[meet_id]
        why = verdict(CardText.from_data(row.content), now, row.counts_until, ends)
        if why or row.revoked_at is not None:
            found[member.id] = OutOfDate(row.version, why)
    return found


def _as_ever(text: CardText) -> CardText:
    """With the words of before for whose scale it is: with others a card is not out of date.

    Its lines are compared one by one.
    """
    lines = tuple(replace(line, mark="", length="", accepts="", note="") for line in text.lines)
    return replace(text, scale_used=as_first_said(text.scale_used), lines=lines)


def _says_the_same(row: kept_cards.Card, text: CardText, counts_until: date | None) -> bool:
    before = CardText.from_data(row.content)
    return (
        row.revoked_at is None
        and row.counts_until == counts_until
        and before.line in ("", text.line)
        and _as_ever(before) == _as_ever(text)
        and all(map(holds, before.lines, text.lines))
    )


def printed(
    session: ClubSession, code_key: CodeKey, apparatus_id: int, athlete_ids: Sequence[int]
) -> list[Card]:
    """The newest issued card of each, as it was issued, in the order given; changes nothing.

    ``NoneIssued`` where none of them has a card that counts, ``MarksChanged`` where somebody's
    setting was changed after it was made, ``NotInThisClub`` where there is no such apparatus.
    """
    kept_apparatus.by_id(session, apparatus_id)
    at_meets = entered(session, athlete_ids)
    found = newest(session, code_key, apparatus_id, athlete_ids, at_meets)
    if not found:
        raise NoneIssued
    return [found[athlete_id] for athlete_id in athlete_ids if athlete_id in found]


def newest(
    session: ClubSession,
    code_key: CodeKey,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    at_meets: Entered,
    meet_id: int | None = None,
) -> dict[int, Card]:
    """The same by athlete, of those for a meet or for training; who has none is left out.

    ``MarksChanged``: a page that stayed open, or a file that is asked for again, would print the
    marks of before.
    """
    every = kept_cards.for_athletes(session, athlete_ids, apparatus_id)
    rows = {
        athlete_id: (row, made_by)
        for athlete_id, row in at_meets.newest(every, meet_id).items()
        if row.revoked_at is None
        and (made_by := code_key.that_made(row.id, row.code_hash)) is not None
    }
    changed = kept_cards.set_anew_since(session, [row.id for row, _ in rows.values()])
    if changed:
        raise MarksChanged([desk_athletes.member_of(one).listed_name for one in changed])
    return {
        athlete_id: _printable(made_by, row, CardText.from_data(row.content))
        for athlete_id, (row, made_by) in rows.items()
    }


def have_cards(
    session: ClubSession, apparatus_id: int, athlete_ids: Sequence[int]
) -> frozenset[int]:
    """Which of those athletes have a card for an apparatus that nobody has cancelled."""
    newest: dict[int, kept_cards.Card] = {}
    for row in kept_cards.for_athletes(session, athlete_ids, apparatus_id):
        newest.setdefault(row.athlete_id, row)
    return frozenset(number for number, row in newest.items() if row.revoked_at is None)


def of_athlete(session: ClubSession, athlete_id: int) -> list[IssuedCard]:
    """Every card of an athlete, the newest first."""
    return [_on_record(row) for row in kept_cards.of_athlete(session, athlete_id)]


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


def issued(session: ClubSession, card_id: str) -> IssuedCard:
    """One card on record; ``NotInThisClub`` where there is none."""
    return _on_record(kept_cards.by_id(session, card_id))


def revoke(session: ClubSession, card_id: str) -> None:
    """Make a card's code open nothing any more, at once and for good."""
    row = kept_cards.by_id(session, card_id)
    if row.revoked_at is None:
        row.revoked_at = utc_now()
        session.flush()


def find(session: ClubSession, code_key: CodeKey, code: str) -> IssuedCard:
    """The card with that code, long or short as it was ``read_off``; ``NeverIssued``."""
    if is_scanned(code):
        row = kept_cards.by_code_hash(session, code_hash(code))
        if row is not None:
            return _on_record(row)
        raise NeverIssued
    for key in code_key.each():
        row = kept_cards.by_short_code_mark(session, key.found_by(CARDS, code))
        if row is not None:
            return _on_record(row)
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
    return _printable(made_by, row, replace(CardText.from_data(row.content), name=name, club=""))


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
        raised = _raise_told(self._session, asked, self._pieces[apparatus_id], own, self._unit)
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


def raises_told(session: ClubSession, athlete_ids: Sequence[int], piece: Piece) -> dict[int, str]:
    """What is told of each one's request to raise the rails of an apparatus; or nothing."""
    unit = Unit(kept_clubs.this_club(session).length_unit)
    carried = desk_settings.on_piece(session, athlete_ids, piece)
    entered: dict[int, list[Entrant]] = {athlete_id: [] for athlete_id in athlete_ids}
    for entrant in desk_entries.entered_of(session, athlete_ids):
        entered[entrant.member.id].append(entrant)
    return {
        athlete_id: _raise_told(session, theirs, piece, carried.get(athlete_id), unit)
        for athlete_id, theirs in entered.items()
    }


def _raise_told(
    session: ClubSession,
    entered: Iterable[Entrant],
    piece: Piece,
    own: Carried | None,
    unit: Unit,
) -> str:
    """The same of one athlete with those entries; the latest that asks for something counts."""
    steps = (entrant.raises.get(piece.id) for entrant in entered)
    step = next((step for step in steps if step is not None), None)
    return told_with_marks(session, step, own, step.on_a_card(unit)) if step else ""


def must_be_printable(text: CardText) -> None:
    """Raise ``CharacterNotInFont`` for what the card's letters cannot print."""
    for words in (
        text.name,
        text.club,
        text.start_number,
        text.apparatus,
        text.model,
        text.raise_request,
        text.unmeasured,
        text.crew_note,
        text.not_tried,
    ):
        lettered(words)


def _on_record(row: kept_cards.Card) -> IssuedCard:
    return IssuedCard(
        id=row.id,
        athlete_id=row.athlete.taken_into_id or row.athlete_id,
        apparatus_id=row.apparatus_id,
        apparatus_name=row.apparatus.name,
        version=row.version,
        issued_on=local_date(row.issued_at),
        issued_by=row.issued_by,
        superseded=row.superseded_at is not None,
        revoked=row.revoked_at is not None,
    )


def _new(
    by: str, code_key: CodeKey, athlete_id: int, apparatus_id: int, version: int, text: CardText
) -> kept_cards.Card:
    card_id = kept_cards.new_card_id()
    return kept_cards.Card(
        id=card_id,
        athlete_id=athlete_id,
        apparatus_id=apparatus_id,
        version=version,
        content=text.to_data(),
        code_hash=code_hash(card_code(code_key.secret, card_id)),
        short_code_mark=code_key.found_by(CARDS, short_code(code_key.secret, card_id)),
        issued_by=by,
        issued_at=utc_now(),
    )


def _printable(code_key: CodeKey, row: kept_cards.Card, text: CardText) -> Card:
    return Card(
        name=text.name,
        club=text.club,
        start_number=text.start_number,
        apparatus=text.apparatus,
        model=text.model,
        scale_used=text.scale_used,
        lines=text.lines,
        drawing=text.drawing,
        version=row.version,
        issued_on=local_date(row.issued_at),
        url=code_key.address(row.id),
        short_code=short_code(code_key.secret, row.id),
        raise_request=text.raise_request,
        counts_until=row.counts_until,
        seen_from=text.seen_from,
        unmeasured=text.unmeasured,
        crew_note=crew_note.told(text.crew_note),
        above_mat=text.above_mat,
        line=text.line,
        not_tried=text.not_tried,
    )


class NoneIssued(SettingsDeskError):
    """Cards are to be printed that were never made, or were all withdrawn."""

    sentence = Sentence(
        "None of the athletes asked for has a card for this apparatus that counts: choose on the"
        " page Cards whose cards to make"
    )


class MarksChanged(SettingsDeskError):
    """Cards that were made are to be printed, and somebody's setting was changed meanwhile."""

    def __init__(self, names: Sequence[str]):
        self.names = tuple(names)

    def __str__(self) -> str:
        return (
            f"Changed since these cards were made: the setting of {Series(self.names, 'and')}. None"
            " is printed with marks of before: make the cards again, then print them"
        )


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
