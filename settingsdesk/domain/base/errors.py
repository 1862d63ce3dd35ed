"""The one base class of everything that the person at the desk can put right."""

from typing import ClassVar

from settingsdesk.domain.base.units import Unit


class SettingsDeskError(Exception):
    """What went wrong, where, and what to do, in the words of the hall.

    Every subclass keeps its facts as attributes and says them in ``__str__``; one without facts
    has a ``sentence``. Pages, command line and paper show what it says unchanged.
    """

    sentence: ClassVar[str] = ""

    def __str__(self) -> str:
        return self.sentence or super().__str__()

    def told(self, _unit: Unit) -> str:
        """The sentence for people who read lengths in that unit; see ``figures.SaysLengths``."""
        return str(self)
