"""Checks on the pages: made item by item on a phone, with nothing lost and nothing guessed."""

from datetime import timedelta
from io import BytesIO

import pytest
from flask import Flask

from settingsdesk.desk.checks import check_lists, checks, findings
from settingsdesk.desk.clock import today
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.checks.checks import Group, Occasion
from settingsdesk.domain.checks.findings import Step
from settingsdesk.store.work import Store
from settingsdesk.web.frame.bodies import MOST_REQUEST_BYTES
from tests.conftest import Account, new_account
from tests.desk.checks.pictures import SECRET, jpeg
from tests.desk.sample_hall import BY, Hall, furnish
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words

FINISH = "Finish the check"
SCRIPT = b"<script>alert(1)</script>"


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


@pytest.fixture
def before_use(pages: Reader, hall: Hall) -> Page:
    return pages.get(f"/checks/apparatus/{hall.bars}/before_use")


def answers(occasion: Occasion = Occasion.BEFORE_USE, **other: object) -> dict[str, object]:
    """Every item in order, and what is answered otherwise."""
    items = check_lists.shipped_list("uneven_bars", occasion).items
    return {f"answer-{item.key}": "in_order" for item in items} | {
        name.replace("__", "-"): value for name, value in other.items()
    }


def made(store: Store, hall: Hall) -> list[checks.Check]:
    with store.work(hall.club_id, writes=False) as session:
        return checks.checks_of(session, hall.bars)


class TestMakingACheck:
    def test_nothing_is_answered_beforehand(self, before_use: Page):
        """An item that is in order by itself was looked at by nobody."""
        chosen = [one for one in before_use.tree.iter("input") if one.get("checked") is not None]
        assert chosen == []

    def test_a_remark_that_some_answers_need_is_not_called_optional(self, before_use: Page):
        """Who left it empty beside "needs attention" was refused for what was optional."""
        [label] = {
            words(one) for one in before_use.tree.iter("label") if "Remark" in words(one)
        } - {"Remark on the whole check (optional)"}
        assert label == "Remark"

    def test_the_cautions_stand_before_the_work(self, before_use: Page):
        text = before_use.text
        assert text.index("When in doubt: out of use") < text.index("Closures of the cable ends")
        assert "DGUV Information 202-044, section 3" in text
        assert "common practice, no source" in text

    def test_it_is_kept_with_who_made_it_and_where(self, before_use: Page):
        page = before_use.send(FINISH, **answers(second_by="Odo"))
        assert page.heading == "Check before use: Bars 1"
        assert page.banners == ["The check is saved."]
        assert "Made by Edda Quill Second check Odo".replace(" ", "") in page.text.replace(" ", "")

    def test_lone_work_is_recorded_as_such(self, before_use: Page):
        page = before_use.send(FINISH, **answers())
        assert "None: the check was made alone" in page.text

    def test_a_withdrawal_says_at_once_what_it_means(self, before_use: Page, pages: Reader):
        page = before_use.send(
            FINISH, **answers(answer__laminate="withdraw", remark__laminate="splinter, left")
        )
        assert "Bars 1 is out of use until a coach releases it" in page.banners[0]
        assert "splinter, left" in pages.get("/apparatus/1").text
        assert "Out of use" in pages.get("/").text

    def test_pressing_twice_makes_one_check(self, before_use: Page, store: Store, hall: Hall):
        sent = answers(answer__laminate="note", remark__laminate="splinter")
        assert before_use.send(FINISH, **sent).status == 200
        assert before_use.send(FINISH, **sent).status == 200
        assert len(made(store, hall)) == 1


class TestACheckThatDoesNotCount:
    """Who reads that none was made today looks for the one that he made an hour ago."""

    def test_out_of_use_and_released_it_says_why_until_it_is_made_anew(
        self, before_use: Page, pages: Reader, store: Store, hall: Hall
    ):
        before_use.send(FINISH, **answers())
        with store.work(hall.club_id, by=BY, writes=True) as session:
            found = findings.add_finding(
                session, hall.bars, "A cable frays", withdraws=True, press_key="p"
            )
        shown = (f"/apparatus/{hall.bars}", f"/checks/apparatus/{hall.bars}")
        for address in shown:
            text = pages.get(address).text
            assert "The check of today does not count: Bars 1 is out of use" in text
            assert "Not today" not in text

        with store.work(hall.club_id, by=BY, writes=True) as session:
            findings.take_step(session, found.id, Step.RELEASED, "new cable, tried")
        for address in shown:
            text = pages.get(address).text
            assert "does not count any more: it was made before Bars 1 was released" in text
            assert "Not today" not in text
        assert "Check before use ! Does not count" in pages.get("/checks/").text

        pages.get(f"/checks/apparatus/{hall.bars}/before_use").send(FINISH, **answers())
        assert f"Made today last on {day_in_words(today())}" in pages.get(shown[0]).text


class TestWhatIsToBeLookedAtAgain:
    """Left by one check, it stands in every other until one answers it."""

    @pytest.fixture
    def noted(self, before_use: Page, pages: Reader) -> Page:
        day = today().isoformat()
        before_use.send(FINISH, **answers(recheck="the pin", recheck_on=day))
        return pages.get("/checks/apparatus/1/before_use")

    def test_untouched_it_stays_on_the_days_page(self, noted: Page, pages: Reader):
        assert "What you leave untouched stays open".lower() in noted.text.lower()
        assert noted.send(FINISH, **answers()).banners == ["The check is saved."]
        assert "Check again the pin, by" in pages.get("/").text
        assert "the pin, by" in pages.get("/checks/apparatus/1").text

    def test_the_tick_for_the_items_left_does_not_cover_it(self, noted: Page, pages: Reader):
        noted.send(FINISH).send(FINISH, rest="y")
        assert "Check again the pin, by" in pages.get("/").text

    def test_answered_it_is_gone_and_on_record(self, noted: Page, pages: Reader):
        page = noted.send(FINISH, **answers(**{"answer-again-1": "in_order"}))
        assert "To check again; noted in the check of" in page.text
        assert "Check again" not in pages.get("/").text
        again = pages.get("/checks/apparatus/1/before_use")
        assert "To check again" not in [one.text for one in again.tree.iter("h2")]

    def test_it_stands_before_every_other_item(self, noted: Page):
        headings = [words(one) for one in noted.tree.iter("h2")]
        assert headings[0] == "To check again"

    def test_a_day_before_the_check_is_refused_beside_it(self, before_use: Page):
        """A slip of the year would otherwise be overdue at once, or never seen."""
        day = today() - timedelta(days=1)
        page = before_use.send(FINISH, **answers(recheck="the pin", recheck_on=day.isoformat()))
        assert page.status == 400
        [said] = page.mistakes
        assert said.startswith("The day by which it is looked at again must be")
        assert day_in_words(day) in said

    def test_what_nobody_looked_at_by_its_day_is_overdue(self, before_use: Page, pages: Reader):
        made, by = today() - timedelta(days=9), today() - timedelta(days=2)
        sent = answers(recheck="the pin", recheck_on=by.isoformat(), made_on=made.isoformat())
        before_use.send(FINISH, **sent)
        told = f"✕ Overdue the pin, by {day_in_words(by)}"
        assert told in pages.get("/").text
        assert told in pages.get("/checks/apparatus/1").text


class TestItemsLeftOut:
    def test_nothing_is_kept_and_the_first_is_named(self, before_use, store, hall):
        page = before_use.send(FINISH, **{"answer-laminate": "in_order"})
        assert page.status == 400
        [mistake] = page.mistakes
        assert mistake.startswith("23 items are not answered yet; the first is “Closures of the")
        assert made(store, hall) == []

    def test_a_second_press_puts_the_untouched_in_order_and_the_record_says_so(self, before_use):
        page = before_use.send(FINISH, **{"answer-laminate": "in_order"})
        assert "I have looked at each of the 23 items left" in page.text
        page = page.send(FINISH, rest="y")
        assert page.status == 200
        assert "23 items were answered together in one press" in page.text

    def test_the_tick_is_not_there_before_the_items_were_shown(self, before_use, store, hall):
        """A request made by hand gets no check that nobody made."""
        assert before_use.send(FINISH, rest="y").status == 400
        assert made(store, hall) == []

    def test_the_tick_covers_only_what_it_was_offered_for(self, before_use, store, hall):
        page = before_use.send(FINISH, **answers(**{"answer-laminate": ""}))
        assert "the 1 item left" in page.text
        page = page.send(FINISH, rest="y", **{"answer-pads": ""})
        assert page.status == 400
        assert made(store, hall) == []

    def test_in_a_yearly_check_there_is_no_such_tick(self, pages: Reader, hall: Hall):
        page = pages.get("/checks/apparatus/1/yearly").send(FINISH)
        assert page.status == 400
        assert "untouched" not in page.text


class TestASectionAtOnce:
    def test_one_tick_answers_the_mats_and_the_record_says_so(self, before_use: Page):
        """After they were looked at; what somebody hangs on is answered piece by piece."""
        items = check_lists.shipped_list("uneven_bars", Occasion.BEFORE_USE).items
        mats = [item for item in items if item.group is Group.MATS_AND_PADS]
        untouched = {f"answer-{item.key}": "" for item in mats}

        page = before_use.send(FINISH, together=["mats_and_pads"], **(answers() | untouched))

        assert page.status == 200
        assert f"{len(mats)} items were answered together in one press" in page.text

    def test_there_is_none_for_what_somebody_hangs_on(self, before_use: Page, store, hall):
        offered = [one.get("value") for one in before_use.having("name", "together")]
        assert offered == ["mats_and_pads"]
        token = {"csrf_token": before_use.token, "version": "0", "press": "by hand"}
        sent = answers(**{"answer-screw_locks": ""}) | token
        refused = before_use.reader.post(before_use.address, {**sent, "together": ["locks"]})
        assert refused.status == 400
        assert made(store, hall) == []

    def test_there_is_none_in_a_yearly_check(self, pages: Reader, hall: Hall):
        assert pages.get("/checks/apparatus/1/yearly").having("name", "together") == []


class TestPhotos:
    def test_a_photo_goes_with_its_item(self, before_use: Page, pages: Reader):
        page = before_use.send(
            FINISH,
            **answers(
                answer__laminate="withdraw",
                remark__laminate="splinter",
                photo__laminate=(BytesIO(jpeg()), "me.jpg"),
            ),
        )
        [picture] = list(page.tree.iter("img"))
        answer = pages.client.get(picture.get("src"))
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert SECRET not in answer.data

    def test_a_script_named_like_a_photo_is_refused_and_nothing_typed_is_lost(self, before_use):
        page = before_use.send(
            FINISH,
            **answers(
                answer__laminate="note",
                remark__laminate="splinter",
                photo__laminate=(BytesIO(SCRIPT), "rail.jpg"),
            ),
        )
        assert page.status == 400
        [mistake] = page.mistakes
        assert mistake.startswith("This file is no JPEG or PNG picture that can be read. Take")
        assert page.value("remark-laminate") == "splinter"
        again = page.send(FINISH)
        assert again.banners == ["The check is saved."]

    def test_a_good_photo_waits_while_the_rest_is_put_right(self, before_use: Page):
        """A browser does not fill in a file a second time; nobody climbs up twice for it."""
        page = before_use.send(
            FINISH,
            **answers(
                answer__laminate="note",
                photo__laminate=(BytesIO(jpeg()), "rail.jpg"),
            ),
        )
        assert page.status == 400
        assert "Photo kept" in page.text
        assert "choose it again" not in page.text
        page = page.send(FINISH, **{"remark-laminate": "splinter"})
        assert len(list(page.tree.iter("img"))) == 1

    def test_another_club_does_not_get_it_nor_does_a_stranger(
        self, before_use: Page, app: Flask, store: Store, stranger: Reader
    ):
        page = before_use.send(FINISH, **answers(photo__pads=(BytesIO(jpeg()), "a.jpg")))
        [picture] = [one.get("src") for one in page.tree.iter("img")]
        other = signed_in(app, new_account(store, "Hillside", "runa", "Runa"))
        assert other.get(picture).status == 404
        assert stranger.client.get(picture).status_code == 303


class TestLargeForms:
    @pytest.mark.parametrize(("who", "status"), [("stranger", 413), ("pages", 400)])
    def test_only_a_coach_may_send_more_than_a_sheet(
        self, request: pytest.FixtureRequest, hall: Hall, who: str, status: int
    ):
        """400: read, and refused for want of the form's token; 413: not read at all."""
        reader: Reader = request.getfixturevalue(who)
        sent = b"".join(
            [
                b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n',
                b"0" * (MOST_REQUEST_BYTES + 1),
                b"\r\n--x--\r\n",
            ]
        )
        answer = reader.client.post(
            "/findings/apparatus/1/new", data=sent, content_type="multipart/form-data; boundary=x"
        )
        assert answer.status_code == status
        answer.request.input_stream.close()


class TestBadInput:
    def test_a_remark_without_end_is_refused_and_stays(self, before_use: Page):
        remark = "x" * 10_000
        page = before_use.send(FINISH, **answers(answer__laminate="note", remark__laminate=remark))
        assert page.mistakes == ["Remark must have 2000 letters or fewer; it has 10000"]
        assert page.value("remark-laminate") == remark

    def test_an_item_that_is_not_on_the_list_is_refused(self, before_use, store, hall):
        page = before_use.send(FINISH, **answers(answer__ghost="in_order"))
        assert page.status == 400
        assert "The list has no item 'ghost'" in page.mistakes[0]
        assert made(store, hall) == []

    def test_an_answer_that_there_is_not_is_refused(self, before_use, store, hall):
        assert before_use.send(FINISH, **answers(answer__pads="fine")).status == 400
        assert made(store, hall) == []

    def test_a_note_without_a_word_is_asked_for_it(self, before_use: Page):
        page = before_use.send(FINISH, **answers(answer__pads="note"))
        assert page.mistakes == ["Pads of uprights and supports in place: say what you saw"]

    def test_a_list_changed_while_it_is_filled_in_keeps_the_answers(self, before_use, store, hall):
        with store.work(hall.club_id, by=BY, writes=True) as session:
            shown = check_lists.check_list(session, "uneven_bars", Occasion.BEFORE_USE)
            lines = [(item.group, item.words) for item in shown.items[1:]]
            check_lists.keep_list(session, shown, [*lines, (Group.LOCKS, "Red lever")], None)
        page = before_use.send(FINISH, **answers(second_by="Odo"))
        assert page.status == 400
        assert "was changed while this check was being filled in" in page.mistakes[0]
        assert page.value("second_by") == "Odo"
        page = page.send(FINISH, **{"answer-own_1_24": "in_order"})
        assert page.banners == ["The check is saved."]
        assert "version 1" in page.text

    def test_a_day_to_come_and_an_occasion_that_there_is_not(self, before_use, pages):
        page = before_use.send(FINISH, **answers(made_on="2999-01-01"))
        assert "1 January 2999 is to come" in page.mistakes[0]
        assert pages.get("/checks/apparatus/1/sometimes").status == 404
        assert pages.get("/checks/apparatus/99/before_use").status == 404

    def test_an_apparatus_withdrawn_a_second_ago_can_still_be_checked(
        self, before_use, store, hall
    ):
        """The answers are worth most just then."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            findings.add_finding(session, hall.bars, "Split", withdraws=True, press_key="x")
        page = before_use.send(FINISH, **answers())
        assert page.status == 200
        assert "Bars 1 is out of use" in page.text


class TestPaper:
    def test_a_record_is_a_pdf_to_be_kept(self, before_use: Page, pages: Reader):
        page = before_use.send(FINISH, **answers())
        answer = pages.client.get(page.links["Record on paper (PDF)"])
        assert answer.data.startswith(b"%PDF")
        assert answer.headers["Content-Disposition"] == 'attachment; filename="check-1.pdf"'


class TestTheLists:
    def test_every_kind_and_occasion_is_there_with_its_source(self, pages: Reader, hall: Hall):
        page = pages.get("/check-lists/").follow("Yearly check, rings")
        assert page.heading == "Yearly check, rings"
        assert "29 CFR 1910.184 and 30 CFR 56.19024" in page.text

    def test_it_is_changed_and_put_back(self, pages: Reader, hall: Hall):
        room = "/check-lists/rings/operational"
        pages.get(room).send("Save the list", locks="Red lever down", months="1")
        page = pages.get(room)
        assert "the club's own" in page.text
        assert page.value("months") == "1"
        page = page.send("Use the shipped list again")
        assert "the shipped list counts again" in page.banners[0]
        assert page.value("months") == "3"
        assert "2, back to the shipped list" in page.text

    def test_of_two_coaches_the_second_is_told_and_keeps_what_was_typed(self, pages, hall):
        first = pages.get("/check-lists/rings/before_use")
        pages.get("/check-lists/rings/before_use").send("Save the list", locks="Mine")
        page = first.send("Save the list", locks="His")
        assert page.status == 400
        assert "was changed while the page was open" in page.mistakes[0]
        assert page.value("locks") == "His"

    def test_more_seldom_than_it_may_be_is_refused(self, pages: Reader, hall: Hall):
        page = pages.get("/check-lists/rings/operational").send("Save the list", months="4")
        assert page.mistakes == ["Made at least every must be between 1 and 3"]
