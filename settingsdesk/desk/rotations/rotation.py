"""Rotations: who shares which apparatus, and the order that takes least readjusting."""

import re
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import count

from sqlalchemy.orm import Session

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import Lane
from settingsdesk.desk.rotations.order_request import (
    MOST_REST_TURNS,
    Asked,
    NumberNotPossible,
)
from settingsdesk.desk.rotations.problem import kept_answer, problem_of
from settingsdesk.desk.rotations.view import (
    RotationView,
    drawn_of,
    have_left,
    ordered_of,
    wanted_stops,
)
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.solve import solve
from settingsdesk.store import rotations as kept_rotations

LAST_LOOKED_AT = 50
NUMBER = re.compile(r" \(\d+\)$")
"""What tells rotations of the same apparatus and day apart that were given no name."""


@dataclass(frozen=True, slots=True)
class RotationLine:
    """One rotation in a list."""

    id: int
    name: str
    held_on: date
    apparatus_id: int
    apparatus_name: str
    athletes: int


def recent(session: Session, limit: int = 50) -> list[RotationLine]:
    """The last rotations, the latest day first."""
    return [_line(row) for row in kept_rotations.recent(session, limit)]


def on_day(session: Session, day: date) -> list[RotationLine]:
    """The rotations of a day, the latest made first."""
    return [_line(row) for row in kept_rotations.on_day(session, day)]


def _line(row: kept_rotations.Rotation) -> RotationLine:
    return RotationLine(
        row.id, row.name, row.held_on, row.apparatus_id, row.apparatus.name, len(row.turns)
    )


def add_rotation(
    session: Session,
    by: str,
    name: str,
    held_on: date,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    asked: Asked | None = None,
) -> RotationView:
    """A rotation with its athletes as listed, not ordered yet.

    The very same rotation a second time is a second press of the button: the first is given
    back, unless it is out of date. Without a name it is called after the apparatus and the day,
    and numbered from the second on. Raises ``NobodyListed``, ``ListedTwice``, ``WithoutSetting``,
    ``SetupUnknown``, ``WithdrawnFromUse``, or what is wrong with what is asked.
    """
    asked = asked or Asked()
    first = desk_apparatus.piece(session, apparatus_id)
    first.must_be_in_use()
    usual = f"{first.name}, {day_in_words(held_on)}"
    alike = _numbered_alike(session, usual, held_on)
    names = {name.strip()} if name.strip() else alike
    made = _made_before(session, names, held_on, apparatus_id, athlete_ids, asked)
    if made is not None:
        return made
    row = kept_rotations.Rotation(
        apparatus_id=apparatus_id,
        name=name.strip() or _numbered(usual, alike),
        held_on=held_on,
        asked=asked.to_data(),
        created_by=by,
    )
    _must_be_orderable(session, row, athlete_ids)
    session.add(row)
    session.flush()
    kept_rotations.relist(session, row, athlete_ids)
    view = rotation(session, row.id)
    problem(view)
    return view


def _made_before(
    session: Session,
    names: Collection[str],
    held_on: date,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    asked: Asked,
) -> RotationView | None:
    """The rotation of such a name, day, apparatus, list and wishes that is up to date, if any."""
    wanted = (held_on, apparatus_id, list(athlete_ids), asked)
    for row in kept_rotations.recent(session, LAST_LOOKED_AT):
        listed = [turn.athlete_id for turn in row.turns]
        made = (row.held_on, row.apparatus_id, listed, Asked.from_data(row.asked))
        if row.name in names and made == wanted:
            view = rotation(session, row.id)
            return view if view.ordered and not view.ordered.outdated else None
    return None


def _numbered_alike(session: Session, usual: str, held_on: date) -> set[str]:
    """The names of that day that are this one, or this one numbered."""
    return {
        row.name
        for row in kept_rotations.on_day(session, held_on)
        if NUMBER.sub("", row.name) == usual
    }


def _numbered(usual: str, taken: Collection[str]) -> str:
    """That name, or where it is taken the first of "… (2)", "… (3)" that is free."""
    names = (usual if number == 1 else f"{usual} ({number})" for number in count(1))
    return next(name for name in names if name not in taken)


def change_list(session: Session, rotation_id: int, athlete_ids: Sequence[int]) -> RotationView:
    """Another list of athletes; wishes that name somebody who is gone go with them."""
    row = _not_drawn(session, rotation_id)
    _must_be_orderable(session, row, athlete_ids)
    kept_rotations.relist(session, row, athlete_ids)
    row.asked = Asked.from_data(row.asked).only_for(athlete_ids).to_data()
    session.flush()
    return rotation(session, rotation_id)


def take_off_who_left(session: Session, rotation_id: int) -> RotationView:
    """The list without those who have left the club; ``NobodyListed`` where nobody stays."""
    listed = rotation(session, rotation_id).listed
    return change_list(session, rotation_id, [one.id for one in listed if one.left_on is None])


def change_wishes(session: Session, rotation_id: int, asked: Asked) -> RotationView:
    """Other turns, rest, hands, wishes or apparatus; raises what is wrong with them."""
    row = _not_drawn(session, rotation_id)
    row.asked = asked.to_data()
    _must_be_orderable(session, row, [turn.athlete_id for turn in row.turns])
    session.flush()
    view = rotation(session, rotation_id)
    problem(view)
    return view


def keep_places(session: Session, rotation_id: int, places: Collection[int]) -> RotationView:
    """Fix those places as the order has them, and no others; only where all have one turn."""
    row, lane = _not_drawn(session, rotation_id), _lane(rotation(session, rotation_id))
    kept_places = tuple((turn.member.id, turn.place) for turn in lane.turns if turn.place in places)
    row.asked = replace(Asked.from_data(row.asked), places=kept_places).to_data()
    session.flush()
    return rotation(session, rotation_id)


def go_on_after(session: Session, by: str, rotation_id: int, turns: int) -> RotationView:
    """The first so many turns are over: the list is of those who still have one to come.

    The apparatus stands at the setup of the last of those turns. ``NumberNotPossible`` where
    there are not that many.
    """
    row, view = _not_drawn(session, rotation_id), rotation(session, rotation_id)
    lane = _lane(view)
    if not 1 <= turns < len(lane.turns):
        raise NumberNotPossible("The number of turns", turns, 1, len(lane.turns) - 1)
    over = [turn.member.id for turn in lane.turns[:turns]]
    had = Counter(dict(view.asked.had)) + Counter(over)
    left = [one.id for one in view.listed if had[one.id] < view.asked.turns]
    asked = replace(
        view.asked,
        had=tuple(had.items()),
        just_had=(*view.asked.just_had, *over)[-MOST_REST_TURNS:],
        places=tuple((one, place - turns) for one, place in view.asked.places if place > turns),
    )
    setup = lane.turns[turns - 1].setup
    desk_apparatus.record_setup(session, by, lane.piece.id, setup, f"set for turn {turns}")
    kept_rotations.relist(session, row, left)
    row.asked = asked.only_for(left).to_data()
    session.flush()
    return rotation(session, rotation_id)


def _lane(view: RotationView) -> Lane:
    view.must_be_in_use()
    if view.ordered is None or len(view.ordered.best.lanes) != 1:
        raise NotOneOrder
    return view.ordered.best.lanes[0]


def problem(view: RotationView) -> Problem:
    """What the planner is asked.

    Raises ``OrderIsDrawn`` for a meet's start order, ``HaveLeft``, or what ``problem_of`` raises.
    """
    if view.asked.as_drawn:
        raise OrderIsDrawn(view.name)
    if view.gone:
        raise HaveLeft(view.gone)
    return problem_of(view.pieces, view.listed, view.carried, view.asked)


def keep_order(
    session: Session, by: str, view: RotationView, asked: Problem, solution: Solution
) -> RotationView:
    """Keep the planner's answer for the rotation as it was when it was asked.

    Earlier orders stay on record; whatever was changed meanwhile makes this one out of date. One
    that is up to date and takes less stays in force: a search that was stopped early, or had less
    time, takes nothing away. ``WithdrawnFromUse`` where the apparatus was withdrawn meanwhile.
    """
    present = rotation(session, view.id)
    present.must_be_in_use()
    in_force = present.ordered if present.asked == view.asked else None
    if in_force and not in_force.outdated and in_force.goal_s < solution.goal_s:
        return present
    result = kept_answer(view.pieces, asked, solution)
    result |= {"asked": view.asked.to_data(), "wanted": wanted_stops(view)}
    session.add(kept_rotations.RotationPlan(rotation_id=view.id, made_by=by, result=result))
    session.flush()
    return rotation(session, view.id)


def order_anew(session: Session, by: str, rotation_id: int) -> RotationView:
    """Order a rotation from what stands on its apparatus now, in this process."""
    view = rotation(session, rotation_id)
    if not view.listed:
        raise NobodyListed
    asked = problem(view)
    return keep_order(session, by, view, asked, solve(asked))


def rotation(session: Session, rotation_id: int) -> RotationView:
    """One rotation whole; ``NotInThisClub`` where there is none."""
    row = kept_rotations.by_id(session, rotation_id)
    asked = Asked.from_data(row.asked)
    pieces = _pieces(session, row)
    listed = [turn.athlete_id for turn in row.turns]
    members = desk_athletes.members(session, listed)
    carried = desk_settings.on_pieces(session, listed, pieces.values())
    plan = None if asked.as_drawn else kept_rotations.latest_plan(session, rotation_id)
    view = RotationView(
        id=row.id,
        name=row.name,
        held_on=row.held_on,
        pieces=pieces,
        listed=tuple(members[athlete_id] for athlete_id in listed),
        carried=carried,
        asked=asked,
        ordered=None,
        was_ordered=plan is not None,
    )
    if asked.as_drawn:
        return replace(view, ordered=drawn_of(view, row.created_at, row.created_by))
    return replace(view, ordered=ordered_of(view, plan)) if plan else view


def _not_drawn(session: Session, rotation_id: int) -> kept_rotations.Rotation:
    """The rotation, where the desk may re-arrange it; ``OrderIsDrawn`` otherwise."""
    row = kept_rotations.by_id(session, rotation_id)
    if Asked.from_data(row.asked).as_drawn:
        raise OrderIsDrawn(row.name)
    return row


def _pieces(session: Session, row: kept_rotations.Rotation) -> dict[int, Piece]:
    numbers = dict.fromkeys((row.apparatus_id, *Asked.from_data(row.asked).apparatus))
    return {number: desk_apparatus.piece(session, number) for number in numbers}


def _must_be_orderable(
    session: Session, row: kept_rotations.Rotation, athlete_ids: Sequence[int]
) -> None:
    if not athlete_ids:
        raise NobodyListed
    members = desk_athletes.members(session, athlete_ids)
    if len(set(athlete_ids)) < len(athlete_ids):
        twice = next(one for one in athlete_ids if athlete_ids.count(one) > 1)
        raise ListedTwice(members[twice].listed_name)
    pieces = _pieces(session, row).values()
    kinds = {piece.model.kind.name.lower() for piece in pieces}
    if len(kinds) > 1:
        raise KindsMixed(tuple(sorted(kinds)))
    for piece in pieces:
        piece.must_be_in_use()
        piece.must_stand_somewhere()
        ready = desk_settings.on_piece(session, athlete_ids, piece)
        without = [members[one].listed_name for one in athlete_ids if one not in ready]
        if without:
            raise WithoutSetting(tuple(without), piece.model.kind.name.lower())


class NotOneOrder(SettingsDeskError):
    """Turns were counted in a rotation without an order, or on several apparatus."""

    def __str__(self) -> str:
        return (
            "Turns can be counted in a rotation that is ordered, on one apparatus: order it first"
        )


class OrderIsDrawn(SettingsDeskError):
    """A meet's start order was to be re-arranged."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"{self.name} is the start order of a meet and is never re-arranged here: where the"
            " jury changes it, change it on the start order's page"
        )


class KindsMixed(SettingsDeskError):
    """A rotation on apparatus of different kinds."""

    def __init__(self, kinds: tuple[str, ...]) -> None:
        self.kinds = kinds

    def __str__(self) -> str:
        return (
            "A rotation is held on apparatus of one kind, and these are"
            f" {' and '.join(self.kinds)}: make a rotation for each"
        )


class NobodyListed(SettingsDeskError):
    """A rotation of nobody."""

    def __str__(self) -> str:
        return "Choose at least one athlete"


class HaveLeft(SettingsDeskError):
    """A list was to be ordered on which somebody stands who has left the club."""

    def __init__(self, gone: Sequence[Member]) -> None:
        self.gone = tuple(gone)

    def __str__(self) -> str:
        return f"{have_left(self.gone)} the club: take whoever has left off the list first"


class ListedTwice(SettingsDeskError):
    """One athlete stands on the list twice."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} is on the list twice: leave one of the two"


class WithoutSetting(SettingsDeskError):
    """Athletes are listed who have no setting for that kind of apparatus."""

    def __init__(self, names: tuple[str, ...], kind: str) -> None:
        self.names, self.kind = names, kind

    def __str__(self) -> str:
        return (
            f"No setting for {self.kind} is recorded for {'; '.join(self.names)}: enter it on the"
            " athlete's page, or leave them off the list"
        )
