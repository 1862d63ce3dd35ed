"""Cards of invented athletes, with an end view as simple as will do."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cache

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card, CardGroup, CardLine
from settingsdesk.words.language import ENGLISH

FLOOR_TO_TOP = "upper edge of the rail, above the floor"
URL = "https://settings.hall.example/K/7KM4Q2XPRTUVWXYZ23456789AB"


def upright(x_mm: float, top_mm: float) -> list[Shape]:
    return [
        Box(x_mm - 22, 0, 44, top_mm - 40),
        Box(x_mm - 150, 0, 300, 30),
        Circle(x_mm, top_mm - 20, 20, filled=True),
    ]


def height_dimension(x_mm: float, rail_mm: float, top_mm: float, label: str) -> list[Shape]:
    return [
        Line(x_mm, 0, x_mm, top_mm, Weight.THIN),
        Line(x_mm - 40, top_mm, rail_mm, top_mm, Weight.THIN, ink=Ink.QUIET),
        Triangle(((x_mm, top_mm), (x_mm - 16, top_mm - 90), (x_mm + 16, top_mm - 90))),
        Triangle(((x_mm, 0), (x_mm - 16, 90), (x_mm + 16, 90))),
        Text(x_mm - 40, top_mm / 2, label, angle_deg=90, bold=True),
    ]


def end_view() -> Drawing:
    """Two uprights, rails at 170 and 250 cm, 165.7 cm apart, with their dimensions."""
    low, high = 0.0, 1657.0
    shapes: list[Shape] = [
        Box(-420, -200, 2500, 200, filled=True, ink=Ink.QUIET),
        Line(-420, 0, 2080, 0, Weight.HEAVY),
        *upright(low, 1700),
        *upright(high, 2500),
        *height_dimension(-300, low, 1700, "7 = 170.0"),
        *height_dimension(1970, high, 2500, "11 = 250.0"),
        Line(low + 18, 1688, high - 18, 2472, Weight.THIN),
        Text(828, 2120, "C4 = 180.0", angle_deg=25.2, bold=True),
        Line(low, 1700, low, 2600, Weight.THIN, dashed=True),
        Line(high, 2500, high, 2600, Weight.THIN, dashed=True),
        Line(low, 2570, high, 2570, Weight.THIN),
        Text(828, 2600, "165.7", size=0.85),
        Text(low + 60, 1560, "low", anchor=Anchor.START, size=0.85, ink=Ink.QUIET),
        Text(high - 60, 2340, "high", anchor=Anchor.END, size=0.85, ink=Ink.QUIET),
    ]
    return Drawing(-520, -220, 2640, 2960, 165, tuple(shapes), "Low rail 170 cm, high rail 250 cm.")


UNEVEN_BARS = (
    CardLine("Low rail height", "7", "170.0 cm", FLOOR_TO_TOP, "± 1.0 cm"),
    CardLine(
        "High rail height",
        "11",
        "250.0 cm",
        FLOOR_TO_TOP,
        "± 1.0 cm",
        "0.4 cm over what is wanted",
    ),
    CardLine(
        "Rail spread",
        "C4",
        "180.0 cm",
        "shortest distance between the rails’ inner faces",
        "± 0.5 cm",
    ),
)

AS_WANTED = (
    replace(
        UNEVEN_BARS[0],
        length="169.6 cm",
        note="170.0 cm is wanted",
        wanted=length_in_words(1700, Unit.CENTIMETRE),
    ),
    replace(
        UNEVEN_BARS[1],
        length="248.2 cm",
        note="Outside what is accepted: 250.0 cm is wanted",
        wanted=length_in_words(2500, Unit.CENTIMETRE),
    ),
    replace(
        UNEVEN_BARS[2],
        mark="180.0",
        accepts="nearest mark",
        wanted=length_in_words(1800, Unit.CENTIMETRE),
    ),
)

CARD = Card(
    name="Mira K.",
    club="Turnhalle am Mühlbach",
    start_number="27",
    apparatus="Uneven bars, podium 2",
    model="Hall type with leaning uprights",
    scale_used="this apparatus’s own calibration of 1 March 2026",
    lines=UNEVEN_BARS,
    drawing=end_view(),
    version=3,
    issued_on=date(2026, 5, 4),
    url=URL,
    short_code="7KM4Q2XPR",
)

FIVE_AXES = (
    *UNEVEN_BARS,
    CardLine("Spreader, entry side", "17", "61.5 cm", "between the collars", "± 0.5 cm"),
    CardLine("Spreader, far side", "16", "60.5 cm", "between the collars", "± 0.5 cm"),
)

LONG_CARD = replace(
    CARD,
    name="Maximiliane-Konstantina Freifrau von und zu Hohenberg-Sonnwa",
    club="Turn- und Sportgemeinschaft der vereinigten Dörfer am oberen Mühlbach von 1887",
    start_number="1027-B",
    apparatus="Uneven bars, training podium behind the partition, north side",
    model="Leaning uprights with cable stays and double spreaders, second series",
    scale_used="the model’s, for this apparatus has no calibration of its own that is current",
    lines=FIVE_AXES,
)


def as_pdf(cards: Sequence[Card], size: Size) -> bytes:
    """Those cards as one group without a heading; the same cards are drawn once for all tests."""
    return _drawn(CardGroup(tuple(cards)), size)


@cache
def _drawn(group: CardGroup, size: Size) -> bytes:
    return cards_pdf([group], size, ENGLISH)
