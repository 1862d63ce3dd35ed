"""What the words of a note say of values, and whether a line is a note and no athlete's.

Everything a list says that is no value is a note. Words of datum, unit, age and doubt can change
what a length means, so whoever they bear on waits until a person has read them.
"""

import re
from collections.abc import Iterable
from functools import lru_cache

from settingsdesk.domain.base.datums import Edge, Level, SpreadDatum
from settingsdesk.sheets.lists.preview import NoteSays
from settingsdesk.sheets.lists.vocabulary import (
    LONGEST_HEADER,
    CellSays,
    cell_says,
    header_words,
)
from settingsdesk.sheets.lists.vocabulary_table import Found, find

_SENTENCE_SIGN = re.compile(r"[:=!;•：＝！；。?？؟¿]|\.$")
_QUESTION = re.compile(r"[?？؟¿]")
_FIGURE = re.compile(r"\d")
_UNBROKEN = re.compile("[\u3041-\u30ff\u3400-\u9fff]")
_WORDS_OF_A_SENTENCE, _SIGNS_OF_A_SENTENCE = 5, 8
_WORDS_OF_A_REMARK = 3
_OF_VALUES = {"level", "bare_level", "edge", "bare_edge", "spread", "unit", "part", "note", "row"}
_LENGTHS = {"height", "distance", "spread"}
_SECTION = re.compile(r"[–—;:|()\n]|\.\s|\s-\s")
_OF_HEADINGS = {"kind", "role"}
_DOUBTS = (CellSays.UNSETTLED, CellSays.ABOUT)
_AS_KEPT = ((Level.FLOOR,), (Edge.UPPER,), (SpreadDatum.INNER,))


@lru_cache(maxsize=4096)
def note_says(text: str) -> tuple[NoteSays, ...]:
    """What the words are about; nothing where none of them can change a value."""
    beginning = text[:LONGEST_HEADER]
    said, words = header_words(beginning), tuple(find(beginning))
    names = _names(words, "note")
    is_doubtful = (
        "doubt" in names
        or "unsettled" in _names(words, "cell")
        or _QUESTION.search(text)
        or cell_says(beginning) in _DOUBTS
    )
    is_of_points = _names(words, "bare_level") or said.levels or said.edges or said.spreads
    found = (
        (NoteSays.DATUM, is_of_points),
        (NoteSays.UNIT, said.units),
        (NoteSays.AGE, "age" in names),
        (NoteSays.DOUBT, is_doubtful),
        (NoteSays.OTHERWISE, "otherwise" in names),
    )
    return tuple(about for about, is_said in found if is_said)


def is_as_kept(text: str) -> bool:
    """Whether the datum that it states is the one in which lengths are taken anyway."""
    said = header_words(text)
    stated = (said.levels, said.edges, said.spreads)
    return all(not part or part == kept for part, kept in zip(stated, _AS_KEPT, strict=True))


def only_names_a_mat(text: str) -> bool:
    """Whether a mat is named, and not whether heights are taken from it: "mats 20 cm"."""
    return not header_words(text).levels and "mat" in _names(find(text), "bare_level")


def is_out_of_date(name: str) -> bool:
    """Whether a sheet's name, or a header, says that what it names is out of date."""
    return "age" in _names(find(name[:LONGEST_HEADER]), "note")


@lru_cache(maxsize=4096)
def is_no_name(text: str) -> bool:
    """Whether a text that stands alone in a line is a note or a heading, and nobody's name."""
    if _SENTENCE_SIGN.search(text) or _FIGURE.search(text):
        return True
    found = tuple(find(text[:LONGEST_HEADER]))
    longest = _SIGNS_OF_A_SENTENCE if _UNBROKEN.search(text) else _WORDS_OF_A_SENTENCE
    if len(found) >= longest:
        return True
    known = [at for at in found if at.meanings]
    says = [at for at in known if any(section in _OF_VALUES for section, _ in at.meanings)]
    heads = [at for at in known if any(section in _OF_HEADINGS for section, _ in at.meanings)]
    if says and len(known) * 2 > len(found):
        return True
    return bool(heads) and len(heads) * 2 >= len(found) and "," not in text and len(found) > 1


@lru_cache(maxsize=4096)
def heads_a_group(text: str) -> bool:
    """Whether the words of a line are those of a group: "Juniors", "Gruppe 2"."""
    found = tuple(find(text[:LONGEST_HEADER]))
    is_group = any(
        meaning in (("heading", "group"), ("role", "group"), ("role", "level"))
        for at in found
        for meaning in at.meanings
    )
    return is_group and not any(
        at.meanings and at.meanings[0].section in _OF_VALUES for at in found
    )


def may_change(text: str) -> bool:
    """Whether a text in a column that nobody knows may be about the values of its row."""
    return bool(note_says(text)) or len(tuple(find(text[:LONGEST_HEADER]))) >= _WORDS_OF_A_REMARK


def column_says(header: str) -> set[NoteSays]:
    """What the header of a column of lengths says that can change them.

    Besides what any note can say: that they are limits or approximate, and a point from or to which
    they are taken where that is not one of those that are known.
    """
    found = tuple(find(header[:LONGEST_HEADER]))
    says = set(note_says(header))
    if _names(found, "cell") & {"about", "limit"}:
        says.add(NoteSays.DOUBT)
    if _names(found, "header"):
        says.add(NoteSays.OTHERWISE)
    at_a_point = False
    for at in found:
        is_point = any(section == "point" for section, _ in at.meanings)
        unread = not at.meanings and any(word.isalpha() for word in at.words)
        if at_a_point and unread:
            says.add(NoteSays.OTHERWISE)
        at_a_point = is_point or (at_a_point and _is_filler(at))
    return says


def is_only_a_limit(header: str) -> bool:
    """Whether a header's only doubt is that its lengths are the ends of a range, or limits."""
    names = _names(find(header[:LONGEST_HEADER]), "cell")
    return "limit" in names and "about" not in names and NoteSays.DOUBT not in note_says(header)


def _is_filler(found: Found) -> bool:
    return any(section == "filler" for section, _ in found.meanings)


def tells_more_of_lengths(text: str) -> bool:
    """Whether a title speaks of heights or distances in words that are not all known.

    What it says before it comes to them, as which meet it is for, bears on no length.
    """
    return any(map(_speaks_on_of_lengths, _SECTION.split(text[:LONGEST_HEADER])))


def _speaks_on_of_lengths(section: str) -> bool:
    """Whether the clause that names a length, or one that comes after it, has unknown words."""
    clauses = [tuple(find(clause)) for clause in section.split(",")]
    first = next((at for at, found in enumerate(clauses) if _names(found, "part") & _LENGTHS), None)
    if first is None:
        return False
    unread = (
        word for found in clauses[first:] for at in found if not at.meanings for word in at.words
    )
    return any(word.isalpha() and len(word) > 1 for word in unread)


def is_known_whole(text: str) -> bool:
    """Whether every word of a text is one of the trade's, so that it is no model's name."""
    return all(at.meanings for at in find(text[:LONGEST_HEADER]))


def _names(found: Iterable[Found], of_section: str) -> set[str]:
    return {name for at in found for section, name in at.meanings if section == of_section}
