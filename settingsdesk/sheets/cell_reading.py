"""What one cell says: a name, a note, a mark or a length; nothing is guessed."""

import re
import unicodedata

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import LengthNotRead, read_length_mm
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.table import Cell, CellKind

EXPECTED_LENGTH = "a number of centimetres like 245 or 247.5"
REPLACEMENT = "\ufffd"  # stands in an export for what could not be written, so never taken back

_ADVICE = {
    CellKind.DATE: "the cell is formatted as a date or time, format it and type it again",
    CellKind.BOOLEAN: "the cell holds true or false, format it as text and type it again",
    CellKind.FORMULA: "the formula has no result, let a spreadsheet program calculate and save it",
    CellKind.ERROR: "the cell shows an error, type its content again",
}
_PLUS_OR_MINUS = re.compile(r"^\s*(?:±|\+/?[-−])")
_INVISIBLE_AT_THE_ENDS = "\u200b\ufeff"


class CellNotTaken(SettingsDeskError):
    """The cell says something else than its column is for; ``Fault`` adds the place."""

    def __init__(self, expected: str, advice: str = ""):
        super().__init__(expected, advice)
        self.expected, self.advice = expected, advice

    def __str__(self) -> str:
        return f"{self.expected} is expected" + (f": {self.advice}" if self.advice else "")


def read_name(cell: Cell) -> str:
    """A name on one line: composed characters (NFC), single blanks.

    Raises:
        CellNotTaken: no text, or signs in it that cannot be printed.
    """
    text = " ".join(_plain_text(cell).split())
    return unicodedata.normalize("NFC", text.strip(_INVISIBLE_AT_THE_ENDS))


def read_note(cell: Cell) -> str:
    """A remark, which may have several lines.

    Raises:
        CellNotTaken: no text, or signs in it that cannot be printed.
    """
    lines = _plain_text(cell).replace("\r\n", "\n").replace("\r", "\n")
    return unicodedata.normalize("NFC", lines.strip().strip(_INVISIBLE_AT_THE_ENDS))


def read_length(cell: Cell, axis: str) -> int:
    """A length in centimetres, as millimetres.

    Raises:
        CellNotTaken: no number, or one that is finer than a millimetre.
    """
    return _length_mm(cell, cell.text, axis)


def read_deviation(cell: Cell, axis: str) -> int:
    """An accepted deviation in centimetres, with or without "±", as millimetres.

    Raises:
        CellNotTaken: no number, or one that is finer than a millimetre.
    """
    return _length_mm(cell, _PLUS_OR_MINUS.sub("", cell.text), axis)


def _length_mm(cell: Cell, text: str, axis: str) -> int:
    if cell.kind in _ADVICE:
        raise CellNotTaken(EXPECTED_LENGTH, _ADVICE[cell.kind])
    try:
        return read_length_mm(text, axis, Unit.CENTIMETRE)
    except LengthNotRead as refused:
        raise CellNotTaken(EXPECTED_LENGTH, refused.advice) from refused


def _plain_text(cell: Cell) -> str:
    if cell.kind in _ADVICE:
        raise CellNotTaken("text", _ADVICE[cell.kind])
    for sign in cell.text:
        is_control = unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\t\r\n"
        if is_control or sign == REPLACEMENT:
            raise CellNotTaken("text that can be printed", "type it again without the sign �")
    return cell.text
