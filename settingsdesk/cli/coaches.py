"""Who may sign in."""

import sys
from collections.abc import Callable

import click

from settingsdesk.cli.answers import Refused, moment
from settingsdesk.cli.at_hand import club_meant, data_folder, opened
from settingsdesk.desk.accounts import accounts, people, second_factor
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.store.work import Store


@click.group()
def coach() -> None:
    """Who may sign in."""


def _password(command: Callable[..., None]) -> Callable[..., None]:
    """The two ways to give a password to a command."""
    given = click.option("--password", help="Asked for where it is not given.")
    piped = click.option(
        "--password-from-stdin",
        "from_stdin",
        is_flag=True,
        help="Read the password from standard input, for a script without a terminal.",
    )
    return given(piped(command))


def _told_password(given: str | None, *, from_stdin: bool) -> str:
    """A new password: as given, read from what is piped in, or asked for twice."""
    if from_stdin:
        if given is not None:
            raise click.UsageError("Give the password by one of the two ways")
        return sys.stdin.readline().rstrip("\r\n")
    if given is not None:
        return given
    return _asked("Password", "--password-from-stdin", is_secret=True)


def _asked(what: str, option: str, *, is_secret: bool = False) -> str:
    """What somebody at the terminal types; where nobody is there, the option that says it."""
    try:
        return str(click.prompt(what, hide_input=is_secret, confirmation_prompt=is_secret))
    except click.Abort as nobody:
        if sys.stdin.isatty():
            raise
        raise Refused(f"There is no terminal to ask at: give {option}") from nobody


def _member(sign_in_name: str) -> tuple[Store, int, int]:
    """The store, the club, and what somebody is in it; ``NoSuchAccount``."""
    store = opened(data_folder())
    club_id = club_meant(store)
    return store, club_id, people.membership_named(store, club_id, sign_in_name)


@coach.command("add")
@click.argument("sign_in_name")
@click.option(
    "--shown-name", help="The coach's name as others see it; asked for where it is not given."
)
@click.option(
    "--role",
    type=click.Choice([role.value for role in Role]),
    help="What they may do; left out, the first of a club is its owner and others are coaches.",
)
@_password
def coach_add(
    sign_in_name: str,
    shown_name: str | None,
    role: str | None,
    password: str | None,
    from_stdin: bool,
) -> None:
    """Let somebody sign in as SIGN_IN_NAME."""
    if shown_name is None:
        if from_stdin:
            raise Refused("Give --shown-name too: what is piped in is the password")
        shown_name = _asked("Name shown to others", "--shown-name")
    store = opened(data_folder())
    accounts.add_account(
        store,
        club_meant(store),
        sign_in_name,
        shown_name,
        _told_password(password, from_stdin=from_stdin),
        Role(role) if role else None,
    )
    click.echo(f"{shown_name} can sign in as {sign_in_name}.")


@coach.command("list")
def coach_list() -> None:
    """List who may sign in, what they are, and since when on which devices."""
    store = opened(data_folder())
    for person in people.people_of(store, club_meant(store)):
        state = ", disabled" if person.disabled_at else ""
        click.echo(f"{person.sign_in_name}  {person.shown_name}, {person.role}{state}")
        for device in person.devices:
            click.echo(
                f"    {device.words or 'not known'}: since {moment(device.began_at)},"
                f" last seen {moment(device.seen_at)}"
            )


@coach.command("role")
@click.argument("sign_in_name")
@click.argument("role", type=click.Choice([role.value for role in Role]))
def coach_role(sign_in_name: str, role: str) -> None:
    """Make SIGN_IN_NAME an owner, a coach or a helper."""
    store, club_id, membership_id = _member(sign_in_name)
    people.set_role(store, club_id, membership_id, Role(role))
    click.echo(f"{sign_in_name} is {'an' if role == Role.OWNER else 'a'} {role} now.")


@coach.command("disable")
@click.argument("sign_in_name")
def coach_disable(sign_in_name: str) -> None:
    """Sign SIGN_IN_NAME out everywhere, and let them in no more."""
    people.disable(*_member(sign_in_name))
    click.echo(f"{sign_in_name} is signed out everywhere and cannot sign in any more.")


@coach.command("enable")
@click.argument("sign_in_name")
def coach_enable(sign_in_name: str) -> None:
    """Let SIGN_IN_NAME sign in again."""
    people.enable(*_member(sign_in_name))
    click.echo(f"{sign_in_name} can sign in again.")


@coach.command("second-factor-off")
@click.argument("sign_in_name")
def coach_second_factor_off(sign_in_name: str) -> None:
    """Ask SIGN_IN_NAME, who lost the phone, for the password alone."""
    second_factor.take_off_named(opened(data_folder()), sign_in_name)
    click.echo(f"{sign_in_name} signs in with the password alone.")


@coach.command("sign-out")
@click.argument("sign_in_name")
def coach_sign_out(sign_in_name: str) -> None:
    """Sign SIGN_IN_NAME out on every device."""
    store, _, _ = _member(sign_in_name)
    accounts.sign_out_everywhere(store, sign_in_name)
    click.echo(f"{sign_in_name} is signed out on every device.")


@coach.command("password")
@click.argument("sign_in_name")
@_password
def coach_password(sign_in_name: str, password: str | None, from_stdin: bool) -> None:
    """Give SIGN_IN_NAME a new password, and sign them out everywhere."""
    told = _told_password(password, from_stdin=from_stdin)
    accounts.set_password(opened(data_folder()), sign_in_name, told)
    click.echo(f"{sign_in_name} has a new password.")
