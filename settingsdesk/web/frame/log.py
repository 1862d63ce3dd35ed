"""The log: one line of JSON for whatever changed something, was refused, or went wrong.

It has who by account number, from where, what by the name of the page, and how it ended. Never an
address of a page, which may be a card's code; never a name, a code, a setting or a password; of an
error its kind and where in the program it arose, not what it says.
"""

import json
import logging
import traceback
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from flask import Flask, Response, g, request

OURS = "settingsdesk."
"""Loggers whose words are written here, with no values in them but numbers and kinds."""

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LIMITED, REFUSED, FAILED, DONE = "limited", "refused", "failed", "done"

log = logging.getLogger(__name__)


class JsonLines(logging.Formatter):
    """One line for each record, whatever is in it; ends of lines in it are escaped."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as JSON; of another program's only what was written before any value."""
        moment = datetime.fromtimestamp(record.created, UTC)
        line: dict[str, Any] = {
            "time": moment.isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
        }
        told: Mapping[str, Any] | None = getattr(record, "told", None)
        if told is not None:
            line |= told
        elif record.name.startswith(OURS):
            line["event"] = record.getMessage()
        else:
            line["event"] = record.name
            if record.args:  # else the words may have values in them already
                line["about"] = str(record.msg)
        if record.exc_info and record.exc_info[0] is not None:
            line["error"] = record.exc_info[0].__name__
            line["at"] = _places(record.exc_info[2])
        return json.dumps(line, ensure_ascii=True, default=str)


def _places(trace: Any) -> list[str]:
    """Where an error went through, without any value: "…/rotation.py:120 order_anew"."""
    frames = traceback.extract_tb(trace)
    return [
        f"{'/'.join(frame.filename.split('/')[-2:])}:{frame.lineno} {frame.name}"
        for frame in frames
    ]


def begin(handler: logging.Handler) -> None:
    """Have everything that this process logs written there, line by line."""
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.INFO)


def tell_answers(app: Flask) -> None:
    """Log every answer that changed something, refused or failed; looking at pages is not told."""
    app.after_request(_tell)


def _tell(response: Response) -> Response:
    status = response.status_code
    if request.method in SAFE_METHODS and status < 400:
        return response
    coach, phone = g.get("coach"), g.get("phone")
    told = {
        "event": request.endpoint or "no such page",
        "method": request.method,
        "account": g.get("signed_in_now") or (coach.account_id if coach else None),
        "phone": phone.phone_id if phone else None,
        "address": request.remote_addr,
        "result": _result(status),
        "status": status,
    }
    level = logging.INFO if status < 400 else logging.WARNING
    log.log(level, "answered", extra={"told": told})
    return response


def _result(status: int) -> str:
    """How it ended; a form that was given back with a mistake in it is refused."""
    if status == 429:
        return LIMITED
    if status >= 500:
        return FAILED
    return DONE if status < 400 else REFUSED
