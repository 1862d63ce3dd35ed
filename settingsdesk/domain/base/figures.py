"""Lengths as a person types and reads them: centimetres to the millimetre, inches to the eighth.

A length that is finer than that is refused, never rounded. The one conversion that rounds is an
eighth of an inch to the nearest whole millimetre (an inch is 25.4 mm, so an eighth is 3.175 mm).
Eighths lie further apart than millimetres: an inch figure that was read is shown again unchanged,
but a length stored in millimetres is shown in inches only approximately. Keep the stored length
unless the person has typed another figure.
"""

import re
import unicodedata
from abc import abstractmethod
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import partial
from math import ceil, floor
from typing import Any, NoReturn, Self

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import (
    IN_CM,
    IN_INCHES,
    IN_METRES,
    Counted,
    Sentence,
    Series,
    unbroken,
)
from settingsdesk.domain.base.units import INCH_MM, Unit

LONGEST_FIGURE = 40  # characters; the longest honest entry, "98 3/8 inches", has 13
LONGEST_QUOTE = 30
EIGHTH_INCH_UM = round(INCH_MM * 1000 / 8)  # micrometres
LEAST_SAID_IN_METRES_MM = 3_000
"""Along the floor; a shorter one is said in centimetres."""


_IN_WORDS = {Unit.CENTIMETRE: "centimetres", Unit.INCH: "inches"}
_FINEST = {Unit.CENTIMETRE: "the millimetre", Unit.INCH: "the eighth of an inch"}
_STEPS_IN_ONE = {Unit.CENTIMETRE: 10, Unit.INCH: 8}
_EXAMPLES = {Unit.CENTIMETRE: "250 or 247.5", Unit.INCH: "98 or 98 3/8"}


def lower_first(words: str) -> str:
    """A label or a sentence as it goes on inside another: "high rail height"."""
    return words[:1].lower() + words[1:]


def upper_first(words: str) -> str:
    """Words as they begin a line."""
    return words[:1].upper() + words[1:]


def so_many(count: int, what: str) -> str:
    """A number of things: "1 cell", "12 cells"."""
    return f"1 {what}" if count == 1 else f"{count} {what}s"


def quoted(text: str) -> str:
    """What was read, in quotes, on one line, cut when long, unprintable characters as �."""
    line = " ".join("".join(map(_printable, text)).split())
    if len(line) > LONGEST_QUOTE:
        line = line[: LONGEST_QUOTE - 1] + "…"
    return f"'{line}'"


def _printable(sign: str) -> str:
    if sign in "\t\r\n" or unicodedata.category(sign).startswith("Z"):
        return " "
    return sign if sign.isprintable() else "�"


class SaysLengths(SettingsDeskError):
    """A refusal that says lengths: in centimetres, unless ``told`` in another unit."""

    @abstractmethod
    def told(self, unit: Unit) -> str:
        """The sentence with its lengths in that unit."""

    def __str__(self) -> str:
        return self.told(Unit.CENTIMETRE)


class LengthNotRead(SettingsDeskError):
    """Base of the refusals of a typed length: the field, what was read, and what is expected.

    A message that names the place itself uses ``expected``, which completes "… is expected", and
    ``advice``, which says what to do where there is more to say.
    """

    advice = ""

    def __init__(self, field: str, read: str, unit: Unit):
        super().__init__(field, read, unit)
        self.field, self.read, self.unit = field, read, unit

    @property
    def field_first(self) -> str:
        """The field's name as it begins a sentence."""
        return self.field[:1].upper() + self.field[1:]

    @property
    def example(self) -> str:
        """Two figures that would be read."""
        return _EXAMPLES[self.unit]

    @property
    def expected(self) -> str:
        """What is read in this field: "a number of centimetres like 250 or 247.5"."""
        return f"a number of {_IN_WORDS[self.unit]} like {self.example}"


class LengthMissing(LengthNotRead):
    """Nothing was typed."""

    def __str__(self) -> str:
        is_acronym = self.field[1:2].isupper()
        return f"Enter the {self.field if is_acronym else self.field[:1].lower() + self.field[1:]}"


class LengthNotANumber(LengthNotRead):
    """Something other than one number was typed."""

    def __str__(self) -> str:
        return (
            f"{self.field_first} must be a number, like {self.example}; "
            f"{quoted(self.read)} was read"
        )


class LengthTooLong(LengthNotRead):
    """More was typed than any length needs."""

    def __str__(self) -> str:
        return (
            f"{self.field_first} must be one number, like {self.example}; "
            f"{len(self.read)} characters were read, beginning {quoted(self.read)}"
        )


class LengthInFeet(LengthNotRead):
    """Feet were typed, for centimetres or in a way that may mean several lengths."""

    def __init__(self, field: str, read: str, unit: Unit):
        super().__init__(field, read, unit)
        if unit is Unit.INCH:
            self.advice = (
                "feet are whole, with fewer than 12 inches behind them, like 8 ft 2 3/8 in; or type"
                " the whole length in inches"
            )
        else:
            mm = said_mm(read)
            likely = f"; {_retyped(mm, unit)}" if mm else ""
            self.advice = f"feet are not read, type the whole length in {_IN_WORDS[unit]}{likely}"

    def __str__(self) -> str:
        return (
            f"{self.field_first} must be a number, like {self.example}; "
            f"{quoted(self.read)} was read: {self.advice}"
        )


class LengthInAnotherUnit(LengthNotRead):
    """A unit was typed that is not the one in use; ``mm`` is the length in it, where it is told."""

    def __init__(self, field: str, read: str, unit: Unit, mm: Fraction | None = None):
        super().__init__(field, read, unit)
        self.args = (field, read, unit, mm)
        self.mm = mm
        if mm is not None and mm > 0:
            self.advice = _retyped(mm, unit)

    def __str__(self) -> str:
        likely = f": {self.advice}" if self.advice else ""
        return (
            f"{self.field_first} must be in {_IN_WORDS[self.unit]}, like {self.example}; "
            f"{quoted(self.read)} was read{likely}"
        )


def _retyped(mm: Fraction, unit: Unit) -> str:
    """What to type for a length that was typed in another unit."""
    steps = mm * 1000 / EIGHTH_INCH_UM if unit is Unit.INCH else mm
    figure = _figure(round(steps), unit).removesuffix(".0")
    about = "" if steps.denominator == 1 else "about "
    return f"that is {about}{figure} {unit.value}, type {figure} if it is meant"


class LengthBelowZero(LengthNotRead):
    """A number with a minus sign was typed."""

    advice = "it must not be below zero"

    def __str__(self) -> str:
        return (
            f"{self.field_first} must not be below zero: type a number like {self.example}; "
            f"{quoted(self.read)} was read"
        )


class LengthToRetype(LengthNotRead):
    """A figure with one slip in it: ``why`` it was not read, and what to type instead."""

    why: str

    def __init__(self, field: str, read: str, unit: Unit, retyped: str):
        super().__init__(field, read, unit)
        self.args = (field, read, unit, retyped)
        self.retyped = retyped
        self.advice = f"{self.why}, type {retyped}"

    @property
    def expected(self) -> str:
        return f"{super().expected} ({self.why}: type {self.retyped})"

    def __str__(self) -> str:
        return (
            f"{self.field_first} was read as {quoted(self.read)}: {self.why}, type {self.retyped}"
        )


class LengthHasAGap(LengthToRetype):
    """A number with a gap between its digits: one figure or two?"""

    why = "a number has no gap"


class LengthHasTwoSeparators(LengthToRetype):
    """A number with a point and a comma."""

    why = "a number has one point or comma only"


class LengthTooFine(LengthToRetype):
    """A length between two millimetres, or between two eighths of an inch."""

    def __init__(self, field: str, read: str, unit: Unit, retyped: str, mm: float = 0):
        self.why = f"lengths are stored to {_FINEST[unit]}"
        super().__init__(field, read, unit, retyped)
        self.args = (field, read, unit, retyped, mm)
        self.mm = mm
        """The length as it was typed, between two that are stored."""


_UNIT_WORDS = {
    Unit.CENTIMETRE: re.compile(r"\s*(?:cms?|centimet(?:re|er)s?)\.?$", re.IGNORECASE),
    Unit.INCH: re.compile(r"\s*(?:\"|''|(?:in|inch|inches)\.?)$", re.IGNORECASE),
}
_FEET = re.compile(r"^[0-9][0-9.,/ ]*(?:ft|foot|feet|'(?!'))", re.IGNORECASE)
_OTHER_UNIT = re.compile(
    r"^[0-9][0-9.,/ ]*(?:\"|''|[munpkdc]?m|mms?|in|inch|inches|(?:centi|milli)?met(?:re|er)s?)\.?$",
    re.IGNORECASE,
)
_WITH_A_UNIT = re.compile(
    r"^(?P<figure>[0-9][0-9.,/ -]*?) ?"
    r"(?:(?P<m>m|met(?:re|er)s?)|(?P<cm>cms?|centimet(?:re|er)s?)|(?P<mm>mms?|millimet(?:re|er)s?)"
    r"|(?P<inch>\"|''|in|inch|inches))\.?$",
    re.IGNORECASE,
)
_METRES_AND_CENTIMETRES = re.compile(
    r"^(?P<metres>[0-9]{1,2}) ?m ?(?P<cm>[0-9]{2}|[0-9] ?(?=c))(?: ?cm)?$", re.IGNORECASE
)
_UNIT_MM = {"m": Fraction(1000), "cm": Fraction(10), "mm": Fraction(1), "inch": Fraction(254, 10)}
_ONE_MM = {Unit.CENTIMETRE: _UNIT_MM["cm"], Unit.INCH: _UNIT_MM["inch"]}
_OTHER_UNITS = {
    Unit.CENTIMETRE: {"metres": "m", "millimetres": "mm", "inches": "inch"},
    Unit.INCH: {"centimetres": "cm", "metres": "m", "millimetres": "mm"},
}
_DECIMAL = re.compile(r"^(?P<whole>[0-9]+)(?:[.,](?P<part>[0-9]+))?$")
_EIGHTHS = re.compile(r"^(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)$")
_FEET_AND_INCHES = re.compile(
    r"^(?P<feet>[0-9]+) ?(?:'(?!')|(?:ft|foot|feet)\.?)"
    r"(?: ?-? ?(?P<inches>[0-9][^'\"a-z]*?)(?: ?(?:\"|''|(?:in|inch|inches)\.?))?)?$",
    re.IGNORECASE,
)
INCHES_IN_A_FOOT = 12
_THOUSANDS = re.compile(r"^[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+$|^[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+$")
_QUOTES_AND_SIGNS = str.maketrans(
    {"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "⁄": "/", "−": "-", "‐": "-", "–": "-"}
)


def read_length_mm(text: str, field: str, unit: Unit) -> int:
    """The length that was typed, in millimetres.

    Reads "250", "250.0", "250,0", "250 cm", and in inches "98 3/8", "98-3/8", "98.5 in", '98 3/8"',
    "8 ft 2 3/8 in"; digits of full width as well. ``field`` names the field in the refusal ("high
    rail height").

    Raises:
        LengthNotRead: one of its subclasses, which keeps the field and what was read. Nothing is
            rounded but an eighth of an inch, to the nearest millimetre (half a millimetre to the
            even one). Whether the apparatus can be set to the length is not looked at here.
    """
    if len(text) > LONGEST_FIGURE:
        raise LengthTooLong(field, text, unit)
    plain = _plain(text)
    if not plain:
        raise LengthMissing(field, text, unit)
    if unit is Unit.INCH:
        plain = _without_feet(plain) or plain
    figure = _UNIT_WORDS[unit].sub("", plain)
    steps = _steps(figure, unit)
    if steps is None:
        _refuse(plain, figure, field, text, unit)
    return _in_mm(steps, unit)


def said_mm(text: str) -> Fraction | None:
    """The length that a figure with its own unit says: "1.65 m", "1 m 65", "1650 mm"; else None."""
    plain = _plain(text) if len(text) <= LONGEST_FIGURE else ""
    if found := _METRES_AND_CENTIMETRES.match(plain):
        return Fraction(int(found["metres"]) * 1000 + int(found["cm"]) * 10)
    inches = _without_feet(plain)
    found = _WITH_A_UNIT.match(f"{inches} in" if inches else plain)
    amount = _exact(found["figure"].strip()) if found else None
    if found is None or amount is None:
        return None
    return next(amount * mm for name, mm in _UNIT_MM.items() if found[name])


def if_in_another_unit(
    lengths_mm: Sequence[float], unit: Unit, is_believed: Callable[[float], bool]
) -> str:
    """What lengths that were typed are in the unit in which all of them would be believed.

    "in metres it would be 165.0 cm"; empty where there is no such unit.
    """
    for words, name in _OTHER_UNITS[unit].items():
        meant = [float(length_mm * _UNIT_MM[name] / _ONE_MM[unit]) for length_mm in lengths_mm]
        if all(map(is_believed, meant)):
            told = [length_in_words(mm, unit) for mm in meant]
            first = f"from {told[0].alone} to " if len(set(told)) > 1 else ""
            return f"in {words} it would be {first}{told[-1]}"
    return ""


def and_in_another_unit(
    lengths_mm: Sequence[float], unit: Unit, is_believed: Callable[[float], bool]
) -> str:
    """The same as a sentence that goes behind another one: " In metres it would be 165.0 cm."."""
    likely = if_in_another_unit(lengths_mm, unit, is_believed)
    return f" {upper_first(likely)}." if likely else ""


def format_length(mm: float, unit: Unit) -> str:
    """The figure as people read it, without its unit: "250.0", or in inches "98 3/8".

    A length that is no whole millimetre, or no whole eighth of an inch, is shown as the nearest
    one; a length below zero has a minus sign.

    Raises:
        ValueError, OverflowError: ``mm`` is no finite number.
    """
    if unit is Unit.CENTIMETRE:
        return _figure(round(mm), unit)
    return _figure(round(mm * 1000 / EIGHTH_INCH_UM), unit)


def format_most(mm: float, unit: Unit) -> str:
    """The figure of a length that must not be exceeded: of 12 mm "3/8", since 1/2 in is more.

    More means: kept as more whole millimetres; what was typed in inches is shown as it was typed.
    """
    if unit is Unit.CENTIMETRE:
        return format_length(mm, unit)
    return _figure(_eighths_within(mm), unit)


def format_least(mm: float, unit: Unit) -> str:
    """The figure of a length that must be reached: of 12 mm "1/2"."""
    if unit is Unit.CENTIMETRE:
        return format_length(mm, unit)
    eighths = _eighths_within(mm)
    return _figure(eighths if _in_mm(eighths, unit) == mm else eighths + 1, unit)


def _eighths_within(mm: float) -> int:
    """The most eighths of an inch that are kept as no more than so many whole millimetres."""
    eighths = floor((mm + 0.5) * 1000 / EIGHTH_INCH_UM)
    return eighths if _in_mm(eighths, Unit.INCH) <= mm else eighths - 1


def in_eighths(mm: float) -> bool:
    """Whether a length is a whole number of eighths of an inch, which are all that inches tell."""
    steps = mm * 1000 / EIGHTH_INCH_UM
    return abs(steps - round(steps)) < 0.01


_ALONE = "%(figure)s"
_Worded = Callable[[float, Unit], Sentence]
"""How a length is said in a unit."""


class Length(Sentence):
    """A length as it is said in one unit, which knows how to be said in another.

    ``mm`` is the length itself, so that a reader who asks for inches gets those of the length and
    not of its rounded centimetres.
    """

    mm: float
    _worded: _Worded
    _unit: Unit

    def __new__(cls, worded: _Worded, mm: float, unit: Unit, /) -> Self:
        told = worded(mm, unit)
        said = super().__new__(cls, told.form, **told.facts)
        said.mm, said._worded, said._unit = mm, worded, unit
        return said

    def __getnewargs_ex__(self) -> tuple[tuple[Any, ...], dict[str, Any]]:
        return (self._worded, self.mm, self._unit), {}

    def in_unit(self, unit: Unit) -> "Length":
        """The same length, said in that unit."""
        return self if unit is self._unit else Length(self._worded, self.mm, unit)

    @property
    def as_a_mark(self) -> Sentence:
        """What a ruler shows there: the mark that is looked for, in nobody else's unit."""
        return Sentence(self.form, **self.facts)

    @property
    def nearest(self) -> "Length":
        """The same rounded to the nearest, where it is a limit that is rounded to one side."""
        return Length(_with_unit, self.mm, self._unit)

    @property
    def alone(self) -> "Length":
        """Its figure without the unit, for where that is said already: "245.0"."""
        return Length(partial(_alone, self._worded), self.mm, self._unit)


def said_in(words: str, unit: Unit) -> str:
    """The same words with every length in them said in that unit."""
    match words:
        case Length():
            return words.in_unit(unit)
        case Series():
            return Series([said_in(part, unit) for part in words.parts], words.between)
        case Sentence() if not isinstance(words, Counted):
            facts = {
                name: said_in(fact, unit) if isinstance(fact, str) else fact
                for name, fact in words.facts.items()
            }
            return Sentence(words.form, **facts)
        case _:
            return words


def length_in_words(mm: float, unit: Unit) -> Length:
    """A length with its unit: "245.0 cm"; one in inches never goes over the end of a line."""
    return Length(_with_unit, mm, unit)


def most_in_words(mm: int, unit: Unit) -> Length:
    """A length that must not be exceeded, with its unit: of 12 mm "3/8 in"."""
    return Length(_most, mm, unit)


def least_in_words(mm: int, unit: Unit) -> Length:
    """A length that must be reached, with its unit: of 12 mm "1/2 in"."""
    return Length(_least, mm, unit)


def length_on_floor(mm: float, unit: Unit) -> Length:
    """A length along the floor as it is said there: "90 cm", "20 m", "21.35 m"."""
    return Length(_along_the_floor, mm, unit)


def _with_unit(mm: float, unit: Unit) -> Sentence:
    return _of(format_length(mm, unit), unit)


def _most(mm: float, unit: Unit) -> Sentence:
    return _of(format_most(mm, unit), unit)


def _least(mm: float, unit: Unit) -> Sentence:
    return _of(format_least(mm, unit), unit)


def _of(figure: str, unit: Unit) -> Sentence:
    if unit is Unit.CENTIMETRE:
        return Sentence(IN_CM, figure=Decimal(figure))
    return Sentence(IN_INCHES, figure=unbroken(figure))


def _alone(worded: _Worded, mm: float, unit: Unit) -> Sentence:
    return Sentence(_ALONE, figure=worded(mm, unit).facts["figure"])


def _along_the_floor(mm: float, unit: Unit) -> Sentence:
    if unit is Unit.INCH:
        return _with_unit(mm, unit)
    if round(mm) < LEAST_SAID_IN_METRES_MM:
        return Sentence(IN_CM, figure=_without_noughts(Decimal(round(mm)) / 10))
    return Sentence(IN_METRES, figure=_without_noughts(Decimal(round(mm)) / 1000))


def _without_noughts(figure: Decimal) -> Decimal:
    whole = figure.to_integral_value()
    return whole if figure == whole else figure.normalize()


def minutes(seconds: int) -> Sentence:
    """A time as a coach says it, whatever it is the time of: "11:45 min", "4 h 05:58 min"."""
    return Sentence("%(minutes)s min", minutes=minutes_alone(seconds))


def minutes_alone(seconds: int) -> str:
    """The same where minutes are meant anyhow: "11:45", and from an hour on "4 h 05:58"."""
    whole_minutes, rest_s = divmod(seconds, 60)
    hours, minutes_left = divmod(whole_minutes, 60)
    if not hours:
        return f"{minutes_left}:{rest_s:02}"
    rest = f"{minutes_left:02}:{rest_s:02}"
    return Sentence("%(hours)s h %(minutes)s", hours=hours, minutes=rest)


def fine_length(mm: float, unit: Unit) -> str:
    """A length to a tenth of a millimetre: "3.4 mm", or in inches "0.13 in (3.4 mm)"."""
    in_mm = f"{mm:.1f} mm"
    return in_mm if unit is Unit.CENTIMETRE else f"{mm / INCH_MM:.2f} in ({in_mm})"


def compared_length(mm: float, unit: Unit) -> Length:
    """A length that is set beside a limit: an eighth of an inch alone might hide the difference.

    "1.2 cm", or in inches "1/2 in (1.2 cm)". Of lengths that were typed in eighths it is right for
    a sum or a difference too, which is then nearest to just so many eighths; one of other lengths
    is said by ``difference_in_words``.
    """
    return Length(partial(_compared, _with_unit), mm, unit)


def difference_in_words(mm: float, unit: Unit) -> Length:
    """By how much two lengths differ that stand beside it, each to its nearest eighth.

    "2.2 cm", or in inches "0.87 in (2.2 cm)": 98 1/4 less 97 1/2 may be nearer to 7/8 than to 3/4,
    and as eighths would look miscounted.
    """
    return Length(partial(_compared, _in_hundredths), mm, unit)


def compared_most(mm: int, unit: Unit) -> Length:
    """The limit itself, that must not be exceeded: "3/8 in (1.2 cm)"."""
    return Length(partial(_compared, _most), mm, unit)


def _compared(worded: _Worded, mm: float, unit: Unit) -> Sentence:
    in_cm = _with_unit(mm, Unit.CENTIMETRE)
    if unit is Unit.CENTIMETRE:
        return in_cm
    is_less_than_told = mm and not round(mm * 1000 / EIGHTH_INCH_UM)
    inches = _in_hundredths(mm, unit) if is_less_than_told else worded(mm, unit)
    return Sentence("%(inches)s (%(in_cm)s)", inches=inches, in_cm=in_cm)


def _in_hundredths(mm: float, unit: Unit) -> Sentence:
    """Of an inch; an eighth alone may hide what is compared."""
    if unit is Unit.CENTIMETRE:
        return _with_unit(mm, unit)
    return Sentence(IN_INCHES, figure=Decimal(f"{mm / INCH_MM:.2f}"))


def _in_mm(steps: int, unit: Unit) -> int:
    return steps if unit is Unit.CENTIMETRE else round(steps * EIGHTH_INCH_UM / 1000)


def _figure(steps: int, unit: Unit) -> str:
    """Millimetres as centimetres, or eighths as inches."""
    size = abs(steps)
    figure = f"{size // 10}.{size % 10}" if unit is Unit.CENTIMETRE else _in_eighths(size)
    return f"-{figure}" if steps < 0 else figure


def _in_eighths(eighths: int) -> str:
    inches, rest = divmod(eighths, 8)
    if rest == 0:
        return str(inches)
    bottom = 8 // (rest & -rest)  # the largest power of two in the rest cancels
    fraction = f"{rest * bottom // 8}/{bottom}"
    return f"{inches} {fraction}" if inches else fraction


def _plain(text: str) -> str:
    """Full-width digits, wide spaces and typographic signs as plain ones; single blanks.

    Raised and circled digits are left as they are: 25² is not 252. A fraction sign gets a blank
    before it, for "98⅜" is not 983/8.
    """
    signs = []
    for sign in text:
        tag = unicodedata.decomposition(sign).partition(" ")[0]
        if tag == "<fraction>":
            signs.append(" " + unicodedata.normalize("NFKC", sign))
        elif tag in {"<super>", "<sub>", "<circle>"}:
            signs.append(sign)
        else:
            signs.append(unicodedata.normalize("NFKC", sign.translate(_QUOTES_AND_SIGNS)))
    return " ".join("".join(signs).translate(_QUOTES_AND_SIGNS).split())


def _steps(figure: str, unit: Unit) -> int | None:
    """Whole millimetres of a figure in centimetres, whole eighths of one in inches, or None.

    Of centimetres the second decimal may only be a nought, and three decimals are not read even
    if they are noughts: in "1,000" they may be thousands.
    """
    exact = _exact(figure)
    decimal = _DECIMAL.match(figure)
    if exact is None:
        return None
    if unit is Unit.CENTIMETRE and (decimal is None or len(decimal["part"] or "") > 2):
        return None
    steps = exact * _STEPS_IN_ONE[unit]
    return int(steps) if steps.denominator == 1 else None


def _without_feet(plain: str) -> str:
    """The inches of feet and inches, as they are typed alone; empty where there are none to read.

    A foot and 14 inches, or half a foot and 2 inches, are most likely something else.
    """
    read = _FEET_AND_INCHES.match(plain)
    inches = _exact(read["inches"] or "0") if read else None
    if read is None or inches is None or inches >= INCHES_IN_A_FOOT:
        return ""
    whole, part = divmod(INCHES_IN_A_FOOT * int(read["feet"]) + inches, 1)
    return f"{whole} {part.numerator}/{part.denominator}" if part else str(whole)


def _exact(figure: str) -> Fraction | None:
    """The number that "98", "98.375", "98,375", "98 3/8" or "98-3/8" stands for; else None."""
    if _DECIMAL.match(figure):
        return Fraction(figure.replace(",", "."))
    fraction = _EIGHTHS.match(figure)
    if fraction and int(fraction["top"]) < int(fraction["bottom"]):
        part = Fraction(int(fraction["top"]), int(fraction["bottom"]))
        return int(fraction["whole"] or 0) + part
    return None


def _refuse(plain: str, figure: str, field: str, text: str, unit: Unit) -> NoReturn:
    """Say as narrowly as possible why the figure was not read."""
    if _FEET.match(plain):
        raise LengthInFeet(field, text, unit)
    if figure.startswith("-") and _DECIMAL.match(figure[1:].strip()):
        raise LengthBelowZero(field, text, unit)
    if _OTHER_UNIT.match(figure) or _METRES_AND_CENTIMETRES.match(plain):
        raise LengthInAnotherUnit(field, text, unit, said_mm(plain))
    if choices := _around(figure, unit):
        exact = _exact(figure) or Fraction()
        raise LengthTooFine(field, text, unit, choices, float(exact * _ONE_MM[unit]))
    if _THOUSANDS.match(figure) and (retyped := _if_read(_without_thousands(figure), unit)):
        raise LengthHasTwoSeparators(field, text, unit, retyped)
    if unit is Unit.CENTIMETRE and (retyped := _if_read(figure.replace(" ", ""), unit)):
        raise LengthHasAGap(field, text, unit, retyped)
    raise LengthNotANumber(field, text, unit)


def _around(figure: str, unit: Unit) -> str:
    """The two figures between which a too fine one lies ("162.5 or 162.6"), or nothing."""
    exact = _exact(figure)
    if exact is None or (unit is Unit.CENTIMETRE and "/" in figure):
        return ""
    steps = exact * _STEPS_IN_ONE[unit]
    figures = {_figure(whole, unit): None for whole in (floor(steps), ceil(steps))}
    return " or ".join(figures)


def _without_thousands(figure: str) -> str:
    decimal_sign = figure[max(figure.rfind("."), figure.rfind(","))]
    return figure.replace("," if decimal_sign == "." else ".", "")


def _if_read(figure: str, unit: Unit) -> str:
    """The figure with a point if it would be read, else nothing."""
    return "" if _steps(figure, unit) is None else figure.replace(",", ".")
