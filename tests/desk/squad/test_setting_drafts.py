"""What is clear of a setting that is not whole is kept, and never typed a second time."""

from settingsdesk.desk.hall import models
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.squad import athletes, setting_drafts, settings
from settingsdesk.desk.squad.setting_drafts import Half
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub

MODEL = "Hall frame A"
HEAD = "Family name;Given name;Model;Low rail;High rail (cm);Spread (cm)\n"


def taken(club: DemoClub, row: str) -> tuple[int, int]:
    """The numbers of the athlete of a list of one row, and of the model."""
    with club.work(writes=True) as session:
        taker = Squad(session)
        seen = coach_lists.look(session, taker, (HEAD + row).encode(), "list.csv")
        coach_lists.take(session, taker, seen)
        [ana] = athletes.find(session, "neu")
        [model] = [one for one in models.all_models(session) if one.model.name == MODEL]
        return ana.id, model.id


def test_half_a_row_waits_for_the_rest_and_goes_once_it_is_whole(demo_club: DemoClub) -> None:
    """A newer list takes the place of the one before; a whole setting ends it."""
    at = taken(demo_club, f"Neu;Ana;{MODEL};hole 3;?;150")
    with demo_club.work() as session:
        [draft] = setting_drafts.of_athlete(session, at[0], [])
        assert draft.axes["low_rail"] == Half(None, "3", "hole 3 (mark 3)")
        assert draft.axes["spread"].length_mm == 1500
        assert draft.lacking(models.model(session, at[1]).model) == ["high rail height"]
        assert settings.current(session, at[0]) == []
    taken(demo_club, f"Neu;Ana;{MODEL};160 cm;;")
    with demo_club.work(writes=True) as session:
        [draft] = setting_drafts.of_athlete(session, at[0], [])
        assert {key: half.length_mm for key, half in draft.axes.items()} == {"low_rail": 1600}
        lengths = {"low_rail": 1600, "high_rail": 2400, "spread": 1500}
        whole = Setting(KINDS["uneven_bars"], {key: Wanted(mm) for key, mm in lengths.items()})
        kept = settings.keep_setting(session, *at, whole)
        assert setting_drafts.of_athlete(session, at[0], [kept]) == []


def test_whoever_was_entered_by_mistake_can_be_taken_away_with_it(demo_club: DemoClub) -> None:
    """A draft is nothing but what a list said."""
    ana, _ = taken(demo_club, f"Neu;Ana;{MODEL};160 cm;;")
    with demo_club.work(writes=True) as session:
        athletes.take_away(session, ana)
        assert athletes.find(session, "neu") == []
