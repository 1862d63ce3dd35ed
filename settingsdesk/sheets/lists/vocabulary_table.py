"""The table of words, and how a text is compared with it.

Capitals, punctuation and the way a sign is encoded make no difference. Accents do where they are
written ("Höhe" is the height, "hohe" the high one), and may be left out. Of several phrases that
begin at one word the longest is meant. Scripts without blanks are read sign by sign.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import NamedTuple, TypeVar

_UNBROKEN = "\u3005\u3041-\u30ff\u3400-\u9fff"  # kana and Chinese signs
_WORD = re.compile(rf"[±#⌀]|[{_UNBROKEN}]|(?:(?![{_UNBROKEN}])[^\W_])+")
_LEFT_OUT = re.compile("[\u00ad\u0300-\u036f\u0640\u064b-\u065f\u0670]")  # soft hyphen, vowel signs
_ACCENTS = re.compile("[\u0300-\u036f\u0653-\u0655]")
_LETTERS = str.maketrans("łđıىةکیۀ", "ldiيهكيه")
_WITHOUT_DOTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})
_ARABIC_ARTICLE = "ال"
_COMPOUNDS = ("de", "nl")  # languages that write two words as one
_SHORTEST_PART = 3
_NEEDS_ACCENTS = "vi"  # its words of one syllable would be other languages' words without
_SHORT = 4
_Key = TypeVar("_Key")


class Meaning(NamedTuple):
    """What a phrase means: the section of the table and its name there, as "unit" and "cm"."""

    section: str
    name: str


Words = tuple[str, ...]
Meanings = tuple[Meaning, ...]


class Found(NamedTuple):
    """A phrase that the table has, or with no meanings a word that it does not have."""

    words: Words
    meanings: Meanings


def words_of(text: str) -> Words:
    """The words of a text as they are compared, with their accents."""
    plain = unicodedata.normalize("NFKC", text.casefold())
    return tuple(map(_without_article, _WORD.findall(_LEFT_OUT.sub("", plain))))


def _without_accents(words: Words) -> Words:
    joined = "\n".join(words)
    if joined.isascii():
        return words
    bare = _ACCENTS.sub("", unicodedata.normalize("NFD", joined))
    return tuple(unicodedata.normalize("NFC", bare).translate(_LETTERS).split("\n"))


def _without_article(word: str) -> str:
    is_article = word.startswith(_ARABIC_ARTICLE) and len(word) > len(_ARABIC_ARTICLE) + 2
    return word[len(_ARABIC_ARTICLE) :] if is_article else word


@dataclass(slots=True)
class Phrases:
    """All phrases by their words, with accents and without; and the parts of compounds."""

    accented: dict[Words, Meanings] = field(default_factory=dict)
    bare: dict[Words, Meanings] = field(default_factory=dict)
    parts: dict[str, Meanings] = field(default_factory=dict)
    longest: int = 0

    def meanings(self, words: Words) -> Meanings:
        """What these words mean as one phrase; nothing where they are none."""
        return self.accented.get(words) or self.bare.get(_without_accents(words), ())

    def add(self, meaning: Meaning, language: str, phrase: str) -> None:
        """One more phrase of the table."""
        words = words_of(phrase)
        bare = _without_accents(words)
        self.longest = max(self.longest, len(words))
        if bare != words:
            _add(self.accented, words, meaning)
        if bare == words or language != _NEEDS_ACCENTS or len(phrase) > _SHORT:
            _add(self.bare, bare, meaning)
        if language in _COMPOUNDS and len(words) == 1 and meaning.section in ("kind", "part"):
            _add(self.parts, words[0], meaning)


def _add(table: dict[_Key, Meanings], key: _Key, meaning: Meaning) -> None:
    if meaning not in (others := table.get(key, ())):
        table[key] = (*others, meaning)


@cache
def phrases() -> Phrases:
    """The table as it stands in ``words.toml``, read once."""
    file = resources.files("settingsdesk.sheets.lists").joinpath("words.toml")
    table = Phrases()
    for section, names in tomllib.loads(file.read_text(encoding="utf-8")).items():
        for name, languages in names.items():
            for language, phrases_of_it in languages.items():
                for phrase in phrases_of_it:
                    for spelling in _spellings(phrase, language):
                        table.add(Meaning(section, name), language, spelling)
    return table


def _spellings(phrase: str, language: str) -> set[str]:
    """The phrase, and in German also the way it is typed without dotted vowels."""
    return {phrase, phrase.translate(_WITHOUT_DOTS)} if language == "de" else {phrase}


def find(text: str) -> Iterator[Found]:
    """The phrases of a text in their order, the longest at each place."""
    words, table, at = words_of(text), phrases(), 0
    while at < len(words):
        for length in range(min(table.longest, len(words) - at), 0, -1):
            if meanings := table.meanings(words[at : at + length]):
                yield Found(words[at : at + length], meanings)
                break
        else:
            length = 1
            yield from _compound(words[at], table)
        at += length


def _compound(word: str, table: Phrases) -> Iterator[Found]:
    """Both parts of a word like "Reckhöhe", or the word without a meaning."""
    for cut in range(len(word) - _SHORTEST_PART, _SHORTEST_PART - 1, -1):
        first, second = word[:cut], word[cut:]
        before = table.parts.get(first) or table.parts.get(first.removesuffix("n"))
        if before and (after := table.parts.get(second)):
            yield Found((word,), before)
            yield Found((word,), after)
            return
    yield Found((word,), ())


def meanings_of(text: str) -> Meanings:
    """What the whole text means as one phrase."""
    return phrases().meanings(words_of(text))
