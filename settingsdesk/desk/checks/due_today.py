"""What wants looking after today: withdrawn apparatus, checks to be made, notes, parts short."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from settingsdesk.desk.checks import checks, findings, parts
from settingsdesk.desk.checks.checks import Care, Recheck
from settingsdesk.desk.checks.findings import Finding
from settingsdesk.desk.checks.parts import Part
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.checks.checks import Due
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Wanting:
    """An apparatus that wants looking after.

    ``unchecked`` says that somebody goes up on it that day and nobody has checked it yet,
    ``rechecks`` are what is to be looked at again by that day; ``calls`` are the checks at
    intervals that are overdue, due soon, or were never made.
    """

    piece: Piece
    unchecked: bool
    rechecks: tuple[Recheck, ...]
    calls: tuple[Due, ...]


@dataclass(frozen=True, slots=True)
class LookingAfter:
    """All that wants looking after on a day."""

    apparatus: tuple[Wanting, ...]
    noted: tuple[Finding, ...]
    short: tuple[Part, ...]

    def __bool__(self) -> bool:
        return bool(self.apparatus or self.noted or self.short)


def looking_after(
    session: ClubSession, on: date, pieces: Sequence[Piece], in_use: Collection[int]
) -> LookingAfter:
    """What wants looking after on that day; ``in_use`` are the apparatus somebody goes up on.

    Withdrawn apparatus first, then what was to be looked at again before that day, then those that
    nobody has checked for the day.
    """
    found = [_wanting(care, on, in_use) for care in checks.cares(session, pieces)]
    wanting = [
        wanting
        for wanting in found
        if wanting.piece.withdrawal or wanting.unchecked or wanting.rechecks or wanting.calls
    ]
    return LookingAfter(
        apparatus=tuple(
            sorted(
                wanting,
                key=lambda one: (
                    not one.piece.withdrawal,
                    not any(recheck.is_overdue(on) for recheck in one.rechecks),
                    not one.unchecked,
                ),
            )
        ),
        noted=tuple(finding for finding in findings.unreleased(session) if not finding.withdraws),
        short=tuple(part for part in parts.all_parts(session) if part.short),
    )


def _wanting(care: Care, on: date, in_use: Collection[int]) -> Wanting:
    return Wanting(
        piece=care.piece,
        unchecked=care.piece.id in in_use and care.first(on) is not None,
        rechecks=tuple(recheck for recheck in care.rechecks if recheck.is_due(on)),
        calls=care.calls(on),
    )
