"""How the desk is reached: what a start is told of it, and what is remembered."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import click

from settingsdesk.cli.answers import Refused, WholeNumber
from settingsdesk.config import LOOPBACK, DataFolder, Front
from settingsdesk.desk.cards.code_address import THIS_MACHINE, USUAL_PORT, Reach

MOST_IN_FRONT = 9
"""Servers that stand one behind the other; a number that is larger is a slip."""

_host = click.option(
    "--host",
    default=THIS_MACHINE,
    show_default=True,
    help="Address to listen on; 0.0.0.0 for the whole local network.",
)

_port = click.option(
    "--port",
    default=USUAL_PORT,
    show_default=True,
    type=WholeNumber(1, 65535),
    help="Port to listen on.",
)

public_url_option = click.option(
    "--public-url",
    help="Address that the codes on cards carry, where phones reach these pages; remembered.",
)

_FRONT = (
    click.option(
        "--no-public-url",
        "forget_url",
        is_flag=True,
        help="Forget --public-url: codes carry this machine's own address.",
    ),
    click.option(
        "--https/--no-https",
        default=None,
        help="A server in front ends TLS, and everybody comes by https; remembered.",
    ),
    click.option(
        "--behind",
        metavar="SERVERS",
        type=WholeNumber(0, MOST_IN_FRONT),
        help="So many servers in front say where a request came from (X-Forwarded-For and -Proto);"
        " 0 believes none; remembered.",
    ),
    click.option(
        "--name",
        "names",
        metavar="NAME",
        multiple=True,
        help="A name or address at which the desk answers besides its own ones; remembered.",
    ),
    click.option(
        "--no-name", "no_names", metavar="NAME", multiple=True, help="Forget such a name."
    ),
)


def reached(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say how the desk is reached, for the two commands of a start."""
    for option in reversed((_host, _port, public_url_option, *_FRONT)):
        command = option(command)
    return command


def told_front(
    data: DataFolder,
    public_url: str | None,
    *,
    forget_url: bool,
    https: bool | None,
    behind: int | None,
    names: tuple[str, ...],
    no_names: tuple[str, ...],
) -> Front:
    """What stands in front of the desk: what is told now, else what was; kept as one or nothing."""
    if forget_url and public_url:
        raise click.UsageError("Give either --public-url or --no-public-url")
    kept = data.front()
    front = replace(
        kept.named(names, no_names),
        https=kept.https if https is None else https,
        behind=kept.behind if behind is None else behind,
    )
    url = None if forget_url else public_url or data.public_url()
    if front.https and not (url or "").strip().lower().startswith("https://"):
        raise Refused(
            f"With --https the address that people open begins with https://, and {url or 'none'}"
            " is known. Name it, such as --public-url https://desk.example.org, or start with"
            " --no-https"
        )
    if forget_url:
        data.forget_public_url()
    if public_url:
        data.remember_public_url(public_url)
    if front != kept:
        data.remember_front(front)
    return front


def front_lines(front: Front, host: str, where: Reach) -> Iterator[str]:
    """What is remembered of how the desk is reached, with the way out of each."""
    if front.https:
        yield (
            "Signing in works by https only, through a server in front that ends it (--no-https"
            " takes this back)."
        )
    elif where.url.startswith("https://"):
        yield "Where everybody comes by https, start with --https: no cookie travels in the clear."
    if front.behind:
        believed = "server in front is" if front.behind == 1 else "servers in front are"
        yield (
            f"{front.behind} {believed} believed where a request came from (--behind 0 takes this"
            " back)."
        )
        if host not in LOOPBACK:
            yield (
                f"Whoever reaches {host} past them can say so too: listen on {THIS_MACHINE} where"
                " they run on this machine, or close the port to everybody else."
            )
    if front.names:
        yield f"It answers at {', '.join(sorted(front.names))} too (--no-name takes one back)."
