"""What is asked for a conversion. Both forms travel in the address, so that a result can be kept
as a bookmark.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from flask import request, url_for
from werkzeug.datastructures import MultiDict

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.conversions import canonical_setting
from settingsdesk.desk.squad.typed_settings import Datums
from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, SpreadDatum
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import format_length
from settingsdesk.domain.base.kinds import Kind, Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.domain.settings.settings import NotADeviation, Setting
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import (
    AxisLengthField,
    MarkField,
    PresetField,
    alone_mm,
    blaming,
    form_of,
    height_datum_field,
    spread_datum_field,
)
from settingsdesk.web.frame.fields import LENGTH_LABELS, ChoiceField, LengthField, RadiosField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import UNIT_FIELD
from settingsdesk.web.frame.work import coach

MARKS, LENGTHS = "marks", "lengths"


def converting(session: ClubSession, setting: Setting) -> str:
    """Where a setting stands in the marks of the club's first apparatus of its kind.

    ``NoneOfThatKind`` where it has none.
    """
    pieces = desk_apparatus.pieces_of_kind(session, setting.kind.key)
    if not pieces:
        raise NoneOfThatKind(setting.kind)
    key = f"apparatus-{pieces[0].id}"
    lengths = {
        axis: format_length(wanted.wanted_mm, Unit.CENTIMETRE)
        for axis, wanted in setting.axes.items()
    }
    asked: dict[str, Any] = {
        "from": key,
        "to": key,
        "by": LENGTHS if coach().length_unit is Unit.CENTIMETRE else Unit.CENTIMETRE.value,
        "height_datum": f"{Level.FLOOR.value}-{Edge.UPPER.value}",
        "spread_datum": SpreadDatum.INNER.value,
        UNIT_FIELD: coach().length_unit.value,
        "mat": format_length(pieces[0].mat_mm, Unit.CENTIMETRE),
        **lengths,
    }
    return url_for("convert.index", **asked)


class NoneOfThatKind(SettingsDeskError):
    """Lengths came for a kind of apparatus that the club has none of."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind

    def __str__(self) -> str:
        return (
            f"These lengths are for {self.kind.in_a_sentence}, and no apparatus of that kind has"
            " been added: add it first, and they are carried to its marks"
        )


def choose_form(sides: Iterable[tuple[str, str]], unit: Unit) -> DeskForm:
    """Where from, and what is known there? ``sides`` are what can be chosen, key and words.

    Lengths are in the club's ``unit``, or in the other one, which the address calls by its sign.
    """
    other = next(one for one in Unit if one is not unit)
    by = (
        (MARKS, "Marks on it"),
        (LENGTHS, f"Lengths {LENGTH_LABELS[unit]}"),
        (other.value, f"Lengths {LENGTH_LABELS[other]}"),
    )
    fields = {
        "from": ChoiceField("From", choices=sides, ask="Choose where you convert from"),
        "by": RadiosField(
            "What you have", choices=by, default=MARKS, ask="Choose marks or lengths"
        ),
    }
    known = {"from": request.args.get("from"), "by": request.args.get("by", MARKS)}
    return form_of(fields, DeskForm)(MultiDict(known) if known["from"] is not None else None)


class AskedForm(DeskForm):
    """Marks or lengths on one side, and the other side; ``read_in`` is the unit of its lengths."""

    was_asked: bool
    read_in: Unit

    @contextmanager
    def misreadings(self, model: ApparatusModel) -> Iterator[None]:
        """Turn what a setting refuses into a mistake of the field that it concerns."""
        with (
            self.refusals(),
            blaming(self, model, self._lengths_mm(model)),
            self.refusals(self["accepts"], NotADeviation),
        ):
            yield

    def setting(self, model: ApparatusModel) -> Setting:
        """The canonical setting of what was typed."""
        setup = self._setup(model)
        if setup is not None:
            return setting_of_setup(model, setup, self.accepts_mm or 0)
        return canonical_setting(
            model,
            {axis.key: self[axis.key].data for axis in model.axes},
            self.heights_taken,
            self.spread_taken,
            self["mat"].data or 0,
            {axis.key: self.accepts_mm or 0 for axis in model.axes},
        )

    def _lengths_mm(self, model: ApparatusModel) -> dict[str, float]:
        """What was typed of each axis, heights in the canonical datum."""
        if (setup := self._setup(model)) is not None:
            return alone_mm(model, setup)
        datums = Datums(self.heights_taken, mat_mm=self["mat"].data or 0)
        return {axis.key: datums.alone_mm(model, axis, self[axis.key].data) for axis in model.axes}

    @property
    def heights_taken(self) -> HeightDatum:
        """How the heights were taken; canonical where marks were typed."""
        return self["height_datum"].data if "height_datum" in self else HeightDatum()

    @property
    def spread_taken(self) -> SpreadDatum:
        """How the spread was taken; canonical where marks were typed."""
        return self["spread_datum"].data if "spread_datum" in self else SpreadDatum.INNER

    @property
    def accepts_mm(self) -> int | None:
        """The deviation that is accepted each way; None where nothing was said of it."""
        accepts_mm: int | None = self["accepts"].data
        return accepts_mm

    def marks(self, model: ApparatusModel) -> Mapping[str, str] | None:
        """The marks that were typed; None where lengths were."""
        setup = self._setup(model)
        return model.marks(setup) if setup is not None else None

    def _setup(self, model: ApparatusModel) -> Setup | None:
        fields = [self[axis.key] for axis in model.axes]
        if not all(isinstance(field, MarkField) for field in fields):
            return None
        return tuple(field.data for field in fields)


def asked_form(
    model: ApparatusModel,
    mat_mm: int,
    by: str,
    unit: Unit,
    ends: Iterable[tuple[str, str]],
    books: Iterable[RuleBook],
) -> AskedForm:
    """The form for what stands on a model, as the address has it, or empty with its mat."""
    read_in = unit if by in (MARKS, LENGTHS) else Unit(by)
    fields: dict[str, Any] = {}
    if by != MARKS:
        fields |= _datum_fields(model)
    for axis in model.axes:
        fields[axis.key] = (
            MarkField(axis) if by == MARKS else AxisLengthField(axis.kind, length_unit=read_in)
        )
    fields["mat"] = LengthField("Mats under it", default=mat_mm, length_unit=read_in)
    fields["accepts"] = LengthField(
        "Accepted deviation, each way", optional=True, length_unit=read_in
    )
    ends = list(ends)
    fields["to"] = PresetField(
        "To", choices=ends, default=ends[0][0], ask="Choose where you convert to"
    )
    levels = sorted({level for book in books for level in book.levels(model.kind)})
    if levels:
        fields["level"] = ChoiceField(
            "Level, for the rule books", choices=[(level, level) for level in levels], optional=True
        )
    was_asked = "to" in request.args
    form = form_of(fields, AskedForm)(request.args if was_asked else None)
    form.was_asked, form.read_in = was_asked, read_in
    return form


def _datum_fields(model: ApparatusModel) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    if any(axis.kind.quantity is Quantity.HEIGHT for axis in model.axes):
        fields["height_datum"] = height_datum_field(model.kind)
    if model.rail_pair is not None:
        fields["spread_datum"] = spread_datum_field()
    return fields
