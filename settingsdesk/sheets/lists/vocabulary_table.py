"""The table of words, and how a text is compared with it.

Capitals, accents, punctuation and the way a sign is encoded make no difference; of several phrases
that begin at one word the longest is meant. Scripts without blanks are read sign by sign.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import NamedTuple, TypeVar

_UNBROKEN = "\u3005\u3041-\u30ff\u3400-\u9fff"  # kana and Chinese signs
_TOKEN = re.compile(rf"±|[{_UNBROKEN}]|(?:(?![{_UNBROKEN}])[^\W_])+")
_ACCENTS = re.compile("[\u0300-\u036f\u064b-\u065f\u0670\u0640]")  # of Latin, Cyrillic, Arabic
_LETTERS = str.maketrans({"ł": "l", "đ": "d", "ø": "o", "ı": "i", "ى": "ي", "ة": "ه", "ک": "ك",
                          "ی": "ي", "ۀ": "ه"})  # fmt: skip
_WITHOUT_DOTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})
_ARABIC_ARTICLE = "ال"
_COMPOUNDS = ("de", "nl")  # languages that write two words as one
_SHORTEST_PART = 3
_Key = TypeVar("_Key")


class Meaning(NamedTuple):
    """What a phrase means: the section of the table and its name there, as "unit" and "cm"."""

    section: str
    name: str


class Token(NamedTuple):
    """A word, or a sign of a script without blanks, as it is compared, and where it stood."""

    word: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase of the table at some place in a text; without meanings, a word it does not have."""

    words: tuple[str, ...]
    start: int
    end: int
    meanings: tuple[Meaning, ...]


def compared(text: str) -> str:
    """The text as it is compared: without capitals, accents and ways of encoding."""
    letters = _ACCENTS.sub("", unicodedata.normalize("NFKD", text.casefold()))
    return unicodedata.normalize("NFC", letters).translate(_LETTERS)


def tokens(text: str) -> tuple[Token, ...]:
    """The words of a text that was ``compared``."""
    return tuple(
        Token(_without_article(match[0]), match.start(), match.end())
        for match in _TOKEN.finditer(text)
    )


def _without_article(word: str) -> str:
    is_article = word.startswith(_ARABIC_ARTICLE) and len(word) > len(_ARABIC_ARTICLE) + 2
    return word[len(_ARABIC_ARTICLE) :] if is_article else word


class Phrases(NamedTuple):
    """All phrases by their words, the longest by its first word, and the parts of compounds."""

    meanings: dict[tuple[str, ...], tuple[Meaning, ...]]
    longest: dict[str, int]
    parts: dict[str, tuple[Meaning, ...]]


@cache
def phrases() -> Phrases:
    """The table as it stands in ``words.toml``, read once."""
    file = resources.files("settingsdesk.sheets.lists").joinpath("words.toml")
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    found: dict[tuple[str, ...], list[Meaning]] = {}
    parts: dict[str, list[Meaning]] = {}
    for meaning, language, phrase in _entries(table):
        for spelling in _spellings(phrase, language):
            words = tuple(token.word for token in tokens(compared(spelling)))
            _add(found.setdefault(words, []), meaning)
            if language in _COMPOUNDS and len(words) == 1 and meaning.section in ("kind", "part"):
                _add(parts.setdefault(words[0], []), meaning)
    longest: dict[str, int] = {}
    for words in found:
        longest[words[0]] = max(longest.get(words[0], 0), len(words))
    return Phrases(_frozen(found), longest, _frozen(parts))


def _entries(
    table: dict[str, dict[str, dict[str, list[str]]]],
) -> Iterator[tuple[Meaning, str, str]]:
    for section, names in table.items():
        for name, languages in names.items():
            for language, words in languages.items():
                for phrase in words:
                    yield Meaning(section, name), language, phrase


def _spellings(phrase: str, language: str) -> set[str]:
    """The phrase, and in German also the way it is typed without dotted vowels."""
    if language != "de":
        return {phrase}
    return {phrase, phrase.translate(_WITHOUT_DOTS)}


def _add(meanings: list[Meaning], meaning: Meaning) -> None:
    if meaning not in meanings:
        meanings.append(meaning)


def _frozen(table: dict[_Key, list[Meaning]]) -> dict[_Key, tuple[Meaning, ...]]:
    return {key: tuple(meanings) for key, meanings in table.items()}


def find(text: str) -> Iterator[Found]:
    """The phrases of a text that was ``compared``, the longest first at each place."""
    rest = tokens(text)
    table = phrases()
    while rest:
        for length in range(min(table.longest.get(rest[0].word, 0), len(rest)), 0, -1):
            words = tuple(token.word for token in rest[:length])
            if meanings := table.meanings.get(words):
                yield Found(words, rest[0].start, rest[length - 1].end, meanings)
                rest = rest[length:]
                break
        else:
            yield from _compound(rest[0], table)
            rest = rest[1:]


def _compound(token: Token, table: Phrases) -> Iterator[Found]:
    """Both parts of a word like "Reckhöhe", or the word without a meaning."""
    word = token.word
    for cut in range(len(word) - _SHORTEST_PART, _SHORTEST_PART - 1, -1):
        first, second = word[:cut], word[cut:]
        before = table.parts.get(first) or table.parts.get(first.removesuffix("n"))
        if before and (after := table.parts.get(second)):
            yield Found((word,), token.start, token.end, before)
            yield Found((word,), token.start, token.end, after)
            return
    yield Found((word,), token.start, token.end, ())


def meanings_of(text: str) -> tuple[Meaning, ...]:
    """What the whole text means as one phrase."""
    return phrases().meanings.get(tuple(token.word for token in tokens(compared(text))), ())
