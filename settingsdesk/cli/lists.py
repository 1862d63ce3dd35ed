"""Athletes and settings in from a sheet or a list, and out."""

from collections.abc import Iterable, Mapping
from operator import attrgetter
from pathlib import Path

import click

from settingsdesk.cli.answers import (
    Refused,
    complain,
    content_of,
    echo_json,
    json_option,
    write_file,
)
from settingsdesk.cli.at_hand import data_folder, work
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.mark_scales import MarkScale
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.squad import athletes
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
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.lists.units import ListUnit
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
@click.option(
    "--yes",
    is_flag=True,
    help="Take of a list whatever is clear, and leave out what somebody has to settle.",
)
@json_option
def import_command(
    file: Path,
    preview: bool,
    unit: str | None,
    datum: str | None,
    model: str | None,
    yes: bool,
    as_json: bool,
) -> None:
    """Take athletes and settings from FILE, an XLSX or CSV sheet or list: all of it, or nothing.

    With --yes a list is taken as far as it is clear, and what is left out is told. A sheet of our
    own columns is always taken as a whole, or not at all.

    With --preview it is only told: each value that would be taken, each cell that a person has to
    settle, and with --json how each column was read. A list is read as somebody corrected lists of
    its layout on the pages; --unit, --datum and --model answer for the whole list. A sheet of our
    own columns is looked at as what it is: what it would change, and each place to put right.
    """
    content = content_of(file)
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
        is_taken = not preview and _can_be_taken(seen, in_part=yes)
        new, kept = coach_lists.take(session, squad, seen) if is_taken else (0, 0)
    if preview and (as_json or not seen.is_ours):
        _tell_list(seen.preview, as_json=as_json, scales=seen.mark_scales)
        return
    if not as_json:
        _tell_changes(seen)
    left_out = list(open_lines(seen))
    if not is_taken and not (preview and _can_be_taken(seen, in_part=yes)):
        _complain_of(left_out)
        raise Refused(_why_nothing(seen))
    if as_json:
        echo_json({"new": new, "settings": kept, "left_out": left_out})
    elif not preview:
        _complain_of(left_out)
        left = f", {so_many(len(left_out), 'place')} left out" if left_out else ""
        click.echo(f"{new} added to the squad, {so_many(kept, 'setting')} saved{left}.")


def _can_be_taken(seen: Look, *, in_part: bool) -> bool:
    """Whether all of it is clear, or of a list at least somebody where that is enough."""
    if in_part and not seen.is_ours:
        return seen.ready
    return seen.is_whole and bool(seen.taken or seen.is_ours)


def _complain_of(left_out: Iterable[str]) -> None:
    for line in left_out:
        complain(line)


OURS_NOT_TAKEN = "Nothing was saved: a sheet of our own columns is taken as a whole, or not at all"

NOTHING_CLEAR = (
    "Nothing was saved: nothing in this list is clear enough to be taken. The page Sheets asks what"
    " is open in its place"
)
LIST_NOT_TAKEN = (
    "Nothing was saved: a list is taken here as a whole, or with --yes as far as it is clear. The"
    " page Sheets asks what is open in its place, and takes the rest"
)


def _why_nothing(seen: Look) -> str:
    if seen.is_ours:
        return OURS_NOT_TAKEN
    return LIST_NOT_TAKEN if seen.ready else NOTHING_CLEAR


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
        rows = list(export_rows(session, athletes.of_one_name(session)))
    purposes, numbers = (any(map(attrgetter(of), rows)) for of in ("purpose", "number_here"))
    write_file(file, written(rows, squad_columns().axes, purposes=purposes, numbers=numbers))
    click.echo(f"{len(rows)} rows are in {file}.")
