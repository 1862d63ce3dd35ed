"""The cards of a whole meet: grouped as they are handed out, issued, and printed again.

Whoever cannot have a card is named with what is lacking; everybody else gets theirs all the same.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.cards import counting
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.cards.issued import ForMeet, OutOfDate, must_be_printable
from settingsdesk.desk.cards.text import Named, text_of
from settingsdesk.desk.hall.apparatus import DropUnknown, Piece
from settingsdesk.desk.meet_day.transfers import no_setting_for
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets import unsettled_lines as desk_unsettled_lines
from settingsdesk.desk.meets.called import called_at_meet
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.names_apart import Called
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first
from settingsdesk.domain.base.sentences import Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store.work import ClubSession


class Grouping(Enum):
    """In which order the cards of a meet come out of the printer."""

    BY_START = "start"
    """Session, rotation and apparatus, in start order."""

    BY_CLUB = "club"
    """Club by club, each athlete's cards together."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Somebody who gets no card for an apparatus, and what is lacking."""

    entrant: Entrant
    apparatus: str
    why: str


@dataclass(frozen=True, slots=True)
class Group:
    """Cards that are handed out together: whose, for which apparatus, in order."""

    heading: str
    wanted: tuple[tuple[int, Entrant], ...]
    """Pairs of the apparatus's number and the entrant."""


@dataclass(frozen=True, slots=True)
class MeetCards:
    """Cards in their groups, ready to print, and whoever gets none.

    ``elsewhere`` are those of whom no card is expected: they have a setting for another apparatus
    of the meet, none for this one, and are on no start order of it.
    """

    groups: tuple[tuple[str, tuple[Card, ...]], ...]
    left_out: tuple[LeftOut, ...]
    elsewhere: tuple[LeftOut, ...] = ()

    @property
    def count(self) -> int:
        """How many cards there are."""
        return sum(len(cards) for _, cards in self.groups)


@dataclass(frozen=True, slots=True)
class Choice:
    """Which cards of a meet: of which apparatus, clubs and entries; None is all of them.

    ``cards`` are single ones, each by the numbers of its apparatus and its entry.
    """

    grouping: Grouping = Grouping.BY_START
    apparatus_ids: tuple[int, ...] | None = None
    clubs: tuple[str, ...] | None = None
    entry_ids: tuple[int, ...] | None = None
    cards: tuple[tuple[int, int], ...] | None = None

    def has(self, apparatus_id: int, entrant: Entrant) -> bool:
        """Whether that entrant's card for that apparatus is asked for."""
        return (
            entrant.is_in
            and (self.apparatus_ids is None or apparatus_id in self.apparatus_ids)
            and (self.clubs is None or entrant.from_club in self.clubs)
            and (self.entry_ids is None or entrant.entry_id in self.entry_ids)
            and (self.cards is None or (apparatus_id, entrant.entry_id) in self.cards)
        )


@dataclass(frozen=True, slots=True)
class ChangedCard:
    """A card that was made, and says other than what counts now; ``why`` in a few words."""

    entrant: Entrant
    piece: Piece
    version: int
    why: str

    @property
    def numbers(self) -> tuple[int, int]:
        """By which a ``Choice`` names it."""
        return self.piece.id, self.entrant.entry_id


def changed(session: ClubSession, meet: Meet, entrants: Sequence[Entrant]) -> list[ChangedCard]:
    """The cards of a meet that are out of date, apparatus by apparatus: these are to be made anew.

    A card nobody made yet is none of them, nor is that of somebody who does not come.
    """
    coming = [entrant for entrant in entrants if entrant.is_in]
    called = called_at_meet(coming)
    pieces = [stands.piece for stands in meet.pieces]
    carried = desk_settings.on_pieces(session, {entrant.member.id for entrant in coming}, pieces)
    ids = {entrant.member.id for entrant in coming}
    at_meets = counting.entered(session, ids, _ends(meet))
    found = []
    for piece in pieces:
        wanted = [(entrant, _named(session, entrant, piece, called)) for entrant in coming]
        old = desk_issued.out_of_date(session, piece, wanted, carried[piece.id], at_meets, meet.id)
        found += [
            ChangedCard(entrant, piece, one.version, _why(one))
            for entrant in coming
            if (one := old.get(entrant.member.id)) is not None
        ]
    return found


def _why(old: OutOfDate) -> str:
    if not old.why:
        return "it was cancelled"
    what = (one.axis if place == 0 else lower_first(one.axis) for place, one in enumerate(old.why))
    return f"{Series(tuple(what), 'and')} changed"


def groups(
    session: ClubSession, meet: Meet, entrants: Sequence[Entrant], choice: Choice
) -> list[Group]:
    """The cards that are asked for, in the groups in which they are handed out.

    By start, whoever stands on no start order of an apparatus comes last, so that nobody is
    forgotten.
    """
    if choice.grouping is Grouping.BY_CLUB:
        found = _by_club(meet, entrants, choice)
    else:
        found = _by_start(session, meet, entrants, choice)
    return [group for group in found if group.wanted]


def issue(session: ClubSession, code_key: CodeKey, meet_id: int, choice: Choice) -> MeetCards:
    """Issue the cards that are asked for and can be printed; who gets none is told with why.

    A card that still says what counts is given again; any other is replaced by a new version.
    ``NobodyToPrintFor`` where nobody gets one.
    """
    meet = desk_meets.meet(session, meet_id)
    entrants = desk_entries.entrants(session, meet_id)
    wanted = groups(session, meet, entrants, choice)
    unit = Unit(kept_clubs.this_club(session).length_unit)
    coming = (entrant for entrant in entrants if entrant.is_in)
    called = called_at_meet(coming)
    able, left_out, elsewhere = _able(session, meet, wanted, unit, called)
    at_meets = counting.entered(session, _ids(able), _ends(meet))
    cards: dict[tuple[int, int], Card] = {}
    for stands in meet.pieces:
        named = [
            (entrant.member.id, _named(session, entrant, stands.piece, called))
            for entrant in _once(able, stands.piece.id)
        ]
        if named:
            made = desk_issued.issue_named(
                session,
                code_key,
                stands.piece,
                named,
                at_meets,
                ForMeet(meet_id, meet.facts.cards_until, meet.days),
            )
            pairs = zip(named, made, strict=True)
            cards |= {(stands.piece.id, athlete_id): card for (athlete_id, _), card in pairs}
    return _in_groups(wanted, cards, left_out, elsewhere)


def printed(session: ClubSession, code_key: CodeKey, meet_id: int, choice: Choice) -> MeetCards:
    """The newest issued cards, as they were issued; changes nothing.

    Whoever has none yet is left out unsaid. ``NobodyToPrintFor`` where there is none at all,
    ``MarksChanged`` where somebody's setting was changed after theirs was made.
    """
    meet = desk_meets.meet(session, meet_id)
    wanted = groups(session, meet, desk_entries.entrants(session, meet_id), choice)
    at_meets = counting.entered(session, _ids(wanted), _ends(meet))
    cards: dict[tuple[int, int], Card] = {}
    for stands in meet.pieces:
        ids = [entrant.member.id for entrant in _once(wanted, stands.piece.id)]
        found = desk_issued.newest(session, code_key, stands.piece.id, ids, at_meets, meet_id)
        cards |= {(stands.piece.id, athlete_id): card for athlete_id, card in found.items()}
    return _in_groups(wanted, cards)


def _in_groups(
    wanted: Sequence[Group],
    cards: dict[tuple[int, int], Card],
    left_out: Sequence[LeftOut] = (),
    elsewhere: Sequence[LeftOut] = (),
) -> MeetCards:
    if not cards:
        raise NobodyToPrintFor([*left_out, *elsewhere])
    found = (
        (
            group.heading,
            tuple(
                cards[(apparatus_id, entrant.member.id)]
                for apparatus_id, entrant in group.wanted
                if (apparatus_id, entrant.member.id) in cards
            ),
        )
        for group in wanted
    )
    some_of = tuple((heading, some) for heading, some in found if some)
    return MeetCards(some_of, tuple(left_out), tuple(elsewhere))


def _by_club(meet: Meet, entrants: Sequence[Entrant], choice: Choice) -> Iterator[Group]:
    for club in dict.fromkeys(entrant.from_club for entrant in entrants):
        yield Group(
            club,
            tuple(
                (stands.piece.id, entrant)
                for entrant in entrants
                if entrant.from_club == club
                for stands in meet.pieces
                if choice.has(stands.piece.id, entrant)
            ),
        )


def _by_start(
    session: ClubSession, meet: Meet, entrants: Sequence[Entrant], choice: Choice
) -> Iterator[Group]:
    by_athlete = {entrant.member.id: entrant for entrant in entrants}
    placed: set[tuple[int, int]] = set()
    for line in start_orders.orders_at(session, meet):
        wanted = [
            (line.apparatus_id, by_athlete[athlete_id])
            for athlete_id in line.athlete_ids
            if athlete_id in by_athlete and choice.has(line.apparatus_id, by_athlete[athlete_id])
        ]
        placed |= {(apparatus_id, entrant.member.id) for apparatus_id, entrant in wanted}
        yield Group(
            Sentence(
                "%(rotation)s, %(apparatus)s", rotation=line.in_words, apparatus=line.apparatus
            ),
            tuple(wanted),
        )
    for stands in meet.pieces:
        rest = (
            (stands.piece.id, entrant)
            for entrant in entrants
            if choice.has(stands.piece.id, entrant)
            and (stands.piece.id, entrant.member.id) not in placed
        )
        yield Group(f"On no start order of {stands.piece.name} yet", tuple(rest))


def _able(
    session: ClubSession,
    meet: Meet,
    wanted: Sequence[Group],
    unit: Unit,
    called: Mapping[int, Called],
) -> tuple[list[Group], list[LeftOut], list[LeftOut]]:
    """The groups without those who cannot have a card, and these with what is lacking.

    They are in two lists: of whom a card is expected, and of whom none is.
    """
    lacking: dict[tuple[int, int], LeftOut] = {}
    everybody = {entrant.member.id for group in wanted for _, entrant in group.wanted}
    pieces = [stands.piece for stands in meet.pieces]
    carried = desk_settings.on_pieces(session, everybody, pieces)
    for piece in pieces:
        for entrant in _once(wanted, piece.id):
            own = carried[piece.id].get(entrant.member.id)
            why = _why_not(session, entrant, piece, own, unit, called)
            if why:
                lacking[(piece.id, entrant.member.id)] = LeftOut(entrant, piece.name, why)
    able = [
        Group(
            group.heading,
            tuple(pair for pair in group.wanted if (pair[0], pair[1].member.id) not in lacking),
        )
        for group in wanted
    ]
    placed = {athlete_id for on_piece in carried.values() for athlete_id in on_piece}
    named = _in_a_left_out_line(session, meet.id) | (everybody - placed)
    listed = start_orders.listed_on(session, meet)
    elsewhere = {
        (apparatus_id, athlete_id)
        for apparatus_id, athlete_id in lacking
        if athlete_id not in carried[apparatus_id]
        and athlete_id not in named
        and athlete_id not in listed.get(apparatus_id, ())
    }
    return (
        able,
        [entrant for pair, entrant in lacking.items() if pair not in elsewhere],
        [entrant for pair, entrant in lacking.items() if pair in elsewhere],
    )


def _in_a_left_out_line(session: ClubSession, meet_id: int) -> set[int]:
    """Of whom a club's list said something that was not taken: it may be the very setting."""
    lines = desk_unsettled_lines.still_open(session, meet_id)
    return {line.line.athlete_id for line in lines if line.line.athlete_id is not None}


def _why_not(
    session: ClubSession,
    entrant: Entrant,
    piece: Piece,
    carried: Carried | None,
    unit: Unit,
    called: Mapping[int, Called],
) -> str:
    if carried is None:
        return no_setting_for(piece)
    try:
        piece.must_know_its_drop()
        named = _named(session, entrant, piece, called)
        must_be_printable(text_of(entrant.member, carried, named, unit.value))
    except DropUnknown as refusal:
        return refusal.told(unit)
    except CharacterNotInFont as refusal:
        return str(refusal)
    return ""


def _named(
    session: ClubSession, entrant: Entrant, piece: Piece, called: Mapping[int, Called]
) -> Named:
    """Number and club have their places on a card: the name alone is another where they fail."""
    number = entrant.member.id
    told = desk_issued.raises_told(session, [number], piece)[number] if entrant.raises else ""
    name = called[entrant.member.id].name
    return Named(entrant.from_club, entrant.start_number, told, name)


def _ends(meet: Meet) -> dict[int, date]:
    return {meet.id: meet.facts.cards_until}


def _ids(wanted: Iterable[Group]) -> set[int]:
    return {entrant.member.id for group in wanted for _, entrant in group.wanted}


def _once(wanted: Iterable[Group], apparatus_id: int) -> list[Entrant]:
    """Everybody whose card for an apparatus is among the groups, each once."""
    found = {
        entrant.member.id: entrant
        for group in wanted
        for number, entrant in group.wanted
        if number == apparatus_id
    }
    return list(found.values())


class NobodyToPrintFor(SettingsDeskError):
    """Cards of a meet were asked for, and there is none to print."""

    def __init__(self, left_out: Sequence[LeftOut]) -> None:
        self.left_out = tuple(left_out)

    def __str__(self) -> str:
        if not self.left_out:
            return "There is no card to print: choose others, or make the cards first"
        first = self.left_out[0]
        return (
            f"There is no card to print. The first who can have none:"
            f" {first.entrant.member.listed_name}, {first.apparatus}: {first.why}"
        )
