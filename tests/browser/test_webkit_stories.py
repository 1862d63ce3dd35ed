"""The card, the bars and the station in WebKit: most phones that come are iPhones."""

from urllib.parse import urlsplit

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.checks import findings
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations.stations import StationCodes
from settingsdesk.domain.settings.card import Card
from tests.browser.conftest import Served
from tests.browser.webkit import WebKitPhone
from tests.conftest import DemoClub

IS_STYLED = "parseFloat(getComputedStyle(document.querySelector('.button')).minHeight) >= 48"
IS_OLD = "document.querySelector('.station').classList.contains('old')"


def checked(phone: WebKitPhone, by: str) -> None:
    """From wherever the change-over stands until the athlete is on."""
    if phone.offers("All steps are done"):
        phone.tap("All steps are done")
    if by == "Checked alone":
        phone.tick("on-paper")
    else:
        phone.fill("Who checked: name or initials", "Signe Moe")
    phone.tap(by)
    phone.waits_for_heading(" is on")


class TestTheCard:
    def test_the_code_opens_the_marks_and_what_is_wrong_can_be_told(
        self, iphone: WebKitPhone, printed: list[Card], demo_club: DemoClub
    ) -> None:
        """A parent's phone at home, a volunteer's at the bars."""
        iphone.open(urlsplit(printed[0].url).path)

        iphone.waits_for_heading("Almira O.")
        iphone.waits_for("✓ Current")
        iphone.assert_no_sideways_scroll()
        iphone.press("Tell the coach that something is wrong")
        iphone.assert_no_sideways_scroll()
        iphone.fill("What is wrong", "The low rail felt high")
        iphone.press("Tell the coach")

        with demo_club.work() as session:
            [remark] = remarks.unanswered(session)
        assert remark.said == "The low rail felt high"


class TestTheBars:
    def test_a_turn_is_carried_out(self, iphone_of_coach: WebKitPhone, demo_club: DemoClub) -> None:
        """The coach's own phone, alone at the bars."""
        phone = iphone_of_coach
        phone.open("/rotations/1")
        phone.press("Take it to the bars")
        phone.assert_no_sideways_scroll()
        checked(phone, "Checked alone")
        phone.tap("The turn is over")
        phone.waits_until("!document.querySelector('h1').innerText.endsWith(' is on')")

        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            assert len(view.run.over) == 1
            findings.add_finding(session, view.piece.id, "Cracked", withdraws=True, press_key="p")
        phone.waits_for_heading("is out of use")


class TestTheStation:
    def test_what_is_confirmed_while_the_desk_is_gone_counts_once_it_is_back(
        self, iphone: WebKitPhone, served: Served, codes: StationCodes, demo_club: DemoClub
    ) -> None:
        """In a hall whose network comes and goes."""
        iphone.open("/S/" + codes.url.rpartition("/")[2])
        iphone.fill("The name your crew uses", "Ivo")
        iphone.press("Join")
        iphone.tick("of-day")
        iphone.tap("Begin rotation 1")
        iphone.waits_for_heading("Almira O.")
        iphone.assert_no_sideways_scroll()
        checked(iphone, "Checked by a second person")

        iphone.waits_for_copy()
        served.stop()
        iphone.tap("The turn is over")
        iphone.waits_for("What you confirmed is not sent yet")
        iphone.waits_for("Not live since")
        iphone.waits_until(IS_OLD)
        assert iphone.heading == "Almira O. is on"
        iphone.load_anew()
        iphone.waits_for("A copy that this phone kept on")
        iphone.waits_for("What you confirmed is not sent yet")
        assert iphone.heading == "Almira O. is on"
        iphone.waits_until(IS_OLD)
        iphone.waits_until(IS_STYLED)
        served.start()
        iphone.waits_for_heading("Sunniva B.")
        iphone.waits_until(f"!{IS_OLD}")

        with demo_club.work() as session:
            told = [type(event.what).__name__ for event in desk_run.run(session, 1).events]
        assert told.count("TurnOver") == 1
