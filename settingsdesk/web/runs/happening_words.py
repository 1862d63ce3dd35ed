"""What was confirmed at the apparatus, in words for the people there."""

from settingsdesk.desk.clock import local_date
from settingsdesk.desk.runs.run import RunView
from settingsdesk.domain.base.sentences import Counted, Sentence, Series, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import PulledFirst
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    GoneOn,
    HandsNow,
    Happening,
    HeldUp,
    Joined,
    LeanMeasured,
    NotHere,
    PassedOver,
    Placed,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    TurnOver,
)
from settingsdesk.domain.changeover.run import Confirmed
from settingsdesk.domain.hall.mats import Mats

PLAIN: dict[type, Sentence] = {
    AllDone: Sentence("All steps that were left are done"),
    TurnOver: Sentence("The turn is over"),
    Repeated: Sentence("The turn is repeated"),
    Reordered: Sentence("The rest was planned again"),
    Ended: Sentence("The run was ended"),
    TakenUp: Sentence("Taken up again where it was ended"),
    GoneOn: Sentence("A coach has looked, and it goes on"),
}

LEAN_MEASURED = marked("A lean of %(length)s was measured: %(side)s first")
SKEW_MEASURED = marked("A skew of %(length)s was measured: %(side)s first")

UNDO: dict[type, Sentence] = {
    AllDone: Sentence("Undo “all steps done”"),
    Rechecked: Sentence("Undo the check"),
    TurnOver: Sentence("Undo “turn over”"),
    Repeated: Sentence("Undo “same athlete again”"),
    PassedOver: Sentence("Undo “pass over for now”"),
    LeanMeasured: Sentence("Undo the measured lean"),
    NotHere: Sentence("Undo “is not here”"),
    Arrived: Sentence("Undo “is here after all”"),
    Placed: Sentence("Undo the last change of the order or the marks"),
    Joined: Sentence("Undo “add an athlete”"),
    Reordered: Sentence("Undo the last change of the order or the marks"),
}


def in_words(view: RunView, what: Happening) -> Sentence:
    """One line for what happened, with the athletes' names as they are called at the apparatus."""
    match what:
        case Begun(turns=turns):
            return Counted("Begun with %(count)s turn", "Begun with %(count)s turns", len(turns))
        case StepDone(step=step):
            return Sentence("Step %(number)s is done", number=step + 1)
        case Rechecked(alone=True):
            return Sentence("Checked alone")
        case Rechecked(second=second):
            if not second:  # whoever confirmed it stands beside it, and nobody else is known
                return Sentence("Checked")
            return Sentence("Checked by %(name)s", name=second)
        case Joined(turns=turns):
            names = dict.fromkeys(_name(view, turn.athlete_id) for turn in turns)
            return Sentence("Added: %(names)s", names=Series(list(names), ", "))
        case NotHere() | Arrived() | Placed() | PassedOver():
            return _of_an_athlete(_name(view, what.athlete_id), what)
        case _:
            return _of_the_apparatus(view, what)


def mats_then(event: Confirmed, unit: Unit) -> str:
    """What was otherwise of the mats at a check, as its page said; empty where nothing was."""
    if not isinstance(event.what, Rechecked):
        return ""
    day = local_date(event.at)
    return Mats(0, day, {day: event.what.more_mat_mm}).in_words(unit)


def before_use_then(event: Confirmed) -> str:
    """How the check before use was made, as it was said with a check; empty where it was not."""
    on_paper = isinstance(event.what, Rechecked) and event.what.before_use_on_paper
    return "check before use: on paper" if on_paper else ""


def undo(what: Happening) -> Sentence:
    """What the button says that takes a confirmation back."""
    if isinstance(what, StepDone):
        return Sentence("Undo step %(number)s", number=what.step + 1)
    return UNDO[type(what)]


def _of_an_athlete(name: str, what: NotHere | Arrived | Placed | PassedOver) -> Sentence:
    match what:
        case NotHere():
            return Sentence("%(name)s is not here", name=name)
        case Arrived():
            return Sentence("%(name)s is here now", name=name)
        case Placed():
            return Sentence("%(name)s was given another place in the order", name=name)
        case PassedOver():
            return Sentence("%(name)s was passed over, without a setting", name=name)


def _of_the_apparatus(view: RunView, what: Happening) -> Sentence:
    match what:
        case FoundAt(setup=setup):
            marks = view.run.model.marks_in_words(setup)
            return Sentence("Found standing at %(marks)s", marks=marks)
        case HandsNow(hands=hands):
            return Counted("%(count)s person from here on", "%(count)s people from here on", hands)
        case LeanMeasured(side=side, end=end, by_mm=by_mm):
            form = SKEW_MEASURED if end else LEAN_MEASURED
            first = view.run.model.kind.sides[side]
            return Sentence(form, length=PulledFirst(side, end, by_mm).by, side=first)
        case Repeated(setup=setup) if setup is not None:
            marks = view.run.model.marks_in_words(setup)
            return Sentence("The turn is repeated, at %(marks)s", marks=marks)
        case HeldUp(words=words):
            return Sentence("Stopped, something is wrong: %(words)s", words=words)
        case TakenBack(number=number):
            return Sentence("Undone: number %(number)s", number=number)
        case _:
            return PLAIN[type(what)]


def _name(view: RunView, athlete_id: int) -> str:
    return str(view.called[athlete_id])
