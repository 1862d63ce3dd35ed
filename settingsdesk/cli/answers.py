"""How a command answers: in words, as JSON, into a file; and how it refuses."""

import json
import sys
from datetime import datetime
from io import TextIOWrapper
from pathlib import Path
from typing import Any

import click

from settingsdesk.config import write_private


class Refused(click.ClickException):
    """What the person at the terminal can put right: one line, exit status 2."""

    exit_code = 2


json_option = click.option("--json", "as_json", is_flag=True, help="Answer as JSON, for a program.")


def moment(at: datetime) -> str:
    """A moment by the clock of this machine."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def show_what_can_be_shown() -> None:
    """Have signs that the terminal has not told by their numbers; else the answer would break off.

    A file or a pipe on Windows has those of its region, 256 at most.
    """
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")


def echo_json(answer: Any) -> None:
    """Answer a program."""
    told = json.dumps(answer, ensure_ascii=False)
    try:
        told.encode(sys.stdout.encoding)
    except UnicodeEncodeError:
        told = json.dumps(answer)
    click.echo(told)


def write_file(file: Path, content: bytes) -> None:
    """Write what only its owner may read; ``Refused`` where it cannot be written."""
    try:
        write_private(file, content)
    except OSError as refusal:
        raise Refused(f"{file} cannot be written: {refusal.strerror}") from refusal


def complain(line: str) -> None:
    """Say what went wrong beside the answer."""
    click.echo(line, err=True)
