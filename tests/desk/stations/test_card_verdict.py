"""Cards held out at a station: each of the answers that a volunteer can get."""

from dataclasses import replace
from datetime import date

import pytest

from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import Choice, Grouping
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import choosing, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.choosing import Sought
from settingsdesk.desk.stations import card_verdict, confirming, stations
from settingsdesk.desk.stations.at_station import at_station
from settingsdesk.desk.stations.card_verdict import StationsCode
from settingsdesk.desk.stations.verdict import Kind, Verdict
from settingsdesk.domain.base.codes import (
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
)
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    NotHere,
)
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import new_account
from tests.desk.sample_meet import CODE_KEY, grant_raise
from tests.desk.stations.held_out import Hall

UPPER_EDGE = "upper edge of the rail, above the floor"
INNER_FACES = "shortest distance between the rails' inner faces"


class TestWhatAReaderTypes:
    @pytest.mark.parametrize(
        "spelt",
        [
            "{0}",
            "{0}/{3}",
            "  {0}\r\n",
            "http://desk.example:8000/c/{1}",
            "HTTP.__DESK.EXAMPLE.8000_C_{1}",
            "{1}",
            "{2}",
        ],
        ids=[
            "address",
            "with a line",
            "with Enter",
            "small",
            "another keyboard",
            "code",
            "small short code",
        ],
    )
    def test_it_is_understood_however_it_arrives(self, hall: Hall, spelt: str) -> None:
        """Hand-held readers type the address; people type the short code; keyboards differ."""
        first = hall.cards[0]
        code = first.url.rpartition("/")[2]
        typed = spelt.format(first.url, code, first.short_code.lower(), first.line)

        assert hall.look(typed).kind is Kind.RIGHT

    def test_a_mistyped_short_code_is_said_to_be_one(self, hall: Hall) -> None:
        code = hall.cards[0].short_code
        other = "3" if code[4] != "3" else "4"
        for typed, refusal in (
            (code[:4] + other + code[5:], CheckCharacterDoesNotFit),
            (code[:-1], ShortCodeLength),
            ("!" + code[1:], CharacterInNoCode),
        ):
            with pytest.raises(refusal):
                hall.look(typed)

    def test_the_stations_own_code_is_told_apart(self, hall: Hall) -> None:
        """The sheet with the station's code hangs beside the cards."""
        with hall.club.work() as session:
            told = stations.codes(session, CODE_KEY, hall.phone.station_id)
        with pytest.raises(StationsCode):
            hall.look(told.url)


class TestTheAnswers:
    def test_the_right_card_says_the_marks_to_be_set(self, hall: Hall) -> None:
        """With what a tape finds there, as on the card: what a ruler shows is another length."""
        hall.begin()
        low, high, spread = (line.length for line in hall.cards[0].lines)
        assert spread != "168.0 cm"

        assert hall.look(hall.cards[0].url) == Verdict(
            Kind.RIGHT,
            "The right card",
            "Almira O. is expected now. This card counts. It is not set yet: nobody goes up"
            " before it is set and checked.",
            marks=(
                ("Low rail height", "5", f"by tape {low}, {UPPER_EDGE}"),
                ("High rail height", "4", f"by tape {high}, {UPPER_EDGE}"),
                ("Rail spread", "mark 168.0", f"by tape {spread}, {INNER_FACES}"),
            ),
        )

    def test_the_right_card_alone_lets_nobody_up(self, hall: Hall) -> None:
        """A parent who reads "right" beside the marks must not take that for a go."""
        run_id = hall.begin()
        with hall.club.work(writes=True) as session:
            desk_run.confirm(session, run_id, 1, AllDone())

        assert hall.look(hall.cards[0].url).sentence == (
            "Almira O. is expected now. This card counts. It is not checked yet: nobody goes up"
            " before that."
        )

    def test_before_the_rotation_begins_the_first_is_the_right_one(self, hall: Hall) -> None:
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.RIGHT
        assert verdict.marks == ()
        assert verdict.sentence == (
            "Almira O. is the first of the next rotation, which has not begun yet. This card"
            " counts. Nothing is set before it begins."
        )
        assert hall.look(hall.cards[1].url).kind is Kind.ANOTHER

    def test_whose_entry_was_withdrawn_is_not_the_first(self, hall: Hall) -> None:
        with hall.club.work(writes=True) as session:
            entries.withdraw_entry(session, hall.meet.guests[0].entry_id)

        assert hall.look(hall.cards[1].url).kind is Kind.RIGHT
        assert hall.look(hall.cards[0].url).kind is not Kind.RIGHT

    def test_while_somebody_is_on_the_next_one_is_told_so(self, hall: Hall) -> None:
        """Who waits at the apparatus holds the card out early."""
        hall.turn_on(hall.begin())

        assert hall.look(hall.cards[0].url).sentence == "Almira O. is on now. This card counts."
        assert hall.look(hall.cards[1].url).sentence == (
            "Almira O. is on now. This card is Sunniva B.'s, who comes next."
        )

    def test_no_marks_before_the_new_ones_are_taken(self, hall: Hall) -> None:
        """The card was printed after the setting was changed, and the rotation begun before."""
        hall.begin()
        guest = hall.meet.guests[0].member.id
        hall.give(guest, 2400)
        [card] = hall.issue(guest)
        verdict = hall.look(card.url)

        assert verdict.kind is Kind.RIGHT
        assert "take the new marks" in verdict.sentence
        assert verdict.marks == ()

    def test_no_marks_before_what_stands_there_was_read_off(self, hall: Hall) -> None:
        hall.begin()
        with hall.club.work(writes=True) as session:
            apparatus.read_off(session, hall.meet.apparatus_id, (1, 2, 3), "seen")
        verdict = hall.look(hall.cards[0].url)

        assert "enter the present marks" in verdict.sentence
        assert verdict.marks == ()

    def test_nothing_is_set_before_a_message_from_the_card_is_answered(self, hall: Hall) -> None:
        """The card's own page says so too; what the message says is no affair of the hall."""
        hall.begin()
        remarks.receive(hall.club.store, hall.cards[0].url[-26:], "Feels two fingers low")
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.ASK_FIRST
        assert "set nothing for Almira O. before the coach has said" in verdict.sentence
        assert "fingers" not in verdict.sentence
        assert verdict.marks == ()

        with hall.club.work(writes=True) as session:
            [told] = remarks.unanswered(session)
            remarks.answer(session, told.id, "It is right as it is")
        assert hall.look(hall.cards[0].url).kind is Kind.RIGHT

    def test_marks_without_a_raise_that_was_granted_are_not_to_be_set(self, hall: Hall) -> None:
        """Whether the card was printed before it was granted or says so itself, and waiting too."""
        grant_raise(hall.club, hall.meet)
        told = (
            "Rails raised by 5.0 cm: granted, 5 December 2026. These marks are without it: do not"
            " set them. Ask the coach."
        )
        [fresh] = hall.issue(hall.meet.guests[0].member.id)
        for begins in (False, True):
            run_id = hall.begin() if begins else 0
            assert hall.look(hall.cards[0].url).kind is Kind.SUPERSEDED
            for card in (hall.cards[0].url, fresh.short_code):
                verdict = hall.look(card)
                assert told in verdict.sentence
                assert "Set what this station shows" not in verdict.sentence
                assert verdict.marks == ()
        assert verdict == Verdict(
            Kind.ASK_FIRST, "Ask the coach first", f"Almira O. is expected now. {told}"
        )

        almira = hall.meet.guests[0].member.id
        with hall.club.work(writes=True) as session:
            desk_run.confirm(session, run_id, 1, NotHere(almira))
            desk_run.confirm(session, run_id, 2, Arrived(almira))
        assert hall.look(fresh.url).sentence == (
            f"Sunniva B. is expected now. This card is Almira O.'s, who has turn 3. {told}"
        )

    def test_nobodys_card_counts_while_the_apparatus_is_out_of_use(self, hall: Hall) -> None:
        hall.begin()
        with hall.club.work(writes=True) as session:
            findings.add_finding(
                session,
                hall.meet.apparatus_id,
                "A strand is out",
                withdraws=True,
                press_key="k",
            )
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.OUT_OF_USE
        assert verdict.heading == "Bars by the window is out of use"
        assert "until a coach releases it" in verdict.sentence
        assert verdict.marks == ()

    def test_nobodys_card_counts_while_the_work_is_stopped(self, hall: Hall) -> None:
        """Somebody saw a frayed cable: the card of who is next is no reason to go on."""
        run_id = hall.begin()
        with hall.club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            desk_run.hold_up(session, now, "The cable at the front end frays")
        for card in hall.cards:
            verdict = hall.look(card.short_code)
            assert verdict.kind is Kind.STOPPED
            assert verdict.marks == ()
            assert "until a coach has looked" in verdict.sentence
        with hall.club.work(writes=True) as session:
            desk_run.after_a_look(session, run_id)
        assert hall.look(hall.cards[0].short_code).kind is Kind.RIGHT

    def test_another_athletes_card_says_who_is_expected_and_whose_turn_it_is_when(
        self, hall: Hall
    ) -> None:
        hall.begin()
        verdict = hall.look(hall.cards[2].url)

        assert verdict.kind is Kind.ANOTHER
        assert verdict.sentence == (
            "Almira O. is expected now. This card is Noor H.'s, who has turn 3."
        )

    def test_whose_entry_was_taken_back_does_not_come(self, hall: Hall) -> None:
        """No volunteer is told to press that a scratched athlete is here after all."""
        hall.begin()
        with hall.club.work(writes=True) as session:
            entries.withdraw_entry(session, hall.meet.guests[0].entry_id)
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.SCRATCHED
        assert verdict.heading == "Scratched: does not come"
        assert "after all" not in verdict.sentence
        assert verdict.marks == ()

    def test_of_somebody_who_was_not_here_it_says_what_to_press(self, hall: Hall) -> None:
        run_id = hall.begin()
        with hall.club.work(writes=True) as session:
            desk_run.confirm(session, run_id, 1, NotHere(hall.meet.guests[0].member.id))
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.ANOTHER
        assert "is here after all”" in verdict.sentence
        assert "Sunniva B. is expected now" in verdict.sentence

    def test_a_superseded_card_says_what_has_changed(self, hall: Hall) -> None:
        """Also where no newer card was printed yet."""
        hall.begin()
        guest = hall.meet.guests[0].member.id
        hall.give(guest, 2400)
        verdict = hall.look(hall.cards[0].short_code)

        assert verdict.kind is Kind.SUPERSEDED
        assert "Set nothing by the paper" in verdict.sentence
        assert "High rail height" in {one.axis for one in verdict.differences}
        hall.issue(guest)
        assert hall.look(hall.cards[0].short_code).kind is Kind.SUPERSEDED

    def test_a_card_of_another_apparatus(self, hall: Hall) -> None:
        with hall.club.work(writes=True) as session:
            pieces = [
                one for one in apparatus.all_pieces(session) if one.id != hall.meet.apparatus_id
            ]
            guest = hall.meet.guests[0].member.id
            fits = [one for one in pieces if guest in settings.on_piece(session, [guest], one)]
        [card] = hall.issue(guest, apparatus_id=fits[0].id)
        verdict = hall.look(card.url)

        assert verdict.kind is Kind.OTHER_APPARATUS
        assert f"is for {fits[0].name}; here stands Bars by the window" in verdict.sentence

    def test_a_card_of_somebody_who_is_not_entered(self, hall: Hall) -> None:
        """A club's own athlete whose card is for the same bars, at home."""
        with hall.club.work() as session:
            kind = apparatus.piece(session, hall.meet.apparatus_id).model.kind
            ready = choosing.for_kind(session, kind, Sought()).found
        [card] = hall.issue(ready[0].id)
        verdict = hall.look(card.url)

        assert verdict.kind is Kind.OTHER_MEET
        assert ready[0].printed_name not in verdict.sentence

    def test_a_card_of_another_club_says_nothing_of_whose_it_is(self, hall: Hall) -> None:
        other = new_account(hall.club.store, "Another club", "ottar", "Ottar")
        shown = card_verdict.read(hall.cards[0].url)
        found = card_verdict.find(hall.club.store, CODE_KEY, shown)
        with hall.club.work() as session:
            here = at_station(session, hall.phone)
            elsewhere = replace(here, phone=replace(hall.phone, club_id=other.club_id))
            verdict = card_verdict.look(
                session, elsewhere, confirming.standing(session, elsewhere), shown, found
            )

        assert verdict == card_verdict.OTHER_MEET

    def test_unknown_and_revoked_codes_open_nothing(self, hall: Hall) -> None:
        with hall.club.work(writes=True) as session:
            issued = desk_issued.of_athlete(session, hall.meet.guests[0].member.id)
            desk_issued.revoke(session, issued[0].id)
        unknown = ("A" * 26, f"{CODE_KEY.public_url}/C/" + "0" * 26)
        for typed in (hall.cards[0].url, hall.cards[0].short_code, *unknown):
            verdict = hall.look(typed)
            assert verdict.kind is Kind.UNKNOWN
            assert "set nothing by this one" in verdict.sentence

    def test_a_meets_card_after_its_last_day(
        self, hall: Hall, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with hall.club.work(writes=True) as session:
            made = desk_cards.issue(session, CODE_KEY, hall.meet.meet_id, Choice(Grouping.BY_START))
        card = made.groups[0][1][0]
        monkeypatch.setattr(in_hand, "today", lambda: date(2027, 12, 1))

        assert "This card counted until" in hall.look(card.url).sentence

    def test_an_entrant_who_is_not_on_this_list(self, hall: Hall) -> None:
        with hall.club.work(writes=True) as session:
            person = Person("Vantreek", "Isolde")
            guest = entries.enter_guest(session, hall.meet.meet_id, person, "Wexlow Turners", "9")
            piece = meets.meet(session, hall.meet.meet_id).pieces[0].piece
            wanted = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(piece.model.kind.axes, (1700, 2450, 1650), strict=True)
            }
            settings.keep_setting(
                session, guest.member.id, piece.model_id, Setting(piece.model.kind, wanted)
            )
        hall.begin()
        [card] = hall.issue(guest.member.id)
        verdict = hall.look(card.url)

        assert verdict.kind is Kind.NOT_LISTED
        assert verdict.sentence == (
            "Isolde V. is not on the list of this rotation. Almira O. is expected now."
            " Ask the coach."
        )

    def test_a_turn_that_is_over(self, hall: Hall) -> None:
        hall.turn_over(hall.begin())
        verdict = hall.look(hall.cards[0].url)

        assert verdict.kind is Kind.OVER
        assert verdict.sentence == (
            "Almira O. has had the turn in this rotation. Sunniva B. is expected now."
        )
