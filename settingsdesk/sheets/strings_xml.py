"""The texts that the cells of a workbook share, from their XML, and no more than cells can show.

openpyxl builds an object for every piece of a text and has no bound: 240,000 texts that no cell
shows took it two seconds.
"""

from dataclasses import dataclass, field
from typing import IO

from settingsdesk.sheets.refusals import WorkbookHoldsTooMuch
from settingsdesk.sheets.table import MOST_CHARACTERS, MOST_CHARACTERS_IN_CELL
from settingsdesk.sheets.xml_parts import (
    CHUNK_BYTES,
    MAIN,
    SOUND,
    STRIKE,
    TEXT,
    XmlParser,
    is_on,
    unescaped,
)

# A text and the cell that shows it take nine tags and attributes; the guard lets in a million.
MOST_TEXTS = 120_000

_ITEM = f"{MAIN}si"


@dataclass(slots=True)
class StringsXml:
    """The shared texts being read, in their order; how a text sounds is left out.

    ``struck`` are the places of those of which a part is struck through.

    Raises:
        WorkbookHoldsTooMuch: at the first text or character too many.
    """

    file_name: str
    texts: list[str] = field(default_factory=list)
    struck: set[int] = field(default_factory=set)
    _text: str = ""
    _characters: int = 0
    _texts_open: int = 0
    _sounds: int = 0

    def read(self, source: IO[bytes]) -> list[str]:
        """All of them."""
        parser = XmlParser(self.file_name, self._start, self._end, self._collect)
        while chunk := source.read(CHUNK_BYTES):
            parser.feed(chunk)
        parser.close()
        return self.texts

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name == TEXT:
            self._texts_open += 1
        elif name == _ITEM:
            self._text = ""
        elif name == SOUND:
            self._sounds += 1
        elif name == STRIKE and is_on(attributes):
            self.struck.add(len(self.texts))

    def _end(self, name: str) -> None:
        if name == TEXT:
            self._texts_open -= 1
        elif name == _ITEM:
            self._add(unescaped(self._text))
        elif name == SOUND:
            self._sounds -= 1

    def _collect(self, text: str) -> None:
        is_wanted = self._texts_open and not self._sounds
        if is_wanted and len(self._text) <= MOST_CHARACTERS_IN_CELL:  # then it is too long already
            self._text += text

    def _add(self, text: str) -> None:
        self.texts.append(text)
        self._characters += len(text)
        if len(self.texts) > MOST_TEXTS:
            raise WorkbookHoldsTooMuch(self.file_name, "different texts", MOST_TEXTS)
        if self._characters > MOST_CHARACTERS:
            raise WorkbookHoldsTooMuch(self.file_name, "characters of text", MOST_CHARACTERS)
