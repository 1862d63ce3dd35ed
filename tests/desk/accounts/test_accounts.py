"""Coaches' accounts."""

import threading

import pytest
from argon2 import PasswordHasher
from sqlalchemy import select

from settingsdesk.desk.accounts import accounts, passwords
from settingsdesk.desk.accounts.accounts import (
    OldPasswordNotRight,
    SignInNameTaken,
    add_account,
    change_password,
    set_password,
    sign_in,
)
from settingsdesk.desk.accounts.passwords import PasswordNotAccepted
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn, still_signed_in
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.clubs import Account as Kept
from settingsdesk.store.clubs import Membership, account_by_id, open_memberships
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account, new_club
from tests.databases import Databases, Where


@pytest.fixture(scope="module")
def one_club(
    empty_database: Where,
    slow_passwords: None,
    tmp_path_factory: pytest.TempPathFactory,
    databases: Databases,
) -> tuple[Where, Account]:
    """The club of all tests, with a password that was kept as slowly as they are."""
    return new_club(databases, empty_database, tmp_path_factory.mktemp("one_club"))


ANOTHER = "nine quiet otters juggling"


def let_in(store: Store, account: Account) -> SignedIn:
    """Sign in; fails where that is refused."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known


def row(store: Store, account_id: int) -> Kept:
    """The account as kept."""
    with store.installation(writes=False) as session:
        return account_by_id(session, account_id)


def change_meanwhile(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """The next password that is compared is changed before the answer is used."""
    real = passwords.matches

    def compare(kept: str | None, password: str) -> bool:
        answer = real(kept, password)
        set_password(store, "edda", ANOTHER)
        return answer

    monkeypatch.setattr(passwords, "matches", compare)


class TestSigningIn:
    def test_it_leads_to_the_coach_and_the_club(self, store: Store, account: Account) -> None:
        """Everything a page needs to know about who is there."""
        known = let_in(store, account)

        assert (known.account_id, known.club_id) == (account.account_id, account.club_id)
        assert (known.club_name, known.shown_name) == ("Harbour Gymnastics", "Edda Quill")
        assert known.length_unit is Unit.CENTIMETRE

    @pytest.mark.parametrize("typed", ["EDDA", "  edda ", "ｅｄｄａ"])
    def test_the_case_of_the_name_does_not_matter(
        self, store: Store, account: Account, typed: str
    ) -> None:
        """Telephones begin with a capital."""
        assert sign_in(store, typed, account.password) is not None

    def test_an_unknown_name_has_its_password_checked_like_a_known_one(
        self, store: Store, account: Account, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Else the answer would come sooner, and tell who has an account."""
        checked = []
        real = PasswordHasher.verify

        def counting(hasher: PasswordHasher, kept: str, password: str) -> bool:
            checked.append(kept.split("$")[3])
            return real(hasher, kept, password)

        monkeypatch.setattr(PasswordHasher, "verify", counting)

        assert sign_in(store, "nobody", "not it") is None
        assert sign_in(store, "edda", "not it") is None
        assert checked == ["m=19456,t=2,p=1"] * 2

    def test_one_that_was_kept_with_other_settings_is_kept_anew(
        self, store: Store, account: Account
    ) -> None:
        """Passwords grow stronger without anybody noticing."""
        weak = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
        with store.installation(writes=True) as session:
            kept = account_by_id(session, account.account_id)
            kept.password_hash = weak.hash(account.password)

        let_in(store, account)

        kept = row(store, account.account_id).password_hash
        assert not passwords.is_outdated(kept)
        assert passwords.matches(kept, account.password)

    def test_one_that_is_changed_while_it_is_compared_does_not_lead_in(
        self, store: Store, account: Account, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Whoever signs in with the old one at that moment would outlast the change."""
        change_meanwhile(store, monkeypatch)

        assert sign_in(store, "edda", account.password) is None
        monkeypatch.undo()
        assert sign_in(store, "edda", ANOTHER) is not None

    def test_neither_name_nor_password_is_written_to_the_log(
        self, store: Store, account: Account, caplog: pytest.LogCaptureFixture
    ) -> None:
        """People type the one into the other's box."""
        caplog.set_level("INFO", accounts.__name__)

        let_in(store, account)
        sign_in(store, "edda", "my secret")

        assert [record.levelname for record in caplog.records] == ["INFO", "WARNING"]
        assert "edda" not in caplog.text.casefold()
        assert "secret" not in caplog.text


class TestAddingACoach:
    def test_the_name_must_be_free_in_the_whole_installation(
        self, store: Store, account: Account
    ) -> None:
        """For who signs in has not said yet of which club they are."""
        with pytest.raises(SignInNameTaken) as refused:
            add_account(store, account.club_id, "Edda", "Another", ANOTHER)

        assert str(refused.value) == (
            "Somebody signs in as 'edda' already; choose another sign-in name"
        )

    def test_a_refused_password_adds_nobody(self, store: Store, account: Account) -> None:
        """All or nothing."""
        with pytest.raises(PasswordNotAccepted):
            add_account(store, account.club_id, "new", "New Coach", "new coach new coach")

        with store.work(account.club_id, writes=False) as session:
            assert session.scalars(select(Membership.shown_name)).all() == ["Edda Quill"]

    def test_the_club_must_be_there(self, store: Store) -> None:
        """A slip in its number is said as such."""
        with pytest.raises(NotInThisClub):
            add_account(store, 99, "new", "New Coach", ANOTHER)

    def test_the_first_of_a_club_is_its_owner_and_the_others_are_coaches(
        self, store: Store, account: Account
    ) -> None:
        """Somebody has to say who may sign in; whoever set the desk up is the one who can."""
        second = add_account(store, account.club_id, "bo", "Bo Larch", ANOTHER)
        helper = add_account(store, account.club_id, "cy", "Cy Moor", ANOTHER, Role.HELPER)

        with store.installation(writes=False) as session:
            roles = [
                open_memberships(session, one)[0].role
                for one in (account.account_id, second, helper)
            ]
        assert roles == ["owner", "coach", "helper"]

    def test_they_see_their_own_club_only(self, store: Store, account: Account) -> None:
        """Two clubs share an installation."""
        other = new_account(store, "Hillside", "bo", "Bo Larch")

        assert let_in(store, other).club_id != account.club_id

    def test_two_at_once_do_not_get_the_same_name(self, store: Store, account: Account) -> None:
        """The second reads that it is taken."""
        outcomes: list[object] = []

        def add() -> None:
            try:
                outcomes.append(add_account(store, account.club_id, "new", "New Coach", ANOTHER))
            except SignInNameTaken:
                outcomes.append(SignInNameTaken)

        threads = [threading.Thread(target=add) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        assert outcomes.count(SignInNameTaken) == 3


class TestChangingThePassword:
    def test_the_new_one_leads_in_and_the_old_one_does_not(
        self, store: Store, account: Account
    ) -> None:
        """At once."""
        change_password(store, let_in(store, account), account.password, ANOTHER)

        assert sign_in(store, "edda", ANOTHER) is not None
        assert sign_in(store, "edda", account.password) is None

    def test_only_the_session_that_changed_it_goes_on(self, store: Store, account: Account) -> None:
        """Whoever else was in is out."""
        before = let_in(store, account)

        after = change_password(store, before, account.password, ANOTHER)

        assert still_signed_in(store, before.stamp) is None
        assert still_signed_in(store, after.stamp) == after

    def test_without_the_present_one_nothing_changes(self, store: Store, account: Account) -> None:
        """Nor does any session end."""
        known = let_in(store, account)

        with pytest.raises(OldPasswordNotRight):
            change_password(store, known, "not it", ANOTHER)

        assert still_signed_in(store, known.stamp) == known

    def test_of_two_changes_at_once_the_first_stands(
        self, store: Store, account: Account, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The second had shown a password that was no longer the present one."""
        known = let_in(store, account)
        change_meanwhile(store, monkeypatch)

        with pytest.raises(OldPasswordNotRight):
            change_password(store, known, account.password, "eleven damp owls at rest")

        monkeypatch.undo()
        assert sign_in(store, "edda", ANOTHER) is not None

    def test_the_new_one_must_be_hard_to_guess(self, store: Store, account: Account) -> None:
        """The club's own name is known to all."""
        known = let_in(store, account)

        with pytest.raises(PasswordNotAccepted):
            change_password(store, known, account.password, "harbour gymnastics")

        assert still_signed_in(store, known.stamp) == known
