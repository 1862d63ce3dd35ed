"""The page that asks whether something is to be taken away, or says why it stays."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flask import flash, redirect, render_template, request
from werkzeug.wrappers import Response

from settingsdesk.store.taking_away import Hanging, SomethingHangsOnIt
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.fields import CarriedField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work


@dataclass(frozen=True, slots=True)
class Doomed:
    """What is to be taken away, its page, and in sentences what goes and what to do instead.

    ``hanging`` tells what hangs on it, ``take_away`` does it, both by its number; ``going_along``
    what goes with it that somebody may miss, ``more`` what else its page tells. ``first`` comes
    before it in units of work of its own; ``is_done`` says at the end that it is.
    """

    number: int
    name: str
    hanging: Callable[[ClubSession, int], Sequence[Hanging]]
    take_away: Callable[[ClubSession, int], None]
    back_to: str
    goes: str
    instead: str = ""
    going_along: Callable[[ClubSession, int], Sequence[Hanging]] = lambda _session, _number: ()
    more: Callable[[ClubSession, int], object] = lambda _session, _number: None
    template: str = "frame/take_away.html"
    first: Callable[[], None] = lambda: None
    is_done: Callable[[], str] | None = None


class TakingAwayForm(DeskForm):
    """Nothing to say but yes, to what was told to go along."""

    told = CarriedField()


def ask(doomed: Doomed, then: str) -> Response | tuple[str, int]:
    """The question; after a yes it is gone, and the page ``then`` says so."""
    form = TakingAwayForm()
    if not form.accepted():
        with work() as session:
            return _page(form, doomed, session), 200
    doomed.first()
    with work(writes=True) as session:
        if form.told.data != _told(doomed.going_along(session, doomed.number)):
            return _page(form, doomed, session), 409
        try:
            with session.or_nothing():
                doomed.take_away(session, doomed.number)
        except SomethingHangsOnIt:
            return _page(form, doomed, session), 409
    flash(doomed.is_done() if doomed.is_done else f"{doomed.name} is deleted.")
    return redirect(then, 303)


def _page(form: TakingAwayForm, doomed: Doomed, session: ClubSession) -> str:
    """The question, or what hangs on it; it carries what it tells of."""
    along = doomed.going_along(session, doomed.number)
    told = _told(along)
    changed = request.method == "POST" and form.told.data != told
    form.told.data, form.told.raw_data = told, [told]
    return render_template(
        doomed.template,
        doomed=doomed,
        more=doomed.more(session, doomed.number),
        form=form,
        changed=changed,
        along=along,
        hanging=doomed.hanging(session, doomed.number),
    )


def _told(along: Sequence[Hanging]) -> str:
    return "; ".join(f"{one.count} {one.called} ({', '.join(one.names)})" for one in along)
