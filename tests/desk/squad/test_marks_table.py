"""Marks in a table: shown for each model, and what is kept of a row that was changed."""

from collections.abc import Sequence

import pytest

from settingsdesk.desk.squad import athletes, marks_on_scales, marks_table, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.marks_on_scales import OnScale
from settingsdesk.desk.squad.marks_table import Changed, MarksLacking, Row
from settingsdesk.desk.squad.settings import UsualOneFirst
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.domain.settings.transfer import transfer
from tests.conftest import DemoClub

JAGNA = 1


def scale_of(club: DemoClub, key: str = "apparatus-1") -> OnScale:
    with club.work() as session:
        return next(one for one in marks_on_scales.scales(session) if one.key == key)


def row_of(
    club: DemoClub, scale: OnScale, athlete_id: int = JAGNA, purpose: Purpose = USUAL
) -> Row:
    with club.work() as session:
        members = [athletes.member(session, athlete_id)]
        [row] = marks_table.rows(session, scale, members, purpose)
    return row


def typed(scale: OnScale, *labels: str) -> list[int | None]:
    axes = scale.model.axes
    return [
        axis.scale.stop_of(one) if one else None for axis, one in zip(axes, labels, strict=True)
    ]


def changed(scale: OnScale, row: Row, labels: Sequence[str], reason: str = "") -> Changed | None:
    return marks_table.changed(scale, row, typed(scale, *labels), reason)


class TestShown:
    def test_marks_stand_for_every_model_on_the_scale_of_its_apparatus(
        self, demo_club: DemoClub
    ) -> None:
        """The window bars were taped: their marks are told, and not those of the leaflet."""
        with demo_club.work() as session:
            told, scales = marks_on_scales.marks_of_each(session, [JAGNA, 2])
        assert [(one.wanted_for, one.marks) for one in told[JAGNA]] == [
            ("Hall frame A", ("5", "5", "170.0")),
            ("Leaning frame C", ("16", "16", "136.0")),
        ]
        assert "Hall frame A at Bars by the window" in [scale.called for scale in scales]

    def test_whoever_has_no_setting_has_none(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
            told, _ = marks_on_scales.marks_of_each(session, [ana])
        assert told == {ana: []}
        assert row_of(demo_club, scale_of(demo_club), ana).stops is None


class TestChanged:
    def test_nothing_is_kept_of_a_row_that_was_left_alone(self, demo_club: DemoClub) -> None:
        scale = scale_of(demo_club)
        assert changed(scale, row_of(demo_club, scale), ("5", "5", "170.0")) is None

    def test_a_new_mark_is_kept_and_the_lengths_beside_it_stay(self, demo_club: DemoClub) -> None:
        """170.0 and 250.0 cm are wanted of the rails, and no mark stands at either."""
        scale = scale_of(demo_club)
        found = changed(scale, row_of(demo_club, scale), ("5", "5", "176.0"))
        assert found is not None
        wanted = {key: one.wanted_mm for key, one in found.kept.setting.axes.items()}
        assert (wanted["low_rail"], wanted["high_rail"]) == (1700, 2500)
        assert found.follows == ()
        assert found.kept.as_read["spread"] == "mark 176.0 of Bars by the window"
        assert "170" in found.kept.as_read["low_rail"]

    def test_a_mark_that_is_left_stays_and_its_length_follows_and_is_told(
        self, demo_club: DemoClub
    ) -> None:
        """The spread goes from rail to rail: beside a higher rail the same mark is a longer one."""
        scale = scale_of(demo_club)
        found = changed(scale, row_of(demo_club, scale), ("5", "6", "170.0"), "grown")
        assert found is not None
        kept = found.kept
        [follows] = found.follows
        assert follows.told(Unit.CENTIMETRE).startswith("rail spread stays at mark 170.0, and its")
        assert (follows.before_mm, follows.now_mm) == (1700, kept.setting.axes["spread"].wanted_mm)
        assert kept.setting.axes["low_rail"].wanted_mm == 1700
        assert kept.as_read["high_rail"] == "mark 6 of Bars by the window"
        assert (kept.version, kept.reason) == (2, "grown")
        assert kept.setting.axes["high_rail"].accepts_mm == 10
        setup = transfer(kept.setting, scale.model).best.setup
        assert list(scale.model.marks(setup).values()) == ["5", "6", "170.0"]

    def test_a_whole_row_of_somebody_without_any_is_a_setting(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
        scale = scale_of(demo_club)
        found = changed(scale, row_of(demo_club, scale, ana), ("4", "4", "158.0"))
        assert found is not None
        assert (found.kept.version, found.follows) == (1, ())
        assert changed(scale, row_of(demo_club, scale, ana), ("", "", "")) is None

    @pytest.mark.parametrize("labels", [("5", "", "170.0"), ("", "", "")])
    def test_half_a_row_is_refused_and_no_setting_is_deleted(
        self, demo_club: DemoClub, labels: Sequence[str]
    ) -> None:
        scale = scale_of(demo_club)
        with pytest.raises(MarksLacking, match="nothing of a setting is deleted here"):
            changed(scale, row_of(demo_club, scale), labels)

    @pytest.mark.parametrize("key", ["apparatus-1", "apparatus-2", "apparatus-3", "model-1"])
    def test_whatever_is_typed_stands_there_afterwards(self, demo_club: DemoClub, key: str) -> None:
        """On a leaning frame too, where every mark shifts what the others are."""
        scale = scale_of(demo_club, key)
        for athlete_id in range(1, 8):
            row = row_of(demo_club, scale, athlete_id)
            if row.stops is None:
                continue
            for axis in range(3):
                stops = list(row.stops)
                stops[axis] += 1
                found = marks_table.changed(scale, row, stops, "")
                assert found is not None
                assert list(transfer(found.kept.setting, scale.model).best.setup) == stops


class TestForAnotherPurpose:
    """The same table for what is tried in training: a row of its own beside the usual one."""

    TRAINING = Purpose.TRAINING

    def test_whoever_has_none_begins_with_what_the_usual_one_accepts(
        self, demo_club: DemoClub
    ) -> None:
        scale = scale_of(demo_club)
        row = row_of(demo_club, scale, purpose=self.TRAINING)
        assert (row.stops, row.lacks_usual) == (None, False)
        found = changed(scale, row, ("5", "5", "180.0"))
        assert found is not None
        assert row.usual is not None
        assert (found.kept.purpose, found.kept.version) == (self.TRAINING, 1)
        accepts = [
            [one.accepts_mm for one in setting.axes.values()]
            for setting in (found.kept.setting, row.usual.setting)
        ]
        assert accepts[0] == accepts[1]
        with demo_club.work(writes=True) as session:
            settings.keep_settings(session, [found.kept])
        assert row_of(demo_club, scale).present == row.usual
        again = row_of(demo_club, scale, purpose=self.TRAINING)
        assert changed(scale, again, ("5", "5", "180.0")) is None

    def test_nobody_gets_one_who_has_no_usual_one(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
        scale = scale_of(demo_club)
        row = row_of(demo_club, scale, ana, self.TRAINING)
        assert changed(scale, row, ("", "", "")) is None
        with pytest.raises(UsualOneFirst):
            changed(scale, row, ("4", "4", "158.0"))


class TestNotTried:
    """Whoever began with a squad-mate's setting has not tried it because a mark was changed."""

    @pytest.mark.parametrize("purpose", [USUAL, Purpose.TRAINING])
    def test_stays_so_in_the_table_until_a_coach_confirms_it(
        self, demo_club: DemoClub, purpose: Purpose
    ) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
            settings.begin_with(session, ana, 1, JAGNA)
        scale = scale_of(demo_club)
        found = changed(scale, row_of(demo_club, scale, ana, purpose), ("4", "5", "170.0"))
        assert found is not None
        with demo_club.work(writes=True) as session:
            settings.keep_settings(session, [found.kept])
            kept = settings.latest(session, ana, 1, purpose)
        assert kept is not None
        assert kept.untried
