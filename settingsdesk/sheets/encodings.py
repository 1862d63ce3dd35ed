"""Bytes of a text file as text: the encoding is found out by evidence, and said.

A byte order mark decides; then UTF-8, which other encodings hardly ever look like; then the
encoding in which the most words of coaches' lists can be read, since "Imię" is a word and "Imiê"
is none, and among several what charset-normalizer makes of the letters. Windows-1252 where no
word is known.
"""

import tomllib
import unicodedata
from collections.abc import Iterator
from functools import cache
from importlib import resources

from charset_normalizer import from_bytes

_MARKS = {b"\xef\xbb\xbf": "utf-8", b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
_USUAL = "cp1252"
_OF_LANGUAGES = {
    "cp1252": ("en", "de", "fr", "it", "es", "pt", "nl"),
    "cp1250": ("pl", "cs", "hu", "ro"),
    "cp1251": ("ru", "uk"),
    "cp1254": ("tr",),
    "cp1256": ("ar",),
    "cp1258": ("vi",),
    "cp932": ("ja",),
    "euc_jp": ("ja",),
    "gb18030": ("zh",),
    "big5": ("zh",),
}
"""Which languages are written in which encoding: the same bytes are words in one of them only."""

_NAMES = {
    "utf-8": "UTF-8",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp932": "Shift_JIS",
    "euc_jp": "EUC-JP",
    "gb18030": "GB 18030",
    "big5": "Big5",
}
_LOOKED_AT = 6_000
_MOST_BYTES_OF_SIGN = 4  # in GB 18030
_NOT_TEXT = frozenset(("Cc", "Cn", "Co", "Cs"))


def encoding_of(content: bytes) -> tuple[str, int]:
    """The encoding of a text, by Python's name, and the length of its byte order mark."""
    for mark, encoding in _MARKS.items():
        if content.startswith(mark):
            return encoding, len(mark)
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return _by_evidence(content), 0
    return "utf-8", 0


def name_of(encoding: str) -> str:
    """The encoding as people call it: "Windows-1250", "Shift_JIS"."""
    return _NAMES.get(encoding, f"Windows-{encoding.removeprefix('cp')}")


def _by_evidence(content: bytes) -> str:
    known = {encoding: _words_known(content, encoding) for encoding in _OF_LANGUAGES}
    for most in sorted(set(known.values()) - {0}, reverse=True):
        best = [
            encoding
            for encoding, count in known.items()
            if count == most and _is_text(content, encoding)
        ]
        if best:
            found = from_bytes(content, cp_isolation=best).best() if len(best) > 1 else None
            return found.encoding if found and found.encoding in best else best[0]
    return _USUAL


def _is_text(content: bytes, encoding: str) -> bool:
    """Whether all of it can be in that encoding; a large file takes a while."""
    try:
        signs = set(content.decode(encoding))
    except UnicodeDecodeError:
        return False
    return not any(unicodedata.category(sign) in _NOT_TEXT for sign in signs if not sign.isascii())


def _words_known(content: bytes, encoding: str) -> int:
    """How many words beyond ASCII, of that encoding's languages, the beginning of a text has."""
    beginning = content[: _LOOKED_AT * _MOST_BYTES_OF_SIGN].decode(encoding, errors="ignore")
    looked_at = unicodedata.normalize("NFKC", beginning[:_LOOKED_AT].casefold())
    return sum(phrase in looked_at for phrase in _telling_phrases(encoding))


@cache
def _telling_phrases(encoding: str) -> frozenset[str]:
    """Phrases with letters beyond ASCII, long enough not to stand in other words by chance."""
    folded = (
        unicodedata.normalize("NFKC", phrase.casefold())
        for language, phrase in _phrases()
        if language in _OF_LANGUAGES[encoding]
    )
    return frozenset(
        phrase
        for phrase in folded
        if not phrase.isascii() and len(phrase) >= (2 if phrase[0] > "\u2e80" else 4)
    )


def _phrases() -> Iterator[tuple[str, str]]:
    file = resources.files("settingsdesk.sheets.lists").joinpath("words.toml")
    for names in tomllib.loads(file.read_text(encoding="utf-8")).values():
        for languages in names.values():
            for language, some in languages.items():
                yield from ((language, phrase) for phrase in some)
