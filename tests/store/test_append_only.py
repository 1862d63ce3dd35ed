"""What was recorded stays as it was recorded."""

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.exc import IntegrityError

from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import AppendOnly, Base
from settingsdesk.store.clubs import Club
from settingsdesk.store.errors import RecordIsFinal
from settingsdesk.store.settings import Setting, SettingValue
from settingsdesk.store.work import Store

FINAL = sorted(
    (mapper.class_ for mapper in Base.registry.mappers if issubclass(mapper.class_, AppendOnly)),
    key=lambda entity: entity.__name__,
)


def first_text_column(entity: type[Base]) -> str:
    """A column to try a change on."""
    texts = ("recorded_by", "made_by", "axis", "words", "word", "by")
    return next(name for name in texts if name in entity.__table__.columns)


def add_a_value(setting: Setting) -> None:
    setting.values.append(SettingValue(axis="spread", wanted_mm=1400))


@pytest.mark.parametrize("entity", FINAL, ids=lambda entity: entity.__name__)
@pytest.mark.parametrize("scope", ["club", "installation"])
class TestFinalRecords:
    @pytest.fixture
    def work(self, store: Store, ours, scope: str):
        if scope == "club":
            return store.work(ours.club, writes=True)
        return store.installation(writes=True)

    def test_a_change_is_refused(self, work, entity):
        """Somebody trained on last month's setting; last month's setting must still be there."""
        with pytest.raises(RecordIsFinal) as refused, work as session:
            setattr(session.scalars(select(entity)).first(), first_text_column(entity), "other")
        assert entity.__tablename__.replace("_", " ") in str(refused.value)
        assert "Record a new one" in str(refused.value)

    def test_deleting_is_refused(self, work, entity):
        with pytest.raises(RecordIsFinal), work as session:
            session.delete(session.scalars(select(entity)).first())

    def test_changing_many_at_once_is_refused(self, work, entity):
        with pytest.raises(RecordIsFinal), work as session:
            session.execute(update(entity).values({first_text_column(entity): "other"}))

    def test_deleting_many_at_once_is_refused(self, work, entity):
        with pytest.raises(RecordIsFinal), work as session:
            session.execute(delete(entity))


class TestWhatHangsOnARecord:
    def test_the_records_that_are_final(self):
        """Kept as a list here, so that nobody takes one off unnoticed."""
        assert [entity.__name__ for entity in FINAL] == [
            "ApparatusCheck",
            "ApparatusModelVersion",
            "ApparatusSetup",
            "Change",
            "CheckAnswer",
            "CheckListVersion",
            "Finding",
            "FindingStep",
            "Growth",
            "MeetDelivery",
            "PartCount",
            "Photo",
            "RaiseRequest",
            "RotationPlan",
            "RunEvent",
            "Setting",
            "SettingConfirmation",
            "SettingValue",
        ]

    def test_a_setting_gets_no_further_value_later(self, store: Store, ours):
        """A value added to an old version would change what was trained with then."""
        with pytest.raises(RecordIsFinal), store.work(ours.club, writes=True) as session:
            add_a_value(session.get(Setting, ours.setting))

    def test_an_athlete_with_settings_cannot_be_deleted(self, store: Store, ours):
        """A slip of the finger takes no history with it."""
        with pytest.raises(IntegrityError), store.work(ours.club, writes=True) as session:
            session.delete(session.get(Athlete, ours.athlete))

    def test_a_club_with_anything_in_it_cannot_be_deleted(self, store: Store, ours):
        with pytest.raises(IntegrityError), store.installation(writes=True) as session:
            session.delete(session.get(Club, ours.club))
