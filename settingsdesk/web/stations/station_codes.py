"""Codes of stations and cards as phones send them: how many that are none before one must wait."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import ceil

from settingsdesk.desk.accounts.failed_tries import SHORT_CODES, Limits, TooManyAttempts
from settingsdesk.desk.cards.code_address import is_scanned
from settingsdesk.domain.base.sentences import Counted
from settingsdesk.web.frame.work import desk


@dataclass
class Tried:
    """Whether the code that is looked for turned out to be one."""

    is_code: bool = False


@contextmanager
def trying(what: str, code: str, where: str, limits: Limits = SHORT_CODES) -> Iterator[Tried]:
    """Count a code that is none, for where it came from and in all; ``TooManyCodes`` beyond that.

    Too many typed ones end typing, never scanning: a scanned code is too long to be guessed, so it
    is looked for whatever was counted. Those that are none are only load, counted in memory.
    """
    tried, scanned = Tried(), is_scanned(code)
    try:
        if not scanned:
            desk().failed.begin(what, where, limits)
        try:
            yield tried
        finally:
            if scanned and not tried.is_code:
                desk().attempts.begin(what, where, SHORT_CODES)
            if tried.is_code and not scanned:
                desk().failed.succeeded(what, where, limits)
    except TooManyAttempts as refusal:
        raise TooManyCodes(refusal.wait_seconds) from refusal


class TooManyCodes(TooManyAttempts):
    """More codes that are none than slips explain."""

    def __str__(self) -> str:
        minutes = ceil(self.wait_seconds / 60)
        return Counted(
            "Too many codes were wrong. Scan the square code with the phone's camera, have the desk"
            " let this phone in, or wait 1 minute and type it again",
            "Too many codes were wrong. Scan the square code with the phone's camera, have the desk"
            " let this phone in, or wait %(count)s minutes and type it again",
            minutes,
        )
