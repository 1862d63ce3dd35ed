"""What was asked of a rotation, said wish by wish: where it is refused, and beside its order."""

from collections.abc import Mapping

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.scales import NoSuchStop

Part = tuple[str, int]
"""A part of an ``OrderRequest``: the name of a field, and where it holds several, which of them."""


def told_wishes(names: Mapping[int, str], asked: OrderRequest) -> dict[Part, str]:
    """Every single wish about who goes when, in the order in which the planner takes them."""
    told: dict[Part, str] = {}
    for end in ("first", "last"):
        athlete_id = getattr(asked, end)
        if athlete_id is not None:
            told[end, 0] = f"{names[athlete_id]} {end}"
    for number, (earlier, other) in enumerate(asked.before):
        told["before", number] = f"{names[earlier]} before {names[other]}"
    for number, group in enumerate(asked.together):
        *others, last = [names[athlete_id] for athlete_id in group]
        told["together", number] = f"{', '.join(others)} and {last} together"
    for number, (athlete_id, turn) in enumerate(asked.places):
        told["places", number] = f"{names[athlete_id]} at turn {turn}"
    return told


def told_whole(
    names: Mapping[int, str], asked: OrderRequest, pieces: Mapping[int, Piece]
) -> tuple[str, ...]:
    """All that holds for a rotation besides who is on it, each as a phrase of its own.

    ``pieces`` are its apparatus by their numbers. What is as usual (one turn each, nothing said
    of where the apparatus shall stand) is not said.
    """
    told = []
    if asked.turns > 1:
        told.append(f"{asked.turns} turns each")
    if asked.rest_turns:
        told.append(f"at least {_turns(asked.rest_turns)} of rest between two of one athlete")
    told += told_wishes(names, asked).values()
    if asked.soonest and len(pieces) > 1:
        told.append("everybody done as early as can be")
    if asked.leeway:
        told.append("marks may differ within what each athlete accepts")
    told += (_afterwards(pieces[apparatus_id], setup) for apparatus_id, setup in asked.finals)
    return tuple(told)


def _afterwards(piece: Piece, setup: Setup) -> str:
    try:
        marks = " / ".join(piece.model.marks(setup).values())
    except NoSuchStop:
        marks = "marks that its scale no longer has"
    return f"{piece.name} afterwards at {marks}"


def _turns(number: int) -> str:
    return "1 turn" if number == 1 else f"{number} turns"
