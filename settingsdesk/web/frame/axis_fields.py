"""Fields for one axis of an apparatus: a printed mark, a length, and the datum it is taken in."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, TypeVar

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    spread_in_words,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    LengthTooFine,
    if_in_another_unit,
    length_in_words,
    quoted,
)
from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import NoSuchLabel, Scale
from settingsdesk.domain.settings import blame
from settingsdesk.domain.settings.settings import longest_mm
from settingsdesk.web.frame.fields import AS_PRINTED, Box, CarriedField, ChoiceField, LengthField
from settingsdesk.web.frame.forms import DeskForm

AForm = TypeVar("AForm", bound=DeskForm)

MOST_LETTERS_OF_A_MARK = 20


class MarkField(Box):
    """A mark as it is printed on an axis; ``data`` is the stop that it stands at."""

    data: int | None

    def __init__(self, axis: Axis, words: str = "", **settings: Any) -> None:
        self.axis = axis
        settings.setdefault("description", marks_of(axis.scale))
        super().__init__(
            words or axis.kind.name,
            width="w-4",
            ask=Sentence("Enter the mark of the %(axis)s", axis=axis.kind.in_a_sentence),
            render_kw={**AS_PRINTED, "autocapitalize": "none"},
            **settings,
        )

    def read(self, typed: str) -> int:
        if len(typed) > MOST_LETTERS_OF_A_MARK:
            raise ValueError(
                Sentence(
                    "%(field)s must be one printed mark; %(typed)s was read",
                    field=self.words,
                    typed=quoted(typed),
                )
            )
        try:
            return self.axis.scale.stop_of(typed)
        except NoSuchLabel as refused:
            raise ValueError(self._not_on_it(refused)) from refused

    def shown(self, value: Any) -> str:
        return self.axis.scale.label(value)

    def _not_on_it(self, refused: NoSuchLabel) -> Sentence:
        mark, beside = refused.label.strip(), _beside(self.axis.scale, refused.label)
        facts = {
            "field": self.words,
            "mark": mark,
            "count": refused.count,
            "first": refused.first,
            "last": refused.last,
        }
        if refused.likely:
            return Sentence(
                "%(field)s: mark '%(mark)s' is not on this scale, which runs from %(first)s to"
                " %(last)s: type %(likely)s if that is meant",
                **facts,
                likely=refused.likely,
            )
        if not beside:
            return Sentence(
                "%(field)s: mark '%(mark)s' is not on this scale: its %(count)s marks run from"
                " %(first)s to %(last)s",
                **facts,
            )
        return Sentence(
            "%(field)s: mark '%(mark)s' is not on this scale: its %(count)s marks run from"
            " %(first)s to %(last)s; the marks beside it are %(below)s and %(above)s",
            **facts,
            below=beside[0],
            above=beside[1],
        )


def marks_of(scale: Scale) -> Sentence:
    """The first and the last mark: "Marks 1 to 9."."""
    last = scale.count - 1
    if not last:
        return Sentence("Mark %(mark)s.", mark=scale.label(0))
    return Sentence("Marks %(first)s to %(last)s.", first=scale.label(0), last=scale.label(last))


def _beside(scale: Scale, typed: str) -> tuple[str, str] | None:
    """The marks between which a number lies that is not printed itself, where marks are numbers."""
    try:
        wanted = float(typed.replace(",", "."))
        place = bisect_left(
            range(scale.count), wanted, key=lambda stop: float(scale.label(stop).replace(",", "."))
        )
    except ValueError:
        return None
    if not 0 < place < scale.count:
        return None
    return scale.label(place - 1), scale.label(place)


class AxisLengthField(LengthField):
    """A length on an axis, no longer than any apparatus has."""

    def __init__(self, axis: AxisKind, words: str = "", **settings: Any) -> None:
        self.axis = axis
        super().__init__(words or axis.name, **settings)

    def read(self, typed: str) -> int:
        length_mm = super().read(typed)
        most_mm = longest_mm(self.axis)
        if length_mm > most_mm:
            most, read = (length_in_words(mm, self.length_unit) for mm in (most_mm, length_mm))
            likely = self._likely(length_mm) or "was it typed in another unit?"
            raise ValueError(
                f"{self.words} must be at most {most}; {read.alone} was read: {likely}"
            )
        return length_mm

    def refused(self, refusal: SettingsDeskError, typed: str) -> str:
        """Of 1.65 not to which millimetre it is nearest, where 1.65 m are likely meant."""
        likely = self._likely(refusal.mm) if isinstance(refusal, LengthTooFine) else ""
        if not likely:
            return super().refused(refusal, typed)
        least, most = (length_in_words(mm, self.length_unit) for mm in self.axis.believed)
        read = f"{self.words} was read as {quoted(typed)}"
        return f"{read}: {least.alone} to {most} is usual; {likely}"

    def _likely(self, length_mm: float) -> str:
        """What is to be typed for a length that is not believed; empty where nothing fits."""
        unit, believed = self.length_unit, self.axis.believed.holds
        likely = "" if believed(length_mm) else if_in_another_unit([length_mm], unit, believed)
        return f"{likely}, type that if it is meant" if likely else ""


class PresetField(ChoiceField):
    """A drop-down list in which the usual choice is made already."""

    blank = ""


def read_off_form(model: ApparatusModel, seen: int) -> DeskForm:
    """Empty boxes for what stands there: marks that stood in them would be sent without a look.

    ``seen`` is the number of the last event that the page shows.
    """
    fields: dict[str, object] = {axis.key: MarkField(axis) for axis in model.axes}
    return form_of({**fields, "seen": CarriedField()}, DeskForm)(data={"seen": str(seen)})


@contextmanager
def blaming(
    form: DeskForm,
    model: ApparatusModel,
    lengths_mm: Mapping[str, float],
    before_mm: Mapping[str, float] | None = None,
    *,
    field: str = "{}",
) -> Iterator[None]:
    """Turn lengths that cannot be together into a mistake of the one that is to be looked at.

    ``field`` makes the name of a field of an axis's key; see ``blame.of_lengths``.
    """
    try:
        yield
    except blame.NOT_TOGETHER as refusal:
        axis, said = blame.of_lengths(refusal, model, lengths_mm, before_mm)
        with form.refusals(form[field.format(axis.key)]):
            raise said from refusal


def alone_mm(model: ApparatusModel, stops: Iterable[int] | None) -> dict[str, float]:
    """The length of each stop by axis, as if no axis shifted another; none where none is known."""
    return {
        axis.key: model.alone_mm(axis, axis.scale.length_mm(stop))
        for axis, stop in zip(model.axes, stops or (), strict=False)
    }


def form_of(fields: Mapping[str, Any], base: type[AForm]) -> type[AForm]:
    """A form whose fields are known only when the apparatus is."""
    return type(base.__name__, (base,), dict(fields))


def height_datum_field(kind: Kind) -> Any:
    """Above what, and to which point, the heights of a form are taken.

    Above what comes first, and the words are few: a phone shows only the beginning.
    """
    point = next(axis.point for axis in kind.axes if axis.quantity is Quantity.HEIGHT)
    above = {Level.FLOOR: "Above the floor", Level.MAT: "Above the mat"}
    points = {Edge.UPPER: point.removesuffix(" of the rail")}
    if kind.railed:
        points |= {Edge.CENTRE: "centre", Edge.UNDERSIDE: "underside"}
    return PresetField(
        "Heights are taken to",
        choices=[
            (f"{level.value}-{edge.value}", f"{above[level]}: {words}")
            for level in Level
            for edge, words in points.items()
        ],
        ask="Choose where the heights are taken to",
        read_choice=_height_datum,
        default="floor-upper",
    )


def spread_datum_field() -> Any:
    """Between which points the spread of a form is taken."""
    return PresetField(
        "The spread is taken as",
        choices=[(datum.value, _as_choice(spread_in_words(datum))) for datum in SpreadDatum],
        ask="Choose how the spread is taken",
        read_choice=SpreadDatum,
        default=SpreadDatum.INNER.value,
    )


def _as_choice(words: str) -> str:
    return words[:1].upper() + words[1:]


def _height_datum(key: str) -> HeightDatum:
    level, edge = key.split("-")
    return HeightDatum(Level(level), Edge(edge))
