"""What the pages ask for, and how few questions it takes."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import event, select
from sqlalchemy.orm import Session

from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.store import (
    apparatus,
    apparatus_models,
    athletes,
    cards,
    clubs,
    rotations,
    rule_books,
    settings,
)
from settingsdesk.store.apparatus import ApparatusSetup, Calibration
from settingsdesk.store.apparatus_models import ApparatusModelVersion
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.rotations import Rotation, RotationPlan
from settingsdesk.store.work import Store
from tests.store.conftest import a_card, a_setting

NOON = datetime(2030, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def session(store: Store, ours, theirs) -> Iterator[Session]:
    """A unit of work of our club, with the other club beside it."""
    with store.work(ours.club, writes=True) as opened:
        yield opened


@contextmanager
def questions(session: Session) -> Iterator[list[str]]:
    """The statements that reach the database meanwhile, on a session that remembers nothing."""
    session.flush()
    session.expunge_all()
    asked: list[str] = []

    def note(_connection, _cursor, statement: str, *_rest: object) -> None:
        asked.append(statement)

    engine = session.get_bind()
    event.listen(engine, "before_cursor_execute", note)
    yield asked
    event.remove(engine, "before_cursor_execute", note)


def add_athlete(
    session: Session, family_name: str, given_name: str = "X", **more: object
) -> Athlete:
    athlete = Athlete(family_name=family_name, given_name=given_name, created_by="coach", **more)
    session.add(athlete)
    session.flush()
    return athlete


class TestAthletes:
    @pytest.mark.parametrize(
        "typed", ["łuc", "LUC", "luczak ase", "Åse", "åse łuczak", "junioren", "17", " lucz  as "]
    )
    def test_each_typed_word_may_stand_anywhere_in_the_names(self, session: Session, typed: str):
        """Typed on the phone beside the bars: any keyboard, any case, any part of the name."""
        athlete = add_athlete(session, "Łuczak", "Åse", group_name="Junioren", start_number="17")
        assert athletes.search(session, typed) == [athlete]

    @pytest.mark.parametrize(
        ("name", "typed"),
        [
            ("Müller", "Mueller"),
            ("Mueller", "Müller"),
            ("Mueller", "muller"),
            ("O’Neil", "o'neil"),
            ("O'Neil", "ONeil"),
            ("ONeil", "O`Neil"),
            ("Ask-Berg", "ask berg"),
            ("Ask Berg", "ask-berg"),
            ("Мельниченко Єва", "Ева"),
            ("Ева", "Єва"),
            ("Sørensen", "Soerensen"),
        ],
    )
    def test_a_name_is_found_as_it_is_typed_elsewhere(
        self, session: Session, name: str, typed: str
    ):
        """One list writes ae where another has ä, and no keyboard has every apostrophe."""
        athlete = add_athlete(session, name)
        add_athlete(session, "Pohl")
        assert athletes.search(session, typed) == [athlete]

    @pytest.mark.parametrize("typed", ["luczak berta", "%", "_", "\\", "lu%k"])
    def test_what_stands_in_no_name_finds_nobody(self, session: Session, typed: str):
        """A percent sign is a percent sign."""
        add_athlete(session, "Łuczak", "Åse")
        assert athletes.search(session, typed) == []

    def test_a_changed_name_is_found_by_the_new_one(self, session: Session):
        athlete = add_athlete(session, "Łuczak")
        athlete.family_name = "Brück"
        assert athletes.search(session, "bruck") == [athlete]
        assert athletes.search(session, "luczak") == []

    def test_they_come_by_family_name_whatever_its_accents(self, session: Session, ours):
        for name in ("Zoll", "Östlund", "abel", "Pohl"):
            add_athlete(session, name)
        names = [athlete.family_name for athlete in athletes.search(session)]
        assert names == ["abel", "Ask", "Östlund", "Pohl", "Zoll"]

    def test_who_has_left_is_listed_apart(self, session: Session, ours):
        """Their settings stay, but nobody scrolls past them."""
        left = add_athlete(session, "Pohl", left_on=date(2026, 1, 31), group_name="Old")
        assert left not in athletes.search(session)
        assert athletes.search(session, "pohl", left=True) == [left]
        assert athletes.group_names(session, most=5) == []

    def test_groups_are_named_once_and_in_the_order_of_names(self, session: Session):
        groups = ("Juniors", "Juniors", "Adults", "", "Élite", "éveil", "Zoll", "Ältere")
        for at, group in enumerate(groups):
            add_athlete(session, f"A{at}", group_name=group)
        in_order = ["Adults", "Ältere", "Élite", "éveil", "Juniors", "Zoll"]
        assert athletes.group_names(session, most=6) == in_order
        assert athletes.group_names(session, most=5) == []

    def test_several_by_number(self, session: Session, ours, theirs):
        found = athletes.by_ids(session, [ours.athlete, theirs.athlete, 999])
        assert list(found) == [ours.athlete]


class TestByNumber:
    @pytest.mark.parametrize(
        ("by_id", "key"),
        [
            (athletes.by_id, "athlete"),
            (apparatus_models.by_id, "model"),
            (apparatus.by_id, "apparatus"),
            (settings.by_id, "setting"),
            (rotations.by_id, "rotation"),
            (cards.by_id, "card"),
        ],
    )
    def test_ours_is_found_and_theirs_is_said_not_to_be_here(
        self, session: Session, ours, theirs, by_id, key: str
    ):
        """The answer for another club's number is the one for a number nobody has."""
        assert by_id(session, getattr(ours, key)).id == getattr(ours, key)
        with pytest.raises(NotInThisClub) as refused:
            by_id(session, getattr(theirs, key))
        assert str(getattr(theirs, key)) in str(refused.value)

    def test_the_message_says_what_is_not_here(self, session: Session):
        with pytest.raises(NotInThisClub) as refused:
            apparatus.calibration_by_id(session, 999)
        assert str(refused.value).startswith("This club has no calibration with the number 999")


class TestClubs:
    def test_the_club(self, session: Session, ours):
        assert clubs.club_by_id(session, ours.club).name == "Harbour"
        assert [club.id for club in clubs.all_clubs(session)] == [ours.club]

    def test_who_may_sign_in_for_it(self, session: Session, ours, theirs):
        """And nobody else by their number."""
        coach = session.scalars(select(clubs.Membership)).one()
        assert coach.shown_name == "Coach"


class TestModels:
    def test_the_latest_version_counts_and_the_others_stay(self, session: Session, ours):
        """A mis-typed pitch is put right by a new version; what was printed can be explained."""
        session.add(
            ApparatusModelVersion(
                model_id=ours.model, version=2, definition={"pitch_mm": 50}, recorded_by="coach"
            )
        )
        assert apparatus_models.latest_versions(session, [ours.model])[ours.model].version == 2
        versions = [found.version for found in apparatus_models.history(session, ours.model)]
        assert versions == [2, 1]

    def test_by_name(self, session: Session, ours):
        assert apparatus_models.by_name(session, "Type 1").id == ours.model
        assert apparatus_models.by_name(session, "Type 2") is None
        assert [one.model_id for one in apparatus_models.newest_of_all(session)] == [ours.model]


class TestApparatus:
    def test_what_stands_there_now_is_what_was_read_off_last(self, session: Session, ours):
        """By the order of recording, whatever the clock said: it may have been put back."""
        for stops, hours in (([1], 0), ([2], 2), ([3], 2), ([4], 1)):
            session.add(
                ApparatusSetup(
                    apparatus_id=ours.apparatus,
                    stops=stops,
                    stood_at=NOON + timedelta(hours=hours),
                    recorded_by="coach",
                )
            )
            session.flush()
        latest = apparatus.latest_setups(session, [ours.apparatus])
        assert {one: setup.stops for one, setup in latest.items()} == {ours.apparatus: [4]}
        history = apparatus.setup_history(session, ours.apparatus, limit=3)
        assert [setup.stops for setup in history] == [[4], [3], [2]]

    def test_an_apparatus_nobody_read_off_has_no_setup(self, session: Session):
        assert apparatus.latest_setups(session, [999]) == {}

    def test_the_newest_calibration_not_set_aside_is_used_for_each_axis(
        self, session: Session, ours
    ):
        """A mis-measured axis goes back to the one before, and only that axis."""

        def add(axis: str, day: int, *, aside: bool = False) -> Calibration:
            calibration = Calibration(
                apparatus_id=ours.apparatus,
                axis=axis,
                measurements=[],
                fitted={},
                taken_on=date(2026, 4, day),
                recorded_by="coach",
                set_aside_at=NOON if aside else None,
            )
            session.add(calibration)
            session.flush()
            return calibration

        low, later, _aside = add("low_rail", 2), add("low_rail", 2), add("low_rail", 3, aside=True)
        high, _old = add("high_rail", 2), add("high_rail", 1)
        _only_aside = add("spread", 1, aside=True)
        assert apparatus.calibrations_in_use(session, [ours.apparatus]) == {
            ours.apparatus: {"low_rail": later, "high_rail": high}
        }
        assert low in apparatus.calibrations(session, ours.apparatus)

    def test_the_list_comes_with_models_in_one_question(self, session: Session, ours):
        with questions(session) as asked:
            (found,) = apparatus.all_apparatus(session)
            assert found.model.name == "Type 1"
        assert len(asked) == 1
        assert apparatus.by_name(session, "Bars 1") is found


class TestSettings:
    def test_the_latest_of_each_athlete_comes_with_values_in_one_question(
        self, session: Session, ours, theirs
    ):
        """A squad of thirty is one question, not thirty-one."""
        others = [add_athlete(session, f"Athlete {n}").id for n in range(30)]
        session.add_all(a_setting(other, ours.model, 1) for other in others[1:])
        session.add(a_setting(ours.athlete, ours.model, 2, low_mm=1750))
        beside = a_setting(ours.athlete, ours.model, 1, low_mm=1600)
        beside.purpose = Purpose.TRAINING.value
        session.add(beside)
        athletes_asked = [ours.athlete, theirs.athlete, *others]
        with questions(session) as asked:
            found = settings.latest_by_model(session, athletes_asked, [ours.model], [USUAL])
            wanted = {
                athlete_id: [value.wanted_mm for value in setting.values]
                for setting, athlete_id in found
            }
        assert wanted[ours.athlete] == [1750, 2500]
        assert set(wanted) == {ours.athlete, *others[1:]}
        assert len(asked) == 1
        both = settings.latest_by_model(session, [ours.athlete], [ours.model], Purpose)
        assert {setting.purpose for setting, _ in both} == {"competition", "training"}

    def test_a_setting_on_another_model_does_not_count(self, session: Session, ours):
        other = apparatus_models.ApparatusModel(name="Type 2", kind="uneven bars")
        session.add(other)
        session.flush()
        session.add(a_setting(ours.athlete, other.id, 7))
        assert settings.latest(session, ours.athlete, ours.model).version == 1
        assert settings.latest(session, ours.athlete, other.id).version == 7
        assert settings.latest(session, ours.athlete, 999) is None

    def test_the_history_is_whole_and_newest_first_in_one_question(self, session: Session, ours):
        session.add(a_setting(ours.athlete, ours.model, 2, low_mm=1750))
        with questions(session) as asked:
            history = settings.history(session, ours.athlete)
            seen = [(s.model.name, s.version, s.values[0].wanted_mm) for s in history]
        assert seen == [("Type 1", 2, 1750), ("Type 1", 1, 1700)]
        assert len(asked) == 1


class TestRotations:
    def test_relisting_makes_exactly_this_list(self, session: Session, ours):
        """Swapping two athletes never stumbles over their old places."""
        second = add_athlete(session, "Birk").id
        rotation = rotations.by_id(session, ours.rotation)
        for listed in ([ours.athlete, second], [second, ours.athlete], [second], []):
            rotations.relist(session, rotation, listed)
            session.expire_all()
            found = rotations.by_id(session, ours.rotation).turns
            assert [turn.athlete_id for turn in found] == listed
            assert [turn.listed_place for turn in found] == list(range(1, len(listed) + 1))

    def test_the_latest_days_come_first_and_no_more_than_asked(self, session: Session, ours):
        for day in (5, 4, 6):
            rotation = Rotation(
                apparatus_id=ours.apparatus,
                name=f"Day {day}",
                held_on=date(2026, 3, day),
                asked={},
                created_by="coach",
            )
            session.add(rotation)
        with questions(session) as asked:
            found = rotations.recent(session, limit=3)
            seen = [(one.name, one.apparatus.name, len(one.turns)) for one in found]
        assert seen == [("Day 6", "Bars 1", 0), ("Day 5", "Bars 1", 0), ("Day 4", "Bars 1", 0)]
        assert len(asked) == 2

    def test_one_with_all_that_its_page_shows_takes_two_questions(self, session: Session, ours):
        with questions(session) as asked:
            rotation = rotations.by_id(session, ours.rotation)
            assert rotation.apparatus.model.name == "Type 1"
            assert [turn.athlete.family_name for turn in rotation.turns] == ["Ask"]
        assert len(asked) == 2

    def test_the_last_plan_counts(self, session: Session, ours):
        session.add(RotationPlan(rotation_id=ours.rotation, made_by="coach", result={"seconds": 9}))
        assert rotations.latest_plan(session, ours.rotation).result == {"seconds": 9}
        assert rotations.latest_plan(session, 999) is None


class TestCards:
    def test_the_latest_of_each_athlete_for_an_apparatus(self, session: Session, ours):
        newer = a_card(ours.athlete, ours.apparatus, 2, mark="newer")
        session.add(newer)
        found = cards.for_athletes(session, [ours.athlete], ours.apparatus)
        assert found[0] is newer
        assert cards.for_athletes(session, [ours.athlete], 999) == []
        versions = [card.version for card in cards.of_athlete(session, ours.athlete)]
        assert versions == [2, 1]

    def test_a_scanned_or_typed_code_finds_its_card_without_knowing_the_club(
        self, store: Store, ours, theirs
    ):
        """The helper at the apparatus has no account and belongs to no club."""
        assert store.row(cards.HOLDER_OF, code_hash="hash of Hillside").id == theirs.card
        assert store.row(cards.HOLDER_OF_TYPED, mark="mark of Harbour").id == ours.card
        assert store.row(cards.HOLDER_OF, code_hash="hash of nobody") is None
        assert store.row(cards.HOLDER_OF_TYPED, mark="mark of nobody") is None


class TestRuleBooks:
    def test_they_come_by_name(self, session: Session, ours):
        (book,) = rule_books.all_rule_books(session)
        assert book.name == "Youth"
        assert rule_books.by_id(session, book.id) is book
