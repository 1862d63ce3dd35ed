"""In which language a club's cards and crew sheets are printed."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.languages import can_be_printed
from settingsdesk.cards.lettering import EXTRA
from settingsdesk.desk.cards import paper_language
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import RadiosField
from settingsdesk.web.frame.work import coach, work
from settingsdesk.words.languages import NAMES, spoken


class PaperLanguageForm(EditForm):
    """One of the languages that there are."""

    language = RadiosField("Language", choices=list(NAMES.items()))


def add_to(blueprint: Blueprint) -> None:
    """Add this page to the room of the cards."""
    blueprint.add_url_rule("/language", view_func=language, methods=["GET", "POST"])


def language() -> str | Response | tuple[str, int]:
    """See it, and choose another."""
    form = PaperLanguageForm(data={"language": coach().paper_language})
    lacking = [name for tag, name in NAMES.items() if not can_be_printed(tag)]
    if form.accepted():
        with form.refusals(form.language), work(writes=True) as session:
            form.must_be_as_read(data={"language": paper_language.kept(session)})
            paper_language.keep(session, str(form.language.data))
            flash("Saved. What is printed from now on is in that language.")
            return redirect(url_for("cards.index"), 303)
    unread = [name for tag, name in NAMES.items() if spoken(tag).unread]
    page = render_template(
        "cards/language.html", form=form, unread=unread, lacking=lacking, extra=EXTRA
    )
    return page, form.status
