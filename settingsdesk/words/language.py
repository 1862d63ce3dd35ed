"""How one reader is spoken to: sentences by the catalogue, days and numbers by their locale.

Pages and paper speak through the same object. The catalogues lie beside this file, as translators
write them; ``languages`` says which there are.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache, reduce
from gettext import NullTranslations
from typing import Any
from unicodedata import bidirectional

from babel import Locale
from babel.dates import format_date, format_time
from babel.lists import format_list
from babel.numbers import format_decimal

from settingsdesk.domain.base.figures import Length
from settingsdesk.domain.base.sentences import (
    Between,
    Counted,
    Day,
    Moment,
    Sentence,
    Series,
    marked,
)
from settingsdesk.domain.base.units import Unit

APART, TOGETHER = "\u2068", "\u2069"
"""Around what has its own direction in a line that runs from right to left: a first strong isolate
(Unicode Standard Annex 9). What stands between them is placed as a whole and read as it is."""


_RUNS_BACK = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")
"""Hebrew, Arabic, and what is written beside them from right to left."""

_MOMENT = marked("%(day)s, %(time)s")

_JOINED: Mapping[Between, str] = {
    ", ": marked("%(before)s, %(after)s"),
    "; ": marked("%(before)s; %(after)s"),
    ". ": marked("%(before)s. %(after)s"),
    " ": marked("%(before)s %(after)s"),
}
"""How two parts of a series stand beside each other: a language has its own stops, and some have
no blank behind them."""


@dataclass(frozen=True, slots=True)
class Language:
    """One language, and the catalogue in which its sentences are found; else they stay English.

    ``unread`` says that no native speaker has read the catalogue yet: the English stands beneath
    whatever somebody could be hurt by. ``unit`` is the one in which a reader asked for lengths;
    without it they are said as they were made, in that of the club.
    """

    locale: Locale
    catalogue: NullTranslations = field(default_factory=NullTranslations)
    unread: bool = False
    unit: Unit | None = None

    @property
    def tag(self) -> str:
        """What a page says of its language (BCP 47): "en"."""
        return str(self.locale.language)

    @property
    def direction(self) -> str:
        """How its lines run: "ltr" or "rtl"."""
        return str(self.locale.text_direction)

    @property
    def is_rtl(self) -> bool:
        """Whether its lines run from right to left."""
        return self.direction == "rtl"

    def in_unit(self, unit: Unit | None) -> "Language":
        """The same language with lengths in that unit, or as they were made."""
        return self if unit is self.unit else replace(self, unit=unit)

    def said(self, words: str) -> str:
        """Words of the program in this language; names, marks and all other text unchanged."""
        if not words:
            return ""
        match words:
            case Counted():
                form = self.catalogue.ngettext(words.one, words.many, words.number)
                return form % self._facts(words.facts)
            case Length() if self.unit is not None:
                return self._sentence(words.in_unit(self.unit))
            case Sentence():
                return self._sentence(words)
            case Day():
                return self.day(words.on)
            case Moment():
                return self.moment(words.at)
            case Series():
                return self._series(words)
        return words

    def all_said(self, words: Iterable[str]) -> tuple[str, ...]:
        """The same of each."""
        return tuple(map(self.said, words))

    def of_a_list(self, words: str) -> str:
        """An item of a check list: a shipped one in this language, a club's own unchanged."""
        return self.catalogue.gettext(words)

    def day(self, on: date) -> str:
        """A day: "24 November 2026"."""
        return _day(self.locale, on.year, on.month, on.day)

    def clock(self, at: datetime | time) -> str:
        """A time of day, in every language as halls have it on the wall: "14:05"."""
        return _clock(self.locale, at.hour, at.minute)

    def seconds_of(self, at: datetime) -> str:
        """A time of day to the second: "14:05:07"."""
        return format_time(at, "HH:mm:ss", locale=self.locale)

    def moment(self, at: datetime) -> str:
        """A moment on this machine's clock: "24 November 2026, 14:05"."""
        here = at.astimezone()
        day, time_of_day = self.day(here.date()), self.clock(here.time())
        return self.catalogue.gettext(_MOMENT) % {"day": day, "time": time_of_day}

    def apart(self, fact: Any) -> Any:
        """A name, a mark or a figure as it stands in a sentence: by itself, where it is needed."""
        return f"{APART}{fact}{TOGETHER}" if self.keeps_apart(fact) else fact

    def keeps_apart(self, fact: Any) -> bool:
        """Whether something must not be drawn into the direction of what stands beside it.

        In lines that run from right to left that is everything but what runs so at both its ends;
        in others what itself runs so, or the marks behind an Arabic name would change places.
        """
        if fact == "":
            return False
        text = str(fact)
        return not _is_at_home(text) if self.is_rtl else bool(_RUNS_BACK.search(text))

    def _sentence(self, words: Sentence) -> str:
        return self.catalogue.gettext(words.form) % self._facts(words.facts)

    def _facts(self, facts: Mapping[str, Any]) -> dict[str, Any]:
        return {name: self._fact(fact) for name, fact in facts.items()}

    def _fact(self, fact: Any) -> Any:
        match fact:
            case Sentence() | Day() | Moment() | Series():
                return self.said(fact)
            case Decimal():
                places = -int(fact.as_tuple().exponent)
                form = f"0.{'0' * places}" if places > 0 else "0"
                return self.apart(format_decimal(fact, form, locale=self.locale))
        return self.apart(fact)

    def _series(self, words: Series) -> str:
        said: Sequence[str] = tuple(map(self._fact, words.parts))
        match words.between:
            case "and":
                return format_list(said, "standard", locale=self.locale)
            case "or":
                return format_list(said, "or", locale=self.locale)
            case " / ":
                return " / ".join(said)
        form = self.catalogue.gettext(_JOINED[words.between])
        return reduce(
            lambda before, after: form % {"before": before, "after": after}, said or ("",)
        )


def _is_at_home(text: str) -> bool:
    """Whether it lies in a line from right to left as it would apart: what is at its ends runs so,
    or is kept apart itself.
    """
    first, last = text[0], text[-1]
    return (first == APART or _runs_back(first)) and (last == TOGETHER or _runs_back(last))


def _runs_back(sign: str) -> bool:
    return bidirectional(sign) in ("R", "AL")


@lru_cache(maxsize=4096)
def _day(locale: Locale, year: int, month: int, day: int) -> str:
    """Pages name few days, each many times.

    The first of a month is an ordinal in French: "1er décembre 2026".
    """
    said = format_date(date(year, month, day), "long", locale=locale)
    return said.replace("1", "1er", 1) if locale.language == "fr" and day == 1 else said


@lru_cache(maxsize=4096)
def _clock(locale: Locale, hour: int, minute: int) -> str:
    return format_time(time(hour, minute), "HH:mm", locale=locale)


ENGLISH = Language(Locale("en", "GB"))
"""Days and clocks as most of the world's halls write them in English, and as these pages do."""
