"""A clock is put right, or its battery was flat: what comes later stays what came later.

A small machine in a hall without a network takes its clock from the last hour that it noted.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.cards import issued
from settingsdesk.desk.cards.issued import MarksChanged
from settingsdesk.desk.checks import checks, findings
from settingsdesk.desk.checks.check_lists import check_list
from settingsdesk.desk.checks.checks import Circumstances
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, in_use, models
from settingsdesk.desk.meets import entries
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, setting_drafts, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.kinds import KINDS, Kind
from settingsdesk.domain.changeover.happenings import AllDone, Rechecked, TurnOver
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.checks.checks import Occasion
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.clubs import open_memberships
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import confirm, ordered, turn
from tests.desk.sample_meet import CODE_KEY, DAY, hold
from tests.moving_clock import MovingClock

AN_HOUR_BACK = {"hours": -1.0}
HALF_A_MINUTE_BACK = {"seconds": -30.0}


@pytest.fixture
def hall_clock(monkeypatch: pytest.MonkeyPatch) -> MovingClock:
    """What the desk reads the time from."""
    return MovingClock(monkeypatch)


@pytest.mark.parametrize("back", [AN_HOUR_BACK, HALF_A_MINUTE_BACK])
class TestWhatComesLater:
    def test_what_was_read_off_last_stands_there_now(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """The next change-over is planned from it."""
        with demo_club.work(writes=True) as session:
            piece = apparatus.all_pieces(session)[0]
            before, after = piece.must_stand_somewhere(), (2,) * len(piece.model.kind.axes)
            apparatus.record_setup(session, piece.id, before, "read off")
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            apparatus.record_setup(session, piece.id, after, "read off")

        with demo_club.work() as session:
            assert apparatus.piece(session, piece.id).setup == after
            history = apparatus.setups(session, piece.id, 2)
            assert [one.marks for one in history] == [
                piece.model.marks(setup) for setup in (after, before)
            ]

    def test_the_setting_that_was_kept_last_is_carried_over(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """Somebody has settings for two models, and goes up on a third."""
        with demo_club.work(writes=True) as session:
            bars = apparatus.pieces_of_kind(session, "uneven_bars")
            known = sorted({piece.model_id for piece in bars})
            third = bars[0]
            others = [number for number in known if number != third.model_id]
            more = replace(models.model(session, known[0]).model, name="One more frame")
            others.append(models.add_model(session, more).id)
            athlete = athletes.add(session, Person("Neu", "Ana"))
            kind = third.model.kind
            older = Setting(kind, _wanted(kind, 1650))
            settings.keep_setting(session, athlete.id, others[0], older)
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            newer = Setting(kind, _wanted(kind, 1700))
            settings.keep_setting(session, athlete.id, others[1], newer)

        with demo_club.work() as session:
            carried = settings.on_piece(session, [athlete.id], third)[athlete.id]
            assert carried.version.setting == newer

    def test_a_card_from_before_a_setting_is_not_printed_again(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """Its marks are those of before."""
        with demo_club.work(writes=True) as session:
            piece = next(iter(apparatus.pieces_of_kind(session, "uneven_bars")))
            athlete = athletes.add(session, Person("Neu", "Ana"))
            kind = piece.model.kind
            setting = Setting(kind, _wanted(kind, 1650))
            settings.keep_setting(session, athlete.id, piece.model_id, setting)
            issued.issue(session, CODE_KEY, piece.id, [athlete.id])
            assert issued.printed(session, CODE_KEY, piece.id, [athlete.id])
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            setting = Setting(kind, _wanted(kind, 1700))
            settings.keep_setting(session, athlete.id, piece.model_id, setting)

        with demo_club.work() as session, pytest.raises(MarksChanged):
            issued.printed(session, CODE_KEY, piece.id, [athlete.id])

    def test_what_a_list_tells_later_waits_though_a_whole_setting_is_there(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        with demo_club.work(writes=True) as session:
            kind = KINDS["uneven_bars"]
            model = next(one for one in models.all_models(session) if one.model.kind == kind)
            athlete = athletes.add(session, Person("Neu", "Ana"))
            setting = Setting(kind, _wanted(kind, 1650))
            whole = settings.keep_setting(session, athlete.id, model.id, setting)
        hall_clock.put(**back)
        half = setting_drafts.Draft(
            athlete.id, model.id, {"spread": setting_drafts.Half(1600, None, "160")}
        )
        with demo_club.work(writes=True) as session:
            setting_drafts.keep_all(session, [half])
            assert setting_drafts.of_athlete(session, athlete.id, [whole]) == [half]
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            other = Setting(kind, _wanted(kind, 1660))
            whole = settings.keep_setting(session, athlete.id, model.id, other)
            assert setting_drafts.of_athlete(session, athlete.id, [whole]) == []

    def test_marks_that_are_raised_after_it_was_granted_include_it(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """The crew would raise the rails twice, or not at all."""
        held = hold(demo_club)
        guest, bars = held.guests[0], held.apparatus_id
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, bars)
            for step in ("asked", "granted"):
                entries.tell_raise(session, guest.entry_id, bars, step, 50, "the jury", DAY)
            own = settings.on_piece(session, [guest.member.id], piece)[guest.member.id].version
        hall_clock.put(**back)
        higher = {
            key: replace(wanted, wanted_mm=wanted.wanted_mm + (50 if key != "spread" else 0))
            for key, wanted in own.setting.axes.items()
        }
        with demo_club.work(writes=True) as session:
            told = issued.raises_told(session, [guest.member.id], piece)[guest.member.id]
            assert "are without it" in told
            setting = Setting(own.setting.kind, higher)
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            told = issued.raises_told(session, [guest.member.id], piece)[guest.member.id]
        assert told.endswith("These marks include it")

    def test_an_apparatus_is_withdrawn_by_the_first_finding(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        with demo_club.work(writes=True) as session:
            number = apparatus.all_pieces(session)[0].id
            first = findings.add_finding(
                session, number, "A pin is bent", withdraws=True, press_key="1"
            )
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            second = findings.add_finding(
                session, number, "A rail is split", withdraws=True, press_key="2"
            )

        with demo_club.work() as session:
            assert in_use.withdrawals(session)[number].why == first.words
            assert [one.id for one in findings.recent(session)[:2]] == [second.id, first.id]

    def test_a_run_goes_on_by_its_events(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """Whoever is next is next, and a change-over that took less than nothing is told as none.

        Times are learned from what was timed: one of less than nothing is left out there.
        """
        number = ordered(demo_club, OrderRequest())
        since = turn(demo_club, number).events[-1].at
        hall_clock.put(**back)
        confirm(demo_club, number, AllDone())
        now = confirm(demo_club, number, Rechecked(alone=True), TurnOver())

        assert [event.number for event in now.events] == list(range(1, now.number + 1))
        by_the_clock = datetime.now(UTC) + timedelta(**back) - since
        assert now.run.over[-1].took_s <= by_the_clock.total_seconds() + 1
        assert now.run.stage is Stage.SETTING
        with demo_club.work() as session:
            assert desk_run.loaded(session, number).run == now.run

    def test_a_run_that_is_taken_up_knows_that_somebody_was_there(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """Else it went on from marks at which nothing stands any more."""
        number = ordered(demo_club, OrderRequest())
        turn(demo_club, number)
        confirm(demo_club, number, AllDone(), Rechecked(alone=True))
        with demo_club.work(writes=True) as session:
            desk_run.end(session, number)
            stood = desk_run.run(session, number).run.stands
        hall_clock.put(**back)
        assert stood is not None
        with demo_club.work(writes=True) as session:
            piece_id = desk_run.loaded(session, number).piece.id
            other = tuple(stop + 1 for stop in stood)
            apparatus.record_setup(session, piece_id, other, "read off")
            assert desk_run.take_up(session, number).run.unread

    def test_a_release_comes_after_what_it_releases(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        """The marks are read off and the apparatus is checked once more, and then no more."""
        number = ordered(demo_club, OrderRequest())
        turn(demo_club, number)
        with demo_club.work(writes=True) as session:
            piece = desk_run.loaded(session, number).piece
            _check(session, piece.id, "before")
            fault = findings.add_finding(
                session, piece.id, "A cable frays", withdraws=True, press_key="1"
            )
        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            findings.take_step(session, fault.id, Step.RELEASED, "A new cable, tried")
        with demo_club.work() as session:
            assert desk_run.loaded(session, number).was_withdrawn
            assert _is_void(session, piece.id)

        hall_clock.put(**back)
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, number)
            desk_run.read_off(session, now, now.number, now.run.mostly_at)
            _check(session, piece.id, "after")
        confirm(demo_club, number, AllDone())
        with demo_club.work() as session:
            assert not desk_run.loaded(session, number).was_withdrawn
            assert not _is_void(session, piece.id)

    def test_nobody_is_signed_out(
        self, demo_club: DemoClub, hall_clock: MovingClock, back: dict[str, float]
    ) -> None:
        with demo_club.store.installation(writes=True) as session:
            membership = open_memberships(session, demo_club.account.account_id)[0]
            known = sign_ins.begin(session, membership)
        hall_clock.put(**back)

        assert sign_ins.still_signed_in(demo_club.store, known.stamp) is not None


def _check(session: ClubSession, apparatus_id: int, press_key: str) -> None:
    version = check_list(session, "uneven_bars", Occasion.BEFORE_USE).version
    told = Circumstances(today(), "Hall", "Runa")
    checks.make_check(
        *(session, apparatus_id, Occasion.BEFORE_USE, version, {}, told, press_key),
        rest_in_order=True,
    )


def _is_void(session: ClubSession, apparatus_id: int) -> bool:
    [care] = checks.cares(session, [apparatus.piece(session, apparatus_id)])
    return care.is_void


def _wanted(kind: Kind, height_mm: int) -> dict[str, Wanted]:
    keys = [axis.key for axis in kind.axes]
    return dict(zip(keys, (Wanted(height_mm), Wanted(height_mm + 800), Wanted(1650)), strict=True))
