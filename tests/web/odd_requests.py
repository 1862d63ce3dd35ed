"""What nobody means to send: odd words for a field, heads, bodies, files and parts of addresses.

``spoilt`` makes of a form what no browser writes; all of it is drawn from the chance it is given.
"""

import random
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Any
from urllib.parse import quote_from_bytes, urlencode

TYPED: Sequence[bytes] = (
    *(
        b"",
        b" ",
        b"\t\r\n",
        b"0",
        b"-1",
        b"-0",
        b"1",
        b"2",
        b"+5",
        b"1.5",
        b"1,5",
        b"1e400",
        b"1_0",
    ),
    *(b"nan", b"inf", b"-inf", b"9" * 30, b"2147483647", b"2147483648", b"-2147483649"),
    *(b"9223372036854775807", b"9223372036854775808", b"0x10", b"0.0000001", b"1/2", b"12:60"),
    *(b"true", b"on", b"null", b"None", b"[]", b"{}", b"[[[[", b"{{7*7}}", b"%s%n", b"$(id)"),
    *(b"2026-02-30", b"0001-01-01", b"9999-12-31", b"10000-01-01", b"2026-12-05", b"-2026-1-1"),
    *(b"25:61", b"00:00", b"12 mm", b"1.234,5", b"160-165", b"400", b"300000", b"1-1", b"1 2"),
    *(one.encode() for one in ("٣", "²", "①", "½", "五", "１２", "−5", "–3", "1\u00a0000", "5½")),
    *(one.encode() for one in ("ß", "ǅ", "ı", "İ", "e\u0301", "e" + "\u0301" * 300, "\u200b")),
    *(
        one.encode()
        for one in ("\u202eabc", "👩‍👩‍👧‍👦", "\U0010ffff", "\ufffe", "שלום", "a\u2028b")
    ),
    *(
        one.encode()
        for one in ("\ufeff", "\u0085", "\u00ad", "\ue000", "\U000e0041", "ﬁ", "ſ", "K")
    ),
    *(
        b"\x00",
        b"a\x00b",
        b"\x1b[31m",
        b"\x7f",
        b"\xff\xfe",
        b"\xc3(",
        b"\xed\xa0\x80",
        b"\xf4\x90",
    ),
    *(b"<script>alert(1)</script>", b"\"'><b>", b"' or 1=1 --", b"../../etc/passwd", b"..\\..\\x"),
    *(b"//evil.example", b"/\\evil.example", b"http://evil.example/", b"javascript:alert(1)"),
    *(b"x" * 300, b"x" * 5_000, b"7" * 5_000, b"a\r\n" * 2_000, b"A-B" * 100, b"=1+1", b"@SUM(1)"),
)
"""What stands in a field or behind an address instead of what belongs there."""

PARTS: Sequence[str] = (
    *("0", "-1", "00", "1.0", "１", "٣", "1 ", "%00", "%2e%2e", "..", "a" * 300, "%ff", "🤸"),
    *("9" * 40, "2147483648", "9223372036854775808", "uneven_bars", "before_use", "low_rail"),
    *("A" * 22, "'", "%0d%0aX:y", "null", "999999"),
)
"""What stands in an address where a number or a key belongs."""

METHODS = ("HEAD", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND", "get")

HEADS: Sequence[tuple[str, str]] = (
    ("Accept-Language", "de;q=a,*;q=9, en-" + "x" * 900),
    ("Accept-Language", "\u00e9\u00e9,;;;=,"),
    ("Accept", "*/*;q=,,"),
    ("User-Agent", ""),
    ("User-Agent", "\x01\x7f\u00ff" * 400),
    ("Referer", "http://[::1"),
    ("Origin", "http://[::1"),
    ("Origin", "null"),
    ("Origin", "\u00e9"),
    ("Host", "evil.example"),
    ("Host", "[::1"),
    ("Host", "localhost:99999999"),
    ("Host", ""),
    ("Range", "bytes=-,5-,9999-1,a-b"),
    ("If-None-Match", '"a, W/"'),
    ("If-Modified-Since", "Sun, 99 Foo 99999 99:99:99 GMT"),
    ("If-Range", "\u00ff"),
    ("X-Forwarded-For", "1.2.3.4, ::1, unknown, " + "9," * 300),
    ("X-Forwarded-Proto", "gopher"),
    ("X-Forwarded-Host", "evil.example"),
    ("Settingsdesk-Script", "\u00e9"),
    ("Sec-Fetch-Site", "cross-site"),
    ("Content-Length", "5"),
    ("Content-Length", "-1"),
    ("Content-Length", "many"),
    ("Content-Encoding", "gzip"),
    ("Transfer-Encoding", "chunked, chunked"),
    ("Authorization", "Basic \u00ff"),
    ("Cookie", "settingsdesk=" + "x" * 3000),
    ("Cookie", "settingsdesk=eyJzdGFtcCI6MX0.x.y; settingsdesk=a; =b; ;;\u00ff=\u00fe"),
    ("Cookie", 'settingsdesk="\\000\\377'),
)

KINDS: Sequence[str] = (
    *("application/json", "text/plain", "", "multipart/form-data", "application/xml", "\u00ff"),
    "multipart/form-data; boundary=",
    "multipart/form-data; boundary=x",
    "multipart/form-data; boundary=" + "y" * 500,
    "application/x-www-form-urlencoded; charset=utf-16",
    "application/x-www-form-urlencoded; charset=no-such",
)
"""Content types that a body has not, or that are none."""

BODIES: Sequence[bytes] = (
    *(b"", b"&&&&", b"=&=&=", b"%", b"%zz=%u1234", b"a" * 100_000, b"&a" * 9_000, b"a=1&" * 12_000),
    *(b"\x00" * 500, b'{"csrf_token": 1}', b"[" * 20_000, b"--x", b"--x\r\n", b"--x--\r\n"),
    b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\nb',
    b'--x\r\nContent-Disposition: form-data; name="a\r\n\r\nb\r\n--x--',
    b"--x\r\nContent-Disposition: form-data\r\n\r\nb\r\n--x--\r\n",
    b"--x\r\n" + b"A: b\r\n" * 3_000 + b"\r\nb\r\n--x--\r\n",
    b"--x\r\nContent-Disposition: form-data; name=a; filename*=utf-8''%ff\r\n\r\n\r\n--x--\r\n",
)

FILE_NAMES: Sequence[str] = (
    *("list.csv", "list.xlsx", "sheet.json", "photo.jpg", "", "..", "../../x.csv", "C:\\x\\y.xlsx"),
    *(
        "a" * 300 + ".csv",
        "nul",
        ".csv",
        "list.xlsx.exe",
        "\u202egnp.csv",
        "日本.csv",
        'a"b\r\nc.csv',
    ),
)

WIDE = "utf-16"
BOUNDARY = b"a-boundary-of-ours"

Typed = bytes | tuple[bytes, str]
"""What stands in a field: what was typed, or a file and its name."""


@dataclass(frozen=True)
class Form:
    """A form as it stood on a page, or as somebody pressed it."""

    address: str
    fields: tuple[tuple[str, Typed], ...]


def spoilt(form: Form, chance: random.Random, names: Sequence[str], ids: Sequence[int]) -> Form:
    """The form with one to three things about it that are odd.

    ``names`` are those of fields of any form, ``ids`` numbers of what stands on the desk.
    """
    fields = list(form.fields)
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3))):
        _WAYS[chance.randrange(len(_WAYS))](fields, chance, names, ids)
    return replace(form, fields=tuple(fields))


def typed(chance: random.Random, ids: Sequence[int]) -> bytes:
    """What nobody types; now and then a number of what is there."""
    return str(chance.choice(ids)).encode() if chance.random() < 0.2 else chance.choice(TYPED)


Fields = list[tuple[str, Typed]]


def _odd(fields: Fields, chance: random.Random, _names: Sequence[str], ids: Sequence[int]) -> None:
    if fields:
        at = chance.randrange(len(fields))
        name, before = fields[at]
        if isinstance(before, tuple):
            fields[at] = name, broken(before, chance)
        else:
            odd = typed(chance, ids)
            fields[at] = name, chance.choice((odd, odd, before + odd, odd + before))


def _left_out(fields: Fields, chance: random.Random, *_: Sequence[object]) -> None:
    if fields:
        fields.pop(chance.randrange(len(fields)))


def _twice(fields: Fields, chance: random.Random, _names: object, ids: Sequence[int]) -> None:
    if fields:
        name, before = chance.choice(fields)
        again = before if chance.random() < 0.3 else typed(chance, ids)
        fields.insert(chance.randrange(len(fields) + 1), (name, again))


def _many(fields: Fields, chance: random.Random, _names: object, ids: Sequence[int]) -> None:
    if fields:
        name, _ = chance.choice(fields)
        fields.extend((name, typed(chance, ids)) for _ in range(chance.choice((20, 700))))


def _another(
    fields: Fields, chance: random.Random, names: Sequence[str], ids: Sequence[int]
) -> None:
    fields.append((chance.choice(names) if names else "a", typed(chance, ids)))


def _exchanged(fields: Fields, chance: random.Random, *_: Sequence[object]) -> None:
    if fields:
        one, other = chance.randrange(len(fields)), chance.randrange(len(fields))
        (name, value), (other_name, other_value) = fields[one], fields[other]
        fields[one], fields[other] = (name, other_value), (other_name, value)


def _file_for_words(
    fields: Fields, chance: random.Random, _names: object, ids: Sequence[int]
) -> None:
    if fields:
        at = chance.randrange(len(fields))
        name, before = fields[at]
        is_file = isinstance(before, tuple)
        fields[at] = name, typed(chance, ids) if is_file else (b"a;b\n1;2\n", "a.csv")


_WAYS: Sequence[Callable[[Fields, random.Random, Any, Any], None]] = (
    *(_odd, _odd, _odd, _odd, _odd, _left_out, _left_out, _twice, _twice),
    *(_many, _another, _exchanged, _file_for_words),
)


def broken(file: tuple[bytes, str], chance: random.Random) -> tuple[bytes, str]:
    """A file of which something is cut off, turned over or in between, or that has another name."""
    content, name = file
    where = chance.randrange(len(content) + 1)
    signs = chance.choice(TYPED)
    flipped = bytearray(content)
    for _ in range(chance.choice((1, 3, 40))):
        if flipped:
            flipped[chance.randrange(len(flipped))] ^= 1 << chance.randrange(8)
    content = chance.choice(
        (
            *(content, content[:where], content[where:], bytes(flipped), bytes(flipped)),
            content[:where] + signs + content[where:],
            content[:where] + content,
            content.decode("utf-8", "replace").encode(WIDE),
            zlib.compress(content),
            b"",
        )
    )
    return content, name if chance.random() < 0.7 else chance.choice(FILE_NAMES)


def body_of(form: Form) -> tuple[bytes, str]:
    """What a browser writes of it, to the byte, and of which kind that is."""
    if any(isinstance(value, tuple) for _, value in form.fields):
        return _in_parts(form), f"multipart/form-data; boundary={BOUNDARY.decode()}"
    return urlencode(form.fields).encode(), "application/x-www-form-urlencoded"


def _in_parts(form: Form) -> bytes:
    body = BytesIO()
    for name, value in form.fields:
        body.write(
            b"--" + BOUNDARY + b'\r\nContent-Disposition: form-data; name="%b"' % _bare(name)
        )
        if isinstance(value, tuple):
            content, file_name = value
            body.write(b'; filename="%b"\r\nContent-Type: text/csv' % _bare(file_name))
        else:
            content = value
        body.write(b"\r\n\r\n" + content + b"\r\n")
    body.write(b"--" + BOUNDARY + b"--\r\n")
    return body.getvalue()


def _bare(name: str) -> bytes:
    signs = name.encode("utf-8", "replace")
    return signs.replace(b'"', b"%22").replace(b"\r", b"%0D").replace(b"\n", b"%0A")


def question(chance: random.Random, names: Sequence[str], usual: str, ids: Sequence[int]) -> str:
    """What stands behind the question mark: mostly nothing, or what is usual there."""
    draw = chance.random()
    if draw < 0.45:
        return usual
    odd = [
        (chance.choice(names).encode(), typed(chance, ids))
        for _ in range(chance.choice((1, 1, 2, 4)))
    ]
    asked = "&".join(f"{quote_from_bytes(name)}={quote_from_bytes(value)}" for name, value in odd)
    if draw < 0.6:
        asked = usual + "&" + asked
    elif draw < 0.65:
        asked = chance.choice(
            ("&&&", "=", "%", "%zz", "a" * 3000, "a[]=1", "%00=%00", "?", "a=" * 9)
        )
    return asked
