"""Bytes of a text file as text: the encoding is found out by evidence, and said.

A byte order mark decides; then a nought in every pair of bytes, as UTF-16 has them; then UTF-8,
which other encodings hardly ever look like; then the encoding in which the most words of coaches'
lists can be read, since "Imię" is a word and "Imiê" is none; without any, the one whose languages
have the most plain words, such as "Nazwisko". Among several, the one in which no sign stands inside
a word ("Œwiêtos³awa"), and what charset-normalizer makes of the letters. Windows-1252 where no word
is known and nothing speaks against it.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources

from charset_normalizer import from_bytes

_MARKS = {b"\xef\xbb\xbf": "utf-8", b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
_USUAL = "cp1252"
_OF_LANGUAGES = {
    "cp1252": ("en", "de", "fr", "it", "es", "pt", "nl", "sv", "da", "no"),
    "cp1250": ("pl", "cs", "hu", "ro"),
    "iso8859_2": ("pl", "cs", "hu", "ro"),
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
    "iso8859_2": "ISO 8859-2",
    "cp932": "Shift_JIS",
    "euc_jp": "EUC-JP",
    "gb18030": "GB 18030",
    "big5": "Big5",
}
_WITHOUT_WORDS = (_USUAL, "cp1250", "iso8859_2")
"""One after the other, where no word is known."""
_LETTER = r"[^\W\d_]"
_SIGN = "[¢£¤¥¦§¨©«¬®¯±²³¶¸¹»¼½¾¿×÷]"  # not those of O´Hara, Gal·la and Mª
_SIGN_IN_A_WORD = re.compile(
    f'(?<={_LETTER}){_SIGN}+(?={_LETTER})|(?<![^\\s;,|"])[£¥¦©¬®¯³¶¸¹]{_SIGN}*(?={_LETTER})'
)
_LEAST_LETTERS = 5  # of a word without accents that tells a language
_LOOKED_AT = 6_000
_MOST_BYTES_OF_SIGN = 4  # in GB 18030
_NOT_TEXT = frozenset(("Cc", "Cn", "Co", "Cs"))


def encoding_of(content: bytes) -> tuple[str, int]:
    """The encoding of a text, by Python's name, and the length of its byte order mark."""
    for mark, encoding in _MARKS.items():
        if content.startswith(mark):
            return encoding, len(mark)
    if in_pairs := utf_16_without_mark(content):
        return in_pairs, 0
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return _by_evidence(content), 0
    return "utf-8", 0


def utf_16_without_mark(content: bytes) -> str | None:
    """Which UTF-16 a text without a byte order mark is in; None where it is in neither.

    Its blanks, figures and line ends have a nought each, at the same place of every pair.
    """
    for encoding, nought in (("utf-16-le", 1), ("utf-16-be", 0)):
        noughts = content[nought::2].count(0)
        if noughts * 2 > len(content) // 2 and not content[1 - nought :: 2].count(0):
            return encoding if _is_text(content, encoding) else None
    return None


def name_of(encoding: str) -> str:
    """The encoding as people call it: "Windows-1250", "Shift_JIS"."""
    return _NAMES.get(encoding, f"Windows-{encoding.removeprefix('cp')}")


def _by_evidence(content: bytes) -> str:
    told = _by_words(content, {at: _words_known(content, at) for at in _OF_LANGUAGES})
    if told:
        return told
    told = _by_words(content, {at: _plain_words_known(content, at) for at in _OF_LANGUAGES})
    can_be = (at for at in (told or _USUAL, *_WITHOUT_WORDS) if _is_text(content, at))
    return next((at for at in can_be if not has_sign_in_a_word(content.decode(at))), _USUAL)


def _by_words(content: bytes, known: Mapping[str, int]) -> str:
    """The encoding in which the most words are known, and that makes the best words of the rest."""
    for most in sorted(set(known.values()) - {0}, reverse=True):
        best = [at for at, count in known.items() if count == most and _is_text(content, at)]
        best = [at for at in best if not has_sign_in_a_word(content.decode(at))] or best
        if best:
            found = from_bytes(content, cp_isolation=best).best() if len(best) > 1 else None
            return found.encoding if found and found.encoding in best else best[0]
    return ""


def has_sign_in_a_word(text: str) -> bool:
    """Whether a sign stands among letters, as where a text is read in another encoding than its."""
    return bool(_SIGN_IN_A_WORD.search(text))


def _is_text(content: bytes, encoding: str) -> bool:
    """Whether all of it can be in that encoding; a large file takes a while."""
    try:
        signs = set(content.decode(encoding))
    except UnicodeDecodeError:
        return False
    return not any(unicodedata.category(sign) in _NOT_TEXT for sign in signs if not sign.isascii())


def _words_known(content: bytes, encoding: str) -> int:
    """How many words beyond ASCII, of that encoding's languages, the beginning of a text has."""
    beginning = _beginning(content, encoding)
    return sum(phrase in beginning for phrase in _telling_phrases(encoding))


def _plain_words_known(content: bytes, encoding: str) -> int:
    """How many words without accents the beginning has that no other encoding's languages have."""
    return len(
        _plain_words(encoding).intersection(re.findall("[a-z]+", _beginning(content, encoding)))
    )


def _beginning(content: bytes, encoding: str) -> str:
    text = content[: _LOOKED_AT * _MOST_BYTES_OF_SIGN].decode(encoding, errors="ignore")
    return unicodedata.normalize("NFKC", text[:_LOOKED_AT].casefold())


@cache
def _plain_words(encoding: str) -> frozenset[str]:
    """Words of one encoding's languages and of no other's, as they are typed without accents."""
    own: set[str] = set()
    others: set[str] = set()
    for language, phrase in _phrases():
        word = "".join(
            sign
            for sign in unicodedata.normalize("NFD", phrase.casefold()).replace("ł", "l")
            if not unicodedata.combining(sign)
        )
        if word.isascii() and word.isalpha() and len(word) >= _LEAST_LETTERS:
            of_it = language in _OF_LANGUAGES[encoding]
            (own if of_it else others).add(word)
    return frozenset(own - others)


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
