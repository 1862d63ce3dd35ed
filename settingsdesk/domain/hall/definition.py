"""An apparatus model as plain data, and back: what the store keeps and a seed file holds."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from settingsdesk.domain.base.datums import Edge, Section, SpreadDatum
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import AxisKind, Quantity, kind_of
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Geometry, Leaning, Upright
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Guess, Procedure
from settingsdesk.domain.hall.scales import (
    CalibratedScale,
    ContinuousScale,
    Lettering,
    RegularScale,
    Scale,
    TabulatedScale,
)

Data = dict[str, Any]
T = TypeVar("T")

GREATEST_NUMBER = 1e6
MOST_ENDS = 8


def model_to_data(model: ApparatusModel) -> Data:
    """The model as JSON-ready data."""
    section = model.section
    return {
        "name": model.name,
        "kind": model.kind.key,
        "section_mm": [section.height_mm, section.width_mm] if section else None,
        "geometry": _geometry_to_data(model.geometry),
        "procedure": {
            "slacken_s": model.procedure.slacken_s,
            "square_s": model.procedure.square_s,
            "tension_s": model.procedure.tension_s,
            "walk_round_s": model.procedure.walk_round_s,
            "tensioners_per_side": model.procedure.tensioners_per_side,
            "estimated": model.procedure.estimated,
        }
        # Left out where nobody entered it: desks of earlier versions do not know the field.
        | _given("working_tension", model.procedure.working_tension),
        "axes": {axis.key: _axis_to_data(axis) for axis in model.axes},
    } | _guesses_to_data(model)


def model_from_data(data: Mapping[str, Any]) -> ApparatusModel:
    """The model that such data describe.

    ``NotADefinition`` names the place that does not fit, ``AxisNotAsDefined`` the axis whose
    values make no axis; ``NoSuchKind`` and ``NotAModel`` speak of the model as a whole.
    """
    kind = kind_of(_read(data, "kind", str))
    section = data.get("section_mm")
    axes = _read(data, "axes", dict)
    return ApparatusModel(
        name=_read(data, "name", str),
        kind=kind,
        axes=tuple(
            _axis_from_data(axis, _read(axes, axis.key, dict, "axes")) for axis in kind.axes
        ),
        procedure=_procedure_from_data(_read(data, "procedure", dict)),
        section=Section(*_two_numbers(section)) if section else None,
        geometry=_geometry_from_data(_read(data, "geometry", dict)),
        guessed=_guesses_from_data(data.get("guessed", [])),
    )


def scale_to_data(scale: Scale) -> Data:
    """A scale as JSON-ready data."""
    match scale:
        case RegularScale():
            return {
                "type": "regular",
                "first_mm": scale.first_mm,
                "pitch_mm": scale.pitch_mm,
                "stops": scale.stops,
                "lettering": scale.lettering.value,
                "first_label": scale.first_label,
            }
        case TabulatedScale():
            return {"type": "tabulated", "table": [list(row) for row in scale.table]}
        case ContinuousScale():
            return {
                "type": "continuous",
                "from_mm": scale.from_mm,
                "to_mm": scale.to_mm,
                "resolution_mm": scale.resolution_mm,
            } | _printed_in(scale.printed_in)
        case CalibratedScale():
            return {
                "type": "calibrated",
                "printed": scale_to_data(scale.printed),
                "offset_mm": scale.offset_mm,
                "gain": scale.gain,
            }
    raise NotADefinition("scale", type(scale).__name__, "a kind of scale")


def scale_from_data(data: Mapping[str, Any], place: str = "scale") -> Scale:
    """The scale that such data describe; ``NotADefinition`` names the place that does not fit."""

    def number(key: str) -> float:
        return _number(data, key, place)

    match data.get("type"):
        case "regular":
            return RegularScale(
                number("first_mm"),
                number("pitch_mm"),
                _whole(data, "stops", place),
                _choice(Lettering, data.get("lettering", "numbers"), f"{place}.lettering"),
                _whole(data, "first_label", place) if "first_label" in data else 1,
            )
        case "tabulated":
            rows = _read(data, "table", list, place)
            return TabulatedScale(
                tuple(_row(row, f"{place}.table[{n}]") for n, row in enumerate(rows))
            )
        case "continuous":
            return ContinuousScale(
                number("from_mm"),
                number("to_mm"),
                number("resolution_mm"),
                _choice(Unit, data.get("printed_in", "cm"), f"{place}.printed_in"),
            )
        case "calibrated":
            printed = scale_from_data(_read(data, "printed", dict, place), f"{place}.printed")
            return CalibratedScale(printed, number("offset_mm"), number("gain"))
        case other:
            raise NotADefinition(
                f"{place}.type", other, "regular, tabulated, continuous or calibrated"
            )


def _axis_to_data(axis: Axis) -> Data:
    data: Data = {
        "scale": scale_to_data(axis.scale),
        "handling_s": axis.times.handling_s,
        "up_s": axis.times.up_s,
        "down_s": axis.times.down_s,
        "ends": list(axis.ends),
    }
    if axis.ends_may_differ is not None:
        data["ends_may_differ"] = axis.ends_may_differ
    if axis.kind.quantity is Quantity.HEIGHT:
        data["edge"] = axis.edge.value
    if axis.kind.quantity is Quantity.SPREAD:
        data["spread_datum"] = axis.spread_datum.value
    return data


def _axis_from_data(kind: AxisKind, data: Mapping[str, Any]) -> Axis:
    try:
        return _axis(kind, data)
    except NotADefinition:
        raise
    except SettingsDeskError as refused:
        raise AxisNotAsDefined(kind, refused) from refused


def _axis(kind: AxisKind, data: Mapping[str, Any]) -> Axis:
    place = f"axes.{kind.key}"
    times = AxisTimes(
        _whole(data, "handling_s", place),
        _whole(data, "up_s", place),
        _whole(data, "down_s", place),
    )
    usual: dict[str, str] = {
        end: end for end in kind.ends
    }  # whose words are known, in every language
    ends = _ends(data.get("ends", list(kind.ends)), f"{place}.ends")
    return Axis(
        kind,
        scale_from_data(_read(data, "scale", dict, place), f"{place}.scale"),
        times,
        tuple(usual.get(end, end) for end in ends),
        _choice(Edge, data.get("edge", "upper"), f"{place}.edge"),
        _choice(SpreadDatum, data.get("spread_datum", "inner"), f"{place}.spread_datum"),
        _whole(data, "ends_may_differ", place) if "ends_may_differ" in data else None,
    )


def _procedure_from_data(data: Mapping[str, Any]) -> Procedure:
    place = "procedure"
    return Procedure(
        _whole(data, "slacken_s", place),
        _whole(data, "square_s", place),
        _whole(data, "tension_s", place),
        _whole(data, "walk_round_s", place),
        _whole(data, "tensioners_per_side", place),
        _yes_or_no(data.get("estimated", True), f"{place}.estimated"),
        _read(data, "working_tension", str, place) if "working_tension" in data else "",
    )


def says_more(model: ApparatusModel) -> bool:
    """Whether the data of a model say what desks of earlier versions would not read."""
    scales = [getattr(axis.scale, "printed", axis.scale) for axis in model.axes]
    rulers = [scale for scale in scales if isinstance(scale, ContinuousScale)]
    return bool(model.guessed) or any(ruler.printed_in is not Unit.CENTIMETRE for ruler in rulers)


def _printed_in(unit: Unit) -> Data:
    """Left out where it is centimetres: desks of earlier versions do not know the field."""
    return {} if unit is Unit.CENTIMETRE else {"printed_in": unit.value}


def _given(name: str, words: str) -> Data:
    return {name: words} if words else {}


def _guesses_to_data(model: ApparatusModel) -> Data:
    """Left out where there are none, as of what leaflets give."""
    return {"guessed": sorted(guess.value for guess in model.guessed)} if model.guessed else {}


def _guesses_from_data(value: Any) -> frozenset[Guess]:
    if not isinstance(value, list | tuple):
        raise NotADefinition("guessed", value, "a list")
    return frozenset(_choice(Guess, word, "guessed") for word in value)


def _geometry_to_data(geometry: Geometry) -> Data:
    match geometry:
        case Upright():
            return {"type": "upright", "reference_drop_mm": geometry.reference_drop_mm}
        case Leaning():
            return {
                "type": "leaning",
                "foot_distance_mm": geometry.foot_distance_mm,
                "spreader_at_mm": geometry.spreader_at_mm,
                "pivot_height_mm": geometry.pivot_height_mm,
            }


def _geometry_from_data(data: Mapping[str, Any]) -> Geometry:
    place = "geometry"
    match data.get("type"):
        case "upright":
            return Upright(_number(data, "reference_drop_mm", place, 0.0))
        case "leaning":
            return Leaning(
                _number(data, "foot_distance_mm", place),
                _number(data, "spreader_at_mm", place),
                _number(data, "pivot_height_mm", place),
            )
        case other:
            raise NotADefinition("geometry.type", other, "upright or leaning")


def _read(data: Mapping[str, Any], key: str, kind: type[T], place: str = "") -> T:
    value = data.get(key)
    if not isinstance(value, kind):
        raise NotADefinition(f"{place}.{key}".lstrip("."), value, _WORDS[kind])
    return value


_WORDS: dict[type, str] = {str: "a text", dict: "a group of values", list: "a list"}


def _number(data: Mapping[str, Any], key: str, place: str, default: float | None = None) -> float:
    value = data.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise NotADefinition(f"{place}.{key}", value, "a number")
    if not abs(value) <= GREATEST_NUMBER:
        raise NotADefinition(f"{place}.{key}", value, "a number that a tape could show")
    return float(value)


def _whole(data: Mapping[str, Any], key: str, place: str) -> int:
    value = data.get(key)
    if isinstance(value, bool) or not isinstance(value, int):
        raise NotADefinition(f"{place}.{key}", value, "a whole number")
    return value


def _row(row: Any, place: str) -> tuple[str, float]:
    if not isinstance(row, list | tuple) or len(row) != 2 or not isinstance(row[0], str | int):
        raise NotADefinition(place, row, "a label and a length")
    return str(row[0]), _number({"length": row[1]}, "length", place)


def _ends(value: Any, place: str) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or not all(isinstance(end, str) for end in value):
        raise NotADefinition(place, value, "a list of texts")
    if not 1 <= len(value) <= MOST_ENDS or not all(end.strip() for end in value):
        raise NotADefinition(place, value, f"between 1 and {MOST_ENDS} ends, each with a name")
    return tuple(value)


def _yes_or_no(value: Any, place: str) -> bool:
    if not isinstance(value, bool):
        raise NotADefinition(place, value, "true or false")
    return value


def _two_numbers(value: Any) -> tuple[float, float]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise NotADefinition("section_mm", value, "a height and a width")
    pair = {"height": value[0], "width": value[1]}
    return _number(pair, "height", "section_mm"), _number(pair, "width", "section_mm")


def _choice(enum: Callable[[Any], T], value: Any, place: str) -> T:
    try:
        return enum(value)
    except ValueError:
        choices = ", ".join(member.value for member in enum)  # type: ignore[attr-defined]  # an Enum
        raise NotADefinition(place, value, f"one of {choices}") from None


class NotADefinition(SettingsDeskError):
    """Data that do not describe an apparatus model, with the place that does not fit."""

    def __init__(self, place: str, found: object, wanted: str) -> None:
        self.place, self.found, self.wanted = place, found, wanted

    def __str__(self) -> str:
        return f"{self.place} must be {self.wanted}; {self.found!r} was read"


class AxisNotAsDefined(SettingsDeskError):
    """The values given for one axis do not make one; ``refused`` says why."""

    def __init__(self, axis: AxisKind, refused: SettingsDeskError) -> None:
        self.axis, self.refused = axis, refused

    def __str__(self) -> str:
        return f"{self.axis.name}: {self.refused}"
