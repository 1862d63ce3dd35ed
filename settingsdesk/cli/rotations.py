"""Rotations: their plans, and their cards."""

import sys
from pathlib import Path

import click

from settingsdesk.cards.languages import printed_in
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.cli.answers import (
    Refused,
    WholeNumber,
    complain,
    echo_json,
    json_option,
    refuse_program,
    write_file,
)
from settingsdesk.cli.at_hand import data_folder, work
from settingsdesk.cli.reached import public_url_option
from settingsdesk.desk.cards import card_keys, paper_language
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import THIS_MACHINE, USUAL_PORT, reach
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.terminal.as_json import (
    order_data,
    rotations_data,
)
from settingsdesk.desk.terminal.as_text import order_lines, why_lines
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.store.base import GREATEST_NUMBER

ROTATION_NUMBER = WholeNumber(1, GREATEST_NUMBER)
"""What the database can count to."""


@click.command()
@click.argument("rotation", type=ROTATION_NUMBER, required=False)
@click.option("--anew", is_flag=True, help="Re-plan it from the present marks of its apparatus.")
@click.option(
    "--problem",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Solve a problem file instead; needs no data.",
)
@json_option
def order(rotation: int | None, anew: bool, problem: Path | None, as_json: bool) -> None:
    """Show the plan of ROTATION; without a number, list the rotations."""
    if problem is not None:
        if rotation is not None or anew:
            raise click.UsageError("--problem solves a file: leave out ROTATION and --anew")
        from settingsdesk.planner.command import order_problem

        refuse = refuse_program if as_json else complain
        sys.exit(order_problem(problem, as_json=as_json, say=click.echo, complain=refuse))
    if rotation is None:
        if anew:
            raise click.UsageError("--anew needs a ROTATION: `settingsdesk order` lists them")
        _list_rotations(as_json)
        return
    with work(writes=anew) as session:
        view = (
            desk_rotation.order_anew(session, rotation)
            if anew
            else desk_rotation.rotation(session, rotation)
        )
        if not as_json:
            for text in order_lines(view):
                click.echo(text)
        if anew:
            view = desk_rotation.weigh(session, view)
        if as_json:
            echo_json(order_data(view))
        else:
            for text in why_lines(view):
                click.echo(text)


def _list_rotations(as_json: bool) -> None:
    with work() as session:
        lines = desk_rotation.recent(session)
    if as_json:
        echo_json(rotations_data(lines))
        return
    for line in lines:
        click.echo(
            f"{line.id:4}  {line.held_on}  {line.name}, {line.apparatus_name},"
            f" {line.athletes} athletes"
        )


@click.command("cards")
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
    type=WholeNumber(1, 65535),
    help="Port that the pages are served on; left out, where they were.",
)
@public_url_option
def cards_command(
    rotation: int, file: Path, size: str, host: str | None, port: int | None, public_url: str | None
) -> None:
    """Print the cards of ROTATION into FILE, a PDF.

    Their codes lead to where the pages were served last, unless another address is given.
    """
    if file.suffix.lower() != ".pdf":
        raise Refused(f"{file} must end in .pdf: that is what is written")
    data = data_folder()
    served_host, served_port = data.last_served() or (THIS_MACHINE, USUAL_PORT)
    named = data.remember_public_url(public_url) if public_url else data.public_url()
    where = reach(named, host or served_host, port or served_port)
    with work(writes=True) as session:
        view = desk_rotation.rotation(session, rotation)
        code_key = card_keys.code_key(data, where.url)
        issued = desk_issued.issue(
            session, code_key, view.piece.id, [member.id for member in view.listed]
        )
        language = printed_in(paper_language.kept(session))
    write_file(file, cards_pdf([CardGroup(tuple(issued))], Size(size), language))
    click.echo(f"{len(issued)} cards are in {file}. {where.in_words}")
    if any(card.above_mat for card in issued):
        click.echo(
            f"Other mats lie under {view.piece.name} today: the heights above the mat on these"
            " cards are of this day alone, which they name."
        )
