"""The cards of a whole meet: in groups, within their days, superseded and never erased."""

from datetime import date, timedelta

import pytest
from sqlalchemy import select, update

from settingsdesk.desk.cards import in_hand
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.in_hand import CardHasEnded, NoSuchCard
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import Choice, Grouping, MeetCards, NobodyToPrintFor
from settingsdesk.desk.meets import entries, meets, start_orders, unsettled_lines
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.cards import Card
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned
from tests.desk.sample_meet import CODE_KEY, DAY, SmallMeet, hold, put_beam, set_anew


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


def issue(club: DemoClub, held: SmallMeet, choice: Choice | None = None) -> MeetCards:
    with club.work(writes=True) as session:
        return desk_cards.issue(session, CODE_KEY, held.meet_id, choice or Choice())


def code(card) -> str:
    return card.url.rpartition("/")[2]


class TestTheirOrder:
    def test_by_start_they_come_as_the_athletes_do(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        made = issue(demo_club, held)
        assert [
            (heading, [card.start_number for card in some]) for heading, some in made.groups
        ] == [("Session 1: Juniors, rotation 1, Bars by the window", ["11", "12", "13"])]

    def test_who_is_on_no_start_order_is_not_forgotten(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            ids = [guest.member.id for guest in held.guests[:2]]
            set_anew(session, held.rotation_id, ids)
        made = issue(demo_club, held)
        assert made.groups[-1][0] == "On no start order of Bars by the window yet"
        assert [card.name for card in made.groups[-1][1]] == ["Noor H."]

    def test_who_is_on_the_order_of_another_apparatus_is_missed_on_this_one_alone(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """They are on a start order: what they are not on is that of the card's apparatus."""
        put_beam(demo_club, held)
        with demo_club.work(writes=True) as session:
            set_anew(session, held.rotation_id, [guest.member.id for guest in held.guests[1:]])
            [beam] = apparatus.pieces_of_kind(session, "balance_beam")
        made = issue(demo_club, held)
        told = [(heading, [card.name for card in some]) for heading, some in made.groups[1:]]
        assert sorted(told) == sorted(
            [
                ("On no start order of Bars by the window yet", ["Almira O."]),
                (f"On no start order of {beam.name} yet", ["Sunniva B."]),
            ]
        )

    def test_by_club_each_clubs_are_together(self, demo_club: DemoClub, held: SmallMeet) -> None:
        made = issue(demo_club, held, Choice(Grouping.BY_CLUB))
        assert [(heading, len(some)) for heading, some in made.groups] == [
            ("Tarn Hollow GC", 2),
            ("Wexlow Turners", 1),
        ]

    def test_one_club_one_entry_or_one_apparatus_alone(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        for choice, count in (
            (Choice(clubs=("Wexlow Turners",)), 1),
            (Choice(entry_ids=(held.guests[0].entry_id,)), 1),
            (Choice(apparatus_ids=(held.apparatus_id,)), 3),
        ):
            assert issue(demo_club, held, choice).count == count

    def test_what_was_issued_can_be_printed_again_and_nothing_is_changed_by_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        made = issue(demo_club, held)
        with demo_club.work() as session:
            assert (
                desk_cards.printed(session, CODE_KEY, held.meet_id, Choice()).groups == made.groups
            )


class TestWhoGetsNone:
    def test_everybody_else_gets_theirs(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            entries.enter_guest(session, held.meet_id, Person("Ravn", "Liv"), "Wexlow Turners")
            unprintable = entries.enter_guest(session, held.meet_id, Person("渚", "美"), "湖")
            version = settings.current(session, held.guests[0].member.id)[0]
            piece = apparatus.piece(session, held.apparatus_id)
            settings.keep_setting(session, unprintable.member.id, piece.model_id, version.setting)
        made = issue(demo_club, held)
        assert made.count == 3
        why = {one.entrant.member.listed_name: one.why for one in made.left_out}
        assert why["Ravn, Liv"] == "no setting for uneven bars is entered"
        assert "cannot be printed" in why["渚, 美"]

    def test_of_who_is_not_meant_for_an_apparatus_none_is_expected(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A setting for another apparatus of the meet, and on no start order of this one."""
        beam_id = put_beam(demo_club, held)
        made = issue(demo_club, held)
        assert (made.count, made.left_out) == (4, ())
        assert {one.entrant.entry_id for one in made.elsewhere} == {
            held.guests[0].entry_id,
            held.guests[2].entry_id,
        }
        with demo_club.work(writes=True) as session:
            listed = [held.guests[0].member.id]
            start_orders.set_new(
                session, start_orders.Place(held.session_id, 2, beam_id), listed, "typed"
            )
        made = issue(demo_club, held)
        [on_the_order] = made.left_out
        assert on_the_order.entrant.entry_id == held.guests[0].entry_id
        assert [one.entrant.entry_id for one in made.elsewhere] == [held.guests[2].entry_id]

    def test_of_whom_a_list_said_something_that_was_not_taken_one_is(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        put_beam(demo_club, held)
        with demo_club.work(writes=True) as session:
            line = Line(held.guests[2].member.id, "row 4, Beam", "12?", "a question mark")
            unsettled_lines.keep(session, held.meet_id, "Wexlow Turners", "layout", [line])
        made = issue(demo_club, held)
        assert [one.entrant.entry_id for one in made.left_out] == [held.guests[2].entry_id]

    def test_where_only_such_are_chosen_they_are_named(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        beam_id = put_beam(demo_club, held)
        entry_id = held.guests[0].entry_id
        with pytest.raises(NobodyToPrintFor, match="no setting for balance beam"):
            issue(demo_club, held, Choice(apparatus_ids=(beam_id,), entry_ids=(entry_id,)))

    def test_with_a_printed_name_they_get_one(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            guest = held.guests[0].member
            athletes.change(session, guest.id, Person("渚", "美", printed_name="Mi N."))
        made = issue(demo_club, held)
        assert made.left_out == ()
        assert made.groups[0][1][0].name == "Mi N."

    def test_the_withdrawn_get_none(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[0].entry_id)
        assert issue(demo_club, held).count == 2

    def test_nobody_at_all_is_refused(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with pytest.raises(NobodyToPrintFor):
            issue(demo_club, held, Choice(clubs=("No such club",)))


class TestChangedSinceTheyWerePrinted:
    def changed(self, club: DemoClub, held: SmallMeet) -> list[desk_cards.ChangedCard]:
        with club.work() as session:
            meet = meets.meet(session, held.meet_id)
            return desk_cards.changed(session, meet, entries.entrants(session, held.meet_id))

    def test_those_are_named_and_printed_and_no_others(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """On the evening before, one new setting is not a reason for three hundred cards."""
        assert self.changed(demo_club, held) == []
        issue(demo_club, held)
        assert self.changed(demo_club, held) == []
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            wanted = Setting(
                piece.model.kind,
                {
                    "low_rail": Wanted(1600, 10),
                    "high_rail": Wanted(2400, 10),
                    "spread": Wanted(1600, 10),
                },
            )
            settings.keep_setting(session, held.guests[1].member.id, piece.model_id, wanted)
        [old] = self.changed(demo_club, held)
        assert (old.entrant.entry_id, old.version) == (held.guests[1].entry_id, 1)

        made = issue(demo_club, held, Choice(cards=(old.numbers,)))
        assert [card.name for _, cards in made.groups for card in cards] == ["Sunniva B."]
        assert self.changed(demo_club, held) == []

    @pytest.mark.parametrize(
        ("step", "said_then"),
        [
            ("asked", "{0}: asked for, 5 December 2026, not settled yet"),
            ("refused", "{0}: refused, 5 December 2026"),
            ("granted", "{0}: granted, 5 December 2026. These marks are without it"),
        ],
    )
    def test_one_that_has_a_request_in_words_of_before_is_none_of_them(
        self, demo_club: DemoClub, held: SmallMeet, step: str, said_then: str
    ) -> None:
        """Nobody is sent to print anew what is the same in other words."""
        guest, bars = held.guests[0], held.apparatus_id
        with demo_club.work(writes=True) as session:
            for told in dict.fromkeys(("asked", step)):
                entries.tell_raise(session, guest.entry_id, bars, told, 50, "the coach", DAY)
        said = issue(demo_club, held).groups[0][1][0].raise_request
        then = said_then.format("Rails raised by 5.0 cm")
        assert said != then
        with demo_club.work(writes=True) as session:
            [card] = [
                one for one in session.scalars(select(Card)) if one.content["raise_request"] == said
            ]
            content = card.content | {"raise_request": then}
            session.execute(update(Card).where(Card.id == card.id).values(content=content))
        assert self.changed(demo_club, held) == []
        with demo_club.work() as session:
            assert in_hand.outdated_of(session, guest.member.id) == {}


class TestWhatTheySay:
    def test_club_number_and_request(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            entry = held.guests[0].entry_id
            entries.tell_raise(session, entry, held.apparatus_id, "asked", 50, "her coach", DAY)
        card = issue(demo_club, held).groups[0][1][0]
        assert (card.club, card.start_number) == ("Tarn Hollow GC", "11")
        assert card.raise_request == (
            "Not settled yet: a request of 5 December 2026 to raise the rails by 5.0 cm"
        )
        assert card.counts_until == DAY + timedelta(days=30)

    def test_a_new_setting_supersedes_and_the_old_code_says_what_changed(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        old = issue(demo_club, held).groups[0][1][0]
        guest = held.guests[0].member
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            wanted = {"low_rail": 1650, "high_rail": 2450, "spread": 1650}
            setting = Setting(piece.model.kind, {key: Wanted(mm, 10) for key, mm in wanted.items()})
            settings.keep_setting(session, guest.id, piece.model_id, setting)
        new = issue(demo_club, held).groups[0][1][0]
        seen = scanned(demo_club, code(old))
        assert (new.version, seen.current) == (2, False)
        assert "Low rail height" in [one.axis for one in seen.differences]

    def test_a_request_settled_since_is_a_change_too(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        entry, bars = held.guests[0].entry_id, held.apparatus_id
        old = issue(demo_club, held).groups[0][1][0]
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry, bars, "asked", 50, "her coach", DAY)
        [difference] = scanned(demo_club, code(old)).differences
        assert (difference.axis, difference.printed) == ("Request to raise the rails", "none")


class TestTheirEnd:
    def test_after_its_last_day_a_card_opens_nothing(
        self, demo_club: DemoClub, held: SmallMeet, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        card = issue(demo_club, held).groups[0][1][0]
        assert card.counts_until is not None
        for days, opens in ((0, True), (1, False)):
            day = card.counts_until + timedelta(days=days)
            monkeypatch.setattr(in_hand, "today", lambda day=day: day)
            if opens:
                assert scanned(demo_club, code(card)).counts_until == day
            else:
                with pytest.raises(CardHasEnded):
                    scanned(demo_club, code(card))

    def test_another_last_day_of_the_meet_is_another_version(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        issue(demo_club, held)
        with demo_club.work(writes=True) as session:
            facts = MeetFacts("Lantern Cup", "Main hall", DAY, DAY, date(2026, 12, 20))
            meets.change_meet(session, held.meet_id, facts)
        assert {card.version for card in issue(demo_club, held).groups[0][1]} == {2}

    def test_one_that_was_revoked_opens_nothing_and_the_next_has_another_code(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        card = issue(demo_club, held).groups[0][1][0]
        with demo_club.work(writes=True) as session:
            [kept] = desk_issued.of_athlete(session, held.guests[0].member.id)
            desk_issued.revoke(session, kept.id)
        with pytest.raises(NoSuchCard):
            scanned(demo_club, code(card))
        assert code(issue(demo_club, held).groups[0][1][0]) != code(card)


class TestWhereAGuestMayLook:
    def test_on_the_meets_apparatus_and_on_no_other_of_the_hosts(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        card = issue(demo_club, held).groups[0][1][0]
        assert scanned(demo_club, code(card)).elsewhere == ()
        with demo_club.work(writes=True) as session:
            other = next(
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the door"
            )
            meets.put_apparatus(session, held.meet_id, other.id)
        seen = scanned(demo_club, code(card))
        assert [piece.name for piece in seen.elsewhere] == ["Bars by the door"]
