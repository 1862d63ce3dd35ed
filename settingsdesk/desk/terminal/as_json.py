"""Orders, conversions and imports as plain data, for a program that asks on the command line."""

from collections.abc import Iterable
from typing import Any

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import Lane
from settingsdesk.desk.rotations.rotation import RotationLine
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.rotations.wish_costs import ToldWish
from settingsdesk.domain.settings.transfer import Fit, Transfer
from settingsdesk.sheets.lists.preview import Accepted, ColumnFound, ListPreview, Note


def rotations_data(lines: Iterable[RotationLine]) -> list[dict[str, Any]]:
    """The rotations by number, as a program needs them to ask for one."""
    return [
        {
            "rotation": line.id,
            "name": line.name,
            "held_on": line.held_on.isoformat(),
            "apparatus": line.apparatus_name,
            "athletes": line.athletes,
        }
        for line in lines
    ]


def order_data(view: RotationView) -> dict[str, Any]:
    """The order of a rotation; ``order`` is null where none counts. Times are whole seconds.

    ``withdrawn`` are those of its apparatus that nobody may use. A turn's ``serves`` are all who go
    after its change-over and before the next one; nobody where nothing is moved before it. Several
    ``groups`` have their turns one after the other, counted in each from 1.
    """
    ordered = view.ordered
    answer: dict[str, Any] = {
        "rotation": view.id,
        "name": view.name,
        "withdrawn": [piece.name for piece in view.pieces.values() if piece.withdrawal],
        "order": None,
    }
    if ordered is None:
        return answer
    answer["order"] = {
        "outdated": ordered.outdated,
        "proven": ordered.proven,
        "change_over_s": ordered.best.seconds,
        "goal_s": ordered.goal_s,
        "bound_s": ordered.bound_s,
        "as_listed_s": ordered.as_listed.seconds if ordered.as_listed else None,
        "by_height_s": ordered.by_height.seconds if ordered.by_height else None,
        "group_by_group_s": ordered.group_by_group.seconds if ordered.group_by_group else None,
        "wishes": [_wish(wish) for wish in view.wishes],
        "apparatus": [_lane(lane, view) for lane in ordered.best.lanes],
    }
    return answer


def _wish(wish: ToldWish) -> dict[str, Any]:
    """What keeping it costs lies between two bounds; nulls where nobody has worked it out."""
    cost = wish.cost
    return {
        "wish": wish.words,
        "costs_at_least_s": cost.at_least_s if cost else None,
        "costs_at_most_s": cost.at_most_s if cost else None,
        "without_s": cost.without_s if cost else None,
    }


def transfer_data(found: Transfer, piece: Piece) -> dict[str, Any]:
    """The closest marks on an apparatus; lengths and residuals in millimetres, canonical datum."""
    return {
        "apparatus": piece.name,
        "scale": piece.scale_used,
        "best": _fit(found.best),
        "runner_up": _fit(found.runner_up) if found.runner_up else None,
    }


def list_data(found: ListPreview) -> dict[str, Any]:
    """What a coach's list says: each value that is taken, and each cell that is to be settled.

    ``athletes`` are all whom it names, with a setting or without. ``waiting`` are values that are
    read and not taken before a note or question is answered, ``columns`` how each column was read
    and why, ``questions`` what is asked of a whole column.
    """
    return {
        "athletes": [
            {
                "athlete": person.shown,
                "club": person.club,
                "group": person.group,
                "row": person.at[1],
                "waits": bool(person.waits),
            }
            for person in found.persons
        ],
        "accepted": [_listed(cell) for cell in found.accepted],
        "queries": [
            {
                "sheet": query.sheet,
                "row": query.row,
                "column": query.column,
                "read": query.read,
                "why": query.why,
            }
            for query in found.queries
        ],
        "waiting": [_listed(cell) for cell in found.waiting],
        "notes": [_note(note, found) for note in found.notes],
        "questions": [
            {
                "key": question.key,
                "about": question.about,
                "sheet": question.sheet,
                "row": question.row,
                "column": question.line,
                "header": question.header,
                "why": question.why,
                "choices": [choice.value for choice in question.choices],
                "likely": question.likely or None,
                "cells": question.cells,
                "examples": list(question.examples),
            }
            for question in found.column_questions
        ],
        "columns": [_column(column) for table in found.tables for column in table.columns],
    }


def _column(column: ColumnFound) -> dict[str, Any]:
    of_kind = f"{column.kind}/{column.axis}" if column.kind else column.axis
    return {
        "sheet": column.sheet,
        "column": column.line,
        "header": column.header,
        "holds": column.role.value if column.role else None,
        "axis": of_kind if column.axis else None,
        "unit": column.unit.value if column.unit else None,
        "datum": column.datum or None,
        "told_by": column.told_by or None,
        "why": column.because,
    }


def _listed(cell: Accepted) -> dict[str, Any]:
    return {
        "athlete": cell.athlete,
        "model": cell.model,
        "axis": cell.axis,
        **({"mark": cell.mark} if cell.value_mm is None else {"value_mm": cell.value_mm}),
        "read": cell.read,
        "converted": cell.converted,
        "sheet": cell.sheet,
        "row": cell.row,
        "column": cell.column,
    }


def _note(note: Note, found: ListPreview) -> dict[str, Any]:
    return {
        "key": note.key,
        "what": note.kind.value,
        "sheet": note.sheet,
        "row": note.row,
        "column": note.column,
        "text": note.text,
        "says": [said.value for said in note.says],
        "athletes": [found.persons[place].shown for place in note.persons],
        "open": note.is_open,
        "why": note.why,
    }


def _lane(lane: Lane, view: RotationView) -> dict[str, Any]:
    return {
        "name": lane.piece.name,
        "starts_at": lane.piece.model.marks(lane.start),
        "turns": [
            {
                "turn": turn.place,
                "athlete": view.called[turn.member.id],
                "marks": lane.piece.model.marks(turn.setup),
                "unmeasured": _unmeasured(lane, view, turn.member.id),
                "purpose": _purpose(lane, view, turn.member.id),
                "not_tried": _is_untried(lane, view, turn.member.id),
                "change_over_s": turn.seconds,
                "serves": [view.called[member.id] for member in lane.served_by(turn)],
            }
            for turn in lane.turns
        ],
        "groups": [
            {
                "name": view.called_group(block.group),
                "turns": len(block.turns),
                "begins_after_s": block.after_s,
                "change_over_s": block.seconds,
            }
            for block in lane.blocks
        ],
        "ends_at": lane.piece.model.marks(lane.closing.setup) if lane.closing else None,
    }


def _unmeasured(lane: Lane, view: RotationView, athlete_id: int) -> str | None:
    own = view.carried[lane.piece.id].get(athlete_id)
    return own.unmeasured or None if own else None


def _purpose(lane: Lane, view: RotationView, athlete_id: int) -> str | None:
    """What the setting is for that counts there."""
    own = view.carried[lane.piece.id].get(athlete_id)
    return own.version.purpose if own else None


def _is_untried(lane: Lane, view: RotationView, athlete_id: int) -> bool:
    own = view.carried[lane.piece.id].get(athlete_id)
    return own is not None and own.version.untried


def _fit(fit: Fit) -> dict[str, Any]:
    return {
        "axes": {
            axis.axis.key: {
                "mark": axis.mark,
                "length_mm": round(axis.measure_mm, 1),
                "residual_mm": round(axis.residual_mm, 1),
                "out_of_range": axis.out_of_range,
            }
            for axis in fit.axes
        }
    }
