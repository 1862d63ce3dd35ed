"""The printed scale of one axis, typed as a maker's sheet gives it: regular, listed, or a ruler."""

import re
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from flask import g

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    EIGHTH_INCH_UM,
    LengthInAnotherUnit,
    LengthNotRead,
    LengthTooFine,
    format_length,
    in_eighths,
    lower_first,
    quoted,
    read_length_mm,
)
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.scales import (
    ContinuousScale,
    Lettering,
    RegularScale,
    Scale,
    TabulatedScale,
)
from settingsdesk.web.frame.axis_fields import PresetField
from settingsdesk.web.frame.fields import LENGTH_LABELS, Box, CountField, ParagraphField

SHAPES = (
    ("regular", "Marks, all equally far apart"),
    ("table", "Marks, listed one by one"),
    ("ruler", "A ruler that shows lengths"),
)
PRINTED_IN = ((Unit.CENTIMETRE.value, "Centimetres"), (Unit.INCH.value, "Inches"))
MOST_LETTERS = 12_000
MOST_SENTENCES = 5

_MARK_AND_SIGN = re.compile(r"(\S+?)\s*[:=]\s*(?=\d)")
_A_TENTH = re.compile(r"[0-9]+[.,][0-9]{2}(?: ?cm)?")


def read_exact_mm(typed: str, words: str, unit: Unit) -> float:
    """A length of a printed scale, which may be finer than a tape reads: tenths of a millimetre.

    An eighth of an inch is taken exactly, so that a distance of many stops does not add up what
    one rounding leaves. A figure with its unit behind it is taken in that one. Raises what
    ``read_length_mm`` raises.
    """
    try:
        return _exactly_mm(typed, words, unit)
    except LengthInAnotherUnit:
        other = Unit.INCH if unit is Unit.CENTIMETRE else Unit.CENTIMETRE
        with suppress(LengthNotRead):
            return _exactly_mm(typed, words, other)
        raise


def _exactly_mm(typed: str, words: str, unit: Unit) -> float:
    try:
        whole_mm = read_length_mm(typed, words, unit)
    except LengthTooFine:
        if unit is Unit.CENTIMETRE and _A_TENTH.fullmatch(typed.strip()):
            return round(float(typed.replace(",", ".").removesuffix("cm")) * 10, 1)
        raise
    if unit is Unit.CENTIMETRE:
        return whole_mm
    return round(whole_mm * 1000 / EIGHTH_INCH_UM) * EIGHTH_INCH_UM / 1000


def shown_exactly(mm: float, unit: Unit) -> str:
    """A length of a scale as it is typed, with its tenth of a millimetre where it has one.

    One that is no whole eighth of an inch is shown in centimetres, with their sign.
    """
    if unit is Unit.INCH:
        return format_length(mm, unit) if in_eighths(mm) else f"{_in_cm(mm)} cm"
    return _in_cm(mm)


def _in_cm(mm: float) -> str:
    return f"{mm / 10:.2f}" if round(mm, 1) % 1 else f"{mm / 10:.1f}"


class ScaleLengthField(Box):
    """A length of a printed scale; ``data`` is millimetres, and stays what it was if untouched."""

    data: float | None

    def __init__(self, words: str, label: str, **settings: Any) -> None:
        self.length_unit: Unit = g.coach.length_unit
        super().__init__(
            words,
            label=f"{label}, {LENGTH_LABELS[self.length_unit]}",
            unit=self.length_unit.value,
            width="w-4",
            render_kw={"inputmode": "decimal", "autocomplete": "off"},
            **settings,
        )

    def read(self, typed: str) -> float:
        if self.object_data is not None and typed == self.shown(self.object_data):
            return float(self.object_data)
        try:
            return read_exact_mm(typed, self.words, self.length_unit)
        except SettingsDeskError as refusal:
            raise ValueError(str(refusal)) from refusal

    def shown(self, value: Any) -> str:
        return shown_exactly(value, self.length_unit)


class FirstMarkField(Box):
    """The mark of the lowest stop, a number or a letter; ``data`` is (lettering, count from 1)."""

    data: tuple[Lettering, int] | None

    def read(self, typed: str) -> tuple[Lettering, int]:
        if typed.isdecimal() and len(typed) <= 6:
            return Lettering.NUMBERS, int(typed)
        letters = typed.upper()
        if letters.isascii() and letters.isalpha() and len(letters) <= 2:
            number = 0
            for letter in letters:
                number = number * 26 + ord(letter) - ord("A") + 1
            return Lettering.LETTERS, number
        raise ValueError(
            f"{self.words} must be a number like 1, or a letter like A; {quoted(typed)} was read."
            " List the marks one by one where they are anything else"
        )

    def shown(self, value: Any) -> str:
        lettering, number = value
        return RegularScale(0, 1, 1, lettering, number).label(0)


def _parted(line: str) -> tuple[str, str, str]:
    """A mark and its length: at a semicolon, after "1:" or "1 =", else at the first blank."""
    if ";" in line:
        return line.partition(";")
    marked = _MARK_AND_SIGN.match(line)
    if marked:
        return marked[1], "", line[marked.end() :]
    return re.sub(r"\s+", " ", line).partition(" ")


class StopsField(ParagraphField):
    """Marks and lengths, a stop a line: "1 150.0" or "top hole; 150.0"."""

    def __init__(self, words: str, label: str, **settings: Any) -> None:
        self.length_unit: Unit = g.coach.length_unit
        super().__init__(words, label=label, most=MOST_LETTERS, **settings)

    def read(self, typed: str) -> Any:
        known = self.object_data
        if known and typed.splitlines() == self.shown(known).splitlines():
            return known
        wrong: list[str] = []
        stops: list[tuple[str, float]] = []
        for number, line in enumerate(super().read(typed).splitlines(), start=1):
            if line.strip():
                try:
                    stops.append(self._stop(line.strip(), number))
                except (SettingsDeskError, ValueError) as refused:
                    wrong.append(str(refused))
        if wrong:
            raise ValueError(". ".join(wrong[:MOST_SENTENCES]))
        return tuple(stops)

    def _stop(self, line: str, number: int) -> tuple[str, float]:
        place = f"{self.words}, line {number}"
        label, _, length = _parted(line)
        if not length.strip():
            raise ValueError(
                f"{place} must have a mark and a length, like 1 150.0; {quoted(line)} was read"
            )
        return label.strip(), read_exact_mm(length, place, self.length_unit)

    def shown(self, value: Any) -> str:
        return "\n".join(
            f"{label}; {shown_exactly(length_mm, self.length_unit)}" for label, length_mm in value
        )


def scale_fields(name: str) -> dict[str, dict[str, Any]]:
    """The fields of each shape of scale for the axis of that name, by shape and what they are."""
    return {
        "regular": {
            "first": ScaleLengthField(f"{name}, lowest mark", "Lowest mark"),
            "pitch": ScaleLengthField(f"{name}, from mark to mark", "From mark to mark"),
            "count": CountField(
                f"{name}, number of marks", label="Number of marks", least=1, most=5000
            ),
            "label": FirstMarkField(
                f"{name}, what the lowest mark is called",
                label="What the lowest mark is called",
                width="w-4",
            ),
        },
        "table": {
            "stops": StopsField(f"{name}, marks", "Marks, the lowest first"),
        },
        "ruler": {
            "from": ScaleLengthField(f"{name}, beginning of the ruler", "Ruler begins at"),
            "to": ScaleLengthField(f"{name}, end of the ruler", "Ruler ends at"),
            "step": ScaleLengthField(f"{name}, finest step of the ruler", "Read to the nearest"),
            "printed": PresetField(
                "Ruler printed in",
                choices=PRINTED_IN,
                ask=f"Choose in which unit the ruler of the {lower_first(name)} is printed",
                default=g.coach.length_unit.value,
            ),
        },
    }


def shape_of(scale: Scale) -> str:
    """Which of the shapes a scale has."""
    match scale:
        case RegularScale():
            return "regular"
        case ContinuousScale():
            return "ruler"
    return "table"


def scale_from(shape: str, typed: Mapping[str, Any]) -> Scale:
    """The scale that the fields of its shape describe; raises what scales refuse."""
    if shape == "regular":
        lettering, first_label = typed["label"]
        return RegularScale(typed["first"], typed["pitch"], typed["count"], lettering, first_label)
    if shape == "ruler":
        printed_in = Unit(typed["printed"])
        return ContinuousScale(typed["from"], typed["to"], typed["step"], printed_in)
    return TabulatedScale(typed["stops"])


def typed_of(scale: Scale) -> dict[str, Any]:
    """What would be typed for a scale."""
    match scale:
        case RegularScale():
            return {
                "first": scale.first_mm,
                "pitch": scale.pitch_mm,
                "count": scale.stops,
                "label": (scale.lettering, scale.first_label),
            }
        case ContinuousScale():
            return {
                "from": scale.from_mm,
                "to": scale.to_mm,
                "step": scale.resolution_mm,
                "printed": scale.printed_in.value,
            }
    stops = range(scale.count)
    return {"stops": tuple((scale.label(stop), scale.length_mm(stop)) for stop in stops)}
