"""How the cells of a workbook look, by the number of their style: struck through, coloured, worded.

White, black and "automatic" are no colours: a list is written in them where nobody chose any.
"""

from dataclasses import dataclass, field
from typing import Any, NamedTuple

from settingsdesk.sheets.number_formats import PLAIN, Worded, worded

_BUILT_IN_PERCENT = (9, 10)
_FIRST_OF_OUR_OWN = 164
_NO_COLOURS = {"00000000", "FFFFFFFF", "00FFFFFF", "FF000000"}
_THEME_GROUND, _THEME_TEXT = (0, 2), (1, 3)
_INDEXED_PLAIN = {8, 9, 64, 65, 81}


class Look(NamedTuple):
    """How a cell of a style looks; ``colour`` is empty where nobody chose one."""

    struck: bool = False
    colour: str = ""
    worded: Worded = PLAIN

    @property
    def is_plain(self) -> bool:
        """Whether nothing of it says anything."""
        return not (self.struck or self.colour)


_PLAIN_LOOK = Look()


@dataclass(slots=True)
class Styles:
    """The styles of a workbook, each looked at once."""

    book: Any
    _known: dict[str, Look] = field(default_factory=dict)

    def of(self, style: str) -> Look:
        """How cells of that style look; ``ValueError`` where its number is none."""
        look = self._known.get(style)
        if look is None:
            look = self._known[style] = self._look(int(style))
        return look

    def _look(self, style: int) -> Look:
        styles = self.book._cell_styles
        if not 0 <= style < len(styles):
            return _PLAIN_LOOK
        found = styles[style]
        font, fill = _at(self.book._fonts, found.fontId), _at(self.book._fills, found.fillId)
        ground = ""
        if getattr(fill, "patternType", None) not in (None, "none"):
            ground = _colour(fill.fgColor, _THEME_GROUND)
        text = _colour(font.color, _THEME_TEXT) if font is not None and font.color else ""
        return Look(bool(font and font.strike), ground or text, self._worded(found.numFmtId))

    def _worded(self, number_format: int) -> Worded:
        if number_format in _BUILT_IN_PERCENT:
            return Worded(percent=True)
        own = _at(self.book._number_formats, number_format - _FIRST_OF_OUR_OWN)
        return worded(own) if isinstance(own, str) else PLAIN


def _at(found: Any, place: int) -> Any:
    return found[place] if 0 <= place < len(found) else None


def _colour(colour: Any, plain_themes: tuple[int, ...]) -> str:
    """The colour in hex, or by its number in the workbook's palette; nothing for a plain one."""
    if colour is None or colour.type == "auto":
        return ""
    if colour.type == "theme":
        return (
            ""
            if colour.theme in plain_themes and not colour.tint
            else (f"theme {colour.theme} {colour.tint:.2f}")
        )
    if colour.type == "indexed":
        return "" if colour.indexed in _INDEXED_PLAIN else f"palette {colour.indexed}"
    rgb = str(colour.rgb)
    return "" if rgb in _NO_COLOURS else f"#{rgb[-6:]}"
