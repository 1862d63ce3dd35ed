"""Marks of one apparatus on another."""

from collections.abc import Mapping

import click

from settingsdesk.cli.answers import Refused, echo_json, json_option
from settingsdesk.cli.at_hand import work
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.conversions import setup_of_labels
from settingsdesk.desk.terminal.as_json import (
    transfer_data,
)
from settingsdesk.desk.terminal.as_text import (
    transfer_lines,
)
from settingsdesk.domain.settings.transfer import setting_of_setup, transfer


@click.command()
@click.argument("here")
@click.argument("there")
@click.argument("marks", nargs=-1, required=True)
@json_option
def convert(here: str, there: str, marks: tuple[str, ...], as_json: bool) -> None:
    """Convert MARKS of apparatus HERE to apparatus THERE, both by name."""
    with work() as session:
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
            echo_json(transfer_data(found, target))
            return
        for line in transfer_lines(found, target):
            click.echo(line)


def _named(pieces: Mapping[str, desk_apparatus.Piece], name: str) -> desk_apparatus.Piece:
    if name.casefold() not in pieces:
        known = ", ".join(piece.name for piece in pieces.values())
        raise Refused(f"There is no apparatus '{name}': there are {known}")
    return pieces[name.casefold()]
