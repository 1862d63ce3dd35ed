"""The apparatus kinds: which adjustables each has, and in which order the trade sets them.

A kind is data. Everything else in the program is told by it, so a further kind is one more entry
in ``KINDS``.
"""

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words, length_on_floor
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit


class Quantity(Enum):
    """What an axis adjusts; it decides the datum and the words for a move.

    A spread is that of two rails; a spacing is between two other things that move apart.
    """

    HEIGHT = "height"
    SPREAD = "spread"
    SPACING = "spacing"
    DISTANCE = "distance"

    @property
    def more(self) -> str:
        """The word for a move to a greater length."""
        return {"height": "up", "spread": "out", "spacing": "out", "distance": "away"}[self.value]

    @property
    def less(self) -> str:
        """The word for a move to a smaller length."""
        return {"height": "down", "spread": "in", "spacing": "in", "distance": "nearer"}[self.value]

    @property
    def too_much(self) -> Sentence:
        """What a length greater than the wanted one is."""
        return {
            "height": Sentence("too high"),
            "spread": Sentence("too wide"),
            "spacing": Sentence("too wide"),
            "distance": Sentence("too far"),
        }[self.value]

    @property
    def too_little(self) -> Sentence:
        """What a length smaller than the wanted one is."""
        return {
            "height": Sentence("too low"),
            "spread": Sentence("too narrow"),
            "spacing": Sentence("too narrow"),
            "distance": Sentence("too near"),
        }[self.value]


class Range(NamedTuple):
    """From the least to the greatest length that is believed."""

    least_mm: int
    most_mm: int

    def holds(self, mm: float) -> bool:
        """Whether the length lies in the range, its ends included."""
        return self.least_mm <= mm <= self.most_mm


_OPEN_THE_LOCK, _CLOSE_THE_LOCK = Sentence("open the lock"), Sentence("close the lock")


@dataclass(frozen=True, slots=True)
class AxisKind:
    """One adjustable of a kind.

    ``in_a_sentence`` is its name there: "low rail height". ``point`` names what the canonical
    length goes to: a height's upper edge, or the two things between which a spread or a distance
    is taken. ``ends`` are the places where it is set.
    ``believed`` is to catch slips and not to judge settings, which rule books do: so wide that no
    hall falls outside, so narrow that ten times a length, or its figure in another unit, does.
    ``before`` and ``after`` are what hands do at an end before it is moved and once it is there,
    in order (common practice, no source; the maker's instructions come first).
    """

    key: str
    name: Sentence
    in_a_sentence: Sentence
    quantity: Quantity
    point: Sentence
    ends: tuple[Sentence, ...]
    believed: Range
    before: tuple[Sentence, ...] = (_OPEN_THE_LOCK,)
    after: tuple[Sentence, ...] = (_CLOSE_THE_LOCK, Sentence("pull to try"))

    def length_in_words(self, mm: float, unit: Unit) -> Sentence:
        """A length of it; one along the floor as it is said there: "20 m"."""
        on_floor = self.quantity is Quantity.DISTANCE
        return length_on_floor(mm, unit) if on_floor else length_in_words(mm, unit)


FRONT_AND_BACK = (Sentence("front"), Sentence("back"))
LEFT_AND_RIGHT = (Sentence("left"), Sentence("right"))
"""What the ends are called where a hall has no names of its own."""
AN_END = marked("%(end)s end")
"""An end of the apparatus, by what it is called where it stands."""

_CLOSE_BY = Sentence("the apparatus")
_EITHER_SIDE = (Sentence("one side"), Sentence("the other side"))


@dataclass(frozen=True, slots=True)
class Kind:
    """An apparatus kind with its axes in the order in which they are safely set.

    ``railed`` kinds have rails with a section, so that a height may be read to the rail's upper
    edge, its centre or its underside. ``spread_between`` names the two height axes whose rails
    the spread separates (twice the same where one axis moves both rails). ``sides`` are the two
    sides on which cables are tensioned, in the order in which that is done. ``surface_mm`` is how
    wide a surface without rails is, seen from its end; what ``hangs`` is held from above.
    ``clear`` is what everybody keeps off and away from while it is set. ``ends_called`` are the
    words that tell its two ends apart until a hall has its own; where they are front and back, it
    is drawn as seen from the front, the low or the left rail on the left.
    """

    key: str
    name: str
    in_a_sentence: str
    axes: tuple[AxisKind, ...]
    railed: bool = False
    spread_between: tuple[str, str] | None = None
    sides: tuple[str, str] = _EITHER_SIDE
    surface_mm: float = 0.0
    hangs: bool = False
    clear: Sentence = _CLOSE_BY
    ends_called: tuple[Sentence, Sentence] | None = LEFT_AND_RIGHT

    def axis(self, key: str) -> AxisKind:
        """The axis of that key; ``NoSuchAxis`` where the kind has none."""
        for axis in self.axes:
            if axis.key == key:
                return axis
        raise NoSuchAxis(key, self)

    @property
    def has_high_rail(self) -> bool:
        """Whether of two rails one is the high one, to which somebody climbs."""
        return self.spread_between is not None and len({*self.spread_between}) > 1

    @property
    def spread_axis(self) -> AxisKind | None:
        """The axis that sets the spread of two rails, where the kind has one."""
        if self.spread_between is None:
            return None
        return next(axis for axis in self.axes if axis.quantity is Quantity.SPREAD)


class NoSuchKind(SettingsDeskError):
    """A kind was named that the program does not know."""

    def __init__(self, key: str) -> None:
        self.key = key

    def __str__(self) -> str:
        known = ", ".join(kind.name.lower() for kind in KINDS.values())
        return f"'{self.key}' is no apparatus kind; the kinds are {known}"


class NoSuchAxis(SettingsDeskError):
    """An axis was named that this kind does not have."""

    def __init__(self, key: str, kind: Kind) -> None:
        self.key, self.kind = key, kind

    def __str__(self) -> str:
        known = ", ".join(axis.in_a_sentence for axis in self.kind.axes)
        what = self.kind.name.lower()
        return f"'{self.key}' is no adjustment of {what}; its adjustments are {known}"


# What the published heights and widths are, and where they are from, stands behind each range.


def _at(form: str, ends: tuple[Sentence, Sentence]) -> tuple[Sentence, Sentence]:
    """The two places of that form, which are called after the ends of the apparatus."""
    return Sentence(form, end=ends[0]), Sentence(form, end=ends[1])


_RAIL_ENDS = _at(AN_END, FRONT_AND_BACK)
_ON_A_STAND = Sentence("step on a stand or the mounting steps")
_HOLD_THE_RAIL = (Sentence("hold this end of the rail"), _OPEN_THE_LOCK)
UPPER_EDGE = Sentence("upper edge of the rail")

_UNEVEN_BARS = Kind(
    key="uneven_bars",
    name=Sentence("Uneven bars"),
    in_a_sentence=Sentence("uneven bars"),
    axes=(
        AxisKind(
            "low_rail",
            Sentence("Low rail height"),
            Sentence("low rail height"),
            Quantity.HEIGHT,
            UPPER_EDGE,
            _RAIL_ENDS,
            believed=Range(1_000, 3_000),  # 170 cm; 150 above the mat
            before=_HOLD_THE_RAIL,
        ),
        AxisKind(
            "high_rail",
            Sentence("High rail height"),
            Sentence("high rail height"),
            Quantity.HEIGHT,
            UPPER_EDGE,
            _RAIL_ENDS,
            believed=Range(1_000, 3_000),  # 250 cm; 230 above the mat
            before=(_ON_A_STAND, *_HOLD_THE_RAIL),
        ),
        AxisKind(
            "spread",
            Sentence("Rail spread"),
            Sentence("rail spread"),
            Quantity.SPREAD,
            Sentence("the rails"),
            _at(marked("%(end)s spreader"), FRONT_AND_BACK),
            believed=Range(800, 2_500),  # 130 to 190 cm; older 100 to 180; no maximum
        ),
    ),
    railed=True,
    spread_between=("low_rail", "high_rail"),
    sides=(Sentence("high-rail side"), Sentence("low-rail side")),
    clear=Sentence("the rails"),
    ends_called=FRONT_AND_BACK,
)

_PARALLEL_BARS = Kind(
    key="parallel_bars",
    name=Sentence("Parallel bars"),
    in_a_sentence=Sentence("parallel bars"),
    axes=(
        AxisKind(
            "rails",
            Sentence("Rail height"),
            Sentence("rail height"),
            Quantity.HEIGHT,
            UPPER_EDGE,
            (
                *_at(marked("left rail, %(end)s end"), FRONT_AND_BACK),
                *_at(marked("right rail, %(end)s end"), FRONT_AND_BACK),
            ),
            believed=Range(1_000, 2_600),  # 200 cm; older 195; 175 above the mat
            before=_HOLD_THE_RAIL,
        ),
        AxisKind(
            "spread",
            Sentence("Rail spread"),
            Sentence("rail spread"),
            Quantity.SPREAD,
            Sentence("the rails"),
            _at(marked("%(end)s pair"), FRONT_AND_BACK),
            believed=Range(300, 800),  # 42 to 52 cm
        ),
    ),
    railed=True,
    spread_between=("rails", "rails"),
    clear=Sentence("the rails"),
    ends_called=FRONT_AND_BACK,
)

_HORIZONTAL_BAR = Kind(
    key="horizontal_bar",
    name=Sentence("Horizontal bar"),
    in_a_sentence=Sentence("horizontal bar"),
    axes=(
        AxisKind(
            "rail",
            Sentence("Rail height"),
            Sentence("rail height"),
            Quantity.HEIGHT,
            UPPER_EDGE,
            _at(marked("%(end)s upright"), LEFT_AND_RIGHT),
            believed=Range(1_200, 3_200),  # 280 cm; 255 above the mat
            before=(_ON_A_STAND, *_HOLD_THE_RAIL),
        ),
    ),
    railed=True,
    clear=Sentence("the rail"),
)

_RINGS = Kind(
    key="rings",
    name=Sentence("Rings"),
    in_a_sentence=Sentence("rings"),
    axes=(
        AxisKind(
            "rings",
            Sentence("Ring height"),
            Sentence("ring height"),
            Quantity.HEIGHT,
            Sentence("lower inner side of the rings"),
            _at(marked("%(end)s ring"), LEFT_AND_RIGHT),
            believed=Range(1_200, 3_200),  # 280 cm; 255 above the mat
            before=(Sentence("hold the ring so that its cable is loose"), _OPEN_THE_LOCK),
            after=(_CLOSE_THE_LOCK, Sentence("pull down to try")),
        ),
    ),
    hangs=True,
    clear=Sentence("the rings"),
)

_POMMEL_HORSE = Kind(
    key="pommel_horse",
    name=Sentence("Pommel horse"),
    in_a_sentence=Sentence("pommel horse"),
    axes=(
        AxisKind(
            "body",
            Sentence("Horse height"),
            Sentence("horse height"),
            Quantity.HEIGHT,
            Sentence("upper surface"),
            _at(marked("%(end)s leg"), LEFT_AND_RIGHT),
            believed=Range(600, 1_400),  # 115 cm; 105 above the mat
            before=(Sentence("hold the body at this leg"), _OPEN_THE_LOCK),
        ),
        AxisKind(
            "pommels",
            Sentence("Pommel spacing"),
            Sentence("pommel spacing"),
            Quantity.SPACING,
            Sentence("the pommels' inner faces"),
            _at(marked("%(end)s pommel"), LEFT_AND_RIGHT),
            believed=Range(300, 600),  # 40 to 45 cm
        ),
    ),
    surface_mm=350,
    clear=Sentence("the horse"),
)

_BALANCE_BEAM = Kind(
    key="balance_beam",
    name=Sentence("Balance beam"),
    in_a_sentence=Sentence("balance beam"),
    axes=(
        AxisKind(
            "beam",
            Sentence("Beam height"),
            Sentence("beam height"),
            Quantity.HEIGHT,
            Sentence("upper surface"),
            _at(marked("%(end)s support"), LEFT_AND_RIGHT),
            believed=Range(600, 1_400),  # 100, 110 or 125 cm
            before=(Sentence("hold the beam at this support"), _OPEN_THE_LOCK),
        ),
    ),
    surface_mm=100,
    clear=Sentence("the beam"),
)

_VAULT_TABLE = Kind(
    key="vault_table",
    name=Sentence("Vault table"),
    in_a_sentence=Sentence("vault table"),
    axes=(
        AxisKind(
            "table",
            Sentence("Table height"),
            Sentence("table height"),
            Quantity.HEIGHT,
            Sentence("upper surface"),
            (Sentence("column"),),
            believed=Range(800, 1_500),  # 105 to 135 cm
            before=(Sentence("hold the table's top"), _OPEN_THE_LOCK),
        ),
        AxisKind(
            "board",
            Sentence("Board distance"),
            Sentence("board distance"),
            Quantity.DISTANCE,
            Sentence("the board and the table"),
            (Sentence("board"),),
            believed=Range(100, 3_000),  # common practice, no source
            before=(),
            after=(Sentence("see that it lies flat and does not slide"),),
        ),
        AxisKind(
            "run_up",
            Sentence("Run-up length"),
            Sentence("run-up length"),
            Quantity.DISTANCE,
            Sentence("the start mark and the table"),
            (Sentence("start mark"),),
            believed=Range(3_000, 30_000),  # 25 m, from memory
            before=(),
            after=(Sentence("see that the mark holds"),),
        ),
    ),
    surface_mm=950,
    clear=Sentence("the table and the run-up"),
    ends_called=None,
)

KINDS: dict[str, Kind] = {
    kind.key: kind
    for kind in (
        _UNEVEN_BARS,
        _PARALLEL_BARS,
        _HORIZONTAL_BAR,
        _RINGS,
        _POMMEL_HORSE,
        _BALANCE_BEAM,
        _VAULT_TABLE,
    )
}


def kind_of(key: str) -> Kind:
    """The kind of that key; ``NoSuchKind`` where there is none."""
    if key not in KINDS:
        raise NoSuchKind(key)
    return KINDS[key]
