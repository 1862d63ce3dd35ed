"""Athletes and settings in from a sheet or a list, and out."""

from collections.abc import Mapping
from pathlib import Path

import click

from settingsdesk.cli.answers import Refused, echo_json, json_option, write_file
from settingsdesk.cli.at_hand import data_folder, work
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.mark_scales import MarkScale
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.terminal.as_json import (
    list_data,
)
from settingsdesk.desk.terminal.as_text import (
    change_lines,
    list_lines,
    open_lines,
)
from settingsdesk.domain.base.datums import Level
from settingsdesk.domain.base.figures import read_length_mm, so_many
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.refusals import FileIsTooLarge
from settingsdesk.sheets.squad_writing import squad_csv, squad_xlsx


@click.command("import")
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
@json_option
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
    if preview and not data_folder().has_database():
        _tell_list(read_lists(content, file.name, answers=answers.said), as_json=as_json)
        return
    with work(writes=not preview) as session:
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
        echo_json({"new": new, "settings": kept})
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
        echo_json({**list_data(found), "mark_scales": read_on})
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


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def export(file: Path) -> None:
    """Write the squad and its settings to FILE, .xlsx or .csv, in the columns of the import."""
    written = {".csv": squad_csv, ".xlsx": squad_xlsx}.get(file.suffix.lower())
    if written is None:
        raise Refused(f"{file} must end in .xlsx or .csv: the ending says which of them is written")
    with work() as session:
        rows = list(export_rows(session))
    write_file(file, written(rows, squad_columns().axes))
    click.echo(f"{len(rows)} rows are in {file}.")


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
