"""Passwords that are kept and compared as slowly as they are."""

from collections.abc import Iterator

import pytest

from tests.conftest import AS_SLOW_AS_IT_IS, hash_with


@pytest.fixture(scope="module")
def slow_passwords(quick_passwords: None) -> Iterator[None]:
    """As they are outside of tests: for modules of which it is the subject."""
    with pytest.MonkeyPatch.context() as patch:
        hash_with(patch, AS_SLOW_AS_IT_IS)
        yield
