"""The room of the athletes: finding somebody, one person's page, and the squad side by side."""

from datetime import timedelta

import pytest

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.clubs import club_by_id
from settingsdesk.web.frame.shown import unbroken
from tests.conftest import DemoClub
from tests.desk.sample_squad import join
from tests.web.pages import Page, Reader, words


def number(club: DemoClub, text: str) -> int:
    with club.work() as session:
        return athletes.find(session, text)[0].id


def open_athlete(reader: Reader, club: DemoClub, text: str) -> Page:
    return reader.get(f"/athletes/{number(club, text)}")


def listed(page: Page) -> list[str]:
    return [words(row) for row in page.tree.iter("th") if row.get("scope") == "row"]


def pictures(page: Page) -> list[str]:
    """What those hear who cannot see the drawings."""
    return [words(found) for found in page.tree.iter() if str(found.tag).endswith("}title")]


def tags(page: Page) -> list[str]:
    return [words(tag) for tag in page.having("class", "tag")]


class TestTheList:
    def test_everybody_is_on_it_by_family_name_with_what_they_have(
        self, demo_pages: Reader
    ) -> None:
        page = demo_pages.get("/athletes/")

        assert page.heading == "Athletes"
        assert len(listed(page)) == 24
        assert listed(page)[0] == "Bąkiewicz, Jagna"
        assert "24 athletes in the club" in page.text
        assert "Leaning frame C: 16 / 16" in page.text

    def test_searching_takes_any_word_and_no_accents(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/").send("Find", q="BAKIEWICZ jagna")

        assert listed(page) == ["Bąkiewicz, Jagna"]
        assert "1 athlete found" in page.text

    def test_a_group_narrows_it(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/").send("Find", group="Boys 2")

        assert listed(page) == ["Bērziņkalns, Kārlis", "Kazehaya, Riku"]

    def test_finding_nobody_says_so_and_leads_back(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/").send("Find", q="nobody")

        assert "Nobody in the club has all of these words" in page.text
        assert len(listed(page.follow("Show everybody"))) == 24

    @pytest.mark.parametrize("question", ["page=99", "page=no", "page=-1", "group=x%00", "q=%25"])
    def test_a_strange_question_gets_a_page(self, question: str, demo_pages: Reader) -> None:
        assert demo_pages.get(f"/athletes/?{question}").status == 200

    def test_a_long_list_has_pages(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            for place in range(50):
                athletes.add(session, Person(f"Zz {place:02}", "Many"))
        page = demo_pages.get("/athletes/?q=many")
        assert len(listed(page)) == 50

        first = demo_pages.get("/athletes/")
        assert len(listed(first)) == 60
        assert len(listed(first.follow("Next page"))) == 14

    def test_an_empty_club_is_told_what_to_do(self, pages: Reader) -> None:
        page = pages.get("/athletes/")

        assert "No athlete is on the list yet" in page.text
        assert "Add an athlete" in page.links


class TestAddingAndChanging:
    def test_an_athlete_is_added_and_a_setting_comes_next(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/new").send(
            "Add the athlete", given_name=" Ana ", family_name="Neu", group_name="Girls 3"
        )

        assert page.banners == ["Ana N. is added. Enter a setting next."]
        assert page.heading == "Neu, Ana"
        assert "No setting is recorded yet" in page.text

    def test_nobody_is_added_without_a_name(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/new").send("Add the athlete", group_name="Girls 3")

        assert page.status == 400
        assert page.mistakes == ["Enter the athlete's given name or family name"]
        assert "Girls 3" in page.response.text

    def test_the_name_printed_by_itself_is_shown_where_another_can_be_chosen(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = demo_pages.get(f"/athletes/{number(demo_club, 'jagna')}/edit")
        assert "Empty: Jagna B." in page.text

        shown = page.send("Save the changes", printed_name="Jagna from the hill")

        assert shown.banners == ["Jagna from the hill is changed."]
        assert "Empty: Jagna B." in shown.reader.get(page.address).text

    @pytest.mark.parametrize(
        ("field", "typed", "sentence"),
        [
            ("family_name", "x" * 81, "Family name must have 80 letters or fewer; it has 81"),
            ("start_number", "1" * 13, "Start number must have 12 letters or fewer; it has 13"),
            (
                "given_name",
                "An\x01a",
                "Given name holds a character that cannot be seen; retype it",
            ),
        ],
    )
    def test_what_no_card_could_print_is_refused(
        self, field: str, typed: str, sentence: str, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        address = f"/athletes/{number(demo_club, 'jagna')}/edit"
        form = demo_pages.get(address)
        token = next(
            box.get("value", "")
            for box in form.tree.iter("input")
            if box.get("name") == "csrf_token"
        )
        values = {"csrf_token": token, "given_name": "Jagna", field: typed}

        response = demo_pages.client.post(address, data=values)

        assert response.status_code == 400
        assert sentence in response.text

    def test_letters_that_cards_lack_are_settled_where_the_name_is_entered(
        self, demo_pages: Reader
    ) -> None:
        """Not at the printer, on the evening before a meet."""
        page = demo_pages.get("/athletes/new").send(
            "Add the athlete", given_name="美", family_name="林"
        )
        assert page.status == 400
        [mistake] = page.mistakes
        assert "cannot be printed on a card" in mistake

        page = page.send("Add the athlete", printed_name="Mei L.")
        assert page.banners == ["Mei L. is added. Enter a setting next."]
        assert page.heading == "林, 美"

    def test_markup_in_a_name_stays_a_name(self, demo_pages: Reader) -> None:
        """Every page checks itself for elements that should not be there."""
        name = '<script>alert("1")</script> & "Co" <b>'
        page = demo_pages.get("/athletes/new").send("Add the athlete", given_name=name)

        assert page.heading == name
        assert name in listed(demo_pages.get("/athletes/?q=alert"))
        for way in (
            "Change name, group or number",
            "Enter a setting",
            "History of the settings",
            "Cards",
        ):
            if way in page.links:
                assert name[:8] in page.follow(way).heading


class TestLeavingAndComingBack:
    def test_both_ask_first(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        asked = open_athlete(demo_pages, demo_club, "jagna").follow("Jagna B. has left")
        assert asked.heading == "Has Jagna B. left?"

        gone = asked.send("Yes, take Jagna B. off the lists", left_on="2026-03-01")
        assert "Has left on 1 March 2026" in gone.text
        assert "Bąkiewicz, Jagna" not in listed(demo_pages.get("/athletes/"))
        assert listed(demo_pages.get("/athletes/left")) == ["Bąkiewicz, Jagna"]

        back = gone.follow("Is back").send("Yes, put Jagna B. back on the lists")
        assert back.banners == ["Jagna B. is back on the lists."]
        assert "Bąkiewicz, Jagna" in listed(demo_pages.get("/athletes/"))

    @pytest.mark.parametrize("day", ["", "yesterday", "2026-02-30"])
    def test_a_day_that_is_none_is_asked_for_again(
        self, day: str, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        asked = open_athlete(demo_pages, demo_club, "jagna").follow("Jagna B. has left")

        page = asked.send("Yes, take Jagna B. off the lists", left_on=day)

        assert page.status == 400
        assert "eft on" in page.mistakes[0]

    def test_nobody_has_left_on_a_day_to_come(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Their cards and their places would be gone at once."""
        asked = open_athlete(demo_pages, demo_club, "jagna").follow("Jagna B. has left")
        day = (today() + timedelta(days=1)).isoformat()
        page = asked.send("Yes, take Jagna B. off the lists", left_on=day)

        assert page.status == 400
        assert "is to come" in page.mistakes[0]
        assert "Nobody has left." in demo_pages.get("/athletes/left").text

    def test_the_list_of_those_who_left_may_be_empty(self, demo_pages: Reader) -> None:
        assert "Nobody has left." in demo_pages.get("/athletes/left").text
        assert "Nobody who has left" in demo_pages.get("/athletes/left?q=x").text


class TestOneAthlete:
    def test_a_setting_stands_in_marks_and_centimetres_of_every_apparatus(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, "jagna")

        assert "Bars by the window ✓ Fits Hall frame A; taped here in part" in page.text
        assert "170.4 cm, 0.4 cm too high" in page.text
        assert "Low rail height and high rail height: upper edge of the rail, above" in page.text
        assert len(pictures(page)) == 3
        assert "low rail height 170.4 cm at mark 5" in pictures(page)[1]

    def test_what_is_carried_over_from_another_model_says_so(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """The coach must not take a converted setting for one that was tried."""
        page = open_athlete(demo_pages, demo_club, "defne")

        assert (
            "Worked out from Hall frame A, not measured here. Defne Ç. has no setting for"
            " Travel frame B."
        ) in page.text

    def test_what_is_outside_the_accepted_deviation_is_marked(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, "defne")

        assert "! Check" in tags(page)
        assert "Outside what is accepted: 165.0 cm is wanted, ± 1.0 cm accepted" in page.text

    def test_rule_books_warn_with_their_source_and_change_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, "tuva")
        assert "! Rule book" not in tags(page)

        compared = page.send("Compare", level="senior")

        assert "! Rule book" in tags(compared)
        assert "High rail height 255.0 cm is outside 249.0 to 251.0 cm (Team GB" in compared.text
        assert "255.0 cm ± 1.0 cm" in compared.text

    def test_the_usual_caution_stands_beside_the_settings(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, "jagna")

        assert "have a trained person check locks and tension" in page.text
        assert "The maker's instructions" in words(next(page.tree.iter("footer")))

    def test_a_club_that_reads_inches_sees_inches(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            club_by_id(session, demo_club.account.club_id).length_unit = "in"

        page = open_athlete(demo_pages, demo_club, "jagna")

        assert "66 7/8 in ± 3/8 in (upper edge of the rail, above the floor)" in page.text
        assert "67 1/8 in, 0.16 in (0.4 cm) too high" in page.text

    def test_its_cards_are_one_press_away(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        page = open_athlete(demo_pages, demo_club, "jagna").follow("Cards")

        assert "Jagna" in page.heading

    @pytest.mark.parametrize("way", ["", "/edit", "/leave", "/history", "/settings", "/settings/1"])
    def test_an_athlete_of_no_club_or_another_is_not_found(
        self, way: str, demo_pages: Reader
    ) -> None:
        page = demo_pages.get(f"/athletes/9999{way}")

        assert page.status == 404
        assert "no athlete with the number 9999" in page.text

    def test_a_stranger_is_sent_to_sign_in(self, stranger: Reader) -> None:
        assert stranger.get("/athletes/1").heading == "Sign in"


class TestHistory:
    def test_every_version_says_who_when_why_what_was_typed_and_what_changed(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        athlete = number(demo_club, "jagna")
        model = demo_pages.get(f"/athletes/{athlete}").links["Change the setting for Hall frame A"]
        form = demo_pages.get(model)
        shown = form.send("Check, then save", spread_length="172,5", reason="Grown <2 cm>")
        shown.send("Save this setting")

        page = demo_pages.get(f"/athletes/{athlete}/history")

        assert "Version 2" in page.text
        assert "Runa Calloway: Grown <2 cm>" in page.text
        assert "Rail spread: 170.0 cm ± 1.5 cm becomes 172.5 cm ± 1.5 cm" in page.text
        assert "Rail spread, as typed: 172,5 (cm, shortest distance" in page.text
        assert page.text.index("Version 2") < page.text.index("Version 1")

    def test_without_any_it_says_so(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana"))

        assert "No setting was ever recorded." in demo_pages.get(f"/athletes/{ana.id}/history").text


class TestTheSquadSideBySide:
    def test_dots_and_table_show_the_settings_for_one_model(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/squad")
        (picture,) = pictures(page)

        assert picture.startswith("Settings of 14 athletes for Hall frame A: low rail height from")
        assert page.response.text.count('<circle class="accent') == 14 * 3
        assert len(listed(page)) == 14
        assert "10 without a setting for Hall frame A" in page.text

    def test_of_a_large_squad_some_stand_on_each_page(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A thousand dots show nothing."""
        join(demo_club, 70, with_settings=False)
        join(demo_club, 70)

        page = demo_pages.get("/athletes/squad")

        assert len(listed(page)) == 60
        assert "Settings of 60 athletes for Hall frame A" in page.response.text
        assert "More than 60 without a setting for Hall frame A" in page.text
        assert "Page 1 of 2" in page.text
        last = page.follow("Next page")
        assert len(listed(last)) == 24
        assert "Zorn 069, Ada" in listed(last)
        assert listed(demo_pages.get("/athletes/squad?page=9999")) == listed(last)

    def test_another_model_and_group_can_be_asked_for(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            boys = athletes.find(session, "nikhil")[0]
            model = settings.current(session, boys.id)[0]

        page = demo_pages.get("/athletes/squad").send(
            "Show", model=str(model.model_id), group="Boys 2"
        )

        assert listed(page) == ["Bērziņkalns, Kārlis", "Kazehaya, Riku"]
        assert "Settings of 2 athletes for Parallel frame A" in page.response.text

    def test_who_shares_a_setup_is_filled_and_named_and_so_is_who_stands_alone(
        self, demo_pages: Reader
    ) -> None:
        """Those go one after the other, and nothing is moved between them."""
        page = demo_pages.get("/athletes/squad")

        assert page.response.text.count('<circle class="accent filled"') == 6 * 3
        assert "The same settings: Çelikbaş, Defne + Szőllősi, Boglárka;" in page.text
        assert "Nobody else has theirs: Bąkiewicz, Jagna; Fjeldheim, Tuva;" in page.text

    def test_a_chosen_group_is_compared_by_one_press_for_a_model_that_it_uses(
        self, demo_pages: Reader
    ) -> None:
        """Boys do not go on the uneven bars, which come first."""
        page = demo_pages.get("/athletes/?group=Boys+2").follow("Who of Boys 2 shares a setting")

        assert listed(page) == ["Bērziņkalns, Kārlis", "Kazehaya, Riku"]
        assert "Settings of 2 athletes for" in page.response.text
        assert "Who of" not in demo_pages.get("/athletes/").text

    def test_a_group_without_settings_is_told_so(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/squad?group=Boys+1")

        assert "Nobody in this group has a setting for Hall frame A." in page.text

    @pytest.mark.parametrize("question", ["model=x", "model=9999", "group=nobody"])
    def test_a_strange_question_gets_a_page(self, question: str, demo_pages: Reader) -> None:
        assert demo_pages.get(f"/athletes/squad?{question}").status == 200

    def test_a_club_without_settings_is_led_to_the_sheets(self, pages: Reader) -> None:
        page = pages.get("/athletes/squad")

        assert "nothing to compare" in page.text
        assert page.follow("Add the squad from a spreadsheet").heading == "Sheets"


class TestChoosingAModel:
    def test_every_model_of_the_club_is_on_offer_by_kind(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            beam = next(one for one in models.all_models(session) if one.model.name == "Beam A")

        page = open_athlete(demo_pages, demo_club, "jagna")
        assert "Balance beam: Beam A" in page.response.text

        form = page.send("Enter a setting", model=str(beam.id))
        assert form.heading == "Setting of Jagna B. for Beam A"

    @pytest.mark.parametrize("model", ["", "x", "9999"])
    def test_no_choice_is_asked_for_again(
        self, model: str, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, "jagna").send("Enter a setting", model=model)

        assert page.status == 400
        assert page.mistakes == ["Choose the apparatus model"]

    def test_without_models_it_leads_to_them(self, pages: Reader) -> None:
        page = pages.get("/athletes/new").send("Add the athlete", given_name="Ana")
        chosen = pages.get(f"{page.address}/settings")

        assert "Go to the models" in chosen.links


class TestNamesInHeadings:
    @pytest.mark.parametrize(
        ("heading", "shown"),
        [
            (
                "Check before Noor H. goes up",
                'Check before <bdi class="unbroken">Noor H.</bdi> goes up',
            ),
            ("<b>Maëlle T.", '&lt;b&gt;<bdi class="unbroken">Maëlle T.</bdi>'),
            ("Erase all about Brantley, Jagna?", "Erase all about Brantley, Jagna?"),
            ("Session 1 of 2", "Session 1 of 2"),
        ],
    )
    def test_no_line_ends_between_a_given_name_and_its_initial(
        self, heading: str, shown: str
    ) -> None:
        """A heading on a phone breaks somewhere: not there."""
        assert str(unbroken(heading)) == shown


class TestOneOfANameThatIsKnown:
    @pytest.mark.parametrize("press", ["Add the athlete", "Save and add another"])
    def test_is_asked_about_and_added_only_where_another_one_is_meant(
        self, demo_pages: Reader, demo_club: DemoClub, press: str
    ) -> None:
        form = demo_pages.get("/athletes/new")
        asked = form.send(press, given_name="jagna", family_name="BAKIEWICZ")

        assert asked.status == 400
        assert "Bąkiewicz, Jagna is in the squad already, and nobody was added" in asked.mistakes[0]
        assert "start number" in asked.text
        with demo_club.work() as session:
            assert len(athletes.find(session, "bakiewicz jagna")) == 1

        added = asked.send(press, another_one="y")

        assert "is added" in added.banners[0]
        with demo_club.work() as session:
            assert len(athletes.find(session, "bakiewicz jagna")) == 2

    def test_another_given_name_of_the_family_is_nobody_known(self, demo_pages: Reader) -> None:
        form = demo_pages.get("/athletes/new")
        added = form.send("Add the athlete", given_name="Jag", family_name="Bąkiewicz")
        assert "is added" in added.banners[0]


class TestMarksOfWhoIsInTheSquad:
    def test_are_entered_in_the_table_to_which_the_page_leads(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/several/1")
        refused = page.send("Add all on these lines", lines="Jagna Bąkiewicz")
        assert "enter the marks in the table of marks" in refused.mistakes[0]
        address = next(
            link.get("href", "")
            for link in refused.tree.iter("a")
            if "in the table of marks" in words(link)
        )
        assert demo_pages.get(address).heading.startswith("Marks")
