"""Pictures to send in, good and bad."""

import io
import struct
import zlib

from PIL import Image

SECRET = b"taken at 59.91 N by a phone called Edda"


def jpeg(wide: int = 64, high: int = 48, orientation: int = 1) -> bytes:
    """A JPEG, red on the left and blue on the right, with a place and a name in its EXIF."""
    picture = Image.new("RGB", (wide, high), "blue")
    picture.paste("red", (0, 0, wide // 2, high))
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = SECRET.decode()
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=SECRET, quality=95)
    return out.getvalue()


def png(wide: int = 64, high: int = 48) -> bytes:
    """A PNG, half of it transparent."""
    picture = Image.new("RGBA", (wide, high), (0, 0, 0, 0))
    picture.paste((0, 128, 0, 255), (0, 0, wide // 2, high))
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def png_bomb(side: int) -> bytes:
    """A PNG of a few hundred kilobytes at most that would unpack to side x side pixels."""

    def chunk(name: bytes, content: bytes) -> bytes:
        crc = zlib.crc32(name + content)
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", crc)

    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100_000)
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts
