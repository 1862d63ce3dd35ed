"""The invented club in an empty folder."""

import secrets
from typing import Any

import click

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.cli.at_hand import data_folder, opened
from settingsdesk.cli.reached import reached, told_front
from settingsdesk.config import write_private
from settingsdesk.desk.accounts.clubs import is_empty
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import reach
from settingsdesk.desk.demo import club as desk_club
from settingsdesk.desk.demo import whole
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.terminal.as_text import order_lines
from settingsdesk.domain.base.codes import SYMBOLS
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.resources import folder
from settingsdesk.words.language import ENGLISH


@click.command("demo")
@reached
def demo_command(host: str, port: int, public_url: str | None, **told: Any) -> None:
    """Put the invented demo club into an empty folder; change nothing in one that has data."""
    data = data_folder()
    store = opened(data)
    told_front(data, public_url, **told)
    where = reach(data.public_url(), host, port)
    if not is_empty(store):
        click.echo(f"{data.path} has data already; nothing was changed.")
        click.echo(
            "Sign in with the name and password that you have for it;"
            " `settingsdesk coach password NAME` gives a new one."
        )
        return
    password = "-".join(_symbols(4) for _ in range(3))
    store.close()
    put, meet = whole.put(data, folder("seed"), password)
    store = opened(data)
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


def _symbols(count: int) -> str:
    return "".join(secrets.choice(SYMBOLS) for _ in range(count))
