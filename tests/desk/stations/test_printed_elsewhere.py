"""A visiting club's own card at a station: the other desk is never asked."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.checks import findings
from settingsdesk.desk.stations import card_verdict, confirming
from settingsdesk.desk.stations.at_station import at_station
from settingsdesk.desk.stations.verdict import Compared, Kind
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.settings.lengths_line import in_groups, line_of
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import new_account
from tests.desk.sample_meet import CODE_KEY, grant_raise
from tests.desk.stations.held_out import Hall

ELSEWHERE = "HTTPS://VISITORS.EXAMPLE/C/7KM4Q2XPRTUVWXYZ23456789AB"
UPPER_EDGE = "upper edge of the rail, above the floor"
ALMIRAS, SUNNIVAS = (1700, 2450, 1650), (1600, 2350, 1600)


def line(lengths_mm: Sequence[int], kind_key: str = "uneven_bars") -> str:
    kind = kind_of(kind_key)
    axes = zip(kind.axes, lengths_mm, strict=True)
    return line_of(Setting(kind, {axis.key: Wanted(mm) for axis, mm in axes}))


class TestTheSameLengths:
    @pytest.mark.parametrize("spelt", ["{0}", ELSEWHERE + "/{1}"], ids=["typed", "scanned"])
    def test_as_are_entered_for_whoever_is_expected(self, hall: Hall, spelt: str) -> None:
        hall.begin()
        told = line(ALMIRAS)
        verdict = hall.look(spelt.format(in_groups(told), told))

        assert verdict.kind is Kind.ELSEWHERE
        assert verdict.heading == "Printed elsewhere: the same lengths"
        assert verdict.sentence == (
            "Almira O. is expected now. Almira O. has these very lengths entered: set what this"
            " station shows. A card that was printed elsewhere tells lengths, not whose they are,"
            " nor whether they still count."
        )
        assert verdict.whose == "Almira O."
        assert verdict.compared[0] == Compared(
            "Low rail height", UPPER_EDGE, "170.0 cm", "mark 5", "170.0 cm", "mark 5"
        )
        assert verdict.marks == ()

    def test_as_are_entered_for_somebody_later(self, hall: Hall) -> None:
        """Who waits holds the card out early."""
        hall.begin()
        verdict = hall.look(line(SUNNIVAS))

        assert verdict.kind is Kind.ELSEWHERE
        assert "Sunniva B., who has turn 2, has these very lengths entered" in verdict.sentence


class TestTheSameLengthsBeforeTheCoachHasSaidWhatCounts:
    """What this station shows is just what is not to be set."""

    @pytest.mark.parametrize("lengths_mm", [ALMIRAS, SUNNIVAS], ids=["expected", "later"])
    def test_with_a_message_that_is_not_answered(
        self, hall: Hall, lengths_mm: Sequence[int]
    ) -> None:
        hall.begin()
        card = hall.cards[(ALMIRAS, SUNNIVAS).index(lengths_mm)]
        remarks.receive(hall.club.store, card.url[-26:], "Feels two fingers low")
        verdict = hall.look(line(lengths_mm))

        assert verdict.kind is Kind.ASK_FIRST
        assert f"set nothing for {card.name} before the coach has said" in verdict.sentence
        assert "set what this station shows" not in verdict.sentence

    def test_without_a_raise_that_was_granted(self, hall: Hall) -> None:
        hall.begin()
        grant_raise(hall.club, hall.meet)
        verdict = hall.look(line(ALMIRAS))

        assert (verdict.kind, verdict.heading) == (Kind.ASK_FIRST, "Ask the coach first")
        assert "These marks are without it: do not set them. Ask the coach." in verdict.sentence
        assert "set what this station shows" not in verdict.sentence
        assert verdict.whose == "Almira O."


class TestOtherLengths:
    def test_stand_beside_those_that_are_entered(self, hall: Hall) -> None:
        """With the marks here for both, to the millimetre, and nothing is set by the card."""
        hall.begin()
        verdict = hall.look(f"{ELSEWHERE}/{line((1700, 2453, 1650))}")

        assert verdict.kind is Kind.OTHER_LENGTHS
        assert verdict.heading == "Printed elsewhere: other lengths"
        assert "set nothing before the coach has said which count" in verdict.sentence
        assert [one.differs for one in verdict.compared] == [False, True, False]
        high = verdict.compared[1]
        assert (high.printed, high.entered) == ("245.3 cm", "245.0 cm")
        assert "High rail height: " in " ".join(verdict.heeds)
        assert verdict.marks == ()

    def test_that_the_apparatus_does_not_reach_say_so(self, hall: Hall) -> None:
        hall.begin()
        verdict = hall.look(line((1700, 2900, 1650)))

        assert any("does not reach it" in heed for heed in verdict.heeds)

    def test_with_nothing_entered_the_coach_is_called(self, hall: Hall, monkeypatch) -> None:
        hall.begin()
        monkeypatch.setattr(
            "settingsdesk.desk.stations.printed_elsewhere.desk_settings.on_piece",
            lambda *_: {},
        )
        verdict = hall.look(line(ALMIRAS))

        assert "Almira O. has nothing entered: call the coach" in verdict.sentence
        assert verdict.whose == ""
        assert [one.entered for one in verdict.compared] == ["", "", ""]


class TestWhatComesFirst:
    def test_nothing_is_compared_at_an_apparatus_out_of_use(self, hall: Hall) -> None:
        hall.begin()
        with hall.club.work(writes=True) as session:
            findings.add_finding(
                session,
                hall.meet.apparatus_id,
                "A strand is out",
                withdraws=True,
                press_key="k",
            )
        assert hall.look(line(ALMIRAS)).kind is Kind.OUT_OF_USE

    def test_a_card_for_another_kind_is_for_another_apparatus(self, hall: Hall) -> None:
        verdict = hall.look(line((1250,), "balance_beam"))

        assert verdict.kind is Kind.OTHER_APPARATUS
        assert "This card is for balance beam; here stands Bars by the window" in verdict.sentence


class TestACodeThatOpensNothingHere:
    def test_of_another_desk_asks_for_the_line(self, hall: Hall) -> None:
        """Visiting clubs were told to print their own cards: none of them is a cancelled one."""
        verdict = hall.look(ELSEWHERE)

        assert verdict.kind is Kind.ELSEWHERE
        assert "type that" in verdict.sentence
        assert "cancelled" not in verdict.sentence

    def test_with_a_line_of_a_newer_form_says_that_it_cannot_be_read(self, hall: Hall) -> None:
        verdict = hall.look(f"{ELSEWHERE}/21170025001650{0:02}")
        assert verdict.kind is Kind.ELSEWHERE
        assert verdict.compared == ()

    def test_of_this_desk_stays_one_that_does_not_count(self, hall: Hall) -> None:
        """A line is no way around a card that was cancelled."""
        with hall.club.work(writes=True) as session:
            issued = desk_issued.of_athlete(session, hall.meet.guests[0].member.id)
            desk_issued.revoke(session, issued[0].id)
        card = hall.cards[0]
        assert hall.look(f"{card.url}/{card.line}").kind is Kind.UNKNOWN
        erased = f"{CODE_KEY.public_url}/C/{'A' * 26}/{card.line}"
        assert hall.look(erased).kind is Kind.UNKNOWN

    def test_of_another_club_on_this_desk_is_compared_by_its_line(self, hall: Hall) -> None:
        """Clubs that share an installation print their own cards too."""
        hall.begin()
        other = new_account(hall.club.store, "Another club", "ottar", "Ottar")
        card = hall.cards[0]
        shown = card_verdict.read(f"{card.url}/{card.line}")
        found = card_verdict.find(hall.club.store, CODE_KEY, shown)
        assert found is not None
        with hall.club.work() as session:
            here = at_station(session, hall.phone)
            theirs = replace(found, club_id=other.club_id)
            verdict = card_verdict.look(
                session, here, confirming.standing(session, here), shown, theirs
            )

        assert verdict.kind is Kind.ELSEWHERE
        assert verdict.heading == "Printed elsewhere: the same lengths"
