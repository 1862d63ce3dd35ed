"""Passwords: which are accepted, and how they are kept.

They are kept as argon2id with the least settings that OWASP's Password Storage Cheat Sheet names
(19 MiB, 2 passes, 1 lane), and not more than two are worked on at once: each needs its memory.
Which are accepted follows OWASP ASVS 5.0.0, 6.2.1 to 6.2.12. How many guesses somebody needs who
tries known passwords, names, words, years and rows of keys first is estimated by zxcvbn (MIT
licence, https://github.com/dwolfhub/zxcvbn-python), which ships the lists that it goes by; nothing
is asked of anybody else.
"""

import re
import secrets
import threading
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from itertools import pairwise

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from settingsdesk.desk.accounts.hall_words import ROWS_OF_KEYS, WORDS_OF_THE_SPORT
from settingsdesk.domain.base.errors import SettingsDeskError

LEAST_CHARACTERS = 12
MOST_CHARACTERS = 500
LEAST_DIFFERENT = 5
LEAST_JUMPS = 4
LEAST_BEYOND_KNOWN_WORDS = 6
"""Letters that must be left when known words are struck out; a figure counts as less than one."""
FIGURE_AS_LETTERS = 0.7
"""log 10 / log 26: so much less there is to guess about a figure."""
LEAST_KNOWN_LETTERS = 3
LEAST_KEYS_IN_A_ROW = 4

LEAST_GUESSES = 10**10
"""What zxcvbn calls "very unguessable"; at the limits of ``failed_tries`` that is 2800 years."""
MOST_ESTIMATED = 72
"""Characters that the estimate looks at from either end: its time grows with their square."""

SIGNS_FOR_LETTERS = str.maketrans("01345789@$!", "oieastbgasi")

_hasher = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1)
_NEIGHBOURS = frozenset(
    pair
    for row in ROWS_OF_KEYS
    for one, other in pairwise(row)
    for pair in (one + other, other + one)
)
_two_at_once = threading.Semaphore(2)
MOST_IN_TURN = 4
"""So many have a password worked out or wait for it: the other half of the server's threads answers
stations and cards meanwhile."""
_places = threading.BoundedSemaphore(MOST_IN_TURN)
_mine = threading.local()


class ManyAtOnce(SettingsDeskError):
    """More passwords than can be worked out in a moment (a page answers 503 with Retry-After)."""

    wait_seconds = 2
    sentence = (
        "Many people are signing in at this moment. Nothing was tried or counted: wait 2 seconds,"
        " then press again"
    )


class PasswordNotAccepted(SettingsDeskError):
    """A new password that is easy to guess; ``why`` says what to do instead."""

    def __init__(self, why: str):
        self.why = why

    def __str__(self) -> str:
        return self.why


def accept(password: str, known_words: Iterable[str] = ()) -> None:
    """Raise ``PasswordNotAccepted`` where the password is short, long, or easy to guess.

    ``known_words`` are what everybody in the hall knows besides the words of the sport: the
    club's name, the coach's names.
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
    known = _known(known_words)
    if any(_only_chains(spelt, known) for spelt in _spellings(typed)):
        raise PasswordNotAccepted(
            "The new password is mostly what everybody in the hall knows: names, words of the"
            " sport, years, rows of keys. Take four words that have nothing to do with the club"
        )
    if _guesses(typed, known) < LEAST_GUESSES:
        raise PasswordNotAccepted(
            "The new password is one of those that are tried first, or nearly one. Take four words"
            " that do not belong together: they are easy to keep in mind"
        )


@contextmanager
def in_turn() -> Iterator[None]:
    """A place among the few whose passwords are worked out; ``ManyAtOnce`` where there is none.

    Whoever counts a try takes it before that, so that a try that was not made does not count.
    """
    if getattr(_mine, "has_a_place", False):
        yield
        return
    if not _places.acquire(blocking=False):
        raise ManyAtOnce
    _mine.has_a_place = True
    try:
        yield
    finally:
        _mine.has_a_place = False
        _places.release()


def keep(password: str) -> str:
    """What is kept of a password; ``ManyAtOnce``."""
    with in_turn(), _two_at_once:
        return _hasher.hash(unicodedata.normalize("NFC", password))


def matches(kept: str | None, password: str) -> bool:
    """Whether it is the password that was kept; as slow where none was kept. ``ManyAtOnce``."""
    nobody = _nobody()
    if len(password) > MOST_CHARACTERS:
        return False
    with in_turn(), _two_at_once:
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


def _known(known_words: Iterable[str]) -> list[str]:
    """Every word that everybody knows, in lower case, the longest first."""
    phrases = [unicodedata.normalize("NFKC", phrase).casefold() for phrase in known_words]
    named = {word for phrase in phrases for word in (phrase, *re.split(r"[\W_]+", phrase))}
    known = named | {re.sub(r"[\W_]+", "", phrase) for phrase in phrases} | {*WORDS_OF_THE_SPORT}
    return sorted((word for word in known if len(word) >= LEAST_KNOWN_LETTERS), key=_longest_first)


def _longest_first(word: str) -> tuple[int, str]:
    return -len(word), word


def _spellings(typed: str) -> Iterator[str]:
    """A password as typed, in lower case, and with the signs read that stand for letters."""
    plain = unicodedata.normalize("NFKC", typed).casefold()
    yield plain
    yield plain.translate(SIGNS_FOR_LETTERS)


def _only_chains(typed: str, known: list[str]) -> bool:
    """Whether hardly anything is left of it when what everybody knows is struck out."""
    left = typed
    for word in known:
        left = left.replace(word, " ")
    left = re.sub(r"(?<!\d)(19|20)\d\d(?!\d)", " ", left)
    if left == typed:
        return False
    left = "".join(_without_rows(left))
    letters, figures = sum(map(str.isalpha, left)), sum(map(str.isdecimal, left))
    return letters + FIGURE_AS_LETTERS * figures < LEAST_BEYOND_KNOWN_WORDS


def _without_rows(typed: str) -> Iterator[str]:
    """Its parts without keys that lie in a row, forwards or backwards."""
    begun = 0
    for at in range(1, len(typed) + 1):
        if at < len(typed) and typed[at - 1 : at + 1] in _NEIGHBOURS:
            continue
        if at - begun < LEAST_KEYS_IN_A_ROW:
            yield typed[begun:at]
        begun = at


def _guesses(typed: str, known: list[str]) -> int:
    """How many guesses somebody needs who knows the club, and what people take for passwords."""
    # Only a new password needs it: its lists take longer to load than a command to run.
    from zxcvbn import zxcvbn  # type: ignore[import-untyped]  # it ships no types

    ends = {typed[:MOST_ESTIMATED], typed[-MOST_ESTIMATED:]}
    return max(int(zxcvbn(end, user_inputs=known)["guesses"]) for end in ends)
