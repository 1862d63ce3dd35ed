"""Cards: issued, printed, listed and withdrawn."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from typing import NamedTuple

from settingsdesk.cards.lettering import CharacterNotInFont, lettered
from settingsdesk.desk.cards.code_address import CARDS, CodeKey
from settingsdesk.desk.cards.counting import Difference, Entered, entered, verdict
from settingsdesk.desk.cards.text import CardText, Named, says_the_same, text_of
from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece, as_first_said
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.raise_requests import told_with_marks
from settingsdesk.desk.rotations.rotation import NobodyListed, WithoutSetting
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.names_apart import apart_in_squad
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.codes import card_code, code_hash, short_code
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings import crew_note
from settingsdesk.domain.settings.card import Card
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import cards as kept_cards
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession


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


class ForMeet(NamedTuple):
    """For which meet cards are, until when they count, and the days on which it is held."""

    meet_id: int
    counts_until: date
    days: tuple[date, ...]


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
        cards.append(printable(made_by, row, text))
    session.flush()
    return cards


class Need(Enum):
    """Why somebody needs a card made, in the words of the page for it."""

    LACKING = "no card yet"
    """None was printed, or its code can no longer be made."""

    CANCELLED = "the card was cancelled"
    """The last one was, and none was printed since."""

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
        if row is not None and row.revoked_at is not None:
            found[athlete_id] = Need.CANCELLED
            continue
        if row is None or code_key.that_made(row.id, row.code_hash) is None:
            found[athlete_id] = Need.LACKING
            continue
        told = raise_told(session, at_meets.of(athlete_id), piece, own, unit)
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
        and all(map(says_the_same, before.lines, text.lines))
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
        athlete_id: printable(made_by, row, CardText.from_data(row.content))
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
    return [on_record(row) for row in kept_cards.of_athlete(session, athlete_id)]


def issued(session: ClubSession, card_id: str) -> IssuedCard:
    """One card on record; ``NotInThisClub`` where there is none."""
    return on_record(kept_cards.by_id(session, card_id))


def revoke(session: ClubSession, card_id: str) -> None:
    """Make a card's code open nothing any more, at once and for good."""
    row = kept_cards.by_id(session, card_id)
    if row.revoked_at is None:
        row.revoked_at = utc_now()
        session.flush()


def raises_told(session: ClubSession, athlete_ids: Sequence[int], piece: Piece) -> dict[int, str]:
    """What is told of each one's request to raise the rails of an apparatus; or nothing."""
    unit = Unit(kept_clubs.this_club(session).length_unit)
    carried = desk_settings.on_piece(session, athlete_ids, piece)
    entered: dict[int, list[Entrant]] = {athlete_id: [] for athlete_id in athlete_ids}
    for entrant in desk_entries.entered_of(session, athlete_ids):
        entered[entrant.member.id].append(entrant)
    return {
        athlete_id: raise_told(session, theirs, piece, carried.get(athlete_id), unit)
        for athlete_id, theirs in entered.items()
    }


def raise_told(
    session: ClubSession,
    entered: Iterable[Entrant],
    piece: Piece,
    own: Carried | None,
    unit: Unit,
) -> str:
    """What is told of an athlete's request to raise the rails of an apparatus; or nothing.

    Of several entries the latest that asks for something counts.
    """
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


def on_record(row: kept_cards.Card) -> IssuedCard:
    """What is told of a card that was issued."""
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


def printable(code_key: CodeKey, row: kept_cards.Card, text: CardText) -> Card:
    """A card as it is drawn, with the codes of the key that made it."""
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
