"""What a club usually accepts of each axis, where an athlete's setting does not say it.

It is for warnings alone: no alarm sounds below it, and no plan leaves the nearest stop for it.
"""

from collections.abc import Mapping

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.domain.base.kinds import KINDS, Kind, kind_of
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM, NotADeviation
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store.work import ClubSession

OfAxis = tuple[str, str]
"""A kind's key and an axis's."""


def kinds_known(session: ClubSession) -> list[Kind]:
    """The kinds that the club has a model of, in the order of the trade's list."""
    known = {version.model.kind.key for version in desk_models.all_models(session)}
    return [kind for key, kind in KINDS.items() if key in known]


def usual(session: ClubSession) -> dict[OfAxis, int]:
    """What the club usually accepts, in millimetres; an axis without a word is left out."""
    return {
        (row.kind, row.axis): row.accepts_mm for row in kept_apparatus.usual_deviations(session)
    }


def keep(session: ClubSession, accepts_mm: Mapping[OfAxis, int]) -> None:
    """From now on this is accepted of those axes, 0 for nothing; of all others what was before.

    ``NoSuchKind``, ``NoSuchAxis`` or ``NotADeviation`` where that cannot be.
    """
    known = {(row.kind, row.axis): row for row in kept_apparatus.usual_deviations(session)}
    for (kind, axis), length_mm in accepts_mm.items():
        kind_of(kind).axis(axis)
        if not 0 <= length_mm <= MOST_ACCEPTED_MM:
            raise NotADeviation(length_mm)
        row = known.get((kind, axis))
        if length_mm == 0:
            if row is not None:
                session.delete(row)
        elif row is not None:
            row.accepts_mm = length_mm
        else:
            session.add(kept_apparatus.UsualDeviation(kind=kind, axis=axis, accepts_mm=length_mm))
    session.flush()
