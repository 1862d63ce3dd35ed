"""Published pairs of centimetres and inches.

Source (G05): usgyms.net/fig.htm (2000-2010), limits of the apparatus norms with their tolerance,
in centimetres and inches; the page rounds to a quarter of an inch or a tenth. The two decimals
here are computed from 2.54 cm to the inch.
"""

from fractions import Fraction

import pytest

from settingsdesk.domain.base.figures import format_length, read_length_mm
from settingsdesk.domain.base.units import Unit

WINDOWS = {
    165: 64.96,
    167: 65.75,
    245: 96.46,
    247: 97.24,
    129: 50.79,
    181: 71.26,
    199: 78.35,
    201: 79.13,
    279: 109.84,
    281: 110.63,
}


def eighths(inches: str) -> float:
    return float(sum(Fraction(part) for part in inches.split()))


class TestPublishedPairs:
    @pytest.mark.parametrize(("cm", "inches"), WINDOWS.items())
    def test_centimetres_are_shown_as_the_nearest_eighth_of_the_published_inches(self, cm, inches):
        """Never more than a sixteenth of an inch away."""
        shown = eighths(format_length(cm * 10, Unit.INCH))
        assert shown == pytest.approx(inches, abs=1 / 16 + 0.005)

    @pytest.mark.parametrize(("cm", "inches"), WINDOWS.items())
    def test_the_shown_inches_typed_again_are_within_two_millimetres_of_the_centimetres(
        self, cm, inches
    ):
        """A sixteenth of an inch is 1.6 mm; the norm's tolerance is 10 mm."""
        typed_mm = read_length_mm(format_length(cm * 10, Unit.INCH), "height", Unit.INCH)
        assert abs(typed_mm - cm * 10) <= 2
        assert typed_mm == pytest.approx(inches * 25.4, abs=2.2)
