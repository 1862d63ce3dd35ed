"""The inks of the pages against WCAG 2.2.

Source of the formula: W3C, "Relative luminance",
w3c.github.io/wcag/guidelines/relative-luminance.html
(threshold 0.04045; L = 0.2126 R + 0.7152 G + 0.0722 B) and "Understanding Success Criterion 1.4.3",
w3.org/WAI/WCAG22/Understanding/contrast-minimum.html (text 4.5:1; enhanced, 1.4.6, 7:1; 1.4.11 has
3:1 for what is not text). 21:1 for black on white is the published maximum; the other greys were
computed with that formula, independently of the code here.
"""

import re
from pathlib import Path

import pytest

import settingsdesk.web

TOKENS = Path(settingsdesk.web.__file__).parent / "static" / "tokens.css"

WORDS = [
    ("ink", "paper"),
    ("ink", "tint"),
    ("ink", "desk"),
    ("quiet", "paper"),
    ("quiet", "tint"),
    ("accent", "paper"),
    ("accent", "tint"),
    ("fault", "paper"),
    ("fault", "tint"),
    ("on-accent", "accent"),
    ("on-fault", "fault"),
]
LINES = [("rule", "paper"), ("accent", "paper"), ("fault", "paper"), ("ring", "ring-inner")]
HALLS = ["light", "dark", "light, more contrast", "dark, more contrast"]


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours written #rrggbb."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    """The relative luminance of a colour written #rrggbb."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def inks_by_hall() -> dict[str, dict[str, str]]:
    """What tokens.css gives for each kind of hall, in the order in which it stands there."""
    blocks = re.findall(r":root \{(.*?)\}", TOKENS.read_text(encoding="utf-8"), re.DOTALL)
    inks = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in blocks]
    return dict(zip(HALLS, inks[: len(HALLS)], strict=True))


class TestTheFormula:
    @pytest.mark.parametrize(
        ("grey", "computed"),
        [
            ("#000000", 21.00),
            ("#767676", 4.542),
            ("#777777", 4.478),
            ("#949494", 3.033),
            ("#959595", 2.995),
            ("#595959", 7.005),
            ("#5a5a5a", 6.897),
        ],
    )
    def test_greys_on_white_have_the_contrast_computed_elsewhere(
        self, grey: str, computed: float
    ) -> None:
        """#767676 is the lightest grey that passes 4.5:1 on white, #595959 the lightest for 7:1."""
        assert contrast(grey, "#ffffff") == pytest.approx(computed, abs=0.001)


@pytest.mark.parametrize("hall", HALLS)
class TestTheInksOfThePages:
    def test_every_hall_has_every_ink(self, hall: str) -> None:
        """A colour that the dark palette forgets would be the light one on black."""
        assert inks_by_hall()[hall].keys() == inks_by_hall()["light"].keys()

    @pytest.mark.parametrize(("ink", "ground"), WORDS)
    def test_words_reach_the_enhanced_contrast(self, hall: str, ink: str, ground: str) -> None:
        """Halls glare: 7:1 (WCAG 1.4.6) is the least for everything that is read."""
        inks = inks_by_hall()[hall]
        assert contrast(inks[ink], inks[ground]) >= 7

    @pytest.mark.parametrize(("ink", "ground"), LINES)
    def test_lines_that_mean_something_are_seen(self, hall: str, ink: str, ground: str) -> None:
        """The edge of a box to type in and the focus ring need 3:1 (WCAG 1.4.11)."""
        inks = inks_by_hall()[hall]
        assert contrast(inks[ink], inks[ground]) >= 3
