"""The apparatus kinds: which adjustables each has, and in which order the trade sets them.

A kind is data. Everything else in the program is told by it, so a further kind is one more entry
in ``KINDS``.
"""

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first


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
    def too_much(self) -> str:
        """What a length greater than the wanted one is."""
        return {
            "height": "too high",
            "spread": "too wide",
            "spacing": "too wide",
            "distance": "too far",
        }[self.value]

    @property
    def too_little(self) -> str:
        """What a length smaller than the wanted one is."""
        return {
            "height": "too low",
            "spread": "too narrow",
            "spacing": "too narrow",
            "distance": "too near",
        }[self.value]


class Range(NamedTuple):
    """From the least to the greatest length that is believed."""

    least_mm: int
    most_mm: int

    def holds(self, mm: float) -> bool:
        """Whether the length lies in the range, its ends included."""
        return self.least_mm <= mm <= self.most_mm


@dataclass(frozen=True, slots=True)
class AxisKind:
    """One adjustable of a kind.

    ``point`` names what the canonical length goes to: a height's upper edge, or the two things
    between which a spread or a distance is taken. ``ends`` are the places where it is set.
    ``believed`` is to catch slips and not to judge settings, which rule books do: so wide that no
    hall falls outside, so narrow that ten times a length, or its figure in another unit, does.
    ``before`` and ``after`` are what hands do at an end before it is moved and once it is there,
    in order (common practice, no source; the maker's instructions come first).
    """

    key: str
    name: str
    quantity: Quantity
    point: str
    ends: tuple[str, ...]
    believed: Range
    before: tuple[str, ...] = ("open the lock",)
    after: tuple[str, ...] = ("close the lock", "pull to try")

    @property
    def in_a_sentence(self) -> str:
        """The name inside a sentence: "low rail height"."""
        return lower_first(self.name)


FRONT_AND_BACK = ("front", "back")


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
    axes: tuple[AxisKind, ...]
    railed: bool = False
    spread_between: tuple[str, str] | None = None
    sides: tuple[str, str] = ("one side", "the other side")
    surface_mm: float = 0.0
    hangs: bool = False
    clear: str = "the apparatus"
    ends_called: tuple[str, str] | None = ("left", "right")

    def axis(self, key: str) -> AxisKind:
        """The axis of that key; ``NoSuchAxis`` where the kind has none."""
        for axis in self.axes:
            if axis.key == key:
                return axis
        raise NoSuchAxis(key, self)

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
_RAIL_ENDS = ("front end", "back end")
_ON_A_STAND = "step on a stand or the mounting steps"
_HOLD_THE_RAIL = ("hold this end of the rail", "open the lock")
_UPPER_EDGE = "upper edge of the rail"

_UNEVEN_BARS = Kind(
    key="uneven_bars",
    name="Uneven bars",
    axes=(
        AxisKind(
            "low_rail",
            "Low rail height",
            Quantity.HEIGHT,
            _UPPER_EDGE,
            _RAIL_ENDS,
            believed=Range(1_000, 3_000),  # 170 cm; 150 above the mat
            before=_HOLD_THE_RAIL,
        ),
        AxisKind(
            "high_rail",
            "High rail height",
            Quantity.HEIGHT,
            _UPPER_EDGE,
            _RAIL_ENDS,
            believed=Range(1_000, 3_000),  # 250 cm; 230 above the mat
            before=(_ON_A_STAND, *_HOLD_THE_RAIL),
        ),
        AxisKind(
            "spread",
            "Rail spread",
            Quantity.SPREAD,
            "the rails",
            ("front spreader", "back spreader"),
            believed=Range(800, 2_500),  # 130 to 190 cm; older 100 to 180; no maximum
        ),
    ),
    railed=True,
    spread_between=("low_rail", "high_rail"),
    sides=("high-rail side", "low-rail side"),
    clear="the rails",
    ends_called=FRONT_AND_BACK,
)

_PARALLEL_BARS = Kind(
    key="parallel_bars",
    name="Parallel bars",
    axes=(
        AxisKind(
            "rails",
            "Rail height",
            Quantity.HEIGHT,
            _UPPER_EDGE,
            (
                "left rail, front end",
                "left rail, back end",
                "right rail, front end",
                "right rail, back end",
            ),
            believed=Range(1_000, 2_600),  # 200 cm; older 195; 175 above the mat
            before=_HOLD_THE_RAIL,
        ),
        AxisKind(
            "spread",
            "Rail spread",
            Quantity.SPREAD,
            "the rails",
            ("front pair", "back pair"),
            believed=Range(300, 800),  # 42 to 52 cm
        ),
    ),
    railed=True,
    spread_between=("rails", "rails"),
    clear="the rails",
    ends_called=FRONT_AND_BACK,
)

_HORIZONTAL_BAR = Kind(
    key="horizontal_bar",
    name="Horizontal bar",
    axes=(
        AxisKind(
            "rail",
            "Rail height",
            Quantity.HEIGHT,
            _UPPER_EDGE,
            ("left upright", "right upright"),
            believed=Range(1_200, 3_200),  # 280 cm; 255 above the mat
            before=(_ON_A_STAND, *_HOLD_THE_RAIL),
        ),
    ),
    railed=True,
    clear="the rail",
)

_RINGS = Kind(
    key="rings",
    name="Rings",
    axes=(
        AxisKind(
            "rings",
            "Ring height",
            Quantity.HEIGHT,
            "lower inner side of the rings",
            ("left ring", "right ring"),
            believed=Range(1_200, 3_200),  # 280 cm; 255 above the mat
            before=("hold the ring so that its cable is loose", "open the lock"),
            after=("close the lock", "pull down to try"),
        ),
    ),
    hangs=True,
    clear="the rings",
)

_POMMEL_HORSE = Kind(
    key="pommel_horse",
    name="Pommel horse",
    axes=(
        AxisKind(
            "body",
            "Horse height",
            Quantity.HEIGHT,
            "upper surface",
            ("left leg", "right leg"),
            believed=Range(600, 1_400),  # 115 cm; 105 above the mat
            before=("hold the body at this leg", "open the lock"),
        ),
        AxisKind(
            "pommels",
            "Pommel spacing",
            Quantity.SPACING,
            "the pommels' inner faces",
            ("left pommel", "right pommel"),
            believed=Range(300, 600),  # 40 to 45 cm
        ),
    ),
    surface_mm=350,
    clear="the horse",
)

_BALANCE_BEAM = Kind(
    key="balance_beam",
    name="Balance beam",
    axes=(
        AxisKind(
            "beam",
            "Beam height",
            Quantity.HEIGHT,
            "upper surface",
            ("left support", "right support"),
            believed=Range(600, 1_400),  # 100, 110 or 125 cm
            before=("hold the beam at this support", "open the lock"),
        ),
    ),
    surface_mm=100,
    clear="the beam",
)

_VAULT_TABLE = Kind(
    key="vault_table",
    name="Vault table",
    axes=(
        AxisKind(
            "table",
            "Table height",
            Quantity.HEIGHT,
            "upper surface",
            ("column",),
            believed=Range(800, 1_500),  # 105 to 135 cm
            before=("hold the table's top", "open the lock"),
        ),
        AxisKind(
            "board",
            "Board distance",
            Quantity.DISTANCE,
            "the board and the table",
            ("board",),
            believed=Range(100, 3_000),  # common practice, no source
            before=(),
            after=("see that it lies flat and does not slide",),
        ),
        AxisKind(
            "run_up",
            "Run-up length",
            Quantity.DISTANCE,
            "the start mark and the table",
            ("start mark",),
            believed=Range(3_000, 30_000),  # 25 m, from memory
            before=(),
            after=("see that the mark holds",),
        ),
    ),
    surface_mm=950,
    clear="the table and the run-up",
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
