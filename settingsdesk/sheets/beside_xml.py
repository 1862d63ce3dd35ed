"""What hangs beside a sheet in a workbook: comments on its cells, and texts in boxes over them.

They are parts of their own, which the sheet's relations name. Only those that are in the file are
read, and none from elsewhere.
"""

import posixpath
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO
from zipfile import ZipFile

from openpyxl.utils.cell import coordinate_to_tuple

from settingsdesk.sheets.refusals import WorkbookHoldsTooMuch
from settingsdesk.sheets.table import MOST_CHARACTERS_IN_CELL, Spot
from settingsdesk.sheets.xml_parts import CHUNK_BYTES, MAIN, TEXT, XmlParser

MOST_BESIDE = 5_000
"""So many comments or boxes of one sheet are read."""

_RELATION = "http://schemas.openxmlformats.org/package/2006/relationships Relationship"
_COMMENT = f"{MAIN}comment"
_DRAWN = "http://schemas.openxmlformats.org/drawingml/2006/main "
_BOX = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing txBody"
_THREADED = "[Threaded comment]"


@dataclass(slots=True)
class BesideXml:
    """The parts beside one sheet being read."""

    file_name: str
    comments: dict[Spot, str] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    _related: list[tuple[str, str]] = field(default_factory=list)
    _spot: Spot | None = None
    _is_text: bool = False
    _text: str = ""

    def read(self, archive: ZipFile, sheet_path: str) -> None:
        """All that the relations of the sheet of that path lead to."""
        path = sheet_path.lstrip("/")
        folder, name = posixpath.split(path)
        names = set(archive.namelist())
        relations = f"{folder}/_rels/{name}.rels"
        if relations not in names:
            return
        self._parse(archive, relations, self._start_relation)
        for kind, target in self._related:
            part = _part(folder, target)
            if part not in names:
                continue
            if kind == "comments":
                self._parse(archive, part, self._start_comment, self._end_comment)
            elif kind == "drawing":
                self._parse(archive, part, self._start_drawn, self._end_drawn)

    def _parse(self, archive: ZipFile, part: str, start: object, end: object = None) -> None:
        parser = XmlParser(
            self.file_name,
            start,  # type: ignore[arg-type]
            end or _ignored,  # type: ignore[arg-type]
            self._collect,
        )
        with archive.open(part) as source:
            for piece in _pieces(source):
                parser.feed(piece)
        parser.close()

    def _start_relation(self, name: str, attributes: dict[str, str]) -> None:
        if name == _RELATION and attributes.get("TargetMode") != "External":
            kind = attributes.get("Type", "").rpartition("/")[2]
            self._related.append((kind, attributes.get("Target", "")))

    def _start_comment(self, name: str, attributes: dict[str, str]) -> None:
        if name == _COMMENT:
            self._spot, self._text = coordinate_to_tuple(attributes.get("ref", "")), ""
        self._is_text = name == TEXT

    def _end_comment(self, name: str) -> None:
        self._is_text = False
        if name == _COMMENT and self._spot is not None:
            text = " ".join(_said(self._text).split())
            if text:
                self.comments[self._spot] = text
            self._spot = None
            self._bound(len(self.comments))

    def _start_drawn(self, name: str, _attributes: dict[str, str]) -> None:
        self._is_text = name == f"{_DRAWN}t"
        if name == _BOX:
            self._text = ""

    def _end_drawn(self, name: str) -> None:
        self._is_text = False
        if name == f"{_DRAWN}p":
            self._text += " "
        elif name == _BOX and (text := " ".join(self._text.split())):
            self.texts.append(text)
            self._bound(len(self.texts))

    def _collect(self, text: str) -> None:
        if self._is_text and len(self._text) <= MOST_CHARACTERS_IN_CELL:
            self._text += text

    def _bound(self, so_many: int) -> None:
        if so_many > MOST_BESIDE:
            raise WorkbookHoldsTooMuch(self.file_name, "comments", MOST_BESIDE)


def _said(text: str) -> str:
    """A threaded comment without the notice that stands before it for older programs."""
    if text.startswith(_THREADED) and ":" in text:
        before, _, after = text.partition("Comment:")
        return after or before
    return text


def _part(folder: str, target: str) -> str:
    path = target if target.startswith("/") else f"{folder}/{target}"
    return posixpath.normpath(path).lstrip("/")


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    while piece := source.read(CHUNK_BYTES):
        yield piece


def _ignored(_name: str) -> None:
    """The end of a tag that says nothing."""
