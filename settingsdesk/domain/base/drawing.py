"""A line drawing in real millimetres, computed once and drawn by SVG and PDF alike.

x runs to the right, y upwards from the hall floor. A renderer maps the frame onto its own
surface with one uniform scale; text height is in the same millimetres, so that a drawing is laid
out once and looks the same everywhere. A shape may name the part of the thing that it tells of,
such as "axis-1": a screen lights that part while somebody types into its field.
"""

from dataclasses import dataclass
from enum import Enum


class Weight(Enum):
    """How heavily a line is drawn, as a share of the drawing's letter height."""

    THIN = 0.05
    NORMAL = 0.10
    HEAVY = 0.22


class Anchor(Enum):
    """Which end of a text stands at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Ink(Enum):
    """What a shape stands for, never by colour alone: solid ink, a quiet line, or the accent.

    On what is filled with the accent stands light ink.
    """

    MAIN = "main"
    QUIET = "quiet"
    ACCENT = "accent"
    ON_ACCENT = "on-accent"


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line between two points."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    weight: Weight = Weight.NORMAL
    dashed: bool = False
    ink: Ink = Ink.MAIN
    part: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    """A round section."""

    x_mm: float
    y_mm: float
    radius_mm: float
    filled: bool = False
    ink: Ink = Ink.MAIN
    part: str = ""


@dataclass(frozen=True, slots=True)
class Oval:
    """A section that is higher than wide, or wider than high; x and y are its centre."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    filled: bool = False
    ink: Ink = Ink.MAIN
    part: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle; x and y are its lower left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    filled: bool = False
    ink: Ink = Ink.MAIN
    part: str = ""


@dataclass(frozen=True, slots=True)
class Triangle:
    """A filled triangle: an arrow head."""

    points_mm: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    ink: Ink = Ink.MAIN
    part: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; (x, y) is on its base line, ``size`` a factor on the letter height.

    ``angle_deg`` turns it counter-clockwise about its point.
    """

    x_mm: float
    y_mm: float
    text: str
    anchor: Anchor = Anchor.MIDDLE
    size: float = 1.0
    bold: bool = False
    angle_deg: float = 0.0
    ink: Ink = Ink.MAIN
    part: str = ""


Shape = Line | Circle | Oval | Box | Triangle | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes in a frame, back to front, with the sentence that says the same in words.

    ``note`` is what has to be said beside it, such as what is not to scale.
    """

    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float
    letter_mm: float
    shapes: tuple[Shape, ...]
    in_words: str
    note: str = ""
