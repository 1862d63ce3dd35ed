"""The languages that strangers are spoken to in, each with its catalogue.

A catalogue is a file of messages as translators write it. It is read when somebody first asks for
its language, and kept for as long as the process runs: a file compiled from it would be a second
one that somebody forgets to make anew, and would save some hundredths of a second once.
"""

import re
from collections.abc import Mapping
from functools import cache
from gettext import GNUTranslations
from io import BytesIO
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from settingsdesk.words.language import ENGLISH, Language

DOMAIN = "settingsdesk"
"""The name of the catalogue's files: of the messages, and of each translation."""

CATALOGUE = Path(__file__).parent
"""Where they lie."""

NAMES: Mapping[str, str] = {
    "en": "English",
    "de": "Deutsch",
    "fr": "Français",
    "es": "Español",
    "it": "Italiano",
    "pt": "Português",
    "pl": "Polski",
    "ja": "日本語",
    "ar": "العربية",
}
"""Every language by its tag, as those call it who speak it."""

_READ_BY = re.compile(r"^#? *Read by a native speaker: *(?P<who>.*)$", re.MULTILINE)
NOBODY = "not yet"
"""What stands behind that line at the top of a catalogue until one has read it."""


def file_of(tag: str) -> Path:
    """The catalogue of a language."""
    return CATALOGUE / tag / "LC_MESSAGES" / f"{DOMAIN}.po"


def catalogue_of(tag: str) -> Catalog:
    """What its file holds."""
    with file_of(tag).open("rb") as file:
        return read_po(file, locale=tag, abort_invalid=True)


def is_unread(catalogue: Catalog) -> bool:
    """Whether no native speaker has read it: the line at its top names nobody."""
    found = _READ_BY.search(catalogue.header_comment)
    return found is None or found["who"].strip().rstrip(".").lower() in ("", NOBODY)


@cache
def spoken(tag: str) -> Language:
    """A language by its tag; English where there is none of that tag."""
    if tag == ENGLISH.tag or tag not in NAMES:
        return ENGLISH
    catalogue, compiled = catalogue_of(tag), BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return Language(Locale.parse(tag), GNUTranslations(compiled), unread=is_unread(catalogue))
