"""A new athlete begins with a squad-mate's setting, and everybody sees that it is not tried."""

import pytest

from settingsdesk.desk.cards import in_hand, issued
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets, printed_papers
from settingsdesk.desk.meets import entries
from settingsdesk.desk.rotations import order_paper, rotation
from settingsdesk.desk.runs import run
from settingsdesk.desk.squad import athletes, settings, still_right
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.settings import NOT_TRIED
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.base import utc_now
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, SmallMeet, set_anew, up
from tests.web.pages import Page, Reader
from tests.web.squad.test_athletes import listed, number, tags

HALL, WINDOW = 1, "Bars by the window"


@pytest.fixture
def ana(demo_club: DemoClub) -> int:
    """Somebody new in Girls 2, in which Ebba and Adaeze have a setting for the hall's bars."""
    with demo_club.work(writes=True) as session:
        return athletes.add(session, Person("Neu", "Ana", group_name="Girls 2")).id


@pytest.fixture
def begun(demo_pages: Reader, ana: int) -> Page:
    """Her page, after she has begun with Ebba's."""
    page = demo_pages.get(f"/athletes/{ana}/settings/{HALL}")
    return page.follow("Begin with a squad-mate’s setting").send(
        "Begin with this setting of Lindbäck, Ebba"
    )


def as_ebbas(club: DemoClub, ana: int) -> bool:
    with club.work() as session:
        theirs, hers = (settings.latest(session, one, HALL) for one in (number(club, "ebba"), ana))
    assert theirs is not None
    assert hers is not None
    return theirs.setting == hers.setting and hers.untried


class TestBeginning:
    def test_shows_the_own_group_first_and_takes_it_as_it_is(
        self, demo_pages: Reader, demo_club: DemoClub, ana: int
    ) -> None:
        page = demo_pages.get(f"/athletes/{ana}/settings/{HALL}/squad-mates")
        assert listed(page) == ["Lindbäck, Ebba Girls 2", "Okwuosa, Adaeze Girls 2"]
        assert len(listed(page.send("Find", group=""))) == 14

        page = page.send("Begin with this setting of Lindbäck, Ebba")
        assert page.heading == "Neu, Ana"
        assert as_ebbas(demo_club, ana)
        assert "Begun with another athlete's setting" in page.text

    def test_a_second_press_or_a_page_from_before_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, ana: int
    ) -> None:
        page = demo_pages.get(f"/athletes/{ana}/settings/{HALL}/squad-mates")
        page.send("Begin with this setting of Lindbäck, Ebba")

        late = page.send("Begin with this setting of Okwuosa, Adaeze")
        assert late.status == 409
        assert "has been entered in the meantime" in late.text
        assert as_ebbas(demo_club, ana)
        leads_on = demo_pages.get(f"/athletes/{ana}/settings/{HALL}/squad-mates")
        assert leads_on.heading == "Setting of Ana N. for Hall frame A"

    @pytest.mark.parametrize("mate", ["", "x", "999999", "ana", "gone"])
    def test_with_nobody_who_has_one_is_refused(
        self, demo_pages: Reader, demo_club: DemoClub, ana: int, mate: str
    ) -> None:
        if mate == "gone":
            with demo_club.work(writes=True) as session:
                ebba = number(demo_club, "ebba")
                athletes.leave(session, ebba, utc_now().date())
            mate = str(ebba)
        page = demo_pages.get(f"/athletes/{ana}/settings/{HALL}/squad-mates")
        sent = {"csrf_token": page.token, "mate": str(ana) if mate == "ana" else mate}
        refused = demo_pages.post(f"/athletes/{ana}/settings/{HALL}/squad-mates", sent)
        assert refused.status == 409
        assert "has a setting for Hall frame A now" in refused.text


class TestNotTried:
    def test_is_said_on_her_page_in_the_list_and_beside_the_squads(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        assert tags(begun).count("! Not tried") == 1 + 3  # wanted, and on three apparatus
        assert "! Not tried It began with another athlete's setting. Look at it" in begun.text
        assert "! Not tried" in tags(demo_pages.get("/athletes/?q=ana+neu"))
        assert "! Not tried" in tags(demo_pages.get("/athletes/squad?model=1&group=Girls+2"))

    def test_is_no_more_once_a_coach_has_confirmed_it(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        page = begun.send("It is right for Hall frame A")
        assert "Not tried" not in page.text
        assert "Not tried" not in demo_pages.get("/athletes/?q=ana+neu").text

    def test_is_said_of_a_rotation_and_on_its_paper(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub, ana: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            rotation.change_list(session, rotation.to_arrange(session, 1), [1, 2, ana])
            view = rotation.order_anew(session, 1)
            [paper] = order_paper.order_papers(view, Unit.CENTIMETRE, utc_now())
        told = "! Not tried Ana N.: begun with another athlete’s setting, and not tried yet."
        assert told in demo_pages.get("/rotations/1").text
        assert [row.name for row in paper.rows if NOT_TRIED in row.notes] == ["Ana N."]

    def test_is_said_at_the_bars_where_a_coach_confirms_it_once_she_is_on(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub, ana: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            rotation.change_list(session, rotation.to_arrange(session, 1), [ana])
            rotation.order_anew(session, 1)
            run_id = run.begin(session, 1, _window(demo_club))
        told = "! Not tried Ana N. has not tried these marks yet"
        assert told in demo_pages.get(f"/bars/{run_id}").text
        up(demo_club, run_id)

        page = demo_pages.get(f"/bars/{run_id}").send("It is right for Ana N.")
        assert page.heading == "Ana N. is on"
        assert "Not tried" not in page.text
        with demo_club.work() as session:
            assert still_right.confirmations_of(session, ana)


def _window(club: DemoClub) -> int:
    with club.work() as session:
        return next(one.id for one in apparatus.all_pieces(session) if one.name == WINDOW)


class TestACard:
    def test_says_so_and_stays_the_same_card_once_it_is_tried(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub, ana: int
    ) -> None:
        """The one in her bag counts, and the next print says nothing of it."""
        window = _window(demo_club)
        with demo_club.work(writes=True) as session:
            [card] = issued.issue(session, CODE_KEY, window, [ana])
            [of_jagna] = issued.issue(session, CODE_KEY, window, [1])
        assert (card.not_tried, of_jagna.not_tried) == (NOT_TRIED, "")

        begun.send("It is right for Hall frame A")
        with demo_club.work(writes=True) as session:
            assert in_hand.outdated_of(session, ana) == {}
            [again] = issued.issue(session, CODE_KEY, window, [ana])
            assert issued.printed(session, CODE_KEY, window, [ana]) == [again]
        assert (again.url, again.version, again.not_tried) == (card.url, card.version, "")


class TestAtAMeet:
    @pytest.fixture
    def order(self, begun: Page, demo_club: DemoClub, held: SmallMeet, ana: int) -> int:
        """A start order with her behind a guest; its crew sheet is printed."""
        with demo_club.work(writes=True) as session:
            entries.enter_own(session, held.meet_id, ana, "21")
            guest = held.guests[0].member.id
            set_anew(session, held.rotation_id, [guest, ana])
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            printed_papers.note_printed(session, [sheet])
        return held.rotation_id

    def test_the_crew_reads_it_and_the_sheet_holds_once_it_is_confirmed(
        self, order: int, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work() as session:
            paper = crew_sheet_words.paper(crew_sheets.crew_sheet(session, order))
        assert [NOT_TRIED in row.notes for row in paper.rows] == [False, True]

        begun.send("It is right for Hall frame A")
        with demo_club.work() as session:
            after = crew_sheet_words.paper(crew_sheets.crew_sheet(session, order))
            assert printed_papers.outdated(session, held.meet_id).sheets == ()
        assert [NOT_TRIED in row.notes for row in after.rows] == [False, False]

    def test_it_is_an_open_question_before_the_day(
        self, order: int, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert f"{NOT_TRIED}: it began with another athlete's setting" in page.text
        assert NOT_TRIED in demo_pages.get(f"/start-orders/{order}").text
