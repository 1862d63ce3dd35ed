#!/usr/bin/env python3
"""Gathers the sentences that strangers read into settingsdesk/words/settingsdesk.pot.

    .venv/bin/python scripts/catalogue.py

Run it after a sentence was changed; tests/words/test_catalogue.py fails until then. Every
catalogue of settingsdesk/words/*/LC_MESSAGES is brought to the same messages: what is new is empty
there, what is gone goes, and it tells which languages lack how many. Those are translated in the
file; nothing is compiled. When a native speaker has read a catalogue, write who and when behind
"Read by a native speaker:" at its top: from then on its pages stand without the English beneath.
"""

import argparse
import tomllib
from collections.abc import Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from settingsdesk.resources import PACKAGE, folder
from settingsdesk.words.languages import (
    CATALOGUE,
    DOMAIN,
    NAMES,
    NOBODY,
    catalogue_of,
    file_of,
)

POT = CATALOGUE / f"{DOMAIN}.pot"

IN_THE_PROGRAM: Mapping[str, Any] = {"Sentence": None, "marked": None, "Counted": (1, 2)}
IN_TEMPLATES: Mapping[str, Any] = {"_": None, "to_say": None, "ngettext": (1, 2)}
"""What marks a message, and which of its arguments are the English forms."""

TOP = """\
# The sentences of settingsdesk that strangers read.
# Gathered by scripts/catalogue.py; not to be edited by hand.
#"""
READ_BY = "Read by a native speaker:"
HEADER = """\
{top}
msgid ""
msgstr ""
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
{of_the_language}"Plural-Forms: {plural_forms};\\n"

"""

Message = str | tuple[str, ...]
"""A sentence, or the two forms of one about a number of things."""


def gathered() -> Catalog:
    """Every message once, without the places where it stands, which change from day to day."""
    catalogue = Catalog(project=DOMAIN, charset="utf-8")
    for message in sorted(set(_messages()), key=str):
        catalogue.add(message)
    return catalogue


def written(catalogue: Catalog, tag: str = "") -> bytes:
    """The file, of the messages or of a language: the same messages give the same bytes."""
    top, forms = TOP, "nplurals=2; plural=(n != 1)"
    if tag:
        top = catalogue.header_comment.rstrip("\n #")
        top = f"{top}\n#" if READ_BY in top else f"{top}\n# {READ_BY} {NOBODY}\n#"
        forms = catalogue.plural_forms
    told = f'"Language: {tag}\\n"\n' if tag else ""
    file = BytesIO()
    write_po(file, catalogue, no_location=True, omit_header=True, ignore_obsolete=True, width=100)
    head = HEADER.format(top=top, of_the_language=told, plural_forms=forms.rstrip(";"))
    return head.encode() + file.getvalue()


def brought_up_to(messages: Catalog, tag: str) -> Catalog:
    """The catalogue of a language with those messages and no other; what is new is empty."""
    known, now = catalogue_of(tag), Catalog(locale=tag, header_comment=None)
    now.header_comment = known.header_comment
    for message in messages:
        if message.id:
            old = known.get(message.id if isinstance(message.id, str) else message.id[0])
            kept = old.string if old is not None and old.id == message.id else None
            now.add(message.id, kept)
    return now


def lacking(catalogue: Catalog) -> list[str]:
    """What nobody has translated in a catalogue yet."""
    return [
        str(message.id)
        for message in catalogue
        if message.id
        and not (all(message.string) if isinstance(message.string, tuple) else message.string)
    ]


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
    """Write the files anew, and tell what is to be translated."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=_AS_IT_STANDS)
    asked.parse_args()
    catalogue = gathered()
    POT.write_bytes(written(catalogue))
    print(f"{len(catalogue)} messages in {POT}")
    for tag in NAMES:
        if not file_of(tag).is_file():
            continue
        now = brought_up_to(catalogue, tag)
        file_of(tag).write_bytes(written(now, tag))
        missing = lacking(now)
        print(f"{NAMES[tag]} ({tag}): {len(missing)} to be translated")
        for message in missing:
            print(f"    {message}")


_AS_IT_STANDS = argparse.RawDescriptionHelpFormatter


if __name__ == "__main__":
    main()
