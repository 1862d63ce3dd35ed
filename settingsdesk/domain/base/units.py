"""The units in which a hall types and reads lengths."""

from enum import Enum


class Unit(Enum):
    """The unit in which a hall types and reads lengths."""

    CENTIMETRE = "cm"
    INCH = "in"


INCH_MM = 25.4
"""Exactly so."""


def unit_label(unit: Unit) -> str:
    """The sign that stands beside the figure: "cm" or "in"."""
    return unit.value
