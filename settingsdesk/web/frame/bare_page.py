"""A page that is made without the application, for whoever does not get that far."""

from collections.abc import Iterable

from markupsafe import escape
from werkzeug.wrappers import Response

from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.web.frame.security import ALWAYS
from settingsdesk.words.language import ENGLISH, Language


def bare_page(
    status: int,
    heading: Sentence,
    sentence: Sentence,
    headers: Iterable[tuple[str, str]] = (),
    language: Language = ENGLISH,
) -> Response:
    """What it was and what to do; it asks for no style sheet, which might be refused as well."""
    title, text = (escape(language.said(words)) for words in (heading, sentence))
    body = (
        f'<!doctype html>\n<html lang="{language.tag}" dir="{language.direction}">\n'
        '<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{title}</title>\n<h1>{title}</h1>\n<p>{text}</p>\n</html>\n"
    )
    page = Response(body, status, mimetype="text/html")
    page.headers.extend([*ALWAYS, *headers])
    page.headers["Cache-Control"] = "no-store"
    page.headers["Referrer-Policy"] = "no-referrer"
    return page
