"""A club's choice of language concerns what is printed next, and nothing that was before."""

from settingsdesk.desk.cards import in_hand, issued, paper_language
from settingsdesk.desk.meet_day import crew_sheets, printed_papers
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, hold


class TestAnotherLanguage:
    def test_leaves_every_card_as_it_is(self, demo_club: DemoClub) -> None:
        """The same card, version and code: nobody is told to take the old one back."""
        with demo_club.work(writes=True) as session:
            [before] = issued.issue(session, CODE_KEY, 1, [1])
            paper_language.keep(session, "pl")
        with demo_club.work(writes=True) as session:
            assert in_hand.outdated_of(session, 1) == {}
            [after] = issued.issue(session, CODE_KEY, 1, [1])
        assert (after.version, after.url) == (before.version, before.url)

    def test_leaves_every_crew_sheet_as_it_is(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            printed_papers.note_printed(session, [sheet])
            paper_language.keep(session, "ar")
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            assert printed_papers.still_holds(session, sheet)
            assert printed_papers.outdated(session, held.meet_id).sheets == ()

    def test_is_english_until_one_is_chosen(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            assert paper_language.kept(session) == "en"
