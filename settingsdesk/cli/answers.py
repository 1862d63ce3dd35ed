"""How a command answers: in words, as JSON, into a file; and how it refuses."""

import json
import sys
from datetime import datetime
from io import TextIOWrapper
from pathlib import Path
from typing import IO, Any

import click

from settingsdesk.config import write_private
from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.refusals import FileIsTooLarge
from settingsdesk.store.base import GREATEST_NUMBER


class Refused(click.ClickException):
    """What the person at the terminal can put right: one line, exit status 2.

    ``to_program`` answers whoever asked for JSON in JSON.
    """

    exit_code = 2

    def __init__(self, message: str, *, to_program: bool = False) -> None:
        super().__init__(message)
        self.to_program = to_program

    def show(self, file: IO[Any] | None = None) -> None:
        if self.to_program:
            refuse_program(self.message)
        else:
            super().show(file)


class WholeNumber(click.ParamType[int]):
    """A whole number from ``least`` to ``most``, in the voice of every other refusal."""

    name = "number"

    def __init__(self, least: int, most: int) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        text = str(value).strip()
        is_one = text.isdecimal() and len(text) <= LONGEST
        if not is_one or not self.least <= int(text) <= self.most:
            asked = f"a whole number, like {self.least}"
            if self.most < GREATEST_NUMBER:
                asked = f"a whole number from {self.least} to {self.most}"
            self.fail(f"enter {asked}; {quoted(text)} was given", param, ctx)
        return int(text)


LONGEST = 20
"""No number here has more figures; more are not even read."""


def in_one_line(error: click.UsageError) -> str:
    """What is wrong with a command as it was typed, and where it says how it goes."""
    what = error.message.rstrip(".")
    if isinstance(error, click.MissingParameter):
        what = f"{_named(error)} is missing"
    elif isinstance(error, click.BadParameter):
        what = f"{_named(error)}: {what}"
    path = error.ctx.command_path if error.ctx else "settingsdesk"
    return f"{what}. See `{path} -h`"


def _named(error: click.BadParameter) -> str:
    """The option or the argument, as the help calls it."""
    if error.param is None:
        return str(error.param_hint or "What was given")
    if isinstance(error.param, click.Option):
        return error.param.opts[-1]
    return error.param.make_metavar(error.ctx) if error.ctx else str(error.param.name)


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


def refuse_program(why: str) -> None:
    """Tell a program why there is no answer."""
    echo_json({"refused": why})


def write_file(file: Path, content: bytes) -> None:
    """Write what only its owner may read; ``Refused`` where it cannot be written."""
    try:
        write_private(file, content)
    except OSError as refusal:
        raise Refused(f"{file} cannot be written: {refusal.strerror}") from refusal


def content_of(file: Path) -> bytes:
    """What is in a file, whose size is looked at first; ``Refused``, ``FileIsTooLarge``."""
    try:
        size_bytes = file.stat().st_size
        if size_bytes > MOST_BYTES:
            raise FileIsTooLarge(file.name, size_bytes, MOST_BYTES)
        with file.open("rb") as source:
            return source.read(MOST_BYTES + 1)
    except OSError as refusal:
        raise Refused(f"{file} cannot be read: {refusal.strerror}") from refusal


def complain(line: str) -> None:
    """Say what went wrong beside the answer."""
    click.echo(line, err=True)
