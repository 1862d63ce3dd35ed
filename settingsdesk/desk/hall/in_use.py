"""Whether an apparatus may be used: withdrawn by a finding until a coach releases it.

Everything that begins, orders or confirms work on an apparatus asks here, whoever calls it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Moment
from settingsdesk.store import checks as kept_checks
from settingsdesk.store import findings as kept_findings
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """An apparatus that nobody may use: since when, by whom, and for what finding.

    Where several findings withdraw it, this is the first; ``findings`` are all of them, and it
    is withdrawn until the last is released.
    """

    apparatus_id: int
    apparatus: str
    since: datetime
    by: str
    why: str
    findings: tuple[int, ...]

    @property
    def since_in_words(self) -> Moment:
        """The day and the time of this machine's zone: "25 November 2026, 14:05"."""
        return Moment(self.since.astimezone())


def withdrawals(session: ClubSession) -> dict[int, Withdrawal]:
    """Every withdrawn apparatus of the club by its number, in one query."""
    found: dict[int, list[kept_findings.Finding]] = {}
    for row in kept_findings.unreleased(session, withdrawing=True):
        found.setdefault(row.apparatus_id, []).append(row)
    return {number: _withdrawal(rows) for number, rows in found.items()}


def must_be_in_use(session: ClubSession, apparatus_id: int) -> None:
    """Raise ``WithdrawnFromUse`` where that apparatus is withdrawn now."""
    must_all_be_in_use(session, [apparatus_id])


def must_all_be_in_use(session: ClubSession, apparatus_ids: Iterable[int]) -> None:
    """Raise ``WithdrawnFromUse`` where one of those is withdrawn now; in one query."""
    withdrawn = withdrawals(session)
    for apparatus_id in apparatus_ids:
        if apparatus_id in withdrawn:
            raise WithdrawnFromUse(withdrawn[apparatus_id])


def released_since(session: ClubSession, apparatus_id: int, moment: datetime) -> bool:
    """Whether that apparatus was released from a withdrawal after a moment."""
    return kept_findings.released_since(session, apparatus_id, moment)


def not_before_release(session: ClubSession, apparatus_id: int, moment: datetime) -> datetime:
    """The moment of what comes after the last release of an apparatus, whatever a clock says.

    One that was put back would make it look as if the release came later.
    """
    released_at = kept_findings.last_released(session, [apparatus_id]).get(apparatus_id)
    return max(moment, released_at or moment)


def after_all_there(session: ClubSession, apparatus_id: int, moment: datetime) -> datetime:
    """The moment of a release that comes after every check and every run there was so far."""
    checked_at = kept_checks.last_recorded(session, apparatus_id)
    worked_at = kept_runs.last_event_on(session, apparatus_id)
    latest = max((at for at in (checked_at, worked_at) if at is not None), default=moment)
    return moment if moment > latest else latest + timedelta(microseconds=1)


def _withdrawal(rows: list[kept_findings.Finding]) -> Withdrawal:
    first = rows[0]
    return Withdrawal(
        apparatus_id=first.apparatus_id,
        apparatus=first.apparatus.name,
        since=first.recorded_at,
        by=first.recorded_by,
        why=first.words,
        findings=tuple(row.id for row in rows),
    )


class WithdrawnFromUse(SettingsDeskError):
    """Something was to be done on an apparatus that is withdrawn (a page answers 409)."""

    def __init__(self, withdrawal: Withdrawal) -> None:
        self.withdrawal = withdrawal

    def __str__(self) -> str:
        told, further = self.withdrawal, len(self.withdrawal.findings) - 1
        more = f" ({further} more {'finding' if further == 1 else 'findings'} besides)"
        return (
            f"{told.apparatus} has been out of use since {told.since_in_words}, by {told.by}:"
            f" {told.why}{more if further else ''}. Nobody may set it or work on it. Have it put"
            " right; then a coach releases it, with a reason, on the page of the finding"
        )
