"""A text file as a table: encoding and separator are found out, and said.

Quoting is that of RFC 4180; comma, semicolon, tab and upright stroke are known as separators. A
quotation mark that stands alone in its cell is a ditto. Where nothing but blanks stands between
columns they are told by their places (``aligned_text``).
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import islice

from settingsdesk.sheets.aligned_text import aligned, score
from settingsdesk.sheets.encodings import encoding_of, name_of
from settingsdesk.sheets.formula_guard import without_guard
from settingsdesk.sheets.refusals import (
    QuoteNotClosed,
    SeparatorUnclear,
    TextNotReadable,
    WorkbookHoldsTooMuch,
)
from settingsdesk.sheets.table import Cell, Table, bounded, letter, place

# Blank cells and rows are worked through too; 5,000 rows of 60 columns have some 300,000.
MOST_DIVIDERS = 1_000_000

_ROWS_LOOKED_AT = 20
_LINE = re.compile(r"[^\r\n]*+(?:\r\n?|\n)|[^\r\n]++")
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}


def read_csv(content: bytes, file_name: str) -> Table:
    """The rows of the file, which has passed the guard; row numbers are those of a spreadsheet.

    Without a byte order mark the encoding is found out by evidence (``encodings``).

    Raises:
        FileRefused: one of its subclasses, with the place where it went wrong.
    """
    text, encoding = _decoded(content, file_name)
    _refuse_endless(text, file_name)
    if _is_aligned(text):
        records = enumerate(aligned(text.splitlines()), start=1)
        numbered = ((number, _cells(record)) for number, record in records)
        rows = tuple(bounded(numbered, "", file_name))
        return Table("", f"{name_of(encoding)}, in columns of blanks", rows)
    separator = _separator(text, file_name)
    text = _with_dittos(text, separator)
    rows = tuple(bounded(_rows(text, separator, file_name), "", file_name))
    return Table("", f"{name_of(encoding)}, separated by {_SEPARATORS[separator]}", rows)


def _decoded(content: bytes, file_name: str) -> tuple[str, str]:
    encoding, mark_bytes = encoding_of(content)
    return _decoded_as(encoding, content[mark_bytes:], file_name), encoding


def _decoded_as(encoding: str, content: bytes, file_name: str) -> str:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as e:
        before = content[: e.start].decode(encoding, errors="replace")
        raise TextNotReadable(file_name, place("", before.count("\n") + 1)) from e
    before, nul, _ = text.partition("\x00")
    if nul:
        raise TextNotReadable(file_name, place("", before.count("\n") + 1))
    return text


def _refuse_endless(text: str, file_name: str) -> None:
    """Count what divides cells and rows before any of them is made."""
    if sum(text.count(sign) for sign in (*_SEPARATORS, "\n", "\r")) > MOST_DIVIDERS:
        raise WorkbookHoldsTooMuch(file_name, "separators and line ends", MOST_DIVIDERS)


def _separator(text: str, file_name: str) -> str:
    """The separator that divides the first rows into the most columns, equally many in each.

    So neither a title above the table nor commas in numbers and remarks lead astray.
    """
    scores = {separator: _score(text, separator) for separator in _SEPARATORS}
    most = max(scores.values())
    best = [separator for separator, score in scores.items() if score == most]
    if most > 0 and len(best) > 1:
        raise SeparatorUnclear(file_name)
    return best[0]


def _is_aligned(text: str) -> bool:
    """Whether more columns are set apart by blanks than by any separator."""
    if "\t" in text:
        return False
    first = list(islice((line for line in text.splitlines() if line.strip()), _ROWS_LOOKED_AT))
    return score(first) > max(_score(text, separator) for separator in _SEPARATORS)


def _score(text: str, separator: str) -> int:
    rows = islice(_filled_until_error(text, separator), _ROWS_LOOKED_AT)
    widths = Counter(len(row) for row in rows)
    return max((count * (width - 1) for width, count in widths.items()), default=0)


def _filled_until_error(text: str, separator: str) -> Iterator[list[str]]:
    with suppress(csv.Error):
        for row in _records(text, separator):
            if "".join(row).strip():
                yield row


def _records(text: str, separator: str) -> Iterator[list[str]]:
    lines = (found[0] for found in _LINE.finditer(text))  # StringIO takes four bytes for each sign
    return csv.reader(lines, delimiter=separator, strict=True)


def _with_dittos(text: str, separator: str) -> str:
    """The text with its lone quotation marks doubled, where more rows are then equally wide.

    Two of them look like a quoted cell, and what stands after it would move to another column.
    """
    ends = re.escape(f"{separator}\r\n")
    ditto = re.compile(f'(?<![^{ends}])"(?![^{ends}])')
    if not ditto.search(text):
        return text
    doubled = ditto.sub('""""', text)
    return doubled if _of_one_width(doubled, separator) > _of_one_width(text, separator) else text


def _of_one_width(text: str, separator: str) -> int:
    """How many rows have as many cells as most have; none where quotes are not closed."""
    try:
        widths = Counter(map(len, _records(text, separator)))
    except csv.Error:
        return 0
    return max(widths.values(), default=0)


def _rows(text: str, separator: str, file_name: str) -> Iterator[tuple[int, Iterator[Cell]]]:
    number = 0
    try:
        for number, record in enumerate(_records(text, separator), start=1):
            yield number, _cells(record)
    except csv.Error as e:
        raise QuoteNotClosed(file_name, place("", number + 1)) from e


def _cells(record: list[str]) -> Iterator[Cell]:
    for column, text in enumerate(record, start=1):
        if text:
            yield Cell(letter(column), without_guard(text))
