"""Settings kept by several people in any order, with clocks that are put right meanwhile."""

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import invariant, rule

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.settings import NewSetting, SettingChangedMeanwhile
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.at_random import PEOPLE, AtRandom, work_at_random
from tests.moving_clock import MovingClock

Lengths = tuple[int, int, int]
LENGTHS: tuple[Lengths, ...] = ((1650, 2450, 1650), (1700, 2450, 1650), (1700, 2500, 1750))
NOBODY_IS_FIRST = 0

people = st.sampled_from(PEOPLE)
lengths = st.sampled_from(LENGTHS)
which = st.integers(0, 2)


class GivesUpError(SettingsDeskError):
    """Somebody's request is cut off before its end."""


class SettingsAtRandom(AtRandom):
    """Three newcomers, and every model of uneven bars that the hall has.

    ``kept`` is every version by athlete and model, and ``last`` the model that each athlete had a
    new version for at last.
    """

    def __init__(self, club: DemoClub, clock: MovingClock) -> None:
        super().__init__(club)
        self.clock = clock
        self.kept: dict[tuple[int, int], list[tuple[Lengths, str]]] = {}
        self.order: list[tuple[int, int]] = []
        with self.writing() as session:
            self.bars = apparatus.pieces_of_kind(session, "uneven_bars")
            self.models = sorted({piece.model_id for piece in self.bars})
            self.squad = [
                athletes.add(session, Person(f"Neu {number}", "Ana")).id for number in range(3)
            ]

    def _of(self, athlete: int, model: int) -> tuple[int, int]:
        return self.squad[athlete], self.models[model % len(self.models)]

    def _setting(self, told: Lengths) -> Setting:
        kind = self.bars[0].model.kind
        keys = (axis.key for axis in kind.axes)
        return Setting(kind, dict(zip(keys, map(Wanted, told), strict=True)))

    def _was_kept(self, of: tuple[int, int], told: Lengths, by: str) -> None:
        self.kept.setdefault(of, []).append((told, by))
        self.order.append(of)

    @rule(athlete=which, model=which, told=lengths, by=people)
    def somebody_keeps_one(self, athlete: int, model: int, told: Lengths, by: str) -> None:
        of = self._of(athlete, model)
        before = self.kept.get(of, [])
        with self.writing(by) as session:
            version = settings.keep_setting(session, *of, self._setting(told))
        if not before or before[-1][0] != told:
            self._was_kept(of, told, by)
        assert version.version == len(self.kept[of])
        assert version.recorded_by == self.kept[of][-1][1]

    @rule(athlete=which, model=which, told=lengths, by=people, behind=st.integers(0, 3))
    def somebody_corrects_what_they_saw(
        self, athlete: int, model: int, told: Lengths, by: str, behind: int
    ) -> None:
        """From a page that is as old as so many versions."""
        of = self._of(athlete, model)
        before = self.kept.get(of, [])
        seen = max(NOBODY_IS_FIRST, len(before) - behind)

        def corrects(session: ClubSession) -> object:
            return settings.keep_setting(session, *of, self._setting(told), instead_of=seen)

        if before and before[-1][0] != told and seen != len(before):
            refusal = self.refused(by, corrects, SettingChangedMeanwhile)
            assert before[-1][1] in str(refusal)
            return
        with self.writing(by) as session:
            corrects(session)
        if not before or before[-1][0] != told:
            self._was_kept(of, told, by)

    @rule(model=which, told=lengths, by=people)
    def a_list_brings_one_for_everybody(self, model: int, told: Lengths, by: str) -> None:
        wanted = []
        for athlete_id in self.squad:
            of = athlete_id, self._of(0, model)[1]
            before = self.kept.get(of, [])
            if not before or before[-1][0] != told:
                wanted.append(NewSetting(*of, len(before) + 1, self._setting(told)))
        with self.writing(by) as session:
            settings.keep_settings(session, wanted)
        for one in wanted:
            self._was_kept((one.athlete_id, one.model_id), told, by)

    @rule(athlete=which, model=which, told=lengths)
    def somebody_is_cut_off(self, athlete: int, model: int, told: Lengths) -> None:
        def is_cut_off(session: ClubSession) -> None:
            settings.keep_setting(session, *self._of(athlete, model), self._setting(told))
            raise GivesUpError

        self.refused("Runa", is_cut_off, GivesUpError)

    @rule(seconds=st.sampled_from((-3600.0, -30.0, 1.0, 86_400.0)))
    def the_clock_is_put_right(self, seconds: float) -> None:
        self.clock.put(seconds=seconds)

    @invariant()
    def every_version_is_there_in_its_order(self) -> None:
        with self.club.work() as session:
            for athlete_id in self.squad:
                history = settings.history(session, athlete_id)
                current = settings.current(session, athlete_id)
                for model_id in self.models:
                    kept = self.kept.get((athlete_id, model_id), [])
                    found = [one for one in history if one.model_id == model_id]
                    assert [one.version for one in found] == list(range(len(kept), 0, -1))
                    told = [(_lengths(one.setting), one.recorded_by) for one in found]
                    assert told == kept[::-1]
                    assert [one for one in current if one.model_id == model_id] == found[:1]

    @invariant()
    def the_models_own_is_carried_or_else_the_last_of_any(self) -> None:
        with self.club.work() as session:
            carried = settings.on_pieces(session, self.squad, self.bars)
        for piece in self.bars:
            for athlete_id in self.squad:
                of = self._carried(athlete_id, piece.model_id)
                found = carried[piece.id].get(athlete_id)
                assert (found is not None) == (of is not None)
                if found is not None and of is not None:
                    assert (found.version.athlete_id, found.version.model_id) == of
                    assert _lengths(found.version.setting) == self.kept[of][-1][0]
                    assert bool(found.unmeasured) >= found.of_another_model

    def _carried(self, athlete_id: int, model_id: int) -> tuple[int, int] | None:
        if (athlete_id, model_id) in self.kept:
            return athlete_id, model_id
        return next((of for of in reversed(self.order) if of[0] == athlete_id), None)


def _lengths(setting: Setting) -> Lengths:
    low, high, spread = (setting.axes[axis.key].wanted_mm for axis in setting.kind.axes)
    return low, high, spread


def test_settings_are_what_was_kept_of_them(
    demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever types, corrects, sends a list, or is cut off, and whatever the clock says."""
    clock = MovingClock(monkeypatch)
    work_at_random(demo_club, lambda club: SettingsAtRandom(club, clock))
