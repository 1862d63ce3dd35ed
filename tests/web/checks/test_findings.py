"""Findings on the pages, and what a withdrawn apparatus means everywhere else."""

from io import BytesIO

import pytest

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.cards.issued import issue as issue_cards
from settingsdesk.desk.checks import findings
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.store.work import Store
from tests.conftest import Account, DemoClub
from tests.desk.checks.pictures import jpeg
from tests.desk.sample_hall import furnish
from tests.web.cards.making import issue
from tests.web.pages import Page, Reader
from tests.web.rotations.making import first_ids, new_page

REPORT = "Report the fault"


@pytest.fixture
def fault(pages: Reader, store: Store, account: Account) -> Page:
    """The page on which a fault of the bars is reported."""
    furnish(store, account.club_id)
    return pages.get("/findings/apparatus/1/new")


@pytest.fixture
def withdrawn(demo_club: DemoClub) -> DemoClub:
    """The demo club, with the bars of its first rotation withdrawn."""
    with demo_club.work(by="Odo", writes=True) as session:
        findings.add_finding(
            session, 1, "Rail split", withdraws=True, press_key="x", remark="by Lia's hand"
        )
    return demo_club


class TestReportingAFault:
    def test_it_withdraws_only_what_somebody_withdraws(self, fault: Page):
        """Nothing is chosen beforehand; not choosing is no choice."""
        page = fault.send(REPORT, words="Rail split")
        assert page.mistakes == ["Choose what follows. When in doubt, out of use"]
        assert page.value("words") == "Rail split"

    def test_from_report_to_release(self, fault: Page, pages: Reader):
        page = fault.send(
            REPORT, words="Rail split", withdraws="yes", photo=(BytesIO(jpeg()), "a.jpg")
        )
        assert "Bars 1 is out of use" in page.banners[0]
        assert len(list(page.tree.iter("img"))) == 1
        page = page.send("Record the step", step="reported", remark="By telephone")
        page = page.send("Record the step", step="repaired", remark="Rail changed")
        assert "Out of use" in pages.get("/apparatus/1").text
        assert "Remark (optional)" not in page.text  # a release is refused without its reason
        refused = page.send("Record the step", step="released")
        assert "Enter the reason for the release" in refused.mistakes[0]
        page = refused.send("Record the step", step="released", remark="Tried by two")
        assert page.banners == ["The finding is released."]
        assert "Next step" not in page.text
        assert "Out of use" not in pages.get("/apparatus/1").text

    def test_once_it_is_repaired_the_page_asks_for_the_check_that_counts(self, fault: Page):
        page = fault.send(REPORT, words="Rail split", withdraws="yes")
        assert "Record first that it is repaired" in page.text
        page = page.send("Record the step", step="repaired", remark="new rail")
        assert "made now, it counts after the release" in page.text
        assert page.follow("check before use").heading == "Check before use: Bars 1"

    def test_pressing_twice_reports_it_once(self, fault: Page, pages: Reader):
        for _ in range(2):
            page = fault.send(REPORT, words="Rail split", withdraws="no")
            assert page.address == "/findings/1"
        assert pages.get("/findings/2").status == 404

    def test_a_script_is_no_photo_and_nothing_typed_is_lost(self, fault: Page):
        page = fault.send(
            REPORT, words="Rail split", withdraws="yes", photo=(BytesIO(b"<script>"), "a.jpg")
        )
        assert page.status == 400
        assert "no JPEG or PNG picture" in page.mistakes[0]
        assert page.value("words") == "Rail split"

    def test_of_two_coaches_the_second_is_told(self, fault: Page):
        page = fault.send(REPORT, words="Rail split", withdraws="yes")
        page.send("Record the step", step="released", remark="Changed")
        late = page.send("Record the step", step="repaired", remark="Glued")
        assert late.status == 409
        assert "Somebody may have been here before you" in late.text

    def test_words_of_others_are_shown_as_words(self, fault: Page):
        page = fault.send(REPORT, words="<b>Rail</b> & 'pin'", withdraws="no")
        assert "<b>Rail</b> & 'pin'" in page.text

    def test_the_report_says_what_the_company_needs(self, fault: Page, pages: Reader):
        fault.send(REPORT, words="Rail split", withdraws="yes", remark="left third")
        page = pages.get("/findings/apparatus/1/report")
        for told in ("Defects", "Rail split", "left third", "out of use", "Re-checks"):
            assert told in page.text
        answer = pages.client.get("/findings/apparatus/1/report.pdf")
        assert answer.data.startswith(b"%PDF")


class TestAWithdrawnApparatus:
    def test_its_rotation_is_not_ordered_and_the_page_says_who_when_and_why(
        self, withdrawn: DemoClub, demo_pages: Reader
    ):
        page = demo_pages.get("/rotations/1")
        assert "Bars by the window is out of use" in page.text
        refused = demo_pages.post("/rotations/1/order", {"csrf_token": _token(page)})
        assert refused.status == 409
        assert "by Odo: Rail split" in refused.text
        assert "a coach releases it, with a reason" in refused.text

    def test_no_new_rotation_is_made_on_it(self, withdrawn: DemoClub, demo_pages: Reader):
        assert "Out of use" in demo_pages.get("/rotations/new").text

    def test_nor_from_a_form_that_was_open_when_it_was_withdrawn(
        self, demo_club: DemoClub, demo_pages: Reader
    ):
        form = new_page(demo_pages)
        with demo_club.work(by="Odo", writes=True) as session:
            findings.add_finding(session, 1, "Split", withdraws=True, press_key="x")
        page = form.send("Plan the rotation", who=first_ids(form, 3))
        assert page.status == 409
        assert "by Odo: Split" in page.text

    def test_whoever_scans_a_card_is_told_and_shown_no_mark(
        self, withdrawn: DemoClub, scanner: Reader
    ):
        """A volunteer in a loud hall does what the large figures say."""
        page = scanner.get(issue(withdrawn))
        assert "Bars by the window is out of use" in page.text
        assert "Do not set it" in page.text
        assert page.having("class", "figures") == []
        assert list(page.tree.iter("figure")) == []

    def test_nothing_of_the_clubs_own_is_told_to_a_stranger(
        self, withdrawn: DemoClub, scanner: Reader
    ):
        """A remark may name a child."""
        page = scanner.get(issue(withdrawn))
        for told in ("Odo", "Rail split", "Lia"):
            assert told not in page.text

    def test_at_another_apparatus_the_card_still_speaks(self, withdrawn: DemoClub, scanner: Reader):
        page = scanner.get(f"{issue(withdrawn)}?apparatus=2")
        assert "withdrawn from use" not in page.text
        assert page.having("class", "figures") != []

    def test_whoever_types_a_short_code_is_told_too(self, withdrawn: DemoClub, demo_pages: Reader):
        code_key = CodeKey(withdrawn.data.card_key(), "http://127.0.0.1:5000")
        with withdrawn.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            [card] = issue_cards(session, code_key, view.piece.id, [view.listed[0].id])
        page = demo_pages.get("/cards/").send("Find the card", code=card.short_code)
        assert "Bars by the window is out of use" in page.text


class TestParts:
    def test_a_shortage_stands_on_todays_page_until_it_is_counted(self, demo_pages: Reader):
        assert "Quick-release pin" in demo_pages.get("/").text
        page = demo_pages.get("/parts/").follow("Quick-release pin")
        page = page.send("Save the count", counted="2")
        assert page.banners == ["Quick-release pin: 2 counted."]
        assert "Quick-release pin" not in demo_pages.get("/").text

    def test_low_stock_says_how_many_of_how_many(self, demo_pages: Reader):
        """Or that nobody has counted, of a part that was only just put on the list."""
        demo_pages.get("/parts/").send("Add the part", name="Spare rail", minimum="2")
        page = demo_pages.get("/parts/")
        assert "Low: 1 of 2" in page.text
        assert "At least 2 ! Low: none counted" in page.text

    def test_what_is_suggested_is_one_press_away(self, demo_pages: Reader):
        page = demo_pages.get("/parts/").send("Add spare rail, parallel bars")
        assert page.heading == "Spare rail, parallel bars"

    def test_a_name_twice_is_refused(self, demo_pages: Reader):
        page = demo_pages.get("/parts/").send("Add the part", name="Quick-release pin")
        assert page.status == 400


class TestToday:
    def test_what_wants_looking_after_is_named(self, withdrawn: DemoClub, demo_pages: Reader):
        text = demo_pages.get("/").text
        assert "Out of use Rail split" in text
        assert "No check before use today of Parallel bars by the mirror" in text
        assert "Overdue Operational check of Vault table" in text
        assert "Due soon Operational check of Beam by the stage" in text
        assert "Cover of the table loose" in text


def _token(page: Page) -> str:
    return next(
        one.get("value", "") for one in page.tree.iter("input") if one.get("name") == "csrf_token"
    )
