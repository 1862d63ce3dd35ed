"""Crew sheets as they are printed and as a spreadsheet: the same words, neutral of the page."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from itertools import zip_longest
from typing import Any

from settingsdesk.cards.crew_sheet import CrewPaper, CrewRow
from settingsdesk.desk.clock import local_date
from settingsdesk.desk.hall.apparatus import as_first_said
from settingsdesk.desk.meet_day.crew_sheets import (
    BEING_SET,
    ON_NOW,
    SCRATCHED,
    SET_ALL,
    SET_NOW,
    CrewLine,
    CrewSheet,
)
from settingsdesk.desk.meets.raise_requests import as_first_told
from settingsdesk.desk.rotations.order_paper import (
    HANDS,
    NOTHING_TO_MOVE,
    cautions,
    in_all,
    in_words,
    measured_from,
    other_mats,
)
from settingsdesk.desk.squad.settings import NOT_TRIED
from settingsdesk.domain.base.codes import SYMBOLS
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words, minutes, said_in
from settingsdesk.domain.base.sentences import (
    NO_BREAK,
    Counted,
    Moment,
    Sentence,
    Series,
    marked,
)
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.settings.end_view import DimensionText, end_view
from settingsdesk.sheets.writing import CellValue, Page

LEFT = marked("Together %(minutes)s, of which %(left)s are left for the athletes.")
AT_MOST_LEFT = marked("Together %(minutes)s, of which at most %(left)s are left for the athletes.")
AS_IT_WAS_SAID = {
    SCRATCHED: "Withdrawn: does not come",
    SET_ALL: "What stands there before is not known: set every axis, whatever it shows",
}
"""Notes that papers of before have in other words: they say the same, and are not out of date."""

OF_THE_MOMENT = (BEING_SET, ON_NOW, SET_NOW, NOT_TRIED)
"""Notes of how far a turn is, and that nobody has tried it: what is to be set is the same before
and after."""

DIGITS, DIGITS_OF_THE_REST = 16, 8


def facts(sheet: CrewSheet) -> list[str]:
    """What stands above the table: where and when, for how many hands, from where."""
    return _facts(sheet, begins_from(sheet))


def _facts(sheet: CrewSheet, begins_from_where: str) -> list[str]:
    begins = sheet.line.session.begins_at
    where = (sheet.meet.facts.name, sheet.meet.facts.hall, day_in_words(sheet.held_on))
    return [
        Series((*where, begins) if begins else where, ", "),
        Sentence(
            "Start order %(came_by)s by %(name)s; for %(people)s. Marks: %(scale)s.",
            came_by=sheet.came_by,
            name=sheet.line.set_by,
            people=HANDS[sheet.hands],
            scale=sheet.piece.scale_used,
        ),
        *not_now(sheet),
        *how_far(sheet),
        begins_from_where,
        Sentence("Lengths: %(datums)s.", datums=measured_from(sheet.piece.model)),
        *other_mats(sheet.piece, sheet.held_on, sheet.unit),
    ]


def not_now(sheet: CrewSheet) -> list[str]:
    """Why nothing may be set by it now; nothing where it may."""
    if sheet.piece.withdrawal is not None:
        return [
            Sentence(
                "%(apparatus)s is out of use: set nothing by this sheet before a coach has"
                " released it.",
                apparatus=sheet.piece.name,
            )
        ]
    if sheet.progress and sheet.progress.is_stopped and not sheet.is_over:
        return [
            Sentence(
                "The work here is stopped, something is said to be wrong: set nothing by this"
                " sheet before a coach has looked."
            )
        ]
    return []


def how_far(sheet: CrewSheet) -> list[str]:
    """What is said once a rotation was begun: what is left out, and whether it goes on."""
    progress = sheet.progress
    if progress is None:
        return []
    if not progress.ended and not progress.over:
        return [Sentence("Under way: the turns are in their order at the apparatus.")]
    if not progress.ended:
        return [
            Counted(
                "Under way: %(count)s turn is over and left out. The others are in their order at"
                " the apparatus.",
                "Under way: %(count)s turns are over and left out. The others are in their order at"
                " the apparatus.",
                progress.over,
            )
        ]
    if not sheet.lines:
        return [Sentence("All turns of this rotation are over: set nothing by this sheet.")]
    return [
        Sentence(
            "This rotation was ended, and these turns were not taken: set nothing by this sheet"
            " before a coach has taken the rotation up again."
        )
    ]


def begins_from(sheet: CrewSheet) -> str:
    """From which marks the first is set, and how one knows; of a day to come nobody does."""
    begins = sheet.begins
    is_to_come = sheet.progress is None and sheet.held_on > local_date(sheet.made_at)
    if begins.setup is None or begins.left_by or not is_to_come:
        return _begins_on_its_day(sheet)
    marks = sheet.piece.model.marks_in_words(begins.setup)
    return Sentence("Planned from %(marks)s: read the present marks before.", marks=marks)


def _begins_on_its_day(sheet: CrewSheet) -> str:
    if sheet.begins.setup is None:
        return Sentence("Before the first turn read the present marks, at both ends.")
    marks = sheet.piece.model.marks_in_words(sheet.begins.setup)
    if sheet.begins.left_by:
        return Sentence(
            "Begins from %(marks)s, where %(rotation)s leaves it: compare before.",
            marks=marks,
            rotation=sheet.begins.left_by,
        )
    return Sentence(
        "Begins from %(marks)s, the present marks on record: compare before.", marks=marks
    )


def warning(sheet: CrewSheet) -> str:
    """Said once, on top: that the warm-up is too short, at which turns, and what to do."""
    found = sheet.warm_up
    if found is None or not found.too_short:
        return ""
    turns = Series([str(short.place) for short in found.too_short], ", ")
    worst = max(found.too_short, key=lambda short: short.needs_s - short.has_s)
    return Counted(
        "Too short: at turn %(turns)s the change-over takes longer than the warm-up gives; at turn"
        " %(worst)s it takes %(needs)s, and the warm-up gives %(has)s. Tell the jury before the"
        " session, set with more people, and leave out no check for it.",
        "Too short: at turns %(turns)s the change-overs take longer than the warm-up gives; at turn"
        " %(worst)s they take %(needs)s, and it gives %(has)s. Tell the jury before the session,"
        " set with more people, and leave out no check for it.",
        len(found.too_short),
        turns=turns,
        worst=worst.place,
        needs=minutes(worst.needs_s),
        has=minutes(worst.has_s),
    )


def version(sheet: CrewSheet) -> str:
    """A mark by which two papers, or a paper and the page, are known to say the same: "7QKM".

    It stays the same from the day before to the day itself.
    """
    above = _facts(sheet, _begins_on_its_day(sheet))
    said = (sheet.title, above, sheet.hands, sheet.lines, sums(sheet), cautions(sheet.piece.model))
    digest = sha256(_as_ever(said)).digest()
    return "".join(SYMBOLS[byte % len(SYMBOLS)] for byte in digest[:4])


def printed_version(sheet: CrewSheet) -> str:
    """What is kept of a paper, so that ``still_holds`` can tell whether it says what counts.

    A word for all of it, then one for what is left to be set after each of its turns. For how many
    hands it was printed makes no difference, nor how it is known where it begins.
    """
    rows = [_to_be_set(sheet, line) for line in sheet.lines]
    said = (*_above_all_turns(sheet), sheet.begins.setup, rows, *_above_the_mat(sheet))
    return " ".join([_digest(said, DIGITS), *_words_of_the_rest(sheet)])


def still_holds(kept: str, sheet: CrewSheet) -> bool:
    """Whether a paper of which that was kept says what counts, for what is left to be set.

    Before its rotation begins all of it must. Then what is left must be what the paper has left
    after one of its turns, in that order, with the same marks and the same moves; that all goes as
    the paper says makes it no older. A paper says its unit, and holds in either.
    """
    return any(_still_holds(kept, _said_in(sheet, unit)) for unit in Unit)


def _said_in(sheet: CrewSheet, unit: Unit) -> CrewSheet:
    lines = tuple(
        replace(
            line,
            marks=tuple(replace(mark, length=said_in(mark.length, unit)) for mark in line.marks),
            notes=tuple(said_in(note, unit) for note in line.notes),
        )
        for line in sheet.lines
    )
    return replace(sheet, unit=unit, lines=lines)


def _still_holds(kept: str, sheet: CrewSheet) -> bool:
    whole, *rest = kept.split()
    if sheet.progress is None:
        return whole == printed_version(sheet).split()[0]
    first = 1 if sheet.progress.is_set else 0
    left = replace(sheet, lines=sheet.lines[first:])
    return not left.to_come or _words_of_the_rest(left)[0] in rest


def is_kept_in_short(kept: str) -> bool:
    """Whether of a paper no more was kept than the word for all of it, as of those of before."""
    return " " not in kept


def _words_of_the_rest(sheet: CrewSheet) -> list[str]:
    """For each turn of who comes a word for it and all that follow, and one for nothing left."""
    above = (*_above_all_turns(sheet), *_above_the_mat(sheet))
    words = [_digest(above, DIGITS_OF_THE_REST)]
    for line in reversed(sheet.to_come):
        row = replace(_to_be_set(sheet, line), place="")
        words.append(_digest((row, words[-1]), DIGITS_OF_THE_REST))
    return words[::-1]


def _above_all_turns(sheet: CrewSheet) -> tuple[str, ...]:
    """What holds for every turn: which rotation, where and when, and whose scale the marks are."""
    return sheet.title, facts(sheet)[0], as_first_said(sheet.piece.scale_used)


def _above_the_mat(sheet: CrewSheet) -> tuple[int, ...]:
    """What it says of heights above the mat, in mm: how thick the mats are, and how much more.

    It says nothing of them where they are as usual, so that what was kept of papers before this
    was told apart stands for those.
    """
    mats = sheet.piece.mats.on(sheet.held_on)
    return (mats.lie_mm, mats.more_mm) if mats.more_mm else ()


def _to_be_set(sheet: CrewSheet, line: CrewLine) -> CrewRow:
    """A row as it is told from others, whatever a paper calls things now."""
    return replace(
        _row(sheet, line),
        seconds="",
        moves=tuple(_moved_as_ever(sheet, line)),
        notes=tuple(
            AS_IT_WAS_SAID.get(note, as_first_told(note))
            for note in line.notes
            if note not in OF_THE_MOMENT
        ),
    )


def _digest(said: object, digits: int) -> str:
    return sha256(_as_ever(said)).hexdigest()[:digits]


def _as_ever(said: object) -> bytes:
    """Words as they are compared: inches were said with usual blanks at first."""
    return repr(said).replace(repr(NO_BREAK)[1:-1], " ").encode()


def issue(sheet: CrewSheet) -> str:
    """Version, day and time of a paper, as at its foot."""
    at = sheet.made_at.astimezone()
    return Sentence(
        "version %(version)s · printed %(moment)s", version=version(sheet), moment=Moment(at)
    )


def sums(sheet: CrewSheet) -> list[str]:
    """What stands below it: the time in all, and the warm-up of the rule book beside it."""
    if sheet.is_over:
        return []
    told: list[str] = [in_all(sheet.change_overs, sheet.seconds)]
    if sheet.piece.model.procedure.estimated:
        told.append(Sentence("The times are estimates."))
    if without := uncounted(sheet):
        told.append(without)
    told = [Series(told, " ")]
    found = sheet.warm_up
    if found is None:
        return told
    rule = found.warm_up
    source = Series([part for part in (rule.source, rule.edition) if part], ", ")
    told.append(
        Sentence(
            "Warm-up: %(rule)s (%(source)s; %(standing)s).",
            rule=rule.in_words,
            source=source,
            standing=rule.standing.value,
        )
    )
    if rule.with_preparing:
        form = AT_MOST_LEFT if sheet.uncounted else LEFT
        left = minutes(max(found.left_s, 0))
        told[-1] = Series((told[-1], Sentence(form, minutes=minutes(found.has_s), left=left)), " ")
    return told


def uncounted(sheet: CrewSheet) -> str:
    """Before which turns it is not known what is to be moved; often empty."""
    if not sheet.uncounted:
        return ""
    return Counted(
        "Without what comes before turn %(turns)s.",
        "Without what comes before turns %(turns)s.",
        len(sheet.uncounted),
        turns=Series([str(place) for place in sheet.uncounted], ", "),
    )


def paper(sheet: CrewSheet) -> CrewPaper:
    """One sheet as it goes on paper."""
    return CrewPaper(
        title=sheet.title,
        above=tuple(facts(sheet)),
        axes=tuple(axis.kind.name for axis in sheet.piece.model.axes),
        rows=tuple(_row(sheet, line) for line in sheet.lines),
        below=tuple(sums(sheet)),
        cautions=cautions(sheet.piece.model),
        warning=warning(sheet),
        issue=issue(sheet),
        **_view(sheet),
    )


def _view(sheet: CrewSheet) -> dict[str, Any]:
    """The end view at the first marks of the rotation; nothing where there are none."""
    first = next((line for line in sheet.lines if line.setup is not None), None)
    if first is None or first.setup is None:
        return {}
    model, piece = sheet.piece.model, sheet.piece
    measures_mm = model.measures_mm(first.setup)
    texts = {
        axis.key: DimensionText(mark.mark, mark.length)
        for axis, mark in zip(model.kind.axes, first.marks, strict=True)
    }
    foot_mm = model.geometry.foot_distance_mm if isinstance(model.geometry, Leaning) else None
    drawing = end_view(
        model.kind,
        model.section,
        measures_mm,
        texts,
        piece.mats.on(sheet.held_on).lie_mm,
        foot_mm,
        rails_enlarged=True,
    )
    says: str = Sentence("End view at the marks of turn %(turn)s", turn=first.place)
    if piece.seen_from:
        says = Sentence(
            "End view at the marks of turn %(turn)s, seen from the %(end)s",
            turn=first.place,
            end=piece.seen_from,
        )
    says = Series((says, drawing.note), ". ") if drawing.note else says
    return {"drawing": drawing, "drawing_says": says}


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
    place = f"S{sheet.line.session.number} R{sheet.line.number} {sheet.piece.name}"
    warned = warning(sheet)
    return Page(
        place,
        headers,
        tuple(_cells(sheet, line, len(axes)) for line in sheet.lines),
        above=(sheet.title, *facts(sheet), *([warned] if warned else []), issue(sheet)),
        below=(*sums(sheet), cautions(sheet.piece.model)),
        widths=(5, 7, 18, 18, *(8, 9) * len(axes), 40, 8, 24),
    )


def pages(sheets: Sequence[CrewSheet]) -> list[Page]:
    """A workbook's sheets, no two of one name."""
    made: list[Page] = []
    for number, paper in enumerate(map(page, sheets), start=1):
        taken = {other.name[:28] for other in made}
        name = f"{number} {paper.name}" if paper.name[:28] in taken else paper.name
        made.append(replace(paper, name=name))
    return made


def _row(sheet: CrewSheet, line: CrewLine) -> CrewRow:
    number = Sentence("No. %(number)s", number=line.start_number) if line.start_number else ""
    return CrewRow(
        place=f"{line.place}.",
        name=line.name,
        under_name=Series([part for part in (number, line.club) if part], ", "),
        marks=tuple((mark.mark, mark.length) for mark in line.marks),
        moves=tuple(_moves(sheet, line)),
        seconds=str(line.seconds) if line.moves else "",
        notes=line.notes,
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
        line.seconds,
        "; ".join(line.notes),
    )


def _moved_as_ever(sheet: CrewSheet, line: CrewLine) -> Iterator[str]:
    """What is to be moved, in the words that it is known by whatever a paper calls it now."""
    for move, told in zip_longest(line.moves or (), _moves(sheet, line)):
        if move is None:
            yield str(told)
            continue
        stops = "1 stop" if move.stops == 1 else f"{move.stops} stops"
        yield (
            f"{move.axis.kind.name} {move.direction} {stops}, {move.from_label} to"
            f" {move.to_label} ({length_in_words(move.by_mm, sheet.unit)})"
        )


def _moves(sheet: CrewSheet, line: CrewLine) -> Iterator[str]:
    if line.moves is None:
        return
    if not line.moves:
        yield NOTHING_TO_MOVE
    for move in line.moves:
        yield in_words(move, sheet.unit)
