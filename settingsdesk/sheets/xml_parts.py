"""What the XML parts of a workbook have in common: a hardened parser, names, escaped signs."""

import re
from collections.abc import Callable
from xml.parsers import expat

from settingsdesk.sheets.refusals import WorkbookHoldsTooMuch, WorkbookIsDamaged

CHUNK_BYTES = 65_536
MOST_BYTES_OF_A_TAG = 1_000_000
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main "
TEXT, SOUND, STRIKE = f"{MAIN}t", f"{MAIN}rPh", f"{MAIN}strike"

_ESCAPED = re.compile(r"_x(000[Dd]|005[Ff])_")  # a carriage return, and the sign of escaping itself


class XmlParser:
    """Tells of tags and text, and refuses definitions as the guard does in front.

    Raises:
        WorkbookIsDamaged: at a definition.
        WorkbookHoldsTooMuch: at a tag, a comment or the like that is too long. It is held until
            it ends, and looked at from its beginning with each further piece.
    """

    def __init__(
        self,
        file_name: str,
        start: Callable[[str, dict[str, str]], None],
        end: Callable[[str], None],
        collect: Callable[[str], None],
    ) -> None:
        self._file_name = file_name
        self._fed = 0
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.buffer_text = True
        self._parser.StartDoctypeDeclHandler = self._refuse_definitions
        self._parser.StartElementHandler = start
        self._parser.EndElementHandler = end
        self._parser.CharacterDataHandler = collect

    def feed(self, piece: bytes) -> None:
        """Read on."""
        self._parser.Parse(piece, False)
        self._fed += len(piece)
        if self._fed - self._parser.CurrentByteIndex > MOST_BYTES_OF_A_TAG:
            raise WorkbookHoldsTooMuch(self._file_name, "bytes in one tag", MOST_BYTES_OF_A_TAG)

    def close(self) -> None:
        """It must have come to an end."""
        self._parser.Parse(b"", True)

    def _refuse_definitions(self, *_: object) -> None:
        raise WorkbookIsDamaged(self._file_name)


def unescaped(text: str) -> str:
    """Free of the escapes of the format."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def is_on(attributes: dict[str, str]) -> bool:
    """Whether a tag such as ``<strike/>`` says yes: without a value it does."""
    return attributes.get("val", "1") in ("1", "true", "on")
