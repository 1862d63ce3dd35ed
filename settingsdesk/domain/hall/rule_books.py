"""Rule books: limits for an apparatus kind and level, each with its source and standing.

A rule book is data that the club edits. A setting outside it is a warning with that source; no
number is ever changed for it, and no value is called official.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    compared_length,
    least_in_words,
    length_in_words,
    minutes,
    most_in_words,
)
from settingsdesk.domain.base.kinds import AxisKind, Kind
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit

LONGEST_WARM_UP_S = 3600


class Standing(Enum):
    """How a number came to be here."""

    READ = Sentence("read in the source")
    SECONDARY = Sentence("read in a page that quotes the source")
    MEMORY = Sentence("from memory")


@dataclass(frozen=True, slots=True)
class Rule:
    """One limit on one axis, in canonical millimetres; ``None`` is no limit on that side."""

    kind: str
    axis: str
    level: str
    least_mm: int | None
    most_mm: int | None
    source: str
    edition: str
    standing: Standing
    remark: str = ""

    def __post_init__(self) -> None:
        if self.least_mm is not None and self.most_mm is not None and self.least_mm > self.most_mm:
            raise LimitsSwapped(self)

    def allows(self, length_mm: float) -> bool:
        """Whether a length, told to the millimetre, is within both limits."""
        rounded_mm = round(length_mm)
        above = self.least_mm is None or rounded_mm >= self.least_mm
        below = self.most_mm is None or rounded_mm <= self.most_mm
        return above and below

    def told(self, unit: Unit) -> str:
        """The limits as a coach reads them: "169.0 to 171.0 cm".

        In inches they allow no more than in centimetres, which stand behind them.
        """
        in_cm = self._told(Unit.CENTIMETRE)
        if unit is Unit.CENTIMETRE or (self.least_mm is None and self.most_mm is None):
            return in_cm
        return f"{self._told(unit)} ({in_cm})"

    def _told(self, unit: Unit) -> str:
        if self.least_mm is None:
            if self.most_mm is None:
                return "no limit"
            return f"at most {most_in_words(self.most_mm, unit)}"
        if self.most_mm is None:
            return f"at least {least_in_words(self.least_mm, unit)}"
        if self.least_mm == self.most_mm:
            return f"{length_in_words(self.most_mm, unit)} exactly"
        least = least_in_words(self.least_mm, unit).alone
        return f"{least} to {most_in_words(self.most_mm, unit)}"


WARM_UPS = {
    (False, True): marked("%(minutes)s for each athlete, preparing the apparatus included"),
    (False, False): marked("%(minutes)s for each athlete, preparing the apparatus not included"),
    (True, True): marked(
        "%(minutes)s for each athlete of a team, shared as it likes, preparing the apparatus"
        " included"
    ),
    (True, False): marked(
        "%(minutes)s for each athlete of a team, shared as it likes, preparing the apparatus not"
        " included"
    ),
}
"""A warm-up time, by whether it is shared and whether it is to prepare in, too."""


@dataclass(frozen=True, slots=True)
class WarmUp:
    """The time on an apparatus before it counts, for each athlete.

    ``shared`` says that a team has the sum of its athletes' times and shares them out as it
    likes; otherwise each athlete has their own. ``with_preparing`` says that preparing the
    apparatus is part of it.
    """

    kind: str
    level: str
    seconds: int
    shared: bool
    with_preparing: bool
    source: str
    edition: str
    standing: Standing
    remark: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.seconds <= LONGEST_WARM_UP_S:
            raise NotAWarmUp(self.seconds)

    @property
    def in_words(self) -> str:
        """ "0:50 min for each athlete, preparing the apparatus included"."""
        form = WARM_UPS[self.shared, self.with_preparing]
        return Sentence(form, minutes=minutes(self.seconds))


@dataclass(frozen=True, slots=True)
class RuleBook:
    """A named set of rules, and of warm-up times."""

    name: str
    rules: tuple[Rule, ...]
    warm_ups: tuple[WarmUp, ...] = ()

    def warm_up(self, kind: Kind, level: str, *, team: bool) -> WarmUp | None:
        """The warm-up on that kind for a team, or for athletes of several; None where none is said.

        One for the level comes before one for all; one of the other sort is not taken instead.
        """
        fitting = [
            warm_up
            for warm_up in self.warm_ups
            if warm_up.kind == kind.key and warm_up.shared == team and warm_up.level in ("", level)
        ]
        return max(fitting, key=lambda warm_up: warm_up.level != "", default=None)

    def for_axis(self, kind: Kind, axis: AxisKind, level: str) -> tuple[Rule, ...]:
        """The rules on that axis for a level; a rule with no level holds for all."""
        return tuple(
            rule
            for rule in self.rules
            if (rule.kind, rule.axis) == (kind.key, axis.key) and rule.level in ("", level)
        )

    def levels(self, kind: Kind) -> tuple[str, ...]:
        """The levels that the book tells apart for that kind."""
        return tuple(
            sorted({rule.level for rule in self.rules if rule.kind == kind.key and rule.level})
        )

    def levels_at_meets(self, kind: Kind) -> tuple[str, ...]:
        """The same with those that its warm-up times tell apart."""
        warmed = {
            warm_up.level for warm_up in self.warm_ups if warm_up.kind == kind.key and warm_up.level
        }
        return tuple(sorted({*self.levels(kind), *warmed}))


@dataclass(frozen=True, slots=True)
class OutsideRule:
    """A length that a rule does not allow: a warning, with where the rule comes from."""

    axis: AxisKind
    length_mm: float
    rule: Rule

    def told(self, unit: Unit) -> str:
        """The warning for people who read in that unit."""
        return f"{self.without_source(unit)} ({self.cited})"

    def without_source(self, unit: Unit) -> str:
        """The same where its source is cited elsewhere."""
        length = compared_length(round(self.length_mm), unit)
        outside = "is not" if self.rule.least_mm == self.rule.most_mm else "is outside"
        return f"{self.axis.name} {length} {outside} {self.rule.told(unit)}"

    @property
    def cited(self) -> str:
        """The source of the limit, with its edition and standing."""
        source = ", ".join(part for part in (self.rule.source, self.rule.edition) if part)
        return f"{source}; {self.rule.standing.value}"

    def __str__(self) -> str:
        return self.told(Unit.CENTIMETRE)


def outside(
    books: Iterable[RuleBook], kind: Kind, level: str, measures_mm: Mapping[str, float]
) -> tuple[OutsideRule, ...]:
    """Every rule of the books that those canonical lengths are outside of."""
    return tuple(
        OutsideRule(axis, measures_mm[axis.key], rule)
        for book in books
        for axis in kind.axes
        for rule in book.for_axis(kind, axis, level)
        if not rule.allows(measures_mm[axis.key])
    )


class LimitsSwapped(SettingsDeskError):
    """A rule's least is more than its most."""

    def __init__(self, rule: Rule) -> None:
        self.rule = rule

    def __str__(self) -> str:
        limits_mm = (self.rule.least_mm or 0, self.rule.most_mm or 0)
        least, most = (length_in_words(mm, Unit.CENTIMETRE) for mm in limits_mm)
        return (
            f"The least of a rule ({least}) must not be more than its most ({most}): are the two"
            " swapped?"
        )


class NotAWarmUp(SettingsDeskError):
    """A warm-up of no time, or of more than an hour."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds

    def __str__(self) -> str:
        return (
            f"A warm-up lasts between 1 and {LONGEST_WARM_UP_S} seconds; {self.seconds} was given"
        )
