"""The form of an apparatus model: its kind gives the axes, each axis the shape of its scale.

Only the fields of the chosen shapes are asked; what was typed into the others is carried along.
"""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, TypeVar

from wtforms.form import BaseForm

from settingsdesk.domain.base.datums import Edge, Section, SpreadDatum
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.doubts import doubts
from settingsdesk.domain.hall.geometry import Geometry, Leaning, Upright
from settingsdesk.domain.hall.models import (
    LONGEST_WORKING_TENSION,
    MOST_ENDS_DIFFER,
    ApparatusModel,
    Axis,
    AxisTimes,
    Guess,
    Procedure,
)
from settingsdesk.domain.hall.scales import Scale
from settingsdesk.domain.hall.starters import STARTERS
from settingsdesk.domain.settings import blame
from settingsdesk.web.frame.axis_fields import PresetField, form_of
from settingsdesk.web.frame.fields import CarriedField, CountField, TickField, WordsField
from settingsdesk.web.frame.forms import AskingForm
from settingsdesk.web.frame.work import coach, told
from settingsdesk.web.hall.first_times import axis_times_s, procedure_times
from settingsdesk.web.hall.scale_fields import (
    SHAPES,
    ScaleLengthField,
    scale_fields,
    scale_from,
    shape_of,
    shown_exactly,
    typed_of,
)

EDGES = (
    (Edge.UPPER.value, "Upper edge of the rail, above the floor"),
    (Edge.CENTRE.value, "Centre of the rail, above the floor"),
    (Edge.UNDERSIDE.value, "Underside of the rail, above the floor"),
)
SPREADS = (
    (SpreadDatum.INNER.value, "Between the rails' inner faces, the shortest way"),
    (SpreadDatum.CENTRES_HORIZONTAL.value, "Between the rails' centres, horizontally"),
    (SpreadDatum.CENTRES_DIAGONAL.value, "Between the rails' centres, the straight way"),
)
UPRIGHTS = (
    ("upright", "Upright: each adjustment is set by itself"),
    ("leaning", "Leaning, pivot at the foot"),
)
TIMES = (
    ("handling", "Unlock and lock one end"),
    ("up", "One mark {more}"),
    ("down", "One mark {less}"),
)
PROCEDURE = (
    ("slacken", "Slacken the tensioners"),
    ("square", "Sight and square the rails"),
    ("tension", "Tension and compare the sides"),
    ("walk_round", "Walk round the apparatus"),
)
LEANING = (
    ("foot_distance", "Distance of the feet"),
    ("spreader_at", "Spreader fastened up the upright at"),
    ("pivot_height", "Pivot above the floor"),
)
SECTION_HANGS = (
    "Enter the section of the rail, its height and its width: lengths to its centre or underside"
    " hang on it"
)
Shapes = dict[str, str]
T = TypeVar("T")


class DropField(ScaleLengthField):
    """The drop of a slanting spread; what it may be empty for depends on the rest of the form."""

    def pre_validate(self, form: BaseForm) -> None:
        return


class ModelForm(AskingForm):
    """A model as it is typed; ``kind`` and ``shapes`` say which fields are asked.

    ``middle_drop_mm`` is offered where the drop between the rails is lacking.
    """

    kind: Kind
    shapes: Shapes
    leans: bool
    carried: list[tuple[str, str]]
    middle_drop_mm: float | None = None

    def ask_only(self, kind: Kind) -> "ModelForm":
        """Keep the fields of the chosen shapes; the others are carried along unread."""
        self.kind = kind
        self.shapes = {axis.key: self._shape(axis) for axis in kind.axes}
        self.leans = "geometry" in self and self["geometry"].data == "leaning"
        self.carried = []
        for name in self._not_asked():
            if name in self:
                self.carried += [(name, str(typed)) for typed in self[name].raw_data or ()]
                del self[name]
        return self

    def _shape(self, axis: AxisKind) -> str:
        chosen = self[f"{axis.key}_shape"].data
        return chosen if chosen in dict(SHAPES) else SHAPES[0][0]

    def _not_asked(self) -> list[str]:
        names = [
            f"{axis.key}_{what}"
            for axis in self.kind.axes
            for shape, fields in scale_fields(axis.name).items()
            if shape != self.shapes[axis.key]
            for what in fields
        ]
        names += [] if self.leans else [name for name, _ in LEANING]
        if self.leans:
            names += ["reference_drop"]
            names += [f"{axis.key}_edge" for axis in self.kind.axes]
            names += [f"{axis.key}_datum" for axis in self.kind.axes]
        return names

    def model(self, known: ApparatusModel | None) -> ApparatusModel | None:
        """The model that was typed; None where a part was refused, which its field then says.

        ``known`` lends what the form does not ask: the names of the ends.
        """
        guessed = self._guessed(known)
        section = self._made("section_height", partial(self._section, known, guessed))
        geometry = self._made("foot_distance", partial(self._geometry, known, guessed))
        procedure = self._made("tensioners", self._procedure)
        axes = [
            self._made(self._first_field(axis), partial(self._axis, axis, known))
            for axis in self.kind.axes
        ]
        if self.mistakes or geometry is None or procedure is None:
            return None
        whole = tuple(axis for axis in axes if axis is not None)
        name: str = self["name"].data
        model = self._made(
            "",
            lambda: ApparatusModel(name, self.kind, whole, procedure, section, geometry, guessed),
            scales := {axis.key: axis.scale for axis in whole},
        )
        if model is not None and Guess.DROP in guessed:
            model = self._made("", model.with_middle_drop, scales)
        if model is None or not model.lacks_drop:
            return model
        self._offer_drop(model)
        return None

    def _offer_drop(self, model: ApparatusModel) -> None:
        middle_mm = model.middle_drop_mm or 0.0
        would = ""
        if middle_mm > 0:
            self.middle_drop_mm = middle_mm
            unit: Unit = coach().length_unit
            would = f". The middle of the height scales would be {shown_exactly(middle_mm, unit)}"
            would += f" {unit.value}"
        sentence = (
            "Enter the drop between the rails for which the spread is printed: it is read along the"
            f" slanting line between them, and means nothing without{would}"
        )
        self["reference_drop"].errors = [sentence]

    def take_drop(self) -> None:
        """Fill in the drop that is offered, as if it had been typed."""
        drop, middle_mm = self["reference_drop"], self.middle_drop_mm or 0.0
        drop.data, drop.errors = middle_mm, []
        drop.raw_data = [shown_exactly(middle_mm, coach().length_unit)]

    def _made(
        self, at: str, make: Callable[[], T], scales: Mapping[str, Scale] | None = None
    ) -> T | None:
        """What ``make`` gives; None where it is refused, which the field ``at`` then says.

        The whole form says it where no field is named, the first field of one of the
        ``scales`` by axis where they cannot be together.
        """
        try:
            return make()
        except blame.NOT_TOGETHER as refused:
            axis, said = blame.of_scales(refused, self.kind, scales or {})
            field = self[self._first_field(axis)]
            field.errors = [*field.errors, told(said)]
            return None
        except SettingsDeskError as refused:
            if at:
                self[at].errors = [*self[at].errors, str(refused)]
            else:
                self.form_errors.append(str(refused))
            return None

    def _guessed(self, known: ApparatusModel | None) -> frozenset[Guess]:
        """What was left empty, and for which a usual value can stand in.

        A section cannot where a scale is read to the rail's centre or underside; then its fields
        ask for it.
        """
        guessed = set()
        if "section_height" in self and self._left_empty("section_height", "section_width"):
            guessed.add(Guess.SECTION)
            if self._hangs_on_section(known):
                self["section_height"].errors = [SECTION_HANGS]
        knows = known is not None and known.guesses_drop
        if knows and "reference_drop" in self and self._left_empty("reference_drop"):
            guessed.add(Guess.DROP)
        return frozenset(guessed)

    def _left_empty(self, *names: str) -> bool:
        return all(self[name].data is None and not self[name].errors for name in names)

    def _hangs_on_section(self, known: ApparatusModel | None) -> bool:
        if self.leans:
            return True
        return any(
            (self._edge(axis, known), self._spread_datum(axis, known))
            != (Edge.UPPER, SpreadDatum.INNER)
            for axis in self.kind.axes
        )

    def _section(self, known: ApparatusModel | None, guessed: frozenset[Guess]) -> Section | None:
        if "section_height" not in self:
            return None
        if Guess.SECTION in guessed:
            return known.section if known else STARTERS[self.kind.key].section
        for name, other in (("height", "width"), ("width", "height")):
            if self._left_empty(f"section_{name}"):
                self[f"section_{name}"].errors = [
                    f"Enter the {name} of the rail's section, or clear its {other}"
                ]
                return None
        return Section(self["section_height"].data, self["section_width"].data)

    def _geometry(self, known: ApparatusModel | None, guessed: frozenset[Guess]) -> Geometry:
        if self.leans:
            return Leaning(**{f"{name}_mm": self[name].data for name, _ in LEANING})
        if Guess.DROP in guessed and known is not None:
            return known.geometry
        return Upright((self["reference_drop"].data if "reference_drop" in self else None) or 0.0)

    def _procedure(self) -> Procedure:
        return Procedure(
            **{f"{name}_s": self[name].data for name, _ in PROCEDURE},
            tensioners_per_side=self["tensioners"].data,
            estimated=self["estimated"].data,
            working_tension=self["working_tension"].data if self["tensioners"].data else "",
        )

    def _first_field(self, kind: AxisKind) -> str:
        return f"{kind.key}_{next(iter(scale_fields(kind.name)[self.shapes[kind.key]]))}"

    def _axis(self, kind: AxisKind, known: ApparatusModel | None) -> Axis:
        asked = scale_fields(kind.name)[self.shapes[kind.key]]
        typed = {what: self[f"{kind.key}_{what}"].data for what in asked}
        return Axis(
            kind,
            scale_from(self.shapes[kind.key], typed),
            AxisTimes(*(self[f"{kind.key}_{what}"].data for what, _ in TIMES)),
            known.axis(kind.key).ends if known else kind.ends,
            self._edge(kind, known),
            self._spread_datum(kind, known),
            self[f"{kind.key}_may_differ"].data if f"{kind.key}_may_differ" in self else None,
        )

    def _edge(self, kind: AxisKind, known: ApparatusModel | None) -> Edge:
        """Where it is not asked, a leaning upright's scale reads to the rail's centre."""
        if f"{kind.key}_edge" in self:
            return Edge(self[f"{kind.key}_edge"].data)
        if known is not None:
            return known.axis(kind.key).edge
        return Edge.CENTRE if self.leans and kind.quantity is Quantity.HEIGHT else Edge.UPPER

    def _spread_datum(self, kind: AxisKind, known: ApparatusModel | None) -> SpreadDatum:
        if f"{kind.key}_datum" in self:
            return SpreadDatum(self[f"{kind.key}_datum"].data)
        return known.axis(kind.key).spread_datum if known else SpreadDatum.INNER


def model_form(kind: Kind, known: ApparatusModel | None, by_marks: int = 0) -> ModelForm:
    """The form for a model of that kind, as it was posted, or filled with what is known.

    ``by_marks`` athletes have settings for it that were typed as marks.
    """
    fields: dict[str, Any] = {"name": WordsField("Name of the model", most=60)}
    if kind.spread_axis is not None:
        fields["geometry"] = PresetField("Uprights", choices=UPRIGHTS, default="upright")
    for axis in kind.axes:
        fields[f"{axis.key}_shape"] = PresetField(
            axis.name,
            choices=SHAPES,
            ask=f"Choose the scale of the {axis.in_a_sentence}",
            default="regular" if axis.quantity is Quantity.HEIGHT else "ruler",
        )
    fields |= _section_fields(kind, known) | _geometry_fields(kind, known)
    for axis in kind.axes:
        fields |= _axis_fields(kind, axis)
    fields |= _procedure_fields(kind)
    if known is not None:
        fields["reason"] = WordsField(
            "Why the model is changed", most=200, ask="Say in a few words why the model is changed"
        )
        fields["version"] = CarriedField()
    if by_marks:
        fields["keep_marks"] = TickField(
            "Settings that were typed as marks keep them", default=True
        )
    form = form_of(fields, ModelForm)(data=_typed(known) if known else {})
    return form.ask_only(kind)


def asks_about(form: AskingForm, typed: ApparatusModel, known: ApparatusModel | None) -> bool:
    """Whether something of it is to be looked at once more that was not asked about before."""
    unit = coach().length_unit
    before = {doubt.told(unit) for doubt in doubts(known)} if known else set()
    return form.asks(
        [words for doubt in doubts(typed) for words in [doubt.told(unit)] if words not in before]
    )


def _section_fields(kind: Kind, known: ApparatusModel | None) -> dict[str, Any]:
    if not kind.railed:
        return {}
    optional = known.guesses_section if known else kind.key in STARTERS
    return {
        f"section_{what}": ScaleLengthField(
            f"Rail section, {what}", f"{what.capitalize()} of the rail's section", optional=optional
        )
        for what in ("height", "width")
    }


def _geometry_fields(kind: Kind, known: ApparatusModel | None) -> dict[str, Any]:
    if kind.spread_between is None:
        return {}
    fields: dict[str, Any] = {name: ScaleLengthField(words, words) for name, words in LEANING}
    low, high = kind.spread_between
    if low != high:
        words = "Drop between the rails at which the printed spread is true"
        guessed = known is not None and known.guesses_drop
        fields["reference_drop"] = DropField(words, words, optional=guessed)
    return fields


def _axis_fields(kind: Kind, axis: AxisKind) -> dict[str, Any]:
    found = {
        f"{axis.key}_{what}": field
        for fields in scale_fields(axis.name).values()
        for what, field in fields.items()
    }
    if kind.railed and axis.quantity is Quantity.HEIGHT:
        found[f"{axis.key}_edge"] = PresetField(
            "The scale reads to",
            choices=EDGES,
            default=Edge.UPPER.value,
            ask=f"Choose to where the {axis.in_a_sentence} is read",
        )
    if axis == kind.spread_axis:
        found[f"{axis.key}_datum"] = PresetField(
            "The scale reads",
            choices=SPREADS,
            default=SpreadDatum.INNER.value,
            ask=f"Choose between which points the {axis.in_a_sentence} is read",
        )
    for what, pattern in TIMES:
        words = pattern.format(more=axis.quantity.more, less=axis.quantity.less)
        first_s = axis_times_s(axis)[what]
        found[f"{axis.key}_{what}"] = _seconds(f"{axis.name}, {words.lower()}", words, first_s)
    if len(axis.ends) > 1:
        found[f"{axis.key}_may_differ"] = CountField(
            f"{axis.name}, how far its ends may differ while they are moved",
            label="While they are moved, its ends may differ by",
            least=1,
            most=MOST_ENDS_DIFFER,
            unit="marks",
            ask=f"Enter how far the ends of the {axis.in_a_sentence} may differ",
            optional=axis.quantity is not Quantity.HEIGHT,
        )
    return found


def _procedure_fields(kind: Kind) -> dict[str, Any]:
    first = procedure_times(kind)
    fields: dict[str, Any] = {
        "tensioners": CountField(
            "Tensioners on each side", most=4, default=first["tensioners"], width="w-2"
        )
    }
    fields["working_tension"] = WordsField(
        "Working tension, as the maker states it", most=LONGEST_WORKING_TENSION, optional=True
    )
    fields |= {name: _seconds(words, words, first[name]) for name, words in PROCEDURE}
    fields["estimated"] = TickField("These times are estimates, not measured", default=True)
    return fields


def _seconds(words: str, label: str, first_s: int) -> Any:
    return CountField(words, label=f"{label}, in seconds", most=3600, unit="s", default=first_s)


def _typed(model: ApparatusModel) -> dict[str, Any]:
    """What would be typed for a model that is known."""
    procedure, geometry = model.procedure, model.geometry
    typed: dict[str, Any] = {
        "name": model.name,
        "tensioners": procedure.tensioners_per_side,
        "estimated": procedure.estimated,
        "working_tension": procedure.working_tension,
    }
    typed |= {name: getattr(procedure, f"{name}_s") for name, _ in PROCEDURE}
    if model.section is not None and not model.guesses_section:
        typed["section_height"] = model.section.height_mm
        typed["section_width"] = model.section.width_mm
    if isinstance(geometry, Leaning):
        typed["geometry"] = "leaning"
        typed |= {name: getattr(geometry, f"{name}_mm") for name, _ in LEANING}
    else:
        drop_mm = None if model.guesses_drop else geometry.reference_drop_mm or None
        typed |= {"geometry": "upright", "reference_drop": drop_mm}
    for axis in model.axes:
        typed |= {f"{axis.key}_{what}": value for what, value in _axis_typed(axis).items()}
    return typed


def _axis_typed(axis: Axis) -> dict[str, Any]:
    return {
        "shape": shape_of(axis.scale),
        **typed_of(axis.scale),
        "edge": axis.edge.value,
        "datum": axis.spread_datum.value,
        "handling": axis.times.handling_s,
        "up": axis.times.up_s,
        "down": axis.times.down_s,
        "may_differ": axis.ends_may_differ,
    }
