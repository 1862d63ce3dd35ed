"""Apparatus sheets in and out: what a hall's scales and calibrations are, for clubs that come."""

from pathlib import Path

import click

from settingsdesk.cli.answers import Refused, content_of, echo_json, json_option, write_file
from settingsdesk.cli.at_hand import work
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import apparatus_sheets
from settingsdesk.desk.hall.apparatus_sheets import SheetLook
from settingsdesk.domain.base.figures import quoted


@click.group()
def apparatus() -> None:
    """The apparatus here, and apparatus sheets in and out."""


@apparatus.command("list")
@json_option
def apparatus_list(as_json: bool) -> None:
    """List the apparatus, with the model of each and what stands there."""
    with work() as session:
        pieces = desk_apparatus.all_pieces(session)
    if as_json:
        echo_json(
            [
                {
                    "name": piece.name,
                    "model": piece.model.name,
                    "kind": piece.model.kind.key,
                    "marks": piece.model.marks(piece.setup) if piece.setup else None,
                }
                for piece in pieces
            ]
        )
        return
    for piece in pieces:
        stands = piece.model.marks_in_words(piece.setup) if piece.setup else "not known"
        click.echo(f"{piece.name}: {piece.model.name}, stands at {stands}")


@apparatus.command("sheet")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.argument("names", nargs=-1)
@click.option("--hall", default="", help="What the hall is called on it.")
@click.option(
    "--without-photos",
    is_flag=True,
    help="Without where marks are read, for an earlier settingsdesk.",
)
def apparatus_sheet(file: Path, names: tuple[str, ...], hall: str, *, without_photos: bool) -> None:
    """Write the apparatus sheet of NAMES, or of all apparatus here, to FILE."""
    with work() as session:
        pieces = {piece.name.casefold(): piece for piece in desk_apparatus.all_pieces(session)}
        unknown = [name for name in names if name.casefold() not in pieces]
        if unknown:
            known = ", ".join(piece.name for piece in pieces.values())
            raise Refused(f"There is no apparatus {quoted(unknown[0])}: there are {known}")
        chosen = [pieces[name.casefold()].id for name in names or pieces]
        sheet = apparatus_sheets.export(session, chosen, hall, with_marks=not without_photos)
    write_file(file, apparatus_sheets.file_of(sheet))
    click.echo(f"{len(sheet.apparatus)} apparatus are in {file}.")


@apparatus.command("take")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--yes", is_flag=True, help="Add all of it; without it, only say what it would do.")
@json_option
def apparatus_take(file: Path, yes: bool, as_json: bool) -> None:
    """Add the apparatus of a hall from the sheet in FILE: all of them, or nothing."""
    content = content_of(file)
    with work(writes=yes) as session:
        seen = (apparatus_sheets.take if yes else apparatus_sheets.look)(session, content)
    if as_json:
        echo_json({"taken": yes, "apparatus": _told(seen)})
        return
    for line in seen.lines:
        does = "; ".join(line.does) or "nothing new"
        click.echo(f"{line.name} ({line.model_name}): {does}")
        for words in line.asks:
            click.echo(f"    check: {words}")
    if yes:
        click.echo("Check the marks there before anybody goes up.")
    elif seen.changes:
        click.echo("Nothing is saved yet: --yes adds all of it.")


def _told(seen: SheetLook) -> list[dict[str, object]]:
    return [
        {
            "name": line.name,
            "model": line.model_name,
            "does": list(line.does),
            "asks": list(line.asks),
        }
        for line in seen.lines
    ]
