"""The crew sheet as a page, on paper and as a spreadsheet."""

import re
from io import BytesIO

import openpyxl
import pytest

from settingsdesk.desk.checks import findings
from settingsdesk.desk.meet_day import withdrawal
from settingsdesk.desk.meets import erasing, meets, start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import next_up
from settingsdesk.store import rotations as kept_rotations
from tests.cards.reading import page_texts
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, begun, had_a_turn, press, up
from tests.web.conftest import Reader, signed_in
from tests.web.pages import words


@pytest.fixture
def pages(demo_app, demo_club: DemoClub) -> Reader:
    return signed_in(demo_app, demo_club.account)


class TestThePage:
    def test_everybody_is_there_with_marks_and_moves(self, pages: Reader, held: SmallMeet) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}")
        assert page.heading == "Session 1: Juniors, rotation 1, Bars by the window"
        for wanted in ("1. Almira O.", "No. 12, Tarn Hollow GC", "Low rail height", "min"):
            assert wanted in page.text
        assert re.search(
            r"(up|down|in|out) \d+ (holes?|marks?), \S+ to \S+", page.text, re.IGNORECASE
        )
        assert "low rail height and high rail height, upper edge of the rail" in page.text

    def test_whoever_is_erased_after_the_rotation_does_not_come(
        self, pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A family asks for it once all is over: the number stays where a turn was confirmed."""
        gone = held.guests[0].member
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            desk_run.end(session, run_id)
        with demo_club.work(writes=True) as session:
            erasing.erase(session, gone.id)

        for address in (f"/crew-sheets/{held.rotation_id}", f"/start-orders/{held.rotation_id}"):
            page = pages.get(address)
            assert page.status == 200, address
            assert f"Athlete {gone.id}" in page.text
            assert "Scratched" in page.text
            assert gone.printed_name not in page.text
        assert pages.get(f"/start-orders/{held.rotation_id}/edit").status == 200
        with demo_club.work() as session:
            assert start_orders.withdrawn(session, held.rotation_id) == [gone.id]

    def test_where_the_warm_up_is_too_short_is_said_at_the_place(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            book = "International, as quoted"
            meets.put_apparatus(session, held.meet_id, held.apparatus_id, book)
        page = pages.get(f"/crew-sheets/{held.rotation_id}?hands=1")
        assert "Too short" in page.text
        assert not re.search(r"\d s\b", page.text)
        assert "the warm-up gives 0:50 min" in page.text

    def test_other_hands_are_a_link_away(self, pages: Reader, held: SmallMeet) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}").follow("four people")
        assert "for four people" in page.text

    def test_in_another_language_than_the_paper_it_says_which_that_is_in(
        self, pages: Reader, held: SmallMeet
    ) -> None:
        """A visiting crew presses the button on an Arabic page, and gets the club's language."""
        address = f"/crew-sheets/{held.rotation_id}"
        assert "language of the club" not in pages.get(address).text
        assert "تُطبع بلغة النادي: English" in pages.get(f"{address}?lang=ar").text.translate(
            dict.fromkeys(map(ord, "\u2066\u2067\u2068\u2069"))
        )

    @pytest.mark.parametrize("hands", ["3", "0", "-1", "99999999999999999999"])
    def test_no_crew_is_a_sentence_and_no_fault(
        self, pages: Reader, held: SmallMeet, hands: str
    ) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}?hands={hands}")
        assert page.status in (200, 400)


class TestTheFiles:
    def test_one_rotation_and_a_whole_session_on_paper(
        self, pages: Reader, held: SmallMeet
    ) -> None:
        for address, name in (
            (f"/crew-sheets/{held.rotation_id}/sheet.pdf", "session-1-rotation-1.pdf"),
            (f"/crew-sheets/sessions/{held.session_id}/sheets.pdf", "session-1.pdf"),
        ):
            answer = pages.client.get(address)
            assert answer.headers["Content-Type"] == "application/pdf"
            assert answer.headers["Content-Disposition"] == (
                f'attachment; filename="crew-sheet-{name}"'
            )
            assert "Almira O." in " ".join(page_texts(answer.data))

    def test_and_as_spreadsheets(self, pages: Reader, held: SmallMeet) -> None:
        for address in (
            f"/crew-sheets/{held.rotation_id}/sheet.xlsx",
            f"/crew-sheets/sessions/{held.session_id}/sheets.xlsx",
        ):
            book = openpyxl.load_workbook(BytesIO(pages.client.get(address).data))
            page = book.worksheets[0]
            first = next(row for row in page.iter_rows(values_only=True) if row[0] == 1)
            assert first[2] == "Almira O."

    def test_a_session_without_start_orders_says_so(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.meet(session, held.meet_id)
            empty = meets.add_session(session, meet.id, "", meet.facts.begins_on)
        page = pages.get(f"/crew-sheets/sessions/{empty.id}/sheets.pdf")
        assert "no start order yet" in page.text


class TestWhatWasPrinted:
    def test_is_known_to_be_old_and_made_anew_with_one_press(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        pages.get(f"/crew-sheets/{held.rotation_id}").send("Print (PDF)")
        page = pages.get(f"/meets/{held.meet_id}").follow("Papers that are out of date")
        assert "still says what counts" in page.text
        with demo_club.work(writes=True) as session:
            withdrawal.withdraw(session, held.guests[0].entry_id)

        page = pages.get(page.address)
        assert "Session 1: Juniors, rotation 1, Bars by the window" in page.text
        page = page.send("Print new ones of all these")
        paper = pages.client.get(page.links["Crew sheets (PDF)"])
        assert "Scratched: does not come" in " ".join(" ".join(page_texts(paper.data)).split())
        assert "Cards (PDF)" not in page.links
        assert "still says what counts" in page.follow("Back to what was printed").text

    def test_a_whole_session_is_printed_at_once(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        page = pages.get(f"/meets/{held.meet_id}")
        said = next(one for one in map(words, page.tree.iter("button")) if one.startswith("Crew"))
        page.send(said)
        with demo_club.work() as session:
            assert kept_rotations.start_order_of(session, held.rotation_id).printed_version


class TestWhileItsRunIsUnderWay:
    def test_what_the_jury_said_at_the_apparatus_is_on_every_page_of_the_order(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        """Whoever sets by the paper when no phone gets through must learn that it is old."""
        pages.get(f"/crew-sheets/{held.rotation_id}").send("Print (PDF)")
        going = begun(demo_club, held)
        up(demo_club, going)
        page = pages.get(f"/crew-sheets/{held.rotation_id}")
        assert "still holds for the turns that are left" in page.text
        press(demo_club, going, lambda now: next_up(now.run, held.guests[2].member.id))

        page = pages.get(f"/crew-sheets/{held.rotation_id}")
        assert "does not hold any more" in page.text
        assert page.text.index("2. Noor H.") < page.text.index("3. Sunniva B.")
        page = pages.get(f"/start-orders/{held.rotation_id}")
        assert "The order was changed at the apparatus" in page.text
        assert page.text.index("Noor H.") < page.text.index("Sunniva B.")
        page = pages.get(f"/meets/{held.meet_id}").follow("Papers that are out of date")
        assert "Session 1: Juniors, rotation 1, Bars by the window" in page.text

    def test_out_of_use_the_pages_lead_on_to_another_apparatus(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        pages.get(f"/crew-sheets/{held.rotation_id}").send("Print (PDF)")
        going = begun(demo_club, held)
        had_a_turn(demo_club, going)
        with demo_club.work(writes=True) as session:
            found = findings.add_finding(
                session, held.apparatus_id, "cable frayed", withdraws=True, press_key="a"
            )
        page = pages.get(f"/findings/{found.id}").follow(
            "Lantern Cup, session 1, rotation 1, Bars by the window"
        )
        page = page.follow("Go on elsewhere")
        assert "2 turns are left here: Bellaquer, Sunniva; Halvardsen, Noor" in page.text
        page = page.follow("Set a start order for who is left")
        [box] = page.tree.iter("textarea")
        assert box.text.split("\n")[-2:] == ["12 Bellaquer, Sunniva", "13 Halvardsen, Noor"]

        with demo_club.work(writes=True) as session:
            desk_run.end(session, going)
        page = pages.get(f"/meets/{held.meet_id}").follow("Papers that are out of date")
        assert "set nothing by them" in page.text
        assert "still says what counts" not in page.text

    def test_an_apparatus_with_orders_stays_at_the_meet_and_its_page_leads_on(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        address = f"/meets/{held.meet_id}/apparatus?piece={held.apparatus_id}"
        page = pages.get(address).send("Not at this meet (Bars by the window)")
        assert "delete them first, each on its page" in page.text
        begun(demo_club, held)
        page = pages.get(address).send("Not at this meet (Bars by the window)")
        assert "What was begun stays on record" in page.text
        assert page.follow("Open the start order").heading.startswith("Start order")


class TestAnAddressThatWasTyped:
    @pytest.mark.parametrize(
        "address",
        [
            "/crew-sheets/some.pdf?rotation={}",
            "/meets/MEET/cards/?apparatus={}&entry={}",
            "/meets/MEET/cards/?card={}-{}",
            "/apparatus-sheets/sheet?apparatus={}",
        ],
    )
    @pytest.mark.parametrize("number", [2**70, -1, "x", ""])
    def test_with_a_number_that_nothing_has_is_no_fault(
        self, pages: Reader, held: SmallMeet, address: str, number: object
    ) -> None:
        page = pages.get(address.replace("MEET", str(held.meet_id)).format(number, number))
        assert page.status < 500
