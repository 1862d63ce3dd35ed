"""In which language and unit a request is answered.

Coaches' pages are English. What strangers read is in the language that they chose on a page, or
else in the one that their browser asks for first of those that there are; lengths are in the unit
that they chose, or else in the club's. Both choices are a link, which leads back to the page that
it stands on, and a cookie that says nothing else: no script, no session, nothing on the desk.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import cast
from urllib.parse import quote, urlencode

from flask import Flask, Response, current_app, g, has_request_context, redirect, request, url_for
from jinja2 import pass_eval_context
from jinja2.nodes import EvalContext
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from settingsdesk.domain.base.sentences import Between, Sentence, Series, with_whole_figures
from settingsdesk.domain.base.units import Unit
from settingsdesk.web.frame.who_may import CAPABILITY_ENDPOINTS, SAFE_METHODS, STATION_ENDPOINTS
from settingsdesk.words.language import APART, ENGLISH, TOGETHER, Language
from settingsdesk.words.languages import NAMES, spoken

SPOKEN_ENDPOINTS = (CAPABILITY_ENDPOINTS | STATION_ENDPOINTS) - {"invitation.take"} | {
    *("crew_sheets.show", "privacy.page", "stations.sheet", "station.enter", "station.waiting"),
    "station.worker",
}
"""The pages that strangers read, some of them over a coach's shoulder or on paper."""

PINNED = "stations.sheet"
"""A page that hangs on paper at the apparatus: in the club's language as other paper is, unless
another is chosen on it."""

LANGUAGE, UNIT = "lang", "unit"
"""What a link of the choice says in its address."""

KEPT_ARGUMENTS = ("apparatus", "hands", "out", "whole")
"""What of a page's address goes into the links of the choice; whatever else stood there is not the
page's own, and a page that is kept for everybody must not have it."""

UNITS: Mapping[Unit, Sentence] = {
    Unit.CENTIMETRE: Sentence("Centimetres"),
    Unit.INCH: Sentence("Inches"),
}
"""What a reader may have lengths in."""

STOPS = (".", "!", "?", "…", "。", "！", "？", "؟")
"""What ends a sentence of the program, or of people who write in any of the languages."""

READER = "reader"
COOKIE = "settingsdesk-reader"
A_YEAR_S = 365 * 24 * 3600


@dataclass(frozen=True, slots=True)
class Choice:
    """One language or unit that a reader may choose: its tag, its own name, and its address."""

    tag: str
    name: str
    address: str
    is_taken: bool


def speak(app: Flask) -> None:
    """Let the application's templates say their sentences by the catalogue of who reads them."""
    app.extensions[READER] = _reader
    app.jinja_env.globals.update(
        _=_gettext,
        ngettext=_ngettext,
        to_say=Sentence,
        language=language,
        in_english=in_english,
        choices=choices,
    )
    app.add_template_filter(said)
    app.add_template_filter(listed)
    app.add_template_filter(in_full)
    app.add_template_filter(apart)
    app.add_template_filter(as_printed)
    app.before_request(keep_choice)
    app.after_request(say_what_it_goes_by)


def language() -> Language:
    """That of this request, found out once; English where nobody asks for anything."""
    if not has_request_context():
        return ENGLISH
    if "language" not in g:
        g.language = cast("Callable[[], Language]", current_app.extensions[READER])()
    found: Language = g.language
    return found


def said(words: str) -> str:
    """Words of the program in the reader's language, no figure torn; all other text unchanged."""
    return words if isinstance(words, Markup) else with_whole_figures(language().said(words))


def listed(parts: Iterable[object], between: Between = "and") -> str:
    """Several names or words, as the language lists them: "front end and back end"."""
    words = [part if isinstance(part, str) else str(part) for part in parts]
    return said(Series(words, between))


def in_full(words: str) -> str:
    """Words that may go on as they stand, with the stop that ends a sentence in that language."""
    if words.endswith(STOPS):
        return said(words)
    return said(Sentence("%(sentence)s.", sentence=words))


def apart(fact: object) -> object:
    """A name, a mark, a length or a code that stands alone, in its own direction."""
    if isinstance(fact, str) and not isinstance(fact, Markup):
        fact = with_whole_figures(fact)
    return Markup("<bdi>{}</bdi>").format(fact) if language().keeps_apart(fact) else fact


def as_printed(words: str) -> str:
    """The same with lengths in the unit of the card that it is compared with."""
    return with_whole_figures(language().in_unit(None).said(words))


def in_english(said_by: Callable[[], str]) -> str:
    """What a part of a template says in English, with the reader's lengths."""
    here = language()
    g.language = ENGLISH.in_unit(here.unit)
    try:
        return said_by()
    finally:
        g.language = here


def choices() -> tuple[list[Choice], list[Choice]]:
    """The languages and the units that a reader may choose on this page.

    None on a coach's page, nor where there is no page to lead back to.
    """
    if request.endpoint is None or not _is_spoken():
        return [], []
    here = language()
    return (
        [Choice(tag, name, _with({LANGUAGE: tag}), tag == here.tag) for tag, name in NAMES.items()],
        [
            Choice(unit.value, said(words), _with({UNIT: unit.value}), unit is here.unit)
            for unit, words in UNITS.items()
        ],
    )


def keep_choice() -> AnyResponse | None:
    """Keep what a link of the choice says, and lead back to the page that it stands on."""
    if request.method not in SAFE_METHODS or request.endpoint not in SPOKEN_ENDPOINTS:
        return None
    if not {LANGUAGE, UNIT} & request.args.keys():
        return None
    tag, unit = _kept()
    asked_tag, asked_unit = request.args.get(LANGUAGE, ""), request.args.get(UNIT, "")
    tag = asked_tag if asked_tag in NAMES else tag
    unit = asked_unit if asked_unit in _UNITS else unit
    here = quote(f"{request.script_root}/{request.path.lstrip('/')}")
    response = redirect(f"{here}{_with({})}".removesuffix("?"), 303)
    response.set_cookie(
        _cookie_name(),
        f"{tag}.{unit}",
        max_age=A_YEAR_S,
        secure=bool(current_app.config["SESSION_COOKIE_SECURE"]),
        httponly=True,
        samesite="Lax",
    )
    return response


def say_what_it_goes_by(response: Response) -> Response:
    """Tell whoever keeps answers between reader and desk that another reader may get another."""
    if _is_spoken():
        response.vary.update(["Accept-Language", "Cookie"])
    return response


_UNITS = {unit.value: unit for unit in Unit}


def _is_spoken() -> bool:
    """Whether strangers read the page; who is not signed in reads that there is none, too."""
    if request.endpoint is None:
        return not g.get("coach")
    return request.endpoint in SPOKEN_ENDPOINTS


def _reader() -> Language:
    if not _is_spoken():
        return ENGLISH
    tag, unit = _kept()
    phone, coach = g.get("phone"), g.get("coach")
    if not tag and coach and request.endpoint == PINNED and coach.paper_language != ENGLISH.tag:
        tag = coach.paper_language
    own_unit = phone.length_unit if phone else None
    return spoken(tag or _asked_for()).in_unit(_UNITS.get(unit, own_unit))


def _asked_for() -> str:
    """The first language of the browser's list that there is, whatever country it is asked for."""
    for wish, quality in request.accept_languages:
        tag = wish.partition("-")[0].lower()
        if tag in NAMES and quality > 0:
            return tag
    return ENGLISH.tag


def _kept() -> tuple[str, str]:
    """The language and the unit that this reader chose; empty where nothing was."""
    tag, _, unit = request.cookies.get(_cookie_name(), "").partition(".")
    return tag if tag in NAMES else "", unit if unit in _UNITS else ""


def _cookie_name() -> str:
    return f"__Host-{COOKIE}" if current_app.config["SESSION_COOKIE_SECURE"] else COOKIE


def _with(chosen: dict[str, str]) -> str:
    """This page with a choice in its address; the station's where it is the answer to a press."""
    rule = request.url_rule
    if rule is not None and "GET" not in (rule.methods or ()):
        return f"{url_for('station.now')}?{urlencode(chosen)}"
    kept = {name: request.args[name] for name in KEPT_ARGUMENTS if name in request.args}
    query = urlencode({**kept, **chosen})
    return f"?{query}"


@pass_eval_context
def _gettext(context: EvalContext, form: str, /, **facts: object) -> str:
    """A sentence of a template, with its facts in their places."""
    here = language()
    return _filled(here, context, here.catalogue.gettext(form), facts)


@pass_eval_context
def _ngettext(context: EvalContext, one: str, many: str, num: int, /, **facts: object) -> str:
    """The same about a number of things."""
    here = language()
    form = here.catalogue.ngettext(one, many, num)
    return _filled(here, context, form, {**facts, "num": num})


def _filled(here: Language, context: EvalContext, form: str, facts: dict[str, object]) -> str:
    placed = {name: _in_its_place(here, fact) for name, fact in facts.items()}
    return (Markup(form) if context.autoescape else form) % placed  # noqa: S704  # ours, nobody's


def _in_its_place(here: Language, fact: object) -> object:
    said = here.said(fact) if isinstance(fact, str) and not isinstance(fact, Markup) else fact
    return Markup("{}{}{}").format(APART, said, TOGETHER) if here.keeps_apart(said) else said
