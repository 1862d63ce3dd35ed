"""The page that asks whether something is to be taken away, or says why it stays."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flask import flash, redirect, render_template
from werkzeug.wrappers import Response

from settingsdesk.store.taking_away import Hanging, SomethingHangsOnIt
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work


@dataclass(frozen=True, slots=True)
class Doomed:
    """What is to be taken away, its page, and in sentences what goes and what to do instead.

    ``hanging`` tells what hangs on it, ``take_away`` does it, both by its number.
    """

    number: int
    name: str
    hanging: Callable[[ClubSession, int], Sequence[Hanging]]
    take_away: Callable[[ClubSession, int], None]
    back_to: str
    goes: str
    instead: str = ""


class TakingAwayForm(DeskForm):
    """Nothing to say but yes."""


def ask(doomed: Doomed, then: str) -> Response | tuple[str, int]:
    """The question; after a yes it is gone, and the page ``then`` says so."""
    if not TakingAwayForm().accepted():
        with work() as session:
            return _page(doomed, doomed.hanging(session, doomed.number)), 200
    try:
        with work(writes=True) as session:
            doomed.take_away(session, doomed.number)
    except SomethingHangsOnIt as refusal:
        return _page(doomed, refusal.hanging), 409
    flash(f"{doomed.name} is taken away.")
    return redirect(then, 303)


def _page(doomed: Doomed, hanging: Sequence[Hanging]) -> str:
    return render_template("frame/take_away.html", doomed=doomed, hanging=hanging)
