"""Two entries of one athlete become one, with both histories, and no number by itself."""

from dataclasses import dataclass

import pytest
from flask import Flask
from sqlalchemy import inspect

from settingsdesk.desk.cards import issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, same_person, start_orders
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person, TakenIn
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import cards as kept_cards
from settingsdesk.store.meets import RaiseRequest
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, DAY, SmallMeet
from tests.web.pages import Page, Reader

ONE = "Yes, make them one"


@dataclass(frozen=True)
class Twice:
    """One athlete of the demo club, typed a second time with another setting."""

    club: DemoClub
    pages: Reader
    stays: int
    taken: int
    piece: int
    rotation: int

    def look(self) -> Page:
        return self.pages.get(f"/athletes/{self.stays}/same-person/{self.taken}")

    def wanted(self, athlete_id: int) -> list[int]:
        with self.club.work() as session:
            model = apparatus.piece(session, self.piece).model_id
            kept = settings.latest(session, athlete_id, model)
            return [one.wanted_mm for one in kept.setting.axes.values()]

    def listed(self, rotation_id: int) -> list[int]:
        with self.club.work() as session:
            return [one.id for one in rotation.rotation(session, rotation_id).listed]


@pytest.fixture
def twice(demo_club: DemoClub, demo_pages: Reader) -> Twice:
    with demo_club.work(writes=True) as session:
        view = rotation.rotation(session, 1)
        first, second = view.listed[:2]
        other = athletes.add(
            session, Person(first.person.family_name, "Second", "", "Girls 9", "77")
        )
        kind = view.piece.model.kind
        setting = Setting(
            kind,
            {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(kind.axes, (1650, 2450, 1650), strict=True)
            },
        )
        settings.keep_setting(session, other.id, view.piece.model_id, setting)
        made = rotation.add_rotation(
            session, "Typed twice", view.held_on, view.piece.id, [other.id, second.id]
        )
    return Twice(demo_club, demo_pages, first.id, other.id, view.piece.id, made.id)


def choices(page: Page, counts: str) -> dict[str, str]:
    """Of every question of the page, that answer."""
    boxes = (box for box in page.tree.iter("input") if box.get("type") == "radio")
    return {box.get("name", ""): counts for box in boxes}


class TestSideBySide:
    def test_the_other_entry_is_offered_and_both_stand_beside_each_other(
        self, twice: Twice
    ) -> None:
        page = twice.pages.get(f"/athletes/{twice.stays}").follow("The same person as …")
        [link] = [words for words in page.links if words.endswith(", Second")]
        page = page.follow(link)

        assert page.heading == "Are these two the same athlete?"
        assert "Setting for" in page.text
        assert "245.0 cm" in page.text

    def test_whoever_is_most_alike_is_offered_whatever_else_sounds_like_it(
        self, twice: Twice
    ) -> None:
        """ "Friday" has "ida" in it, and the whole Friday group stands before Zander."""
        with twice.club.work(writes=True) as session:
            for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZABCDEFGHIJ":
                athletes.add(session, Person(f"A{letter.lower()}k", "Jo", group_name="Friday"))
            short = athletes.add(session, Person("Zander", "Ida"))
            long = athletes.add(session, Person("Zander", "Ida M."))
            offered = same_person.likely(session, short.id)

        assert offered[0].id == long.id
        assert not [member for member in offered if member.person.group_name == "Friday"]

    def test_nothing_is_chosen_for_the_coach(self, twice: Twice) -> None:
        """Which height counts is nothing that a program may choose."""
        page = twice.look()
        assert not [box for box in page.tree.iter("input") if "checked" in box.attrib]

        refused = page.send(ONE)
        assert refused.status == 400
        assert any("Choose which counts: Setting for" in told for told in refused.mistakes)
        assert twice.pages.get(f"/athletes/{twice.taken}").heading.endswith("Second")

    def test_what_was_changed_since_it_was_looked_at_is_looked_at_again(self, twice: Twice) -> None:
        page = twice.look()
        with twice.club.work(writes=True) as session:
            model = apparatus.piece(session, twice.piece).model_id
            kept = settings.latest(session, twice.taken, model).setting
            low = kept.kind.axes[0]
            moved = {**kept.axes, low.key: Wanted(1500)}
            settings.keep_setting(session, twice.taken, model, Setting(kept.kind, moved))

        refused = page.send(ONE, **choices(page, "taken"))
        assert "changed while the page was open" in refused.mistakes[0]
        assert "150.0 cm" in refused.text
        assert refused.send(ONE, **choices(page, "taken")).status == 200


class TestBecomingOne:
    def test_the_chosen_setting_counts_and_both_histories_stay(self, twice: Twice) -> None:
        before = twice.wanted(twice.stays)
        page = twice.look()
        page = page.send(ONE, **choices(page, "taken"))

        assert page.address == f"/athletes/{twice.stays}"
        assert twice.wanted(twice.stays) == [1650, 2450, 1650] != before
        history = twice.pages.get(f"/athletes/{twice.stays}/history").text
        assert "From the other entry" in history
        assert "in the entry" in history

    def test_where_the_one_that_stays_counts_its_numbers_are_as_they_were(
        self, twice: Twice
    ) -> None:
        before = twice.wanted(twice.stays)
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        assert twice.wanted(twice.stays) == before

    def test_the_one_taken_in_is_on_no_list_and_its_page_leads_on(self, twice: Twice) -> None:
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        for address in ("/athletes/", "/athletes/left"):
            assert "Second" not in twice.pages.get(f"{address}?q=Second").text.replace(
                "“Second”", ""
            )
        for of_it in ("", "/edit", "/history", "/settings/1"):
            led = twice.pages.get(f"/athletes/{twice.taken}{of_it}")
            assert led.address == f"/athletes/{twice.stays}{of_it}"

    def test_a_form_of_it_that_was_open_changes_nothing_more(self, twice: Twice) -> None:
        """A setting that nobody would ever see again is no setting."""
        form = twice.pages.get(f"/athletes/{twice.taken}/edit")
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        refused = form.send("Save the changes", start_number="5")
        assert refused.status == 409
        assert "was merged into another one" in refused.text

    def test_on_a_rotation_that_nobody_has_begun_the_one_that_stays_has_the_place(
        self, twice: Twice
    ) -> None:
        [_, second] = twice.listed(twice.rotation)
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        assert twice.listed(twice.rotation) == [twice.stays, second]

    def test_where_both_were_on_one_list_there_is_one_place(self, twice: Twice) -> None:
        with twice.club.work(writes=True) as session:
            view = rotation.to_arrange(session, 1)
            others = [one.id for one in view.listed]
            rotation.change_list(session, view, [*others, twice.taken])
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        assert twice.listed(1) == others

    def test_at_the_bars_they_stay_two_until_the_run_is_over(self, twice: Twice) -> None:
        twice.pages.get(f"/rotations/{twice.rotation}").send("Plan it")
        twice.pages.get(f"/rotations/{twice.rotation}").send("Take it to the bars")

        refused = twice.look()
        assert "its run at the apparatus is still open: end that run" in refused.text
        assert "Open the run of" in " ".join(refused.links)

    @pytest.mark.parametrize("which", ["stays", "taken"])
    def test_nor_where_one_of_them_joined_a_run_that_is_under_way(
        self, twice: Twice, which: str
    ) -> None:
        """Nobody on the list of a rotation: else their card is "not on this list" at the bars."""
        joined = getattr(twice, which)
        with twice.club.work(writes=True) as session:
            second = rotation.rotation(session, twice.rotation).listed[1]
            view = rotation.rotation(session, 1)
            alone = rotation.add_rotation(session, "Alone", view.held_on, twice.piece, [second.id])
            rotation.order_anew(session, alone.id)
            now = desk_run.loaded(session, desk_run.begin(session, alone.id, twice.piece))
            desk_run.join(session, now, now.number, [joined])

        assert (
            "on the list of Alone, and its run at the apparatus is still open" in twice.look().text
        )

    def test_a_past_rotation_that_is_taken_up_again_goes_by_what_counts_now(
        self, twice: Twice
    ) -> None:
        """The one taken in is on its list for good; nobody is set by a number that lost."""
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        assert twice.wanted(twice.taken) == twice.wanted(twice.stays) != [1650, 2450, 1650]

    def test_a_third_entry_is_taken_in_to_the_one_that_stays(self, twice: Twice) -> None:
        """However many times somebody was typed, there is one in the end."""
        with twice.club.work(writes=True) as session:
            third = athletes.add(session, Person("Third", "Ana"))
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))
        page = twice.pages.get(f"/athletes/{third.id}/same-person/{twice.stays}")
        page.send(ONE, **choices(page, "taken"))

        led = twice.pages.get(f"/athletes/{twice.taken}")
        assert led.address == f"/athletes/{third.id}"
        assert twice.wanted(third.id) == twice.wanted(twice.stays)

    def test_only_two_entries_of_one_list_become_one(self, twice: Twice, held: SmallMeet) -> None:
        guest = held.guests[0].member.id
        for address in (
            f"/athletes/{twice.stays}/same-person/{twice.stays}",
            f"/athletes/{twice.stays}/same-person/{guest}",
        ):
            assert "Nothing was changed" in twice.pages.get(address).text


class TestCards:
    def test_a_card_of_the_one_taken_in_is_out_of_date_and_shows_what_counts(
        self, twice: Twice, demo_app: Flask
    ) -> None:
        """It is in somebody's pocket, at another hall."""
        with twice.club.work(writes=True) as session:
            [card] = issued.issue(session, CODE_KEY, twice.piece, [twice.taken])
        code = card.url.rpartition("/")[2]
        page = twice.look()
        page.send(ONE, **choices(page, "taken"))

        seen = Reader(demo_app).get(f"/C/{code}")
        assert seen.status == 200
        assert "is out of date" in seen.text
        assert "under another entry of the same athlete" in seen.text
        with twice.club.work() as session:
            [row] = kept_cards.of_athlete(session, twice.stays)
            assert row.superseded_at is not None

    def test_it_opens_nothing_when_the_one_that_stays_has_left(
        self, twice: Twice, demo_app: Flask
    ) -> None:
        with twice.club.work(writes=True) as session:
            [card] = issued.issue(session, CODE_KEY, twice.piece, [twice.taken])
        page = twice.look()
        page.send(ONE, **choices(page, "taken"))
        with twice.club.work(writes=True) as session:
            athletes.leave(session, twice.stays, today())

        assert Reader(demo_app).get(f"/C/{card.url.rpartition('/')[2]}").status == 404


class TestGuestsOfAMeet:
    @pytest.fixture
    def guests(self, demo_club: DemoClub, held: SmallMeet) -> tuple[int, int]:
        """Two entries that a club's two lists brought for one athlete."""
        return held.guests[0].member.id, held.guests[1].member.id

    def test_the_chosen_entry_counts_and_the_other_is_withdrawn(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet, guests: tuple[int, int]
    ) -> None:
        stays, taken = guests
        with demo_club.work(writes=True) as session:
            entries.tell_raise(
                session,
                held.guests[1].entry_id,
                held.apparatus_id,
                "asked",
                50,
                "her coach",
                DAY,
            )
        page = demo_pages.get(f"/athletes/{stays}/same-person/{taken}")
        page = page.send(ONE, **choices(page, "taken"))
        assert page.status == 200

        with demo_club.work() as session:
            kept, other = (entries.entrant(session, held.guests[n].entry_id) for n in (0, 1))
            order = start_orders.start_order(session, held.rotation_id)
        assert (kept.start_number, kept.from_club) == ("12", held.guests[1].from_club)
        assert kept.raises[held.apparatus_id].raise_mm == 50
        columns = {attribute.key for attribute in inspect(RaiseRequest).column_attrs}
        assert columns - set(same_person.OF_A_RAISE) == {
            "club_id",
            "entry_id",
            "id",
            "marks_include",
        }
        assert kept.is_in
        assert not other.is_in
        assert [one.id for one in order.view.listed] == [stays, held.guests[2].member.id]
        with pytest.raises(TakenIn), demo_club.work(writes=True) as session:
            entries.enter_again(session, held.guests[1].entry_id)

    def test_a_wish_of_one_is_a_wish_of_both(self, twice: Twice) -> None:
        twice.pages.get(f"/rotations/{twice.rotation}/wishes").send(
            "Plan with these wishes", first=str(twice.taken)
        )
        page = twice.look()
        page.send(ONE, **choices(page, "stays"))

        with twice.club.work() as session:
            assert rotation.rotation(session, twice.rotation).asked.first == twice.stays


def test_nothing_is_united_unasked(demo_club: DemoClub) -> None:
    """A press that lost its answers on the way."""
    with demo_club.work(writes=True) as session:
        view = rotation.rotation(session, 1)
        stays, taken = (one.id for one in view.listed[:2])
        both = same_person.compare(session, stays, taken)
        with pytest.raises(same_person.NotChosen):
            same_person.unite(session, both, {}, both.seen)
