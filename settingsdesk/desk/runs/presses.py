"""The buttons at an apparatus: the word that each sends, and what is confirmed by pressing it.

The coach's page and the station's have the same buttons. A word may come with a number: of a
step, an athlete, a crew, an event.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.first_check import first_check
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, recognised
from settingsdesk.domain.changeover.happenings import (
    AT_A_STATION,
    AllDone,
    Arrived,
    HandsNow,
    Happening,
    NotHere,
    PassedOver,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TurnOver,
)
from settingsdesk.domain.changeover.run import Confirmed, NotNow, Run, Stage, run_of
from settingsdesk.store.work import ClubSession

PLAIN: Mapping[str, Callable[[int], Happening]] = {
    "step": StepDone,
    "steps": lambda _: AllDone(),
    "second": lambda _: Rechecked(alone=False),
    "alone": lambda _: Rechecked(alone=True),
    "over": lambda _: TurnOver(),
    "pass_over": PassedOver,
    "not_here": NotHere,
    "here": Arrived,
    "hands": HandsNow,
    "back": TakenBack,
}
"""The words that mean the same whatever the list is, each with its number."""

CHECKED_BY, CHECKED_BY_NAME = "checked_by", "checked_by_name"
"""The words for a check by somebody else: by one known at the run, with the number of an event of
theirs, and by one whose name is typed."""

LONGEST_NAME = 40
"""As long as the name of a volunteer may be."""

NEXT, NEW_MARKS, NEW_MARKS_ON, REPEAT = "next", "new_marks", "new_marks_on", "repeat"
"""The words for what depends on the list: who goes next, settings that were changed since, for the
turns to come or for whoever is on too, and the same turn once more."""


OF_SOMEBODY = (NEXT, "not_here")
"""The words whose number is that of an athlete who is chosen in a list, which may be nobody."""

OTHER_MARKS = Sentence(
    "Nothing was confirmed: other marks are wanted for this turn since the page was looked at"
)
MARKS_FIRST = Sentence(
    "Nothing was confirmed: take the new marks first, then set them and check again"
)
"""Why nothing counts at changed marks: where the page did not say so, and a check where it did."""


@dataclass(frozen=True, slots=True)
class Press:
    """A button pressed on a run's page: its word and number, and the last event that was seen.

    ``late`` says that it was pressed some time ago and kept on the phone since.
    ``told_of_change`` says that the page had it that the first turn's marks were changed.
    ``name`` is what was typed, where somebody's name is asked for. ``before_use_on_paper`` says
    that it was ticked that the check before use was made on paper.
    """

    word: str
    number: int
    seen: int
    late: bool = False
    told_of_change: bool = False
    name: str = ""
    before_use_on_paper: bool = False


def confirm(session: ClubSession, now: RunNow, press: Press) -> tuple[Happening, RunNow]:
    """What a press confirms, and the run as it stands after that.

    It counts only where nothing has changed that it rests on. A check counts only at once, at the
    marks that are wanted now, and where the check before use was made, in the desk or as it is
    said on paper: somebody goes up by it. Sent once more because no answer came, it changes
    nothing, however late. Raises what ``happening`` and ``run.go_on`` do.
    """
    what = (
        Rechecked(alone=False, second=_not_who_set(now, press.seen, _typed_name(press.name)))
        if press.word == CHECKED_BY_NAME
        else happening(session, now, press.seen, press.word, press.number)
    )
    if isinstance(what, Rechecked):
        what = replace(
            what,
            more_mat_mm=now.piece.mats.more_mm,
            before_use_on_paper=press.before_use_on_paper,
        )
    if not desk_run.is_on_record(session.by, now, press.seen, what):
        _must_still_hold(session, now, press, what)
    return what, desk_run.go_on(session, now, press.seen, what)


def _must_still_hold(session: ClubSession, now: RunNow, press: Press, what: Happening) -> None:
    if press.late and isinstance(what, Rechecked):
        raise NotNow(
            Sentence(
                "A check that was kept on the phone does not count: somebody may have been at the"
                " apparatus since. Check again, and confirm it then"
            )
        )
    if not isinstance(what, StepDone | AllDone | Rechecked | PassedOver):
        return
    is_check = isinstance(what, Rechecked)
    if (is_check or not press.told_of_change) and desk_run.first_is_changed(session, now):
        raise NotNow(MARKS_FIRST if press.told_of_change else OTHER_MARKS)
    if is_check and not press.before_use_on_paper:
        _must_be_checked_before_use(session, now, press.seen)


def _must_be_checked_before_use(session: ClubSession, now: RunNow, seen: int) -> None:
    """``NotNow`` where nobody goes up yet; what comes before that is for ``go_on`` to say."""
    is_next = now.run.stage is Stage.CHECKING and seen == now.number
    if not is_next or now.must_be_read_off or now.piece.withdrawal or now.run.hold_up:
        return
    first = first_check(session, now.piece, now.run)
    if first is not None and first.is_due:
        raise NotNow(
            Sentence(
                "Nothing was confirmed: first comes the check before use of %(apparatus)s. A coach"
                " makes it under Checks, or you tick that it was made on paper; then confirm again",
                apparatus=now.piece.name,
            )
        )


def happening(session: ClubSession, now: RunNow, seen: int, word: str, number: int) -> Happening:
    """What a press confirms, by somebody who saw the run as it was after event ``seen``.

    The same press means the same whenever it comes. ``NoSuchWord`` where no button has that word,
    ``ConfirmedMeanwhile`` where the run had no such event, or ``NotNow``.
    """
    if word in OF_SOMEBODY and number <= 0:
        raise NotNow(Sentence("Choose who it is about first: nothing was changed"))
    if word in PLAIN:
        return PLAIN[word](number)
    if word == CHECKED_BY:
        return Rechecked(alone=False, second=_not_who_set(now, seen, _somebody(now, number)))
    if word == NEXT:
        return next_up(_as_seen(now, seen), number)
    if word in (NEW_MARKS, NEW_MARKS_ON):
        on_too = word == NEW_MARKS_ON
        return desk_rest.with_new_marks(session, now, _as_seen(now, seen), on_too=on_too)
    if word == REPEAT:
        return _repeated(session, now, _as_seen(now, seen))
    raise NoSuchWord


def _repeated(session: ClubSession, now: RunNow, run: Run) -> Repeated:
    """The turn that is on, or else the last one, once more, at the marks that count now."""
    is_on = run.stage is Stage.ON
    if not is_on and not run.over:
        return Repeated()
    turn = run.turns[0] if is_on else run.over[-1].turn
    [again] = desk_rest.at_new_marks(session, now, [turn])
    return Repeated() if again.setup == turn.setup else Repeated(again.setup)


def known_names(now: RunNow) -> dict[str, int]:
    """Whoever confirmed or checked something in a run, each with the number of an event of theirs.

    The latest first; the desk itself is nobody. Whoever set for the present turn is left out: that
    one is no second person.
    """
    names: dict[str, int] = {}
    for event in reversed(now.events):
        names.setdefault(_who(event), event.number)
    nobody = (desk_rest.BY_THE_DESK, now.run.set_by)
    return {name: number for name, number in names.items() if name not in nobody}


def next_up(run: Run, athlete_id: int) -> Reordered:
    """The jury's change: that athlete's next turn comes first of those that can still be moved.

    The turn that something was done for already stays the first.
    """
    stays = 1 if run.is_set_for else 0
    for place, turn in enumerate(run.turns):
        if place >= stays and turn.athlete_id == athlete_id:
            if place == stays:
                raise NotNow(
                    Sentence("This athlete is the next one already, so nothing was changed")
                )
            others = (*run.turns[stays:place], *run.turns[place + 1 :])
            return Reordered((*run.turns[:stays], turn, *others))
    raise NotNow(
        Sentence("This athlete has no turn to come that could be moved, so nothing was changed")
    )


def _somebody(now: RunNow, number: int) -> str:
    """Whose event that is; ``NoSuchWord`` where there is none."""
    found = next((event for event in now.events if event.number == number), None)
    if found is None:
        raise NoSuchWord
    return _who(found)


def shown_name(by: str) -> str:
    """A name without what says that it is of a volunteer's phone."""
    found = recognised(by, [AT_A_STATION])
    return str(found.facts["name"]) if isinstance(found, Sentence) else by


def is_of_a_phone(by: str) -> bool:
    """Whether somebody is on record by a volunteer's phone, and so has one to confirm on."""
    return shown_name(by) != by


def _typed_name(typed: str) -> str:
    """The name of whoever checked, as it is kept; ``NotNow`` where there is none."""
    name = " ".join(typed.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise NotNow(
            Sentence(
                "Nothing was confirmed: enter the name or the initials of whoever checked, at most"
                " %(most)s characters",
                most=LONGEST_NAME,
            )
        )
    return name


def _not_who_set(now: RunNow, seen: int, name: str) -> str:
    """That name of a second person; ``NotNow`` where it is who set for the turn that was seen."""
    set_by = _as_seen(now, seen).set_by
    if name.casefold() in (set_by.casefold(), shown_name(set_by).casefold()):
        raise NotNow(
            Sentence(
                "%(name)s has set it, so a second person has to look: enter another name, or press"
                " “Checked alone”",
                name=name,
            )
        )
    return name


def _who(event: Confirmed) -> str:
    return (event.what.second or event.by) if isinstance(event.what, Rechecked) else event.by


def _as_seen(now: RunNow, seen: int) -> Run:
    """The run as it was when its page was looked at."""
    if seen == now.number:
        return now.run
    if not 1 <= seen < now.number:
        raise ConfirmedMeanwhile("", None)
    return run_of(now.run.model, [event for event in now.events if event.number <= seen])


class NoSuchWord(SettingsDeskError):
    """Something was sent that no button at the apparatus sends."""

    sentence = Sentence("Nothing was confirmed: load the page again, and use its buttons")
