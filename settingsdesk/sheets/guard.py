"""The look at an uploaded file before anything parses it: kind, size, and what it unpacks to.

The bounds come from measurement: a file of 1.4 kB drove a full reader to 2.6 GB, one of 7.7 MB
kept it busy for a minute. Sizes in a zip directory can be trusted: CPython's zipfile stops at the
declared size.
"""

import re
import struct
import zlib
from enum import Enum
from io import BytesIO
from typing import IO
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from settingsdesk.sheets.encodings import utf_16_without_mark
from settingsdesk.sheets.refusals import (
    FileIsEmpty,
    FileIsLocked,
    FileIsMarkup,
    FileIsMisnamed,
    FileIsNotText,
    FileIsOldWorkbook,
    FileIsOtherDocument,
    FileIsPacked,
    FileIsPdf,
    FileIsPicture,
    FileIsTooLarge,
    WorkbookHoldsTooMuch,
    WorkbookIsDamaged,
    WorkbookPartDefinesEntities,
    WorkbookPartNotPlain,
    WorkbookPartTooDense,
    WorkbookUnpacksTooLarge,
)
from settingsdesk.sheets.xml_parts import MOST_BYTES_OF_A_TAG

MOST_BYTES = 10_000_000
MOST_UNPACKED_BYTES = 64_000_000
MOST_PARTS = 200
HIGHEST_RATIO = 200
RATIO_COUNTS_FROM_BYTES = 1_000_000
# Tags and attributes are what reading costs: up to 7 microseconds and 350 bytes each. A squad of
# 5,000 rows and 20 columns, all filled, has some 800,000.
MOST_MARKUP = 1_000_000
# Formats are read as a whole before the first row: 735,000 pieces of them took five seconds.
MOST_MARKUP_OF_FORMATS = 200_000


class SheetFormat(Enum):
    """A format that is read, with the endings its file's name may have."""

    XLSX = (".xlsx",)
    CSV = (".csv", ".tsv", ".txt")


_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_BARE_XLS = (b"\x09\x08", b"\x09\x04", b"\x09\x02")
_ZIP = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
_PICTURES = re.compile(
    rb"\x89PNG|\xff\xd8\xff|GIF8|II\*\x00|MM\x00\*|RIFF....WEBP|\x00\x00\x00.ftyp|BM....\x00\x00",
    re.DOTALL,
)
_TAG = re.compile(rb"\s*<[!?a-zA-Z]")
_BYTE_ORDER_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_LOCKED = tuple(name.encode("utf-16-le") for name in ("EncryptedPackage", "EncryptionInfo"))
# Pictures and printer settings are not: no parser gets beyond their first bytes.
_MAY_BE_XML = re.compile(rb"[ \t\r\n]*(?:\x00?<|\xef\xbb\xbf|\xff\xfe|\xfe\xff)")
_DEFINITION = re.compile(rb"<!(?:DOCTYPE|ENTITY)")
# A hundred attributes; reading 1,400,000 in one tag took 1 GB. Most tags are too short for so many,
# which is seen at once.
_OVERLOADED_TAG = re.compile(
    rb"<(?=[^<]{200})[^<>\"']*+(?:(?:\"[^\"<]*+\"|'[^'<]*+')[^<>\"']*+){100}+"
)
_WHOLE_TAG = re.compile(rb"<[^<>\"']*+(?:(?:\"[^\"<]*+\"|'[^'<]*+')[^<>\"']*+)*+>")
_ENCODING = re.compile(rb"<\?xml[^>]*?encoding\s*=\s*[\"']([^\"']*)")
_CONTENT_TYPES = "[Content_Types].xml"
_PIECE_BYTES = 1_000_000
_HEAD_BYTES = 2_000
_STRICT_NAMESPACE = b"http://purl.oclc.org/ooxml/spreadsheetml"
_FORMATS = b"styleSheet"
_MAIN_PART = b"spreadsheetml.sheet.main+xml"
_OTHER_MAIN_PARTS = {
    b"sheet.macroEnabled": "a workbook with macros",
    b"sheet.binary": "a workbook in a binary format",
    b"spreadsheetml.template": "a template of a workbook",
    b"wordprocessingml": "a text document",
    b"presentationml": "a presentation",
}


def check_upload(content: bytes, file_name: str) -> SheetFormat:
    """What the file is, when it is one that may be read; the file's name is never used as a path.

    Raises:
        FileRefused: one of its subclasses, which says what the file is and what to do.
    """
    if len(content) > MOST_BYTES:
        raise FileIsTooLarge(file_name, len(content), MOST_BYTES)
    if not content.strip():
        raise FileIsEmpty(file_name)
    _refuse_known_strangers(content, file_name)
    if content.startswith(_ZIP):
        _check_archive(content, file_name)
        return _named_as(SheetFormat.XLSX, "a workbook", file_name)
    is_marked = content.startswith(_BYTE_ORDER_MARKS)
    if b"\x00" in content and not is_marked and utf_16_without_mark(content) is None:
        raise FileIsNotText(file_name)
    return _named_as(SheetFormat.CSV, "text", file_name)


def _refuse_known_strangers(content: bytes, file_name: str) -> None:
    if content.startswith(_COMPOUND):
        locked = any(name in content for name in _LOCKED)
        raise (FileIsLocked if locked else FileIsOldWorkbook)(file_name)
    if content.startswith(_BARE_XLS) and b"\x00" in content[:8]:
        raise FileIsOldWorkbook(file_name)
    if b"%PDF-" in content[:1024]:
        raise FileIsPdf(file_name)
    if _PICTURES.match(content):
        raise FileIsPicture(file_name)
    if _TAG.match(content.removeprefix(_BYTE_ORDER_MARKS[0])):
        raise FileIsMarkup(file_name)


def _named_as(sheet_format: SheetFormat, found: str, file_name: str) -> SheetFormat:
    if not file_name.lower().rstrip().endswith(sheet_format.value):
        raise FileIsMisnamed(file_name, found, sheet_format.value)
    return sheet_format


def _check_archive(content: bytes, file_name: str) -> None:
    try:
        with ZipFile(BytesIO(content)) as archive:
            _check_directory(archive.infolist(), file_name)
            _check_kind(archive, file_name)
            _check_parts(archive, file_name)
    except (BadZipFile, EOFError, OSError, RuntimeError, ValueError, struct.error, zlib.error) as e:
        raise WorkbookIsDamaged(file_name) from e


def _check_directory(parts: list[ZipInfo], file_name: str) -> None:
    """What the directory alone shows, before a byte is unpacked."""
    if len(parts) > MOST_PARTS:
        raise WorkbookHoldsTooMuch(file_name, "parts", MOST_PARTS)
    unpacked_bytes = sum(part.file_size for part in parts)
    if unpacked_bytes > MOST_UNPACKED_BYTES:
        raise WorkbookUnpacksTooLarge(file_name, unpacked_bytes, MOST_UNPACKED_BYTES)
    for part in parts:
        if part.flag_bits & 1:
            raise FileIsLocked(file_name)
        is_large = part.file_size > RATIO_COUNTS_FROM_BYTES
        if is_large and part.file_size > HIGHEST_RATIO * part.compress_size:
            raise WorkbookPartTooDense(file_name, part.filename)
        if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise WorkbookIsDamaged(file_name)
    if len({part.filename for part in parts}) < len(parts):  # which of the two would be read?
        raise WorkbookIsDamaged(file_name)


def _check_kind(archive: ZipFile, file_name: str) -> None:
    """A workbook, and no other document that is packed the same way."""
    names = archive.namelist()
    if "mimetype" in names and b"opendocument" in _beginning(archive, "mimetype"):
        raise FileIsOtherDocument(file_name, "an OpenDocument file")
    if _CONTENT_TYPES not in names:
        raise FileIsPacked(file_name)
    content_types = _beginning(archive, _CONTENT_TYPES)
    for sign, kind in _OTHER_MAIN_PARTS.items():
        if sign in content_types and _MAIN_PART not in content_types:
            raise FileIsOtherDocument(file_name, kind)
    if _MAIN_PART not in content_types:
        raise FileIsPacked(file_name)


def _beginning(archive: ZipFile, part: str) -> bytes:
    with archive.open(part) as source:
        return source.read(_PIECE_BYTES)


def _check_parts(archive: ZipFile, file_name: str) -> None:
    """Every part that an XML parser would accept is plain, and all together have an end.

    They are looked at piece by piece, so that none is in memory as a whole.
    """
    markup = 0
    for part in archive.infolist():
        with archive.open(part) as source:
            head = source.read(_PIECE_BYTES)
            if _MAY_BE_XML.match(head):
                markup += _markup_of(head, source, part.filename, file_name, MOST_MARKUP - markup)
            while source.read(_PIECE_BYTES):
                pass  # at the end zipfile compares the checksum


def _markup_of(head: bytes, source: IO[bytes], part: str, file_name: str, most: int) -> int:
    """How many tags and attributes a part has, which is plain XML."""
    _check_head(head, part, file_name)
    is_formats = _FORMATS in head[:_HEAD_BYTES]
    markup, left, piece = 0, b"", head
    while piece:
        markup += piece.count(b"<") + piece.count(b"=")
        if markup > most:
            raise WorkbookHoldsTooMuch(file_name, "pieces of cells and formatting", MOST_MARKUP)
        if is_formats and markup > MOST_MARKUP_OF_FORMATS:
            raise WorkbookHoldsTooMuch(file_name, "pieces of formatting", MOST_MARKUP_OF_FORMATS)
        left = _check_tags(left + piece, part, file_name)
        piece = source.read(_PIECE_BYTES)
    return markup


def _check_head(head: bytes, part: str, file_name: str) -> None:
    encoding = _ENCODING.search(head[:500])
    is_utf_16 = head.startswith(_BYTE_ORDER_MARKS[1:])
    if is_utf_16 or (encoding and encoding[1].lower() not in (b"utf-8", b"us-ascii")):
        raise WorkbookPartNotPlain(file_name, part)
    if _STRICT_NAMESPACE in head[:_HEAD_BYTES]:
        raise FileIsOtherDocument(file_name, "a workbook in the strict variety of .xlsx")


def _check_tags(xml: bytes, part: str, file_name: str) -> bytes:
    """Gives the beginning of a tag that the next piece goes on with; empty where all have ended."""
    if b"\x00" in xml:
        raise WorkbookPartNotPlain(file_name, part)
    if _DEFINITION.search(xml):
        raise WorkbookPartDefinesEntities(file_name, part)
    if _OVERLOADED_TAG.search(xml):
        raise WorkbookPartTooDense(file_name, part)
    last = xml.rfind(b"<")
    if last < 0 or _WHOLE_TAG.match(xml, last):
        return b""
    if len(xml) - last > MOST_BYTES_OF_A_TAG:
        raise WorkbookHoldsTooMuch(file_name, "bytes in one tag", MOST_BYTES_OF_A_TAG)
    return xml[last:]
