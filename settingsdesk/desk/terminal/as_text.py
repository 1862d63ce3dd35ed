"""Orders and conversions as plain lines of text, for a terminal."""

from collections.abc import Iterator

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.lists.coach_lists import Look, left_out
from settingsdesk.desk.rotations.lanes import Lane, Reached
from settingsdesk.desk.rotations.view import OrderedRotation, RotationView
from settingsdesk.desk.squad.setting_versions import differences
from settingsdesk.desk.squad.settings import NOT_TRIED
from settingsdesk.domain.base.figures import (
    lower_first,
    minutes,
    quoted,
    so_many,
    upper_first,
)
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.transfer import Fit, Transfer
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.table import place


def list_lines(found: ListPreview) -> Iterator[str]:
    """What a coach's list says, value by value, and what a person has to settle in it."""
    for cell in found.accepted:
        axis = axis_name(cell.kind, cell.axis)
        model = f", {cell.model}" if cell.model else ""
        where = place(cell.sheet, cell.row, cell.column)
        yield f"{where}: {cell.athlete}{model}, {axis}: {cell.converted}"
    yield from _without_values(found)
    for sheet in dict.fromkeys(table.sheet for table in found.tables if table.hidden):
        yield f"Rows or columns of sheet {quoted(sheet)} are hidden; each is said below."
    for column in (column for table in found.tables for column in table.columns):
        if column.unit and column.told_by in ("values", "person"):
            where = f"column {column.line}"
            where = f"sheet {quoted(column.sheet)}, {where}" if column.sheet else where
            yield f"{where}: read in {column.unit.value}, as {column.because}"
    for note in found.notes:
        if not note.is_open:
            where = place(note.sheet, note.row, note.column)
            yield f"{where}: {quoted(note.text)}: {note.kind.value}"
    if found.waiting:
        waiting = so_many(len(found.waiting), "value")
        yield f"{waiting} of athletes who wait for an answer below."
    taken, queried = so_many(len(found.accepted), "value"), so_many(len(found.queries), "cell")
    yield f"{taken} can be taken; {queried} to be settled{':' if found.queries else '.'}"
    for query in found.queries:
        where = place(query.sheet, query.row, query.column)
        yield f"{where}: {quoted(query.read)}: {query.why}"


def _without_values(found: ListPreview) -> Iterator[str]:
    """Whoever a list names without any value can be taken."""
    with_values = {cell.person for cell in (*found.accepted, *found.waiting)}
    for at, person in enumerate(found.persons):
        if at not in with_values:
            yield f"{place(*person.at)}: {person.shown}: no value is taken"


def open_lines(seen: Look) -> Iterator[str]:
    """What of a list is open: each cell, each athlete, each setting that is not whole."""
    for line in left_out(seen):
        yield f"{line.place}: {quoted(line.read) if line.read else 'nothing'}: {line.why}"


def change_lines(seen: Look) -> Iterator[str]:
    """What a sheet of our own columns would change, row by row."""
    for person in seen.taken:
        name = person.person.listed_name
        for change in person.changes:
            yield f"row {person.found.at[1]}: {name}: {change}"
        for listed in person.settings:
            if listed.setting is None or listed.is_kept_already:
                continue
            marks: dict[str, str] = {
                axis.name: f" (mark {listed.marks[axis.key]})"
                for axis in listed.setting.kind.axes
                if axis.key in listed.marks
            }
            for line in differences(listed.before, listed.setting, Unit.CENTIMETRE):
                mark = marks.get(line.partition(":")[0], "")
                change = f"{listed.called}, {lower_first(line)}{mark}"
                yield f"row {listed.at[1]}: {name}: {change}"


def axis_name(kind: str | None, axis: str) -> str:
    """An axis inside a sentence, where its kind may not be known: "rail spread"."""
    kinds = [KINDS[kind]] if kind in KINDS else list(KINDS.values())
    found = (known.in_a_sentence for of in kinds for known in of.axes if known.key == axis)
    return next(found, axis)


def order_lines(view: RotationView) -> Iterator[str]:
    """The best order with what moves before each turn, and what it saves."""
    names = " and ".join(piece.name for piece in view.pieces.values())
    yield f"{view.name}: {names}, {len(view.listed)} athletes"
    for piece in view.pieces.values():
        if piece.withdrawal is not None:
            yield f"! {WithdrawnFromUse(piece.withdrawal)}."
    ordered = view.ordered
    if ordered is None:
        yield "No order counts for the present scale: re-plan it with --anew."
        return
    if ordered.outdated:
        yield f"! {ordered.outdated} Re-plan it."
    for lane in ordered.best.lanes:
        if len(ordered.best.lanes) > 1:
            yield lane.piece.name
        yield from _turn_lines(view, lane)
        if lane.closing:
            yield f"     {'Afterwards':<22} {_moved(lane.piece, lane.closing)}"
    yield from _to_heed(view)
    proven = "proven best" if ordered.proven else f"at most {ordered.gap_s} s from the best"
    estimated = any(piece.model.procedure.estimated for piece in view.pieces.values())
    times = "estimated" if estimated else "measured"
    best = f"Change-overs {minutes(ordered.best.seconds)} ({proven}), by {times} times"
    yield f"{best}{_saved(ordered)}."


def _turn_lines(view: RotationView, lane: Lane) -> Iterator[str]:
    """Turn by turn what moves before it, and for whom it stays; group by group, where there are."""
    begins = {block.turns[0].number: block for block in lane.blocks}
    for turn in lane.turns:
        if block := begins.get(turn.number):
            called = f"{view.called_group(block.group)}, after {minutes(block.after_s)}"
            yield ". ".join(filter(None, (called, view.settings_for(block.group))))
        moved, others = _moved(lane.piece, turn), lane.served_by(turn)[1:]
        stays = ", ".join(str(view.called[member.id]) for member in others)
        moved += f"; stays for {stays}" if stays else ""
        yield f"{turn.place:3}. {view.called[turn.member.id]:<22} {moved}"


def why_lines(view: RotationView) -> Iterator[str]:
    """What the order keeps to, with what each wish costs as far as that is known."""
    if view.ordered is not None and view.wishes:
        yield "Why this order:"
        for wish in view.wishes:
            yield f"  {upper_first(wish.in_words)}"


def _to_heed(view: RotationView) -> Iterator[str]:
    """What the marks are for, and whose nobody has tried or measured."""
    if told := view.settings_for():
        yield f"! {told}"
    for sentence, athletes in view.usual_instead.items():
        yield f"! {sentence}: {', '.join(athletes)}"
    if view.not_tried:
        yield f"! {NOT_TRIED}: {', '.join(view.not_tried)}"
    for sentence, athletes in view.unmeasured.items():
        yield f"! {sentence}: {', '.join(athletes)}"


def _saved(ordered: OrderedRotation) -> str:
    """What the best order saves against the usual ones, as far as those keep what is asked."""
    usual = {
        "as listed": ordered.as_listed,
        "by height": ordered.by_height,
        "group by group": ordered.group_by_group,
    }
    others = {name: order for name, order in usual.items() if order is not None}
    if not others:
        return ""
    times = ", ".join(f"{name} {minutes(order.seconds)}" for name, order in others.items())
    saved = " and ".join(minutes(ordered.saved_s(order)) for order in others.values())
    return f"; {times}: saves {saved}"


def transfer_lines(found: Transfer, piece: Piece) -> Iterator[str]:
    """The closest marks on an apparatus, how far off each is, and the next closest.

    A setup that is carried over says nothing of what is accepted, so only what is out of reach is
    warned about.
    """
    yield f"{piece.name} ({piece.model.name}; {piece.scale_used})"
    yield from _fit_lines(found.best)
    for axis in found.best.axes:
        if axis.out_of_range:
            yield f"! {axis.warning}"
    if found.runner_up is not None:
        yield "Next closest:"
        yield from _fit_lines(found.runner_up)
    yield "Measure with a tape once it is set; the maker's instructions come first."


def _moved(piece: Piece, to: Reached) -> str:
    """The marks to stand at, and what brings the apparatus there."""
    marks = piece.model.marks(to.setup)
    moved = {move.axis.key: move for move in to.change.moves}
    moves = ", ".join(
        f"{move.axis.kind.in_a_sentence} {move.direction} to {marks[key]}"
        for key, move in moved.items()
    )
    what = f"{minutes(to.seconds)}: {moves}" if moves else "nothing to move"
    return f"{' / '.join(marks.values()):<18} {what}"


def _fit_lines(fit: Fit) -> Iterator[str]:
    for axis in fit.axes:
        yield (
            f"  {axis.axis.kind.name}: mark {axis.mark}, {axis.measure_mm / 10:.1f} cm"
            f" ({axis.residual_mm / 10:+.1f} cm)"
        )
