"""The form every page builds on, and fields that ask and answer in the words of the hall.

A form keeps all that was typed. Its mistakes are sentences, in the order of its fields; the frame
shows them under the heading and beside each field.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, cast

from flask import request
from werkzeug.datastructures import MultiDict
from wtforms import Field, FieldList, Form, FormField
from wtforms.form import BaseForm

from settingsdesk.desk.accounts.passwords import ManyAtOnce
from settingsdesk.desk.hall.apparatus import DropUnknown
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.models import SectionUnknown
from settingsdesk.web.frame.fields import CarriedField
from settingsdesk.web.frame.work import told

Mistake = tuple[str | None, str]


class DeskForm(Form):
    """A form that reads the request when it was posted, and shows ``obj`` or ``data`` otherwise.

    The token against forged requests is checked for every POST before any view runs, so forms
    need not know of it.
    """

    def __init__(self, sent: "MultiDict[str, Any] | None" = None, **known: Any) -> None:
        if sent is None and request.method == "POST":
            sent = request.form  # a field for a file looks for it by itself, and no other finds one
        super().__init__(sent, **known)

    def accepted(self) -> bool:
        """Whether the form was posted and every field can be read."""
        return request.method == "POST" and self.validate()

    @property
    def status(self) -> int:
        """The status of a page that shows this form: 400 when something must be put right."""
        return 400 if self.mistakes else 200

    @contextmanager
    def refusals(self, at: Field | None = None, *kinds: type[SettingsDeskError]) -> Iterator[None]:
        """Turn a refusal of the desk into a mistake of the field ``at``, or of the whole form.

        Only refusals of ``kinds``, where some are named. The block ends there; the view goes on
        to show the form again. That an apparatus is withdrawn, or that its model lacks its drop or
        its section, or that many sign in at once, is no slip in a form: it has a page of its own.
        """
        try:
            yield
        except (WithdrawnFromUse, DropUnknown, SectionUnknown, ManyAtOnce):
            raise
        except SettingsDeskError as refusal:
            if kinds and not isinstance(refusal, kinds):
                raise
            if at is None:
                self.form_errors.append(told(refusal))
            else:
                at.errors = [*at.errors, told(refusal)]

    @property
    def mistakes(self) -> list[Mistake]:
        """Every mistake with the id of its field, or no id where it concerns the whole form."""
        of_all: list[Mistake] = [(None, sentence) for sentence in self.form_errors]
        return of_all + [(_place_of(field), sentence) for field, sentence in _faults_in(self)]


class AskingForm(DeskForm):
    """A form that asks about what may be a slip, and keeps it once it is sent again unchanged.

    ``questions`` are for its page to show.
    """

    asked = CarriedField()
    questions: Sequence[str] = ()

    def asks(self, questions: Sequence[str]) -> bool:
        """Whether there are questions that were not on the page that was sent; they are now."""
        now = "|".join(questions)
        before, self.asked.data, self.asked.raw_data = self.asked.data, now, [now]
        self.questions = questions
        return bool(questions) and before != now


def margin_notes(forms: Iterable[DeskForm]) -> list[Mistake]:
    """All mistakes of a page's forms in the order of their numbers, from 1.

    Each field is told its own: ``noted``, such as "2" or "2, 3", stands at the field as in the
    list under the heading.
    """
    notes: list[Mistake] = []
    for form in forms:
        notes += [(None, sentence) for sentence in form.form_errors]
        for field, sentence in _faults_in(form):
            notes.append((_place_of(field), sentence))
            if field is not None:
                numbers = [getattr(field, "noted", ""), str(len(notes))]
                cast("Any", field).noted = ", ".join(filter(None, numbers))
    return notes


def _faults_in(fields: "BaseForm | FieldList[Any]") -> Iterator[tuple[Field | None, str]]:
    for field in fields:
        if isinstance(field, FormField):
            yield from ((None, sentence) for sentence in field.form.form_errors)
            yield from _faults_in(field.form)
        elif isinstance(field, FieldList):
            yield from _faults_in(field)
        else:
            yield from ((field, sentence) for sentence in field.errors)


def _place_of(field: Field | None) -> str | None:
    return None if field is None else first_control_id(field)


def first_control_id(field: Field) -> str:
    """The id of the control a message should lead to: of several choices, the first."""
    return f"{field.id}-0" if getattr(field, "kind", "") == "choices" else field.id


def described_by(field: Field, hint: str | None = None) -> Mapping[str, str]:
    """The attributes that tie a control to its hint and its error."""
    parts = [f"{field.id}-hint"] * bool(hint) + [f"{field.id}-error"] * bool(field.errors)
    attributes = {"aria-describedby": " ".join(parts)} if parts else {}
    return attributes | ({"aria-invalid": "true"} if field.errors else {})
