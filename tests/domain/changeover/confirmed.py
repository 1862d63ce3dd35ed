"""A small rotation at the bars, and what is confirmed of it."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from settingsdesk.domain.changeover.happenings import Begun, Happening, Turn
from settingsdesk.domain.changeover.run import Confirmed

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ADA, BO, CY = 1, 2, 3
START = ((0, 0), (0, 0), (0, 0))
TURNS = (Turn(ADA, (2, 2, 5)), Turn(BO, (2, 2, 5)), Turn(CY, (4, 5, 9)))


def events(*told: Happening, hands: int = 1, turns: Sequence[Turn] = TURNS) -> list[Confirmed]:
    """What happens, one thing every ten seconds from noon."""
    first = Begun(tuple(turns), hands, START)
    return [
        Confirmed(place, NOON + timedelta(seconds=10 * (place - 1)), "Runa", what)
        for place, what in enumerate((first, *told), start=1)
    ]
