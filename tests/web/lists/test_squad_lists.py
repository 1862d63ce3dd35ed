"""A coach's own list of the squad, taken in as it is: what is clear, and nothing that is not."""

from io import BytesIO

from settingsdesk.desk.clock import today
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader

LIST = (
    "Unsere Turnerinnen, alle Angaben in cm\n\n"
    "Name;Vorname;Gruppe;Holm unten;Holm oben;Weite\n"
    "Auermann;Lotte;Kür 1;165;245;170\n"
    "Brinkhus;Maite;Kür 1;160-165;240;168\n"
)
TAKE = "Add these athletes"


def send(pages: Reader, content: str, **more: str) -> Page:
    return pages.get("/sheets/").send(
        "Check the sheet", file=(BytesIO(content.encode()), "list.csv"), **more
    )


def on_frame_a(page: Page, **said: str) -> Page:
    return page.send("Apply these answers", model_uneven_bars="Hall frame A", **said)


def settings_of(club: DemoClub, text: str) -> list[SettingVersion]:
    with club.work() as session:
        [member] = athletes.find(session, text)
        return settings.current(session, member.id)


def add(club: DemoClub, *people: Person) -> list[int]:
    with club.work(writes=True) as session:
        return [athletes.add(session, person).id for person in people]


class TestLooking:
    def test_nothing_is_kept_before_somebody_says_so(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, LIST)

        assert page.heading == "Check the list before it is added"
        assert "2 athletes, 5 values can be taken, 1 cell to be settled" in page.text
        assert "160-165" in page.text
        with demo_club.work() as session:
            assert athletes.find(session, "Auermann") == []

    def test_of_several_models_somebody_chooses_once_and_for_all(self, demo_pages: Reader) -> None:
        page = send(demo_pages, LIST)
        assert "which of Hall frame A, Leaning frame C, Travel frame B is meant?" in page.text

        assert "Hall frame A: low rail height 165.0 cm" in on_frame_a(page).text
        assert "Hall frame A: low rail height 165.0 cm" in send(demo_pages, LIST).text

    def test_the_columns_of_the_template_are_read_as_such(self, demo_pages: Reader) -> None:
        page = send(demo_pages, "Family name;Given name;Model\nAuermann;Lotte;\n")
        assert page.heading == "Check the list before it is added"
        assert "1 row would change something." in page.text

    def test_a_sheet_of_the_template_with_a_fault_can_be_read_as_a_list(
        self, demo_pages: Reader
    ) -> None:
        head = "Family name;Given name;Model;Low rail height (cm);High rail height (cm)"
        page = send(demo_pages, f"{head};Rail spread (cm)\nAuermann;Lotte;Hall frame A;165;?;170\n")
        assert "Nothing can be saved" in page.text

        as_list = page.follow("read it as a list of your own")
        assert as_list.heading == "Check the list before it is added"
        assert "2 values can be taken" in as_list.text


class TestCorrecting:
    def test_what_is_said_of_heights_is_shown_and_can_be_taken_back(
        self, demo_pages: Reader
    ) -> None:
        """The next list of the layout is read so too: nobody may raise all heights unseen."""
        page = on_frame_a(send(demo_pages, LIST), level0="mat", mat0="20")
        assert "Heights are taken: from the mat; Thickness of the mat: 20.0 cm" in page.text
        assert "low rail height 185.0 cm" in send(demo_pages, LIST).text

        plain = on_frame_a(page, level0="", mat0="")
        assert "low rail height 165.0 cm" in plain.text
        assert "since somebody said so" not in plain.text

    def test_a_column_can_be_given_another_meaning_as_often_as_one_likes(
        self, demo_pages: Reader
    ) -> None:
        page = on_frame_a(send(demo_pages, LIST))
        low = "axis:uneven_bars/low_rail"
        for holds, is_read in [("role:remark", False), (low, True), ("role:remark", False)]:
            page = on_frame_a(page, holds0_D=holds)
            assert ("low rail height 165.0 cm" in page.text) is is_read
        assert "low rail height 165.0 cm" in on_frame_a(page, holds0_D="").text

    def test_a_deviation_of_all_axes_is_taken_with_the_unit_that_is_chosen(
        self, demo_pages: Reader
    ) -> None:
        text = (
            "Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm);Toleranz\n"
            "Auermann;Lotte;165;245;170;1,5\n"
        )
        page = send(demo_pages, text)
        assert "No unit is stated for this deviation" in page.text
        assert "rail spread 170.0 cm ± 1.5 cm" in on_frame_a(page, unit0_F="cm").text

    def test_marks_stand_beside_the_lengths_that_they_are(self, demo_pages: Reader) -> None:
        """A coach compares with the list, and the list has marks."""
        head = "Name;Vorname;Modell;Holm unten (Loch);Holm oben (Loch);Weite (cm)"
        page = send(demo_pages, f"{head}\nAuermann;Lotte;Hall frame A;5;5;170\n")
        # mark 5 of the hall's own bars, as a tape found it; their leaflet says 170.0 cm
        assert "low rail height mark 5 = 170.4 cm" in page.text
        assert "marks read on Bars by the window: taped here in part" in page.text

    def test_too_large_a_deviation_is_refused_and_not_made_smaller(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, LIST, accepts="60")
        assert page.status == 400
        assert "must be at most 50.0 cm" in page.text


class TestTaking:
    def test_it_is_said_how_many_settings_would_be_kept(self, demo_pages: Reader) -> None:
        """Until a model is chosen it is none, however many values were read."""
        page = send(demo_pages, LIST)
        assert "0 settings would be saved, 2 left out" in page.text
        assert "1 setting would be saved, 1 left out" in on_frame_a(page).text

    def test_of_a_length_between_two_marks_it_is_said_again_once_it_is_saved(
        self, demo_pages: Reader
    ) -> None:
        head = "Name;Vorname;Modell;Holm unten (cm);Holm oben (cm);Weite (cm)"
        page = send(demo_pages, f"{head}\nAuermann;Lotte;Hall frame A;167,5;245;170\n").send(TAKE)
        assert "nothing left out. A length lies half-way between two marks" in page.text
        assert "see the page of Auermann, Lotte." in page.text

    def test_of_two_settings_for_one_model_none_is_taken(self, demo_pages: Reader) -> None:
        text = (
            "Name;Vorname;Modell;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
            "Auermann;Lotte;Hall frame A;165;245;170\nAuermann;Lotte;;160;240;170\n"
        )
        page = on_frame_a(send(demo_pages, text))
        assert page.text.count("the list says more than one thing of this model") == 2

    def test_lengths_for_a_model_that_is_not_known_are_kept_for_no_other(
        self, demo_pages: Reader
    ) -> None:
        text = "Name;Vorname;Modell;Balkenhöhe (cm)\nAuermann;Lotte;Beam Z;110\n"
        page = send(demo_pages, text)
        assert "the model 'Beam Z' is not known here: add it, or write one of Beam A" in page.text

    def test_new_athletes_come_into_the_squad_with_their_groups_and_whole_settings(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = on_frame_a(send(demo_pages, LIST, accepts="1")).send(TAKE)

        assert page.banners[0].startswith(
            "2 added to the squad, 1 setting saved, 1 cell and 1 setting left out"
        )
        with demo_club.work() as session:
            [lotte] = athletes.find(session, "Auermann")
        assert lotte.person.group_name == "Kür 1"
        [version] = settings_of(demo_club, "Auermann")
        assert version.setting.axes["high_rail"] == Wanted(2450, 10)
        assert settings_of(demo_club, "Brinkhus") == []

    def test_what_is_clear_of_half_a_row_is_filled_in_where_it_is_completed(
        self, demo_pages: Reader
    ) -> None:
        """Nobody types it a second time; the athlete's page leads there."""
        on_frame_a(send(demo_pages, LIST)).send(TAKE)
        page = demo_pages.get("/athletes/").follow("Brinkhus, Maite")

        assert "A setting for Hall frame A is incomplete: low rail height missing" in page.text
        form = page.follow("Complete it")
        assert "Still missing: low rail height" in form.text
        axes = ("low_rail", "high_rail", "spread")
        assert [form.value(f"{axis}_length") for axis in axes] == ["", "240.0", "168.0"]

    def test_the_same_list_again_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        on_frame_a(send(demo_pages, LIST)).send(TAKE)
        page = send(demo_pages, LIST)
        assert "In the squad already" in page.text
        assert "saved already" in page.text

        assert page.send(TAKE).banners[0].startswith("0 added to the squad, 0 settings saved")
        assert [one.version for one in settings_of(demo_club, "Auermann")] == [1]

    def test_a_changed_number_stands_beside_the_kept_one_and_leaves_the_rest_as_it_is(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Deviation and weight that the list does not state stay as the coach had set them."""
        [lotte] = add(demo_club, Person("Auermann", "Lotte"))
        kind = KINDS["uneven_bars"]
        with demo_club.work(writes=True) as session:
            wanted = {
                axis.key: Wanted(mm, 20, 3)
                for axis, mm in zip(kind.axes, (1650, 2400, 1700), strict=True)
            }
            settings.keep_setting(session, lotte, 1, Setting(kind, wanted))
        page = on_frame_a(send(demo_pages, LIST))
        assert (
            "now saved: low rail height 165.0 cm ± 2.0 cm; high rail height 240.0 cm" in page.text
        )

        page.send(TAKE)
        [version] = settings_of(demo_club, "Auermann")
        assert version.version == 2
        assert version.setting.axes["high_rail"] == Wanted(2450, 20, 3)


class TestWhoIsMeant:
    def test_twins_are_told_apart_by_their_groups(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(
            demo_club,
            Person("Auermann", "Lotte", group_name="Kür 1"),
            Person("Auermann", "Lotte", group_name="Kür 2"),
        )
        page = on_frame_a(send(demo_pages, LIST.replace("160-165", "160"))).send(TAKE)
        assert page.banners[0].startswith("1 added to the squad, 2 settings saved")

    def test_whoever_cannot_be_told_apart_is_left_out_and_nobody_else(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(demo_club, Person("Auermann", "Lotte"), Person("Auermann", "Lotte"))
        page = on_frame_a(send(demo_pages, LIST.replace("160-165", "160")))
        assert "several are called Auermann, Lotte: tell them apart by their groups" in page.text

        assert (
            page.send(TAKE)
            .banners[0]
            .startswith("1 added to the squad, 1 setting saved, 1 athlete left out")
        )

    def test_two_lines_that_fit_one_athlete_change_nothing_of_theirs(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(demo_club, Person("Auermann", "Lotte"))
        twice = LIST + "Auermann;Lotte;Kür 2;150;230;160\n"
        page = on_frame_a(send(demo_pages, twice))
        assert "more than one line fits this athlete" in page.text

        page.send(TAKE)
        assert settings_of(demo_club, "Auermann") == []

    def test_a_name_that_cannot_be_told_apart_holds_up_nobody_else(
        self, demo_pages: Reader
    ) -> None:
        text = "Name;Balkenhöhe (cm)\nMarsh Ida;110\nVan Reed Eva;115\n"
        page = send(demo_pages, text)
        assert TAKE not in page.text

        page = page.send("Apply these answers", names0="family")
        assert "write the family name, a comma and the given name" in page.text
        assert "1 setting would be saved. 1 athlete would be left out." in page.text
        assert (
            page.send(TAKE)
            .banners[0]
            .startswith("1 added to the squad, 1 setting saved, 1 athlete left out")
        )

    def test_the_group_that_stays_is_named_where_the_list_says_another(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(
            demo_club,
            Person("Auermann", "Lotte", group_name="Kür 3"),
            Person("Brinkhus", "Maite", group_name="Kür 1"),
        )
        text = send(demo_pages, LIST).text
        assert text.count("is not taken") == 1
        assert "The group Kür 1 is not taken, Kür 3 stays" in text

    def test_whoever_is_known_by_the_names_the_other_way_round_is_not_added_anew(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """One wrong answer to which name comes first would double the squad."""
        add(demo_club, Person("Auermann", "Lotte"))
        page = send(demo_pages, "Name;Balkenhöhe (cm)\nLotte Auermann;110\nMaite Brinkhus;115\n")
        page = page.send("Apply these answers", names0="family")
        assert "Auermann, Lotte is in the squad" in page.text
        assert page.text.count("Left out") == 1
        assert "Left out" not in page.send("Apply these answers", names0="given").text

    def test_whoever_has_left_is_not_added_anew(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        [lotte] = add(demo_club, Person("Auermann", "Lotte"))
        with demo_club.work(writes=True) as session:
            athletes.leave(session, lotte, today())
        assert "Auermann, Lotte has left" in send(demo_pages, LIST).text


def test_a_list_that_waits_no_longer_is_said_to_be_gone(demo_pages: Reader) -> None:
    assert demo_pages.get("/sheets/lists/unknown").status == 410


NAMED_AS_PRINTED = "Name;Apparatus model;Low bar (cm);High bar (cm);Spread (cm)\n"
SPLIT = "Surname;First name;Apparatus model;Low bar (cm);High bar (cm);Spread (cm)\n"
WHO = "Row 2, column A: “Edda Q.”"


class TestNamesAsTheyArePrinted:
    """A list made from cards and start orders, which have the given name and an initial."""

    def test_the_athlete_is_offered_and_nobody_is_taken_silently(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        [edda] = add(demo_club, Person("Quill", "Edda"))
        page = send(demo_pages, NAMED_AS_PRINTED + "Edda Q.;Hall frame A;165;245;170\n")
        assert WHO in page.text
        assert "'Edda Q.' may be Quill, Edda: say who is meant, or write the whole" in page.text
        assert TAKE not in page.text

        page = page.send("Apply these answers", asked0=str(edda))
        assert "In the squad already as Quill, Edda" in page.text
        page.send(TAKE)

        [kept] = settings_of(demo_club, "edda quill")
        assert kept.setting.axes["high_rail"].wanted_mm == 2450
        assert len(found(demo_club, "edda")) == 1

    def test_whoever_is_somebody_new_is_added(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(demo_club, Person("Quill", "Edda"))
        page = send(demo_pages, SPLIT + "Q.;Edda;Hall frame A;165;245;170\n")

        page.send("Apply these answers", asked0="new").send(TAKE)

        assert found(demo_club, "edda") == ["Q., Edda", "Quill, Edda"]

    def test_of_two_who_fit_somebody_says_which(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """By the printed name of both, and by the name in full of two namesakes."""
        [_, quast] = add(demo_club, Person("Quill", "Edda"), Person("Quast", "Edda"))
        add(demo_club, Person("Twin", "Ada"), Person("Twin", "Ada", printed_name="Ada the other"))
        page = send(demo_pages, SPLIT + "Q;Edda;Hall frame A;165;245;170\nTwin;Ada;;;;\n")
        assert "may be Quast, Edda or Quill, Edda" in page.text
        assert "may be Twin, Ada: Ada T. or Twin, Ada: Ada the other" in page.text
        assert TAKE not in page.text

        page = page.send("Apply these answers", asked0=str(quast))
        page.send(TAKE)

        assert [len(settings_of(demo_club, name)) for name in ("quast", "quill")] == [1, 0]
        assert len(found(demo_club, "twin ada")) == 2

    def test_a_name_in_full_or_of_nobody_asks_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        add(demo_club, Person("Quill", "Edda"), Person("Quast", "Edda"))
        names = ("Quill;Edda", "Quitt;Edda", "Quast;E.", "B.;Edda")
        page = send(demo_pages, SPLIT + "".join(f"{name};;;;\n" for name in names))

        assert page.text.count("say who is meant") == 2  # at the question and in the line
        assert "'Quast, E.' may be Quast, Edda" in page.text


def found(club: DemoClub, text: str) -> list[str]:
    with club.work() as session:
        return [member.listed_name for member in athletes.find(session, text)]
