"""Two clubs of one desk: the demo club as the host of a meet, and a guest of it."""

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import select

from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.accounts import add_account, sign_in
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.hall import models
from settingsdesk.desk.lists import coach_lists, handing_over
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.handing_over import AtHost
from settingsdesk.desk.meets import (
    copies_at_hosts,
    entries,
    guest_clubs,
)
from settingsdesk.desk.meets.copies_at_hosts import CopyAtHost
from settingsdesk.desk.meets.guest_clubs import Away
from settingsdesk.desk.squad import athletes
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.resources import folder
from settingsdesk.store.settings import Setting
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, hold
from tests.made_once import made_once

SECRET = b"k" * 32
ANNS = "nine quiet otters juggling"
RULES = folder("seed") / "rulebooks.toml"


@dataclass
class Both:
    """The demo club as the host of a small meet, and a guest with a squad of its own."""

    host: DemoClub
    held: SmallMeet
    ann: SignedIn

    @contextmanager
    def guest(self, *, writes: bool = False) -> Iterator[ClubSession]:
        """A unit of work in the guest's club."""
        with self.host.store.work(self.ann.club_id, by="Ann Reed", writes=writes) as session:
            yield session

    def invited(self) -> str:
        with self.host.work(writes=True) as session:
            return guest_clubs.invite(session, SECRET, self.held.meet_id, "Lakeside GC")

    def joined(self) -> Away:
        number = guest_clubs.accept(self.host.store, self.invited(), self.ann)
        with self.guest() as session:
            return guest_clubs.away(session, number)

    def squad(self, *names: str) -> list[int]:
        """Those of the guest's squad, in that order."""
        with self.guest() as session:
            by_name = {member.listed_name: member.id for member in athletes.find(session)}
        return [by_name[name] for name in names] if names else list(by_name.values())

    def copies_of(self, athlete_id: int) -> list[CopyAtHost]:
        with self.guest() as session:
            sent = copies_at_hosts.sent_to(session, athlete_id)
        return copies_at_hosts.copies_at_hosts(self.host.store, self.ann, sent)

    def hall(self, there: Away) -> AtHost:
        return handing_over.at_host(self.host.store, self.ann, there)

    def send(self, there: Away, *athlete_ids: int) -> handing_over.Result:
        """Look at it, then do it."""
        told = (self.host.store, self.ann, there, self.hall(there), athlete_ids)
        return handing_over.hand_over(*told, handing_over.preview(*told).fingerprint)

    def changed(self, there: Away) -> set[int]:
        """Of whom the host has an older setting."""
        hall = self.hall(there)
        with self.guest() as session:
            sent = handing_over.handed(session, there.id)
            return set(handing_over.changed_since(session, there, hall, sent))

    def entered(self) -> dict[str, tuple[str, list[dict[str, int]]]]:
        """Whoever is entered as the guest's: how it was entered, and each setting's lengths."""
        with self.host.work() as session:
            return {
                entrant.member.listed_name: (
                    "comes" if entrant.is_in else "scratched",
                    [
                        {value.axis: value.wanted_mm for value in row.values}
                        for row in session.scalars(
                            select(Setting)
                            .where(Setting.athlete_id == entrant.member.id)
                            .order_by(Setting.model_id, Setting.version)
                        )
                    ],
                )
                for entrant in entries.entrants(session, self.held.meet_id)
                if entrant.from_club == "Lakeside GC"
            }


def two_clubs(demo_club: DemoClub) -> Both:
    """They are made once in a process, and each test has a copy."""
    held, ann = made_once(demo_club.store, "a meet, and a club beside it", lambda: _made(demo_club))
    return Both(demo_club, held, ann)


def _made(host: DemoClub) -> tuple[SmallMeet, SignedIn]:
    store = host.store
    held = hold(host)
    lakeside = clubs.add_club(store, "Lakeside", Unit.CENTIMETRE, RULES, "Runa")
    add_account(store, lakeside, "ann", "Ann Reed", ANNS)
    ann = sign_in(store, "ann", ANNS)
    assert ann is not None
    with store.work(lakeside, by="Ann Reed", writes=True) as session:
        for data in tomllib.loads((folder("seed") / "models.toml").read_text("utf-8"))["model"]:
            models.add_model(session, model_from_data(data))
        content = (folder("seed") / "squad.csv").read_bytes()
        taker = Squad(session)
        coach_lists.take(session, taker, coach_lists.look(session, taker, content, "squad.csv"))
    return held, ann
