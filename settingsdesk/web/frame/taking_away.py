"""The page that asks whether something is to be taken away, or says why it stays."""

from collections.abc import Sequence
from dataclasses import dataclass

from flask import render_template

from settingsdesk.store.taking_away import Hanging
from settingsdesk.web.frame.forms import DeskForm


@dataclass(frozen=True, slots=True)
class Doomed:
    """What is to be taken away, its page, and in sentences what goes and what to do instead."""

    name: str
    back_to: str
    goes: str
    instead: str = ""


class TakingAwayForm(DeskForm):
    """Nothing to say but yes."""


def question(form: DeskForm, doomed: Doomed, hanging: Sequence[Hanging]) -> tuple[str, int]:
    """The page, with its status."""
    page = render_template(
        "frame/take_away.html",
        form=form,
        name=doomed.name,
        back_to=doomed.back_to,
        goes=doomed.goes,
        instead=doomed.instead,
        hanging=hanging,
    )
    return page, form.status
