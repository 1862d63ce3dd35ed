"""The warm-up times that are shipped, against what the pages they come from say.

None of these pages is the rules themselves; each is named beside its value.
"""

import tomllib

import pytest

from settingsdesk.desk.hall.rule_books import book_from_data
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.times.warm_up import warm_up_sum
from settingsdesk.resources import folder

BOOKS = tomllib.loads((folder("seed") / "rulebooks.toml").read_text(encoding="utf-8"))["book"]
QUOTED = next(book_from_data(data) for data in BOOKS if data["name"] == "International, as quoted")


@pytest.mark.parametrize(
    ("kind", "level", "seconds", "with_preparing"),
    [
        # Slides on the women's Code of Points 2013 (slideplayer.com/amp/6017640): "50 s each
        # including preparing the bars; other women's apparatus 30 s".
        ("uneven_bars", "", 50, True),
        ("balance_beam", "", 30, False),
        ("vault_table", "", 30, False),
        # "2025 Code changes" (scribd.com/document/720605568), men until 2024: "parallel bars 50 s
        # including preparation; others 30 s".
        ("parallel_bars", "", 50, True),
        ("rings", "", 30, False),
        # The same on the draft for 2025: "PH, SR, PB, HB 50 s".
        ("horizontal_bar", "2025 draft", 50, False),
        ("pommel_horse", "2025 draft", 50, False),
        ("rings", "2025 draft", 50, False),
    ],
)
def test_shipped_times_are_those_of_the_pages_they_name(
    kind: str, level: str, seconds: int, with_preparing: bool
) -> None:
    for team in (False, True):
        found = QUOTED.warm_up(kind_of(kind), level, team=team)
        assert found is not None
        assert (found.seconds, found.with_preparing) == (seconds, with_preparing)


def test_a_team_has_the_sum_of_its_athletes_times() -> None:
    """Newsletter 29 of the women's committee (2009), as quoted at vdocuments.site: in team phases
    the warm-up time is the team's, the sum of the shares; in mixed groups it is each gymnast's.
    """
    bars = kind_of("uneven_bars")
    team, each = (QUOTED.warm_up(bars, "", team=team) for team in (True, False))
    assert team is not None
    assert each is not None
    assert warm_up_sum([0, 80, 0, 80, 0], team).too_short == ()
    assert [one.place for one in warm_up_sum([0, 80, 0, 80, 0], each).too_short] == [2, 4]
    assert warm_up_sum([0] * 5, team).has_s == 5 * 50
