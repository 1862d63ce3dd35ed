"""Crew sheets as they are printed and as a spreadsheet: the same words, neutral of the page."""

from collections.abc import Iterable, Iterator, Sequence

from settingsdesk.cards.crew_sheet import CrewPaper, CrewRow
from settingsdesk.desk.clock import local_date
from settingsdesk.desk.meet_day.crew_sheets import CrewLine, CrewSheet
from settingsdesk.desk.terminal.as_text import minutes
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.moves import Move
from settingsdesk.sheets.writing import CellValue, Page

CAUTIONS = (
    "Before every turn: locks seated, handles closed, tension equal, square, checked by a second"
    " person. The maker’s instructions, the federation’s and the local rules come first; trained"
    " people only. When in doubt, out of use."
)
HANDS = {1: "one pair of hands", 2: "two pairs of hands", 4: "four pairs of hands"}


def in_words(move: Move, unit: Unit) -> str:
    """What to move: "High rail height up 2 stops, 5 to 7 (10.0 cm)"."""
    stops = "1 stop" if move.stops == 1 else f"{move.stops} stops"
    return (
        f"{move.axis.kind.name} {move.direction} {stops}, {move.from_label} to {move.to_label}"
        f" ({length_in_words(move.by_mm, unit)})"
    )


def facts(sheet: CrewSheet) -> list[str]:
    """What stands above the table: where and when, for how many hands, from where."""
    begins = f", {sheet.line.session.begins_at}" if sheet.line.session.begins_at else ""
    stands = "nobody knows: read the marks first"
    if sheet.piece.setup is not None:
        stands = " / ".join(sheet.piece.model.marks(sheet.piece.setup).values())
    order = f"Start order {sheet.came_by} by {sheet.line.set_by}; for {HANDS[sheet.hands]}"
    printed = f"Printed {day_in_words(local_date(sheet.made_at))}"
    return [
        f"{sheet.meet.facts.name}, {sheet.meet.facts.hall}, {day_in_words(sheet.held_on)}{begins}",
        f"{order}; stands now at {stands} ({sheet.piece.scale_used}). {printed}.",
    ]


def sums(sheet: CrewSheet) -> list[str]:
    """What stands below it: the time in all, and the warm-up of the rule book beside it."""
    estimate = ", by times that are estimates" if sheet.piece.model.procedure.estimated else ""
    told = [f"{sheet.change_overs} change-overs, {minutes(sheet.seconds)} in all{estimate}."]
    found = sheet.warm_up
    if found is None:
        return told
    rule = found.warm_up
    source = ", ".join(part for part in (rule.source, rule.edition) if part)
    told.append(
        f"Warm-up: {rule.in_words} ({source}; {rule.standing.value}). Together"
        f" {minutes(found.has_s)}, of which {minutes(max(found.left_s, 0))} are left for the"
        " athletes."
        if rule.with_preparing
        else f"Warm-up: {rule.in_words} ({source}; {rule.standing.value})."
    )
    if found.left_s < 0:
        told.append(f"It is {minutes(-found.left_s)} too short for the change-overs alone.")
    return told


def paper(sheet: CrewSheet) -> CrewPaper:
    """One sheet as it goes on paper."""
    return CrewPaper(
        title=sheet.title,
        above=tuple(facts(sheet)),
        axes=tuple(axis.kind.name for axis in sheet.piece.model.axes),
        rows=tuple(_row(sheet, line) for line in sheet.lines),
        below=tuple(sums(sheet)),
        cautions=CAUTIONS,
    )


def page(sheet: CrewSheet) -> Page:
    """One sheet as a sheet of a workbook, the sums in the last rows."""
    axes = [axis.kind.name for axis in sheet.piece.model.axes]
    headers = (
        "Turn",
        "Start number",
        "Athlete",
        "Club",
        *(part for axis in axes for part in (f"{axis}, mark", f"{axis}, length")),
        "Move before the turn",
        "Seconds",
        "Note",
    )
    rows = [_cells(sheet, line, len(axes)) for line in sheet.lines]
    rows += [(words,) for words in (*facts(sheet), *sums(sheet), CAUTIONS)]
    place = f"S{sheet.line.session.number} R{sheet.line.number} {sheet.piece.name}"
    return Page(place, headers, tuple(rows))


def pages(sheets: Sequence[CrewSheet]) -> list[Page]:
    """A workbook's sheets, no two of one name."""
    made: list[Page] = []
    for number, paper in enumerate(map(page, sheets), start=1):
        taken = {other.name[:28] for other in made}
        name = f"{number} {paper.name}" if paper.name[:28] in taken else paper.name
        made.append(Page(name, paper.headers, paper.rows))
    return made


def _row(sheet: CrewSheet, line: CrewLine) -> CrewRow:
    number = f"No. {line.start_number}" if line.start_number else ""
    return CrewRow(
        place=f"{line.place}.",
        name=line.name,
        under_name=", ".join(part for part in (number, line.club) if part),
        marks=tuple((mark.mark, mark.length) for mark in line.marks),
        moves=tuple(_moves(sheet, line)),
        seconds=str(line.seconds) if line.moves else "",
        notes=tuple(_notes(sheet, line)),
    )


def _cells(sheet: CrewSheet, line: CrewLine, axes: int) -> tuple[CellValue, ...]:
    marks: Iterable[str] = [part for mark in line.marks for part in (mark.mark, mark.length)]
    return (
        line.place,
        line.start_number,
        line.name,
        line.club,
        *(marks if line.marks else ("",) * (2 * axes)),
        "; ".join(_moves(sheet, line)),
        line.seconds if line.moves is not None else None,
        "; ".join(_notes(sheet, line)),
    )


def _moves(sheet: CrewSheet, line: CrewLine) -> Iterator[str]:
    if line.moves is None:
        return
    if not line.moves:
        yield "Nothing to move"
    for move in line.moves:
        yield in_words(move, sheet.unit)


def _notes(sheet: CrewSheet, line: CrewLine) -> Iterator[str]:
    yield from line.notes
    if short := sheet.short_at(line.place):
        yield short
