"""Where the marks of a model are read: a form for the words and the photo of each adjustment."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import mark_photos
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.mark_photos import ReadAt, WordsTooLong
from settingsdesk.desk.hall.photos import read_small_photo
from settingsdesk.domain.hall.apparatus_sheet import LONGEST_WORDS
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import CarriedField, TickField, WordsField
from settingsdesk.web.frame.photo_fields import held_field, let_wait, photo_field, photos_in
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

PHOTO = {"photo": "held"}
ANOTHER_PHOTO = (
    "Somebody has changed the photo while this page was open. Nothing is saved yet: look at the one"
    " that is there now, and save once more to have it as it stands in the form"
)


class ReadAtForm(EditForm):
    """Where the mark of an adjustment is read."""

    words = WordsField("Where the mark is read", most=LONGEST_WORDS, optional=True)
    photo = photo_field("Photo of the mark")
    held = held_field()
    away = TickField("Take the present photo away")
    seen = CarriedField()


def add_to(blueprint: Blueprint) -> None:
    """Add this page to those of the models."""
    blueprint.add_url_rule(
        "/<int:model_id>/marks/<axis_key>", view_func=read_at, methods=["GET", "POST"]
    )


def read_at(model_id: int, axis_key: str) -> Page:
    """Say where the mark of an adjustment is read, and show it."""
    with work() as session:
        version = desk_models.model(session, model_id)
        present = mark_photos.of_model(session, model_id).get(axis_key, ReadAt(""))
    axis = version.model.axis(axis_key)
    form = _form(present)
    if request.method == "POST":
        readable, sent = form.accepted(), photos_in(form, PHOTO, read_small_photo)
        if readable and not form.mistakes:
            with form.refusals(form.words, WordsTooLong), work(writes=True) as session:
                now = mark_photos.of_model(session, model_id).get(axis_key, ReadAt(""))
                form.must_be_as_read(data={"words": now.words, "away": False})
                if _has_seen(form, now):
                    mark_photos.keep(
                        session,
                        model_id,
                        axis_key,
                        form.words.data or "",
                        sent.get("photo"),
                        without_photo=form.away.data,
                    )
                    flash(f"Where the {axis.kind.in_a_sentence} is read is kept.")
                    return redirect(url_for("models.show", model_id=model_id), 303)
                present = now
        let_wait(form, PHOTO, sent)
    page = render_template(
        "hall/models/read_at.html", form=form, version=version, axis=axis, present=present
    )
    return page, form.status


def _form(present: ReadAt) -> ReadAtForm:
    seen = str(present.photo_id or "")
    return ReadAtForm(data={"words": present.words, "away": False, "seen": seen})


def _has_seen(form: ReadAtForm, now: ReadAt) -> bool:
    """Whether the photo is the one that was there when the page was opened; it is seen from now."""
    there = str(now.photo_id or "")
    if form.seen.data == there:
        return True
    form.seen.raw_data = [there]
    form.form_errors.append(ANOTHER_PHOTO)
    return False
