"""Reading printed cards back: sizes, texts, lines and symbols, by other people's software."""

import ctypes
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pypdfium2
import zxingcpp
from PIL.Image import Image
from pypdfium2 import raw

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True)
class PathBox:
    """The bounds of a drawn path in millimetres from the page's upper left corner."""

    left: float
    top: float
    right: float
    bottom: float


@contextmanager
def opened(pdf: bytes) -> Iterator[pypdfium2.PdfDocument]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        yield document
    finally:
        document.close()


def page_sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    with opened(pdf) as document:
        return [
            tuple(round(side * MM_PER_POINT, 3) for side in page.get_size()) for page in document
        ]


def page_texts(pdf: bytes) -> list[str]:
    with opened(pdf) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


@dataclass(frozen=True)
class Part:
    """One part of a tagged page: what it is, what is read in place of a picture, its own words."""

    kind: str
    says: str
    words: str


def parts(pdf: bytes, page_number: int = 0) -> list[Part]:
    """The parts of a page in the order in which they are read aloud."""
    with _structure(pdf, page_number) as (root, words):
        return [_part(one, words) for one in _within(root)]


def tables(pdf: bytes, page_number: int = 0) -> list[list[list[Part]]]:
    """The tables of a page, row by row and cell by cell."""
    with _structure(pdf, page_number) as (root, words):
        return [
            [[_part(cell, words) for cell in _within(row)] for row in _within(one)]
            for one in _within(root)
            if _part(one, words).kind == "Table"
        ]


@contextmanager
def _structure(pdf: bytes, page_number: int) -> Iterator[tuple[Any, dict[int, list[str]]]]:
    with opened(pdf) as document:
        assert raw.FPDFCatalog_IsTagged(document.raw)
        page = document[page_number]
        tree = raw.FPDF_StructTree_GetForPage(page.raw)
        yield raw.FPDF_StructTree_GetChildAtIndex(tree, 0), _words_by_part(page)
        raw.FPDF_StructTree_Close(tree)


def _within(part: Any) -> Iterator[Any]:
    for place in range(raw.FPDF_StructElement_CountChildren(part)):
        one = raw.FPDF_StructElement_GetChildAtIndex(part, place)
        if one:  # and not of another page
            yield one


def _part(one: Any, words: dict[int, list[str]]) -> Part:
    number = raw.FPDF_StructElement_GetMarkedContentIdAtIndex(one, 0)
    kind, says = (
        _told(get, one)
        for get in (raw.FPDF_StructElement_GetType, raw.FPDF_StructElement_GetAltText)
    )
    return Part(kind, says, "".join(words.get(number, [])).strip())


def _words_by_part(page: pypdfium2.PdfPage) -> dict[int, list[str]]:
    on_page = page.get_textpage()
    found: dict[int, list[str]] = {}
    for one in page.get_objects():
        if one.type == raw.FPDF_PAGEOBJ_TEXT:
            number = raw.FPDFPageObj_GetMarkedContentID(one.raw)
            found.setdefault(number, []).append(_words(one, on_page))
    return found


def _words(text: pypdfium2.PdfObject, on_page: pypdfium2.PdfTextPage) -> str:
    length = raw.FPDFTextObj_GetText(text.raw, on_page.raw, None, 0)
    buffer = (ctypes.c_ushort * length)()
    raw.FPDFTextObj_GetText(text.raw, on_page.raw, buffer, length)
    return _read(bytes(buffer))


def _told(get: Callable[..., int], one: object) -> str:
    """What pdfium tells of an element, asked twice: how long it is, and what it says."""
    length = get(one, None, 0)
    buffer = ctypes.create_string_buffer(length)
    get(one, buffer, length)
    return _read(buffer.raw)


def _read(text: bytes) -> str:
    return text.decode("utf-16-le").rstrip("\0")


@dataclass(frozen=True)
class Line:
    """A line of text: its words, the size of its letters, and where it begins."""

    words: str
    size_pt: float
    left: float
    top: float


def lines(pdf: bytes, page_number: int = 0) -> list[Line]:
    """Every line of a page in the order in which they are drawn, in millimetres from its corner."""
    with opened(pdf) as document:
        page = document[page_number]
        on_page, high, found = page.get_textpage(), page.get_height(), []
        for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            size = ctypes.c_float()
            raw.FPDFTextObj_GetFontSize(one.raw, size)
            box = _flipped(*one.get_bounds(), high)
            words = _words(one, on_page).strip()
            found.append(Line(words, round(size.value, 1), box.left, box.top))
        return found


def letter_sizes_pt(pdf: bytes) -> set[float]:
    """The sizes of all letters that stand on the pages, to a tenth of a point."""
    with opened(pdf) as document:
        return {
            round(raw.FPDFText_GetFontSize(text.raw, place), 1)
            for text in (page.get_textpage() for page in document)
            for place in range(text.count_chars())
            if raw.FPDFText_GetUnicode(text.raw, place) > ord(" ")
        }


def rendered(pdf: bytes, dpi: int, *, in_greys: bool = False) -> list[Image]:
    with opened(pdf) as document:
        return [page.render(scale=dpi / 72, grayscale=in_greys).to_pil() for page in document]


def symbols(pdf: bytes, dpi: int) -> list[str]:
    """What the QR symbols of all pages say, in the order of the pages."""
    found = []
    for image in rendered(pdf, dpi, in_greys=True):
        found += [code.text for code in zxingcpp.read_barcodes(image) if code.valid]
    return found


def paths(pdf: bytes, page_number: int = 0) -> list[PathBox]:
    """The bounds of every path on a page, without the width of its line."""
    with opened(pdf) as document:
        page = document[page_number]
        high = page.get_height()
        return [_box(path, high) for path in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])]


def stencils(pdf: bytes, page_number: int = 0) -> list[PathBox]:
    """The bounds of every picture on a page."""
    with opened(pdf) as document:
        page = document[page_number]
        high = page.get_height()
        return [
            _flipped(*picture.get_bounds(), high)
            for picture in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE])
        ]


def _box(path: pypdfium2.PdfObject, high: float) -> PathBox:
    x, y = ctypes.c_float(), ctypes.c_float()
    points = []
    for number in range(raw.FPDFPath_CountSegments(path.raw)):
        segment = raw.FPDFPath_GetPathSegment(path.raw, number)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append((x.value, y.value))
    xs, ys = zip(*points, strict=True)
    return _flipped(min(xs), min(ys), max(xs), max(ys), high)


def _flipped(left: float, bottom: float, right: float, top: float, high: float) -> PathBox:
    return PathBox(*(side * MM_PER_POINT for side in (left, high - top, right, high - bottom)))
