"""The key of the cards: the one that made them must be there, and it can be changed on purpose.

The database keeps the fingerprint of the key, the data folder the key itself. A desk that went on
with another key would print cards whose codes open nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from settingsdesk.config import CARD_KEY, DataFolder, KeyNotWhole
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.clock import today
from settingsdesk.domain.base.codes import card_code, code_hash
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import card_keys as kept_keys
from settingsdesk.store.work import Store

SOME_CARDS = 200
"""So many of the newest cards show whether a key made them, where no fingerprint is kept yet."""


@dataclass(frozen=True, slots=True)
class Changed:
    """What a change of the key did; ``old_is_kept`` where the key before was there to be kept."""

    last_day: date
    old_is_kept: bool


def code_key(data: DataFolder, public_url: str) -> CodeKey:
    """What makes and reads codes today: the key of that folder, and the former ones that count."""
    return CodeKey(data.present_card_key(), public_url, data.former_card_keys(today()))


def must_fit(store: Store, data: DataFolder) -> None:
    """See before work begins that the folder's key is the one by which the cards were made.

    A desk without cards gets its key here, and one from before fingerprints has its own written
    down. ``CardKeyLost`` or ``CardKeyIsAnother``.
    """
    with store.installation(writes=False) as session:
        present = kept_keys.present(session)
    if present is not None:
        _end_a_change(present, data)
    must_be_ours(store, data)
    if present is None:
        with store.installation(writes=True) as session:
            if kept_keys.present(session) is None:
                session.add(kept_keys.CardKey(fingerprint=fingerprint(data.card_key())))


def must_be_ours(store: Store, data: DataFolder) -> None:
    """The same, only looked at: ``CardKeyLost`` or ``CardKeyIsAnother``."""
    with store.installation(writes=False) as session:
        present = kept_keys.present(session)
        codes = [] if present else kept_keys.some_codes(session, SOME_CARDS)
    if not present and not codes:
        return
    if not data.has_card_key():
        raise CardKeyLost(data)
    key = data.card_key()
    if fingerprint(key) != present.fingerprint if present else not _made_some(key, codes):
        raise CardKeyIsAnother(data)


def change(store: Store, data: DataFolder, last_day: date, by: str) -> Changed:
    """Make another key; the cards of today count until ``last_day`` and not longer.

    The key before stays beside the new one until then. Where it is lost, or another one lies in
    its place, cards are still opened by scanning until that day; codes that are typed open
    nothing, and stations are closed. Raises ``DayIsOver``.
    """
    if last_day < today():
        raise DayIsOver(last_day)
    with store.installation(writes=False) as session:
        before = kept_keys.present(session)
        codes = [] if before else kept_keys.some_codes(session, SOME_CARDS)
    key = _whole_key(data)
    is_ours = key is not None and (
        fingerprint(key) == before.fingerprint if before else _made_some(key, codes)
    )
    new = data.keep_next_card_key()
    with store.installation(writes=True) as session:
        session.add(kept_keys.CardKey(fingerprint=fingerprint(new), former_until=last_day))
        kept_keys.end_cards(session, last_day)
        if not is_ours:
            kept_keys.close_stations(session, by)
    data.go_to_next_card_key(last_day if is_ours else None)
    return Changed(last_day, is_ours)


def fingerprint(key: bytes) -> str:
    """What tells a key from another, and the key to nobody."""
    return sha256(b"settingsdesk card key " + key).hexdigest()


def _whole_key(data: DataFolder) -> bytes | None:
    try:
        return data.card_key() if data.has_card_key() else None
    except KeyNotWhole:
        return None


def _end_a_change(present: kept_keys.CardKey, data: DataFolder) -> None:
    """Finish a change that was interrupted after the database had the new key."""
    new = data.next_card_key()
    if new is not None and fingerprint(new) == present.fingerprint:
        data.go_to_next_card_key(present.former_until)


def _made_some(key: bytes, codes: Sequence[tuple[str, str]]) -> bool:
    made = (code_hash(card_code(key, card_id)) == kept_hash for card_id, kept_hash in codes)
    return not codes or any(made)


WITHOUT_A_COPY = (
    "Without a copy of it, `settingsdesk card-key change --until DAY` makes a new key: cards that"
    " were handed out can be scanned until that day and are printed again by then"
)


class CardKeyLost(SettingsDeskError):
    """The key by which the cards were made is not in the data folder."""

    def __init__(self, data: DataFolder):
        self.file = data.path / CARD_KEY

    def __str__(self) -> str:
        return (
            f"The key of the cards, {self.file}, is gone: codes of cards printed now would open"
            f" nothing. Put the copy of it back, from the backup of this folder. {WITHOUT_A_COPY}"
        )


class CardKeyIsAnother(SettingsDeskError):
    """The key in the data folder is not the one by which the cards were made."""

    def __init__(self, data: DataFolder):
        self.file = data.path / CARD_KEY

    def __str__(self) -> str:
        return (
            f"{self.file} is not the key by which the cards of this desk were made: codes of cards"
            " printed now would open nothing. The database and the key belong together: put back"
            f" the key that was in this folder with it. {WITHOUT_A_COPY}"
        )


class DayIsOver(SettingsDeskError):
    """Cards were to count until a day that is over."""

    def __init__(self, day: date):
        self.day = day

    def __str__(self) -> str:
        return (
            f"{day_in_words(self.day)} is over: name the last day on which the cards that were"
            " handed out shall count, today or later"
        )
