"""Two people at one form: the later to save is told what changed, and loses nothing of theirs."""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from werkzeug.datastructures import MultiDict
from wtforms import Field

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.web.frame.fields import CarriedField
from settingsdesk.web.frame.forms import DeskForm

Sent = dict[str, list[str]]
"""What a browser sends of each field; an empty list where nothing stands in it."""


class EditForm(DeskForm):
    """A form that is filled from something kept, which others may change while it is open.

    It carries what it was filled from as ``as_read``; its page has to hold that field. A view asks
    ``must_be_as_read`` in the unit of work that changes what is kept, before anything is changed.
    """

    as_read = CarriedField()

    def __init__(self, sent: "MultiDict[str, Any] | None" = None, **known: Any) -> None:
        super().__init__(sent, **known)
        if self.as_read.raw_data is None:
            self._carry(self._standing())

    def must_be_as_read(self, *, by: str = "", **present: Any) -> None:
        """Raise ``SavedMeanwhile`` where what is kept is not what this form was filled from.

        ``present`` is what is kept now, told as the form is told it; nothing where the form itself
        was made in this unit of work. ``by`` is who kept it, where that is on record. What both
        changed to the same is no matter. A field that was left alone here then shows what somebody
        else made of it, one that was typed in keeps what was typed, and the next press keeps all
        as it stands in the form.
        """
        kept = type(self)(MultiDict(), **present) if present else self
        now, read = kept._standing(), _read(self.as_read.raw_data)
        mine = {field.name: field.as_sent(field.data) for field in self._kept_fields()}
        # Of a form that does not say what it was filled from, whatever it would replace counts.
        stale = {
            name: standing
            for name, standing in now.items()
            if (read.get(name, []) != standing if read is not None else standing)
            and mine[name] != standing
        }
        if not stale:
            return
        for name, standing in stale.items():
            field, was = self[name], read.get(name, []) if read is not None else None
            field.errors = [*field.errors, _told(field, was, standing, mine[name])]
            if was == mine[name]:
                field.raw_data = None
                field.process(None, kept[name].object_data)
        self._carry(now)
        raise SavedMeanwhile(by, form_is_old=read is None)

    @contextmanager
    def refusals(self, at: Field | None = None, *kinds: type[SettingsDeskError]) -> Iterator[None]:
        """As of every form; that somebody has saved meanwhile concerns the whole form."""
        with super().refusals(at, *kinds):
            try:
                yield
            except SavedMeanwhile as refusal:
                self.form_errors.append(str(refusal))

    def _kept_fields(self) -> list[Any]:
        """The fields in which something of what is kept can stand."""
        return [field for field in self if not isinstance(field, CarriedField)]

    def _standing(self) -> Sent:
        return {field.name: field.as_sent(field.object_data) for field in self._kept_fields()}

    def _carry(self, standing: Mapping[str, Sequence[str]]) -> None:
        self.as_read.raw_data, self.as_read.data = None, json.dumps(standing)


def _read(raw: Sequence[Any] | None) -> Sent | None:
    """What the form was filled from; None where it does not say so, or it was spoilt."""
    try:
        carried = json.loads(str(raw[0])) if raw else None
    except (ValueError, RecursionError):
        return None
    if not isinstance(carried, dict) or not all(isinstance(one, list) for one in carried.values()):
        return None
    return carried


def _told(field: Any, was: Sequence[str] | None, now: Sequence[str], mine: Sequence[str]) -> str:
    """One field that somebody else changed: what stands now, and what becomes of what was typed."""
    stands = f"{field.words}: {field.in_words(now)} is stored now"
    before = "" if was is None else f", and was {field.in_words(was)} when you opened the form"
    if was == mine:
        return f"{stands}{before}. You left it alone, so it is taken over here"
    return f"{stands}{before}. Yours is {field.in_words(mine)}"


class SavedMeanwhile(SettingsDeskError):
    """Somebody else has saved what a form was filled from while it was open."""

    def __init__(self, by: str, *, form_is_old: bool) -> None:
        self.by, self.form_is_old = by, form_is_old

    def __str__(self) -> str:
        why = "This was changed while the page was open"
        if self.form_is_old:
            why = "This page is from before settingsdesk was updated and cannot tell what changed"
        elif self.by:
            why = f"This was changed meanwhile by {self.by}"
        return (
            f"{why}. Nothing is saved yet, and nothing of yours is lost. Look at it as it is now;"
            " save once more to have it as it stands in the form"
        )
