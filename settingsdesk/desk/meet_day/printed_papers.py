"""Papers of a meet that were printed, and say other than what counts now: cards and crew sheets."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets
from settingsdesk.desk.meet_day.cards import ChangedCard, Choice, Grouping
from settingsdesk.desk.meet_day.crew_sheets import CrewSheet
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class OutOfUse:
    """A rotation with turns left on an apparatus that is out of use, and its papers.

    ``is_printed`` says that there is a crew sheet on paper, ``with_cards`` who of them has a card
    for that apparatus.
    """

    sheet: CrewSheet
    is_printed: bool
    with_cards: tuple[Entrant, ...]


@dataclass(frozen=True, slots=True)
class Outdated:
    """The papers of a meet that are out of date: the cards, and the crew sheets as they are now.

    ``out_of_use`` are those by which nothing may be set before their apparatus is released; new
    ones would be no better.
    """

    meet: Meet
    cards: tuple[ChangedCard, ...]
    sheets: tuple[CrewSheet, ...]
    out_of_use: tuple[OutOfUse, ...]


@dataclass(frozen=True, slots=True)
class Papers:
    """Papers to be printed: the choice of cards, and the rotations of the crew sheets."""

    meet: Meet
    cards: Choice | None
    rotation_ids: tuple[int, ...]


def outdated(session: ClubSession, meet_id: int) -> Outdated:
    """What was printed and has changed since; what was never printed is none of it.

    Nor is the crew sheet of a rotation that is over.
    """
    meet = desk_meets.meet(session, meet_id)
    entrants = desk_entries.entrants(session, meet_id)
    withdrawn = {stands.piece.id for stands in meet.pieces if stands.piece.withdrawal}
    cards = desk_cards.changed(session, meet, entrants)
    rows = kept_rotations.start_orders(session, [meet_session.id for meet_session in meet.sessions])
    asked = [row for row in rows if row.printed_version or row.apparatus_id in withdrawn]
    kept = {row.rotation_id: row.printed_version for row in asked}
    sheets = crew_sheets.of_rotations(session, kept)
    old = [
        sheet
        for sheet in sheets
        if not sheet.is_over
        and not sheet.piece.withdrawal
        and not _holds(session, kept[sheet.line.rotation_id], sheet)
    ]
    return Outdated(
        meet, tuple(cards), tuple(old), tuple(_out_of_use(session, sheets, kept, entrants))
    )


def _out_of_use(
    session: ClubSession,
    sheets: Iterable[CrewSheet],
    kept: Mapping[int, str],
    entrants: Iterable[Entrant],
) -> Iterator[OutOfUse]:
    """The rotations with turns left on apparatus out of use of which there is any paper."""
    known = {entrant.member.id: entrant for entrant in entrants}
    for sheet in sheets:
        if not sheet.piece.withdrawal or not sheet.to_come:
            continue
        ids = list(dict.fromkeys(line.athlete_id for line in sheet.to_come))
        carded = desk_issued.have_cards(session, sheet.piece.id, ids)
        with_cards = tuple(known[one] for one in ids if one in carded and one in known)
        is_printed = bool(kept[sheet.line.rotation_id])
        if is_printed or with_cards:
            yield OutOfUse(sheet, is_printed, with_cards)


def still_holds(session: ClubSession, sheet: CrewSheet) -> bool | None:
    """Whether a crew sheet that was printed last says what counts; None where none was."""
    [row] = kept_rotations.start_orders_of(session, [sheet.line.rotation_id])
    return _holds(session, row.printed_version, sheet) if row.printed_version else None


def _holds(session: ClubSession, kept: str, sheet: CrewSheet) -> bool:
    """Whether a paper of which that was kept says what counts.

    Of a paper of before this was told turn by turn, what is kept stands for all of it: it is
    compared with the sheet of just before its rotation began.
    """
    if sheet.progress is not None and crew_sheet_words.is_kept_in_short(kept):
        begun = crew_sheets.as_begun(session, sheet.line.rotation_id)
        if not crew_sheet_words.still_holds(kept, begun):
            return False
        kept = crew_sheet_words.printed_version(begun)
    return crew_sheet_words.still_holds(kept, sheet)


def note_printed(session: ClubSession, sheets: Iterable[CrewSheet]) -> None:
    """Keep what these crew sheets say, as they go to the printer."""
    said = {sheet.line.rotation_id: crew_sheet_words.printed_version(sheet) for sheet in sheets}
    for row in kept_rotations.start_orders_of(session, said):
        row.printed_version = said[row.rotation_id]
    session.flush()


def renew(session: ClubSession, code_key: CodeKey, meet_id: int) -> Papers:
    """Make everything that is out of date anew, and nothing else."""
    old = outdated(session, meet_id)
    choice = None
    if old.cards:
        choice = Choice(Grouping.BY_CLUB, cards=tuple(printed.numbers for printed in old.cards))
        desk_cards.issue(session, code_key, meet_id, choice)
    note_printed(session, old.sheets)
    return Papers(old.meet, choice, tuple(sheet.line.rotation_id for sheet in old.sheets))
