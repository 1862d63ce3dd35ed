"""A list shown as the coach's own table: each question is asked, and answered, in its place."""

from io import BytesIO

from settingsdesk.desk.meets import entries
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.settings.settings import Wanted
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.web.pages import Page, Reader, words

HEAD = "Name;Vorname;Gruppe;Modell;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
WHOLE = "Auermann;Lotte;Kür 1;Hall frame A;165;245;170\n"
RANGE = "Brinkhus;Maite;;Hall frame A;160-165;240;168\n"
HALF = "Cordes;Pia;;Hall frame A;170;;168\n"
TAKE, READ = "Add these athletes", "Apply these answers"


def send(pages: Reader, content: str) -> Page:
    return pages.get("/sheets/").send(
        "Check the sheet", file=(BytesIO(content.encode()), "list.csv")
    )


def send_to_meet(pages: Reader, held: SmallMeet, content: str, club: str) -> Page:
    return pages.get(f"/meets/{held.meet_id}/lists").send(
        "Check the list",
        file=(BytesIO(content.encode()), "list.csv"),
        sent_by=club,
        accepts="1",
    )


def settings_of(club: DemoClub, text: str) -> list[SettingVersion]:
    with club.work() as session:
        [member] = athletes.find(session, text)
        return settings.current(session, member.id)


def names(club: DemoClub) -> list[str]:
    with club.work() as session:
        return [one.person.family_name for one in athletes.find(session)]


def entered(club: DemoClub, held: SmallMeet) -> list[str]:
    with club.work() as session:
        found = entries.entrants(session, held.meet_id)
        return [one.member.person.family_name for one in found]


ODD = (
    "Nr;Name, Vorname;unterer Holm;oberer Holm;Weite;Bemerkung\n"
    "1;Drossel, Pia;5;6;171;neu\n"
    "2;Amsel-Fink, Ida;165 cm;245,5;1,58 m;\n"
    "3;Kiebitz, Uta;5;6;170,5;fragt noch\n"
)


class TestWhatNobodyHasSaid:
    """A coach is told of an answer only where one was given."""

    def test_the_first_press_takes_a_list_of_which_nothing_new_was_said(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, ODD).send(TAKE)
        assert page.address == "/athletes/"

    def test_a_column_of_which_nothing_was_said_keeps_its_unit(self, demo_pages: Reader) -> None:
        page = send(demo_pages, ODD)
        assert page.value("unit0_E") == "cm"
        page = page.send(READ, group="Kür 1")
        assert page.value("unit0_E") == "cm"
        assert "somebody said how it is read" not in page.text

    def test_what_is_asked_of_a_column_names_it_by_its_header(self, demo_pages: Reader) -> None:
        """The cells that are quoted do not stand in the header's row."""
        labels = [words(label) for label in send(demo_pages, ODD).tree.iter("label")]
        [asked] = [label for label in labels if "“6; 245,5" in label]
        assert asked.startswith("Column D, 'oberer Holm': “")

    def test_an_answered_remark_is_named_by_its_column_never_by_a_key(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, ODD)
        asked = {
            one.get("name"): "leave_out" if "leave_out" in values else None
            for one in page.tree.iter("select")
            for values in [[option.get("value") for option in one.iter("option")]]
            if one.get("name", "").startswith("asked")
        }
        remarks = [name for name, answer in asked.items() if answer]
        page = page.send(READ, **dict.fromkeys(remarks, "read"))
        assert "!F" not in page.text
        assert "column F" in page.text


class TestRemarks:
    def test_all_of_a_column_are_kept_for_the_crew_by_one_answer(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Their words stay on the page, and stand on each athlete's afterwards."""
        head = HEAD.replace("\n", ";Bemerkung\n")
        rows = (
            WHOLE.replace("\n", ";Brett links\n") + "Brinkhus;Maite;;Hall frame A;165;240;168;neu\n"
        )
        page = send(demo_pages, head + rows)
        [for_all] = [
            label.get("for", "")
            for label in page.tree.iter("label")
            if words(label).startswith("Every remark in column H: “Brett links; neu”")
        ]
        page = page.send(READ, spread0="inner", **{for_all: "crew_note"})
        assert "What stood there" not in page.text
        assert page.text.count("Every remark in column H: “Brett links; neu”") == 1
        assert "For the crew: “Brett links”" in page.text

        page.send(TAKE)
        assert [one.crew_note for one in settings_of(demo_club, "Auermann")] == ["Brett links"]
        assert [one.crew_note for one in settings_of(demo_club, "Brinkhus")] == ["neu"]


class TestTheTable:
    def test_what_holds_a_setting_back_is_not_called_optional(self, demo_pages: Reader) -> None:
        """A coach passes over what is optional, and then the setting is not taken."""
        page = send(demo_pages, HEAD + WHOLE + RANGE)
        labels = [words(label) for label in page.tree.iter("label")]
        [asked] = [label for label in labels if label.startswith("What is meant in row 3")]
        assert "(optional)" not in asked
        assert "Group of everybody for whom the list names none (optional)" in labels

    def test_the_badge_stands_before_the_sentence_not_in_it(self, demo_pages: Reader) -> None:
        page = send(demo_pages, HEAD + HALF)
        assert "Incomplete Hall frame A: high rail height" in page.text

    def test_a_line_of_which_a_setting_is_not_whole_is_counted_as_asked(
        self, demo_pages: Reader
    ) -> None:
        """Who looks at those lines alone would never find the empty cell."""
        page = send(demo_pages, HEAD + WHOLE + RANGE + HALF)
        assert "Of 2 lines something is asked or left out." in page.text

    def test_each_cell_stands_in_its_row_and_a_doubt_is_asked_there(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + WHOLE + RANGE)
        [table] = page.tree.iter("table")
        row = [words(cell) for cell in list(table.iter("tr"))[2] if cell.tag == "td"]
        assert row[1:4] == ["Brinkhus", "Maite", ""]
        assert row[5].startswith("160-165 Several values or a range stand in one cell")
        assert row[6] == "240"

    def test_what_a_column_is_read_as_stands_at_its_head_and_is_changed_there(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + WHOLE)
        heads = [words(head) for head in page.tree.iter("th") if head.get("scope") == "col"]
        assert "read as the athlete's given name" in heads[3]
        assert "read as low rail height, in centimetres" in heads[6]

    UNTOLD = "Name;Vorname;Modell;Holm unten;Holm oben;Weite\nAuermann;Lotte;Hall frame A;"

    def test_a_question_of_a_whole_column_is_asked_once_and_for_all_columns_together(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, f"{self.UNTOLD}165;245;170\n")
        [choice] = [one for one in page.tree.iter("select") if one.get("name") == "unit_all"]
        assert "Centimetres (likely)" in words(choice)

        whole = page.send(READ, unit_all="cm")
        assert "3 values can be taken, 0 cells to be settled" in whole.text
        again = send(demo_pages, f"{self.UNTOLD}166;245;170\n")
        assert "3 values can be taken, 0 cells to be settled" in again.text

    def test_a_single_cell_of_such_a_column_can_be_answered_too(self, demo_pages: Reader) -> None:
        page = send(demo_pages, f"{self.UNTOLD}165;245;170\n").send(READ, cell0_2_D="165 cm")
        assert "low rail height, upper edge" in page.text
        assert "“165 cm” was typed" in page.text

    def test_a_note_that_may_change_the_lengths_is_asked_about_and_everybody_waits(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + WHOLE + "\nHeights above the mat;;;;;;\n")
        assert TAKE not in page.text
        assert "it waits for an answer" in page.text
        read = page.send(READ, asked0="read")
        assert TAKE in read.text

    def test_two_lines_that_may_be_one_athlete_are_asked_about(self, demo_pages: Reader) -> None:
        turned = "Lotte;Auermann;Kür 1;Hall frame A;165;245;170\n"
        page = send(demo_pages, HEAD + WHOLE + turned)
        assert "They are two athletes" in page.text
        assert TAKE in page.send(READ, asked0="two").text

    def test_a_list_that_lies_on_its_side_has_a_line_for_each_column(
        self, demo_pages: Reader
    ) -> None:
        text = (
            "Name;Auermann;Brinkhus\nVorname;Lotte;Maite\nModell;Hall frame A;Hall frame A\n"
            "Holm unten (cm);165;?\nHolm oben (cm);245;240\nWeite (cm);170;168\n"
        )
        page = send(demo_pages, text)
        assert "Column C" in page.text
        again = page.send(READ, cell0_4_C="160")
        assert "6 values can be taken, 0 cells to be settled" in again.text

    def test_a_long_list_comes_by_pages_and_each_keeps_its_answers(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        rows = "".join(f"Aaa{at};Ida;;Hall frame A;?;240;168\n" for at in range(60))
        first = send(demo_pages, HEAD + rows).send(READ, cell0_2_E="165")
        second = first.follow("Next page").send(READ, cell0_61_E="166")
        assert "Page 2 of 2" in second.text
        assert "Aaa59" in second.text
        assert "Aaa0," not in second.text
        assert "58 cells to be settled" in second.text
        second.send(TAKE)

        assert settings_of(demo_club, "Aaa0")[0].setting.axes["low_rail"] == Wanted(1650)
        assert settings_of(demo_club, "Aaa59")[0].setting.axes["low_rail"] == Wanted(1660)

    def test_only_the_lines_of_which_something_is_asked_can_be_shown(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + WHOLE + RANGE).follow("Show only those")
        assert "Brinkhus" in page.text
        assert "Auermann" not in page.text


class TestAnswers:
    def test_a_cell_is_answered_by_typing_what_is_meant_and_both_are_recorded(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, HEAD + RANGE).send(READ, cell0_2_E="162,5")
        assert "“162,5” was typed" in page.text
        assert "160-165" in page.text
        page.send(TAKE)

        [version] = settings_of(demo_club, "Brinkhus")
        assert version.setting.axes["low_rail"] == Wanted(1625)
        assert version.as_read["low_rail"].startswith("162,5, typed for '160-165'")

    def test_what_is_typed_is_read_like_any_cell_and_asked_about_again(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + RANGE).send(READ, cell0_2_E="16")
        assert "it is ten times too small" in page.text

    def test_an_emptied_answer_lets_the_list_speak_again(self, demo_pages: Reader) -> None:
        page = send(demo_pages, HEAD + RANGE).send(READ, cell0_2_E="162")
        assert "Several values or a range" not in page.text
        assert "Several values or a range" in page.send(READ, cell0_2_E="").text

    def test_a_row_that_lacks_a_value_is_made_whole_and_nothing_of_it_typed_again(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, HEAD + HALF)
        assert "high rail height missing" in page.text
        page.send(READ, cell0_2_F="245 cm").send(TAKE)

        [version] = settings_of(demo_club, "Cordes")
        assert [version.setting.axes[axis].wanted_mm for axis in ("low_rail", "high_rail")] == [
            1700,
            2450,
        ]

    def test_whoever_is_not_ticked_is_not_taken(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, HEAD + WHOLE + RANGE).send(READ, take0_3=[])
        assert "Not taken: it is not ticked" in page.text
        page.send(TAKE)
        assert "Auermann" in names(demo_club)
        assert "Brinkhus" not in names(demo_club)

    def test_a_group_is_given_to_everybody_for_whom_the_list_names_none(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        send(demo_pages, HEAD + WHOLE + RANGE).send(READ, group="Kür 4").send(TAKE)
        with demo_club.work() as session:
            groups = {
                one.person.family_name: one.person.group_name for one in athletes.find(session)
            }
        assert (groups["Auermann"], groups["Brinkhus"]) == ("Kür 1", "Kür 4")

    def test_what_was_typed_and_not_yet_looked_at_keeps_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nothing is saved that nobody has seen as it is read."""
        page = send(demo_pages, HEAD + WHOLE + RANGE).send(TAKE, cell0_3_E="162")
        assert "Nothing is saved yet" in page.text
        assert "“162” was typed" in page.text
        assert "Auermann" not in names(demo_club)
        page.send(TAKE)
        assert "Brinkhus" in names(demo_club)

    def test_too_long_an_answer_is_refused_at_its_field_and_stays_there(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, HEAD + RANGE).send(READ, cell0_2_E="1" * 61)
        assert page.status == 400
        assert page.value("cell0_2_E") == "1" * 61

    def test_they_are_about_one_file_and_not_the_next(self, demo_pages: Reader) -> None:
        send(demo_pages, HEAD + RANGE).send(READ, cell0_2_E="162")
        assert "Several values or a range" in send(demo_pages, HEAD + RANGE).text


class TestListsOfOneClub:
    ROW = "Auermann;Lotte;;;165;245;170\n"
    OTHER = "Brinkhus;Maite;;;165;240;168\n"

    def test_a_name_a_little_different_is_asked_about_and_waits(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        send_to_meet(demo_pages, held, HEAD + self.ROW, "TV Nordlicht").send("Enter these athletes")
        page = send_to_meet(demo_pages, held, HEAD + self.ROW + self.OTHER, "T.V. Nordlicht 1920")
        assert "the same club as 'TV Nordlicht'?" in page.text
        assert "nobody has said whether its club is one" in page.text
        assert "Enter these athletes" not in page.text

        page.send(READ, club0="TV Nordlicht").send("Enter these athletes")
        assert entered(demo_club, held).count("Auermann") == 1
        assert entered(demo_club, held).count("Brinkhus") == 1

    def test_another_club_of_a_name_alike_enters_its_own(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        for club, answer in [("TV Nordlicht", {}), ("TV Nordlicht II", {"club0": None})]:
            page = send_to_meet(demo_pages, held, HEAD + self.ROW, club)
            if answer:
                page = page.send(READ, club0=club)
            page.send("Enter these athletes")
        assert entered(demo_club, held).count("Auermann") == 2

    def test_whoever_a_newer_list_leaves_out_is_named_and_stays_entered(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        text = HEAD + self.ROW + self.OTHER
        send_to_meet(demo_pages, held, text, "TV Nordlicht").send("Enter these athletes")
        page = send_to_meet(demo_pages, held, HEAD + self.ROW, "TV Nordlicht")
        assert "and not on this list: Brinkhus, Maite." in page.text
        assert "Brinkhus" in entered(demo_club, held)

    def test_whoever_is_not_ticked_is_no_line_to_be_settled(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        text = HEAD + self.ROW + RANGE
        page = send_to_meet(demo_pages, held, text, "TV Nordlicht").send(READ, take0_3=[])
        page.send("Enter these athletes")
        settle = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "160-165" not in settle.text
