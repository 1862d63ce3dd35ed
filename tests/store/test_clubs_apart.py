"""Clubs are kept apart by the unit of work, whatever is asked of it."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import (
    delete,
    event,
    exists,
    func,
    insert,
    inspect,
    literal,
    select,
    text,
    true,
    union_all,
    update,
)
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, aliased, joinedload, selectinload

import settingsdesk
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned, InstallationWide
from settingsdesk.store.card_keys import CardKey
from settingsdesk.store.cards import Card
from settingsdesk.store.clubs import Account, Club, Membership
from settingsdesk.store.errors import BelongsToAnotherClub, NotFenced, OpenedForReading
from settingsdesk.store.rotations import Rotation, RotationTurn
from settingsdesk.store.settings import Setting, SettingValue
from settingsdesk.store.work import Store, add_rows

OWNED = sorted(
    (mapper.class_ for mapper in Base.registry.mappers if issubclass(mapper.class_, ClubOwned)),
    key=lambda entity: entity.__name__,
)

OF_NO_CLUB = {
    mapper.local_table
    for mapper in Base.registry.mappers
    if issubclass(mapper.class_, InstallationWide)
}


def key_of(entity: type) -> str:
    return entity.__name__


class TestReading:
    def test_every_table_but_the_club_belongs_to_a_club(self):
        """A table added tomorrow without a club would be open to every club.

        The key of the cards is the installation's: all there is of it is a fingerprint.
        """
        others = {mapper.class_ for mapper in Base.registry.mappers} - set(OWNED)
        apart = {one for one in others if not issubclass(one, InstallationWide)}
        assert apart == {Club, CardKey}

    def test_what_belongs_to_no_club_is_not_found_inside_one(self, store: Store, ours):
        """A club's coaches are found by what they are in that club, and not among all accounts."""
        with store.work(ours.club, writes=False) as session:
            for asked in (select(Account), select(Membership).join(Membership.account)):
                assert session.scalars(asked).all() == []
            assert session.get(Account, 1) is None
            assert session.scalars(select(Membership)).one().account is None

    @pytest.mark.parametrize("entity", OWNED, ids=key_of)
    def test_each_club_reads_its_own_rows_and_no_others(self, store: Store, ours, theirs, entity):
        """Both clubs ask the same question, so that no answer is kept from one for the other."""
        for club in (ours.club, theirs.club):
            with store.work(club, writes=False) as session:
                assert {row.club_id for row in session.scalars(select(entity))} == {club}

    @pytest.mark.parametrize("entity", OWNED, ids=key_of)
    def test_a_row_of_another_club_is_not_found_by_its_number(
        self, store: Store, ours, theirs, entity
    ):
        """Whoever changes the number in an address meets nothing (a page answers 404)."""
        with store.installation(writes=False) as session:
            foreign = session.scalars(select(entity).where(entity.club_id == theirs.club)).first()
            number = inspect(foreign).identity
        with store.work(ours.club, writes=False) as session:
            assert session.get(entity, number) is None

    def test_a_club_sees_only_itself_among_the_clubs(self, store: Store, ours, theirs):
        with store.work(ours.club, writes=False) as session:
            assert session.scalars(select(Club.name)).all() == ["Harbour"]
            assert session.get(Club, theirs.club) is None

    @pytest.mark.parametrize(
        "statement",
        [
            select(func.count(Athlete.id)),
            select(func.count()).select_from(Athlete),
            select(func.count()).select_from(select(Athlete.id).subquery()),
            select(func.count()).select_from(select(Athlete.id).cte()),
            select(func.count()).select_from(aliased(Athlete)),
            select(func.count()).select_from(aliased(Athlete, select(Athlete).subquery())),
            select(func.count(Card.id)).join(Card.athlete),
            select(func.count()).select_from(Athlete).join(aliased(Athlete), true()),
            select(select(func.count(Athlete.id)).scalar_subquery()).select_from(Club),
        ],
        ids=str,
    )
    def test_no_form_of_question_counts_the_other_clubs_rows(
        self, store: Store, ours, theirs, statement
    ):
        with store.work(ours.club, writes=False) as session:
            assert session.scalar(statement) == 1

    def test_a_union_is_fenced_in_on_both_sides(self, store: Store, ours, theirs):
        both = union_all(select(Athlete.id), select(Athlete.id))
        with store.work(ours.club, writes=False) as session:
            assert session.scalars(both).all() == [ours.athlete, ours.athlete]

    def test_a_condition_cannot_look_into_another_club(self, store: Store, ours, theirs):
        """Asking whether a number exists elsewhere would already tell something."""
        there = exists(select(Athlete.id).where(Athlete.id == theirs.athlete))
        with store.work(ours.club, writes=False) as session:
            assert session.scalars(select(Club.id).where(there)).all() == []

    def test_what_hangs_on_a_row_is_loaded_from_its_club_only(self, store: Store, ours, theirs):
        """A row that came in from elsewhere brings nothing of its club along."""
        with store.installation(writes=False) as session:
            foreign = session.get(Rotation, theirs.rotation)
        with store.work(ours.club, writes=False) as session, session.no_autoflush:
            session.add(foreign)
            assert foreign.turns == []

    @pytest.mark.parametrize("load", [joinedload, selectinload])
    def test_loading_ahead_finds_the_clubs_own(self, store: Store, ours, theirs, load):
        with store.work(ours.club, writes=False) as session:
            asked = select(Rotation).options(load(Rotation.turns).joinedload(RotationTurn.athlete))
            (rotation,) = session.scalars(asked).unique()
            assert [turn.athlete.given_name for turn in rotation.turns] == ["Harbour"]

    @pytest.mark.parametrize("load", [joinedload, selectinload])
    def test_what_is_loaded_ahead_is_asked_for_by_its_club(self, store: Store, ours, load):
        """The club begins every index: without it each value of the desk would be looked at."""
        with store.work(ours.club, writes=False) as session:
            asked: list[str] = []
            event.listen(
                session.connection(),
                "before_cursor_execute",
                lambda _1, _2, statement, *_: asked.append(statement),
            )
            session.scalars(select(Setting).options(load(Setting.values))).unique().all()
        assert re.search(r"setting_value(_1)?\.club_id = (\?|%\()", asked[-1])

    @pytest.mark.parametrize(
        "statement",
        [
            text("SELECT * FROM athlete"),
            select(Athlete.__table__),
            select(literal(1)),
            select(Athlete).from_statement(text("SELECT * FROM athlete")),
        ],
        ids=["text", "table", "no class", "text for a class"],
    )
    def test_a_question_that_cannot_be_fenced_in_is_refused(
        self, store: Store, ours, theirs, statement
    ):
        with store.work(ours.club, writes=True) as session, pytest.raises(NotFenced):
            session.execute(statement)


class TestWriting:
    def test_a_new_row_becomes_the_clubs(self, store: Store, ours, theirs):
        """Nobody has to remember whose row it is."""
        with store.work(theirs.club, writes=True) as session:
            athlete = Athlete(family_name="New", given_name="Row", created_by="coach")
            session.add(athlete)
        assert athlete.club_id == theirs.club

    def test_rows_that_hang_on_a_new_row_become_the_clubs_too(self, store: Store, ours):
        with store.work(ours.club, writes=True) as session:
            values = [SettingValue(axis="low_rail", wanted_mm=1)]
            setting = Setting(
                athlete_id=ours.athlete,
                model_id=ours.model,
                version=2,
                recorded_by="coach",
                values=values,
            )
            session.add(setting)
        assert values[0].club_id == ours.club

    def new_foreign_row(self, session: Session, ours, theirs) -> None:
        session.add(
            Athlete(club_id=theirs.club, family_name="A", given_name="B", created_by="coach")
        )

    def own_row_given_away(self, session: Session, ours, theirs) -> None:
        session.get(Athlete, ours.athlete).club_id = theirs.club

    def new_club(self, session: Session, ours, theirs) -> None:
        session.add(Club(name="Third"))

    @pytest.mark.parametrize("write", [new_foreign_row, own_row_given_away, new_club], ids=key_of)
    def test_a_row_of_another_club_is_refused(
        self, store: Store, ours, theirs, write: Callable[..., None]
    ):
        with (
            pytest.raises(BelongsToAnotherClub, match="belongs to another club"),
            store.work(ours.club, writes=True) as session,
        ):
            write(self, session, ours, theirs)

    @pytest.mark.parametrize("as_ours", [False, True])
    def test_a_foreign_row_brought_in_cannot_be_changed(
        self, store: Store, ours, theirs, as_ours: bool
    ):
        """Not even when it is said to be ours in the same breath."""
        with store.installation(writes=False) as session:
            foreign = session.get(Athlete, theirs.athlete)
        foreign.family_name = "Taken"
        if as_ours:
            foreign.club_id = ours.club
        with pytest.raises(BelongsToAnotherClub), store.work(ours.club, writes=True) as session:
            session.add(foreign)

    def test_a_foreign_row_brought_in_cannot_be_deleted(self, store: Store, ours, theirs):
        with store.installation(writes=False) as session:
            foreign = session.scalars(select(Card).where(Card.id == theirs.card)).one()
        with (
            pytest.raises(BelongsToAnotherClub),
            store.work(ours.club, writes=True) as session,
        ):
            session.delete(foreign)

    def test_what_belongs_to_no_club_is_not_written_inside_one(self, store: Store, ours):
        with pytest.raises(NotFenced), store.work(ours.club, writes=True) as session:
            session.add(Account(sign_in_name="new", password_hash="-"))

    def test_changing_all_changes_the_clubs_own(self, store: Store, ours, theirs):
        with store.work(ours.club, writes=True) as session:
            session.execute(update(Athlete).values(group_name="Juniors"))
        with store.installation(writes=False) as session:
            groups = session.execute(select(Athlete.club_id, Athlete.group_name)).all()
        assert set(groups) == {(ours.club, "Juniors"), (theirs.club, "")}

    def test_deleting_all_deletes_the_clubs_own(self, store: Store, ours, theirs):
        with store.work(ours.club, writes=True) as session:
            session.execute(delete(Card))
        with store.installation(writes=False) as session:
            assert session.scalars(select(Card.club_id)).all() == [theirs.club]

    def test_writing_past_the_fence_is_refused(self, store: Store, ours, theirs):
        with store.work(ours.club, writes=True) as session:
            with pytest.raises(NotFenced):
                session.execute(insert(Club).values(name="Third"))
            with pytest.raises(NotFenced):
                session.execute(update(Athlete), [{"id": theirs.athlete, "family_name": "Taken"}])
            with pytest.raises(NotFenced):
                session.execute(delete(Athlete.__table__))

    def test_the_database_itself_refuses_a_row_that_points_into_another_club(
        self, store: Store, ours, theirs
    ):
        """The second fence: even a mistake in the first cannot mix the clubs."""
        with pytest.raises(IntegrityError), store.work(ours.club, writes=True) as session:
            session.add(
                RotationTurn(rotation_id=ours.rotation, athlete_id=theirs.athlete, listed_place=9)
            )

    def test_many_rows_at_once_become_the_clubs(self, store: Store, ours, theirs):
        """A list brings thousands of athletes."""
        names = ["Ada", "Bo", "Cy"]
        with store.work(ours.club, writes=True) as session:
            rows = [{"family_name": name, "given_name": "", "created_by": "Runa"} for name in names]
            filled = {"searched": "", "in_order": b"", "heard_name": ""}
            numbers = add_rows(session, Athlete, [{**row, **filled} for row in rows])
            assert add_rows(session, Athlete, []) == []
        with store.work(ours.club, writes=False) as session:
            assert [session.get_one(Athlete, one).family_name for one in numbers] == names
        with store.work(theirs.club, writes=False) as session:
            assert session.scalars(select(Athlete.id)).all() == [theirs.athlete]

    def test_many_rows_at_once_cannot_point_into_another_club(self, store: Store, ours, theirs):
        turn = {"rotation_id": ours.rotation, "athlete_id": theirs.athlete, "listed_place": 9}
        with pytest.raises(IntegrityError), store.work(ours.club, writes=True) as session:
            add_rows(session, RotationTurn, [turn])

    def test_many_rows_at_once_are_added_where_one_writes_and_inside_a_club(
        self, store: Store, ours
    ):
        with store.work(ours.club, writes=False) as session, pytest.raises(OpenedForReading):
            add_rows(session, Athlete, [{}])
        with store.installation(writes=True) as session, pytest.raises(NotFenced):
            add_rows(session, Athlete, [{}])

    @pytest.mark.parametrize("entity", OWNED, ids=key_of)
    def test_every_reference_between_rows_carries_the_club(self, entity):
        """So the second fence has no gap. What belongs to no club has none to carry."""
        for reference in entity.__table__.foreign_key_constraints:
            assert "club_id" in reference.column_keys or reference.referred_table in OF_NO_CLUB
            assert reference.ondelete == "RESTRICT"


class TestInstallation:
    def test_it_sees_every_club(self, store: Store, ours, theirs):
        """Signing in starts with a name alone, before anybody knows the club."""
        with store.installation(writes=False) as session:
            assert set(session.scalars(select(Club.id))) == {ours.club, theirs.club}
            assert len(session.scalars(select(Athlete)).all()) == 2

    def test_nobody_goes_around_the_fence_by_the_back_door(self):
        """What SQLAlchemy cannot fence in is not used in the package at all."""
        back_doors = re.compile(
            r"\.bulk_(save|insert|update)|__table__\b|\.raw_connection\(|\btext\("
        )
        package = Path(settingsdesk.__file__).parent
        found = [
            f"{file.relative_to(package)}: {line.strip()}"
            for file in package.rglob("*.py")
            for whole in [file.read_text(encoding="utf-8")]
            if "sqlalchemy" in whole
            for line in whole.splitlines()
            if back_doors.search(line)
        ]
        assert found == []
