"""The page on which owners say who may sign in."""

from datetime import timedelta

import pytest
from flask import Flask

from settingsdesk.desk.accounts.accounts import add_account
from settingsdesk.desk.clock import today
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.store.work import Store
from tests.conftest import Account, DemoClub, new_account
from tests.web.pages import Reader

BOS = "nine quiet otters juggling"


@pytest.fixture
def bo(app: Flask, store: Store, account: Account) -> Reader:
    """A coach of the club, signed in on a phone."""
    add_account(store, account.club_id, "bo", "Bo Larch", BOS)
    reader = Reader(app)
    reader.sign_in("bo", BOS)
    return reader


class TestInviting:
    def test_the_whole_way_from_the_form_to_the_first_page(self, app: Flask, pages: Reader) -> None:
        """The owner sends a link; who opens it chooses the password and is in."""
        page = pages.get("/account").follow("Who may sign in")
        page = page.send("Make the link", shown_name="Dag Ferro", role="helper")
        assert page.banners == ["The link for Dag Ferro is below: send it to nobody else."]
        [link] = [one.text or "" for one in page.having("class", "link")]
        dag = Reader(app)

        asked = dag.get(link.removeprefix("http://127.0.0.1:5000"))
        assert "Edda Quill invites Dag Ferro to join Harbour Gymnastics as a helper" in asked.text
        assert asked.response.headers["Referrer-Policy"] == "no-referrer"
        inside = asked.send("Save and sign in", sign_in_name="dag", new=BOS)

        assert inside.heading == "Today"
        assert "Helper" in dag.get("/account").text
        again = Reader(app).get(asked.address)
        assert (again.status, again.heading) == (410, "This is no longer here")
        assert "Dag Ferro" in pages.get("/people/").text
        assert pages.get("/people/").having("class", "link") == []

    def test_a_name_that_is_taken_and_a_weak_password_are_said_at_their_fields(
        self, app: Flask, pages: Reader
    ) -> None:
        page = pages.get("/people/").send("Make the link", shown_name="Dag Ferro", role="coach")
        [link] = [one.text or "" for one in page.having("class", "link")]
        asked = Reader(app).get(link.removeprefix("http://127.0.0.1:5000"))

        taken = asked.send("Save and sign in", sign_in_name="Edda", new=BOS)
        assert list(taken.links_of_mistakes.values()) == ["#sign_in_name"]
        weak = taken.send("Save and sign in", sign_in_name="dag", new="gymnastics2026")
        assert list(weak.links_of_mistakes.values()) == ["#new"]

    def test_a_link_is_taken_back(self, app: Flask, pages: Reader) -> None:
        page = pages.get("/people/").send("Make the link", shown_name="Dag Ferro", role="coach")
        [link] = [one.text or "" for one in page.having("class", "link")]

        page.send("Cancel the link of Dag Ferro")

        assert Reader(app).get(link.removeprefix("http://127.0.0.1:5000")).status == 410


class TestTwoClubs:
    def test_one_account_joins_another_club_and_changes_between_them_by_a_press(
        self, app: Flask, store: Store, pages: Reader
    ) -> None:
        """The head of each page says for which it acts; what it may is each club's matter."""
        page = pages.get("/people/").send("Make the link", shown_name="Cy Moor", role="helper")
        [link] = [one.text or "" for one in page.having("class", "link")]
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = Reader(app)
        cy.sign_in("cy", "lanterns over seven wet cy roofs")

        joined = cy.get(link.removeprefix("http://127.0.0.1:5000")).send("Join as cy")
        assert "Harbour Gymnastics" in joined.title
        assert cy.get("/athletes/").status == 403

        changed = cy.get("/account").send("Hillside instead of Harbour Gymnastics")
        assert "Hillside" in changed.title
        assert cy.get("/athletes/").status == 200
        token = changed.reader.get("/account").token
        told = [cy.post("/account/club", {"csrf_token": token, "club": one}) for one in (99, "x")]
        assert {one.status for one in told} <= {400, 404}

    def test_a_club_that_one_is_not_in_is_answered_like_none(
        self, store: Store, pages: Reader
    ) -> None:
        other = new_account(store, "Hillside", "cy", "Cy Moor")
        token = pages.get("/account").token

        told = [
            pages.post("/account/club", {"csrf_token": token, "club": number})
            for number in (other.club_id, 10**9)
        ]

        assert [one.status for one in told] == [404, 404]
        assert "Harbour Gymnastics" in pages.get("/account").title


class TestOnePerson:
    def test_is_disabled_at_once_and_let_in_again(self, pages: Reader, bo: Reader) -> None:
        page = pages.get("/people/").follow("Bo Larch").send("Disable Bo Larch")

        assert "Disabled" in page.text
        assert bo.get("/account").heading == "Sign in"
        page.send("Let Bo Larch sign in again")
        assert bo.sign_in("bo", BOS).heading == "Today"

    def test_is_made_a_helper_and_reads_who_may_do_the_rest(
        self, pages: Reader, bo: Reader
    ) -> None:
        """The refusal is a page that says who may, and no error."""
        pages.get("/people/").follow("Bo Larch").send("Make Bo Larch a helper")

        refused = bo.get("/athletes/")

        assert (refused.status, refused.heading) == (403, "You may not open this")
        assert "A coach or an owner of Harbour Gymnastics may do this" in refused.text
        assert "Athletes" not in refused.links
        assert refused.mistakes == []

    def test_the_last_owner_stays_one(self, pages: Reader) -> None:
        page = pages.get("/people/").follow("Edda Quill").send("Make Edda Quill a coach")

        assert page.status == 409
        assert "Make somebody else an owner first" in page.text

    def test_who_is_no_owner_any_more_is_led_to_the_first_page(
        self, pages: Reader, bo: Reader
    ) -> None:
        pages.get("/people/").follow("Bo Larch").send("Make Bo Larch an owner")

        page = pages.get("/people/").follow("Edda Quill").send("Make Edda Quill a coach")

        assert (page.status, page.heading) == (200, "Today")
        assert "Who may sign in" not in pages.get("/account").links

    def test_a_role_that_is_none_is_refused(self, pages: Reader) -> None:
        page = pages.get("/people/1")

        assert pages.post("/people/1/role", {"csrf_token": page.token, "role": "x"}).status == 400

    def test_gets_a_link_for_a_new_password(self, app: Flask, pages: Reader, bo: Reader) -> None:
        page = pages.get("/people/").follow("Bo Larch").send("Make a link for a new password")
        [link] = [one.text or "" for one in page.having("class", "link")]

        asked = Reader(app).get(link.removeprefix("http://127.0.0.1:5000"))
        assert "who signs in as bo" in asked.text
        inside = asked.send("Save and sign in", new="eleven damp owls at rest")

        assert inside.heading == "Today"
        assert bo.get("/account").heading == "Sign in"


class TestDevices:
    def test_ones_own_are_listed_and_ended(self, pages: Reader, app: Flask, bo: Reader) -> None:
        """Signed in since, last seen, and which of them this is."""
        phone = Reader(app)
        phone.client.environ_base["HTTP_USER_AGENT"] = "Mozilla/5.0 (Android 14) Firefox/140.0"
        phone.sign_in("bo", BOS)

        page = bo.get("/account")
        assert "Firefox, Android" in page.text
        [end] = [
            one.get("action", "")
            for one in page.tree.iter("form")
            if "/end" in one.get("action", "")
        ]
        ended = bo.post(end, {"csrf_token": page.token})

        assert ended.banners == ["You are signed out on that device."]
        assert phone.get("/account").heading == "Sign in"
        assert bo.get("/account").heading == "Your account"

    def test_somebody_elses_are_not_ended_there(self, pages: Reader, bo: Reader) -> None:
        """Their number is answered like one that nobody has."""
        own = pages.get("/account")
        assert own.status == 200

        told = [
            bo.post(f"/account/devices/{number}/end", {"csrf_token": bo.get("/account").token})
            for number in (2, 10**9)
        ]

        assert {one.status for one in told} == {404}
        assert pages.get("/account").heading == "Your account"

    def test_an_owner_ends_them(self, pages: Reader, bo: Reader) -> None:
        page = pages.get("/people/").follow("Bo Larch")
        [end] = [
            one.get("action", "")
            for one in page.tree.iter("form")
            if "/end" in one.get("action", "")
        ]

        page = pages.post(end, {"csrf_token": page.token})

        assert page.heading == "Bo Larch"
        assert bo.get("/account").heading == "Sign in"


class TestTheClub:
    def test_is_changed_while_a_form_is_open_which_is_read_as_it_was_filled_in(
        self, demo_pages: Reader
    ) -> None:
        """170 typed as centimetres is never 170 inches; what is stored and printed counts on."""
        before = demo_pages.get("/athletes/1").text
        form = demo_pages.get("/athletes/1/settings/1")
        asked = demo_pages.get("/convert?from=apparatus-1&by=lengths")
        page = demo_pages.get("/people/").follow("Change its name or unit")
        page = page.send("Save it", unit="in")
        assert page.banners == ["Kept: Quillmoor Gymnastics Club, lengths in inches."]
        assert "170.0 cm" in before
        now = demo_pages.get("/athletes/1").text
        assert "170.0 cm" not in now
        assert "66 7/8 in" in " ".join(now.split())

        wrong = form.send("Check, then save", low_rail_length="1.5 m or so")
        assert "Length, in centimetres" in wrong.text
        check = wrong.send("Check, then save", low_rail_length="171")
        assert "171.0 cm" in check.text
        kept = check.send("Save this setting")
        assert "67 3/8 in" in " ".join(kept.text.split())
        assert demo_pages.get("/athletes/1/settings/1").value("low_rail_length") == "67 3/8"
        lengths = {"low_rail": "170", "high_rail": "250", "spread": "170"}
        assert asked.send("Convert", **lengths).value("low_rail") == "170"

    def test_is_for_owners_and_a_word_that_is_none_changes_nothing(
        self, bo: Reader, demo_pages: Reader
    ) -> None:
        assert bo.get("/people/club").status == 403
        page = demo_pages.get("/people/club")
        assert page.send("Save it", unit="ell").status == 400
        assert page.send("Save it", unit="cm", page_unit="ell").status == 200

    def test_has_a_name_that_cards_can_carry_and_that_no_other_club_has(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Its entries for a meet that is to come go by the new one."""
        new_account(demo_club.store, "Elsewhere Gymnastics", "ola", "Ola Fern")
        with demo_club.work(writes=True) as session:
            day = today() + timedelta(days=3)
            for held_on in (day, today() - timedelta(days=3)):
                meet = meets.add_meet(session, MeetFacts("Cup", "", held_on, held_on, day))
                entries.enter_squad(session, meet.id, [1])
        page = demo_pages.get("/people/club")
        for name, told in (
            ("", "Enter the name of the club"),
            ("Hill \N{GRINNING FACE}", "cannot be printed on a card"),
            ("elsewhere Gymnastics", "is here already"),
        ):
            page = page.send("Save it", name=name)
            assert told in " ".join(page.mistakes), name
        page = page.send("Save it", name="Hill Gymnastics")

        assert page.banners == ["Kept: Hill Gymnastics, lengths in centimetres."]
        assert "Hill Gymnastics" in demo_pages.get("/meets/1/entries").text
        assert "Hill Gymnastics" not in demo_pages.get("/meets/2/entries").text
