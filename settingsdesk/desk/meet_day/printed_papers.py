"""Papers of a meet that were printed, and say other than what counts now: cards and crew sheets."""

from collections.abc import Iterable
from dataclasses import dataclass

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets
from settingsdesk.desk.meet_day.cards import ChangedCard, Choice, Grouping
from settingsdesk.desk.meet_day.crew_sheets import CrewSheet
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Outdated:
    """The papers of a meet that are out of date: the cards, and the crew sheets as they are now."""

    meet: Meet
    cards: tuple[ChangedCard, ...]
    sheets: tuple[CrewSheet, ...]


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
    cards = desk_cards.changed(session, meet, desk_entries.entrants(session, meet_id))
    rows = kept_rotations.start_orders(session, [meet_session.id for meet_session in meet.sessions])
    versions = {row.rotation_id: row.printed_version for row in rows if row.printed_version}
    sheets = [
        sheet
        for sheet in crew_sheets.of_rotations(session, versions)
        if crew_sheet_words.printed_version(sheet) != versions[sheet.line.rotation_id]
    ]
    return Outdated(meet, tuple(cards), tuple(sheets))


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
