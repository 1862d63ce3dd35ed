"""What the coach's page and the station's page of a run share: picture, facts, and presses."""

from collections.abc import Callable, Collection, Mapping
from datetime import datetime
from functools import lru_cache
from time import time
from typing import Any, NamedTuple

from flask import Response, jsonify, request

from settingsdesk.desk.checks import check_lists, findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs.presses import (
    LONGEST_NAME,
    NoSuchWord,
    Press,
    is_of_a_phone,
    known_names,
)
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile, RunUnderWay, ScaleChanged
from settingsdesk.desk.runs.run import RunView
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.sentences import Sentence, marked, recognised
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover import happenings
from settingsdesk.domain.changeover.crew import CREWS, NotACrew
from settingsdesk.domain.changeover.happenings import Repeated
from settingsdesk.domain.changeover.run import NotNow, Run, Stage
from settingsdesk.domain.checks.checks import CheckItem
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.settings.end_view import DimensionText, end_view
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.fields import number_carried
from settingsdesk.web.frame.language import language, said
from settingsdesk.web.frame.security import SCRIPT_HEADER
from settingsdesk.web.runs.happening_words import undo
from settingsdesk.words.language import Language

MOST_DIGITS = 9
MOST_OF_A_TOKEN = 40

LATE_S = 10
"""So long after it was pressed a check still counts: a slow network is no reason to check twice."""


def _of_the_script(form: str) -> Sentence:
    """A sentence with places that the script fills."""
    return Sentence(form, at="%(at)s", since="%(since)s", minutes="%(minutes)s", day="", time="")


BY_THE_SCRIPT: Mapping[str, Sentence] = {
    key: _of_the_script(form)
    for key, form in {
        "signed_out": marked(
            "Nobody is signed in on this phone any more. Load this page again and sign in."
        ),
        "at_once": marked("A check counts only while this page is live."),
        "happened": marked("Something has happened since %(at)s: set nothing by what stands here."),
        "happened_in_form": marked(
            "Something has happened since %(at)s: see what before you send this."
        ),
        "unanswered": marked("What you last asked for did not come: scan or press it once more."),
        "refused": marked(
            "What you confirmed was not taken: it does not count. Look at the apparatus again."
        ),
        "waits": marked(
            "What you confirmed is not sent yet. It is kept on this phone and sent as soon as there"
            " is a network: confirm nothing else."
        ),
        "asking": marked("Asking …"),
        "live": marked("Live, %(at)s"),
        "card": marked("A card"),
    }.items()
}
"""What the script at the apparatus says, on the coach's page and on the station's."""

AT_A_STATION: Mapping[str, Sentence] = {
    key: _of_the_script(form)
    for key, form in {
        "stale": marked(
            "Not live since %(since)s. This page is from %(at)s and may be old: set nothing by it."
            " Refresh later, or use the printed crew sheet."
        ),
        "stale_for": marked(
            "Not live since %(since)s, for %(minutes)s min. This page is from %(at)s and may be"
            " old: set nothing by it. Refresh later, or use the printed crew sheet."
        ),
        "kept_copy": marked(
            "A copy that this phone kept on %(day)s at %(time)s. Not live since then: set nothing"
            " by it. Use the printed crew sheet."
        ),
        "no_copy": marked(
            "This phone keeps no copy of this page, as over a plain connection: when the network is"
            " gone, do not load it again. Open, it goes on keeping what you confirm. Have the"
            " printed crew sheet at hand."
        ),
    }.items()
}
AT_THE_BARS: Mapping[str, Sentence] = {
    key: _of_the_script(form)
    for key, form in {
        "stale": (
            "Not live since %(since)s. This page is from %(at)s and may be old: set nothing by it."
            " Refresh later, or use what is printed."
        ),
        "stale_for": (
            "Not live since %(since)s, for %(minutes)s min. This page is from %(at)s and may be"
            " old: set nothing by it. Refresh later, or use what is printed."
        ),
        "kept_copy": (
            "A copy that this phone kept on %(day)s at %(time)s. Not live since then: set nothing"
            " by it. Use what is printed."
        ),
        "no_copy": (
            "This phone keeps no copy of this page, as over a plain connection: when the network is"
            " gone, do not load it again. Open, it goes on keeping what you confirm. Have what is"
            " printed at hand."
        ),
    }.items()
}
"""The same of what each of them shows, with what is there instead."""

NOT_CONFIRMED = (
    NotACrew,
    NotNow,
    WithdrawnFromUse,
    NoSuchWord,
    ConfirmedMeanwhile,
    RunUnderWay,
    ScaleChanged,
)
"""What the run's page tells by itself, with what is to be done instead."""


def press() -> Press:
    """The press that this request sends."""
    sent = request.form
    word, _, number = sent.get("do", "").partition(".")
    return Press(
        word,
        number_carried(number or sent.get("who")),
        number_carried(sent.get("seen")),
        late=_is_late(sent.get("pressed", "")),
        told_of_change="told" in sent,
        name=sent.get("checker", ""),
        before_use_on_paper="on_paper" in sent,
    )


def _is_late(pressed: str) -> bool:
    """Whether it was pressed some time ago, by the desk's clock as the page's script kept it.

    Without script a press is sent at once. A stamp that lies ahead says nothing: the desk's clock
    was put back since.
    """
    if not pressed:
        return False
    return not (pressed.isascii() and pressed.isdigit()) or (
        abs(clock_ms() - int(pressed[:MOST_OF_A_TOKEN])) > LATE_S * 1000
    )


def clock_ms() -> int:
    """The desk's clock, from which a page's script counts on by itself."""
    return round(time() * 1000)


def now_at() -> str:
    """The time at the desk: "14:03:05"."""
    return f"{datetime.now().astimezone():%H:%M:%S}"


def right_now() -> dict[str, Any]:
    """What a page says of when it was made."""
    return {"now_at": now_at(), "clock_ms": clock_ms()}


def words_of_the_script(of_a_page: Mapping[str, Sentence]) -> dict[str, str]:
    """What the script at the apparatus says by itself, and what of the page it alone shows.

    The times that only the script knows keep their places in it.
    """
    kept = Sentence(of_a_page["kept_copy"].form, day=day_in_words(today()), time=now_at())
    return {**_said_by_the_script(language(), *of_a_page.items()), "kept_copy": said(kept)}


@lru_cache
def _said_by_the_script(language_now: Language, *of_a_page: tuple[str, Sentence]) -> dict[str, str]:
    """The same in a language, for page after page."""
    words = {**BY_THE_SCRIPT, **dict(of_a_page)}
    return {key: language_now.said(sentence) for key, sentence in words.items()}


def latest_answer(state: str) -> Response:
    """The answer to a page that asks whether it is still true."""
    return jsonify(state=state, at=now_at(), clock=clock_ms())


def sign(response: Response) -> Response:
    """Tell the script that this is the desk's answer to what it just asked.

    It is not some network's own, nor one that was kept on the way.
    """
    token = request.headers.get(SCRIPT_HEADER, "")[:MOST_OF_A_TOKEN]
    response.headers[SCRIPT_HEADER] = token if token.isalnum() else "answer"
    return response


def marks_recorded(view: RunView | None, run: Run | None) -> Sentence:
    """What is said once the present marks were read off and kept, with what follows from them.

    Nothing does while the work is stopped. ``view`` is that run with its names, where they are to
    be said.
    """
    if run and run.hold_up:
        return Sentence("The present marks are recorded.")
    if view and run and run.turns and not view.first_is_changed:
        name = view.name_of(run.turns[0])
        if run.stage is Stage.SETTING:
            return Sentence(
                "The present marks are recorded. Set from there for %(name)s; then check, before"
                " anybody goes up.",
                name=name,
            )
        if run.stage is Stage.CHECKING:
            return Sentence(
                "The present marks are recorded. They are the marks for %(name)s: check, before"
                " anybody goes up.",
                name=name,
            )
    return Sentence(
        "The present marks are recorded. Go on from there; check before anybody goes up."
    )


class ToCheck(NamedTuple):
    """What is to be looked at before the first of a run goes up, and what of it is known.

    ``noted`` are faults that somebody found on the apparatus and that nobody has released.
    """

    items: tuple[CheckItem, ...] = ()
    noted: tuple[str, ...] = ()


def to_check(session: ClubSession, view: RunView | None) -> ToCheck:
    """The same, where a check is due now; nothing otherwise."""
    if view is None or view.run.stage is not Stage.CHECKING:
        return ToCheck()
    return ToCheck(
        check_lists.recheck_items(session, view.piece.model.kind.key),
        findings.noted_at(session, view.piece.id),
    )


def facts(
    view: RunView | None,
    check: ToCheck,
    unit: Unit,
    photo_at: str,
    has_own: Callable[[str], bool] = is_of_a_phone,
) -> dict[str, Any]:
    """What the templates of a run know of it, with lengths in the reader's unit.

    ``photo_at`` is the endpoint of photos for who reads the page, ``has_own`` says of a name that
    whoever has it confirms checks on a page of their own.
    """
    known = known_names(view) if view else {}
    return {
        "view": view,
        "run": view.run if view else None,
        "stage": view.run.stage.value if view else "",
        "check": check,
        "picture": picture(view, unit) if view else None,
        "photo_at": photo_at,
        "step_pictures": step_pictures(view, unit) if view else {},
        "above_mat": above_mat(view, unit) if view else "",
        "crews": CREWS,
        "known": {name: number for name, number in known.items() if not has_own(name)},
        "longest_name": LONGEST_NAME,
        "moved": desk_rest.what_changed(view.run.order_before, view.run.turns) if view else {},
        "repeated": bool(
            view and view.to_take_back and isinstance(view.to_take_back.what, Repeated)
        ),
        "undo": undo,
        "by": by,
    }


def by(name: str) -> str:
    """Who is on record for something, also where a volunteer is."""
    return said(recognised(name, [happenings.AT_A_STATION]))


def above_mat(view: RunView, unit: Unit) -> str:
    """The heights of the present turn above the mats, where these are others today."""
    run, piece = view.run, view.piece
    goal = run.turns[0].setup if run.turns else None
    if goal is None:
        return ""
    taped_mm = run.model.taped_mm(goal)
    return piece.mats.heights_in_words(run.model.kind, taped_mm, unit, today())


def picture(view: RunView, unit: Unit, moving: Collection[str] = ()) -> Drawing | None:
    """What shall stand, filled; where it stands otherwise now, that too, open."""
    run, model = view.run, view.run.model
    if not run.turns or run.stage is Stage.OVER:
        return None
    goal = run.turns[0].setup
    if goal is None:
        return None
    measures_mm, geometry = model.measures_mm(goal), model.geometry
    return end_view(
        model.kind,
        model.section,
        measures_mm,
        {
            axis.key: DimensionText(mark, said(axis.length_in_words(measures_mm[axis.key], unit)))
            for axis, mark in zip(model.kind.axes, model.marks(goal).values(), strict=True)
        },
        view.piece.mat_mm,
        geometry.foot_distance_mm if isinstance(geometry, Leaning) else None,
        model.measures_mm(run.mostly_at) if run.stage is Stage.SETTING else None,
        view.piece.seen_from,
        rails_enlarged=True,
        moving=moving,
    )


def step_pictures(view: RunView, unit: Unit) -> dict[str, Drawing]:
    """By the key of each adjustment that is to be moved now: the picture with it in the accent."""
    if view.run.stage is not Stage.SETTING:
        return {}
    steps = [view.run.change.steps[number] for number in view.run.next_steps]
    keys = {step.move.axis.key for step in steps if step.move}
    drawn = {key: picture(view, unit, [key]) for key in sorted(keys)}
    return {key: one for key, one in drawn.items() if one is not None}
