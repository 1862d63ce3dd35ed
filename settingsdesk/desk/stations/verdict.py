"""What a station tells whoever held a card out there."""

from dataclasses import dataclass
from enum import Enum

from settingsdesk.desk.cards.counting import Difference
from settingsdesk.domain.base.sentences import Sentence, Series

ASK_FIRST = Sentence("Ask the coach first")
"""The heading of whatever only the coach can settle."""

Marks = tuple[tuple[str, str, str], ...]
"""Marks to be set, each behind the name of its axis, and what a tape finds there."""


class Kind(Enum):
    """What a card is at this station, now."""

    RIGHT = "right"
    ASK_FIRST = "ask first"
    ANOTHER = "another"
    SUPERSEDED = "superseded"
    OTHER_APPARATUS = "other apparatus"
    OTHER_MEET = "other meet"
    ELSEWHERE = "elsewhere"
    OTHER_LENGTHS = "other lengths"
    UNKNOWN = "unknown"
    SCRATCHED = "scratched"
    OUT_OF_USE = "out of use"
    STOPPED = "stopped"
    NOT_LISTED = "not listed"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Compared:
    """One axis of a card that was printed elsewhere, in the marks of the apparatus here.

    ``entered`` and ``entered_mark`` are empty where nothing is entered to compare with.
    """

    axis: str
    datum: str
    printed: str
    mark: str
    entered: str = ""
    entered_mark: str = ""
    differs: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to tell whoever held the card out.

    ``heading`` is the answer in a few words, ``sentence`` what to do. ``differences`` are the
    lines in which a superseded card and what counts now differ. ``marks`` are those to be set for
    the right card's athlete, by the axis's name; empty where nothing may be set yet. ``compared``
    is what a card that was printed elsewhere wants, axis by axis, beside what is entered for
    ``whose``; ``heeds`` what of it this apparatus does not reach, or not to the millimetre.
    """

    kind: Kind
    heading: Sentence
    sentence: str
    differences: tuple[Difference, ...] = ()
    marks: Marks = ()
    compared: tuple[Compared, ...] = ()
    whose: str = ""
    heeds: tuple[str, ...] = ()


def told(*sentences: str) -> Series:
    """Sentences one after the other, as one."""
    return Series(sentences, " ")
