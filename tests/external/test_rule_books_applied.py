"""Limits of the shipped rule books as they are applied, against the figures that pages print.

The sources stand beside each figure; none is the norm itself (see ``seed/rulebooks.toml``). A
length at a printed limit is inside, one a millimetre past it is told with its source.
"""

import tomllib

import pytest

from settingsdesk.desk.hall.rule_books import book_from_data
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.rule_books import outside
from settingsdesk.resources import folder

BOOKS = {
    book.name: book
    for data in tomllib.loads((folder("seed") / "rulebooks.toml").read_text(encoding="utf-8"))[
        "book"
    ]
    for book in [book_from_data(data)]
}
QUOTED = BOOKS["International, as quoted"]

PRINTED_CM = [
    # Team GB, artistic gymnastics, archived 2014: 250 +- 1 and 170 +- 1 cm
    ("uneven_bars", "high_rail", "senior", 249, 251),
    ("uneven_bars", "low_rail", "senior", 169, 171),
    # Wikipedia, Uneven bars, 2020, citing the Apparatus Norms: 130 to 190 cm, diagonal
    ("uneven_bars", "spread", "senior", 130, 190),
    # Wikipedia, Parallel bars, citing Apparatus Norms II/27-28: 200 +- 1 cm; 42 to 52 cm
    ("parallel_bars", "rails", "senior", 199, 201),
    ("parallel_bars", "spread", "senior", 42, 52),
    # usgyms.net/fig.htm: 280 +- 1 cm, horizontal bar and rings; 115 +- 1 pommel horse
    ("horizontal_bar", "rail", "senior", 279, 281),
    ("rings", "rings", "senior", 279, 281),
    ("pommel_horse", "body", "senior", 114, 116),
    # Mirrors of Wikipedia, Pommel horse: pommels 40 to 45 cm apart
    ("pommel_horse", "pommels", "senior", 40, 45),
    # usgyms.net/fig.htm: 125 +- 1 cm
    ("balance_beam", "beam", "senior", 124, 126),
]


def told(kind_key: str, axis_key: str, level: str, mm: float) -> list[str]:
    """The warnings about one axis; all others stand in the middle of nowhere, and are not asked."""
    kind = KINDS[kind_key]
    measures_mm = {axis.key: mm for axis in kind.axes}
    found = outside([QUOTED], kind, level, measures_mm)
    return [str(one) for one in found if one.axis.key == axis_key]


class TestPrintedLimits:
    @pytest.mark.parametrize(("kind", "axis", "level", "least_cm", "most_cm"), PRINTED_CM)
    def test_what_stands_at_a_limit_is_inside_and_a_millimetre_past_it_is_told(
        self, kind, axis, level, least_cm, most_cm
    ):
        for cm in (least_cm, most_cm):
            assert told(kind, axis, level, 10 * cm) == []
        for mm in (10 * least_cm - 1, 10 * most_cm + 1):
            [warning] = told(kind, axis, level, mm)
            assert f"{mm / 10:.1f} cm is outside {least_cm}.0 to {most_cm}.0 cm" in warning

    def test_rails_raised_on_request_are_inside_for_that_level_alone(self):
        """The federation's page on women's apparatus: the upper bar up to 10 cm more."""
        raised = "senior, raised on request by up to 10 cm"
        assert told("uneven_bars", "high_rail", raised, 2600) == []
        assert told("uneven_bars", "high_rail", "senior", 2600) != []
        assert told("uneven_bars", "high_rail", raised, 2611) != []

    def test_above_the_mats_is_the_same_height_from_the_floor(self):
        """Pages that print 150 and 230 cm mean above 20 cm of mats: 170 and 250 from the floor."""
        older = BOOKS["Rules of 2000 to 2010, as quoted"]
        kind = KINDS["uneven_bars"]
        level = "2000 to 2010, above the mats"
        inside = {"low_rail": 1500 + 200, "high_rail": 2300 + 200, "spread": 1600}
        assert outside([older], kind, level, inside) == ()
        assert len(outside([older], kind, level, {**inside, "low_rail": 1500})) == 1
