"""A CSV file as a table: encoding and separator are found out, and said.

Quoting is that of RFC 4180; comma, semicolon and tab are known as separators.
"""

import csv
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from io import StringIO
from itertools import islice

from settingsdesk.sheets.formula_guard import without_guard
from settingsdesk.sheets.refusals import QuoteNotClosed, SeparatorUnclear, TextNotReadable
from settingsdesk.sheets.table import CellKind, Table, bounded, place

_MARKS = {b"\xef\xbb\xbf": "utf-8", b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
_NAMES = {
    "utf-8": "UTF-8",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp1252": "Windows-1252",
}
_ROWS_LOOKED_AT = 20
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}


def read_csv(content: bytes, file_name: str) -> Table:
    """The rows of the file, which has passed the guard; row numbers are those of a spreadsheet.

    Without a byte order mark the text is UTF-8 if it can be, else Windows-1252.

    Raises:
        FileRefused: one of its subclasses, with the place where it went wrong.
    """
    text, encoding = _decoded(content, file_name)
    separator = _separator(text, file_name)
    rows = tuple(bounded(_rows(text, separator, file_name), "", file_name))
    return Table("", f"{_NAMES[encoding]}, separated by {_SEPARATORS[separator]}", rows)


def _decoded(content: bytes, file_name: str) -> tuple[str, str]:
    for mark, encoding in _MARKS.items():
        if content.startswith(mark):
            return _decoded_as(encoding, content.removeprefix(mark), file_name), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return _decoded_as("cp1252", content, file_name), "cp1252"


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
    return csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)


def _rows(
    text: str, separator: str, file_name: str
) -> Iterator[tuple[int, Iterator[tuple[int, str, CellKind]]]]:
    number = 0
    try:
        for number, record in enumerate(_records(text, separator), start=1):
            yield number, _cells(record)
    except csv.Error as e:
        raise QuoteNotClosed(file_name, place("", number + 1)) from e


def _cells(record: list[str]) -> Iterator[tuple[int, str, CellKind]]:
    for column, text in enumerate(record, start=1):
        if text:
            yield column, without_guard(text), CellKind.TEXT
