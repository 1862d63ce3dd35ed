"""The units in which coaches' lists state what an athlete wants."""

from enum import Enum


class ListUnit(Enum):
    """A unit of length, or a mark on the apparatus: a hole, a line, a numbered position."""

    MM = "mm"
    CM = "cm"
    M = "m"
    INCH = "in"
    MARK = "mark"

    @property
    def in_words(self) -> str:
        """The unit inside a sentence: "centimetres"."""
        return _IN_WORDS[self]


_IN_WORDS = {
    ListUnit.MM: "millimetres",
    ListUnit.CM: "centimetres",
    ListUnit.M: "metres",
    ListUnit.INCH: "inches",
    ListUnit.MARK: "marks",
}
