"""A press sent again and again, each time with one of its fields left out or spoilt.

No browser does that by itself, but a page from before an upgrade does, whoever types an address,
and whatever somebody pastes. It is refused with words, or counts as empty or as it was cleaned; it
is never a fault of the desk, and what is said of it is no longer than a person reads.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from html import unescape
from io import BytesIO
from itertools import cycle, islice
from urllib.parse import urlencode, urlsplit

from flask import Flask

from tests.web.everybody import Hall
from tests.web.pages import Page, Reader, weighed

TOKEN_FIELD = "csrf_token"
BEFORE, AFTER = "before the press", "after the press"
FAULT, REFUSED = 500, 400
LONGEST_SAID = 600
"""Characters of one line about a field."""

LONE_SURROGATE = b"\xed\xa0\x80"
"""As a program sends it; no character has this form."""

_TAG = re.compile(r"<[^>]*>")
_NUMBER = re.compile(r"\d+")

Sent = list[tuple[str, object]]
SPOILT: Mapping[str, Callable[[bytes], list[object]]] = {
    "as a file": lambda typed: [(BytesIO(typed), "words.txt")],
    "twice": lambda typed: [typed, typed],
    "of 5,000 characters": lambda _: [b"x" * 5_000],
    "of 100,000 figures": lambda _: [b"7" * 100_000],
    "of many lines": lambda typed: [b"\r\n".join([typed or b"7"] * 50_000)[:100_000]],
    "with control signs": lambda typed: [b"\x00\x1b\x08" + typed + b"\x7f\xe2\x80\xae\x00"],
    "with a lone surrogate": lambda typed: [typed + LONE_SURROGATE],
}


def spoiling(
    hall: Hall, name: str, faults: list[str], ways: Iterator[str] | None = None
) -> type[Reader]:
    """A browser like the hall's that makes the press ``name``, and then spoils each field of it.

    Each field is left out, and spoilt in the next one of ``ways``; in all where none are given. Of
    fields that differ by their numbers alone, those of a table's rows, the first and the last are.
    The desk is laid back before each, and is at the end as the press left it. ``faults`` gets the
    press and the field of every one that was not answered properly.
    """
    endpoint, desk = name.partition(":")[0], hall.desk

    class Spoiling(hall.kind):  # type: ignore[misc, name-defined]  # a class that is chosen
        def post(self, address: str, values: dict[str, object]) -> Page:
            pressed, _ = self.app.url_map.bind("localhost").match(urlsplit(address).path, "POST")
            if pressed != endpoint:
                return super().post(address, values)
            desk.keep(BEFORE)
            cookie = _cookie(self)
            tried = list(_each_spoilt(values, ways))
            page = super().post(address, values)
            desk.keep(AFTER)
            for how, sent in tried:
                desk.lay(BEFORE)
                if wrong := _what_is_wrong(self.app, cookie, address, sent):
                    faults.append(f"{name}: {how}: {wrong}")
            desk.lay(AFTER)
            return page

    return Spoiling


def _each_spoilt(
    values: dict[str, object], ways: Iterator[str] | None
) -> Iterator[tuple[str, Sent]]:
    for name in _of_each_kind(values):
        value = values[name]
        others = [(other, value) for other, value in values.items() if other != name]
        yield f"{name} left out", _again(others)
        if name == TOKEN_FIELD or not isinstance(value, str | int):
            continue
        for way in SPOILT if ways is None else islice(ways, 1):
            spoilt = SPOILT[way](str(value).encode())
            yield f"{name} {way}", _again([*others, *((name, one) for one in spoilt)])


def _of_each_kind(values: Iterable[str]) -> list[str]:
    first, last = (
        {_NUMBER.sub("0", name): name for name in some} for some in (reversed(list(values)), values)
    )
    chosen = {*first.values(), *last.values()}
    return [name for name in values if name in chosen]


def every_way() -> Iterator[str]:
    """The ways of spoiling a field, one after the other and again."""
    return cycle(SPOILT)


def _again(sent: Sent) -> Sent:
    """A file can be sent once only."""
    return [
        (name, (BytesIO(value[0].getvalue()), value[1]) if _is_file(value) else value)
        for name, value in sent
    ]


def _is_file(value: object) -> bool:
    return isinstance(value, tuple) and isinstance(value[0], BytesIO)


def _what_is_wrong(app: Flask, cookie: str, address: str, sent: Sent) -> str:
    """Why a browser with that cookie gets no proper answer; nothing where it does."""
    client = app.test_client()
    client.set_cookie(app.config["SESSION_COOKIE_NAME"], cookie)
    try:
        with client.post(address, **_posted(sent)) as answer:
            if answer.status_code >= FAULT:
                return f"answered {answer.status_code}"
            if answer.status_code == REFUSED and answer.mimetype == "text/html":
                longest = max(map(len, _said_in(answer.text)), default=0)
                return f"{longest} characters are said" if longest > LONGEST_SAID else ""
            return ""
    except Exception as fault:  # whatever it is, a person would read of a fault
        return f"{type(fault).__name__}: {fault}"[:200]
    finally:
        weighed(app)


def _posted(sent: Sent) -> dict[str, object]:
    """The body as a browser writes it: of bytes, which a lone surrogate needs."""
    listed = [(name, one) for name, value in sent for one in _each(value)]
    if not any(_is_file(value) for _, value in listed):
        body = urlencode([(name, _bytes(value)) for name, value in listed])
        return {"data": body, "content_type": "application/x-www-form-urlencoded"}
    data: dict[str, list[object]] = {}
    for name, value in listed:
        text = value.decode(errors="replace") if isinstance(value, bytes) else value
        data.setdefault(name, []).append(text)
    return {"data": data}


def _each(value: object) -> list[object]:
    return value if isinstance(value, list) else [value]


def _bytes(value: object) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()


def _said_in(page: str) -> list[str]:
    """The lines of the summary of what is wrong with a form."""
    summary = page.partition("data-error-summary")[2].partition("</ul>")[0]
    return [unescape(_TAG.sub("", line)) for line in summary.split("<li>")[1:]]


def _cookie(reader: Reader) -> str:
    cookie = reader.client.get_cookie(reader.app.config["SESSION_COOKIE_NAME"])
    return cookie.value if cookie else ""
