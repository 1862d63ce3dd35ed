"""A press sent again and again, each time with one of its fields left out.

No browser does that by itself, but a page from before an upgrade does, and whoever types an
address. It is refused with words, or the field counts as empty; it is never a fault of the desk.
"""

from collections.abc import Iterator
from io import BytesIO
from urllib.parse import urlsplit

from flask import Flask

from tests.web.every_press import Hall
from tests.web.pages import Page, Reader

BEFORE, AFTER = "before the press", "after the press"
FAULT = 500


def leaving_out(hall: Hall, name: str, faults: list[str]) -> type[Reader]:
    """A browser like the hall's that makes the press ``name``, and then tries each field of it.

    The desk is laid back before each, and is at the end as the press left it. ``faults`` gets the
    press and the field of every one that was not answered properly.
    """
    endpoint, desk = name.partition(":")[0], hall.desk

    class Omitting(hall.kind):  # type: ignore[misc, name-defined]  # a class that is chosen
        def post(self, address: str, values: dict[str, object]) -> Page:
            pressed, _ = self.app.url_map.bind("localhost").match(urlsplit(address).path, "POST")
            if pressed != endpoint:
                return super().post(address, values)
            desk.keep(BEFORE)
            cookie = _cookie(self)
            tried = list(_each_left_out(values))
            page = super().post(address, values)
            desk.keep(AFTER)
            for left_out, others in tried:
                desk.lay(BEFORE)
                if not _answered(self.app, cookie, address, others):
                    faults.append(f"{name}: {left_out}")
            desk.lay(AFTER)
            return page

    return Omitting


def _each_left_out(values: dict[str, object]) -> Iterator[tuple[str, dict[str, object]]]:
    for name in values:
        yield name, {other: _again(value) for other, value in values.items() if other != name}


def _again(value: object) -> object:
    """A file can be sent once only."""
    if isinstance(value, tuple) and isinstance(value[0], BytesIO):
        return BytesIO(value[0].getvalue()), value[1]
    return value


def _answered(app: Flask, cookie: str, address: str, values: dict[str, object]) -> bool:
    """Whether a browser with that cookie gets an answer that is none of a fault."""
    client = app.test_client()
    client.set_cookie(app.config["SESSION_COOKIE_NAME"], cookie)
    try:
        with client.post(address, data=values) as answer:
            return answer.status_code < FAULT
    except Exception:  # whatever it is, a person would read of a fault
        return False


def _cookie(reader: Reader) -> str:
    cookie = reader.client.get_cookie(reader.app.config["SESSION_COOKIE_NAME"])
    return cookie.value if cookie else ""
