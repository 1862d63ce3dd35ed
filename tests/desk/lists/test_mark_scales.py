"""On whose scale a list's marks are read: those of our own bars, and as printed for guests."""

from datetime import date

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import SCALE, Look
from settingsdesk.desk.lists.destinations import MeetEntries, Squad
from settingsdesk.desk.lists.mark_scales import AS_PRINTED, PRINTED
from settingsdesk.desk.meets import meets
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.domain.settings.transfer import transfer
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub

MODEL = "Hall frame A"
LIST = (
    f"Name;Vorname;Modell;Holm unten (Loch);Holm oben (Loch);Weite (cm)\nNeu;Ana;{MODEL};3;6;150\n"
)


def look(session: ClubSession, said: str = "", *, guests: bool = False) -> Look:
    taker = MeetEntries(session, meets.all_meets(session)[0].id) if guests else Squad(session)
    answers = Answers({SCALE + MODEL: said} if said else {})
    return coach_lists.look(session, taker, LIST.encode(), "list.csv", "Hill", answers=answers)


@pytest.fixture
def desk(demo_club: DemoClub) -> DemoClub:
    with demo_club.work(writes=True) as session:
        days = date(2031, 5, 16), date(2031, 5, 17), date(2031, 5, 20)
        meets.add_meet(session, MeetFacts("Spring meet", "Hall", *days))
    return demo_club


def test_marks_mean_the_bars_that_stand_here(desk: DemoClub) -> None:
    """Read in the leaflet instead, hole 6 would be another height than the coach sees there."""
    with desk.work() as session:
        [piece] = [one for one in apparatus.all_pieces(session) if one.printed.model.name == MODEL]
        [listed] = look(session).people[0].settings

        assert listed.setting is not None
        low, high = (piece.model.axis(key) for key in ("low_rail", "high_rail"))
        stood = transfer(listed.setting, piece.model).best.setup
        assert [low.scale.label(stood[0]), high.scale.label(stood[1])] == ["3", "6"]
        assert (
            look(session)
            .mark_scales[MODEL]
            .in_words.startswith(f"{piece.name}: taped here in part")
        )
        assert f"(mark 6, {piece.name}: taped here in part" in listed.as_read["high_rail"]
        [printed] = look(session, PRINTED).people[0].settings
        assert printed.setting != listed.setting


def test_a_guests_marks_are_as_printed_until_somebody_says_otherwise(desk: DemoClub) -> None:
    """They were read in another hall."""
    with desk.work() as session:
        scale = look(session, guests=True).mark_scales[MODEL]
        assert (scale.in_words, scale.chosen) == (AS_PRINTED, PRINTED)
        [piece] = scale.pieces
        said = look(session, str(piece.id), guests=True).mark_scales[MODEL]
        assert said.in_words.startswith(piece.name)


def test_where_bars_of_one_model_differ_it_is_asked_which_are_meant(desk: DemoClub) -> None:
    """Nothing is saved by a scale that nobody chose."""
    with desk.work(writes=True) as session:
        known = look(session).mark_scales[MODEL].pieces[0]
        apparatus.add_piece(session, "Second frame", "Hall", known.model_id, 200)
        [listed] = look(session).people[0].settings
        assert listed.setting is None
        assert f"{known.name} and Second frame do not have the same scale" in listed.why_not
        assert look(session, str(known.id)).people[0].settings[0].setting is not None
