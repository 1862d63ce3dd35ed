"""Clubs: the first one, and several on one installation."""

import click

from settingsdesk.cli.answers import moment
from settingsdesk.cli.at_hand import BY, data_folder, opened
from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.clubs import club_named, make_club
from settingsdesk.desk.cards.code_address import THIS_MACHINE, USUAL_PORT, reach
from settingsdesk.desk.hall import rule_books
from settingsdesk.domain.base.units import Unit
from settingsdesk.resources import folder

_unit = click.option(
    "--unit",
    type=click.Choice([unit.value for unit in Unit]),
    default=Unit.CENTIMETRE.value,
    show_default=True,
    help="Unit that people read and type.",
)

_BOOKS = folder("seed") / "rulebooks.toml"


@click.command("init")
@click.argument("name")
@_unit
def init_command(name: str, unit: str) -> None:
    """Make a club named NAME, with the shipped rule books."""
    store = opened(data_folder())
    club_id = make_club(store, name, Unit(unit))
    with store.work(club_id, by=BY, writes=True) as session:
        rule_books.keep_shipped(session, _BOOKS)
    click.echo(f"{name} is set up. Now add a coach: settingsdesk coach add NAME")


@click.group()
def club() -> None:
    """Several clubs on one installation, each with its own people, athletes and cards."""


@club.command("add")
@click.argument("name")
@_unit
@click.option(
    "--owner", metavar="SHOWN_NAME", help="Print a link with which its first owner joins."
)
def club_add(name: str, unit: str, owner: str | None) -> None:
    """Add a club named NAME, with the shipped rule books."""
    data = data_folder()
    store = opened(data)
    club_id = clubs.add_club(store, name, Unit(unit), _BOOKS, BY)
    if owner is None:
        click.echo(
            f'{name} is set up. Its first owner: settingsdesk --club "{name}" coach add NAME'
        )
        return
    code = clubs.invite_owner(store, data.secret_key(), club_id, BY, owner)
    served = data.last_served() or (THIS_MACHINE, USUAL_PORT)
    address = reach(data.public_url(), *served).url.rstrip("/")
    click.echo(
        f"{name} is set up. This link works once, within seven days. Send it to {owner} only:"
    )
    click.echo(f"{address}/invitation/{code}")


@club.command("list")
def club_list() -> None:
    """List the clubs, and which of them are closed."""
    data = data_folder()
    for line in clubs.clubs(opened(data), data.secret_key()):
        state = f", closed since {moment(line.closed_at)}" if line.closed_at else ""
        click.echo(f"{line.name}: {line.people_in_words}{state}")


@club.command("close")
@click.argument("name")
def club_close(name: str) -> None:
    """Close NAME: nobody can sign in, cards and stations stop working; nothing is deleted."""
    store = opened(data_folder())
    closed = clubs.close(store, club_named(store, name))
    click.echo(f'{closed} is closed. To open it again as it was: settingsdesk club open "{closed}"')


@club.command("open")
@click.argument("name")
def club_open(name: str) -> None:
    """Open the closed club NAME again, as it was."""
    store = opened(data_folder())
    click.echo(f"{clubs.open_again(store, club_named(store, name))} is open again.")


@club.command("owners")
@click.option("--give", metavar="SIGN_IN_NAME", help="Let somebody add and close clubs too.")
@click.option("--take", metavar="SIGN_IN_NAME", help="Let somebody no longer do that.")
def club_owners(give: str | None, take: str | None) -> None:
    """List who can add and close clubs on the pages."""
    store = opened(data_folder())
    if give is not None:
        clubs.give_installation(store, give)
    if take is not None:
        clubs.take_installation(store, take)
    for name in clubs.owners(store):
        click.echo(name)
