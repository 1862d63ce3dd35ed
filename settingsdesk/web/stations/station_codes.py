"""Codes of stations and cards as phones send them: how many that are none before one must wait."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import ceil

from settingsdesk.desk.accounts.failed_tries import SHORT_CODES, TooManyAttempts
from settingsdesk.desk.cards.code_address import is_scanned
from settingsdesk.domain.base.sentences import Counted
from settingsdesk.web.frame.work import desk


@dataclass
class Tried:
    """Whether the code that is looked for turned out to be one."""

    is_code: bool = False


@contextmanager
def trying(what: str, code: str, where: str) -> Iterator[Tried]:
    """Count a code that is none, for where it came from and in all; ``TooManyCodes`` beyond that.

    Too many typed ones end typing, never scanning: a scanned code is too long to be guessed, so it
    is looked for whatever was counted.
    """
    attempts, tried, scanned = desk().attempts, Tried(), is_scanned(code)
    counts = (f"{what}, {'scanned' if scanned else 'typed'}", where, SHORT_CODES)
    try:
        if not scanned:
            attempts.begin(*counts)
        try:
            yield tried
        finally:
            if scanned and not tried.is_code:
                attempts.begin(*counts)
            if tried.is_code and not scanned:
                attempts.succeeded(*counts)
    except TooManyAttempts as refusal:
        raise TooManyCodes(refusal.wait_seconds) from refusal


class TooManyCodes(TooManyAttempts):
    """More codes that are none than slips explain."""

    def __str__(self) -> str:
        minutes = ceil(self.wait_seconds / 60)
        return Counted(
            "Too many codes were wrong. Scan the square code with the phone's camera, or wait 1"
            " minute and type it again",
            "Too many codes were wrong. Scan the square code with the phone's camera, or wait"
            " %(count)s minutes and type it again",
            minutes,
        )
