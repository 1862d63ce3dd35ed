"""Today: the rotations of the day, what wants looking after, and what stands where."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flask import Blueprint, render_template, url_for

from settingsdesk.desk.backups.standing import standing
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.checks.due_today import looking_after
from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.meet_day import board as desk_board
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets import retention
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import outcome, run_list
from settingsdesk.desk.runs.outcome import Outcome
from settingsdesk.desk.squad import athletes, still_right
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.who_may import may
from settingsdesk.web.frame.work import coach, desk, work

blueprint = Blueprint("today", __name__)
blueprint.context_processor(for_templates)


@blueprint.get("/")
def index() -> str:
    """Today's rotations, and the apparatus with what stands on them now."""
    with work() as session:
        pieces = apparatus.all_pieces(session)
        at_hand = {piece.id: piece for piece in pieces}
        rotations = desk_rotation.on_day(session, today(), at_hand)
        at_the_bars = run_list.under_way(session)
        held_up = run_list.held_up(session) if at_the_bars else {}
        anybody = bool(rotations) or athletes.anybody(session)
        known = bool(pieces or models.all_models(session))
        meets = desk_meets.from_day(session, today())
        meets_today = desk_board.of_day(session, today(), meets)
        at_meets = (
            number for one in meets_today for line in one.lines for number in line.rotation_ids
        )
        outcomes = outcome.of_rotations(session, [*(view.id for view in rotations), *at_meets])
        said = remarks.unanswered(session)
        cleared = retention.last_cleared(session)
        used = {number for view in rotations for number in view.pieces}
        used |= {run.apparatus_id for run in at_the_bars}
        used |= {line.order.apparatus_id for one in meets_today for line in one.lines if line.order}
        to_do = looking_after(session, today(), pieces, used)
        asked = (
            still_right.of_squad(session, coach().season_days) if may("athletes.index") else None
        )
    return render_template(
        "today/index.html",
        pieces=pieces,
        first_steps=_first_steps(known, bool(pieces), anybody),
        rotations=_first_to_do_first(rotations, outcomes),
        meets_today=meets_today,
        to_do=to_do,
        said=said,
        asked=asked,
        cleared=cleared,
        to_come=next((one for one in meets if one[1].begins_on > today()), None),
        backups=standing(desk().data.backup_notes()),
        at_the_bars=at_the_bars,
        held_up=held_up,
        outcomes=outcomes,
        today=today(),
        local_date=local_date,
    )


def _first_to_do_first(
    rotations: Iterable[RotationView], outcomes: Mapping[int, Sequence[Outcome]]
) -> list[RotationView]:
    """Those under way, those to come in the order in which they were made, those that are over.

    One of which further groups are to come is under way between two of them.
    """

    def place(view: RotationView) -> int:
        runs = outcomes.get(view.id, ())
        if not runs:
            return 1
        return 0 if view.is_partly_over or any(run.is_under_way for run in runs) else 2

    return sorted(rotations, key=place)


@dataclass(frozen=True, slots=True)
class Step:
    """One of the first steps of a new club, and whether it has been taken."""

    words: str
    why: str
    address: str
    taken: bool


def _first_steps(models_known: bool, pieces_known: bool, squad_known: bool) -> list[Step]:
    """What a new club does first; nothing more once apparatus and squad are there."""
    if pieces_known and squad_known:
        return []
    return [
        Step(
            "Add a model",
            "A make and type with its printed scales, from the maker's leaflet.",
            url_for("models.new"),
            models_known,
        ),
        Step(
            "Add an apparatus",
            "The one in your hall, and what stands on it now.",
            url_for("apparatus.new"),
            pieces_known,
        ),
        Step(
            "Add the squad",
            "From a spreadsheet that you fill in, or one athlete after the other.",
            url_for("sheets.index"),
            squad_known,
        ),
    ]
