"""The mats under an apparatus: those on record, and on some days more or fewer of them.

The rail stays where it is, and so does every setting: only what is taken from the mat's top reads
otherwise on such a day, and whoever reads it is told why.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence, marked, retold
from settingsdesk.domain.base.units import Unit

THICKEST_MM = 1_000
"""All layers together; nobody lands on more than a metre of mats."""

MORE_TODAY = marked("with %(length)s more mat than usual today")
LESS_TODAY = marked("with %(length)s less mat than usual today")
MORE_ON = marked("with %(length)s more mat than usual on %(day)s")
LESS_ON = marked("with %(length)s less mat than usual on %(day)s")
FIRST_TOLD = {
    "with %(length)s more mat on %(day)s": MORE_ON,
    "with %(length)s less mat on %(day)s": LESS_ON,
}
"""What papers of before say of them, with what is said now."""
ONE_HEIGHT = marked("Above the mat, %(mats)s: %(first)s")
TWO_HEIGHTS = marked("Above the mat, %(mats)s: %(first)s / %(second)s")

FORMS = (TWO_HEIGHTS, ONE_HEIGHT, MORE_ON, LESS_ON, *FIRST_TOLD)
"""What papers say of them, which are always of a day that they name; the longer first."""


@dataclass(frozen=True, slots=True)
class Mats:
    """What lies under an apparatus on a day.

    ``on_record_mm`` is what usually does, ``more_by_day`` how much more than that on some days,
    below 0 how much less.
    """

    on_record_mm: int
    day: date
    more_by_day: Mapping[date, int] = field(default_factory=dict)

    @property
    def more_mm(self) -> int:
        """How much more lies there on the day; 0 where it is what usually does."""
        return self.more_by_day.get(self.day, 0)

    @property
    def lie_mm(self) -> int:
        """How thick the mats are on the day, all layers together."""
        return self.on_record_mm + self.more_mm

    def on(self, day: date) -> "Mats":
        """What lies there on another day."""
        return replace(self, day=day)

    def in_words(self, unit: Unit, today: date | None = None) -> str:
        """What is otherwise on the day: "with 10.0 cm more mat than usual today"; often empty.

        ``today`` is the day on which a page is looked at; paper names the day.
        """
        if not self.more_mm:
            return ""
        length = length_in_words(abs(self.more_mm), unit)
        if self.day == today:
            return Sentence(MORE_TODAY if self.more_mm > 0 else LESS_TODAY, length=length)
        form = MORE_ON if self.more_mm > 0 else LESS_ON
        return Sentence(form, length=length, day=day_in_words(self.day))

    def of_all_in_words(self, unit: Unit, today: date | None = None) -> str:
        """What follows for heights above the floor, of whomever they are; empty as above."""
        if not self.more_mm:
            return ""
        return Sentence(
            "The mats are %(all)s thick, %(mats)s: above the mat every height is %(all)s less than"
            " above the floor",
            mats=self.in_words(unit, today),
            all=length_in_words(self.lie_mm, unit),
        )

    def heights_in_words(
        self,
        kind: Kind,
        measures_mm: Mapping[str, float],
        unit: Unit,
        today: date | None = None,
    ) -> str:
        """Heights above the floor as they are above the mat that day; empty as above.

        They stand in the order of the kind's axes.
        """
        heights_mm = [
            measures_mm[axis.key]
            for axis in kind.axes
            if axis.quantity is Quantity.HEIGHT and axis.key in measures_mm
        ]
        if not self.more_mm or not heights_mm:
            return ""
        told = _told([length_in_words(height - self.lie_mm, unit) for height in heights_mm])
        form = ONE_HEIGHT if len(told) == 1 else TWO_HEIGHTS
        return Sentence(form, mats=self.in_words(unit, today), **told)


def as_told_now(told: str) -> str:
    """What a paper of before says of them, in the words of now."""
    return retold(told, FIRST_TOLD)


def _told(lengths: Sequence[str]) -> dict[str, str]:
    return dict(zip(("first", "second"), lengths, strict=False))
