"""The signed cookie of a browser, at the price that a question of each second may have."""

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface, SessionMixin
from itsdangerous import URLSafeTimedSerializer

QUESTION_ENDPOINTS = frozenset({"station.latest", "bars.latest"})
"""What a page that stays open asks every second or two."""


class DeskSessions(SecureCookieSessionInterface):
    """Flask's own sessions; what signs them is made once, and not for each request.

    Every page sends its cookie again, so that it lasts from the last visit on. A question of an
    open page does not: it is no visit, and the cookie would be most of its answer.
    """

    def __init__(self) -> None:
        self._serializer: URLSafeTimedSerializer | None = None

    def get_signing_serializer(self, app: Flask) -> URLSafeTimedSerializer | None:
        """What signs the cookies of the application; its key stays the same while it runs."""
        if self._serializer is None:
            self._serializer = super().get_signing_serializer(app)
        return self._serializer

    def should_set_cookie(self, app: Flask, session: SessionMixin) -> bool:
        """Whether the answer carries the cookie: one that was changed always."""
        if request.endpoint in QUESTION_ENDPOINTS:
            return session.modified
        return super().should_set_cookie(app, session)
