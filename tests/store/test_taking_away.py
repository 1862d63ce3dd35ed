"""What was typed by mistake goes; what anything hangs on stays, with its history."""

from datetime import date

import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import IntegrityError

from settingsdesk.store import athletes
from settingsdesk.store.apparatus import Apparatus, ApparatusSetup
from settingsdesk.store.apparatus_models import ApparatusModel, ApparatusModelVersion
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base
from settingsdesk.store.errors import NotInThisClub, RecordIsFinal
from settingsdesk.store.meets import Entry, Meet, MeetApparatus, MeetSession
from settingsdesk.store.parts import Part, PartCount
from settingsdesk.store.rotations import Rotation, RotationPlan
from settingsdesk.store.settings import Setting, SettingValue
from settingsdesk.store.taking_away import (
    GOES_ALONG,
    HANGS_ON,
    SomethingHangsOnIt,
    hanging,
    take_away,
)
from settingsdesk.store.work import Store

KINDS = list(HANGS_ON)


def free(session, ours, entity):
    """One more row of that kind, with its parts and nothing else."""
    if entity is Athlete:
        row = Athlete(family_name="Neu", given_name="Ana", created_by="Ida")
        setting = Setting(model_id=ours.model, version=1, recorded_by="Ida")
        setting.values.append(SettingValue(axis="low_rail", wanted_mm=1650))
        setting.athlete = row
        session.add(setting)
    elif entity is ApparatusModel:
        row = ApparatusModel(name="Frame Z", kind="uneven_bars")
        row.versions.append(ApparatusModelVersion(version=1, definition={}, recorded_by="Ida"))
        row.versions.append(ApparatusModelVersion(version=2, definition={}, recorded_by="Ida"))
    elif entity is Apparatus:
        row = Apparatus(model_id=ours.model, name="Bars Z")
        row.setups.append(ApparatusSetup(stops=[1, 2, 3], recorded_by="Ida"))
    elif entity in (Meet, MeetSession):
        day = date(2026, 3, 2)
        row = Meet(name="Z", hall="Z", begins_on=day, ends_on=day, cards_until=day, created_by="I")
        row.apparatus.append(MeetApparatus(apparatus_id=ours.apparatus))
        if entity is MeetSession:
            session.add(row)
            session.flush()
            row = MeetSession(meet_id=row.id, number=1, name="Z", held_on=day)
    elif entity is Entry:
        ana = free(session, ours, Athlete)
        row = Entry(
            meet_id=number_of(session, Meet), athlete_id=ana.id, from_club="Z", entered_by="Ida"
        )
    elif entity is Part:
        row = Part(name="Z", kind="", minimum=1, created_by="Ida")
        row.counts.append(PartCount(counted=2, remark="", recorded_by="Ida"))
    else:
        like = session.get(Rotation, ours.rotation)
        row = Rotation(
            apparatus_id=ours.apparatus, name="Z", held_on=like.held_on, asked={}, created_by="Ida"
        )
        row.plans.append(RotationPlan(made_by="Ida", result={}))
    session.add(row)
    session.flush()
    return row


def number_of(session, entity) -> int:
    """The first of those that stand on the club's desk."""
    return session.scalars(select(entity.id).order_by(entity.id)).first()


@pytest.mark.parametrize("entity", KINDS, ids=lambda entity: entity.__name__)
class TestTakingAway:
    def test_what_nothing_hangs_on_goes_with_its_parts(self, store: Store, ours, entity) -> None:
        with store.work(ours.club, writes=True) as session:
            number = free(session, ours, entity).id
        with store.work(ours.club, writes=True) as session:
            row = session.get(entity, number)
            assert hanging(session, row) == []
            take_away(session, row, "Z")
        with store.work(ours.club, writes=False) as session:
            assert session.get(entity, number) is None
            for column in GOES_ALONG[entity]:
                left = select(func.count()).select_from(column.class_).where(column == number)
                assert session.scalar(left) == 0

    def test_it_counts_in_its_own_club_alone(self, store: Store, ours, theirs, entity) -> None:
        with store.work(theirs.club, writes=False) as session:
            other = number_of(session, entity)
        with store.work(ours.club, writes=False) as session:
            assert session.get(entity, other) is None
            for one in hanging(session, session.get(entity, number_of(session, entity))):
                assert one.count >= 1

    def test_whatever_refers_to_it_is_known(self, entity) -> None:
        """A new table that refers to it is told of before anything of it is lost."""
        referring = {
            (table.name, column.name)
            for table in Base.metadata.tables.values()
            for constraint in table.foreign_key_constraints
            if constraint.referred_table.name == entity.__tablename__
            for column in constraint.columns
            if column.name != "club_id"
        }
        columns = (*(sort.column for sort in HANGS_ON[entity]), *GOES_ALONG[entity])

        assert referring == {(one.class_.__tablename__, one.key) for one in columns}


class TestWhatStays:
    @pytest.mark.parametrize(
        "entity", [one for one in KINDS if HANGS_ON[one]], ids=lambda entity: entity.__name__
    )
    def test_what_something_hangs_on_stays_and_says_what_it_is(
        self, store: Store, ours, entity
    ) -> None:
        """Somebody trained by it, or was checked by it."""
        with store.work(ours.club, writes=False) as session:
            number = number_of(session, entity)
        with (
            pytest.raises(SomethingHangsOnIt) as refused,
            store.work(ours.club, writes=True) as session,
        ):
            take_away(session, session.get(entity, number), "It")
        assert str(refused.value).startswith("It stays, because of what hangs on it: 1 ")
        with store.work(ours.club, writes=False) as session:
            assert session.get(entity, number) is not None

    def test_a_part_does_not_go_without_its_whole(self, store: Store, ours) -> None:
        """What was found for a rotation stays on record as long as the rotation does."""
        with store.work(ours.club, writes=True) as session:
            free(session, ours, Part)
        for part in (ApparatusModelVersion, ApparatusSetup, RotationPlan, PartCount):
            with pytest.raises(RecordIsFinal), store.work(ours.club, writes=True) as session:
                session.delete(session.scalars(select(part)).first())

    def test_the_tables_hold_it_too(self, store: Store, ours) -> None:
        """Whoever goes round the question meets the reference."""
        with pytest.raises(IntegrityError), store.work(ours.club, writes=True) as session:
            session.delete(session.get(Apparatus, ours.apparatus))

    def test_one_of_another_club_is_not_found(self, store: Store, ours, theirs) -> None:
        with pytest.raises(NotInThisClub), store.work(ours.club, writes=True) as session:
            take_away(session, athletes.by_id(session, theirs.athlete), "Hers")

    def test_an_apparatus_on_which_another_rotation_is_held_too_stays(
        self, store: Store, ours
    ) -> None:
        """Its number stands in what the coach asks, where no table refers to it."""
        with store.work(ours.club, writes=True) as session:
            beside = free(session, ours, Apparatus)
            session.get(Rotation, ours.rotation).asked = {"apparatus": [beside.id]}
            session.flush()
            [held] = hanging(session, beside)
        assert held.called == "rotation that is held on it too"
