"""Every entrant's setting on the hall's apparatus, and what is to be settled before the day.

Nothing is settled here by itself: a person enters another setting, asks the jury, or says that it
is accepted, and the list grows shorter.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.cards.issued import must_be_printable
from settingsdesk.desk.cards.text import Named, text_of
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import start_orders, unsettled_lines
from settingsdesk.desk.meets.called import not_told_apart
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet, MeetPiece
from settingsdesk.desk.meets.raise_requests import is_open, told_with_marks
from settingsdesk.desk.meets.unsettled_lines import OpenLine
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.rule_books import OutsideRule, RuleBook, outside
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class MeetTransfer:
    """An entrant on one apparatus of the meet: the closest marks, and what is to be settled.

    ``carried`` is None where the entrant is on a start order and no setting for the kind is
    entered. ``open`` is empty where nothing is to be settled; each of its sentences says what is,
    ``cited`` what the limits in them are taken from.
    """

    entrant: Entrant
    stands: MeetPiece
    carried: Carried | None
    open: tuple[str, ...]
    cited: tuple[str, ...] = ()

    @property
    def is_settled(self) -> bool:
        """Whether nothing is to be done before the day."""
        return not self.open


@dataclass(frozen=True, slots=True)
class MeetTransfers:
    """All entrants on all apparatus of a meet, apparatus by apparatus.

    ``everybody`` is or was entered, all or so many of them; ``nowhere`` are those of them who have
    a setting for none of the meet's apparatus, ``left_out`` the lines of clubs' lists that were not
    taken and that nobody has settled. ``namesakes`` are entrants with one printed name whom no
    start numbers tell apart; they are looked for among all entrants only.
    """

    everybody: tuple[Entrant, ...]
    lines: tuple[MeetTransfer, ...]
    nowhere: tuple[Entrant, ...]
    left_out: tuple[OpenLine, ...]
    namesakes: tuple[tuple[Entrant, ...], ...]

    @property
    def to_settle(self) -> tuple[MeetTransfer, ...]:
        """Those with something to be settled before the day."""
        return tuple(line for line in self.lines if not line.is_settled)

    @property
    def cited(self) -> tuple[str, ...]:
        """The sources of all limits, each once."""
        return tuple(dict.fromkeys(chain.from_iterable(line.cited for line in self.lines)))

    @property
    def athletes_to_settle(self) -> frozenset[int]:
        """The numbers of all about whom something is to be settled."""
        of_lines = {line.entrant.member.id for line in self.to_settle}
        of_lists = {
            open_line.line.athlete_id
            for open_line in self.left_out
            if open_line.line.athlete_id is not None
        }
        others = (*self.nowhere, *chain.from_iterable(self.namesakes))
        return frozenset(of_lines | of_lists | {entrant.member.id for entrant in others})

    @property
    def count(self) -> int:
        """How many things are to be settled."""
        lacking = len(self.nowhere) + len(self.left_out) + len(self.namesakes)
        return len(self.to_settle) + lacking


@dataclass(frozen=True, slots=True)
class Grounds:
    """What every transfer of a meet rests on, whoever it is of; loaded once for all of them.

    ``listed`` is who is on a start order, by the apparatus's number.
    """

    meet: Meet
    books: Mapping[str, RuleBook]
    unit: Unit
    listed: Mapping[int, frozenset[int]]
    left_out: tuple[OpenLine, ...]


def grounds(session: ClubSession, meet: Meet) -> Grounds:
    """What the transfers of a meet rest on now."""
    return Grounds(
        meet,
        books={book.name: book for book in desk_rule_books.all_books(session)},
        unit=Unit(kept_clubs.this_club(session).length_unit),
        listed=start_orders.listed_on(session, meet),
        left_out=tuple(unsettled_lines.still_open(session, meet.id)),
    )


def transfers(
    session: ClubSession,
    grounds: Grounds,
    most: int | None = None,
    after: int = 0,
    club: str = "",
) -> MeetTransfers:
    """Whoever is entered and has a setting for a kind, on every apparatus of it at the meet.

    Whoever is on start orders is left out of apparatus that has orders without them, and is there
    on those that have them, with no setting for it too, but one for another kind. All who are
    entered, or at most so many after so many others, by club and name, or those of one ``club``;
    the lines of lists that are about nobody come with the first of them.
    """
    meet = grounds.meet
    everybody = tuple(desk_entries.entrants(session, meet.id, most, after, club))
    entrants = [entrant for entrant in everybody if entrant.is_in]
    ids = [entrant.member.id for entrant in entrants]
    carried = desk_settings.on_pieces(session, ids, [stands.piece for stands in meet.pieces])
    placed = {athlete_id for on_piece in carried.values() for athlete_id in on_piece}
    starting = frozenset(chain.from_iterable(grounds.listed.values()))
    lines = tuple(
        _line(session, entrant, stands, carried[stands.piece.id].get(entrant.member.id), grounds)
        for stands in meet.pieces
        for listed in [grounds.listed.get(stands.piece.id, frozenset())]
        for entrant in entrants
        if (entrant.member.id in placed and entrant.member.id in listed)
        or (
            entrant.member.id in carried[stands.piece.id]
            and not (listed and entrant.member.id in starting)
        )
    )
    nowhere = tuple(entrant for entrant in entrants if entrant.member.id not in placed)
    about = {*ids, None} if after == 0 else {*ids}
    left_out = tuple(
        open_line
        for open_line in grounds.left_out
        if open_line.line.athlete_id in about
        and (open_line.line.athlete_id is not None or club in ("", open_line.sent_by))
    )
    alike = () if most is not None else tuple(not_told_apart(entrants))
    return MeetTransfers(everybody, lines, nowhere, left_out, alike)


@dataclass(frozen=True, slots=True)
class Overview:
    """Open questions of a meet, or of one club: how much on each page, and the namesakes.

    These are counted on the first page. ``clubs`` says of each club what the ``count`` of its own
    pages comes to, so namesakes of several clubs are in none of them.
    """

    counts: tuple[int, ...]
    namesakes: tuple[tuple[Entrant, ...], ...]
    clubs: Mapping[str, int]
    of_no_club: int
    """How much of it no single club's pages have."""

    @property
    def count(self) -> int:
        """How much it is on all pages together."""
        return sum(self.counts)


def overview(session: ClubSession, grounds: Grounds, on_a_page: int, club: str = "") -> Overview:
    """How much is to be settled of each so many entrants of a meet: a page's ``count`` for each."""
    whole = transfers(session, grounds, club=club)
    at = {entrant.member.id: number for number, entrant in enumerate(whole.everybody)}
    club_of = {entrant.member.id: entrant.from_club for entrant in whole.everybody}
    pages = [0] * max(1, -(-len(at) // on_a_page))
    clubs = dict.fromkeys(club_of.values(), 0)
    for athlete_id, sent_by in (
        *((line.entrant.member.id, "") for line in whole.to_settle),
        *((entrant.member.id, "") for entrant in whole.nowhere),
        *((open_line.line.athlete_id, open_line.sent_by) for open_line in whole.left_out),
    ):
        pages[at.get(athlete_id or 0, 0) // on_a_page] += 1
        theirs = club_of.get(athlete_id or 0, sent_by)
        clubs[theirs] = clubs.get(theirs, 0) + 1
    pages[0] += len(whole.namesakes)
    of_no_club = clubs.get("", 0)
    in_a_club: set[int] = set()
    for theirs in clubs:
        of_club = [one for one in whole.everybody if one.is_in and one.from_club == theirs]
        alike = not_told_apart(of_club)
        clubs[theirs] += len(alike)
        if theirs:
            in_a_club |= {entrant.member.id for one_name in alike for entrant in one_name}
    # Two of one club and two of another have one name: that is on the pages of both, and once here.
    of_no_club += sum(
        in_a_club.isdisjoint(entrant.member.id for entrant in one_name)
        for one_name in whole.namesakes
    )
    return Overview(tuple(pages), whole.namesakes, clubs, of_no_club)


def _line(
    session: ClubSession,
    entrant: Entrant,
    stands: MeetPiece,
    carried: Carried | None,
    grounds: Grounds,
) -> MeetTransfer:
    if carried is None:
        return MeetTransfer(entrant, stands, None, (no_setting_for(stands.piece),))
    book = grounds.books.get(stands.rule_book)
    measures_mm = {axis.axis.key: axis.measure_mm for axis in carried.transfer.best.axes}
    kind = stands.piece.model.kind
    broken = outside([book] if book else [], kind, stands.level, measures_mm)
    told = _told(session, entrant, stands, carried, broken, grounds.unit)
    cited = dict.fromkeys(limit.cited for limit in broken)
    return MeetTransfer(entrant, stands, carried, tuple(told), tuple(cited))


def no_setting_for(piece: Piece) -> str:
    """What is lacking of whoever has no setting for the kind of an apparatus."""
    return f"no setting for {piece.model.kind.name.lower()} is entered"


def _told(
    session: ClubSession,
    entrant: Entrant,
    stands: MeetPiece,
    carried: Carried,
    broken: Sequence[OutsideRule],
    unit: Unit,
) -> Iterator[str]:
    fit, piece = carried.transfer.best, stands.piece
    if carried.not_tried:
        yield f"{carried.not_tried}: it began with another athlete's setting"
    yield from (axis.warning_in(unit) for axis in fit.axes if axis.warning_in(unit))
    yield from (limit.without_source(unit) for limit in broken)
    request = entrant.raises.get(piece.id)
    if request is not None and request.step == "asked":
        yield request.in_words(unit)
    if request is not None:
        told = told_with_marks(session, request, carried, request.in_words(unit))
        if is_open(told):
            yield (
                f"{told}. Enter the raised setting; where its marks are the right ones, record on"
                " the entry that they include it"
            )
    try:
        must_be_printable(
            text_of(
                entrant.member,
                carried,
                Named(entrant.from_club, entrant.start_number),
                unit.value,
            )
        )
    except CharacterNotInFont as refusal:
        yield str(refusal)
