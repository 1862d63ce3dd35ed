"""Links by which people come in."""

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import update

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import invitations, people
from settingsdesk.desk.accounts.accounts import SignInNameTaken, add_account, sign_in
from settingsdesk.desk.accounts.invitations import (
    OPEN_FOR,
    ActsElsewhere,
    InvitationOver,
    MemberAlready,
    NoSuchInvitation,
)
from settingsdesk.desk.accounts.passwords import PasswordNotAccepted
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn, still_signed_in
from settingsdesk.store.base import utc_now
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.invitations import Invitation
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account

SECRET = b"k" * 32
NEW = "nine quiet otters juggling"


@pytest.fixture
def edda(store: Store, account: Account) -> SignedIn:
    """The owner of the club, signed in."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known


def invited(store: Store, edda: SignedIn, role: Role = Role.COACH) -> str:
    """The code of a link for Bo."""
    with store.work(edda.club_id, by=edda.shown_name, writes=True) as session:
        return invitations.invite(session, SECRET, role, "Bo Larch")


def made_ago(store: Store, ago: timedelta) -> None:
    """Every link was made so long ago."""
    with store.installation(writes=True) as session:
        session.execute(update(Invitation).values(until=utc_now() - ago + OPEN_FOR))


class TestALink:
    def test_lets_somebody_in_with_the_role_and_a_password_of_their_own(
        self, store: Store, edda: SignedIn
    ) -> None:
        code = invited(store, edda, Role.HELPER)
        told = invitations.look(store, code)
        assert (told.club_name, told.role, told.made_by) == (
            "Harbour Gymnastics",
            Role.HELPER,
            "Edda Quill",
        )

        known = invitations.accept(store, code, "bo", NEW)

        assert (known.sign_in_name, known.shown_name, known.role) == ("bo", "Bo Larch", Role.HELPER)
        assert sign_in(store, "bo", NEW) is not None

    def test_works_once(self, store: Store, edda: SignedIn) -> None:
        """ASVS 5.0.0, 6.4.1: who finds it afterwards finds nothing."""
        code = invited(store, edda)
        invitations.accept(store, code, "bo", NEW)

        for use in (
            lambda: invitations.look(store, code),
            lambda: invitations.accept(store, code, "cy", NEW),
            lambda: invitations.join(store, code, edda),
        ):
            with pytest.raises(InvitationOver):
                use()

    def test_ends_after_seven_days(self, store: Store, edda: SignedIn) -> None:
        code = invited(store, edda)
        made_ago(store, timedelta(days=7, minutes=-1))
        invitations.look(store, code)

        made_ago(store, timedelta(days=7))
        with pytest.raises(InvitationOver):
            invitations.accept(store, code, "bo", NEW)

    def test_can_be_taken_back(self, store: Store, edda: SignedIn) -> None:
        """It was sent to the wrong number."""
        code = invited(store, edda)
        with store.work(edda.club_id, by="Edda", writes=True) as session:
            [link] = invitations.waiting(session, SECRET)
            assert link.code == code
            invitations.take_back(session, link.id)
            assert invitations.waiting(session, SECRET) == []

        with pytest.raises(InvitationOver):
            invitations.look(store, code)

    def test_stays_open_where_name_or_password_are_refused(
        self, store: Store, edda: SignedIn
    ) -> None:
        code = invited(store, edda)
        with pytest.raises(PasswordNotAccepted):
            invitations.accept(store, code, "bo", "bo larch harbour")
        with pytest.raises(SignInNameTaken):
            invitations.accept(store, code, "EDDA", NEW)

        assert invitations.accept(store, code, "bo", NEW).role is Role.COACH

    def test_cannot_be_guessed_nor_read_out_of_a_copy_of_the_database(
        self, store: Store, edda: SignedIn, data: DataFolder
    ) -> None:
        """128 bits, of which the hash is kept (ASVS 5.0.0, 6.5.2); the key is not in the file."""
        codes = {invited(store, edda) for _ in range(5)}
        assert {len(code) for code in codes} == {26}
        store.close()

        kept = b"".join(Path(file).read_bytes() for file in data.path.glob("settingsdesk.sqlite3*"))
        assert not [code for code in codes if code.encode() in kept]
        with pytest.raises(NoSuchInvitation):
            invitations.look(store, "A" * 26)


class TestALinkForANewPassword:
    def test_gives_one_that_no_owner_learns_and_ends_every_device(
        self, store: Store, edda: SignedIn
    ) -> None:
        """ASVS 5.0.0, 6.4.6."""
        add_account(store, edda.club_id, "bo", "Bo Larch", NEW)
        before = sign_in(store, "bo", NEW)
        assert before is not None
        bo = next(one.id for one in people.people(store, edda) if one.sign_in_name == "bo")
        code = invitations.offer_new_password(store, SECRET, edda, bo)
        assert invitations.look(store, code).sign_in_name == "bo"

        known = invitations.accept(store, code, "", "eleven damp owls at rest")

        assert still_signed_in(store, before.stamp) is None
        assert still_signed_in(store, known.stamp) == known
        assert sign_in(store, "bo", NEW) is None
        assert sign_in(store, "bo", "eleven damp owls at rest") is not None

    def test_opens_nothing_for_who_was_disabled_since(self, store: Store, edda: SignedIn) -> None:
        add_account(store, edda.club_id, "bo", "Bo Larch", NEW)
        bo = next(one.id for one in people.people(store, edda) if one.sign_in_name == "bo")
        code = invitations.offer_new_password(store, SECRET, edda, bo)
        people.disable(store, edda.club_id, bo)

        with pytest.raises(InvitationOver):
            invitations.accept(store, code, "", "eleven damp owls at rest")

    def test_is_not_made_for_another_clubs_people(self, store: Store, edda: SignedIn) -> None:
        new_account(store, "Hillside", "cy", "Cy Moor")
        with pytest.raises(NotInThisClub):
            invitations.offer_new_password(store, SECRET, edda, 2)

    def test_is_not_made_for_who_acts_for_another_club_too(
        self, store: Store, edda: SignedIn
    ) -> None:
        """Else the owner of one club could come into the other with it."""
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = sign_in(store, "cy", "lanterns over seven wet cy roofs")
        assert cy is not None
        invitations.join(store, invited(store, edda), cy)
        joined = next(one.id for one in people.people(store, edda) if one.sign_in_name == "cy")

        with pytest.raises(ActsElsewhere):
            invitations.offer_new_password(store, SECRET, edda, joined)


class TestJoining:
    def test_with_the_account_that_one_has(self, store: Store, edda: SignedIn) -> None:
        """One password for two clubs; what one is in each is that club's matter."""
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = sign_in(store, "cy", "lanterns over seven wet cy roofs")
        assert cy is not None

        known = invitations.join(store, invited(store, edda, Role.HELPER), cy)

        assert (known.account_id, known.club_id) == (cy.account_id, edda.club_id)
        assert (known.role, cy.role) == (Role.HELPER, Role.OWNER)

    def test_a_club_that_one_is_in_leaves_the_link_open(self, store: Store, edda: SignedIn) -> None:
        """The owner who tries the link does not use it up."""
        code = invited(store, edda)
        with pytest.raises(MemberAlready):
            invitations.join(store, code, edda)

        assert invitations.look(store, code)
