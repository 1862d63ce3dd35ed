"""Entering the squad for a meet, however large the squad is."""

from settingsdesk.desk.meets import entries
from settingsdesk.desk.meets.entries import Guest
from settingsdesk.desk.squad.athletes import Person
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.desk.sample_squad import join
from tests.web.pages import Reader
from tests.web.rotations.making import offered, ticked


def entered(club: DemoClub, meet_id: int) -> set[int]:
    with club.work() as session:
        return {one.member.id for one in entries.entrants(session, meet_id)}


class TestEnteringOutOfALargeSquad:
    def test_whoever_is_ticked_in_several_searches_is_entered(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Girls of three groups go to one meet."""
        crowd = join(demo_club, 70)
        before = entered(demo_club, held.meet_id)
        form = demo_pages.get(f"/meets/{held.meet_id}/entries/squad")
        assert len(offered(form)) == 60

        group = form.send("Tick all who are found", group="Crowd 2", division="Juniors")
        more = group.send("Find", group="", q="zorn 069")
        assert ticked(more) == [str(one) for one in crowd[20:30]]
        assert more.value("division") == "Juniors"
        assert entered(demo_club, held.meet_id) == before
        page = more.send("Enter them", who=offered(more))

        assert page.banners == ["11 athletes are entered."]
        assert entered(demo_club, held.meet_id) - before == {*crowd[20:30], crowd[69]}

    def test_who_is_entered_is_not_found_any_more(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        crowd = join(demo_club, 70)
        form = demo_pages.get(f"/meets/{held.meet_id}/entries/squad").send("Find", q="zorn 069")
        form.send("Enter them", who=[str(crowd[69])])

        page = demo_pages.get(f"/meets/{held.meet_id}/entries/squad").send("Find", q="zorn 069")

        assert offered(page) == []
        assert "Everybody who is found is entered already." in page.text

    def test_a_second_press_enters_nobody_twice(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        crowd = join(demo_club, 70)
        form = demo_pages.get(f"/meets/{held.meet_id}/entries/squad").send("Find", q="zorn 069")
        form.send("Enter them", who=[str(crowd[69])])

        page = form.send("Enter them", who=[str(crowd[69])])

        assert page.banners == ["Whoever was chosen is entered already: nothing was changed."]


class TestManyOfOneName:
    def test_a_page_of_them_is_shown_and_how_all_are_told_apart(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Thousands of entries bring hundreds of such names: numbers settle them all at once."""
        twins = [
            Guest(
                Person(f"{family}{number}", f"Ann{chr(97 + number % 26)}{number // 26}"), "Wexlow"
            )
            for number in range(62)
            for family in ("Zander", "Zeman")
        ]
        with demo_club.work(writes=True) as session:
            entries.enter_guests(session, held.meet_id, twins)

        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")

        assert len(page.having("data-head", "Entries")) == 60
        assert "And 2 more names." in page.text
        assert page.follow("Give out start numbers").status == 200
