"""Who may sign in for a club, as its owners change it."""

import pytest

from settingsdesk.desk.accounts import people
from settingsdesk.desk.accounts.accounts import add_account, sign_in
from settingsdesk.desk.accounts.people import LastOwner
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn, still_signed_in
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account

BOS = "nine quiet otters juggling"


@pytest.fixture
def edda(store: Store, account: Account) -> SignedIn:
    """The owner of the club, signed in."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known


@pytest.fixture
def bo(store: Store, edda: SignedIn) -> int:
    """A coach of the club; the number of what they are in it."""
    add_account(store, edda.club_id, "bo", "Bo Larch", BOS)
    return number(store, edda, "bo")


def number(store: Store, reader: SignedIn, name: str) -> int:
    """What somebody's place in the reader's club is found by."""
    return next(one.id for one in people.people(store, reader) if one.sign_in_name == name)


class TestWhoIsThere:
    def test_each_with_what_they_are_and_where_they_are_signed_in(
        self, store: Store, edda: SignedIn, bo: int
    ) -> None:
        sign_in(store, "bo", BOS, "Firefox, Android")

        everybody = people.people(store, edda)

        assert [(one.shown_name, one.role, one.is_oneself) for one in everybody] == [
            ("Bo Larch", Role.COACH, False),
            ("Edda Quill", Role.OWNER, True),
        ]
        assert [device.words for device in everybody[0].devices] == ["Firefox, Android"]
        assert [device.is_this for device in everybody[1].devices] == [True]

    def test_another_clubs_people_are_not(self, store: Store, edda: SignedIn) -> None:
        """Their numbers are answered like numbers that nobody has."""
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = sign_in(store, "cy", "lanterns over seven wet cy roofs")
        assert cy is not None
        theirs = number(store, cy, "cy")
        assert [one.sign_in_name for one in people.people(store, edda)] == ["edda"]

        told = []
        for asked in (theirs, 10**9):
            with pytest.raises(NotInThisClub) as refused:
                people.disable(store, edda.club_id, asked)
            told.append(str(refused.value).replace(str(asked), "#"))
        assert told[0] == told[1]


class TestARole:
    def test_counts_from_the_next_page_on(self, store: Store, edda: SignedIn, bo: int) -> None:
        """Whoever is made a helper does not go on as a coach until they sign in anew."""
        known = sign_in(store, "bo", BOS)
        assert known is not None

        people.set_role(store, edda.club_id, bo, Role.HELPER)

        now = still_signed_in(store, known.stamp)
        assert now is not None
        assert now.role is Role.HELPER

    def test_of_the_last_owner_stays(self, store: Store, edda: SignedIn, bo: int) -> None:
        """A club without an owner could let nobody in any more."""
        oneself = number(store, edda, "edda")
        for role in (Role.COACH, Role.HELPER):
            with pytest.raises(LastOwner, match="Edda Quill is the only owner"):
                people.set_role(store, edda.club_id, oneself, role)

        people.set_role(store, edda.club_id, bo, Role.OWNER)
        people.set_role(store, edda.club_id, oneself, Role.COACH)


class TestDisabling:
    def test_ends_every_device_at_once_and_lets_nobody_in(
        self, store: Store, edda: SignedIn, bo: int
    ) -> None:
        """ASVS 5.0.0, 7.4.2 and 8.3.2: a phone that was stolen is worth nothing a press later."""
        devices = [sign_in(store, "bo", BOS) for _ in range(2)]

        people.disable(store, edda.club_id, bo)

        assert [still_signed_in(store, one.stamp) for one in devices if one] == [None, None]
        assert sign_in(store, "bo", BOS) is None

    def test_can_be_taken_back(self, store: Store, edda: SignedIn, bo: int) -> None:
        people.disable(store, edda.club_id, bo)
        people.enable(store, edda.club_id, bo)

        assert sign_in(store, "bo", BOS) is not None

    def test_of_the_last_owner_is_refused_also_where_another_is_disabled(
        self, store: Store, edda: SignedIn, bo: int
    ) -> None:
        people.set_role(store, edda.club_id, bo, Role.OWNER)
        people.disable(store, edda.club_id, bo)

        with pytest.raises(LastOwner):
            people.disable(store, edda.club_id, number(store, edda, "edda"))


class TestADevice:
    def test_is_signed_out_alone(self, store: Store, edda: SignedIn, bo: int) -> None:
        """The phone that was left in the hall, and not the one at home."""
        sign_in(store, "bo", BOS, "Firefox, Android")
        home = sign_in(store, "bo", BOS, "Safari, Mac")
        assert home is not None
        lost = next(
            one for one in people.person(store, edda, bo).devices if one.words.startswith("Fire")
        )

        assert people.end_device(store, edda.club_id, lost.id) == bo

        assert [one.words for one in people.person(store, edda, bo).devices] == ["Safari, Mac"]
        assert still_signed_in(store, home.stamp) is not None

    def test_of_another_club_is_not_found(self, store: Store, edda: SignedIn) -> None:
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = sign_in(store, "cy", "lanterns over seven wet cy roofs")
        assert cy is not None
        theirs = people.people(store, cy)[0].devices[0].id

        with pytest.raises(NotInThisClub):
            people.end_device(store, edda.club_id, theirs)
        assert still_signed_in(store, cy.stamp) is not None
