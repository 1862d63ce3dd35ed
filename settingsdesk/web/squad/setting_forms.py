"""The form of a setting: for each axis a length or a mark, what is accepted, what matters."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from wtforms import Field
from wtforms.form import BaseForm

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad.moved_marks import MarksThere
from settingsdesk.desk.squad.setting_drafts import Draft
from settingsdesk.desk.squad.setting_versions import told
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.typed_marks import AS_PRINTED, in_words
from settingsdesk.desk.squad.typed_settings import AsTyped, Datums, lengths_alone_mm
from settingsdesk.domain.base.datums import HeightDatum, SpreadDatum
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words, lower_first
from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.hall.doubts import not_believed
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.web.frame.axis_fields import (
    AxisLengthField,
    MarkField,
    form_of,
    height_datum_field,
    spread_datum_field,
)
from settingsdesk.web.frame.edit_form import EditForm, SavedMeanwhile
from settingsdesk.web.frame.fields import (
    LENGTH_LABELS,
    Box,
    CarriedField,
    CountField,
    DeviationField,
    LengthField,
    RadiosField,
    WordsField,
    number_carried,
)
from settingsdesk.web.frame.forms import AskingForm, DeskForm
from settingsdesk.web.frame.work import coach

DEFAULT_WEIGHT = 1
PRINTED = 0
"""Instead of an apparatus's number: marks are those of the printed scale."""


class WishedLengthField(AxisLengthField):
    """The length wanted on an axis; empty where its mark is given, which the desk sees to."""

    def __init__(self, axis: AxisKind, **settings: Any) -> None:
        super().__init__(axis, **settings)
        self.label.text = f"Length, {LENGTH_LABELS[self.length_unit]}"

    def pre_validate(self, form: BaseForm) -> None:
        return


class WantedMarkField(MarkField):
    """The mark wanted on an axis, instead of a length."""

    def __init__(self, axis: Axis, **settings: Any) -> None:
        super().__init__(axis, **settings)
        self.label.text = "or mark"

    def pre_validate(self, form: BaseForm) -> None:
        return


class AcceptedField(DeviationField):
    """How far off the athlete accepts an axis, either way; empty is not at all."""

    def __init__(self, axis: AxisKind, **settings: Any) -> None:
        super().__init__(f"Accepted deviation of the {axis.in_a_sentence}", **settings)
        self.label.text = f"Give or take, {LENGTH_LABELS[self.length_unit]}"

    def pre_validate(self, form: BaseForm) -> None:
        return


class MarksOfField(RadiosField):
    """The apparatus at which marks are read; the sheet of its maker, where it is none of them."""

    def __init__(self, pieces: Sequence[Piece], **settings: Any) -> None:
        choices = [(piece.id, f"{piece.name}: {piece.scale_used}") for piece in pieces]
        super().__init__(
            "Marks are those of",
            choices=[*choices, (PRINTED, sentence(AS_PRINTED))],
            read_choice=int,
            needed_at_times=True,
            **settings,
        )


class WeightField(CountField):
    """How much an axis matters to the athlete beside the others."""

    def __init__(self, axis: AxisKind, **settings: Any) -> None:
        words = f"How much the {axis.in_a_sentence} matters"
        super().__init__(
            words, least=1, most=9, width="w-2", ask=f"{words} must be between 1 and 9", **settings
        )
        self.label.text = axis.name


class MatsField(LengthField):
    """How thick the mats are; it may be empty where heights are taken above the floor."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class DatumForm(DeskForm):
    """Between which points the lengths of the other form are taken."""

    mats = MatsField("Mats", description="Needed for heights above the mat only.")

    def datums(self) -> Datums:
        """What was chosen; canonical where nothing was, or where the form has a mistake."""
        if self.mistakes:
            return Datums()
        heights: HeightDatum = self["heights"].data
        spread: SpreadDatum = self["spread"].data if "spread" in self else SpreadDatum.INNER
        return Datums(heights, spread, self.mats.data or 0)

    def check(self) -> None:
        """Look whether all is there; the mats' thickness matters above the mat only."""
        if self.validate() and self.datums().over_mat and not self.mats.data:
            self.mats.errors = ["Enter how thick the mats are that heights are taken above"]


def datum_form(model: ApparatusModel, sent: Any) -> DatumForm:
    """The form for a model: the spread is asked for only where there is one."""
    fields = {"heights": height_datum_field(model.kind)}
    if model.rail_pair is not None:
        fields["spread"] = spread_datum_field()
    form = form_of(fields, DatumForm)(sent)
    form.check()
    return form


class SettingForm(EditForm, AskingForm):
    """A setting as it is typed; the fields of the axes are made for each model."""

    reason = WordsField("Reason", most=200, optional=True)
    version = CarriedField(default="0")
    has_kept_lengths = True
    """Whether the lengths were filled in from what is kept, and not from elsewhere or not at all.
    """

    def must_be_of(self, present: SettingVersion | None, setting: Setting) -> None:
        """Raise ``SavedMeanwhile`` where another version is kept than this form was filled from.

        ``setting`` is what was typed. Of lengths that were filled in from elsewhere, or not at
        all, it is told how they are kept now: all of them stay as they stand in the form.
        """
        version = present.version if present else 0
        if self.instead_of == version:
            return
        self.version.raw_data, self.version.data = None, str(version)
        by = present.recorded_by if present else ""
        self.must_be_as_read(by=by)
        if present and not self.has_kept_lengths and present.setting.axes != setting.axes:
            for key, wanted in present.setting.axes.items():
                field: Any = self[f"{key}_length"]
                kept = told(wanted, coach().length_unit)
                field.errors = [*field.errors, f"{field.words}: {kept} is stored now"]
            raise SavedMeanwhile(by, form_is_old=False)

    @property
    def typed_over(self) -> list[str]:
        """What stands in the form otherwise than it was filled in, in words.

        A figure that was not read stands as it was typed, without a unit that nobody knows.
        """
        typed = []
        for field in self._kept_fields():
            sent = [field._value()] if field._value() else []
            if sent != field.as_sent(field.object_data):
                is_read = field.data is not None or not sent
                told = field.in_words(sent) if is_read else f"“{sent[0]}”"
                of_mark = "mark of the " if isinstance(field, WantedMarkField) else ""
                typed.append(f"{of_mark}{lower_first(field.words)} {told}")
        return typed

    def _kept_fields(self) -> list[Any]:
        boxes = (WishedLengthField, WantedMarkField, AcceptedField, WeightField)
        return [
            field
            for field in self
            if isinstance(field, boxes)
            and (self.has_kept_lengths or not isinstance(field, WishedLengthField))
        ]

    def marks_model(self, printed: ApparatusModel, pieces: Sequence[Piece]) -> ApparatusModel:
        """On whose scales the marks are: those of the apparatus that was chosen, or as printed.

        ``ApparatusNotSaid`` where several differ, none was chosen, and a mark was typed.
        """
        chosen = self["marks_of"].data if "marks_of" in self else PRINTED
        if chosen is None and any(field.data is not None for field in self._marks()):
            raise ApparatusNotSaid
        return next((piece.model for piece in pieces if piece.id == chosen), printed)

    def _marks(self) -> list[Field]:
        return [field for field in self if isinstance(field, WantedMarkField)]

    def typed(self, key: str) -> AsTyped:
        """What was typed of one axis."""
        return AsTyped(
            self[f"{key}_length"].data,
            self[f"{key}_mark"].data,
            self[f"{key}_accepts"].data or 0,
            self[f"{key}_weight"].data,
        )

    def can_leave(self, on: MarksThere) -> bool:
        """Whether the marks that move there unasked can be typed as what they were.

        All marks of a setting are those of one scale: where some were typed, it must be theirs.
        """
        if not on.unasked:
            return False
        typed = any(field.data is not None for field in self._marks())
        if "marks_of" not in self or not typed:
            return True
        chosen = self["marks_of"].data
        return bool(chosen == on.piece.id or (chosen == PRINTED and not on.piece.own_scales))

    def leaving(self, on: MarksThere) -> dict[str, str]:
        """The fields otherwise, so that those marks are typed instead of their lengths."""
        fields: dict[str, str] = {}
        for one in on.unasked:
            fields |= {f"{one.axis.key}_length": "", f"{one.axis.key}_mark": one.before_label}
        if "marks_of" in self and self["marks_of"].data is None:
            fields["marks_of"] = str(on.piece.id)
        return fields

    def lengths_mm(self, model: ApparatusModel, datums: Datums) -> dict[str, float]:
        """What was typed of each axis, heights canonical; as if no axis shifted another."""
        typed = {axis.key: self.typed(axis.key) for axis in model.axes}
        return lengths_alone_mm(model, typed, datums)

    def doubts(self, setting: Setting) -> list[str]:
        """What of the typed lengths is hardly one of such an axis; a mark is where its scale is."""
        found = [
            not_believed(axis, setting.axes[axis.key].wanted_mm)
            for axis in setting.kind.axes
            if self[f"{axis.key}_length"].data is not None
        ]
        return [doubt.told(coach().length_unit) for doubt in found if doubt]

    def at(self, refusal: SettingsDeskError) -> Field | None:
        """The field that a refusal of the desk is about, or None for all of them."""
        if isinstance(refusal, ApparatusNotSaid):
            return self._fields.get("marks_of")
        axis = getattr(refusal, "axis", None)
        return self[f"{axis.key}_length"] if isinstance(axis, AxisKind) else None

    @property
    def weights_wrong(self) -> bool:
        """Whether what is folded away has a mistake in it, so that it must be in sight."""
        return any(field.errors for field in self if isinstance(field, WeightField))

    @property
    def instead_of(self) -> int:
        """The version that stood on the page when it was opened."""
        return number_carried(self.version.data, 0)


def setting_form(
    model: ApparatusModel,
    datums: Datums,
    before: Setting | None,
    reason: str,
    version: int,
    pieces: Sequence[Piece],
    taken_from: Piece | None,
    draft: Draft | None = None,
) -> SettingForm:
    """The form for a model, with what is known before anything is typed.

    ``pieces`` are the club's apparatus of the model: where one has scales of its own, the form asks
    of which one marks are, and the one ``taken_from``, or the only one, is chosen already.
    What a ``draft`` has of an axis goes before what is kept of it.
    Lengths are filled in only in the canonical datum: converting and rounding twice could move
    one by a millimetre that nobody typed.
    """
    fields: dict[str, Any] = {}
    known: dict[str, Any] = {"reason": reason, "version": str(version)}
    for axis in model.axes:
        fields |= _fields_of(axis, datums)
        if before is not None:
            wanted = before.axes[axis.key]
            known[f"{axis.key}_length"] = wanted.wanted_mm if datums.canonical else None
            known[f"{axis.key}_accepts"] = wanted.accepts_mm or None
            known[f"{axis.key}_weight"] = wanted.weight
    if any(piece.own_scales for piece in pieces):
        only = pieces[0] if len(pieces) == 1 else None
        meant = taken_from or only
        fields["marks_of"] = MarksOfField(pieces)
        known["marks_of"] = meant.id if meant else None
        if draft and draft.marks_of:
            known["marks_of"] = int(draft.marks_of) if draft.marks_of.isdecimal() else PRINTED
    if draft is not None:
        known |= _known_by(draft, model, datums)
    form = form_of(fields, SettingForm)(data=known)
    form.has_kept_lengths = taken_from is None and datums.canonical
    return form


def _known_by(draft: Draft, model: ApparatusModel, datums: Datums) -> dict[str, Any]:
    """What a list told, as the form has it; a mark that the scale has no longer is left out."""
    known: dict[str, Any] = {}
    for axis in model.axes:
        if (half := draft.axes.get(axis.key)) is None:
            continue
        known[f"{axis.key}_length"] = half.length_mm if datums.canonical else None
        with suppress(NoSuchLabel):
            known[f"{axis.key}_mark"] = axis.scale.stop_of(half.mark) if half.mark else None
    return known


def _fields_of(axis: Axis, datums: Datums) -> dict[str, Box]:
    return {
        f"{axis.key}_length": WishedLengthField(
            axis.kind, description=f"{sentence(datums.in_words(axis.kind))}."
        ),
        f"{axis.key}_mark": WantedMarkField(axis),
        f"{axis.key}_accepts": AcceptedField(axis.kind, description="Empty: the nearest mark."),
        f"{axis.key}_weight": WeightField(axis.kind, default=DEFAULT_WEIGHT),
    }


def as_typed(
    form: SettingForm, model: ApparatusModel, datums: Datums, pieces: Sequence[Piece]
) -> Mapping[str, str]:
    """What was typed of each axis, with its unit and datum or its apparatus, for the record."""
    chosen = form["marks_of"].data if "marks_of" in form else None
    of = next((piece.name for piece in pieces if piece.id == chosen), "")
    return {axis.key: _axis_as_typed(form, axis, datums, of) for axis in model.axes}


def _axis_as_typed(form: SettingForm, axis: Axis, datums: Datums, of: str) -> str:
    stop = form[f"{axis.key}_mark"].data
    if stop is not None:
        return in_words(axis.scale.label(stop), of)
    unit = coach().length_unit
    typed = " ".join(str((form[f"{axis.key}_length"].raw_data or [""])[0]).split())
    mats = f" of {length_in_words(datums.mat_mm, unit)}" if datums.over_mat else ""
    datum = datums.in_words(axis.kind)
    over = mats if datum.endswith("mat") else ""
    return f"{typed} ({unit.value}, {datum}{over})"


def sentence(words: str) -> str:
    """Words as they begin a sentence."""
    return words[:1].upper() + words[1:]


class ApparatusNotSaid(SettingsDeskError):
    """A mark was typed where several apparatus have it at different lengths."""

    sentence = (
        "Choose the apparatus at which the marks are read: the club's differ from each other,"
        " since some have been measured"
    )
