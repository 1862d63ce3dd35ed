"""Sentences that can be said in another language: whole, with named places for their facts.

Each is the English text itself, wherever text is wanted. Who speaks to somebody of another tongue
finds the form of the sentence here, in a catalogue, and what stands in its places
(``settingsdesk.words``). Nothing here knows of any language but English.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, Literal, Self

Between = Literal["and", "or", ", ", "; ", " / ", ". ", " "]
"""What stands between the parts of a series: a word that each language has, or a sign."""

NO_BREAK = "\u00a0"
"""A blank at which no line ends: half of "62 3/8 in" would be another length."""


def unbroken(text: str) -> str:
    """Text that stands on one line, or goes over to the next as a whole."""
    return text.replace(" ", NO_BREAK)


def with_whole_figures(text: str) -> str:
    """The same of each figure in a text, with its fraction, sign and unit: "± 3 1/2 in"."""
    return _WITHIN_FIGURE.sub(NO_BREAK, text)


_WITHIN_FIGURE = re.compile(r"(?<=[0-9]) (?=[0-9]+/[0-9]|(?:cm|m|in)\b)|(?<=±) ")


class Sentence(str):
    """A sentence, or words that stand alone, in English: ``form`` with ``facts`` in its places.

    A fact is a name or a mark, which is the same in every language, a number, or itself one of
    this module. A sign "%" is written twice.
    """

    form: str
    facts: dict[str, Any]

    def __new__(cls, form: str, /, **facts: object) -> Self:
        said = super().__new__(cls, form % facts)
        said.form, said.facts = form, facts
        return said

    def __getnewargs_ex__(self) -> tuple[tuple[Any, ...], dict[str, Any]]:
        return (self.form,), self.facts


class Counted(Sentence):
    """A sentence about a number of things, ``count``, which languages bend in their own ways."""

    one: str
    many: str
    number: int

    def __new__(cls, one: str, many: str, count: int, /, **facts: object) -> "Counted":
        form = one if count == 1 else many
        said = str.__new__(cls, form % {**facts, "count": count})
        said.form, said.facts = form, {**facts, "count": count}
        said.one, said.many, said.number = one, many, count
        return said

    def __getnewargs_ex__(self) -> tuple[tuple[Any, ...], dict[str, Any]]:
        facts = {name: fact for name, fact in self.facts.items() if name != "count"}
        return (self.one, self.many, self.number), facts


class Series(str):
    """Several of these one after the other: "front end and back end"."""

    parts: tuple[str, ...]
    between: Between

    def __new__(cls, parts: Sequence[str], between: Between) -> "Series":
        said = super().__new__(cls, _joined(parts, between))
        said.parts, said.between = tuple(parts), between
        return said

    def __getnewargs__(self) -> tuple[Any, ...]:
        return self.parts, self.between


class Day(str):
    """A day as it is said: "24 November 2026"."""

    on: date

    def __new__(cls, on: date) -> "Day":
        said = super().__new__(cls, f"{on.day} {on:%B %Y}")
        said.on = on
        return said

    def __getnewargs__(self) -> tuple[Any, ...]:
        return (self.on,)


class Moment(str):
    """A day and the time of day, in the zone that it is told in: "24 November 2026, 14:05"."""

    at: datetime

    def __new__(cls, at: datetime) -> "Moment":
        said = super().__new__(cls, f"{Day(at.date())}, {at:%H:%M}")
        said.at = at
        return said

    def __getnewargs__(self) -> tuple[Any, ...]:
        return (self.at,)


def marked(form: str) -> str:
    """The form of a sentence that gets its facts elsewhere: who gathers the catalogue finds it."""
    return form


def retold(told: str, forms: Mapping[str, str]) -> str:
    """The same sentence with other forms for some, wherever one stands in another."""
    if not isinstance(told, Sentence) or isinstance(told, Counted):
        return told
    facts = {
        name: retold(fact, forms) if isinstance(fact, str) else fact
        for name, fact in told.facts.items()
    }
    return Sentence(forms.get(told.form, told.form), **facts)


def recognised(text: str, forms: Iterable[str]) -> str:
    """The sentence that was kept as its English text: the first of those forms that it has.

    Its places are looked at in the same way; days, numbers and lengths are known without a form.
    Text of no such form stays as it is.
    """
    if not text:
        return text
    if _A_DAY.fullmatch(text):
        return Day(datetime.strptime(text, "%d %B %Y").date())  # noqa: DTZ007 — a day has no zone
    for form in LENGTHS:
        if found := _pattern(form).fullmatch(text):
            return Sentence(form, figure=_number(unbroken(found["figure"])))
    for form in forms:
        if found := _pattern(form).fullmatch(text):
            facts = {name: _fact(fact, forms) for name, fact in found.groupdict().items()}
            return Sentence(form, **facts)
    return text


IN_CM, IN_METRES = marked("%(figure)s cm"), marked("%(figure)s m")
IN_INCHES = marked("%(figure)s\u00a0in")
LENGTHS = (IN_CM, IN_INCHES, IN_METRES)
"""How lengths are said. Inches were kept with usual blanks at first, and are read with either."""
_A_DAY = re.compile(r"[0-9]{1,2} [A-Z][a-z]+ [0-9]{4}")
_A_NUMBER = re.compile(r"[0-9]+\.[0-9]")
_ANY_BLANK = f"[ {NO_BREAK}]"
_PLACE = re.compile(r"%\((\w+)\)s")


def _fact(text: str, forms: Iterable[str]) -> object:
    number = _number(text)
    return recognised(text, forms) if number is text else number


def _number(text: str) -> Decimal | str:
    return Decimal(text) if _A_NUMBER.fullmatch(text) else text


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """What has that form, with the text of each place; a length's figure is nothing but that."""
    *texts, last = _PLACE.split(form)
    parts = [
        re.escape(part).replace(NO_BREAK, _ANY_BLANK) if number % 2 == 0 else _place(part, form)
        for number, part in enumerate((*texts, last))
    ]
    return re.compile("".join(parts).replace("%%", "%"))


def _place(name: str, form: str) -> str:
    return f"(?P<{name}>{f'[0-9 {NO_BREAK}./]+' if form in LENGTHS else '.+?'})"


def _joined(parts: Sequence[str], between: Between) -> str:
    if between not in ("and", "or"):
        return between.join(parts)
    *before, last = parts
    return f"{', '.join(before)} {between} {last}" if before else last
