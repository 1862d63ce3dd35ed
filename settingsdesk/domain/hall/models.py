"""An apparatus model: its axes with their scales, its geometry, its procedure and its times."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Section,
    SpreadDatum,
    canonical_in_words,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    SaysLengths,
    length_in_words,
    length_on_floor,
)
from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import IN_INCHES, Sentence, Series, with_whole_figures
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Geometry, Leaning, RailPair, Upright, stance
from settingsdesk.domain.hall.scales import Scale

Setup = tuple[int, ...]
"""The stops at which all axes of an apparatus stand, in the order of the model's axes."""

LONGEST_OPERATION_S = 3_600
MOST_ENDS_DIFFER = 99
LONGEST_WORKING_TENSION = 120  # characters: a line on a phone at the apparatus, or two
FARTHEST_OFF_SCALE_MM = 100.0


@dataclass(frozen=True, slots=True)
class AxisTimes:
    """Whole seconds at one end of an axis: to unlock and lock it, and for each stop moved."""

    handling_s: int
    up_s: int
    down_s: int

    def __post_init__(self) -> None:
        for seconds in (self.handling_s, self.up_s, self.down_s):
            _must_be_a_time(seconds)


@dataclass(frozen=True, slots=True)
class Axis:
    """One adjustable of a model: what it is, its scale, to which point the scale reads.

    ``edge`` matters for heights of rails, ``spread_datum`` for spreads. ``ends_may_differ`` is by
    how many stops any two of its ends may differ while they are moved, where the maker limits
    that. ``usually_accepts_mm`` is what the club accepts of it where an athlete's setting says
    nothing, 0 where it says nothing either: for warnings alone, no plan goes by it.
    """

    kind: AxisKind
    scale: Scale
    times: AxisTimes
    ends: tuple[str, ...]
    edge: Edge = Edge.UPPER
    spread_datum: SpreadDatum = SpreadDatum.INNER
    ends_may_differ: int | None = None
    usually_accepts_mm: int = 0

    def __post_init__(self) -> None:
        if self.ends_may_differ is None:
            return
        if len(self.ends) == 1:
            raise NotAModel("An adjustment that is set at one place has no ends that could differ")
        if not 1 <= self.ends_may_differ <= MOST_ENDS_DIFFER:
            raise NotAModel(
                f"Its ends may differ by between 1 and {MOST_ENDS_DIFFER} stops;"
                f" {self.ends_may_differ} was given"
            )

    @property
    def key(self) -> str:
        return self.kind.key

    def mark_in_words(self, stop: int) -> str:
        """A mark as it is said: a ruler's is called one, along the floor it is the length there.

        What a ruler shows is most often another length than a tape finds, so that with its unit it
        would be set by tape.
        """
        label, unit = with_whole_figures(self.scale.label(stop)), self.scale.ruled_in
        if unit is None:
            return label
        if self.kind.quantity is not Quantity.DISTANCE:
            return Sentence("mark %(mark)s", mark=label)
        if unit is Unit.INCH:
            return Sentence(IN_INCHES, figure=label)
        return length_on_floor(float(label) * 10, unit).as_a_mark

    def by_tape(self, measure_mm: float, unit: Unit) -> Sentence:
        """What stands beside a mark: the length that a tape finds, and from where to where."""
        return Sentence(
            "by tape %(length)s, %(datum)s",
            length=self.kind.length_in_words(measure_mm, unit),
            datum=canonical_in_words(self.kind),
        )


@dataclass(frozen=True, slots=True)
class Procedure:
    """The operations of every change-over, in whole seconds, whatever is moved.

    ``tensioners_per_side`` is 0 where nothing is held by cables; there is then nothing to
    slacken, to sight or to tension. ``tension_s`` includes the second look for square, half-way.
    ``estimated`` holds until measured times replace these. ``working_tension`` is how the maker
    says that a cable is tight: a mark, a gauge, a number of fingers; empty where nobody entered it.
    """

    slacken_s: int
    square_s: int
    tension_s: int
    walk_round_s: int
    tensioners_per_side: int
    estimated: bool = True
    working_tension: str = ""

    def __post_init__(self) -> None:
        for seconds in (self.slacken_s, self.square_s, self.tension_s, self.walk_round_s):
            _must_be_a_time(seconds)
        if not 0 <= self.tensioners_per_side <= 4:
            raise NotAModel("The tensioners of one side must be between 0 and 4")
        if not self.tensioners_per_side and (self.slacken_s or self.tension_s):
            raise NotAModel("An apparatus without tensioners has no time to slacken or to tension")
        if len(self.working_tension) > LONGEST_WORKING_TENSION:
            raise NotAModel(
                f"The working tension must be told in {LONGEST_WORKING_TENSION} characters or"
                f" fewer; {len(self.working_tension)} were given"
            )

    @property
    def sighting_again_s(self) -> int:
        """The second look takes as long as the first, but no more than half of the tensioning."""
        return min(self.square_s, self.tension_s // 2)

    @property
    def pulling_s(self) -> int:
        """What is left of the tensioning for pulling."""
        return self.tension_s - self.sighting_again_s

    @property
    def any_move_s(self) -> int:
        """What any change-over takes besides moving from stop to stop."""
        return self.slacken_s + self.square_s + self.tension_s + self.walk_round_s


class Guess(Enum):
    """What of a model nobody has measured yet: a usual value stands in until something needs it."""

    SECTION = "section"
    DROP = "drop"


@dataclass(frozen=True, slots=True)
class ApparatusModel:
    """A make and type, or one apparatus of it with scales of its own."""

    name: str
    kind: Kind
    axes: tuple[Axis, ...]
    procedure: Procedure
    section: Section | None = None
    geometry: Geometry = field(default_factory=Upright)
    guessed: frozenset[Guess] = frozenset()

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise NotAModel("An apparatus model must have a name")
        if [axis.key for axis in self.axes] != [axis.key for axis in self.kind.axes]:
            wanted = ", ".join(axis.in_a_sentence for axis in self.kind.axes)
            raise NotAModel(f"{self.kind.name} must have these adjustments in this order: {wanted}")
        if self.kind.railed and self.section is None:
            raise NotAModel(f"{self.kind.name} must have the section of the rail")
        if not self.kind.railed and any(axis.edge is not Edge.UPPER for axis in self.axes):
            raise NotAModel(f"{self.kind.name} has no rail whose centre or underside could be read")
        if isinstance(self.geometry, Leaning) and self.kind.spread_between is None:
            raise NotAModel(
                f"{self.kind.name} has no spreader, so its uprights cannot lean with it"
            )
        self._must_stand()

    def _must_stand(self) -> None:
        """``SpreadTooSmall`` or ``NotAFrame`` where an end of the scales is no place for rails."""
        self.measures_mm([0 for _ in self.axes])
        self.measures_mm([axis.scale.count - 1 for axis in self.axes])

    def axis(self, key: str) -> Axis:
        """The axis of that key; ``NoSuchAxis`` where the kind has none."""
        return self.axes[self.kind.axes.index(self.kind.axis(key))]

    def must_have(self, setup: Sequence[int]) -> None:
        """``NotASetup`` or ``NoSuchStop`` where the stops are not ones of this model."""
        if len(setup) != len(self.axes):
            raise NotASetup(self.name, len(setup), len(self.axes))
        for axis, stop in zip(self.axes, setup, strict=True):
            axis.scale.label(stop)

    def readings_mm(self, setup: Sequence[int]) -> dict[str, float]:
        """What each scale shows at that setup, in the scale's own datum."""
        self.must_have(setup)
        return {
            axis.key: axis.scale.length_mm(stop)
            for axis, stop in zip(self.axes, setup, strict=True)
        }

    def measures_mm(self, setup: Sequence[int]) -> dict[str, float]:
        """What a tape finds at that setup: canonical lengths by axis."""
        return self.measures_at_mm(self.readings_mm(setup))

    def taped_mm(self, setup: Sequence[int]) -> dict[str, float]:
        """The same less a spread that nobody can tell, since it ``lacks_drop``."""
        found = self.measures_mm(setup)
        untold = self.rail_pair.spread if self.rail_pair and self.lacks_drop else None
        return {key: measure_mm for key, measure_mm in found.items() if key != untold}

    def measures_at_mm(self, readings_mm: Mapping[str, float]) -> dict[str, float]:
        """The canonical lengths by axis where the scales show those readings."""
        found = {axis.key: self.alone_mm(axis, readings_mm[axis.key]) for axis in self.axes}
        pair = self.rail_pair
        if pair is not None:
            rails = stance(self.geometry, pair, readings_mm)
            half_mm = pair.section.height_mm / 2
            found[pair.low] = rails.low_centre_mm + half_mm
            found[pair.high] = rails.high_centre_mm + half_mm
            found[pair.spread] = rails.inner_mm(pair.section)
        return found

    def reading_for_mm(
        self, axis_key: str, measure_mm: float, held_mm: Mapping[str, float]
    ) -> float:
        """What an axis's scale would show where a tape finds ``measure_mm`` on it.

        ``held_mm`` are the readings of the other axes meanwhile. A measure grows with its own
        reading, so it is found by halving; ``TapedFarOff`` where that is more than 10 cm past
        the ends of the scale.
        """
        axis = self.axis(axis_key)
        low_mm = axis.scale.length_mm(0) - FARTHEST_OFF_SCALE_MM
        high_mm = axis.scale.length_mm(axis.scale.count - 1) + FARTHEST_OFF_SCALE_MM

        def measure_at(reading_mm: float) -> float:
            return self.measures_at_mm({**held_mm, axis_key: reading_mm})[axis_key]

        if not measure_at(low_mm) <= measure_mm <= measure_at(high_mm):
            raise TapedFarOff(axis, measure_mm, measure_at(low_mm), measure_at(high_mm))
        for _ in range(60):
            middle_mm = (low_mm + high_mm) / 2
            if measure_at(middle_mm) < measure_mm:
                low_mm = middle_mm
            else:
                high_mm = middle_mm
        return high_mm

    def marks(self, setup: Sequence[int]) -> dict[str, str]:
        """The labels at which each axis stands."""
        self.must_have(setup)
        return {
            axis.key: axis.scale.label(stop) for axis, stop in zip(self.axes, setup, strict=True)
        }

    def marks_in_words(self, setup: Sequence[int]) -> Series:
        """The same in one line: "5 / 7 / 168.0". First stands what is read first, however lines
        run."""
        return Series(tuple(self.marks(setup).values()), " / ")

    def alone_mm(self, axis: Axis, reading_mm: float) -> float:
        """The canonical length of a reading on an axis that no other axis shifts."""
        if axis.kind.quantity is not Quantity.HEIGHT:
            return reading_mm
        return reading_mm + axis.edge.below_upper_mm(self.section)

    @property
    def rail_pair(self) -> RailPair | None:
        """The two rails that a spread separates, where the kind has them."""
        spread, between = self.kind.spread_axis, self.kind.spread_between
        if spread is None or between is None or self.section is None:
            return None
        return RailPair(
            low=between[0],
            high=between[1],
            spread=spread.key,
            section=self.section,
            edges={axis.key: axis.edge for axis in self.axes},
            spread_datum=self.axis(spread.key).spread_datum,
        )

    @property
    def crossed_rails(self) -> tuple[Axis, Axis] | None:
        """The low and the high rail where one end of the low one's scale is the higher.

        No known make is built so; more likely a figure was mistyped, which is to be told.
        """
        pair = self.rail_pair
        if pair is None or pair.low == pair.high:
            return None
        low, high = self.axis(pair.low), self.axis(pair.high)
        (low_first, low_last), (high_first, high_last) = (
            [self.alone_mm(axis, axis.scale.length_mm(stop)) for stop in (0, axis.scale.count - 1)]
            for axis in (low, high)
        )
        return (low, high) if low_first > high_first or low_last > high_last else None

    @property
    def lacks_drop(self) -> bool:
        """Whether its spread is printed along slanting rails, and for which drop nobody has told.

        Such a scale tells no spread: read as that of level rails, it is centimetres off.
        """
        pair = self.rail_pair
        return (
            pair is not None
            and pair.low != pair.high
            and isinstance(self.geometry, Upright)
            and pair.spread_datum is not SpreadDatum.CENTRES_HORIZONTAL
            and self.geometry.reference_drop_mm <= 0
        )

    @property
    def guesses_drop(self) -> bool:
        """Whether the drop for which its spread is printed is the middle one, and nobody's word."""
        return Guess.DROP in self.guessed and not self.lacks_drop and self.rail_pair is not None

    @property
    def guesses_section(self) -> bool:
        """Whether nobody has measured the section of its rails."""
        return Guess.SECTION in self.guessed and self.kind.railed

    def must_know_its_section(self, height: HeightDatum, spread: SpreadDatum) -> None:
        """Raise ``SectionUnknown`` where lengths in these datums hang on a section that is a guess.

        The upper edge and the inner faces do not: what they hang on it is less than a tape reads.
        """
        if self.guesses_section and (height.edge, spread) != (Edge.UPPER, SpreadDatum.INNER):
            raise SectionUnknown(self.name)

    @property
    def middle_drop_mm(self) -> float | None:
        """How far the rails stand apart in height with both at the middle of their scales.

        None where the kind has no low and high rail, or where its uprights lean.
        """
        pair = self.rail_pair
        if pair is None or pair.low == pair.high or isinstance(self.geometry, Leaning):
            return None
        low_mm, high_mm = (
            sum(
                self.alone_mm(axis, axis.scale.length_mm(stop))
                for stop in (0, axis.scale.count - 1)
            )
            / 2
            for axis in (self.axis(pair.low), self.axis(pair.high))
        )
        return high_mm - low_mm

    def with_middle_drop(self) -> "ApparatusModel":
        """The same with the drop for which its spread is printed guessed anew, as the middle one.

        It stays as it is where the heights have no middle drop to guess.
        """
        middle_mm = self.middle_drop_mm
        if middle_mm is None or middle_mm <= 0:
            return self
        return replace(self, geometry=Upright(middle_mm))

    def with_ends_called(self, names: tuple[str, str] | None) -> "ApparatusModel":
        """The same model with its ends as a hall calls them; None where it has no names."""
        if names is None or self.kind.ends_called is None:
            return self
        called: dict[str, str] = dict(zip(self.kind.ends_called, names, strict=True))
        axes = tuple(
            replace(axis, ends=tuple(_called(end, called) for end in axis.ends))
            for axis in self.axes
        )
        return replace(self, axes=axes)

    def with_usual_deviations(self, accepts_mm: Mapping[str, int]) -> "ApparatusModel":
        """The same model with what a club usually accepts, by axis; 0 on every other one."""
        if not accepts_mm:
            return self
        axes = tuple(
            replace(axis, usually_accepts_mm=accepts_mm.get(axis.key, 0)) for axis in self.axes
        )
        return replace(self, axes=axes)

    def with_scales(self, own: Mapping[str, Scale]) -> "ApparatusModel":
        """The same model with some axes on scales of one apparatus's own."""
        if not own:
            return self
        axes = tuple(
            replace(axis, scale=own[axis.key]) if axis.key in own else axis for axis in self.axes
        )
        return replace(self, axes=axes)


def _called(place: str, called: Mapping[str, str]) -> str:
    """A place where an axis is set, by the name of the end that it is at."""
    if isinstance(place, Sentence):
        return Sentence(place.form, **{name: called[end] for name, end in place.facts.items()})
    return " ".join(called.get(word, word) for word in place.split(" "))


def _must_be_a_time(seconds: int) -> None:
    if not 0 <= seconds <= LONGEST_OPERATION_S:
        raise NotATime(seconds)


class NotAModel(SettingsDeskError):
    """What was given does not make a complete apparatus model."""

    def __init__(self, what: str) -> None:
        self.what = what

    def __str__(self) -> str:
        return self.what


class SectionUnknown(SettingsDeskError):
    """A length hangs on the section of the rail, which nobody has measured (answers 409)."""

    def __init__(self, model: str) -> None:
        self.model = model

    def __str__(self) -> str:
        return (
            f"Lengths to the centre or the underside of a rail hang on its section, and that of"
            f" {self.model} is not entered yet: measure the rail, its height and its width, and"
            " enter them with the model. Nothing was changed"
        )


class NotATime(SettingsDeskError):
    """An operation's time is below nothing or beyond an hour."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds

    def __str__(self) -> str:
        return (
            f"An operation must take between 0 and {LONGEST_OPERATION_S} seconds;"
            f" {self.seconds} was given"
        )


class NotASetup(SettingsDeskError):
    """A setup names more or fewer axes than the model has."""

    def __init__(self, model: str, given: int, wanted: int) -> None:
        self.model, self.given, self.wanted = model, given, wanted

    def __str__(self) -> str:
        return f"A setup of {self.model} must name {self.wanted} stops; {self.given} were given"


class TapedFarOff(SaysLengths):
    """A tape's reading that none of the stops can have given."""

    def __init__(self, axis: Axis, measure_mm: float, least_mm: float, most_mm: float) -> None:
        self.axis, self.measure_mm = axis, measure_mm
        self.least_mm, self.most_mm = least_mm, most_mm

    def told(self, unit: Unit) -> str:
        return (
            f"{self.axis.kind.name}: {length_in_words(self.measure_mm, unit)} is not near any mark"
            f" of this scale, which would be taped between"
            f" {length_in_words(self.least_mm, unit).alone} and"
            f" {length_in_words(self.most_mm, unit)}: measure again, and to the right edge"
        )
