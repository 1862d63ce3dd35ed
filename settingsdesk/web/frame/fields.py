"""Fields: each knows its label, width and unit, and says what to do when it cannot be read.

``words`` is the label, such as "High rail height". The width classes are in static/forms.css; w-4
is as wide as four letters.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any, ClassVar

from flask import g, request
from markupsafe import Markup, escape
from wtforms import BooleanField, Field, SelectField, SelectMultipleField, widgets
from wtforms.form import BaseForm
from wtforms.validators import StopValidation
from wtforms.widgets import TextArea

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    format_length,
    format_most,
    lower_first,
    most_in_words,
    read_length_mm,
)
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM
from settingsdesk.store.base import GREATEST_NUMBER

NO_CHARACTERS = "".join(chr(plane << 16 | last) for plane in range(17) for last in (0xFFFE, 0xFFFF))
UNSEEN = re.compile(rf"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufdd0-\ufdef{NO_CHARACTERS}]")
"""Control characters and what is none: nobody types them, and a page cannot show them."""


MOST_DIGITS = 9
"""Of a number that a page carries: more rows, versions or events there are of nothing."""


def number_carried(text: object, otherwise: int = -1) -> int:
    """A number that a page carries in small print; ``otherwise`` where it was spoilt on the way."""
    told = str(text or "")
    return (
        int(told) if told.isascii() and told.isdigit() and len(told) <= MOST_DIGITS else otherwise
    )


def number_of_a_row(text: str) -> int:
    """A number that something can have; ``ValueError`` for any other, as ``int`` has it."""
    if not 0 <= (number := int(text)) <= GREATEST_NUMBER:
        raise ValueError(text)
    return number


LENGTH_LABELS = {Unit.CENTIMETRE: "in centimetres", Unit.INCH: "in inches"}


AS_PRINTED = {
    "autocomplete": "off",
    "autocorrect": "off",
    "autocapitalize": "characters",
    "spellcheck": "false",
}
"""For a box that takes a code or a mark as it is printed, which no phone is to make a word of."""


def attributes(**told: Any) -> Markup:
    """Attributes of an element, to the letter as ``wtforms.widgets.html_params`` writes them.

    That one makes each by ``Markup.format``, a fifth of what a page full of boxes cost.
    """
    written = []
    for key, value in sorted(told.items()):
        name = key.rstrip("_")
        if name.startswith(("data_", "aria_")):
            name = name.replace("_", "-")
        name = str(escape(name))
        if value is True:
            written.append(name)
        elif value is not False:
            # A quotation mark is left only in what says that it is markup already.
            quoted = str(escape(value)).replace('"', "&quot;")
            written.append(f'{name}="{quoted}"')
    return Markup(" ".join(written))  # noqa: S704  # each was escaped just now


class _Written:
    html_params = staticmethod(attributes)


class TextInput(_Written, widgets.TextInput):
    """A box for one line."""


class PasswordInput(_Written, widgets.PasswordInput):
    """A box that hides what is typed."""


class DateInput(_Written, widgets.DateInput):
    """A box with a calendar."""


class FileInput(_Written, widgets.FileInput):
    """A button that chooses a file."""


class RadioInput(_Written, widgets.RadioInput):
    """One of several that exclude each other."""


class CheckboxInput(_Written, widgets.CheckboxInput):
    """A box to tick."""


class HiddenInput(_Written, widgets.HiddenInput):
    """What is not seen."""


class Box(Field):
    """A field with one box to type in. What was typed is shown again, right or wrong.

    ``ask`` is the sentence for an empty box; without it, "Enter the …". ``note`` is what is to be
    known of the box as it stands now. ``needed_at_times``: it may be left empty, but depending on
    what else is said the form is refused for it, so it is not called optional.
    """

    kind = "box"
    note = ""
    empty: ClassVar[Any] = None
    widget: Any = TextInput()

    def __init__(
        self,
        words: str,
        *,
        ask: str = "",
        optional: bool = False,
        needed_at_times: bool = False,
        width: str = "w-32",
        unit: str = "",
        **settings: Any,
    ) -> None:
        super().__init__(settings.pop("label", words), **settings)
        self.words, self.width, self.unit = words, width, unit
        self.ask = ask or f"Enter the {lower_first(words)}"
        self.flags.optional = optional or needed_at_times
        self.flags.needed_at_times = needed_at_times

    def read(self, typed: str) -> Any:
        """The value of what was typed; raises ValueError with the sentence to show."""
        return typed

    def shown(self, value: Any) -> str:
        """The value as it stands in the box."""
        return str(value)

    def as_sent(self, value: Any) -> list[str]:
        """What a browser sends where that value stands in the field untouched."""
        lines = [] if value is None else self.shown(value).splitlines()
        return ["\n".join(lines)] if lines else []

    def in_words(self, sent: Sequence[str]) -> str:
        """What was sent, as it is told to a person."""
        return f"“{' / '.join(sent[0].splitlines())}”" if sent else "nothing"

    def process_formdata(self, valuelist: list[Any]) -> None:
        if not valuelist and self.data is None:
            self.data = self.empty  # the form came without it: it is as if nothing were typed
        if valuelist:
            typed = str(valuelist[0]).strip()
            self.data = self.empty
            if UNSEEN.search(typed):
                raise ValueError(
                    Sentence(
                        "%(field)s holds a character that cannot be seen; retype it",
                        field=self.words,
                    )
                )
            self.data = self.read(typed) if typed else self.empty

    def pre_validate(self, form: BaseForm) -> None:
        nothing = self.data is None or self.data == self.empty
        if nothing and not self.process_errors and not self.flags.optional:
            raise StopValidation(self.ask)

    def _value(self) -> str:
        if self.raw_data:
            return UNSEEN.sub("\ufffd", str(self.raw_data[0]))
        return "" if self.data is None else self.shown(self.data)


class WordsField(Box):
    """A name or a few words on one line, of at most ``most`` letters."""

    empty = ""

    def __init__(self, words: str, *, most: int = 80, **settings: Any) -> None:
        super().__init__(words, **settings)
        self.most = most

    def read(self, typed: str) -> str:
        plain = typed if isinstance(self.widget, TextArea) else " ".join(typed.split())
        if len(plain) > self.most:
            raise ValueError(
                Sentence(
                    "%(field)s must have %(most)s letters or fewer; it has %(count)s",
                    field=self.words,
                    most=self.most,
                    count=len(plain),
                )
            )
        return plain


class SoughtField(WordsField):
    """What a list is searched by; it may be empty, and its label need not say so."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class ParagraphField(WordsField):
    """Remarks on several lines."""

    widget: Any = TextArea()

    def __init__(self, words: str, *, most: int = 2000, **settings: Any) -> None:
        super().__init__(words, most=most, width="", **settings)


class SecretField(Box):
    """A password: never shown again, pasted as freely as typed, blanks kept."""

    widget = PasswordInput(hide_value=True)

    def __init__(self, words: str, *, autocomplete: str, **settings: Any) -> None:
        settings["render_kw"] = {"autocomplete": autocomplete}
        super().__init__(words, **settings)

    def process_formdata(self, valuelist: list[Any]) -> None:
        self.data = (valuelist[0] or None) if valuelist else None


class LengthField(Box):
    """A length in the unit the club reads, or in another; ``data`` is whole millimetres.

    Where nothing was typed anew the stored length is kept, although inches would round it.
    """

    data: int | None

    def __init__(self, words: str, *, length_unit: Unit | None = None, **settings: Any) -> None:
        self.length_unit: Unit = length_unit or g.coach.length_unit
        settings.setdefault("width", "w-4")
        super().__init__(
            words,
            label=f"{words}, {LENGTH_LABELS[self.length_unit]}",
            unit=self.length_unit.value,
            render_kw={"inputmode": "decimal", "autocomplete": "off"},
            **settings,
        )

    def read(self, typed: str) -> int:
        if self.object_data is not None and typed == self.shown(self.object_data):
            return int(self.object_data)
        try:
            return read_length_mm(typed, self.words, self.length_unit)
        except SettingsDeskError as refusal:
            raise ValueError(self.refused(refusal, typed)) from refusal

    def refused(self, refusal: SettingsDeskError, typed: str) -> str:
        """What is said of a figure that is not read."""
        del typed
        return str(refusal)

    def shown(self, value: Any) -> str:
        return format_length(value, self.length_unit)

    def in_words(self, sent: Sequence[str]) -> str:
        return f"{sent[0]} {self.unit}" if sent else "nothing"


class DeviationField(LengthField):
    """How far off something may be, either way; never shown as more than it is."""

    def shown(self, value: Any) -> str:
        return format_most(value, self.length_unit)

    def read(self, typed: str) -> int:
        accepts_mm = super().read(typed.removeprefix("±").strip())
        if accepts_mm > MOST_ACCEPTED_MM:
            most = most_in_words(MOST_ACCEPTED_MM, self.length_unit)
            raise ValueError(f"{self.words} must be at most {most}")
        return accepts_mm


class CountField(Box):
    """A whole number between ``least`` and ``most``."""

    data: int | None

    def __init__(self, words: str, *, least: int = 0, most: int = 9999, **settings: Any) -> None:
        settings.setdefault("width", "w-4")
        super().__init__(
            words, render_kw={"inputmode": "numeric", "autocomplete": "off"}, **settings
        )
        self.least, self.most = least, most

    def read(self, typed: str) -> int:
        if not (typed.isdecimal() and len(typed) <= 9):
            raise ValueError(f"{self.words} must be a whole number, like {max(self.least, 3)}")
        count = int(typed)
        if not self.least <= count <= self.most:
            between = f"between {self.least} and {self.most}"
            most = self.most if self.least == self.most else between
            raise ValueError(f"{self.words} must be {most}")
        return count


class DayField(Box):
    """A day of the calendar."""

    data: date | None
    widget = DateInput()

    def __init__(self, words: str, **settings: Any) -> None:
        super().__init__(words, width="w-16", **settings)

    @property
    def note(self) -> str:  # type: ignore[override]
        """Of an empty one that may look filled: WebKit shows the present day in it."""
        return (
            "" if self._value() else "Some phones show today’s date here while nothing is chosen."
        )

    def read(self, typed: str) -> date:
        try:
            return date.fromisoformat(typed)
        except ValueError:
            raise ValueError(f"{self.words} must be a day, like 2026-05-30") from None


class PaperField(Box):
    """A file to send in; ``accept`` lists its endings, such as ".xlsx,.csv"."""

    widget = FileInput()

    def __init__(self, words: str, *, accept: str, **settings: Any) -> None:
        super().__init__(words, width="", render_kw={"accept": accept}, **settings)

    @property
    def note(self) -> str:  # type: ignore[override]
        """Of a form that comes back for something else: no browser lets a page fill in a file."""
        return f"{self.data.filename} was not saved: choose it again." if self.data else ""

    def as_sent(self, value: Any) -> list[str]:
        """Nothing: what was sent before does not stand in the field."""
        return []

    def process_formdata(self, _valuelist: list[Any]) -> None:
        sent = request.files.get(self.name)
        self.data = sent if sent and sent.filename else None


class ChoiceField(SelectField):
    """One of several in a drop-down list; ``offer`` says which, ``read_choice`` reads one.

    ``ask`` is the sentence where nothing on offer was chosen; without it, "Choose the …".
    """

    kind = "box"
    blank = "Choose one"

    def __init__(
        self,
        words: str,
        *,
        choices: Iterable[tuple[Any, str]] = (),
        ask: str = "",
        optional: bool = False,
        needed_at_times: bool = False,
        read_choice: Callable[[str], Any] = str,
        **settings: Any,
    ) -> None:
        def coerce(value: Any) -> Any:
            if value in (None, ""):
                return None
            read = read_choice(value)
            if isinstance(read, int) and abs(read) > GREATEST_NUMBER:
                raise ValueError(self.ask)
            return read

        super().__init__(words, coerce=coerce, **settings)
        self.words, self.width, self.unit = words, "w-32", ""
        self.ask = ask or f"Choose the {lower_first(words)}"
        self.flags.optional = optional or needed_at_times
        self.flags.needed_at_times = needed_at_times
        self.offer(choices)

    def offer(self, choices: Iterable[tuple[Any, str]]) -> None:
        """Say what can be chosen: (value, words) in the order of the list."""
        self.offered = list(choices)
        self.choices = [("", self.blank), *self.offered] if self.blank else self.offered

    def as_sent(self, value: Any) -> list[str]:
        """What a browser sends where that value is chosen, or those values are; in any order."""
        if value in (None, ""):
            return []
        return sorted(map(str, value)) if isinstance(value, list) else [str(value)]

    def in_words(self, sent: Sequence[str]) -> str:
        """The words of what was sent; what is not on offer is counted."""
        offered = {str(value): words for value, words in self.offered}
        words = [offered[value] for value in sent if value in offered]
        others = len(sent) - len(words)
        if others:
            words.append(f"{others} not shown here")
        return f"“{'; '.join(words)}”" if words else "nothing"

    def process_formdata(self, valuelist: list[Any]) -> None:
        try:
            super().process_formdata(valuelist)
        except ValueError:
            raise ValueError(self.ask) from None

    def pre_validate(self, form: BaseForm) -> None:
        if self.process_errors or (self.data is None and self.flags.optional):
            return
        if self.data is None or not self._on_offer(self.data):
            raise StopValidation(self.ask)

    def _on_offer(self, value: Any) -> bool:
        return any(value == self.coerce(offered) for offered, _words in self.offered)


class RadiosField(ChoiceField):
    """One of a few, all of them in sight."""

    kind = "choices"
    blank = ""
    option_widget = RadioInput()


class ChecksField(ChoiceField, SelectMultipleField):
    """Any number of several, all of them in sight; ``data`` is their list."""

    kind = "choices"
    blank = ""
    option_widget = CheckboxInput()

    def pre_validate(self, form: BaseForm) -> None:
        chosen = self.data or []
        wrong = not all(self._on_offer(value) for value in chosen)
        if not self.process_errors and (wrong or not (chosen or self.flags.optional)):
            raise StopValidation(self.ask)


class TickField(BooleanField):
    """Yes or no, as one box to tick."""

    kind = "tick"
    widget = CheckboxInput()

    def __init__(self, words: str, **settings: Any) -> None:
        super().__init__(words, **settings)
        self.words = words

    def as_sent(self, value: Any) -> list[str]:
        """What a browser sends where it stands so."""
        return ["y"] if value else []

    def in_words(self, sent: Sequence[str]) -> str:
        """Yes or no."""
        return "“yes”" if sent else "“no”"


class CarriedField(Box):
    """What the form carries unseen, such as the version that was read; ``data`` is text."""

    kind = "carried"
    empty = ""
    widget = HiddenInput()

    def __init__(self, words: str = "What the form carries", **settings: Any) -> None:
        super().__init__(words, optional=True, **settings)

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist or [""])
