"""Backing a desk up, and putting a backup in its place."""

import os
from contextlib import ExitStack
from pathlib import Path

import click

from settingsdesk.cli.answers import moment
from settingsdesk.cli.at_hand import data_folder
from settingsdesk.config import FOLDER, SERVER, DataFolder
from settingsdesk.desk.backups import begun, daily, moving, restoring
from settingsdesk.desk.backups.refusals import PassphraseNeeded
from settingsdesk.desk.clock import now
from settingsdesk.domain.base.figures import so_many

UNKNOWN = "something that this version cannot open as it is"
CLOSED_WITH = "SETTINGSDESK_BACKUP_PASSPHRASE"


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--encrypt", is_flag=True, help=f"Lock it with a passphrase: {CLOSED_WITH}, or asked for."
)
def backup_command(file: Path, encrypt: bool) -> None:
    """Back everything up to FILE, or into a folder, where the file is named by the day.

    Database, photos, keys and addresses go into one file, which is then checked. The pages may be
    served meanwhile. Whoever has the file has the names and the keys: keep it on another disk,
    and as safe as this computer.
    """
    made = daily.make(data_folder(), file, _passphrase(confirm=True) if encrypt else None)
    click.echo(f"The backup is {made}.")


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--yes", is_flag=True, help="Do not ask before it replaces what is there.")
def restore_command(file: Path, yes: bool) -> None:
    """Replace everything here by the backup in FILE.

    The backup is checked and tried first. What is here now is moved into a folder of its own, of a
    server's database as a backup; nothing is lost. Stop `settingsdesk serve` before.
    """
    data = data_folder()
    begun.end(data)
    with ExitStack() as tries:
        try:
            ready = tries.enter_context(restoring.tried(data, file))
        except PassphraseNeeded:
            given = _passphrase(confirm=False)
            ready = tries.enter_context(restoring.tried(data, file, given))
        made = ready.contents.made_at
        click.echo(
            f"{file}: {_desk_in_words(ready.found)}, of {moment(made)}, made by settingsdesk"
            f" {ready.contents.program}."
        )
        there = list(restoring.present(data))
        for one in there:
            words = _desk_in_words(one.found) if one.found else UNKNOWN
            click.echo(f"In {one.where} now: {words}.")
        if there and not yes:
            click.confirm("Replace it by the backup?", abort=True)
        aside = restoring.put_in(data, ready, now())
    click.echo(f"Restored.{f' {_kept_in_words(data, aside)}' if aside else ''}")


@click.command("move")
@click.argument("where", type=click.Choice([SERVER, FOLDER]))
def move_command(where: str) -> None:
    """Move the database to the server that SETTINGSDESK_DATABASE_URL names, or back to the folder.

    Every row is compared with the one it was made of. Keys, addresses and backups stay in the data
    folder. Stop `settingsdesk serve` before.
    """
    data = data_folder()
    restoring.go_on(data)
    moved = moving.to_server(data) if where == SERVER else moving.to_folder(data)
    for table, rows in sorted(moved.rows.items()):
        if rows:
            click.echo(f"{rows:7,}  {table.replace('_', ' ')}")
    click.echo(
        f"Moved {so_many(sum(moved.rows.values()), 'row')} of {so_many(len(moved.rows), 'table')},"
        " all the same."
    )
    if moved.left:
        click.echo(
            "From now on start everything with SETTINGSDESK_DATABASE_URL. The database of before is"
            f" {moved.left}: delete it once you are sure."
        )
    else:
        click.echo(
            "From now on start everything without SETTINGSDESK_DATABASE_URL. The database on the"
            " server is as it was: drop it there once you are sure."
        )


def _desk_in_words(found: restoring.Found) -> str:
    return f"{', '.join(found.clubs) or 'no club'} with {so_many(found.athletes, 'athlete')}"


def _kept_in_words(data: DataFolder, aside: Path) -> str:
    if not data.server:
        return f"What was there is in {aside}."
    return f"What was in the database is a backup in {aside}, beside the keys of before."


def _passphrase(*, confirm: bool) -> str:
    """The passphrase of a backup, from the environment or from whoever sits there."""
    return os.environ.get(CLOSED_WITH) or str(
        click.prompt("Passphrase of the backup", hide_input=True, confirmation_prompt=confirm)
    )
