"""A club's revision is another one after everything that is written, and after nothing else."""

import secrets
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import delete, text, update

from settingsdesk.store.apparatus import ApparatusSetup
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base
from settingsdesk.store.clubs import Account, Membership, Revision, club_by_id
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.invitations import Invitation
from settingsdesk.store.list_mappings import ListMapping
from settingsdesk.store.recovery_codes import RecoveryCode
from settingsdesk.store.revisions import OF_NOTHING, OF_RUNS
from settingsdesk.store.runs import Run, RunEvent
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.stations import StationLetIn, StationPhone
from settingsdesk.store.work import Store


def revision(store: Store, club_id: int) -> Revision:
    with store.installation(writes=False) as session:
        return Revision.of(club_by_id(session, club_id))


def rename(session: Any, athlete_id: int, name: str) -> None:
    session.get(Athlete, athlete_id).family_name = name


def rename_and_fail(session: Any, athlete_id: int) -> None:
    rename(session, athlete_id, "Birk")
    session.flush()
    raise LookupError("something went wrong")


class TestWhatIsWritten:
    def test_renews_the_club_whose_records_changed_and_no_other(self, store: Store, ours, theirs):
        before, of_theirs = revision(store, ours.club), revision(store, theirs.club)
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Birk")

        after = revision(store, ours.club)
        assert after.records != before.records
        assert after.runs == before.runs
        assert revision(store, theirs.club) == of_theirs

    def test_renews_it_once_more_each_time(self, store: Store, ours):
        seen = {revision(store, ours.club)}
        for name in ("Birk", "Ask", "Birk"):
            with store.work(ours.club, writes=True) as session:
                rename(session, ours.athlete, name)
            seen.add(revision(store, ours.club))

        assert len(seen) == 4

    @pytest.mark.parametrize(
        "statement",
        [
            update(Athlete).values(group_name="Juniors"),
            delete(ListMapping),
        ],
        ids=["update", "delete"],
    )
    def test_by_a_statement_over_many_rows_counts(self, store: Store, ours, statement):
        before = revision(store, ours.club)
        with store.work(ours.club, writes=True) as session:
            session.execute(statement)

        assert revision(store, ours.club).records != before.records

    def test_by_hand_counts_whatever_it_was(self, store: Store, ours, theirs):
        """Nobody can tell which table it was: everything is new then."""
        before = [revision(store, one.club).records for one in (ours, theirs)]
        with store.installation(writes=True) as session:
            session.connection().exec_driver_sql("UPDATE athlete SET group_name = 'Juniors'")
            session.execute(text("UPDATE athlete SET group_name = 'Seniors'"))

        after = [revision(store, one.club).records for one in (ours, theirs)]
        assert all(was != now for was, now in zip(before, after, strict=True))

    def test_over_all_clubs_renews_all(self, store: Store, ours, theirs):
        before = [revision(store, one.club).records for one in (ours, theirs)]
        with store.installation(writes=True) as session:
            session.get(Athlete, 1).given_name = "Bo"

        after = [revision(store, one.club).records for one in (ours, theirs)]
        assert all(was != now for was, now in zip(before, after, strict=True))

    def test_is_seen_with_its_number_and_never_before(self, database: Path, store: Store, ours):
        """Whoever reads the old number while somebody writes reads the old records with it."""
        before = revision(store, ours.club)
        other = Store(database)
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Birk")
            session.flush()
            assert revision(other, ours.club) == before
        assert revision(other, ours.club) != before
        other.close()


class TestWhatHappensAtTheApparatus:
    def test_renews_the_number_of_runs_and_leaves_the_records_alone(self, store: Store, ours):
        """A step is confirmed every few seconds: no card's page is read anew for it."""
        before = revision(store, ours.club)
        with store.work(ours.club, writes=True) as session:
            session.add(ApparatusSetup(apparatus_id=ours.apparatus, stops=[1], recorded_by="Bo"))

        after = revision(store, ours.club)
        assert after.runs != before.runs
        assert after.records == before.records

    def test_is_what_is_named_and_nothing_more(self):
        """A table that is new counts among the records until somebody has thought about it."""
        assert {one.__tablename__ for one in (Run, RunEvent, ApparatusSetup)} == OF_RUNS
        of_who_is_in = (
            *(Account, Membership, Invitation, SignIn, FailedTry, RecoveryCode),
            *(StationPhone, StationLetIn),
        )
        assert {one.__tablename__ for one in of_who_is_in} == OF_NOTHING
        assert set(Base.metadata.tables) >= OF_RUNS | OF_NOTHING


class TestNothing:
    def test_is_renewed_by_looking(self, store: Store, ours):
        before = revision(store, ours.club)
        for writes in (False, True):
            with store.work(ours.club, writes=writes) as session:
                assert session.get(Athlete, ours.athlete)

        assert revision(store, ours.club) == before

    def test_is_renewed_by_the_same_once_more(self, store: Store, ours):
        before = revision(store, ours.club)
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Ask")

        assert revision(store, ours.club) == before

    def test_is_renewed_by_what_was_not_kept(self, store: Store, ours):
        before = revision(store, ours.club)
        with pytest.raises(LookupError), store.work(ours.club, writes=True) as session:
            rename_and_fail(session, ours.athlete)
        with store.work(ours.club, writes=True) as session:
            assert session.get(Athlete, ours.athlete)

        assert revision(store, ours.club) == before

    def test_is_renewed_by_signing_in(self, store: Store, ours):
        before = revision(store, ours.club)
        with store.installation(writes=True) as session:
            coach = session.get(Membership, 1)
            hashed = secrets.token_hex(16)
            session.add(
                SignIn(club_id=coach.club_id, account_id=coach.account_id, stamp_hash=hashed)
            )
            session.execute(delete(SignIn).where(SignIn.stamp_hash == hashed))

        assert revision(store, ours.club) == before
