"""The one base class of everything that the person at the desk can put right."""

from settingsdesk.domain.base.units import Unit


class SettingsDeskError(Exception):
    """What went wrong, where, and what to do, in the words of the hall.

    Every subclass keeps its facts as attributes and says them in ``__str__``; pages, command
    line and paper show that sentence unchanged.
    """

    def told(self, _unit: Unit) -> str:
        """The sentence for people who read lengths in that unit; see ``figures.SaysLengths``."""
        return str(self)
