"""What was asked of a rotation, said wish by wish: where it is refused, and beside its order."""

from collections.abc import Mapping

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.domain.base.sentences import Counted, Sentence, Series, marked
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.scales import NoSuchStop

A_GROUP = marked("group %(number)s")
"""What a group is called that has no name."""

Part = tuple[str, int]
"""A part of an ``OrderRequest``: the name of a field, and where it holds several, which of them."""


def told_wishes(names: Mapping[int, str], asked: OrderRequest) -> dict[Part, str]:
    """Every single wish about who goes when, in the order in which the planner takes them."""
    told: dict[Part, str] = {}
    if asked.first is not None:
        told["first", 0] = _first(names[asked.first], _group_of(asked, asked.first))
    if asked.last is not None:
        told["last", 0] = _last(names[asked.last], _group_of(asked, asked.last))
    for number, (earlier, other) in enumerate(asked.before):
        told["before", number] = Sentence(
            "%(athlete)s before %(other)s", athlete=names[earlier], other=names[other]
        )
    for number, group in enumerate(asked.together):
        athletes = Series([names[athlete_id] for athlete_id in group], "and")
        told["together", number] = Sentence("%(athletes)s next to each other", athletes=athletes)
    for number, (athlete_id, turn) in enumerate(asked.places):
        told["places", number] = _at_turn(names[athlete_id], turn, _group_of(asked, athlete_id))
    return told


def _group_of(asked: OrderRequest, athlete_id: int) -> str:
    """The group among whose turns an athlete's are counted; empty where there are no groups."""
    number = asked.group_of(athlete_id)
    return "" if number is None else called_group(asked, number)


def _first(athlete: str, group: str) -> Sentence:
    if group:
        return Sentence("%(athlete)s first of %(group)s", athlete=athlete, group=group)
    return Sentence("%(athlete)s first", athlete=athlete)


def _last(athlete: str, group: str) -> Sentence:
    if group:
        return Sentence("%(athlete)s last of %(group)s", athlete=athlete, group=group)
    return Sentence("%(athlete)s last", athlete=athlete)


def _at_turn(athlete: str, turn: int, group: str) -> Sentence:
    if group:
        return Sentence(
            "%(athlete)s at turn %(turn)s of %(group)s", athlete=athlete, turn=turn, group=group
        )
    return Sentence("%(athlete)s at turn %(turn)s", athlete=athlete, turn=turn)


def called_group(asked: OrderRequest, number: int) -> str:
    """What a group is called."""
    if number < len(asked.group_names):
        return asked.group_names[number]
    return Sentence(A_GROUP, number=number + 1)


def _groups(asked: OrderRequest) -> Sentence:
    groups = Series([called_group(asked, n) for n in range(len(asked.groups))], ", ")
    if asked.groups_free:
        return Sentence("groups one after the other, in any order: %(groups)s", groups=groups)
    return Sentence("groups one after the other, in this order: %(groups)s", groups=groups)


def _told_of_all_turns(asked: OrderRequest) -> dict[Part, str]:
    """What is asked of everybody alike."""
    told: dict[Part, str] = {}
    if asked.groups:
        told["groups_in_order", 0] = _groups(asked)
    if asked.turns > 1:
        told["turns", 0] = Sentence("%(turns)s turns each", turns=asked.turns)
    if asked.longest_rest:
        told["longest_rest", 0] = Sentence(
            "the longest rest there can be between two turns of one athlete"
        )
    elif asked.rest_turns:
        told["rest_turns", 0] = Counted(
            "at least %(count)s turn of rest between two of one athlete",
            "at least %(count)s turns of rest between two of one athlete",
            asked.rest_turns,
        )
    if asked.in_rounds:
        told["in_rounds", 0] = Sentence("turns in rounds: everybody once before anybody again")
    if asked.one_setup:
        told["one_setup", 0] = Sentence("all turns of an athlete at the same marks")
    return told


def told_parts(
    names: Mapping[int, str], asked: OrderRequest, pieces: Mapping[int, Piece]
) -> dict[Part, str]:
    """All that holds for a rotation besides who is on it, each as a phrase of its own.

    ``pieces`` are its apparatus by their numbers. What is as usual (one turn each, nothing said
    of where the apparatus shall stand) is not said.
    """
    told = _told_of_all_turns(asked)
    told |= told_wishes(names, asked)
    if asked.soonest and len(pieces) > 1:
        told["soonest", 0] = Sentence("everybody done as early as can be")
    if asked.equal_numbers and len(pieces) > 1:
        told["equal_numbers", 0] = Sentence("as many athletes on each apparatus, one more at most")
    if asked.leeway:
        told["leeway", 0] = Sentence("marks may differ within what each athlete accepts")
    for number, (apparatus_id, setup) in enumerate(asked.finals):
        told["finals", number] = _afterwards(pieces[apparatus_id], setup)
    return told


def _afterwards(piece: Piece, setup: Setup) -> Sentence:
    try:
        marks: str = piece.model.marks_in_words(setup)
    except NoSuchStop:
        marks = Sentence("marks that its scale no longer has")
    return Sentence("%(apparatus)s afterwards at %(marks)s", apparatus=piece.name, marks=marks)
