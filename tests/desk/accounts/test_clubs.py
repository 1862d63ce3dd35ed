"""The clubs of a desk: the first, and those beside it."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from settingsdesk.desk.accounts import invitations, sign_ins
from settingsdesk.desk.accounts.accounts import (
    ClubIsClosed,
    NoSuchAccount,
    add_account,
    sign_in,
)
from settingsdesk.desk.accounts.clubs import (
    ClosesOwnClub,
    ClubHasPeople,
    ClubNameTaken,
    ClubUnnamed,
    LastInstallationOwner,
    NoClubYet,
    NoSuchClub,
    OneClubOnly,
    WhichClub,
    add_club,
    close,
    club_named,
    clubs,
    give_installation,
    invite_owner,
    is_empty,
    make_club,
    only_club,
    open_again,
    own_it,
    owners,
    take_installation,
)
from settingsdesk.desk.accounts.invitations import InvitationOver, MemberAlready
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.hall import rule_books
from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import Keeping
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.units import Unit
from settingsdesk.resources import folder
from settingsdesk.store.clubs import Membership, club_by_id
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.databases import Databases, Where

SECRET = b"k" * 32
NEW = "nine quiet otters juggling"
BOOKS = folder("seed") / "rulebooks.toml"


@pytest.fixture
def empty(empty_database: Where, tmp_path: Path, databases: Databases) -> Iterator[Store]:
    """A desk on which nobody has made a club."""
    store = Store(databases.copied(empty_database, tmp_path / "desk.sqlite3"))
    yield store
    store.close()


class TestMakingTheClub:
    def test_it_has_its_name_and_its_unit_and_is_the_desks_club(self, empty: Store) -> None:
        assert is_empty(empty)
        club_id = make_club(empty, " Harbour Gymnastics ", Unit.INCH)

        assert only_club(empty) == club_id
        with empty.installation(writes=False) as session:
            club = club_by_id(session, club_id)
        assert (club.name, club.length_unit) == ("Harbour Gymnastics", "in")

    def test_it_needs_a_name(self, empty: Store) -> None:
        with pytest.raises(ClubUnnamed):
            make_club(empty, "  ", Unit.CENTIMETRE)

        assert is_empty(empty)

    def test_one_whose_making_was_cut_off_is_made_on(self, empty: Store) -> None:
        """Somebody closed the lid before the rule books were there: typed again, it goes on."""
        begun = make_club(empty, "Harbour Gymnastics", Unit.CENTIMETRE)

        assert make_club(empty, "Harbour Gymnastics", Unit.INCH) == begun
        with pytest.raises(OneClubOnly):
            make_club(empty, "Another club", Unit.CENTIMETRE)
        with empty.work(begun, by="command line", writes=True) as session:
            rule_books.keep_shipped(session, BOOKS)
        with pytest.raises(OneClubOnly):
            make_club(empty, "Harbour Gymnastics", Unit.CENTIMETRE)

    def test_a_second_one_is_refused_with_the_way_out(self, store: Store) -> None:
        """Otherwise nobody could tell which of them a command means."""
        with pytest.raises(OneClubOnly) as refused:
            make_club(store, "Another club", Unit.CENTIMETRE)

        assert "Harbour Gymnastics is on this desk already" in str(refused.value)
        assert "SETTINGSDESK_DATA" in str(refused.value)

    def test_one_more_is_made_beside_it_by_a_way_of_its_own(self, store: Store) -> None:
        """``init`` begins a desk and never touches one; a second club is meant as one."""
        lakeside = add_club(store, "Lakeside", Unit.INCH, BOOKS, "Edda Quill")

        assert club_named(store, "LAKESIDE ") == lakeside
        with store.work(lakeside, writes=False) as session:
            assert rule_books.all_books(session)
        with pytest.raises(ClubNameTaken, match="Lakeside is here already"):
            add_club(store, " lakeside", Unit.INCH, BOOKS, "Edda Quill")

    def test_then_a_command_has_to_say_which(self, store: Store, account: Account) -> None:
        lakeside = add_club(store, "Lakeside", Unit.INCH, BOOKS, "Edda Quill")

        with pytest.raises(WhichClub, match="Harbour Gymnastics, Lakeside"):
            only_club(store)
        with pytest.raises(NoSuchClub):
            club_named(store, "Nowhere")
        close(store, lakeside)
        assert only_club(store) == account.club_id

    def test_without_one_the_ways_to_one_are_named(self, empty: Store) -> None:
        with pytest.raises(NoClubYet, match="settingsdesk init NAME, or settingsdesk demo"):
            only_club(empty)


class TestTheFirstOwner:
    def test_comes_in_by_a_link_that_works_once(self, store: Store, account: Account) -> None:
        lakeside = add_club(store, "Lakeside", Unit.CENTIMETRE, BOOKS, "Edda Quill")
        code = invite_owner(store, SECRET, lakeside, "Edda Quill", "Ann Reed")
        [line] = [one for one in clubs(store, SECRET) if one.id == lakeside]
        assert (line.people, [link.code for link in line.links]) == (0, [code])

        ann = invitations.accept(store, code, "ann", NEW)

        assert (ann.club_id, ann.role, ann.owns_installation) == (lakeside, Role.OWNER, False)
        [line] = [one for one in clubs(store, SECRET) if one.id == lakeside]
        assert (line.people, line.links) == (1, ())
        with pytest.raises(ClubHasPeople):
            invite_owner(store, SECRET, lakeside, "Edda Quill", "Somebody else")
        with pytest.raises(ClubHasPeople):
            own_it(store, lakeside, _signed_in(store, account))

    def test_is_who_made_it_where_they_say_so(self, store: Store, account: Account) -> None:
        lakeside = add_club(store, "Lakeside", Unit.CENTIMETRE, BOOKS, "Edda Quill")

        own_it(store, lakeside, _signed_in(store, account))

        edda = _signed_in(store, account)
        assert sign_ins.other_clubs(store, edda) == [(lakeside, "Lakeside")]
        still = sign_ins.still_signed_in(store, edda.stamp)
        assert still is not None
        assert still.clubs_elsewhere == 1
        with pytest.raises(MemberAlready):
            own_it(store, lakeside, edda)


class TestClosing:
    @pytest.fixture
    def lakeside(self, store: Store, account: Account) -> int:
        """A club whose only coach is Ann."""
        club_id = add_club(store, "Lakeside", Unit.CENTIMETRE, BOOKS, "Edda Quill")
        add_account(store, club_id, "ann", "Ann Reed", NEW)
        return club_id

    def test_signs_everybody_out_and_lets_nobody_in(self, store: Store, lakeside: int) -> None:
        ann = sign_in(store, "ann", NEW)
        assert ann is not None
        close(store, lakeside)

        assert sign_ins.still_signed_in(store, ann.stamp) is None
        with pytest.raises(ClubIsClosed, match="Lakeside is closed here"):
            sign_in(store, "ann", NEW)
        assert sign_in(store, "ann", "a wrong one") is None, "who does not know it learns nothing"

    def test_a_link_from_before_opens_nothing(self, store: Store, lakeside: int) -> None:
        with store.work(lakeside, by="Ann", writes=True) as session:
            code = invitations.invite(session, SECRET, Role.COACH, "Bo Larch")
        close(store, lakeside)

        with pytest.raises(InvitationOver):
            invitations.accept(store, code, "bo", NEW)

    def test_takes_nothing_away_and_it_opens_again_as_it_was(
        self, store: Store, lakeside: int
    ) -> None:
        with store.work(lakeside, by="Ann", writes=True) as session:
            athletes.add(session, Person("Ask", "Ea"))
        close(store, lakeside)
        open_again(store, lakeside)

        assert sign_in(store, "ann", NEW) is not None
        with store.work(lakeside, writes=False) as session:
            assert [member.listed_name for member in athletes.find(session)] == ["Ask, Ea"]

    def test_leaves_who_belongs_to_another_club_too_that_one(
        self, store: Store, account: Account, lakeside: int
    ) -> None:
        with store.installation(writes=True) as session:
            session.add(
                Membership(
                    club_id=lakeside,
                    account_id=account.account_id,
                    role="coach",
                    shown_name="Edda Quill",
                )
            )
        edda = _signed_in(store, account)
        sign_ins.act_for(store, edda, lakeside)
        close(store, lakeside)

        assert sign_ins.still_signed_in(store, edda.stamp) is None
        again = _signed_in(store, account)
        assert (again.club_id, sign_ins.other_clubs(store, again)) == (account.club_id, [])
        with pytest.raises(NotInThisClub):
            sign_ins.act_for(store, again, lakeside)

    def test_of_the_club_one_acts_for_is_refused(self, store: Store, account: Account) -> None:
        """Whoever pressed it could not open it again."""
        with pytest.raises(ClosesOwnClub):
            close(store, account.club_id, _signed_in(store, account))

    def test_whose_time_is_over_goes_all_the_same(self, store: Store, lakeside: int) -> None:
        """What families were promised does not end with the club; who is a member stays."""
        with store.work(lakeside, by="Ann", writes=True) as session:
            retention.keep(session, Keeping(30, 10))
            gone = athletes.add(session, Person("Zorn", "Lova"))
            athletes.add(session, Person("Ask", "Ea"))
            athletes.leave(session, gone.id, date(2026, 1, 1))
        close(store, lakeside)

        assert [retention.clear(store, date(2026, 2, day)) for day in (1, 2, 3)] == [0, 0, 1]
        with store.work(lakeside, writes=False) as session:
            assert [member.listed_name for member in athletes.find(session)] == ["Ask, Ea"]


class TestWhoOwnsTheInstallation:
    def test_is_the_first_owner_there_is_and_nobody_else_by_being_one(
        self, store: Store, account: Account
    ) -> None:
        add_account(store, account.club_id, "bo", "Bo Larch", NEW, Role.OWNER)
        assert owners(store) == [account.sign_in_name]

    def test_is_given_and_taken_and_never_nobody(self, store: Store, account: Account) -> None:
        add_account(store, account.club_id, "bo", "Bo Larch", NEW)
        give_installation(store, "BO")
        assert owners(store) == ["bo", account.sign_in_name]
        take_installation(store, account.sign_in_name)

        assert not _signed_in(store, account).owns_installation
        with pytest.raises(LastInstallationOwner):
            take_installation(store, "bo")
        for nobody in (give_installation, take_installation):
            with pytest.raises(NoSuchAccount):
                nobody(store, "nobody")


def _signed_in(store: Store, account: Account) -> SignedIn:
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known
