"""Two entries of one athlete: finding the other one, both side by side, and which counts."""

from collections.abc import Mapping

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.meets import same_person as desk_same_person
from settingsdesk.desk.meets.same_person import Both, Comparison
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.fields import CarriedField, RadiosField, SoughtField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

STAYS, TAKEN = "stays", "taken"


class OtherForm(DeskForm):
    """By which name the other entry is looked for."""

    q = SoughtField("Name of the other entry", width="w-16")


class UniteForm(DeskForm):
    """Which counts, where both have something; the questions are added below."""

    seen = CarriedField()

    def takes(self, questions: tuple[Both, ...]) -> Mapping[str, bool]:
        """Of each question, whether the entry that is taken in counts."""
        return {question.key: self[question.key].data == TAKEN for question in questions}


def add_to(blueprint: Blueprint) -> None:
    """Add these pages to the room of the athletes."""
    blueprint.add_url_rule("/<int:athlete_id>/same-person", view_func=same_person)
    blueprint.add_url_rule(
        "/<int:athlete_id>/same-person/<int:other_id>", view_func=unite, methods=["GET", "POST"]
    )


def same_person(athlete_id: int) -> str:
    """Who else may be the same person."""
    form = OtherForm(request.args)
    words = (form.q.data or "").split()
    with work() as session:
        member = desk_athletes.member(session, athlete_id)
        others = (
            desk_same_person.found(session, athlete_id, words)
            if words
            else desk_same_person.likely(session, athlete_id)
        )
    return render_template(
        "squad/same_person.html", member=member, others=others, form=form, sought=bool(words)
    )


def unite(athlete_id: int, other_id: int) -> Page:
    """Both side by side; which counts; and making them one."""
    with work(writes=request.method == "POST") as session:
        both = desk_same_person.compare(session, athlete_id, other_id)
        form = _form(both)
        if form.accepted():
            takes, seen = form.takes(both.questions), form.seen.data
            form.seen.raw_data = [both.seen]
            with form.refusals():
                member = desk_same_person.unite(session, both, takes, seen)
                flash(
                    f"{member.listed_name} is one entry now. Cards printed under the other one are"
                    " out of date: print new ones."
                )
                return redirect(url_for("athletes.show", athlete_id=athlete_id), 303)
    return render_template("squad/unite.html", form=form, both=both), form.status


def _form(both: Comparison) -> UniteForm:
    fields = {
        question.key: RadiosField(
            question.about,
            choices=[
                (STAYS, question.stays + question.since[0]),
                (TAKEN, question.taken + question.since[1]),
            ],
            ask=f"Choose which counts: {question.about}",
        )
        for question in both.questions
    }
    return form_of(fields, UniteForm)(data={"seen": both.seen})
