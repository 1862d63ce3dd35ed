"""Serving the pages."""

import os
import signal
import socket
import sys
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import click

from settingsdesk.cli.answers import Refused, WholeNumber
from settingsdesk.cli.at_hand import data_folder, opened
from settingsdesk.cli.backups import CLOSED_WITH
from settingsdesk.cli.reached import front_lines, reached, told_front
from settingsdesk.config import DataFolder
from settingsdesk.desk.alone import alone_with
from settingsdesk.desk.backups.standing import standing
from settingsdesk.desk.cards.code_address import THIS_MACHINE, reach
from settingsdesk.domain.base.errors import SettingsDeskError

MOST_WORKERS = 64


@click.command()
@reached
@click.option(
    "--open-folder", is_flag=True, help="Serve although others on this machine can look into it."
)
@click.option(
    "--backups",
    "backups_folder",
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False, exists=True, writable=True),
    help="Keep a backup of each day there, the last fourteen; remembered.",
)
@click.option("--no-backups", is_flag=True, help="Forget that folder.")
@click.option(
    "--workers",
    default=1,
    show_default=True,
    type=WholeNumber(1, MOST_WORKERS),
    help="So many processes answer, where a PostgreSQL server keeps the database.",
)
def serve(
    host: str,
    port: int,
    public_url: str | None,
    open_folder: bool,
    backups_folder: Path | None,
    no_backups: bool,
    workers: int,
    **told: Any,
) -> None:
    """Serve the pages until stopped."""
    # Only this command needs the web: the others start without loading it.
    from settingsdesk.web.app import create_app
    from settingsdesk.web.frame import log
    from settingsdesk.web.frame.kept_log import KEPT_DAYS, KeptLog
    from settingsdesk.web.frame.work import OURS
    from settingsdesk.web.rounds import rounds_of
    from settingsdesk.web.serving import Server

    data = data_folder()
    if workers > 1:
        _must_serve_several(data)
    if not open_folder:
        data.must_be_private()
    store = opened(data)
    front = told_front(data, public_url, **told)
    _keep_backups_in(data, backups_folder, forget=no_backups)
    where = reach(data.public_url(), host, port)
    with alone_with(data, f"serving at {host}, port {port}") as held:
        # Bound here, because waitress leaves its socket open where it cannot be bound.
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        try:
            listening = socket.create_server((host, port), family=family)
        except OSError as refusal:
            raise Refused(
                f"Port {port} of {host} cannot be used: {refusal.strerror}. Choose another with"
                " --port, or another address with --host"
            ) from refusal
        came_from = data.home()
        data.remember_served(host, port)
        data.remember_home()
        app = create_app(data=data, store=store, reach=where, front=front, listening=host)
        shown = "this machine" if host == THIS_MACHINE else host
        click.echo(
            f"settingsdesk is at {where.url} (listening on {shown}, port {port}). Ctrl-C stops it."
        )
        click.echo(where.in_words)
        for line in front_lines(front, host, where):
            click.echo(line)
        click.echo(_backup_line(data))
        if came_from not in (None, data.own_home):
            click.echo(
                f"This desk was served from {came_from} before. If it still is, stop one of the"
                " two: neither knows what is confirmed at the other."
            )
        log.begin(KeptLog(data.path / "log"))
        click.echo(f"The log is in {data.path / 'log'}, {KEPT_DAYS} days of it.")
        passphrase = os.environ.get(CLOSED_WITH) or None
        if workers > 1:
            from settingsdesk.web import workers as several

            several.serve(app, listening, workers, passphrase, held)
        server = Server(app, listening)
        signal.signal(signal.SIGTERM, lambda *_: server.stop())
        with rounds_of(app.extensions[OURS], passphrase, held):
            server.run()


def _must_serve_several(data: DataFolder) -> None:
    if not data.server:
        raise WorkersNeedServer
    if sys.platform == "win32":
        raise NoWorkersHere
    if find_spec("gunicorn") is None:
        raise GunicornMissing


def _keep_backups_in(data: DataFolder, folder: Path | None, *, forget: bool) -> None:
    if forget and folder:
        raise click.UsageError("Give either --backups or --no-backups")
    notes = data.backup_notes()
    if folder and data.path.resolve() in (folder.resolve(), *folder.resolve().parents):
        raise Refused(
            f"{folder} is in the data folder itself: what loses one loses the other. Name a folder"
            " on another disk with --backups"
        )
    if forget or folder:
        data.remember_backups(replace(notes, folder=folder.resolve() if folder else None))


def _backup_line(data: DataFolder) -> str:
    notes = data.backup_notes()
    if notes.folder:
        return f"A backup of each day is kept in {notes.folder} (--no-backups takes this back)."
    return f"{standing(notes).words}. --backups FOLDER keeps a backup of each day there."


class WorkersNeedServer(SettingsDeskError):
    """Several workers were asked for on a file of SQLite, in which one writes at a time."""

    sentence = (
        "Several workers need a database that a PostgreSQL server keeps: name it in"
        " SETTINGSDESK_DATABASE_URL. On a file one process is quicker: leave out --workers"
    )


class NoWorkersHere(SettingsDeskError):
    """Several workers were asked for on Windows, where gunicorn does not run."""

    sentence = "There are no several workers on Windows. Leave out --workers"


class GunicornMissing(SettingsDeskError):
    """Several workers were asked for, and what looks after them is not installed."""

    sentence = "Several workers need gunicorn: pip install 'settingsdesk[postgres]'"
