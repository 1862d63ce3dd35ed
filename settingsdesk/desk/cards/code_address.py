"""Where the codes on cards point to, and whether a phone in the hall can get there."""

import hmac
import ipaddress
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from urllib.parse import urlsplit

from settingsdesk.domain.base.codes import CARD_CODE_LENGTH, card_code, code_hash

THIS_MACHINE = "127.0.0.1"
USUAL_PORT = 5000
EVERYWHERE = {"0.0.0.0", "::", ""}  # noqa: S104  -- compared with, never listened on

CARDS, STATIONS = "short code", "station code"
"""What keeps typed codes of cards and those of stations apart, whichever characters they have."""


@dataclass(frozen=True, slots=True)
class CodeKey:
    """What every card needs from the installation: its secret, and the address codes point to.

    ``former`` are secrets that were changed and whose cards count for some days yet.
    """

    secret: bytes
    public_url: str
    former: tuple[bytes, ...] = ()

    def address(self, card_id: str) -> str:
        """The address in the card's symbol: capitals throughout, so that the symbol stays small."""
        return f"{self.public_url.rstrip('/').upper()}/C/{card_code(self.secret, card_id)}"

    def found_by(self, kind: str, code: str) -> str:
        """What a short code is found by: keyed, since it is too short to keep as a plain hash."""
        return hmac.new(self.secret, f"{kind} {code}".encode(), sha256).hexdigest()

    def each(self) -> "Iterator[CodeKey]":
        """This key and each of the former ones by itself, the present one first."""
        return (CodeKey(secret, self.public_url) for secret in (self.secret, *self.former))

    def that_made(self, card_id: str, kept_hash: str) -> "CodeKey | None":
        """The key by which that card's code was made; None where it is none of these."""
        return next(
            (key for key in self.each() if code_hash(card_code(key.secret, card_id)) == kept_hash),
            None,
        )


def is_scanned(code: str) -> bool:
    """Whether this is a long code, as squares carry it, and not one that people type."""
    return len(code.strip()) == CARD_CODE_LENGTH


@dataclass(frozen=True, slots=True)
class Reach:
    """The address that codes carry; ``from_phones`` says whether a phone gets there at all."""

    url: str
    from_phones: bool

    @property
    def in_words(self) -> str:
        """What to know before cards are printed."""
        return f"{self.what_scanning_does} {self.remedy}".strip()

    @property
    def what_scanning_does(self) -> str:
        """Where a scan leads, as a coach needs to know it."""
        if self.from_phones:
            return f"Codes on cards point to {self.url}."
        return (
            "Only this computer reaches these pages: a phone that scans a card gets nothing. What"
            " is printed on the card can be read and set all the same."
        )

    @property
    def remedy(self) -> str:
        """What whoever starts settingsdesk can do so that phones get there; empty where they do."""
        if self.from_phones:
            return ""
        return (
            f"Codes point to {self.url} now. For phones, start settingsdesk on the local network"
            " (--host 0.0.0.0), or with the address that phones use (--public-url)."
        )


def reach(public_url: str | None, host: str, port: int) -> Reach:
    """The address codes carry: the one named, else the machine's own where the server listens."""
    if public_url is not None:
        return Reach(public_url, not _is_this_machine_only(urlsplit(public_url).hostname or ""))
    if host in EVERYWHERE:
        own = own_address()
        return Reach(f"http://{own}:{port}", own != THIS_MACHINE)
    return Reach(f"http://{_bracketed(host)}:{port}", not _is_this_machine_only(host))


def own_address() -> str:
    """This machine's address on its local network, or the loopback one where it has none.

    A datagram socket is pointed at a documentation address (RFC 5737) to learn which of the
    machine's addresses would be used; nothing is sent.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return THIS_MACHINE
        return str(probe.getsockname()[0])


def _is_this_machine_only(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
