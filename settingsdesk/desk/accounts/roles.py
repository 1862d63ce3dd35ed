"""What somebody is in a club, and so what they may do there."""

from enum import StrEnum


class Role(StrEnum):
    """Each may do all that the ones below it may."""

    OWNER = "owner"
    COACH = "coach"
    HELPER = "helper"

    def covers(self, other: "Role") -> bool:
        """Whether this one may do what the other may."""
        return _IN_ORDER.index(self) <= _IN_ORDER.index(other)

    @property
    def may(self) -> str:
        """What it opens, in words that a person chooses by."""
        return _MAY[self]


_IN_ORDER = tuple(Role)
_MAY = {
    Role.OWNER: "all that a coach may do, and who may sign in",
    Role.COACH: "athletes, settings, rotations, meets, cards, lists",
    Role.HELPER: "runs, checks and stations; no list of athletes, no history, no exports",
}
