"""A meet that is announced, entered for and put in order by several people in any order."""

from dataclasses import dataclass, field
from datetime import date

from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.refusals import (
    ApparatusHasOrders,
    NotEntered,
    NotOfThisMeet,
    NotOnTheOrder,
    OrderChanged,
    OrderIsSet,
)
from settingsdesk.desk.meets.start_orders import Place
from settingsdesk.desk.rotations.rotation import ListedTwice, NobodyListed
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.taking_away import SomethingHangsOnIt
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.at_random import PEOPLE, AtRandom, work_at_random

DAY = date(2026, 12, 5)
MOST_SESSIONS = 3

people = st.sampled_from(PEOPLE[:2])
draws = st.integers(0, 30)


@dataclass
class Entered:
    """What the model knows of an entry."""

    athlete_id: int
    is_guest: bool
    number: str
    is_in: bool = True


@dataclass
class Meet:
    """The plain model of one meet."""

    sessions: list[int] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    entries: dict[int, Entered] = field(default_factory=dict)
    orders: dict[int, tuple[Place, list[int]]] = field(default_factory=dict)
    """By the rotation's number."""

    def entered(self, *, coming: bool = True) -> list[int]:
        """Who is entered, or who is or was."""
        return [one.athlete_id for one in self.entries.values() if one.is_in or not coming]

    def is_listed(self, athlete_id: int) -> bool:
        """Whether a start order has that athlete."""
        return any(athlete_id in listed for _, listed in self.orders.values())


class MeetsAtRandom(AtRandom):
    """One meet in the demo club's hall."""

    def __init__(self, club: DemoClub) -> None:
        super().__init__(club)
        facts = MeetFacts("Lantern Cup", "Hall", DAY, DAY, MeetFacts.usual_end_of_cards(DAY))
        with self.writing() as session:
            self.meet_id = meets.add_meet(session, facts).id
            assert meets.add_meet(session, facts).id == self.meet_id, "pressed twice"
            self.hall = [piece.id for piece in apparatus.all_pieces(session)][:3]
            self.squad = [member.id for member in athletes.find(session)][:4]
        self.meet, self.guests = Meet(), 0

    @rule(by=people, at_ten=st.booleans())
    def a_session_is_added(self, by: str, at_ten: bool) -> None:
        if len(self.meet.sessions) == MOST_SESSIONS:
            return
        last = len(self.meet.sessions)
        begins_at = "10:00" if at_ten else ""
        with self.writing(by) as session:
            told = (session, self.meet_id, f"Part {self.guests}", DAY, begins_at)
            added = meets.add_session(*told, after=self._last())
            assert meets.add_session(*told, after=self._last()) == added, "pressed twice"
        self.meet.sessions.append(added.id)
        assert len(self.meet.sessions) == last + 1

    def _last(self) -> int:
        with self.club.work() as session:
            found = meets.meet(session, self.meet_id).sessions
        return max((part.number for part in found), default=0)

    @precondition(lambda self: self.meet.sessions)
    @rule(by=people, which=draws)
    def a_session_is_taken_away(self, by: str, which: int) -> None:
        session_id = self.meet.sessions[which % len(self.meet.sessions)]

        def takes(session: ClubSession) -> object:
            return meets.take_session_away(session, session_id)

        if any(place.session_id == session_id for place, _ in self.meet.orders.values()):
            self.refused(by, takes, SomethingHangsOnIt)
            return
        with self.writing(by) as session:
            takes(session)
        self.meet.sessions.remove(session_id)

    @rule(by=people, which=draws)
    def an_apparatus_comes_or_goes(self, by: str, which: int) -> None:
        piece_id = self.hall[which % len(self.hall)]
        if piece_id not in self.meet.pieces:
            with self.writing(by) as session:
                meets.put_apparatus(session, self.meet_id, piece_id)
            self.meet.pieces.append(piece_id)
            return

        def takes(session: ClubSession) -> object:
            return meets.take_apparatus_away(session, self.meet_id, piece_id)

        if any(place.apparatus_id == piece_id for place, _ in self.meet.orders.values()):
            self.refused(by, takes, ApparatusHasOrders)
            return
        with self.writing(by) as session:
            takes(session)
        self.meet.pieces.remove(piece_id)

    @rule(by=people)
    def a_guest_is_entered(self, by: str) -> None:
        self.guests += 1
        person = Person("Twin", "Ana")  # all of one name, and each is somebody else
        number = str(100 + self.guests)
        with self.writing(by) as session:
            entrant = entries.enter_guest(session, self.meet_id, person, "Wexlow", number)
        assert entrant.member.id not in self.meet.entered(coming=False)
        self.meet.entries[entrant.entry_id] = Entered(entrant.member.id, True, number)

    @rule(by=people, whom=st.lists(st.integers(0, 3), min_size=1, max_size=3))
    def some_of_the_squad_are_entered(self, by: str, whom: list[int]) -> None:
        """Once more, they stay as they are entered."""
        chosen = [self.squad[one] for one in whom]
        known = self.meet.entered(coming=False)
        with self.writing(by) as session:
            entered = entries.enter_squad(session, self.meet_id, chosen)
        assert [one.member.id for one in entered] == [
            one for one in dict.fromkeys(chosen) if one not in known
        ]
        for one in entered:
            self.meet.entries[one.entry_id] = Entered(one.member.id, False, "")

    @precondition(lambda self: self.meet.entries)
    @rule(by=people, which=draws, number=st.sampled_from(("", "7", " 12 ")))
    def an_entry_is_changed(self, by: str, which: int, number: str) -> None:
        entry_id = self._entry(which)
        with self.writing(by) as session:
            entries.change_entry(session, entry_id, "Wexlow", number, "")
        self.meet.entries[entry_id].number = number.strip()

    @precondition(lambda self: self.meet.entries)
    @rule(by=people, which=draws)
    def somebody_is_scratched_or_comes_after_all(self, by: str, which: int) -> None:
        entry_id = self._entry(which)
        one = self.meet.entries[entry_id]
        does = entries.withdraw_entry if one.is_in else entries.enter_again
        for _ in ("once", "and once more"):
            with self.writing(by) as session:
                assert does(session, entry_id).is_in is not one.is_in
        one.is_in = not one.is_in

    @precondition(lambda self: self.meet.entries)
    @rule(by=people, which=draws)
    def an_entry_is_taken_away(self, by: str, which: int) -> None:
        entry_id = self._entry(which)
        one = self.meet.entries[entry_id]

        def takes(session: ClubSession) -> object:
            return entries.take_away(session, entry_id)

        if self.meet.is_listed(one.athlete_id):
            self.refused(by, takes, SomethingHangsOnIt)
            return
        with self.writing(by) as session:
            takes(session)
        del self.meet.entries[entry_id]
        with self.club.work() as session:
            assert bool(athletes.members(session, [one.athlete_id])) is not one.is_guest

    def _entry(self, which: int) -> int:
        return sorted(self.meet.entries)[which % len(self.meet.entries)]

    @precondition(lambda self: self.meet.sessions and self.meet.entries)
    @rule(by=people, data=st.data(), twice=st.booleans())
    def a_start_order_is_set(self, by: str, data: st.DataObject, twice: bool) -> None:
        place = Place(
            data.draw(st.sampled_from(self.meet.sessions)),
            data.draw(st.integers(1, 2)),
            data.draw(st.sampled_from(self.hall)),
        )
        listed = self._list(data)
        known = next((list(those) for at, those in self.meet.orders.values() if at == place), None)

        def sets(session: ClubSession) -> object:
            return start_orders.set_new(session, place, listed, "typed")

        if known is not None and known != listed:
            self.refused(by, sets, OrderIsSet)
        elif known is None and place.apparatus_id not in self.meet.pieces:
            self.refused(by, sets, NotOfThisMeet)
        elif refusal := self._refusal(listed, known or []):
            self.refused(by, sets, *refusal)
        else:
            for _ in range(1 + twice):
                with self.writing(by) as session:
                    line = start_orders.set_new(session, place, listed, "typed")
                assert self.meet.orders.setdefault(line.rotation_id, (place, listed)) == (
                    place,
                    listed,
                )

    @precondition(lambda self: self.meet.orders)
    @rule(by=people, data=st.data(), is_fresh=st.booleans())
    def a_start_order_is_changed(self, by: str, data: st.DataObject, is_fresh: bool) -> None:
        rotation_id, place, before = self._order(data)
        listed = self._list(data)
        with self.club.work() as session:
            seen = start_orders.start_order(session, rotation_id).line.seen if is_fresh else "old"

        def changes(session: ClubSession) -> object:
            told = (session, rotation_id, listed, "typed", 2, seen)
            return start_orders.change_order(*told)

        if listed != before and not is_fresh:
            self.refused(by, changes, OrderChanged)
        elif refusal := self._refusal(listed, before):
            self.refused(by, changes, *refusal)
        else:
            with self.writing(by) as session:
                changes(session)
            self.meet.orders[rotation_id] = place, listed

    @precondition(lambda self: self.meet.orders)
    @rule(by=people, data=st.data(), to=st.integers(0, 4))
    def the_jury_moves_somebody(self, by: str, data: st.DataObject, to: int) -> None:
        rotation_id, place, before = self._order(data)
        whom = data.draw(st.sampled_from(self.meet.entered(coming=False)))
        with self.club.work() as session:
            seen = start_orders.start_order(session, rotation_id).line.seen

        def moves(session: ClubSession) -> object:
            return start_orders.move(session, rotation_id, whom, to, seen)

        if whom not in before or not 1 <= to <= len(before):
            self.refused(by, moves, NotOnTheOrder)
            return
        with self.writing(by) as session:
            moves(session)
        after = [one for one in before if one != whom]
        after.insert(to - 1, whom)
        self.meet.orders[rotation_id] = place, after

    @precondition(lambda self: self.meet.orders)
    @rule(by=people, data=st.data())
    def the_scratched_are_taken_off(self, by: str, data: st.DataObject) -> None:
        rotation_id, place, before = self._order(data)
        coming = self.meet.entered()
        left = [one for one in before if one in coming]

        def takes(session: ClubSession) -> object:
            return start_orders.take_off_withdrawn(session, rotation_id)

        if not left:
            self.refused(by, takes, NobodyListed)
            return
        with self.writing(by) as session:
            takes(session)
        self.meet.orders[rotation_id] = place, left

    @precondition(lambda self: self.meet.orders)
    @rule(by=people, data=st.data())
    def a_start_order_is_taken_away(self, by: str, data: st.DataObject) -> None:
        rotation_id, place, _ = self._order(data)
        with self.writing(by) as session:
            assert start_orders.take_away(session, rotation_id) == place.session_id
        del self.meet.orders[rotation_id]

    def _order(self, data: st.DataObject) -> tuple[int, Place, list[int]]:
        rotation_id = data.draw(st.sampled_from(sorted(self.meet.orders)))
        place, listed = self.meet.orders[rotation_id]
        return rotation_id, place, listed

    def _list(self, data: st.DataObject) -> list[int]:
        """Mostly of those who are entered, at times somebody who is not, or twice."""
        everybody = [*self.meet.entered(), *self.meet.entered(coming=False)]
        chosen = data.draw(st.lists(st.sampled_from(everybody), max_size=4, unique=True))
        slip = data.draw(st.integers(0, 9))
        return chosen + {0: self.squad[:1], 1: chosen[:1]}.get(slip, [])

    def _refusal(self, listed: list[int], before: list[int]) -> tuple[type, ...]:
        """What must be wrong with a list, one or the other of several things."""
        refusals: list[type] = [] if listed else [NobodyListed]
        coming, known = self.meet.entered(), self.meet.entered(coming=False)
        if any(one not in coming and (one not in known or one not in before) for one in listed):
            refusals.append(NotEntered)
        if len(set(listed)) < len(listed):
            refusals.append(ListedTwice)
        return tuple(refusals)

    @invariant()
    def the_meet_is_what_was_said_of_it(self) -> None:
        with self.club.work() as session:
            meet = meets.meet(session, self.meet_id)
            entered = entries.entrants(session, self.meet_id)
            orders = start_orders.orders_at(session, meet)
            hangs = meets.hanging(session, self.meet_id)
        assert [part.id for part in meet.sessions] == self.meet.sessions
        numbers = [part.number for part in meet.sessions]
        assert numbers == sorted(set(numbers))
        assert {one.piece.id for one in meet.pieces} == set(self.meet.pieces)
        assert bool(hangs) is bool(self.meet.sessions or self.meet.entries)
        assert {one.entry_id: (one.member.id, one.start_number, one.is_in) for one in entered} == {
            entry_id: (one.athlete_id, one.number, one.is_in)
            for entry_id, one in self.meet.entries.items()
        }
        assert {line.rotation_id: (line.place, list(line.athlete_ids)) for line in orders} == (
            self.meet.orders
        )


def test_a_meet_is_what_was_said_of_it(demo_club: DemoClub) -> None:
    """Whoever enters, scratches, sets and moves, from old pages and by pressing twice."""
    work_at_random(demo_club, MeetsAtRandom)
