"""A club's list on its way in: looked at, corrected, taken, and what is left to settle."""

from io import BytesIO

from openpyxl import Workbook
from sqlalchemy import select

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.squad import settings
from settingsdesk.store.left_out import LeftOut
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, another_meet
from tests.web.pages import Page, Reader, words

LIST = (
    "Anmeldung – alle Angaben in cm\n\n"
    "Name;Vorname;Holm unten;Holm oben;Weite\n"
    "Auermann;Lotte;165;245;170\n"
    "Brinkhus;Maite;160-165;240;168\n"
    "Cordes;Pia;170;250;=1+1\n"
)


def send(pages: Reader, held: SmallMeet, content: str | bytes, name: str = "list.csv") -> Page:
    sent = content.encode() if isinstance(content, str) else content
    return pages.get(f"/meets/{held.meet_id}/lists").send(
        "Check the list", file=(BytesIO(sent), name), sent_by="Nordlicht TV", accepts="1"
    )


class TestLooking:
    def test_nothing_is_kept_before_somebody_says_so(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, held, LIST)
        assert "3 athletes, 7 values can be taken, 2 cells to be settled" in page.text
        with demo_club.work() as session:
            assert len(entries.entrants(session, held.meet_id)) == 3

    def test_each_doubtful_cell_is_named_with_what_to_do(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, LIST)
        for wanted in ("row 5, column C", "160-165", "a range", "row 6, column E", "=1+1"):
            assert wanted in page.text

    def test_the_points_between_which_lengths_are_taken_stand_above_them(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, LIST)
        assert "from the floor to the upper edge of the rail" in page.text

    def test_the_deviation_is_said_by_a_person_and_not_taken_as_none(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/lists").send(
            "Check the list", file=(BytesIO(LIST.encode()), "list.csv"), sent_by="Nordlicht TV"
        )
        assert "Enter which deviation is accepted" in page.mistakes[0]

    def test_what_is_no_list_is_said_at_the_field(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, b"%PDF-1.7 ...", "list.pdf")
        assert page.status == 400
        assert page.mistakes


class TestTaking:
    def test_everybody_is_entered_with_the_settings_that_are_whole(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        page = send(demo_pages, held, LIST).send("Enter these athletes")
        assert page.banners[0].startswith(
            "3 entered, 1 setting saved, 2 cells and 2 settings left out"
        )
        with demo_club.work() as session:
            new = [
                one
                for one in entries.entrants(session, held.meet_id)
                if one.from_club == "Nordlicht TV"
            ]
            assert [one.member.listed_name for one in new] == [
                "Auermann, Lotte",
                "Brinkhus, Maite",
                "Cordes, Pia",
            ]
            [version] = settings.current(session, new[0].member.id)
        assert version.setting.axes["high_rail"].wanted_mm == 2450
        assert version.setting.axes["high_rail"].accepts_mm == 10
        assert "245" in version.as_read["high_rail"]

    def test_the_same_list_again_enters_nobody_twice(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        send(demo_pages, held, LIST).send("Enter these athletes")
        page = send(demo_pages, held, LIST)
        assert "Entered already" in page.text
        assert page.send("Enter these athletes").banners[0].startswith("0 entered, 0 settings")

    def test_a_corrected_list_brings_new_versions(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        send(demo_pages, held, LIST).send("Enter these athletes")
        page = send(demo_pages, held, LIST.replace("160-165", "162").replace("=1+1", "171"))
        banner = page.send("Enter these athletes").banners[0]
        assert banner.startswith("0 entered, 2 settings saved, nothing left out")

    def test_twins_of_one_name_are_kept_apart(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        twins = (
            "Startnummer;Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
            "21;Ehlers;Ada;165;245;170\n22;Ehlers;Ada;160;240;165\n"
        )
        send(demo_pages, held, twins).send("Enter these athletes")
        with demo_club.work() as session:
            numbers = [
                one.start_number
                for one in entries.entrants(session, held.meet_id)
                if one.member.listed_name == "Ehlers, Ada"
            ]
        assert numbers == ["21", "22"]

    def test_a_start_number_that_fits_no_card_leaves_its_line_out_and_is_not_cut(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        text = (
            "Startnummer;Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
            "2026-11-26-0001;Ehlers;Ada;165;245;170\n22;Auermann;Lotte;160;240;165\n"
        )
        page = send(demo_pages, held, text)
        assert "a start number has at most 12 characters" in page.text
        assert page.send("Enter these athletes").banners[0].startswith("1 entered, 1 setting saved")

    def test_nothing_is_left_of_a_list_that_is_put_aside(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, LIST)
        address = page.address
        page.send("Cancel this list")
        assert demo_pages.get(address).status == 410


class TestLeftOut:
    """What a list left out stays to be settled, whatever else comes in for the same athlete."""

    HEAD = "Name;Vorname;Modell;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
    BARS = HEAD + "Dornbusch;Lea;;165;?;170\n"
    BEAM = "Name;Vorname;Balken Höhe (cm)\nDornbusch;Lea;125\n"

    def taken(self, pages: Reader, held: SmallMeet, text: str) -> Page:
        return send(pages, held, text).send("Enter these athletes")

    def state_of(self, page: Page, name: str) -> str:
        return next(words(row) for row in page.tree.iter("tr") if name in words(row))

    def test_it_is_listed_with_its_place_and_reason(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        self.taken(demo_pages, held, self.BARS)
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        for wanted in ("Dornbusch, Lea, Nordlicht TV, row 2, column E", "“?”"):
            assert wanted in page.text

    def test_another_list_that_brings_another_setting_settles_nothing_of_it(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            pieces = apparatus.all_pieces(session)
            beam = next(one for one in pieces if one.model.kind.key == "balance_beam")
            meets.put_apparatus(session, held.meet_id, beam.id)
        self.taken(demo_pages, held, self.BARS)
        self.taken(demo_pages, held, self.BEAM)
        page = demo_pages.get(f"/meets/{held.meet_id}/entries")
        assert "Open" in self.state_of(page, "Dornbusch")

    def test_the_same_list_put_right_settles_it(self, demo_pages: Reader, held: SmallMeet) -> None:
        self.taken(demo_pages, held, self.BARS)
        self.taken(demo_pages, held, self.BARS.replace("?", "245"))
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "Left out of clubs' lists" not in page.text
        page = demo_pages.get(f"/meets/{held.meet_id}/entries")
        assert "Open" not in self.state_of(page, "Dornbusch")

    def test_whoever_settled_it_with_the_club_says_so(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        self.taken(demo_pages, held, self.BARS)
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle").send(
            "Settled Dornbusch, Lea, Nordlicht TV, row 2, column E, line 1"
        )
        assert page.banners == ["The line is settled."]
        assert "Left out of clubs' lists" not in page.text
        with demo_club.work() as session:
            [line] = session.scalars(select(LeftOut)).all()
        assert (line.settled_by, line.read) == ("Runa Calloway", "?")

    def test_a_line_of_another_meet_is_not_settled_here(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        self.taken(demo_pages, held, self.BARS)
        with demo_club.work(writes=True) as session:
            other = another_meet(session, held)
        token = demo_pages.get(f"/meets/{held.meet_id}/entries/settle").token
        refused = demo_pages.post(f"/meets/{other.id}/entries/settle/1", {"csrf_token": token})
        assert refused.status == 400
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "Left out of clubs' lists" in page.text

    def test_whoever_could_not_be_told_apart_is_a_line_too(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        row = "Ehlers;Ada;;165;245;170\n"
        self.taken(demo_pages, held, f"Startnummer;{self.HEAD}21;{row}22;{row}")
        self.taken(demo_pages, held, f"{self.HEAD}{row}Auermann;Lotte;;165;245;170\n")
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "“Ehlers, Ada”: several are called Ehlers, Ada" in page.text


class TestCorrecting:
    UNITLESS = "Nom;Barre basse;Barre haute;Écartement\nAube Lise;165;245;170\n"

    def test_a_unit_that_nobody_stated_is_chosen_and_remembered_for_the_club(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, self.UNITLESS)
        assert "No unit is stated" in page.text
        again = page.send(
            "Apply these answers", unit0_B="cm", unit0_C="cm", unit0_D="cm", names0="family"
        )
        assert "3 values can be taken, 0 cells to be settled" in again.text
        assert "Aube, Lise" in again.text

        second = send(demo_pages, held, self.UNITLESS.replace("165", "160"))
        assert "3 values can be taken, 0 cells to be settled" in second.text

    def test_while_nobody_says_which_name_comes_first_nothing_is_taken(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = send(demo_pages, held, "Name,Low rail (cm),High rail (cm)\nIda Marsh,165,245\n")
        assert "Which name comes first?" in page.text
        assert "Enter these athletes" not in page.text

    def test_heights_above_the_mat_are_carried_to_the_floor_with_its_thickness(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        text = "Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm)\nOhm;Silke;145;225;170\n"
        page = send(demo_pages, held, text).send("Apply these answers", level0="mat", mat0="20")
        assert "low rail height 165.0 cm" in page.text
        assert "high rail height 245.0 cm" in page.text


class TestAWorkbook:
    def test_every_sheet_and_merged_headers_are_read(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        book = Workbook()
        first = book.worksheets[0]
        first.append(["Name", "Vorname", "Stufenbarren (cm)", None, None])
        first.append([None, None, "unten", "oben", "Weite"])
        first.merge_cells("A1:A2")
        first.merge_cells("B1:B2")
        first.merge_cells("C1:E1")
        first.append(["Ohm", "Silke", 165, 245, 170])
        second = book.create_sheet("Schwebebalken")
        second.append(["Name", "Vorname", "Höhe (cm)"])
        second.append(["Ohm", "Silke", 110])
        stream = BytesIO()
        book.save(stream)
        page = send(demo_pages, held, stream.getvalue(), "list.xlsx")
        assert "1 athlete, 4 values can be taken, 0 cells to be settled" in page.text
        assert "beam height 110.0 cm" in page.text
