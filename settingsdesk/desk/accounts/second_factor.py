"""A second factor: six figures that a phone works out anew every thirty seconds (RFC 6238).

What the phone works them out from is worked out here from the installation's key and a salt, so
that a copy of the database makes no codes. A code counts once. Who lost the phone types a recovery
code, or an owner of the club or the command line takes the second factor off.
"""

import hmac
import secrets
from base64 import b32encode
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256

import pyotp
from sqlalchemy.orm import Session

from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.accounts.accounts import account_named
from settingsdesk.desk.accounts.invitations import ActsElsewhere
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.codes import SYMBOLS, code_hash
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import recovery_codes
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import Account, account_by_id, club_by_id, membership_by_id, this_club
from settingsdesk.store.work import ClubSession, Store

FIGURES = 6
STEP_SECONDS = 30
STEPS_ASIDE = 1
"""A phone's clock may be so many steps off."""
RECOVERY_CODES = 8
RECOVERY_SYMBOLS = 24
"""31^24 is 2^118: too many to guess, so that a plain hash is enough (ASVS 5.0.0, 6.5.2)."""
WAITS_FOR = timedelta(minutes=10)
"""So long a password that was right waits for the code."""


class CodeNotRight(SettingsDeskError):
    """A code that is none, is over, or was used already."""

    sentence = (
        "That code is not right, or was used already. Wait for the next one on the phone; if none"
        " is ever right, compare its clock"
    )


class WaitedTooLong(SettingsDeskError):
    """The password was typed too long ago, or nowhere."""

    sentence = "Sign in again: too much time went by between the password and the code"


@dataclass(frozen=True, slots=True)
class Offer:
    """What a phone is given: as the symbol for its camera, and to type by hand."""

    address: str
    typed: str


def new_salt() -> str:
    """What a second factor that is about to be set up is worked out from, besides the key."""
    return secrets.token_hex(16)


def offer(key: bytes, who: SignedIn, salt: str) -> Offer:
    """What the phone is given for that salt."""
    secret = _secret(key, who.account_id, salt)
    totp = pyotp.TOTP(secret, digits=FIGURES, interval=STEP_SECONDS)
    address = totp.provisioning_uri(name=who.sign_in_name, issuer_name="settingsdesk")
    return Offer(address, " ".join(secret[at : at + 4] for at in range(0, len(secret), 4)))


def is_on(store: Store, who: SignedIn) -> bool:
    """Whether the account has one."""
    with store.installation(writes=False) as session:
        return account_by_id(session, who.account_id).second_factor_salt is not None


def turn_on(store: Store, key: bytes, who: SignedIn, salt: str, typed: str) -> list[str]:
    """Ask for it from now on, once a code shows that the phone has it; the recovery codes.

    ``CodeNotRight``.
    """
    codes = [_recovery_code() for _ in range(RECOVERY_CODES)]
    with store.installation(writes=True) as session:
        account = account_by_id(session, who.account_id)
        account.second_factor_salt, account.second_factor_step = salt, None
        _must_be_right(key, account, typed)
        recovery_codes.replace(session, account.id, [code_hash(_plain(code)) for code in codes])
    return codes


def turn_off(store: Store, key: bytes, who: SignedIn, typed: str) -> None:
    """Ask for none any more; a code or a recovery code is the proof. ``CodeNotRight``."""
    with store.installation(writes=True) as session:
        account = account_by_id(session, who.account_id)
        if not recovery_codes.use(session, account.id, code_hash(_plain(typed))):
            _must_be_right(key, account, typed)
        _take_off(session, account)


def take_off(store: Store, owner: SignedIn, membership_id: int) -> None:
    """Take it off somebody of the owner's club who lost the phone. Signs nobody in.

    ``NotInThisClub``; ``ActsElsewhere`` where it guards another club too.
    """
    with store.installation(writes=True) as session:
        row = membership_by_id(session, owner.club_id, membership_id)
        if len(row.account.memberships) > 1:
            raise ActsElsewhere(row.shown_name)
        _take_off(session, row.account)


def take_off_named(store: Store, sign_in_name: str) -> None:
    """The same by whoever runs the installation; ``NoSuchAccount``."""
    account_id = account_named(store, sign_in_name).id
    with store.installation(writes=True) as session:
        _take_off(session, account_by_id(session, account_id))


def need(store: Store, club_id: int, *, needed: bool) -> None:
    """Say whether everybody of the club has to have one."""
    with store.installation(writes=True) as session:
        club_by_id(session, club_id).second_factor_needed = needed


def is_needed(session: ClubSession) -> bool:
    """Whether everybody of the club has to have one."""
    return this_club(session).second_factor_needed


def is_recovery(typed: str) -> bool:
    """Whether it has the length of a recovery code, which is too long to be guessed."""
    return len(_plain(typed)) == RECOVERY_SYMBOLS


def finish(store: Store, key: bytes, stamp: str, typed: str) -> SignedIn:
    """Sign in for good whoever showed the password before; the device has another stamp then.

    ``WaitedTooLong``, ``CodeNotRight``.
    """
    with store.installation(writes=True) as session:
        row = sign_ins.waiting(session, stamp)
        if row is None or utc_now() - row.began_at > WAITS_FOR:
            raise WaitedTooLong
        account = account_by_id(session, row.account_id)
        if not recovery_codes.use(session, account.id, code_hash(_plain(typed))):
            _must_be_right(key, account, typed)
        return sign_ins.finish(session, row)


def who_waits(store: Store, stamp: str) -> tuple[int, str]:
    """The number and sign-in name of whose password was right; ``WaitedTooLong``."""
    with store.installation(writes=False) as session:
        row = sign_ins.waiting(session, stamp)
        if row is None or utc_now() - row.began_at > WAITS_FOR:
            raise WaitedTooLong
        return row.account_id, account_by_id(session, row.account_id).sign_in_name


def _secret(key: bytes, account_id: int, salt: str) -> str:
    digest = hmac.new(key, f"second factor/{account_id}/{salt}".encode(), sha256).digest()
    return b32encode(digest[:20]).decode()  # 160 bits, as RFC 4226 recommends


def _must_be_right(key: bytes, account: Account, typed: str) -> None:
    """Use the code up, or ``CodeNotRight``: each counts once, and none before the last used."""
    figures = "".join(typed.split())
    if account.second_factor_salt is None or not figures.isdecimal():
        raise CodeNotRight
    totp = pyotp.TOTP(
        _secret(key, account.id, account.second_factor_salt),
        digits=FIGURES,
        interval=STEP_SECONDS,
    )
    now = utc_now()
    step = int(now.timestamp()) // STEP_SECONDS
    for aside in range(-STEPS_ASIDE, STEPS_ASIDE + 1):
        is_new = account.second_factor_step is None or step + aside > account.second_factor_step
        if is_new and pyotp.utils.strings_equal(figures, totp.at(now, counter_offset=aside)):
            account.second_factor_step = step + aside
            return
    raise CodeNotRight


def _take_off(session: Session, account: Account) -> None:
    account.second_factor_salt = account.second_factor_step = None
    recovery_codes.replace(session, account.id, [])


def _recovery_code() -> str:
    symbols = "".join(secrets.choice(SYMBOLS) for _ in range(RECOVERY_SYMBOLS))
    return " ".join(symbols[at : at + 4] for at in range(0, RECOVERY_SYMBOLS, 4))


def _plain(typed: str) -> str:
    return "".join(sign for sign in typed.upper() if sign.isalnum())
