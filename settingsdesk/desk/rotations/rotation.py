"""Rotations: who shares which apparatus, and the order that takes least readjusting."""

import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import count

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import in_use
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import Lane
from settingsdesk.desk.rotations.order_request import (
    MOST_REST_TURNS,
    NumberNotPossible,
    OrderRequest,
)
from settingsdesk.desk.rotations.problem import kept_answer
from settingsdesk.desk.rotations.view import (
    BegunPart,
    RotationView,
    as_planned,
    drawn_of,
    leeways,
    wanted_stops,
    who_is_on,
    with_order,
)
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import Carried, OnPieces
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.settings.purposes import Purpose
from settingsdesk.planner.plan import Solution, WishCost
from settingsdesk.planner.solve import solve
from settingsdesk.planner.wish_costs import wish_costs
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store import taking_away
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession

LAST_LOOKED_AT = 50
NUMBER = re.compile(r" \(\d+\)$")
"""What tells rotations of the same apparatus and day apart that were given no name."""


@dataclass(frozen=True, slots=True)
class RotationLine:
    """One rotation in a list; ``apparatus_ids`` are all it is held on, the first of them named.

    ``given_name`` is empty where it is called after the apparatus and the day.
    """

    id: int
    name: str
    held_on: date
    apparatus_ids: tuple[int, ...]
    apparatus_name: str
    athletes: int
    given_name: str


def line(session: ClubSession, rotation_id: int) -> RotationLine:
    """One rotation in short; ``NotInThisClub`` where there is none."""
    return _line(kept_rotations.by_id(session, rotation_id))


def hanging(session: ClubSession, rotation_id: int) -> list[Hanging]:
    """What hangs on a rotation, which therefore stays; nothing where it can be taken away."""
    return taking_away.hanging(session, kept_rotations.by_id(session, rotation_id))


def take_away(session: ClubSession, rotation_id: int) -> None:
    """Take a rotation away with its orders; ``SomethingHangsOnIt`` where it was begun."""
    row = kept_rotations.by_id(session, rotation_id)
    taking_away.take_away(session, row, row.name)


def recent(session: ClubSession, limit: int = 50) -> list[RotationLine]:
    """The last rotations, the latest day first."""
    return [_line(row) for row in kept_rotations.recent(session, limit)]


def on_day(
    session: ClubSession, day: date, at_hand: Mapping[int, Piece] | None = None
) -> list[RotationView]:
    """The rotations of a day whole, the first made first; meets have pages of their own.

    ``at_hand`` are apparatus that are read already, by their numbers.
    """
    rows = kept_rotations.on_day(session, day)
    if not rows:
        return []
    plans = kept_rotations.latest_plans(session, [row.id for row in rows])
    pieces = [
        as_planned(
            _pieces(session, row.apparatus, OrderRequest.from_data(row.asked), at_hand),
            row.held_on,
            plans.get(row.id),
        )
        for row in rows
    ]
    carried = desk_settings.on_pieces_for(
        session,
        {turn.athlete_id for row in rows for turn in row.turns},
        {piece.id: piece for those in pieces for piece in those.values()}.values(),
        {purpose for row in rows for purpose in OrderRequest.from_data(row.asked).purposes},
    )
    begun = _begun_parts(session, rows)
    return [
        with_order(_view(row, those, carried, plans.get(row.id), begun.get(row.id, ())))
        for row, those in zip(rows, pieces, strict=True)
    ]


def _line(row: kept_rotations.Rotation) -> RotationLine:
    return RotationLine(
        row.id,
        row.name,
        row.held_on,
        _numbers(row.apparatus_id, OrderRequest.from_data(row.asked)),
        row.apparatus.name,
        len(row.turns),
        _given_name(row.name, row.apparatus.name, row.held_on),
    )


def _numbers(first: int, asked: OrderRequest) -> tuple[int, ...]:
    """The numbers of all apparatus that a rotation is held on, its first one first."""
    return tuple(dict.fromkeys([first, *asked.apparatus]))


def add_rotation(
    session: ClubSession,
    name: str,
    held_on: date,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    asked: OrderRequest | None = None,
    at_hand: Mapping[int, Piece] | None = None,
) -> RotationView:
    """A rotation with its athletes as listed, not ordered yet.

    The very same rotation a second time is a second press of the button: the first is given
    back, unless it is out of date. Without a name it is called after the apparatus and the day,
    and numbered from the second on. ``at_hand`` are apparatus that are read already, by their
    numbers. Raises ``NobodyListed``, ``ListedTwice``, ``WithoutSetting``,
    ``SetupUnknown``, ``WithdrawnFromUse``, or what is wrong with what is asked.
    """
    asked = asked or OrderRequest()
    athlete_ids = sorted(athlete_ids, key=lambda one: asked.group_of(one) or 0)
    pieces = _pieces(session, kept_apparatus.by_id(session, apparatus_id), asked, at_hand)
    first = pieces[apparatus_id]
    first.must_be_in_use()
    first.must_know_its_drop()
    usual = _usual_name(first.name, held_on)
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
        created_by=session.by,
        turns=kept_rotations.listed(athlete_ids),
    )
    members = desk_athletes.members(session, athlete_ids)
    listed = tuple(members[athlete_id] for athlete_id in athlete_ids)
    carried = _carried(session, athlete_ids, pieces, asked)
    _must_be_orderable(pieces, listed, carried)
    session.add(row)
    session.flush()
    view = RotationView(row.id, row.name, held_on, pieces, listed, carried, asked, None, row, None)
    view.must_be_plannable()
    return view


def for_these(view: RotationView, apparatus_id: int, athlete_ids: Sequence[int]) -> OrderRequest:
    """What is wished of a rotation, for other athletes or on another apparatus.

    Its further apparatus and the marks to end at go with the first one; places that were kept
    with the list they were kept in.
    """
    asked = view.wishes_of_the_whole.only_for(athlete_ids)
    if apparatus_id != view.piece.id:
        asked = replace(asked, apparatus=(), finals=(), soonest=False, equal_numbers=False)
    if set(athlete_ids) != {member.id for member in view.listed}:
        asked = replace(asked, places=())
    return asked


def everybody_on(session: ClubSession, view: RotationView) -> list[int]:
    """Whoever is on its list, or was before their turns were over, and has not left the club."""
    listed = {member.id: member for member in view.listed}
    over = [one for one in dict.fromkeys(view.asked.just_had) if one not in listed]
    known = desk_athletes.members(session, over) | listed
    return [
        athlete_id
        for athlete_id in (*over, *listed)
        if athlete_id in known and known[athlete_id].left_on is None
    ]


def once_more(session: ClubSession, view: RotationView, held_on: date) -> RotationView:
    """The same rotation on another day: its apparatus, its list and what is wished of it.

    Whoever has left the club since is not on it. A name that somebody gave it stays. What
    ``add_rotation`` raises; ``OrderIsDrawn`` for a start order.
    """
    view.must_not_be_drawn()
    athletes = everybody_on(session, view)
    asked = view.wishes_of_the_whole.only_for(athletes)
    name = given_name(view)
    if name:
        made = _made_before(session, {name}, held_on, view.piece.id, athletes, asked)
        if made is not None:
            return made
        name = _numbered(name, _numbered_alike(session, name, held_on))
    # Read anew: of a day to come the view has them as they stand where its plan begins.
    return add_rotation(session, name, held_on, view.piece.id, athletes, asked)


def given_name(view: RotationView) -> str:
    """The name that somebody gave it; empty where it is called after apparatus and day."""
    return _given_name(view.name, view.piece.name, view.held_on)


def _usual_name(apparatus_name: str, held_on: date) -> str:
    return f"{apparatus_name}, {day_in_words(held_on)}"


def _given_name(name: str, apparatus_name: str, held_on: date) -> str:
    plain = NUMBER.sub("", name)
    return "" if plain == _usual_name(apparatus_name, held_on) else plain


def _made_before(
    session: ClubSession,
    names: Collection[str],
    held_on: date,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    asked: OrderRequest,
) -> RotationView | None:
    """The rotation of such a name, day, apparatus, list and wishes that is up to date, if any."""
    wanted = (held_on, apparatus_id, list(athlete_ids), asked)
    for row in kept_rotations.recent(session, LAST_LOOKED_AT):
        listed = [turn.athlete_id for turn in row.turns]
        made = (row.held_on, row.apparatus_id, listed, OrderRequest.from_data(row.asked))
        if row.name in names and made == wanted:
            view = rotation(session, row.id)
            waits = view.ordered and not view.ordered.outdated and not view.is_partly_over
            return view if waits else None
    return None


def _numbered_alike(session: ClubSession, usual: str, held_on: date) -> set[str]:
    """The names of that day that are this one, or this one numbered."""
    return {
        name for name in kept_rotations.names_on(session, held_on) if NUMBER.sub("", name) == usual
    }


def _numbered(usual: str, taken: Collection[str]) -> str:
    """That name, or where it is taken the first of "… (2)", "… (3)" that is free."""
    names = (usual if number == 1 else f"{usual} ({number})" for number in count(1))
    return next(name for name in names if name not in taken)


def change_list(
    session: ClubSession, view: RotationView, athlete_ids: Sequence[int]
) -> RotationView:
    """Another list of athletes; wishes that name somebody who is gone go with them."""
    row = _to_arrange(session, view)
    known = {member.id: member for member in view.listed}
    new = [athlete_id for athlete_id in dict.fromkeys(athlete_ids) if athlete_id not in known]
    carried, asked = view.carried, view.asked
    if new:
        known |= desk_athletes.members(session, new)
        asked = _with_newcomers(asked, [known[athlete_id] for athlete_id in new])
        theirs = _carried(session, new, view.pieces, asked)
        carried = {number: {**before, **theirs[number]} for number, before in carried.items()}
    listed = [known[athlete_id] for athlete_id in athlete_ids]
    return _relisted(session, row, view, listed, asked, carried)


def _with_newcomers(asked: OrderRequest, new: Iterable[Member]) -> OrderRequest:
    """Of several groups, whoever is new is in the one of their own name, or else in the last."""
    if not asked.groups:
        return asked
    joining = in_groups(new, asked.group_names)
    groups = zip(asked.group_names, asked.groups, strict=True)
    return asked.with_groups({name: [*group, *joining[name]] for name, group in groups})


def in_groups(members: Iterable[Member], names: Sequence[str]) -> dict[str, list[int]]:
    """Those athletes by the groups of those names; who is in none of them is in the last."""
    groups: dict[str, list[int]] = {name: [] for name in names}
    for member in members:
        name = member.person.group_name
        groups[name if name in groups else names[-1]].append(member.id)
    return groups


def take_off_who_left(session: ClubSession, view: RotationView) -> RotationView:
    """The list without those who have left the club; ``NobodyListed`` where nobody stays."""
    return change_list(
        session, view, [member.id for member in view.listed if member.left_on is None]
    )


def change_wishes(
    session: ClubSession,
    view: RotationView,
    asked: OrderRequest,
    at_hand: Mapping[int, Piece] | None = None,
) -> RotationView:
    """Other turns, rest, hands, wishes or apparatus; raises what is wrong with them.

    ``at_hand`` are apparatus that are read already, by their numbers. Nothing is changed where
    something is wrong.
    """
    row = _to_arrange(session, view)
    changed = replace(view, asked=asked)
    if asked.apparatus != view.asked.apparatus:
        pieces = as_planned(
            _pieces(session, row.apparatus, asked, at_hand), view.held_on, view.plan
        )
        changed = replace(changed, pieces=pieces)
    listed = [member.id for member in view.listed]
    others_count = any(asked.purpose_of(one) is not view.asked.purpose_of(one) for one in listed)
    if others_count or asked.apparatus != view.asked.apparatus:
        changed = replace(changed, carried=_carried(session, listed, changed.pieces, asked))
    _must_be_orderable(changed.pieces, changed.listed, changed.carried)
    changed.must_be_plannable()
    row.asked = asked.to_data()
    session.flush()
    return with_order(changed)


def keep_places(session: ClubSession, view: RotationView, places: Collection[int]) -> RotationView:
    """Fix those places as the order has them, and no others; only where all have one turn."""
    row, lane = _to_arrange(session, view), _lane(view)
    kept_places = tuple((turn.member.id, turn.place) for turn in lane.turns if turn.place in places)
    asked = replace(view.asked, places=kept_places)
    row.asked = asked.to_data()
    session.flush()
    return with_order(replace(view, asked=asked))


def go_on_after(session: ClubSession, view: RotationView, turns: int) -> RotationView:
    """The first so many turns are over: the list is of those who still have one to come.

    The apparatus stands at the setup of the last of those turns. ``NumberNotPossible`` where
    there are not that many, ``NotOneOrder`` for a day to come too: nobody has had a turn then.
    """
    row, lane = _to_arrange(session, view), _lane(view)
    if view.is_to_come:
        raise NotOneOrder
    if not 1 <= turns < len(lane.turns):
        raise NumberNotPossible("The number of turns", turns, 1, len(lane.turns) - 1)
    over = [turn.member.id for turn in lane.turns[:turns]]
    had = Counter(dict(view.asked.had)) + Counter(over)
    left = [member for member in view.listed if had[member.id] < view.asked.turns]
    asked = replace(
        view.asked,
        had=tuple(had.items()),
        just_had=(*view.asked.just_had, *over)[-MOST_REST_TURNS:],
        places=tuple(
            (athlete_id, place - turns) for athlete_id, place in view.asked.places if place > turns
        ),
    )
    setup, how = lane.turns[turns - 1].setup, f"set for turn {turns}"
    piece = desk_apparatus.record_at(session, lane.piece, setup, how)
    stands = {
        athlete_id: replace(own, piece=piece) for athlete_id, own in view.carried[piece.id].items()
    }
    carried = {**view.carried, piece.id: stands}
    moved = replace(view, pieces={**view.pieces, piece.id: piece})
    return _relisted(session, row, moved, left, asked, carried)


def _relisted(
    session: ClubSession,
    row: kept_rotations.Rotation,
    view: RotationView,
    listed: Sequence[Member],
    asked: OrderRequest,
    carried: Mapping[int, Mapping[int, Carried]],
) -> RotationView:
    """The rotation with another list; ``carried`` may tell of more athletes than are on it."""
    ids = [member.id for member in listed]
    theirs = {
        number: {athlete_id: own[athlete_id] for athlete_id in ids if athlete_id in own}
        for number, own in carried.items()
    }
    asked = asked.only_for(ids)
    listed = _by_groups(listed, asked)
    ids = [member.id for member in listed]
    _must_be_orderable(view.pieces, listed, theirs)
    kept_rotations.relist(session, row, ids)
    row.asked = asked.to_data()
    session.flush()
    changed = replace(view, listed=tuple(listed), carried=theirs, asked=asked)
    return with_order(changed)


def _by_groups(listed: Sequence[Member], asked: OrderRequest) -> list[Member]:
    """The list group by group, where there are several; in each as it is."""
    return sorted(listed, key=lambda member: asked.group_of(member.id) or 0)


def _lane(view: RotationView) -> Lane:
    view.must_be_in_use()
    if view.ordered is None or len(view.ordered.best.lanes) != 1 or view.asked.groups:
        raise NotOneOrder
    return view.ordered.best.lanes[0]


def keep_order(session: ClubSession, view: RotationView, solution: Solution) -> RotationView:
    """Keep the planner's answer for the rotation as it was when it was asked.

    Earlier orders stay on record; whatever was changed meanwhile makes this one out of date. One
    that is up to date and takes less stays in force: a search that was stopped early, or had less
    time, takes nothing away. ``WithdrawnFromUse`` where the apparatus was withdrawn meanwhile.
    """
    in_use.must_all_be_in_use(session, view.pieces)
    present = _up_to_date(session, view)
    if present and present.ordered and present.ordered.goal_s < solution.goal_s:
        return present
    result = kept_answer(view.pieces, view.problem, solution)
    result |= {
        "after_run": max((part.run_id for part in view.begun), default=0),
        "asked": view.asked.nameless.to_data(),
        "wanted": wanted_stops(view),
        "accepted": leeways(view),
    }
    plan = kept_rotations.RotationPlan(rotation_id=view.id, made_by=session.by, result=result)
    session.add(plan)
    session.flush()
    return with_order(replace(view, plan=plan))


def keep_costs(session: ClubSession, view: RotationView, costs: Sequence[WishCost]) -> RotationView:
    """Keep with the order of a rotation what each wish costs in it; nothing where it is another.

    Orders are only ever added: the same one once more, with what is known of it now.
    """
    plan = kept_rotations.latest_plan(session, view.id)
    if plan is None or view.plan is None or plan.id != view.plan.id or not costs:
        return view
    result = {**plan.result, "costs": [cost.to_json() for cost in costs]}
    told = kept_rotations.RotationPlan(
        rotation_id=view.id, made_at=plan.made_at, made_by=plan.made_by, result=result
    )
    session.add(told)
    session.flush()
    return with_order(replace(view, plan=told))


def weigh(session: ClubSession, view: RotationView) -> RotationView:
    """Work out what each wish costs in its order and keep that, in this process."""
    plan = view.best_plan
    if plan is None or not view.lacks_costs:
        return view
    costs = wish_costs(view.problem, plan, view.problem.time_limit_s)
    return keep_costs(session, view, list({cost.where: cost for cost in costs}.values()))


def _up_to_date(session: ClubSession, view: RotationView) -> RotationView | None:
    """The rotation as it is now, where an order for the same wishes is up to date."""
    plan = kept_rotations.latest_plan(session, view.id)
    if plan is None or OrderRequest.from_data(plan.result["asked"]) != view.asked.nameless:
        return None
    row = kept_rotations.by_id(session, view.id)
    if who_is_on(plan) != {turn.athlete_id for turn in row.turns}:
        return None
    present = read(session, row)
    in_force = present.ordered if present.asked == view.asked else None
    return present if in_force and not in_force.outdated else None


def order_anew(session: ClubSession, rotation_id: int) -> RotationView:
    """Plan a rotation from what stands on its apparatus now, in this process."""
    view = rotation(session, rotation_id)
    if not view.listed:
        raise NobodyListed
    return keep_order(session, view, solve(view.problem))


def rotation(
    session: ClubSession, rotation_id: int, at_hand: Mapping[int, Piece] | None = None
) -> RotationView:
    """One rotation whole; ``NotInThisClub`` where there is none.

    ``at_hand`` are apparatus that are read already, by their numbers.
    """
    return read(session, kept_rotations.by_id(session, rotation_id), at_hand)


def read(
    session: ClubSession, row: kept_rotations.Rotation, at_hand: Mapping[int, Piece] | None = None
) -> RotationView:
    """The rotation of a row that was read with its turns and athletes."""
    asked = OrderRequest.from_data(row.asked)
    plan = None if asked.as_drawn else kept_rotations.latest_plan(session, row.id)
    pieces = as_planned(_pieces(session, row.apparatus, asked, at_hand), row.held_on, plan)
    ids = [turn.athlete_id for turn in row.turns]
    begun = _begun_parts(session, [row])
    carried = desk_settings.on_pieces_for(session, ids, pieces.values(), asked.purposes)
    view = _view(row, pieces, carried, plan, begun.get(row.id, ()))
    if view.is_drawn:
        return replace(view, ordered=drawn_of(view, row.created_at, row.created_by))
    return with_order(view)


def _view(
    row: kept_rotations.Rotation,
    pieces: Mapping[int, Piece],
    carried: Mapping[Purpose, OnPieces],
    plan: kept_rotations.RotationPlan | None,
    begun: Sequence[BegunPart] = (),
) -> RotationView:
    """A rotation without its order; ``carried`` may tell of more apparatus and athletes."""
    asked = OrderRequest.from_data(row.asked)
    listed = tuple(desk_athletes.member_of(turn.athlete) for turn in row.turns)
    return RotationView(
        id=row.id,
        name=row.name,
        held_on=row.held_on,
        pieces=pieces,
        listed=listed,
        carried=_that_count(carried, [member.id for member in listed], pieces, asked),
        asked=asked,
        ordered=None,
        row=row,
        plan=plan,
        begun=tuple(begun),
    )


def _carried(
    session: ClubSession,
    athlete_ids: Collection[int],
    pieces: Mapping[int, Piece],
    asked: OrderRequest,
) -> OnPieces:
    """The setting of each athlete that counts on each apparatus."""
    found = desk_settings.on_pieces_for(session, athlete_ids, pieces.values(), asked.purposes)
    return _that_count(found, athlete_ids, pieces, asked)


def _that_count(
    carried: Mapping[Purpose, OnPieces],
    athlete_ids: Collection[int],
    pieces: Iterable[int],
    asked: OrderRequest,
) -> OnPieces:
    """Of settings for several purposes those that count, each athlete's by what is asked."""
    return {
        number: {
            athlete_id: own
            for athlete_id in athlete_ids
            if (own := carried[asked.purpose_of(athlete_id)][number].get(athlete_id))
        }
        for number in pieces
    }


def _begun_parts(
    session: ClubSession, rows: Iterable[kept_rotations.Rotation]
) -> dict[int, list[BegunPart]]:
    """The parts of those rotations' groups that were taken to the bars, by rotation."""
    in_groups = [row.id for row in rows if OrderRequest.from_data(row.asked).groups]
    found: dict[int, list[BegunPart]] = {}
    for rotation_id, run_id, told in kept_runs.begins_of(session, in_groups) if in_groups else ():
        if told.get("part"):
            found.setdefault(rotation_id, []).append(BegunPart(run_id, told["part"]))
    return found


def to_arrange(
    session: ClubSession, rotation_id: int, at_hand: Mapping[int, Piece] | None = None
) -> RotationView:
    """The same where the desk may re-arrange it; ``OrderIsDrawn`` for a meet's start order."""
    view = rotation(session, rotation_id, at_hand)
    view.must_not_be_drawn()
    return view


def _to_arrange(session: ClubSession, view: RotationView) -> kept_rotations.Rotation:
    """Its row, to be changed in this unit of work; read anew where another one read it."""
    view.must_not_be_drawn()
    return view.row if view.row in session else kept_rotations.by_id(session, view.id)


def _pieces(
    session: ClubSession,
    row: kept_apparatus.Apparatus,
    asked: OrderRequest,
    at_hand: Mapping[int, Piece] | None = None,
) -> dict[int, Piece]:
    """The apparatus of that row and what is asked for besides, in that order."""
    numbers = _numbers(row.id, asked)
    found = dict(at_hand or {})
    rows = [] if row.id in found else [row]
    if missing := [number for number in numbers if number not in found and number != row.id]:
        rows += kept_apparatus.those(session, missing)
    if rows:
        found |= {piece.id: piece for piece in desk_apparatus.read_all(session, rows)}
    return {
        number: found.get(number) or desk_apparatus.piece(session, number) for number in numbers
    }


def _must_be_orderable(
    pieces: Mapping[int, Piece],
    listed: Sequence[Member],
    carried: Mapping[int, Mapping[int, Carried]],
) -> None:
    if not listed:
        raise NobodyListed
    for place, member in enumerate(listed):
        if member in listed[:place]:
            raise ListedTwice(member.listed_name)
    kinds = {piece.model.kind.name.lower() for piece in pieces.values()}
    if len(kinds) > 1:
        raise KindsMixed(tuple(sorted(kinds)))
    for number, piece in pieces.items():
        piece.must_be_in_use()
        piece.must_know_its_drop()
        piece.must_stand_somewhere()
        without = [member.listed_name for member in listed if member.id not in carried[number]]
        if without:
            raise WithoutSetting(tuple(without), piece.model.kind.name.lower())


class NotOneOrder(SettingsDeskError):
    """Turns were counted in a rotation without an order, or on several apparatus."""

    sentence = (
        "Turns can be counted in a rotation that is not of a day to come, and that is ordered, on"
        " one apparatus: order it first"
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

    sentence = "Choose at least one athlete"


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
