"""What the XML parts of a workbook have in common: a hardened parser, names, escaped signs."""

import re
from collections.abc import Callable
from xml.parsers import expat

from settingsdesk.sheets.refusals import WorkbookIsDamaged

CHUNK_BYTES = 65_536
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main "
TEXT, SOUND, STRIKE = f"{MAIN}t", f"{MAIN}rPh", f"{MAIN}strike"

_ESCAPED = re.compile(r"_x(000[Dd]|005[Ff])_")  # a carriage return, and the sign of escaping itself


def parser_of(
    file_name: str,
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None],
    collect: Callable[[str], None],
) -> expat.XMLParserType:
    """A parser that tells of tags and text, and refuses definitions as the guard does in front."""

    def refuse_definitions(*_: object) -> None:
        raise WorkbookIsDamaged(file_name)

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = refuse_definitions
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = collect
    return parser


def unescaped(text: str) -> str:
    """Free of the escapes of the format."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def is_on(attributes: dict[str, str]) -> bool:
    """Whether a tag such as ``<strike/>`` says yes: without a value it does."""
    return attributes.get("val", "1") in ("1", "true", "on")
