"""What happens in a rotation under way, each as somebody confirmed it at the apparatus.

A run is nothing but its happenings in their order (``run``). Each can be written as plain data,
under a word of its own, and read back.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from settingsdesk.domain.base.sentences import marked
from settingsdesk.domain.changeover.changeover import EndStops
from settingsdesk.domain.hall.models import Setup

AT_A_STATION = marked("%(name)s (station)")
"""How it is kept who confirmed something on a volunteer's phone."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One athlete's turn to come, and the setup it is to have.

    None while no setting is entered for the athlete: nobody knows the marks then.
    """

    athlete_id: int
    setup: Setup | None


@dataclass(frozen=True, slots=True)
class Begun:
    """The run begins: the turns in their order, the crew, and where every end stands.

    ``unclear`` says that an earlier change-over was broken off there, so that nobody knows how
    the frame is tensioned. ``part`` is which of several groups has its turns; empty where all do.
    """

    turns: tuple[Turn, ...]
    hands: int
    ends: EndStops
    unclear: bool = False
    part: str = ""


@dataclass(frozen=True, slots=True)
class StepDone:
    """One step of the change-over is done, by its place from 0."""

    step: int


@dataclass(frozen=True, slots=True)
class AllDone:
    """All steps that were left of the change-over are done."""


@dataclass(frozen=True, slots=True)
class Rechecked:
    """The short check after the change-over was made: alone, or by a second person.

    ``second`` is who checked, where that is not whoever confirms it. Presses of before have none
    though whoever confirmed had set it, too: by whom besides it was checked is not known then.
    ``more_mat_mm`` is how much more mat lay there than on record by what was shown, and
    ``before_use_on_paper`` says that whoever confirmed it said that the check before use was made
    on paper; they tell no press from another.
    """

    alone: bool
    second: str = ""
    more_mat_mm: int = field(default=0, compare=False)
    before_use_on_paper: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class TurnOver:
    """The athlete has had the turn."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """The athlete who was on has the same turn once more, before anybody else.

    ``setup`` is what it is to have then, where other marks are wanted by now; None as it was.
    """

    setup: Setup | None = None


@dataclass(frozen=True, slots=True)
class PassedOver:
    """The athlete is next and has no setting: the others go on, and this turn comes last."""

    athlete_id: int


@dataclass(frozen=True, slots=True)
class NotHere:
    """An athlete is late or absent: their turns wait, the others go on."""

    athlete_id: int


@dataclass(frozen=True, slots=True)
class Arrived:
    """An athlete who was not here has come: their turns come after all others."""

    athlete_id: int


@dataclass(frozen=True, slots=True)
class Placed:
    """An athlete's next turn comes after so many others of the turns to come.

    The others keep their order. Whoever was not here is here with it: of several turns that
    waited, those behind the next one come after all others.
    """

    athlete_id: int
    after: int


@dataclass(frozen=True, slots=True)
class Joined:
    """Somebody who was not on the list gets these turns, after all others."""

    turns: tuple[Turn, ...]


@dataclass(frozen=True, slots=True)
class FoundAt:
    """What stands there was read off the marks.

    ``anew`` says that the apparatus was out of use in between, so that nobody knows how the
    frame is tensioned, wherever it stands.
    """

    setup: Setup
    anew: bool = False


@dataclass(frozen=True, slots=True)
class LeanMeasured:
    """The frame was found to lean, before it is tensioned: what pulls against that comes first.

    The fields are those of ``changeover.PulledFirst``.
    """

    side: int
    end: str
    by_mm: float


@dataclass(frozen=True, slots=True)
class Reordered:
    """The turns that are left in another order, or at other setups.

    ``with_before`` says that it was worked out for what happened right before it, by one press:
    both are taken back together. Orders of before had none, and are taken back alone.
    """

    turns: tuple[Turn, ...]
    with_before: bool = False


@dataclass(frozen=True, slots=True)
class HandsNow:
    """The crew is of another number from here on."""

    hands: int


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The happening of that number was confirmed by mistake."""

    number: int


@dataclass(frozen=True, slots=True)
class Ended:
    """The run is over, whoever is left."""


@dataclass(frozen=True, slots=True)
class TakenUp:
    """A run that was ended goes on where it ended.

    ``unknown`` says that somebody was at the apparatus in between, so that its marks are read off
    before anything else.
    """

    unknown: bool = False


@dataclass(frozen=True, slots=True)
class HeldUp:
    """Somebody at the apparatus says that something is wrong: it waits until a coach has looked."""

    words: str


@dataclass(frozen=True, slots=True)
class GoneOn:
    """A coach has looked at what was said to be wrong, and the run goes on."""


Happening = (
    Begun
    | StepDone
    | AllDone
    | Rechecked
    | TurnOver
    | Repeated
    | PassedOver
    | NotHere
    | Arrived
    | Placed
    | Joined
    | FoundAt
    | LeanMeasured
    | Reordered
    | HandsNow
    | TakenBack
    | Ended
    | TakenUp
    | HeldUp
    | GoneOn
)

WORDS: Mapping[str, type[Happening]] = {
    "begun": Begun,
    "step_done": StepDone,
    "all_done": AllDone,
    "rechecked": Rechecked,
    "turn_over": TurnOver,
    "repeated": Repeated,
    "passed_over": PassedOver,
    "not_here": NotHere,
    "arrived": Arrived,
    "placed": Placed,
    "joined": Joined,
    "found_at": FoundAt,
    "lean_measured": LeanMeasured,
    "reordered": Reordered,
    "hands_now": HandsNow,
    "taken_back": TakenBack,
    "ended": Ended,
    "taken_up": TakenUp,
    "held_up": HeldUp,
    "gone_on": GoneOn,
}
"""The word under which each is kept."""


def word_of(what: Happening) -> str:
    """The word under which it is kept."""
    return next(word for word, kind in WORDS.items() if isinstance(what, kind))


def to_data(what: Happening) -> dict[str, Any]:
    """All but its word, as JSON-ready data."""
    return asdict(what)


def from_data(word: str, data: Mapping[str, Any]) -> Happening:
    """The happening that was kept under that word with those data."""
    read: Mapping[str, Callable[[Any], Any]] = {
        "turns": _turns,
        "ends": lambda ends: tuple(tuple(stops) for stops in ends),
        "setup": lambda setup: None if setup is None else tuple(setup),
    }
    plain: dict[str, Any] = {
        name: read[name](value) if name in read else value for name, value in data.items()
    }
    return WORDS[word](**plain)


def everybody_in(happenings: Iterable[Happening]) -> set[int]:
    """The athletes who have or had turns in a run: from its beginning, or because they joined."""
    with_turns = (what for what in happenings if isinstance(what, Begun | Joined))
    return {turn.athlete_id for what in with_turns for turn in what.turns}


def _turns(told: Sequence[Mapping[str, Any]]) -> tuple[Turn, ...]:
    return tuple(
        Turn(turn["athlete_id"], None if turn["setup"] is None else tuple(turn["setup"]))
        for turn in told
    )
