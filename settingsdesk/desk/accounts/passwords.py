"""Passwords: which are accepted, and how they are kept.

They are kept as argon2id with the least settings that OWASP's Password Storage Cheat Sheet names
(19 MiB, 2 passes, 1 lane), and not more than two are worked on at once: each needs its memory.
Which are accepted follows OWASP ASVS 5.0.0, 6.2.1 to 6.2.11.
"""

import secrets
import threading
import unicodedata
from collections.abc import Iterable
from functools import cache
from itertools import pairwise

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from settingsdesk.domain.base.errors import SettingsDeskError

LEAST_CHARACTERS = 12
MOST_CHARACTERS = 500
LEAST_DIFFERENT = 5
LEAST_JUMPS = 4
LEAST_BEYOND_KNOWN_WORDS = 6

_hasher = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1)
_two_at_once = threading.Semaphore(2)


class PasswordNotAccepted(SettingsDeskError):
    """A new password that is easy to guess; ``why`` says what to do instead."""

    def __init__(self, why: str):
        self.why = why

    def __str__(self) -> str:
        return self.why


def accept(password: str, known_words: Iterable[str] = ()) -> None:
    """Raise ``PasswordNotAccepted`` where the password is short, long, or easy to guess.

    ``known_words`` are what everybody in the hall knows: the club's, the coach's names.
    """
    typed = unicodedata.normalize("NFC", password)
    if len(typed) < LEAST_CHARACTERS:
        raise PasswordNotAccepted(
            f"The new password must have {LEAST_CHARACTERS} characters or more; "
            "four words that do not belong together are easy to keep in mind"
        )
    if len(typed) > MOST_CHARACTERS:
        raise PasswordNotAccepted(
            f"The new password must have {MOST_CHARACTERS} characters or fewer"
        )
    if len(set(typed)) < LEAST_DIFFERENT or _only_counts_on(typed):
        raise PasswordNotAccepted(
            "The new password repeats itself or only counts on; mix different words"
        )
    left = _without(typed, known_words)
    if left != typed.casefold() and sum(map(str.isalpha, left)) < LEAST_BEYOND_KNOWN_WORDS:
        raise PasswordNotAccepted(
            "The new password is mostly a name that everybody in the hall knows; "
            "take words that have nothing to do with the club"
        )


def keep(password: str) -> str:
    """What is kept of a password."""
    with _two_at_once:
        return _hasher.hash(unicodedata.normalize("NFC", password))


def matches(kept: str | None, password: str) -> bool:
    """Whether it is the password that was kept; as slow where none was kept."""
    nobody = _nobody()
    if len(password) > MOST_CHARACTERS:
        return False
    with _two_at_once:
        try:
            _hasher.verify(kept or nobody, unicodedata.normalize("NFC", password))
        except (VerificationError, InvalidHashError):
            return False
    return kept is not None


def is_outdated(kept: str) -> bool:
    """Whether it was kept with other settings than today's."""
    return _hasher.check_needs_rehash(kept)


@cache
def _nobody() -> str:
    return _hasher.hash(secrets.token_hex())


def _only_counts_on(typed: str) -> bool:
    """Whether nearly every character is the one before it or its neighbour: 1234 5678, aaabbb."""
    signs = [ord(sign) for sign in typed if sign.isalnum()] or [ord(sign) for sign in typed]
    steps = (after - before for before, after in pairwise(signs))
    return sum(abs(step) > 1 for step in steps) < LEAST_JUMPS


def _without(typed: str, known_words: Iterable[str]) -> str:
    """What is left, in lower case, when known words are struck out."""
    left = typed.casefold()
    for phrase in known_words:
        for word in [phrase, *phrase.split()]:
            if len(word) > 2:
                left = left.replace(word.casefold(), "")
    return left
