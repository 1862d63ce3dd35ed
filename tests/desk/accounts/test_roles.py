"""What one role may do that another may not."""

import pytest

from settingsdesk.desk.accounts.roles import Role


class TestRoles:
    @pytest.mark.parametrize("role", Role)
    def test_each_may_do_all_that_those_below_it_may(self, role: Role) -> None:
        may = {other for other in Role if role.covers(other)}

        assert (
            may
            == {
                Role.OWNER: set(Role),
                Role.COACH: {Role.COACH, Role.HELPER},
                Role.HELPER: {Role.HELPER},
            }[role]
        )

    @pytest.mark.parametrize("role", Role)
    def test_each_says_in_words_what_it_opens(self, role: Role) -> None:
        assert len(role.may.split()) > 5
