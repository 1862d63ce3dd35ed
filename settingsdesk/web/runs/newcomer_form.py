"""The short form for somebody who is not in the squad and stands at the bars: name and marks."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad.athletes import (
    Member,
    NameNotPrintable,
    NameTooLong,
    Person,
    PersonUnnamed,
)
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.web.frame.axis_fields import MarkField, alone_mm, blaming, form_of
from settingsdesk.web.frame.fields import CarriedField, ChoiceField, TickField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.squad.athletes import OfSameName

OF_THE_NAME = (NameNotPrintable, NameTooLong, CharacterNotInFont, OfSameName, PersonUnnamed)
"""What is refused of a name, at its first field."""


class NewcomerForm(DeskForm):
    """A name, and the marks of every axis, or whose setting it begins with."""

    seen = CarriedField()
    given_name = WordsField("Given name", optional=True, width="w-16")
    family_name = WordsField("Family name", optional=True, width="w-16")
    group_name = WordsField("Group", optional=True, width="w-16")
    another_one = TickField("Add another athlete of that name")
    mate = ChoiceField("Or begin with the setting of", optional=True, read_choice=int)
    marks: Sequence[MarkField]
    mates: Mapping[int, Member]

    def person(self) -> Person:
        """Who is new."""
        return Person(
            self.family_name.data or "",
            self.given_name.data or "",
            group_name=self.group_name.data or "",
        )

    def begins(self) -> Setup | Member:
        """The stops that were typed, or the squad-mate who was chosen."""
        if self.mate.data is not None:
            return self.mates[self.mate.data]
        return self._stops

    @property
    def _stops(self) -> Setup:
        return tuple(mark.data for mark in self.marks if mark.data is not None)

    def validate(self, extra_validators: Mapping[str, Any] | None = None) -> bool:
        """Every field by itself; then that it is either all marks or a squad-mate."""
        if not super().validate(extra_validators):
            return False
        typed = [mark for mark in self.marks if mark.data is not None]
        if self.mate.data is not None and typed:
            self.mate.errors = ["Clear the marks, or choose nobody: one of the two counts"]
        elif self.mate.data is None:
            for mark in self.marks:
                if mark.data is None:
                    or_else = "" if typed else ", or choose whose setting to begin with"
                    mark.errors = [f"{mark.ask}{or_else}"]
        return not self.mistakes

    @contextmanager
    def refusing(self, model: ApparatusModel) -> Iterator[None]:
        """Turn what is refused of the name, of the marks or of the run into mistakes."""
        lengths_mm = alone_mm(model, self._stops)
        with (
            self.refusals(),
            self.refusals(self.given_name, *OF_THE_NAME),
            blaming(self, model, lengths_mm),
        ):
            yield

    def must_be_meant(self, namesakes: Sequence[Member]) -> None:
        """``OfSameName`` where somebody of the squad has that name, and no tick says so."""
        if namesakes and not self.another_one.data:
            raise OfSameName(namesakes[0].listed_name)


def newcomer_form(now: RunNow, mates: Sequence[Member]) -> NewcomerForm:
    """Of the group that most of the run are in, and with nothing else suggested."""
    axes = now.piece.model.axes
    fields: dict[str, Any] = {axis.key: MarkField(axis, optional=True) for axis in axes}
    groups = Counter(mate.person.group_name for mate in mates).most_common(1)
    known = {"seen": str(now.number), "group_name": groups[0][0] if groups else ""}
    form = form_of(fields, NewcomerForm)(data=known)
    form.mate.offer((mate.id, mate.listed_name) for mate in mates)
    form.marks = [mark for mark in form if isinstance(mark, MarkField)]
    form.mates = {mate.id: mate for mate in mates}
    return form
