"""Still right? What is asked about, until a coach confirms it or changes it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from settingsdesk.desk.cards import in_hand, issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, calibrations
from settingsdesk.desk.meets import same_person
from settingsdesk.desk.squad import (
    athletes,
    over_time,
    setting_versions,
    settings,
    still_right,
    typed_marks,
)
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.still_right import NotThatOneNow, SeasonNotPossible
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.calibration import TapedStop, calibrate
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY
from tests.moving_clock import MovingClock

SEASON = 180


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> MovingClock:
    return MovingClock(monkeypatch)


@dataclass
class Ana:
    """Somebody new with a setting for the high bar, which has one adjustment."""

    club: DemoClub
    id: int

    def now(self, session: ClubSession) -> SettingVersion:
        [version] = settings.current(session, self.id)
        return version

    def asked(self, season: int | None = SEASON) -> list[str]:
        """Why her setting is asked about: the list asks the same as her own page."""
        with self.club.work() as session:
            found = still_right.asked_about(session, [self.id], season)
            notes = still_right.growth_of(session, self.id)
            if athletes.is_of_squad(session, self.id):
                current = settings.current(session, self.id)
                assert still_right.asked_of(current, notes, season) == found
        return [reason for one in found.values() for reason in still_right.why(one, season)]

    def confirm(self, seen: int = 0) -> bool:
        with self.club.work(writes=True) as session:
            return still_right.confirm(session, self.id, self.now(session).id, seen)[1]

    def grow(self, seen: int = 0) -> bool:
        with self.club.work(writes=True) as session:
            return still_right.note_growth(session, self.id, seen)

    def change(self, by_mm: int = 10, **beside: object) -> SettingVersion:
        with self.club.work(writes=True) as session:
            present = self.now(session)
            return settings.keep_setting(
                session, self.id, present.model_id, higher(present.setting, by_mm), **beside
            )


def higher(setting: Setting, by_mm: int) -> Setting:
    axes = {
        key: replace(wanted, wanted_mm=wanted.wanted_mm + by_mm)
        for key, wanted in setting.axes.items()
    }
    return Setting(setting.kind, axes)


@pytest.fixture
def ana(demo_club: DemoClub) -> Ana:
    return Ana(demo_club, newcomer(demo_club, "Ana"))


def newcomer(club: DemoClub, given_name: str, **beside: object) -> int:
    with club.work(writes=True) as session:
        [bar] = apparatus.pieces_of_kind(session, "horizontal_bar")
        member = athletes.add(session, Person("Neu", given_name))
        setting = setting_of_setup(bar.model, (2,))
        mark = f"mark {bar.model.axes[0].scale.label(2)}"
        read = {axis.key: mark for axis in bar.model.axes}
        settings.keep_setting(session, member.id, bar.model_id, setting, "", read, **beside)
        return member.id


class TestASeason:
    def test_after_it_a_setting_is_asked_about_until_it_is_confirmed(
        self, ana: Ana, clock: MovingClock
    ) -> None:
        clock.put(days=SEASON - 1)
        assert ana.asked() == []
        clock.put(days=2)
        assert ana.asked() == ["Nobody has looked for a season (180 days)"]

        assert ana.confirm()
        assert ana.asked() == []
        clock.put(days=SEASON + 1)
        assert ana.asked() != []

    def test_a_change_is_a_look_too(self, ana: Ana, clock: MovingClock) -> None:
        clock.put(days=SEASON + 1)
        ana.change()
        assert ana.asked() == []

    @pytest.mark.parametrize("never", [0, None])
    def test_a_club_without_one_asks_about_no_age(
        self, ana: Ana, clock: MovingClock, never: int | None
    ) -> None:
        clock.put(days=3000)
        assert ana.asked(never) == []

    def test_is_half_a_year_until_the_club_says_otherwise(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            assert still_right.season(session) == 180
            still_right.keep_season(session, None)
            assert still_right.season(session) is None
            with pytest.raises(SeasonNotPossible, match="0 to 3650 days"):
                still_right.keep_season(session, 4000)


class TestGrowth:
    def test_asks_about_every_setting_from_before(self, ana: Ana) -> None:
        ana.grow()
        assert ana.asked(None) == ["Has grown since anybody looked"]

        ana.change()
        assert ana.asked(None) == []

    def test_noted_again_it_asks_again_though_it_was_confirmed(self, ana: Ana) -> None:
        ana.grow()
        ana.confirm()
        assert ana.asked(None) == []
        with ana.club.work() as session:
            last = still_right.growth_of(session, ana.id)[0].id

        assert ana.grow(last)
        assert ana.asked(None) != []

    def test_a_second_press_notes_nothing(self, ana: Ana) -> None:
        assert ana.grow()
        assert not ana.grow()

    def test_what_came_first_is_told_by_no_clock(self, ana: Ana, clock: MovingClock) -> None:
        """The setting was typed while the clock was a day ahead."""
        clock.put(days=1)
        ana.change()
        clock.put(days=-1)
        ana.grow()
        assert ana.asked(None) != []
        clock.put(days=-1)
        ana.confirm()
        assert ana.asked(None) == []

    def test_a_note_after_an_erasure_is_a_later_one(self, ana: Ana) -> None:
        """The number of the note that went was the highest, and Ana's setting has answered it."""
        other = newcomer(ana.club, "Bea")
        with ana.club.work(writes=True) as session:
            still_right.note_growth(session, other, 0)
        ana.change()
        with ana.club.work(writes=True) as session:
            athletes.take_away(session, other)

        ana.grow()
        assert ana.asked(None) != []

    def test_marks_on_another_scale_are_no_look(self, ana: Ana, clock: MovingClock) -> None:
        """The bar is taped and every mark has another length; nobody looked at an athlete."""
        ana.grow()
        clock.put(days=SEASON + 1)
        before = _taped(ana)
        with ana.club.work() as session:
            assert ana.now(session).version == before.version + 1
        assert ana.asked() == [
            "Has grown since anybody looked",
            "Nobody has looked for a season (180 days)",
        ]

    def test_marks_on_another_scale_were_looked_at_when_they_were_confirmed(
        self, ana: Ana, clock: MovingClock
    ) -> None:
        ana.grow()
        clock.put(days=SEASON)
        ana.confirm()
        clock.put(days=2)
        _taped(ana)
        assert ana.asked() == []

    @pytest.mark.parametrize("of_the_one_taken_in", [True, False])
    def test_of_either_entry_asks_where_two_become_one(
        self, ana: Ana, *, of_the_one_taken_in: bool
    ) -> None:
        other = newcomer(ana.club, "Anna")
        with ana.club.work(writes=True) as session:
            still_right.note_growth(session, other if of_the_one_taken_in else ana.id, 0)
            both = same_person.compare(session, ana.id, other)
            takes = {question.key: True for question in both.questions}
            same_person.unite(session, both, takes, both.seen)
        assert ana.asked(None) == ["Has grown since anybody looked"]


def _taped(ana: Ana) -> SettingVersion:
    """Her mark stays, and is another length by now; the setting as it was before."""
    with ana.club.work(writes=True) as session:
        before = ana.now(session)
        [bar] = apparatus.pieces_of_kind(session, "horizontal_bar")
        [axis] = bar.model.axes
        readings = [
            TapedStop(stop, axis.scale.length_mm(stop) + 30) for stop in range(axis.scale.count)
        ]
        taped = calibrate(axis.scale, readings)
        calibrations.keep_calibration(session, bar.id, axis.key, taped, today())
        typed_marks.keep(session, bar.model_id, "taped", bar.name)
    return before


class TestNotTried:
    def test_is_asked_about_until_it_is_confirmed_whatever_is_changed(
        self, demo_club: DemoClub
    ) -> None:
        ana = Ana(demo_club, newcomer(demo_club, "Ana", untried=True))
        assert ana.asked(None) == ["It began with another athlete's setting"]
        assert ana.change().untried

        ana.confirm()
        assert ana.asked(None) == []
        assert not ana.change().untried


class TestConfirming:
    def test_a_second_press_says_so_and_changes_nothing(self, ana: Ana) -> None:
        assert ana.confirm()
        assert not ana.confirm(seen=0)
        with ana.club.work() as session:
            [[only]] = still_right.confirmations_of(session, ana.id).values()
        assert ana.confirm(only.id)

    def test_a_version_that_counts_no_more_is_refused(self, ana: Ana) -> None:
        """A colleague changed it while the page was open."""
        with ana.club.work() as session:
            before = ana.now(session)
        ana.change()
        with ana.club.work(writes=True) as session, pytest.raises(NotThatOneNow):
            still_right.confirm(session, ana.id, before.id, 0)

    def test_a_card_from_before_counts_as_before(self, ana: Ana) -> None:
        with ana.club.work(writes=True) as session:
            [bar] = apparatus.pieces_of_kind(session, "horizontal_bar")
            [card] = issued.issue(session, CODE_KEY, bar.id, [ana.id])
        ana.grow()
        ana.confirm()
        with ana.club.work(writes=True) as session:
            assert in_hand.outdated_of(session, ana.id) == {}
            assert issued.printed(session, CODE_KEY, bar.id, [ana.id]) == [card]
            assert issued.issue(session, CODE_KEY, bar.id, [ana.id]) == [card]

    def test_stands_in_the_history_beside_what_it_confirms(self, ana: Ana) -> None:
        ana.confirm()
        ana.change()
        with ana.club.work() as session:
            newest, first = setting_versions.steps(session, ana.id, Unit.CENTIMETRE)
        assert [one.by for one in first.confirmations] == ["Runa"]
        assert newest.confirmations == ()


class TestWhoIsAskedAbout:
    def asked_of(self, club: DemoClub) -> Iterator[str]:
        with club.work() as session:
            narrowed = still_right.to_whom_it_asks(None)
            found = athletes.page(session, narrowed=narrowed)
            of_squad = still_right.of_squad(session, None)
        assert (of_squad.athletes if of_squad else 0) == found.count
        assert of_squad is None or of_squad.first == found.members[0]
        return iter([member.person.given_name for member in found.members])

    def test_are_athletes_of_the_squad_who_are_here(self, ana: Ana) -> None:
        ana.grow()
        assert list(self.asked_of(ana.club)) == ["Ana"]

        with ana.club.work(writes=True) as session:
            athletes.leave(session, ana.id, today())
        assert ana.asked(None) == []
        assert list(self.asked_of(ana.club)) == []


class TestOverTime:
    def test_has_every_version_with_its_mark_and_what_was_noted(
        self, ana: Ana, clock: MovingClock
    ) -> None:
        ana.confirm()
        clock.put(days=30)
        ana.grow()
        clock.put(days=1)
        changed = ana.change()
        with ana.club.work() as session:
            [bar] = apparatus.pieces_of_kind(session, "horizontal_bar")
            told = over_time.of_setting(
                settings.history(session, ana.id),
                still_right.confirmations_of(session, ana.id),
                still_right.growth_of(session, ana.id),
                bar.printed.model,
                [bar],
                Unit.CENTIMETRE,
            )
        assert [row.what for row in told.rows] == [
            "Version 2",
            "Has grown",
            "Version 1 confirmed",
            "Version 1",
        ]
        [axis] = changed.setting.axes.values()
        assert told.rows[0].lengths[0][1] == f"{axis.wanted_mm / 10} cm"
        assert told.rows[3].lengths[0][0] == bar.model.axes[0].scale.label(2)
        assert told.marks_of == bar.name
