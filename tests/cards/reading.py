"""Reading printed cards back: sizes, texts, lines and symbols, by other people's software."""

import ctypes
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

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


def letter_sizes_pt(pdf: bytes) -> set[float]:
    """The sizes of all letters that stand on the pages, to a tenth of a point."""
    with opened(pdf) as document:
        return {
            round(raw.FPDFText_GetFontSize(text.raw, place), 1)
            for text in (page.get_textpage() for page in document)
            for place in range(text.count_chars())
            if raw.FPDFText_GetUnicode(text.raw, place) > ord(" ")
        }


def rendered(pdf: bytes, dpi: int) -> list[Image]:
    with opened(pdf) as document:
        return [page.render(scale=dpi / 72).to_pil() for page in document]


def symbols(pdf: bytes, dpi: int) -> list[str]:
    """What the QR symbols of all pages say, in the order of the pages."""
    found = []
    for image in rendered(pdf, dpi):
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
