"""Accounts whose passwords are kept and compared as slowly as they are."""

from collections.abc import Iterator

import pytest

from tests.conftest import AS_SLOW_AS_IT_IS, Account, hash_with, new_club
from tests.databases import Databases, Where


@pytest.fixture(scope="package", autouse=True)
def slow_passwords(quick_passwords: None) -> Iterator[None]:
    """As they are outside of tests."""
    with pytest.MonkeyPatch.context() as patch:
        hash_with(patch, AS_SLOW_AS_IT_IS)
        yield


@pytest.fixture(scope="package")
def one_club(
    empty_database: Where,
    slow_passwords: None,
    tmp_path_factory: pytest.TempPathFactory,
    databases: Databases,
) -> tuple[Where, Account]:
    """The club of all tests, with a password that was kept so."""
    return new_club(databases, empty_database, tmp_path_factory.mktemp("one_club"))
