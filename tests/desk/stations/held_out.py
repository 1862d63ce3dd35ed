"""A small meet at whose station cards are held out."""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.desk.cards import in_hand
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.meets import meets
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import settings
from settingsdesk.desk.stations import card_verdict, confirming, stations
from settingsdesk.desk.stations.at_station import at_station
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.desk.stations.verdict import Verdict
from settingsdesk.domain.changeover.happenings import Rechecked, StepDone, TurnOver
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, SmallMeet, hold


@dataclass(frozen=True)
class Hall:
    """The small meet, its station open, one phone in, and everybody's card."""

    club: DemoClub
    meet: SmallMeet
    phone: PhoneIn
    cards: Sequence[Card]

    def look(self, typed: str) -> Verdict:
        shown = card_verdict.read(typed)
        try:
            found = card_verdict.find(self.club.store, CODE_KEY, shown)
        except in_hand.NoSuchCard as refusal:
            return card_verdict.no_such_card(refusal)
        with self.club.work() as session:
            here = at_station(session, self.phone)
            return card_verdict.look(
                session, here, confirming.standing(session, here), shown, found
            )

    def begin(self) -> int:
        with self.club.work(writes=True) as session:
            return desk_run.begin(session, self.meet.rotation_id, self.meet.apparatus_id)

    def turn_on(self, run_id: int) -> None:
        with self.club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            while view.run.stage is Stage.SETTING:
                step = StepDone(view.run.next_steps[0])
                view = desk_run.confirm(session, run_id, view.number, step)
            if view.run.stage is Stage.CHECKING:
                desk_run.confirm(session, run_id, view.number, Rechecked(alone=False))

    def turn_over(self, run_id: int) -> None:
        self.turn_on(run_id)
        with self.club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            desk_run.confirm(session, run_id, view.number, TurnOver())

    def give(self, athlete_id: int, high_mm: int) -> None:
        """Another setting for one of the guests."""
        with self.club.work(writes=True) as session:
            piece = meets.meet(session, self.meet.meet_id).pieces[0].piece
            wanted = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(piece.model.kind.axes, (1700, high_mm, 1650), strict=True)
            }
            setting = Setting(piece.model.kind, wanted)
            settings.keep_setting(session, athlete_id, piece.model_id, setting)

    def issue(self, *athlete_ids: int, apparatus_id: int | None = None) -> list[Card]:
        with self.club.work(writes=True) as session:
            where = apparatus_id or self.meet.apparatus_id
            return desk_issued.issue(session, CODE_KEY, where, athlete_ids)


def opened(club: DemoClub) -> tuple[SmallMeet, PhoneIn, Sequence[Card]]:
    """What a ``Hall`` has besides its club."""
    meet = hold(club)
    with club.work(writes=True) as session:
        one = stations.open_station(session, CODE_KEY, meet.session_id, meet.apparatus_id)
        code = stations.codes(session, CODE_KEY, one.id).short_code
        ids = [guest.member.id for guest in meet.guests]
        issued = desk_issued.issue(session, CODE_KEY, meet.apparatus_id, ids)
    return meet, stations.let_in(club.store, CODE_KEY, code, "Ivo"), tuple(issued)
