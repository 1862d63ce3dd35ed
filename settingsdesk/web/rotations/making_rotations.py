"""Making a rotation: which apparatus, who, when, and from which marks."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import MOST_GROUPS, OrderRequest
from settingsdesk.desk.rotations.rotation import RotationLine
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.runs.run_list import RunLine
from settingsdesk.desk.squad import athletes, choosing
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.choosing import MOST_AT_ONCE, Offer, Sought
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import MarkField, form_of
from settingsdesk.web.frame.fields import (
    CountField,
    DayField,
    TickField,
    WordsField,
    number_of_a_row,
)
from settingsdesk.web.frame.work import work
from settingsdesk.web.rotations import searches
from settingsdesk.web.rotations.wishes_form import (
    known_purposes,
    places_must_differ,
    purpose_fields,
    told_purposes,
    with_purpose,
)
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field, typed_before

Page = str | Response | tuple[str, int]

LATELY, SHOWN = 30, 4
"""Of so many last rotations so many are offered to be planned once more."""
FROM_ENTERED = (
    "The rotation was planned from the marks that were entered. The present marks of the apparatus"
    " are as they were."
)


class RotationForm(ChoosingForm):
    """A rotation on one apparatus: the ticked athletes are the coach's list, by family name."""

    held_on = DayField("Day")
    name = WordsField("Name", optional=True, most=80, width="w-32")
    who = athletes_field()

    def validate(self, extra_validators: Mapping[str, Any] | None = None) -> bool:
        """Every field by itself; then that no two groups go at one place."""
        is_sound = super().validate(extra_validators)
        places = [field for field in self if field.name.startswith("place")]
        if places and not self["any_order"].data:
            places_must_differ(places)
        return is_sound and not any(field.errors for field in places)


@dataclass(frozen=True, slots=True)
class Chosen:
    """Who is ticked on a new rotation's form: groups, or the list of another rotation.

    Several groups go one after the other.
    """

    groups: tuple[str, ...] = ()
    like: int | None = None

    @staticmethod
    def by_the_address() -> "Chosen":
        """What a page that leads here has chosen."""
        groups = tuple(dict.fromkeys(filter(None, request.args.getlist("group"))))
        return Chosen(groups, request.args.get("like", type=number_of_a_row))

    @property
    def anybody(self) -> bool:
        """Whether somebody is chosen already."""
        return bool(self.groups or self.like)

    @property
    def one_after_the_other(self) -> bool:
        """Whether several groups are chosen."""
        return len(self.groups) > 1 and not self.like

    @property
    def in_address(self) -> dict[str, Any]:
        """It as it goes along in the address of the next page."""
        asked = {"group": list(self.groups) or None, "like": self.like}
        return {name: value for name, value in asked.items() if value is not None}


def add_to(blueprint: Blueprint) -> None:
    """Add these pages to those of the rotations."""
    blueprint.add_url_rule("/new", view_func=choose_apparatus)
    blueprint.add_url_rule("/new/<int:apparatus_id>", view_func=new, methods=["GET", "POST"])


def choose_apparatus() -> str:
    """First of all: who, or on which apparatus? A group or another rotation's list goes along."""
    chosen = Chosen.by_the_address()
    with work() as session:
        pieces = apparatus.all_pieces(session)
        like = desk_rotation.line(session, chosen.like) if chosen.like else None
        recent = [] if chosen.anybody else desk_rotation.recent(session, LATELY)
        groups = [] if chosen.anybody else athletes.groups(session)
    return render_template(
        "rotations/choose_apparatus.html",
        pieces=pieces,
        chosen=chosen,
        like=like,
        recent=_of_before(recent),
        groups=groups,
    )


def _of_before(lines: Iterable[RotationLine]) -> list[RotationLine]:
    """Of rotations that were held more than once the latest, where today's is not planned yet."""
    latest = {(line.given_name, line.apparatus_ids): line for line in reversed(list(lines))}
    before = [line for line in latest.values() if line.held_on < today()]
    return sorted(before, key=lambda line: (line.held_on, line.id), reverse=True)[:SHOWN]


def new(apparatus_id: int) -> Page:
    """Who, when, and from which marks; the rotation is ordered as soon as it is made.

    A page that leads here may tick athletes by their numbers (``who``), a group, or the list of
    another rotation, whose wishes come along.
    """
    view, chosen = None, Chosen.by_the_address()
    with work(writes=request.method == "POST") as session:
        piece = apparatus.piece(session, apparatus_id)
        like = desk_rotation.to_arrange(session, chosen.like) if chosen.like else None
        going = run_list.under_way_on(session, apparatus_id)
        form = _new_form(piece, like, chosen, has_purposes=desk_settings.any_beside(session))
        leaves = form.left_for_a_setting(piece.model_id)
        if leaves:
            return leaves
        if request.method == "GET" and typed_before() is None:
            form.who.data = _ticked(session, piece, chosen, like)
        offer = choosing.for_kind_or_lacking(
            session, piece.model.kind, form.sought(), form.who.data or ()
        )
        form.take(offer, with_groups=True)
        if not form.names and form.accepted():
            with form.refusals(), session.or_nothing():
                ticked = _in_order(session, offer, like)
                asked = OrderRequest()
                if like:
                    wished = _asked_by(form, like)
                    asked = desk_rotation.for_these(wished, piece.id, ticked)
                if chosen.one_after_the_other:
                    asked = _one_after_the_other(form, offer, chosen)
                asked = with_purpose(asked, form)
                view = _make(session, piece, form, ticked, going, asked)
    if view is not None:
        planned_only = going is not None or form.held_on.data != today()
        return searches.begin(view, FROM_ENTERED if planned_only else searches.FROM_NOW)
    page = render_template(
        "rotations/new.html",
        form=form,
        piece=piece,
        offer=offer,
        chosen=chosen,
        like=like,
        going=going,
    )
    return page, form.status


def _ticked(
    session: ClubSession, piece: Piece, chosen: Chosen, like: RotationView | None
) -> list[int]:
    """Who is ticked when the form is opened."""
    if like is not None:
        return desk_rotation.everybody_on(session, like)
    if chosen.groups:
        each = [
            choosing.for_kind(session, piece.model.kind, Sought(group=name, most=MOST_AT_ONCE))
            for name in chosen.groups[:MOST_GROUPS]
        ]
        return [member.id for offer in each for member in offer.found][:MOST_AT_ONCE]
    return request.args.getlist("who", type=number_of_a_row)[:MOST_AT_ONCE]


def _in_order(session: ClubSession, offer: Offer, like: RotationView | None) -> list[int]:
    """Those who are ticked by family name, or as the list has them whose copy it is."""
    before = desk_rotation.everybody_on(session, like) if like else []
    places = {athlete_id: place for place, athlete_id in enumerate(before)}
    ticked = [member.id for member in offer.ticked]
    return sorted(ticked, key=lambda number: places.get(number, len(places)))


def _one_after_the_other(form: RotationForm, offer: Offer, chosen: Chosen) -> OrderRequest:
    """The groups that were chosen in the order that was typed, with whoever is ticked."""
    typed = {name: form[f"place{number}"].data for number, name in enumerate(chosen.groups)}
    names = sorted(chosen.groups, key=lambda name: typed[name])
    groups = desk_rotation.in_groups(offer.ticked, names)
    asked = OrderRequest().with_groups(groups, told_purposes(form, chosen.groups))
    return replace(asked, groups_free=bool(asked.groups and form["any_order"].data))


def _new_form(
    piece: Piece, like: RotationView | None, chosen: Chosen, *, has_purposes: bool
) -> RotationForm:
    """The form with the marks that stand there now, where they are on record."""
    fields: dict[str, Any] = {axis.key: MarkField(axis) for axis in piece.model.axes}
    asked = like.asked if like else OrderRequest()
    groups = _groups_of(like, chosen)
    fields |= purpose_fields(groups, asked, has_purposes=has_purposes)
    standing = piece.setup or (None,) * len(piece.model.axes)
    known: dict[str, Any] = {
        axis.key: stop for axis, stop in zip(piece.model.axes, standing, strict=True)
    }
    if chosen.one_after_the_other:
        for number, group in enumerate(chosen.groups):
            fields[f"place{number}"] = CountField(group, least=1, most=len(chosen.groups))
            known[f"place{number}"] = number + 1
        fields["any_order"] = TickField("They may go in any order")
    name = desk_rotation.given_name(like) if like and like.piece.id == piece.id else ""
    known |= known_purposes(asked)
    about = {"held_on": today(), "name": name, **known}
    return form_of(fields, RotationForm)(typed_before(), data=about)


def _asked_by(form: RotationForm, like: RotationView) -> RotationView:
    """A rotation that another is made like, with the settings that count for its groups now."""
    told = told_purposes(form, like.asked.group_names)
    return replace(like, asked=like.asked.with_purposes(told)) if told else like


def _groups_of(like: RotationView | None, chosen: Chosen) -> tuple[str, ...]:
    """The groups of a new rotation by their names, where there are several."""
    if like:
        return like.asked.group_names
    return chosen.groups if chosen.one_after_the_other else ()


def _make(
    session: ClubSession,
    piece: Piece,
    form: RotationForm,
    athlete_ids: Sequence[int],
    going: RunLine | None,
    asked: OrderRequest,
) -> RotationView:
    """Record what stands there where it was not on record, then order from it.

    What is entered for another day, or while a run is under way there, is where the plan begins
    and nothing else: it was not read off the apparatus now.
    """
    stops = tuple(form[axis.key].data for axis in piece.model.axes)
    if going is not None or form.held_on.data != today():
        piece = apparatus.as_if_at(piece, stops)
    elif stops != piece.setup:
        piece = apparatus.now_read_off(session, piece, stops, "read off before a rotation")
    return desk_rotation.add_rotation(
        session,
        form.name.data,
        form.held_on.data or today(),
        piece.id,
        athlete_ids,
        asked,
        at_hand={piece.id: piece},
    )
