"""Looking after an installation: what is well, the key of the cards, the tables."""

import sys
from contextlib import closing
from datetime import datetime

import click

from settingsdesk.cli.at_hand import BY, data_folder
from settingsdesk.desk import examination
from settingsdesk.desk.backups import begun
from settingsdesk.desk.cards import card_keys
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.store.migrate import upgrade, upgraded


@click.command()
def doctor() -> None:
    """Check this installation: say what is well and what is not.

    Nothing is changed. Exit status 1 where anything is not well.
    """
    points = examination.examine(data_folder())
    for point in points:
        click.echo(f"{'well' if point.is_well else 'NOT WELL':8}  {point.words}")
    if not all(point.is_well for point in points):
        sys.exit(1)


@click.group("card-key")
def card_key() -> None:
    """The key from which the codes on cards are made."""


@card_key.command("change")
@click.option(
    "--until",
    "last_day",
    required=True,
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="YEAR-MONTH-DAY",
    help="Last day on which cards that were handed out count, such as 2026-12-31.",
)
def card_key_change(last_day: datetime) -> None:
    """Make a new key: after somebody may have seen the old one, or when it is lost.

    Cards that were handed out count until the day named: print new ones by then. Afterwards stop
    `settingsdesk serve` and start it again.
    """
    data = data_folder()
    data.must_be_kept_so()
    with closing(upgraded(data.where, data.path)) as store:
        done = card_keys.change(store, data, last_day.date(), BY)
    day = day_in_words(done.last_day)
    click.echo(f"There is a new key. Cards from before count until {day}: print new ones by then.")
    if not done.old_is_kept:
        click.echo(
            "The key that made them is not here: until then they can be scanned, but their short"
            " codes cannot be typed. Stations were closed; open them again."
        )
    click.echo(
        "Stop settingsdesk serve and start it again. Make a new backup: older ones lack this key."
    )


@click.command("upgrade")
def upgrade_command() -> None:
    """Bring the database to this version, after a copy of it was made."""
    data = data_folder()
    begun.end(data)
    data.must_be_kept_so()
    copy = upgrade(data.where, folder=data.path)
    click.echo(f"The database is up to date.{f' The one before is now {copy}.' if copy else ''}")
