"""The application: one factory, everything it is made of in one place."""

import re
import time
from collections.abc import Callable, Mapping
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

from flask import Flask, Response, g, request
from jinja2 import StrictUndefined
from werkzeug.routing import BaseConverter, IntegerConverter, Map

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk import opening
from settingsdesk.desk.accounts.failed_tries import Attempts, FailedTries
from settingsdesk.desk.backups import begun
from settingsdesk.desk.cards.code_address import THIS_MACHINE, USUAL_PORT, Reach
from settingsdesk.desk.cards.code_address import reach as find_reach
from settingsdesk.desk.rotations.searches import Searches
from settingsdesk.desk.workers import workers_of
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.figures import lower_first, minutes_alone, upper_first
from settingsdesk.resources import folder
from settingsdesk.store.base import GREATEST_NUMBER
from settingsdesk.store.work import Store
from settingsdesk.web.frame import errors, log, security
from settingsdesk.web.frame.bodies import MOST_FORM_BYTES, MOST_REQUEST_BYTES, bound_body
from settingsdesk.web.frame.by_get import by_get
from settingsdesk.web.frame.forms import described_by, margin_notes
from settingsdesk.web.frame.hosts import in_front, names_in, own_names
from settingsdesk.web.frame.kept import Kept
from settingsdesk.web.frame.language import speak
from settingsdesk.web.frame.lean_files import lean_files
from settingsdesk.web.frame.load import refuse_too_much
from settingsdesk.web.frame.paces import Load, counts_of
from settingsdesk.web.frame.sessions import DeskSessions
from settingsdesk.web.frame.shown import loud, signed, unbroken
from settingsdesk.web.frame.svg import to_svg
from settingsdesk.web.frame.tables import with_heads
from settingsdesk.web.frame.work import OURS, Desk, first_page, other_clubs
from settingsdesk.web.rooms import BLUEPRINTS, rooms

STATIC = Path(__file__).parent / "static"

IDLE_DAYS = 7
"""After so many days without a visit a coach signs in again."""


def create_app(
    *,
    data: DataFolder | None = None,
    store: Store | None = None,
    reach: Reach | None = None,
    front: Front | None = None,
    listening: str = THIS_MACHINE,
    testing: bool = False,
    clock: Callable[[], float] | None = None,
) -> Flask:
    """The application on a data folder; without one, on the folder the environment names.

    A ``store`` that is given must have its tables already. ``reach`` is where the codes on cards
    point to; without one, this machine. ``front`` is what stands in front of the desk; without it,
    what the data folder remembers. ``listening`` is the address that is listened on. Refused by
    ``opening.make_ready`` where the folder has not the key that made the cards.
    """
    data = data or DataFolder.from_environment()
    front = front or data.front()
    if store is None:
        store = begun.opened(data)
    else:
        opening.make_ready(store, data)
    app = DeskApp(
        OURS,
        template_folder=str(folder("templates")),
        static_folder=str(STATIC),
        static_url_path="/static",
    )
    app.url_map.converters |= {"int": RowNumber, "digits": Digits}
    app.config.from_mapping(_settings(data, https=front.https))
    app.session_interface = DeskSessions()
    app.testing = testing
    app.json.ensure_ascii = False  # type: ignore[attr-defined]  # of Flask's own provider
    desk = new_desk(data, store, reach, clock)
    app.extensions[OURS] = desk
    names = own_names(listening) | names_in(desk.reach.url)
    app.wsgi_app = in_front(app.wsgi_app, front, names)  # type: ignore[assignment, method-assign]  # as Flask advises
    name_versions(app)
    log.tell_answers(app)
    app.before_request(bound_body)
    app.before_request(refuse_too_much)
    security.guard(app)
    errors.handle_errors(app)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    _set_up_templates(app)
    speak(app)
    return app


class DeskApp(Flask):
    """A Flask of which nothing is a coroutine, and whose files are lean.

    Flask asks that of each of the dozen functions around a request, and every answer costs as much
    as a small function itself.
    """

    lean_files: Mapping[str, bytes] = lean_files(STATIC)

    def send_static_file(self, filename: str) -> Response:
        """A file of our own; a style sheet or a script without its comments."""
        content = self.lean_files.get(filename)
        if content is None:
            return super().send_static_file(filename)
        kind = "text/css" if filename.endswith(".css") else "text/javascript"
        answer = Response(content, mimetype=kind)
        answer.cache_control.no_cache = True  # but what has its version in its address
        answer.add_etag()
        answer.make_conditional(request)
        return answer

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """What is called as it stands."""
        return func


def new_desk(
    data: DataFolder,
    store: Store,
    reach: Reach | None = None,
    clock: Callable[[], float] | None = None,
) -> Desk:
    """What the application on that data folder and store keeps, as it begins.

    Without a ``clock``, what is counted in memory goes by one that is never put back, and what
    outlives a restart by that of the machine.
    """
    data.card_key()  # one that goes later is missed, and not made again
    workers, clock_of_load = workers_of(data), clock or time.monotonic
    return Desk(
        store,
        data,
        workers,
        Attempts(data.secret_key(), clock_of_load, workers),
        FailedTries(store, data.secret_key(), clock or time.time),
        reach or find_reach(data.public_url(), THIS_MACHINE, USUAL_PORT),
        Searches(workers=workers),
        Kept(workers),
        Load(data.secret_key(), clock_of_load, counts_of(workers)),
    )


def name_versions(app: Flask) -> None:
    """Put into the address of each style sheet and script what it holds: browsers then keep it.

    A phone in the hall loads each of them once, and another one as soon as it changes.
    """
    versions = {
        file.name: sha256(file.read_bytes()).hexdigest()[:8] for file in sorted(STATIC.iterdir())
    }

    @app.url_defaults
    def name_version(endpoint: str, values: dict[str, Any]) -> None:
        version = versions.get(str(values.get("filename"))) if endpoint == "static" else None
        if version:
            values.setdefault("v", version)


class RowNumber(IntegerConverter):
    """A number in an address that a row can have: one with more digits is no page of ours."""

    regex = r"\d{1,18}"

    def __init__(self, rules: Map, *told: Any, **named: Any) -> None:
        super().__init__(rules, *told, **{"max": GREATEST_NUMBER, **named})


class Digits(BaseConverter):
    """The digits behind a card's code, few enough to be a line of lengths."""

    regex = r"[0-9]{1,40}"


def _settings(data: DataFolder, *, https: bool) -> dict[str, Any]:
    return {
        "SECRET_KEY": data.secret_key(),
        "MAX_CONTENT_LENGTH": MOST_REQUEST_BYTES,
        "MAX_FORM_MEMORY_SIZE": MOST_FORM_BYTES,
        "PERMANENT_SESSION_LIFETIME": timedelta(days=IDLE_DAYS),
        "SESSION_COOKIE_NAME": "__Host-settingsdesk" if https else "settingsdesk",
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_SECURE": https,
        "PREFERRED_URL_SCHEME": "https" if https else "http",
        # A form may stay open for a whole training; its token ends with the session.
        "WTF_CSRF_TIME_LIMIT": None,
        # security.refuse_requests_from_elsewhere looks at the origin, also where no referrer is.
        "WTF_CSRF_SSL_STRICT": False,
    }


def _set_up_templates(app: Flask) -> None:
    """A name that no page was given is a mistake of ours, not an empty place on the page."""
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    app.add_template_filter(to_svg, "svg")
    app.add_template_filter(described_by, "described_by")
    app.add_template_filter(margin_notes, "margin_notes")
    app.add_template_filter(with_heads, "with_heads")
    app.add_template_filter(lower_first, "lower_first")
    app.add_template_filter(upper_first, "upper_first")
    app.add_template_filter(as_id, "as_id")
    app.add_template_filter(unbroken, "unbroken")
    app.add_template_filter(grouped, "in_groups")
    app.add_template_filter(signed, "signed")
    app.add_template_filter(loud, "loud")
    app.add_template_global(minutes_alone, "minutes")
    app.add_template_global(by_get)
    app.context_processor(
        lambda: {
            "coach": g.get("coach"),
            "rooms": rooms(),
            "home": first_page(),
            "other_clubs": other_clubs,
        }
    )


def as_id(words: str) -> str:
    """Words as the id of an element: "High rail, cm" as "high-rail-cm"."""
    return re.sub(r"[^\w]+", "-", words.casefold()).strip("-")
