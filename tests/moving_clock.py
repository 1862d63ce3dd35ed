"""A clock that a test puts back or forward, as whoever sets it right does, or a flat battery."""

from datetime import datetime, timedelta, tzinfo

import pytest

from settingsdesk.desk import clock
from settingsdesk.store import base


class MovingClock:
    """What the desk takes the present moment from, moved by as much as a test says."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.ahead = timedelta()
        moving = self

        class Moved(datetime):
            @classmethod
            def now(cls, tz: tzinfo | None = None) -> datetime:
                return datetime.now(tz) + moving.ahead

        for module in (base, clock):
            patch.setattr(module, "datetime", Moved)

    def put(self, **by: float) -> None:
        """Put it forward by so many ``seconds``, ``hours`` or ``days``; back where it is less."""
        self.ahead += timedelta(**by)
