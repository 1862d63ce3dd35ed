"""Every entrant on the hall's apparatus, and what is to be settled before the day."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import crew_sheets
from settingsdesk.desk.meet_day import transfers as desk_transfers
from settingsdesk.desk.meet_day.transfers import MeetTransfers
from settingsdesk.desk.meets import entries, meets, start_orders, unsettled_lines
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, SmallMeet, hold, put_beam


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


def found(club: DemoClub, held: SmallMeet) -> MeetTransfers:
    with club.work() as session:
        return desk_transfers.transfers(
            session, desk_transfers.grounds(session, meets.meet(session, held.meet_id))
        )


def want(club: DemoClub, held: SmallMeet, **wanted: tuple[int, int]) -> None:
    """Another setting for the first guest: axis to wanted and accepted millimetres."""
    with club.work(writes=True) as session:
        piece = apparatus.piece(session, held.apparatus_id)
        axes = {"low_rail": (1700, 10), "high_rail": (2450, 10), "spread": (1650, 10)} | wanted
        setting = Setting(piece.model.kind, {key: Wanted(*told) for key, told in axes.items()})
        settings.keep_setting(session, held.guests[0].member.id, piece.model_id, setting)


class TestPages:
    def test_each_thing_to_settle_is_counted_on_the_page_that_shows_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A coach is led to the pages with something to settle, and finds all of it there."""
        want(demo_club, held, spread=(1, 0))
        with demo_club.work(writes=True) as session:
            entries.enter_guest(session, held.meet_id, Person("Zzz", "Ada"), "Zzz club")
            lines = [
                unsettled_lines.Line(None, "row 1", "?", "nobody of that name"),
                unsettled_lines.Line(held.guests[-1].member.id, "row 2", "?", "no number"),
                unsettled_lines.Line(held.guests[-1].member.id, "row 3", "?", "no number"),
            ]
            unsettled_lines.keep(session, held.meet_id, "A club", "key", lines)
        with demo_club.work() as session:
            grounds = desk_transfers.grounds(session, meets.meet(session, held.meet_id))
            whole = desk_transfers.transfers(session, grounds)
            counts = desk_transfers.overview(session, grounds, 1).counts
            pages = [
                desk_transfers.transfers(session, grounds, 1, number)
                for number in range(len(whole.everybody))
            ]

            clubs = desk_transfers.overview(session, grounds, 1).clubs
            of_one = desk_transfers.transfers(session, grounds, club="Zzz club")

        assert (clubs["A club"], clubs["Zzz club"], of_one.count) == (1, 1, 1)
        assert counts == tuple(page.count for page in pages)
        assert sum(counts) == whole.count > 3
        assert len(set(counts)) > 1

    def test_namesakes_of_several_clubs_are_counted_once_and_of_no_club_only_between_clubs(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Two of one club and two of another have one name: both clubs see it, the host once."""

        def of_no_club(*clubs: str) -> int:
            with demo_club.work(writes=True) as session:
                for club in clubs:
                    entries.enter_guest(session, held.meet_id, Person("Zzz", "Ada"), club)
                grounds = desk_transfers.grounds(session, meets.meet(session, held.meet_id))
                found = desk_transfers.overview(session, grounds, 100)
                assert len(found.namesakes) == 1
                return found.of_no_club

        before = of_no_club("Club A", "Club B")
        assert before == 1
        assert of_no_club("Club A", "Club B") == 0


class TestTransfers:
    def test_everybody_with_a_setting_is_carried_with_residuals(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        lines = found(demo_club, held).lines
        assert {line.entrant.member.id for line in lines} == {g.member.id for g in held.guests}
        assert all(line.carried is not None for line in lines)

    def test_on_another_model_of_the_kind_too(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            door = next(
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the door"
            )
            meets.put_apparatus(session, held.meet_id, door.id)
        there = [one for one in found(demo_club, held).lines if one.stands.piece.id == door.id]
        assert len(there) == 3
        assert all(one.carried is not None and one.carried.of_another_model for one in there)

    def test_who_has_no_setting_for_anything_here_is_named(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            entries.enter_guest(session, held.meet_id, Person("Ravn", "Liv"), "Wexlow Turners")
        assert [one.member.listed_name for one in found(demo_club, held).nowhere] == ["Ravn, Liv"]


class TestWhoGoesUpOnWhat:
    """Not everybody goes up on every apparatus of the meet."""

    def test_nothing_is_to_settle_of_who_is_on_no_start_order_there(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        beam_id = put_beam(demo_club, held)
        there = [one for one in found(demo_club, held).lines if one.stands.piece.id == beam_id]
        assert [one.entrant.entry_id for one in there] == [held.guests[1].entry_id]

    def test_whoever_starts_on_other_apparatus_of_the_kind_is_not_asked_about_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Bars that have an order of their own, with somebody else on it."""
        with demo_club.work(writes=True) as session:
            door = next(
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the door"
            )
            meets.put_apparatus(session, held.meet_id, door.id)
            place = start_orders.Place(held.session_id, 2, door.id)
            start_orders.set_new(session, place, [held.guests[0].member.id], "typed")
        there = [one for one in found(demo_club, held).lines if one.stands.piece.id == door.id]
        assert [one.entrant.entry_id for one in there] == [held.guests[0].entry_id]

    def test_whoever_is_on_one_without_a_setting_is_to_settle(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        beam_id = put_beam(demo_club, held)
        listed = [held.guests[0].member.id, held.guests[1].member.id]
        with demo_club.work(writes=True) as session:
            start_orders.set_new(
                session, start_orders.Place(held.session_id, 2, beam_id), listed, "typed"
            )
        told = found(demo_club, held)
        [open_line] = [
            one for one in told.to_settle if one.entrant.entry_id == held.guests[0].entry_id
        ]
        assert (open_line.stands.piece.id, open_line.carried) == (beam_id, None)
        assert open_line.open == ("no setting for balance beam is entered",)
        assert held.guests[0].member.id in told.athletes_to_settle
        assert told.nowhere == ()


class TestNamesakes:
    """Two of one printed name are told apart before the day, not at the apparatus."""

    def rename(self, club: DemoClub, held: SmallMeet) -> None:
        with club.work(writes=True) as session:
            for guest, family in zip(held.guests[:2], ("Zander", "Zeman"), strict=True):
                athletes.change(session, guest.member.id, Person(family, "Anna"))

    def number(self, club: DemoClub, held: SmallMeet, *numbers: str) -> None:
        with club.work(writes=True) as session:
            of_entries = zip((guest.entry_id for guest in held.guests), numbers, strict=False)
            entries.number_entries(session, held.meet_id, dict(of_entries))

    def test_they_are_to_be_settled_until_start_numbers_tell_them_apart(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        self.rename(demo_club, held)
        self.number(demo_club, held, "", "")
        before = found(demo_club, held)
        assert [[one.member.listed_name for one in alike] for alike in before.namesakes] == [
            ["Zander, Anna", "Zeman, Anna"]
        ]
        assert before.athletes_to_settle >= {guest.member.id for guest in held.guests[:2]}

        self.number(demo_club, held, "7", "8")
        after = found(demo_club, held)
        assert after.namesakes == ()
        assert after.count == before.count - 1

    def test_whoever_withdrew_is_nobodys_namesake(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        self.rename(demo_club, held)
        self.number(demo_club, held, "", "")
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[0].entry_id)
        assert found(demo_club, held).namesakes == ()

    def test_at_the_apparatus_and_on_the_crew_sheet_nobody_takes_one_for_the_other(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        self.rename(demo_club, held)
        for numbers, said, printed in (
            (("7", "8"), {"Anna Z., no. 7", "Anna Z., no. 8"}, "Anna Z."),
            (("", ""), {"Anna Za.", "Anna Ze."}, "Anna Za."),
        ):
            self.number(demo_club, held, *numbers)
            with demo_club.work(writes=True) as session:
                run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
                view = desk_run.run(session, run_id)
                sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            assert said <= {view.name_of(turn) for turn in view.run.turns}
            assert printed in {line.name for line in sheet.lines}


class TestWhatIsToBeSettled:
    def told(self, club: DemoClub, held: SmallMeet) -> str:
        return "; ".join(
            words
            for line in found(club, held).to_settle
            if line.entrant.entry_id == held.guests[0].entry_id
            for words in line.open
        )

    def test_outside_what_the_athlete_accepts(self, demo_club: DemoClub, held: SmallMeet) -> None:
        want(demo_club, held, high_rail=(2473, 5))
        assert "High rail height" in self.told(demo_club, held)
        assert "is accepted" in self.told(demo_club, held)

    def test_out_of_reach(self, demo_club: DemoClub, held: SmallMeet) -> None:
        want(demo_club, held, high_rail=(2790, 5))
        assert "does not reach it" in self.told(demo_club, held)

    def test_outside_the_meets_rule_book(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            book = "International, as quoted"
            meets.put_apparatus(session, held.meet_id, held.apparatus_id, book, "senior")
        assert "is outside 249.0 to 251.0 cm" in self.told(demo_club, held)
        assert len(found(demo_club, held).cited) == 1  # the source of all limits is told once

    def test_a_request_that_is_not_settled(self, demo_club: DemoClub, held: SmallMeet) -> None:
        entry, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry, bars, "asked", 50, "her coach", DAY)
        assert "Not settled yet" in self.told(demo_club, held)
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry, bars, "refused", 0, "the jury", DAY)
        assert "raise the rails" not in self.told(demo_club, held)

    @pytest.mark.parametrize("marks_include", [None, False])
    def test_one_that_is_granted_until_the_raised_marks_are_there(
        self, demo_club: DemoClub, held: SmallMeet, marks_include: bool | None
    ) -> None:
        """The crew has marks that must not be set, and nobody has entered others."""
        entry, bars = held.guests[0].entry_id, held.apparatus_id
        before = self.told(demo_club, held)
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry, bars, "asked", 50, "her coach", DAY)
            entries.tell_raise(
                session, entry, bars, "granted", 0, "jury", DAY, marks_include=marks_include
            )
        assert "These marks are without it: do not set them. Enter the raised setting" in (
            self.told(demo_club, held)
        )
        with demo_club.work(writes=True) as session:
            athlete_id = held.guests[0].member.id
            piece = apparatus.piece(session, bars)
            own = settings.on_piece(session, [athlete_id], piece)[athlete_id].version.setting
            axes = {
                key: one if key == "spread" else replace(one, wanted_mm=one.wanted_mm + 50)
                for key, one in own.axes.items()
            }
            settings.keep_setting(session, athlete_id, piece.model_id, Setting(own.kind, axes))
        assert "Rails raised" not in self.told(demo_club, held)
        assert before == ""

    def test_a_name_that_no_card_can_print(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            athletes.change(session, held.guests[0].member.id, Person("渚", "美"))
        assert "cannot be printed" in self.told(demo_club, held)

    def test_whose_entry_is_withdrawn_has_nothing_to_settle(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        want(demo_club, held, high_rail=(2790, 5))
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[0].entry_id)
        assert self.told(demo_club, held) == ""
