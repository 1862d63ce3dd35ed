"""The command line: the same use cases as the pages, for a terminal or a script."""

import json
import secrets
import signal
import socket
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.config import LOOPBACK, DataFolder, Front, write_private
from settingsdesk.desk import examination, opening
from settingsdesk.desk.accounts import accounts, clubs, people, second_factor
from settingsdesk.desk.accounts.clubs import club_named, is_empty, make_club, only_club
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import THIS_MACHINE, USUAL_PORT, Reach, reach
from settingsdesk.desk.demo import club as desk_club
from settingsdesk.desk.demo import meet as desk_meet
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import rule_books
from settingsdesk.desk.hall.conversions import setup_of_labels
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.mark_scales import MarkScale
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meets.retention import Clearing
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.terminal.as_json import (
    list_data,
    order_data,
    rotations_data,
    transfer_data,
)
from settingsdesk.desk.terminal.as_text import (
    change_lines,
    list_lines,
    open_lines,
    order_lines,
    transfer_lines,
)
from settingsdesk.domain.base.codes import SYMBOLS
from settingsdesk.domain.base.datums import Level
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import read_length_mm, so_many
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.domain.settings.transfer import setting_of_setup, transfer
from settingsdesk.resources import folder
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.refusals import FileIsTooLarge
from settingsdesk.sheets.squad_writing import squad_csv, squad_xlsx
from settingsdesk.store.migrate import upgrade, upgraded
from settingsdesk.store.work import ClubSession, Store
from settingsdesk.words.language import ENGLISH

BY = "command line"
"""Who recorded what a command changes."""

MOST_IN_FRONT = 9
"""Servers that stand one behind the other; a number that is larger is a slip."""


class Refused(click.ClickException):
    """What the person at the terminal can put right: one line, exit status 2."""

    exit_code = 2


class _Commands(click.Group):
    """Every refusal of the desk becomes one line."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except SettingsDeskError as refusal:
            raise Refused(str(refusal)) from refusal


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--club",
    "club_name",
    metavar="NAME",
    envvar="SETTINGSDESK_CLUB",
    help="For which club, where several are here; SETTINGSDESK_CLUB names it too.",
)
@click.pass_context
def main(context: click.Context, club_name: str | None) -> None:
    """Rail settings for gymnasts: stored, converted, ordered, and printed for the apparatus.

    Everything is kept in the folder that SETTINGSDESK_DATA names, else in settingsdesk under
    XDG_DATA_HOME. The maker's instructions, the federation's and the local rules come first.
    """
    context.obj = club_name


def _club(store: Store) -> int:
    """The number of the club that was named before the command, or of the only one."""
    named = click.get_current_context().find_root().obj
    return only_club(store) if named is None else club_named(store, named)


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
    type=click.IntRange(1, 65535),
    help="Port to listen on.",
)
_public_url = click.option(
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
        type=click.IntRange(0, MOST_IN_FRONT),
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


def _reached(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say how the desk is reached, for the two commands of a start."""
    for option in reversed((_host, _port, _public_url, *_FRONT)):
        command = option(command)
    return command


_json = click.option("--json", "as_json", is_flag=True, help="Answer as JSON, for a program.")
ROTATION_NUMBER = click.IntRange(1, 2**63 - 1)
"""What the database can count to."""


@main.command("demo")
@_reached
def demo_command(host: str, port: int, public_url: str | None, **told: Any) -> None:
    """Put the invented demo club into an empty folder; change nothing in one that has data."""
    data = _data()
    store = _opened(data)
    _front(data, public_url, **told)
    where = reach(data.public_url(), host, port)
    if not is_empty(store):
        click.echo(f"{data.path} has data already; nothing was changed.")
        click.echo(
            "Sign in with the name and password that you have for it;"
            " `settingsdesk coach password NAME` gives a new one."
        )
        return
    password = "-".join(_symbols(4) for _ in range(3))
    put = desk_club.load(store, folder("seed"), password)
    meet = desk_meet.hold(store, put.club_id, folder("seed"))
    with store.work(put.club_id, by=desk_club.BY, writes=True) as session:
        view = desk_rotation.rotation(session, put.rotation_ids[0])
        for line in order_lines(view):
            click.echo(line)
        code_key = card_keys.code_key(data, where.url)
        issued = desk_issued.issue(
            session, code_key, view.piece.id, [member.id for member in view.listed]
        )
    file = data.path / "cards-of-tonight.pdf"
    write_private(file, cards_pdf([CardGroup(tuple(issued))], Size.A6, ENGLISH))
    click.echo(f"\nCards of this rotation: {file}")
    click.echo(f"A meet to come: {meet.facts.name}, {meet.facts.days_in_words}")
    click.echo(where.in_words)
    click.echo(f"\nSign in as {put.sign_in_name} with the password {password}")
    click.echo("It is shown this once. `settingsdesk coach password NAME` gives a new one.")
    click.echo(
        "Everybody in it is invented. Your own club has a folder of its own, which"
        ' SETTINGSDESK_DATA names: `settingsdesk init "Name of the club"` begins there.'
    )


@main.command()
@_reached
@click.option(
    "--open-folder", is_flag=True, help="Serve although others on this machine can look into it."
)
def serve(host: str, port: int, public_url: str | None, open_folder: bool, **told: Any) -> None:
    """Serve the pages until stopped."""
    # Only this command needs the web: the others start without loading it.
    from settingsdesk.web.app import create_app
    from settingsdesk.web.frame import log
    from settingsdesk.web.frame.kept_log import KEPT_DAYS, KeptLog
    from settingsdesk.web.frame.work import OURS
    from settingsdesk.web.serving import Server

    data = _data()
    if not open_folder:
        data.must_be_private()
    store = _opened(data)
    front = _front(data, public_url, **told)
    where = reach(data.public_url(), host, port)
    # Bound here, because waitress leaves its socket open where it cannot be bound.
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listening = socket.create_server((host, port), family=family)
    except OSError as refusal:
        raise Refused(
            f"Port {port} of {host} cannot be used: {refusal.strerror}. Choose another with --port,"
            " or another address with --host"
        ) from refusal
    data.remember_served(host, port)
    app = create_app(data=data, store=store, reach=where, front=front, listening=host)
    server = Server(app, listening)
    shown = "this machine" if host == THIS_MACHINE else host
    click.echo(
        f"settingsdesk is at {where.url} (listening on {shown}, port {port}). Ctrl-C stops it."
    )
    click.echo(where.in_words)
    for line in _front_lines(front, host, where):
        click.echo(line)
    log.begin(KeptLog(data.path / "log"))
    click.echo(f"The log is in {data.path / 'log'}, {KEPT_DAYS} days of it.")
    signal.signal(signal.SIGTERM, lambda *_: server.stop())
    clearing = Clearing(store, app.extensions[OURS].kept.forget)
    clearing.start()
    server.run()
    clearing.close()
    app.extensions[OURS].searches.close()


_unit = click.option(
    "--unit",
    type=click.Choice([unit.value for unit in Unit]),
    default=Unit.CENTIMETRE.value,
    show_default=True,
    help="Unit that people read and type.",
)
_BOOKS = folder("seed") / "rulebooks.toml"


@main.command("init")
@click.argument("name")
@_unit
def init_command(name: str, unit: str) -> None:
    """Make a club named NAME, with the shipped rule books."""
    store = _opened(_data())
    club_id = make_club(store, name, Unit(unit))
    with store.work(club_id, by=BY, writes=True) as session:
        rule_books.keep_shipped(session, _BOOKS)
    click.echo(f"{name} is set up. Now add a coach: settingsdesk coach add NAME")


@main.group()
def club() -> None:
    """Several clubs on one installation, each with its own people, athletes and cards."""


@club.command("add")
@click.argument("name")
@_unit
@click.option(
    "--owner", metavar="SHOWN_NAME", help="Print a link by which its first owner comes in."
)
def club_add(name: str, unit: str, owner: str | None) -> None:
    """Make one more club named NAME, with the shipped rule books."""
    data = _data()
    store = _opened(data)
    club_id = clubs.add_club(store, name, Unit(unit), _BOOKS, BY)
    if owner is None:
        click.echo(
            f'{name} is set up. Its first owner: settingsdesk --club "{name}" coach add NAME'
        )
        return
    code = clubs.invite_owner(store, data.secret_key(), club_id, BY, owner)
    served = data.last_served() or (THIS_MACHINE, USUAL_PORT)
    address = reach(data.public_url(), *served).url.rstrip("/")
    click.echo(f"{name} is set up. This link opens once, for seven days; send it to {owner} alone:")
    click.echo(f"{address}/invitation/{code}")


@club.command("list")
def club_list() -> None:
    """List the clubs, and which of them are closed."""
    data = _data()
    for line in clubs.clubs(_opened(data), data.secret_key()):
        state = f", closed since {_moment(line.closed_at)}" if line.closed_at else ""
        click.echo(f"{line.name}: may sign in: {line.people_in_words}{state}")


@club.command("close")
@click.argument("name")
def club_close(name: str) -> None:
    """Close NAME: nobody signs in for it, its cards and stations open nothing; nothing goes."""
    store = _opened(_data())
    closed = clubs.close(store, club_named(store, name))
    click.echo(f'{closed} is closed. As it was again: settingsdesk club open "{closed}"')


@club.command("open")
@click.argument("name")
def club_open(name: str) -> None:
    """Open the closed club NAME again, as it was."""
    store = _opened(_data())
    click.echo(f"{clubs.open_again(store, club_named(store, name))} is open again.")


@club.command("owners")
@click.option("--give", metavar="SIGN_IN_NAME", help="Let somebody make and close clubs too.")
@click.option("--take", metavar="SIGN_IN_NAME", help="Let somebody do so no more.")
def club_owners(give: str | None, take: str | None) -> None:
    """List who makes and closes clubs on the pages."""
    store = _opened(_data())
    if give is not None:
        clubs.give_installation(store, give)
    if take is not None:
        clubs.take_installation(store, take)
    for name in clubs.owners(store):
        click.echo(name)


@main.group()
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
    return str(click.prompt("Password", hide_input=True, confirmation_prompt=True))


def _member(sign_in_name: str) -> tuple[Store, int, int]:
    """The store, the club, and what somebody is in it; ``NoSuchAccount``."""
    store = _opened(_data())
    club_id = _club(store)
    return store, club_id, people.membership_named(store, club_id, sign_in_name)


def _moment(at: datetime) -> str:
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


@coach.command("add")
@click.argument("sign_in_name")
@click.option(
    "--shown-name", prompt="Name shown to others", help="The coach's name as others see it."
)
@click.option(
    "--role",
    type=click.Choice([role.value for role in Role]),
    help="What they may do; left out, the first of a club is its owner and others are coaches.",
)
@_password
def coach_add(
    sign_in_name: str, shown_name: str, role: str | None, password: str | None, from_stdin: bool
) -> None:
    """Let somebody sign in as SIGN_IN_NAME."""
    store = _opened(_data())
    accounts.add_account(
        store,
        _club(store),
        sign_in_name,
        shown_name,
        _told_password(password, from_stdin=from_stdin),
        Role(role) if role else None,
    )
    click.echo(f"{shown_name} can sign in as {sign_in_name}.")


@coach.command("list")
def coach_list() -> None:
    """List who may sign in, what they are, and since when on which devices."""
    store = _opened(_data())
    for person in people.people_of(store, _club(store)):
        state = ", disabled" if person.disabled_at else ""
        click.echo(f"{person.sign_in_name}  {person.shown_name}, {person.role}{state}")
        for device in person.devices:
            click.echo(
                f"    {device.words or 'not known'}: since {_moment(device.began_at)},"
                f" last seen {_moment(device.seen_at)}"
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
    second_factor.take_off_named(_opened(_data()), sign_in_name)
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
    accounts.set_password(_opened(_data()), sign_in_name, told)
    click.echo(f"{sign_in_name} has a new password.")


@main.command()
def doctor() -> None:
    """Say what is well with this installation and what is not; exit status 1 where anything is not.

    Nothing is changed.
    """
    points = examination.examine(_data())
    for point in points:
        click.echo(f"{'well' if point.is_well else 'NOT WELL':8}  {point.words}")
    if not all(point.is_well for point in points):
        sys.exit(1)


@main.group("card-key")
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

    Cards that were handed out count until the day named and are printed again by then. Start a
    desk that serves again afterwards.
    """
    data = _data()
    done = card_keys.change(upgraded(data.database), data, last_day.date(), BY)
    day = day_in_words(done.last_day)
    click.echo(f"There is a new key. Cards from before count until {day}: print new ones by then.")
    if not done.old_is_kept:
        click.echo(
            "The key that made them is not here: until then they can be scanned, but their short"
            " codes cannot be typed. Stations were closed; open them again."
        )
    click.echo("Stop a desk that serves, and start it again. Put the new card.key into the backup.")


@main.command("upgrade")
def upgrade_command() -> None:
    """Bring the database to this version, after a copy of it was made."""
    data = _data()
    copy = upgrade(data.database)
    click.echo(f"The database is up to date.{f' The one before is now {copy}.' if copy else ''}")


@main.command()
@click.argument("rotation", type=ROTATION_NUMBER, required=False)
@click.option("--anew", is_flag=True, help="Re-plan it from the present marks of its apparatus.")
@click.option(
    "--problem",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Solve a problem file instead; needs no data.",
)
@_json
def order(rotation: int | None, anew: bool, problem: Path | None, as_json: bool) -> None:
    """Show the plan of ROTATION; without a number, list the rotations."""
    if problem is not None:
        if rotation is not None or anew:
            raise click.UsageError("--problem solves a file: leave out ROTATION and --anew")
        from settingsdesk.planner.command import order_problem

        sys.exit(order_problem(problem, as_json=as_json, say=click.echo, complain=_complain))
    if rotation is None:
        if anew:
            raise click.UsageError("--anew needs a ROTATION: `settingsdesk order` lists them")
        _list_rotations(as_json)
        return
    with _work(writes=anew) as session:
        view = (
            desk_rotation.order_anew(session, rotation)
            if anew
            else desk_rotation.rotation(session, rotation)
        )
        if as_json:
            _echo_json(order_data(view))
            return
        for text in order_lines(view):
            click.echo(text)


def _list_rotations(as_json: bool) -> None:
    with _work() as session:
        lines = desk_rotation.recent(session)
    if as_json:
        _echo_json(rotations_data(lines))
        return
    for line in lines:
        click.echo(
            f"{line.id:4}  {line.held_on}  {line.name}, {line.apparatus_name},"
            f" {line.athletes} athletes"
        )


@main.command()
@click.argument("here")
@click.argument("there")
@click.argument("marks", nargs=-1, required=True)
@_json
def convert(here: str, there: str, marks: tuple[str, ...], as_json: bool) -> None:
    """Convert MARKS of apparatus HERE to apparatus THERE, both by name."""
    with _work() as session:
        pieces = {piece.name.casefold(): piece for piece in desk_apparatus.all_pieces(session)}
        source, target = (_named(pieces, name) for name in (here, there))
        axes = source.model.axes
        if len(marks) != len(axes):
            raise Refused(
                f"{source.name} needs {len(axes)} marks: "
                + ", ".join(axis.kind.in_a_sentence for axis in axes)
            )
        labels = {axis.key: mark for axis, mark in zip(axes, marks, strict=True)}
        setting = setting_of_setup(source.model, setup_of_labels(source.model, labels))
        found = transfer(setting, target.model)
        if as_json:
            _echo_json(transfer_data(found, target))
            return
        for line in transfer_lines(found, target):
            click.echo(line)


@main.command("cards")
@click.argument("rotation", type=ROTATION_NUMBER)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--size",
    type=click.Choice([size.value for size in Size]),
    default=Size.A6.value,
    show_default=True,
    help="A6 pages, ID-1 cards ten to an A4 page, or four A6 on A4.",
)
@click.option("--host", help="Address that the pages are served on; left out, where they were.")
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    help="Port that the pages are served on; left out, where they were.",
)
@_public_url
def cards_command(
    rotation: int, file: Path, size: str, host: str | None, port: int | None, public_url: str | None
) -> None:
    """Print the cards of ROTATION into FILE, a PDF.

    Their codes lead to where the pages were served last, unless another address is given.
    """
    data = _data()
    served_host, served_port = data.last_served() or (THIS_MACHINE, USUAL_PORT)
    named = data.remember_public_url(public_url) if public_url else data.public_url()
    where = reach(named, host or served_host, port or served_port)
    with _work(writes=True) as session:
        view = desk_rotation.rotation(session, rotation)
        code_key = card_keys.code_key(data, where.url)
        issued = desk_issued.issue(
            session, code_key, view.piece.id, [member.id for member in view.listed]
        )
    _write(file, cards_pdf([CardGroup(tuple(issued))], Size(size), ENGLISH))
    click.echo(f"{len(issued)} cards are in {file}. {where.in_words}")


@main.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--preview", is_flag=True, help="Only say what is read, and what it would change.")
@click.option(
    "--unit",
    type=click.Choice([unit.value for unit in ListUnit]),
    help="The unit of every number of a list that states none.",
)
@click.option(
    "--datum",
    metavar="floor|mat:THICKNESS",
    help="From where a list takes all its heights: floor, or mat:20 with the mat's centimetres.",
)
@click.option("--model", help="The apparatus model that a list means where it names none.")
@_json
def import_command(
    file: Path,
    preview: bool,
    unit: str | None,
    datum: str | None,
    model: str | None,
    as_json: bool,
) -> None:
    """Take athletes and settings from FILE, an XLSX or CSV sheet or list: all of it, or nothing.

    With --preview it is only told: each value that would be taken, each cell that a person has to
    settle, and with --json how each column was read. A list is read as somebody corrected lists of
    its layout on the pages; --unit, --datum and --model answer for the whole list. A sheet of our
    own columns is looked at as what it is: what it would change, and each place to put right.
    """
    content = _sheet_content(file)
    answers = _of_the_whole_list(unit, datum, model)
    if preview and not _data().database.exists():
        _tell_list(read_lists(content, file.name, answers=answers.said), as_json=as_json)
        return
    with _work(writes=not preview) as session:
        squad = Squad(session)
        seen = coach_lists.look(session, squad, content, file.name, answers=answers)
        if seen.is_ours and answers.said:
            raise Refused(
                f"{file} has our own columns, which say unit, datum and model: leave them out"
            )
        is_taken = seen.is_whole and bool(seen.taken or seen.is_ours)
        if is_taken and not preview:
            new, kept = coach_lists.take(session, squad, seen)
    if preview and (as_json or not seen.is_ours):
        _tell_list(seen.preview, as_json=as_json, scales=seen.mark_scales)
        return
    if not as_json:
        _tell_changes(seen)
    if not is_taken:
        for line in open_lines(seen):
            click.echo(line, err=True)
        raise Refused(OURS_NOT_TAKEN if seen.is_ours else LIST_NOT_TAKEN)
    if as_json:
        _echo_json({"new": new, "settings": kept})
    elif not preview:
        click.echo(f"{new} added to the squad, {so_many(kept, 'setting')} saved.")


OURS_NOT_TAKEN = "Nothing was saved: a sheet of our own columns is taken as a whole, or not at all"
LIST_NOT_TAKEN = (
    "Nothing was saved: a list is taken here as a whole, or not at all. The page Sheets asks what"
    " is open in its place, and takes the rest"
)


def _tell_changes(seen: Look) -> None:
    """On whose scales marks are read, and what a sheet of our own columns would change."""
    _tell_scales(seen.mark_scales)
    if not seen.is_ours:
        return
    for line in change_lines(seen):
        click.echo(line)
    if seen.sheets_not_read:
        click.echo(f"Sheets not read: {', '.join(seen.sheets_not_read)}")
    changing, unchanged = len(seen.changing_rows), seen.unchanged_rows
    click.echo(f"{changing} rows change something, {unchanged} change nothing.")


def _tell_scales(scales: Mapping[str, MarkScale]) -> None:
    for name, scale in scales.items():
        click.echo(f"Marks of {name}: {scale.in_words or scale.why_not}")


def _tell_list(
    found: ListPreview, *, as_json: bool, scales: Mapping[str, MarkScale] | None = None
) -> None:
    """A list as it is read; ``scales`` are those of its marks, where the club is known."""
    if as_json:
        read_on = {name: scale.in_words or None for name, scale in (scales or {}).items()}
        _echo_json({**list_data(found), "mark_scales": read_on})
        return
    _tell_scales(scales or {})
    for line in list_lines(found):
        click.echo(line)


def _of_the_whole_list(unit: str | None, datum: str | None, model: str | None) -> Answers:
    """The answers that hold for all of a list."""
    said = {coach_lists.UNIT_OF_ALL: unit, coach_lists.MODEL_OF_ALL: model}
    if datum is not None:
        level, _, thickness = datum.partition(":")
        if level not in {known_level.value for known_level in Level} or (level == "mat") != bool(
            thickness
        ):
            raise Refused(
                "--datum must be floor, or mat:20 with the mat's thickness in centimetres"
            )
        mat_mm = read_length_mm(thickness, "The mat", Unit.CENTIMETRE) if thickness else None
        said[coach_lists.DATUM_OF_ALL] = f"{level}:{mat_mm}" if thickness else level
    return Answers({key: answer for key, answer in said.items() if answer})


@main.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def export(file: Path) -> None:
    """Write the squad and its settings to FILE, .xlsx or .csv, in the columns of the import."""
    written = {".csv": squad_csv, ".xlsx": squad_xlsx}.get(file.suffix.lower())
    if written is None:
        raise Refused(f"{file} must end in .xlsx or .csv: the ending says which of them is written")
    with _work() as session:
        rows = list(export_rows(session))
    _write(file, written(rows, squad_columns().axes))
    click.echo(f"{len(rows)} rows are in {file}.")


def _data() -> DataFolder:
    return DataFolder.from_environment()


def _opened(data: DataFolder) -> Store:
    """The desk in that folder, ready for work."""
    store = upgraded(data.database)
    opening.make_ready(store, data)
    return store


def _sheet_content(file: Path) -> bytes:
    """What is in a sheet's file, whose size is looked at first."""
    try:
        size_bytes = file.stat().st_size
        if size_bytes > MOST_BYTES:
            raise FileIsTooLarge(file.name, size_bytes, MOST_BYTES)
        with file.open("rb") as source:
            return source.read(MOST_BYTES + 1)
    except OSError as refusal:
        raise Refused(f"{file} cannot be read: {refusal.strerror}") from refusal


@contextmanager
def _work(*, writes: bool = False) -> Iterator[ClubSession]:
    store = _opened(_data())
    with store.work(_club(store), by=BY, writes=writes) as session:
        yield session


def _front(
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


def _front_lines(front: Front, host: str, where: Reach) -> Iterator[str]:
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


def _named(pieces: Mapping[str, desk_apparatus.Piece], name: str) -> desk_apparatus.Piece:
    if name.casefold() not in pieces:
        known = ", ".join(piece.name for piece in pieces.values())
        raise Refused(f"There is no apparatus '{name}': there are {known}")
    return pieces[name.casefold()]


def _write(file: Path, content: bytes) -> None:
    try:
        write_private(file, content)
    except OSError as refusal:
        raise Refused(f"{file} cannot be written: {refusal.strerror}") from refusal


def _symbols(count: int) -> str:
    return "".join(secrets.choice(SYMBOLS) for _ in range(count))


def _echo_json(answer: Any) -> None:
    click.echo(json.dumps(answer, ensure_ascii=False))


def _complain(line: str) -> None:
    click.echo(line, err=True)
