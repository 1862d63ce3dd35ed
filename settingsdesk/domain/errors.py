"""The one base class of everything that the person at the desk can put right."""


class SettingsDeskError(Exception):
    """What went wrong, where, and what to do, in the words of the hall.

    Every subclass keeps its facts as attributes and says them in ``__str__``; pages, command
    line and paper show that sentence unchanged.
    """
