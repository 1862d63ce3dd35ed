#!/usr/bin/env python3
"""Gathers the sentences that strangers read into settingsdesk/words/settingsdesk.pot.

Run it after a sentence was changed; tests/words/test_catalogue.py fails until then. A translation
begins with that file:

    pybabel init -D settingsdesk -i settingsdesk/words/settingsdesk.pot -d settingsdesk/words -l de
    pybabel compile -D settingsdesk -d settingsdesk/words
"""

import tomllib
from collections.abc import Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from settingsdesk.resources import PACKAGE, folder
from settingsdesk.words.languages import CATALOGUE, DOMAIN

POT = CATALOGUE / f"{DOMAIN}.pot"

IN_THE_PROGRAM: Mapping[str, Any] = {"Sentence": None, "marked": None, "Counted": (1, 2)}
IN_TEMPLATES: Mapping[str, Any] = {"_": None, "to_say": None, "ngettext": (1, 2)}
"""What marks a message, and which of its arguments are the English forms."""

HEADER = """\
# The sentences of settingsdesk that strangers read.
# Gathered by scripts/catalogue.py; not to be edited by hand.
#
msgid ""
msgstr ""
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

"""

Message = str | tuple[str, ...]
"""A sentence, or the two forms of one about a number of things."""


def gathered() -> Catalog:
    """Every message once, without the places where it stands, which change from day to day."""
    catalogue = Catalog(project=DOMAIN, charset="utf-8")
    for message in sorted(set(_messages()), key=str):
        catalogue.add(message)
    return catalogue


def written(catalogue: Catalog) -> bytes:
    """The file: the same messages give the same bytes."""
    file = BytesIO()
    write_po(file, catalogue, no_location=True, omit_header=True, width=100)
    return HEADER.encode() + file.getvalue()


def _messages() -> Iterator[Message]:
    yield from _extracted(PACKAGE, "**.py", "python", IN_THE_PROGRAM)
    yield from _extracted(folder("templates"), "**.html", "jinja2", IN_TEMPLATES)
    yield from _of_the_check_lists(folder("seed") / "checks.toml")


def _extracted(
    root: Path, files: str, method: str, keywords: Mapping[str, Any]
) -> Iterator[Message]:
    # A template that cannot be read must not look like one without sentences.
    options = {files: {"silent": "false"}}
    found = extract_from_dir(
        root, method_map=[(files, method)], options_map=options, keywords=keywords
    )
    for _file, _line, message, _comments, _context in found:
        yield tuple(message) if isinstance(message, tuple | list) else message


def _of_the_check_lists(file: Path) -> Iterator[Message]:
    """What is looked at after a change-over, as the shipped lists have it."""
    for item in tomllib.loads(file.read_text("utf-8"))["item"]:
        if "after_change_over" in item["occasions"]:
            yield item["words"].replace("%", "%%")


def main() -> None:
    """Write the file anew."""
    catalogue = gathered()
    POT.write_bytes(written(catalogue))
    print(f"{len(catalogue)} messages in {POT}")


if __name__ == "__main__":
    main()
