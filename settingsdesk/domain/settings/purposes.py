"""For what an athlete wants a setting: there may be several for one model, and one is the usual."""

from enum import StrEnum

from settingsdesk.domain.base.sentences import Sentence


class Purpose(StrEnum):
    """What a setting is for; cards and meets go by the one for competition."""

    COMPETITION = "competition"
    TRAINING = "training"
    LEARNING = "learning"


USUAL = Purpose.COMPETITION
"""Which everybody has who has any for a model, and which counts where nothing else is said."""

OTHERS = tuple(purpose for purpose in Purpose if purpose is not USUAL)

SETTINGS_FOR = {
    Purpose.COMPETITION: Sentence("Settings for competition"),
    Purpose.TRAINING: Sentence("Settings for training"),
    Purpose.LEARNING: Sentence("Settings for learning"),
}

USUAL_INSTEAD = {
    Purpose.TRAINING: Sentence("No setting for training: marks as for competition"),
    Purpose.LEARNING: Sentence("No setting for learning: marks as for competition"),
}
"""Of whoever has none for that purpose."""


def purpose_of(word: str) -> Purpose | None:
    """The purpose of that word; None where it is none."""
    return Purpose(word) if word in set(Purpose) else None
