"""What was confirmed at the apparatus, in words for the people there."""

from settingsdesk.desk.runs.run import RunView
from settingsdesk.domain.changeover.changeover import PulledFirst
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    HandsNow,
    Happening,
    Joined,
    LeanMeasured,
    NotHere,
    PassedOver,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    TurnOver,
)

PLAIN: dict[type, str] = {
    AllDone: "All steps that were left are done",
    TurnOver: "The turn is over",
    Repeated: "The turn is repeated",
    Reordered: "The rest was ordered anew",
    Ended: "The run was ended",
    TakenUp: "Taken up again where it was ended",
}


def in_words(view: RunView, what: Happening) -> str:
    """One line for what happened, with the athletes' names as they are called at the apparatus."""
    match what:
        case Begun(turns=turns):
            return f"Begun with {len(turns)} turns"
        case StepDone(step=step):
            return f"Step {step + 1} is done"
        case Rechecked(alone=alone, second=second):
            return "Checked alone" if alone else f"Checked by {second or 'a second person'}"
        case NotHere() | Arrived():
            word = "is not here" if isinstance(what, NotHere) else "is here now"
            return f"{_name(view, what.athlete_id)} {word}"
        case PassedOver(athlete_id=athlete_id):
            return f"{_name(view, athlete_id)} was passed over, without a setting"
        case Joined(turns=turns):
            names = dict.fromkeys(_name(view, turn.athlete_id) for turn in turns)
            return f"Added: {', '.join(names)}"
        case _:
            return _of_the_apparatus(view, what)


def _of_the_apparatus(view: RunView, what: Happening) -> str:
    match what:
        case FoundAt(setup=setup):
            return f"Found standing at {' / '.join(view.run.model.marks(setup).values())}"
        case HandsNow(hands=hands):
            return f"{hands} {'pair' if hands == 1 else 'pairs'} of hands from here on"
        case LeanMeasured(side=side, end=end, by_mm=by_mm):
            first = view.run.model.kind.sides[side]
            return f"A {PulledFirst(side, end, by_mm).of} was measured: {first} first"
        case TakenBack(number=number):
            return f"Taken back: number {number}"
        case _:
            return PLAIN[type(what)]


def _name(view: RunView, athlete_id: int) -> str:
    return str(view.called[athlete_id])
