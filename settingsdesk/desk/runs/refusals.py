"""What is refused of a run at the apparatus, each in words that say how to go on."""

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, recognised
from settingsdesk.domain.changeover.happenings import AT_A_STATION, Happening

LONGEST_HOLD_UP = 200
"""Characters: a coach reads it on the way to the apparatus."""


class RunUnderWay(SettingsDeskError):
    """Another rotation is under way on the apparatus, as that run."""

    def __init__(self, apparatus: str, rotation: str, run_id: int) -> None:
        self.apparatus, self.rotation, self.run_id = apparatus, rotation, run_id

    def __str__(self) -> str:
        return Sentence(
            "“%(rotation)s” is under way on %(apparatus)s: go on with it, or end it there, before"
            " another rotation begins",
            rotation=self.rotation,
            apparatus=self.apparatus,
        )


class NoOrderToRun(SettingsDeskError):
    """A rotation was to be carried out that has no order that counts."""

    def __init__(self, rotation: str, why: str) -> None:
        self.rotation, self.why = rotation, why

    def __str__(self) -> str:
        if self.why:
            return Sentence(
                "“%(rotation)s” has no order that counts. %(why)s Re-plan it first",
                rotation=self.rotation,
                why=self.why,
            )
        return Sentence(
            "“%(rotation)s” has no order that counts. Plan it first", rotation=self.rotation
        )


class NoTurnThere(NoOrderToRun):
    """A rotation was to be carried out on an apparatus on which its order has no turn."""

    def __init__(self, rotation: str, apparatus: str) -> None:
        super().__init__(rotation, "")
        self.apparatus = apparatus

    def __str__(self) -> str:
        return Sentence(
            "“%(rotation)s” has no turn on %(apparatus)s: take an apparatus to the bars on which"
            " it has turns, or say on its page on which it is held and re-plan it",
            rotation=self.rotation,
            apparatus=self.apparatus,
        )


class ScaleChanged(SettingsDeskError):
    """The scale of an apparatus was changed while a rotation was under way on it."""

    def __init__(self, apparatus: str, run_id: int) -> None:
        self.apparatus, self.run_id = apparatus, run_id

    def __str__(self) -> str:
        return Sentence(
            "The scale of %(apparatus)s was changed since this run began, so its marks may no"
            " longer be there. End the run, read the present marks, and re-plan the rotation",
            apparatus=self.apparatus,
        )


class NothingSaidToBeWrong(SettingsDeskError):
    """The work was to be stopped without a word why."""

    sentence = Sentence("Write what is wrong, and where")


class SaidAtLength(SettingsDeskError):
    """More was written than a coach reads on the way to the apparatus."""

    def __init__(self, letters: int) -> None:
        self.letters = letters

    def __str__(self) -> str:
        return Sentence(
            "Say it in at most %(most)s characters; %(letters)s were written",
            most=LONGEST_HOLD_UP,
            letters=self.letters,
        )


class ConfirmedMeanwhile(SettingsDeskError):
    """Somebody else confirmed something between looking at a run and confirming."""

    def __init__(self, by: str, what: Happening | None) -> None:
        self.by, self.what = by, what

    def __str__(self) -> str:
        if self.by:
            return Sentence(
                "%(name)s confirmed something after you last saw this page, so yours was not"
                " taken. Look at what is to be done now, and confirm that",
                name=recognised(self.by, [AT_A_STATION]),
            )
        return Sentence(
            "Something was confirmed after you last saw this page, so yours was not taken. Look at"
            " what is to be done now, and confirm that"
        )
