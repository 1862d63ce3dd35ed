"""In which language a request is answered: so far in English, whoever asks."""

from collections.abc import Iterable

from flask import Flask, g, has_app_context
from flask_babel import (  # type: ignore[import-untyped]  # it ships no types
    Babel,
    get_locale,
    get_translations,
)

from settingsdesk.domain.base.sentences import Between, Series
from settingsdesk.words.language import CATALOGUE, DOMAIN, ENGLISH, Language


def speak(app: Flask) -> None:
    """Let the application's templates say their sentences by the catalogue."""
    Babel(
        app,
        default_domain=DOMAIN,
        default_translation_directories=str(CATALOGUE),
        locale_selector=lambda: ENGLISH.locale,
    )
    app.add_template_filter(said)
    app.add_template_filter(listed)
    app.add_template_global(language)


def language() -> Language:
    """That of this request, found out once; English where nobody asks for anything."""
    if not has_app_context():
        return ENGLISH
    if "language" not in g:
        g.language = Language(get_locale() or ENGLISH.locale, get_translations())
    spoken: Language = g.language
    return spoken


def said(words: str) -> str:
    """Words of the program in the reader's language; all other text unchanged."""
    return language().said(words)


def listed(parts: Iterable[object], between: Between = "and") -> str:
    """Several names or words, as the language lists them: "front end and back end"."""
    return said(Series([str(part) for part in parts], between))
