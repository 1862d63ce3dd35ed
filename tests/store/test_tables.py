"""What a single row keeps, and what it refuses."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError, StatementError

from settingsdesk.store import clubs
from settingsdesk.store.apparatus import Apparatus, ApparatusSetup
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.cards import new_card_id
from settingsdesk.store.clubs import Account, Club, Membership
from settingsdesk.store.findings import FindingStep
from settingsdesk.store.parts import Part
from settingsdesk.store.rotations import RotationTurn
from settingsdesk.store.settings import SettingValue
from settingsdesk.store.work import Store
from tests.store.conftest import a_card, a_check, a_finding, a_setting


class TestMoments:
    def test_a_moment_comes_back_as_the_same_moment_in_utc(self, store: Store, ours):
        """A phone in another time zone must not shift when a setup was read off."""
        in_the_hall = datetime(2026, 3, 1, 18, 30, 15, 250, tzinfo=timezone(timedelta(hours=1)))
        with store.work(ours.club, writes=True) as session:
            setup = ApparatusSetup(
                apparatus_id=ours.apparatus, stops=[1], stood_at=in_the_hall, recorded_by="coach"
            )
            session.add(setup)
            session.flush()
            session.refresh(setup)
        assert setup.stood_at == in_the_hall
        assert setup.stood_at.tzinfo is UTC

    def test_moments_are_found_by_time_whatever_zone_is_asked_in(self, store: Store, ours):
        with store.work(ours.club, writes=False) as session:
            made = session.get(Athlete, ours.athlete).created_at
            elsewhere = made.astimezone(timezone(timedelta(hours=-8)))
            assert session.scalar(select(Athlete.id).where(Athlete.created_at == elsewhere))
            later = elsewhere + timedelta(seconds=1)
            assert not session.scalar(select(Athlete.id).where(Athlete.created_at >= later))

    def test_a_moment_without_a_time_zone_is_refused(self, store: Store, ours):
        """Nobody could tell later which hour was meant."""
        naive = datetime(2026, 3, 1, 18, 30)  # noqa: DTZ001 -- what is refused here
        with (
            pytest.raises(StatementError, match="no time zone"),
            store.work(ours.club, writes=True) as s,
        ):
            s.get(Athlete, ours.athlete).created_at = naive


class TestWhatTheTablesRefuse:
    def negative_mat(self, ours):
        return Apparatus(model_id=ours.model, name="Bars 2", mat_mm=-1)

    def second_apparatus_of_that_name(self, ours):
        return Apparatus(model_id=ours.model, name="Bars 1")

    def same_version_again(self, ours):
        """Two coaches recorded from the same page: the second learns that it is out of date."""
        return a_setting(ours.athlete, ours.model, 1)

    def version_nought(self, ours):
        return a_setting(ours.athlete, ours.model, 0)

    def negative_deviation(self, ours):
        return SettingValue(setting_id=ours.setting, axis="spread", wanted_mm=1, accepts_mm=-1)

    def negative_weight(self, ours):
        return SettingValue(setting_id=ours.setting, axis="spread", wanted_mm=1, weight=-1)

    def axis_twice(self, ours):
        return SettingValue(setting_id=ours.setting, axis="low_rail", wanted_mm=1)

    def place_nought(self, ours):
        return RotationTurn(rotation_id=ours.rotation, athlete_id=ours.athlete, listed_place=0)

    def athlete_listed_twice(self, ours):
        return RotationTurn(rotation_id=ours.rotation, athlete_id=ours.athlete, listed_place=2)

    def athlete_of_nobody(self, ours):
        return a_setting(999, ours.model, 1)

    def card_version_again(self, ours):
        return a_card(ours.athlete, ours.apparatus, 1, mark="another")

    def card_code_again(self, ours):
        return a_card(ours.athlete, ours.apparatus, 2, mark="Harbour")

    def account_twice_in_a_club(self, ours):
        return Membership(account_id=1, role="coach", shown_name="C")

    def role_that_is_none(self, ours):
        return Membership(account_id=2, role="admin", shown_name="C")

    def finding_of_a_press_again(self, ours):
        """Pressed twice on a slow network: one fault."""
        return a_finding(ours.apparatus)

    def check_of_a_press_again(self, ours):
        return a_check(ours.apparatus)

    def fewer_parts_than_none(self, ours):
        return Part(name="Pin", kind="", minimum=-1, created_by="coach")

    def step_taken_again(self, ours):
        """Two coaches release at once: the second learns of it."""
        return FindingStep(finding_id=1, step="open", remark="", recorded_by="coach")

    @pytest.mark.parametrize(
        "row",
        [
            finding_of_a_press_again,
            check_of_a_press_again,
            fewer_parts_than_none,
            step_taken_again,
            negative_mat,
            second_apparatus_of_that_name,
            same_version_again,
            version_nought,
            negative_deviation,
            negative_weight,
            axis_twice,
            place_nought,
            athlete_listed_twice,
            athlete_of_nobody,
            card_version_again,
            card_code_again,
            account_twice_in_a_club,
            role_that_is_none,
        ],
        ids=lambda row: row.__name__,
    )
    def test_it_is_refused_by_the_database(self, store: Store, ours, row):
        with pytest.raises(IntegrityError), store.work(ours.club, writes=True) as session:
            session.add(row(self, ours))

    def test_a_club_reads_centimetres_or_inches_and_nothing_else(self, store: Store):
        with pytest.raises(IntegrityError), store.installation(writes=True) as session:
            session.add(Club(name="C", length_unit="ft"))

    def test_two_clubs_may_use_the_same_names(self, store: Store, ours, theirs):
        """Furnishing both clubs alike has already used every name twice."""
        with store.installation(writes=False) as session:
            assert session.scalars(select(Apparatus.name)).all() == ["Bars 1", "Bars 1"]


class TestSignInNames:
    @pytest.mark.parametrize("typed", ["coach@harbour", "Coach@Harbour", "  COACH@HARBOUR "])
    def test_case_and_blanks_do_not_matter(self, store: Store, ours, typed: str):
        """Phones begin a word with a capital by themselves."""
        with store.installation(writes=False) as session:
            account = clubs.account_by_sign_in_name(session, typed)
            assert [one.club_id for one in account.memberships] == [ours.club]

    def test_an_accent_does_matter(self, store: Store, ours):
        """Otherwise two people's names could run into one."""
        with store.installation(writes=False) as session:
            assert clubs.account_by_sign_in_name(session, "cöach@harbour") is None

    def test_one_is_of_one_account_only(self, store: Store, ours):
        with pytest.raises(IntegrityError), store.installation(writes=True) as session:
            session.add(Account(sign_in_name="COACH@harbour", password_hash="-"))

    def test_no_coach_is_there_before_one_is_made(self, store: Store):
        """A fresh installation has no account that somebody could know of."""
        with store.installation(writes=False) as session:
            assert session.scalars(select(Account)).all() == []


class TestCardNumbers:
    def test_a_card_number_cannot_be_guessed(self):
        """128 bits from the system's own source, 22 letters (ASVS 5.0.0, 11.5.1)."""
        numbers = {new_card_id() for _ in range(100)}
        assert len(numbers) == 100
        assert {len(number) for number in numbers} == {22}
