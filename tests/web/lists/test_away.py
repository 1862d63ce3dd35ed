"""A guest's pages of another club's meet, from the link to athletes who are handed over."""

from dataclasses import replace
from pathlib import Path

import pytest
from flask import Flask

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.lists import handing_over
from settingsdesk.desk.meets import guest_clubs
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.web.pages import Reader
from tests.web.whole_desk import WholeDesk, one_of_everything

SAVED = "saved at Riverside, nothing left out."


@pytest.fixture
def desk(demo_club: DemoClub, demo_app: Flask, tmp_path: Path) -> WholeDesk:
    """The demo club as a guest of the club beside it, with one of its athletes handed over."""
    return one_of_everything(demo_club, demo_app, tmp_path)


class TestAGuest:
    def test_opens_the_link_says_yes_and_hands_over_whom_it_chooses(self, desk: WholeDesk) -> None:
        coach = desk.browser(Reader, "stamp")
        asked = coach.get(f"/guest/{desk.ids['guest_link']}")
        assert "Riverside" in asked.text
        assert asked.response.headers["Referrer-Policy"] == "no-referrer"
        page = asked.send("Accept for Quillmoor Gymnastics Club")
        assert (page.heading, "Nobody yet" in page.text) == ("River Cup, as a guest", True)
        assert "Bars by the river" in page.text

        chosen = page.follow("Choose who comes")
        shown = chosen.send("Check, then send", who=[str(desk.ids["other_id"])])
        assert "Nothing is sent yet" in shown.text
        done = shown.send("Send the entries")

        assert done.banners == [f"1 athlete entered, 1 setting {SAVED}"]
        assert "River Cup" in coach.get("/meets/").text
        again = coach.get(f"/guest/{desk.ids['guest_link']}")
        assert again.status == 404

    def test_is_told_what_to_do_where_a_setting_is_for_another_model(self, desk: WholeDesk) -> None:
        """It reads what it can do itself, and with which points in the hall lengths are told."""
        with desk.club.work(writes=True) as session:
            [bars] = [
                piece.model
                for piece in apparatus.all_pieces(session)
                if piece.id == desk.held.apparatus_id
            ]
            other = models.add_model(session, replace(bars, name="Frame of our own"))
            axes = {axis.key: Wanted(1000 + 500 * at, 10) for at, axis in enumerate(bars.axes)}
            one = athletes.add(session, Person("Nyqvist", "Ea")).id
            settings.keep_setting(session, one, other.id, Setting(bars.kind, axes))
        coach = desk.browser(Reader, "stamp")
        page = coach.get(f"/meets/away/{desk.ids['meet_away_id']}").follow("Choose who comes")
        shown = page.send("Check, then send", who=[str(one)])

        assert "Not sent Frame of our own does not stand there" in shown.text
        assert f"There: {bars.name}. For a setting there ask the host for its" in shown.text
        assert "above the floor" in shown.text
        [done] = shown.send("Send the entries").banners
        assert done.startswith("1 athlete entered, 0 settings saved at Riverside, ")
        assert done.endswith(", 1 setting not sent as the model is not there.")

    def test_sends_changes_and_scratches_by_a_press(self, desk: WholeDesk) -> None:
        coach = desk.browser(Reader, "stamp")
        page = coach.get(f"/meets/away/{desk.ids['meet_away_id']}")
        shown = page.send("Send what has changed")
        assert "(as before)" in shown.text
        page = shown.send("Send the entries")
        assert page.banners == [f"0 athletes entered, 0 settings {SAVED}"]

        actions = (form.get("action", "") for form in page.tree.iter("form"))
        [scratch] = [action for action in actions if "/scratch/" in action]
        answer = coach.client.post(scratch, data={"csrf_token": page.token})
        assert answer.status_code == 303
        assert "Scratched" in coach.get(page.address).text

    def test_sees_who_has_another_setting_since_it_was_sent(self, desk: WholeDesk) -> None:
        coach = desk.browser(Reader, "stamp")
        address = f"/meets/away/{desk.ids['meet_away_id']}"
        assert "Changed since it was sent" not in coach.get(address).text
        with desk.club.work() as session:
            [there] = guest_clubs.all_away(session)
            [sent] = handing_over.handed(session, there.id)
        with desk.club.work(writes=True) as session:
            for present in settings.current(session, sent.member.id):
                axes = {
                    key: replace(wanted, wanted_mm=wanted.wanted_mm + 10)
                    for key, wanted in present.setting.axes.items()
                }
                changed = replace(present.setting, axes=axes)
                settings.keep_setting(session, sent.member.id, present.model_id, changed)

        page = coach.get(address)
        assert "Changed since it was sent" in page.text
        page = page.send("Send what has changed").send("Send the entries")
        assert "Changed since it was sent" not in page.text

    def test_a_stranger_is_asked_to_sign_in_before_anything_is_said(self, desk: WholeDesk) -> None:
        page = desk.browser(Reader).get(f"/guest/{desk.ids['guest_link']}")

        assert page.heading == "Sign in"
        assert "River" not in page.text
