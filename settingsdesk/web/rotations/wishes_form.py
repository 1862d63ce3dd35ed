"""The form for what a coach asks of a rotation: turns, rest, hands, wishes, further apparatus.

Wishes are rows of names to choose from; rows left empty are none, and there are always some to
spare, so that everything works without a script.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from itertools import count, takewhile
from typing import Any

from flask import request
from wtforms import Field

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import (
    LONGEST_TURN_S,
    MOST_REST_TURNS,
    MOST_TURNS_EACH,
    OrderRequest,
)
from settingsdesk.desk.rotations.refusals import CannotBePlanned
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.rotations.wishes_in_words import Part
from settingsdesk.desk.squad.names_apart import listed_apart
from settingsdesk.domain.hall.models import Axis, Setup
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.web.frame.axis_fields import MarkField, PresetField, form_of
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import (
    ChecksField,
    ChoiceField,
    CountField,
    RadiosField,
    TickField,
)

SPARE_ROWS = 2
MOST_ROWS = 12
PARTS = {"before": ("one", "how", "other"), "together": ("who",), "places": ("who", "turn")}
"""The kinds of wishes that have rows, and the fields of a row; the first one has the messages."""

CREWS = [(1, "One"), (2, "Two"), (4, "Four")]
GOALS = [
    (0, "Least change-over time in all"),
    (1, "The last apparatus ready as early as possible"),
]
WAYS = [("before", "before"), ("after", "not before")]


def places_must_differ(places: Sequence[Field]) -> None:
    """Say of a place that a group before has, too, that it can have only one of them."""
    taken: dict[int, str] = {}
    for place in places:
        other = taken.setdefault(place.data, place.label.text)
        if place.data is not None and other != place.label.text:
            twice = f"{other} has place {place.data} too: give each group a place of its own"
            place.errors = [*place.errors, twice]


class WishesForm(EditForm):
    """One rotation's wishes; the rows of each kind are fields named before0_one and the like."""

    turns = CountField("Turns of each athlete", least=1, most=MOST_TURNS_EACH)
    rest_turns = CountField("Turns of rest", least=0, most=MOST_REST_TURNS)
    hands = RadiosField("People", choices=CREWS, read_choice=int)
    turn_s = CountField("Time for one turn", least=0, most=LONGEST_TURN_S, unit="s")
    longest_rest = TickField("The longest rest there can be")
    in_rounds = TickField("Turns spread evenly: everybody goes once before anybody goes again")
    leeway = TickField("The marks may differ within what each athlete accepts")
    one_setup = TickField("All turns of an athlete at the same marks")

    def rows(self, kind: str) -> list[list[Any]]:
        """The fields of every row of one kind of wish."""
        there = takewhile(lambda row: f"{kind}{row}_{PARTS[kind][0]}" in self, count())
        return [[self[f"{kind}{row}_{part}"] for part in PARTS[kind]] for row in there]

    def finals(self, piece: Piece) -> list[Any]:
        """The fields of the marks at which an apparatus shall stand afterwards."""
        return [
            self[final_name(piece, axis)]
            for axis in piece.model.axes
            if final_name(piece, axis) in self
        ]

    def asked(self, pieces: Sequence[Piece]) -> OrderRequest:
        """The wishes as the desk keeps them; what is half filled in becomes a mistake."""
        others = tuple(self["apparatus"].data or ()) if "apparatus" in self else ()
        places = [(who.data, turn.data) for who, turn in self._filled("places")]
        asked = OrderRequest(
            turns=self.turns.data or 1,
            rest_turns=self.rest_turns.data or 0,
            hands=self.hands.data,
            turn_s=self.turn_s.data or 0,
            leeway=bool(self.leeway.data),
            longest_rest=bool(self.longest_rest.data),
            in_rounds=bool(self.in_rounds.data),
            one_setup=bool(self.one_setup.data),
            first=self["first"].data,
            last=self["last"].data,
            before=tuple(_pair(*row) for row in self._filled("before")),
            together=tuple(tuple(who.data) for (who,) in self._filled("together")),
            places=tuple(places),
            apparatus=others,
            soonest=bool(self["soonest"].data) if "soonest" in self else False,
            equal_numbers=bool(others) and bool(self["equal_numbers"].data),
            finals=tuple(self._finals(pieces, others)),
        )
        if not self.groups:
            return with_purpose(asked, self)
        self._must_be_in_one_group()
        if not self["groups_free"].data:
            places_must_differ([place for _, place, _ in self.groups])
        by_place = sorted(self.groups, key=lambda one: one[1].data)
        groups = {name: who.data or () for name, _, who in by_place}
        asked = asked.with_groups(groups, told_purposes(self, [name for name, _, _ in self.groups]))
        return replace(asked, groups_free=bool(asked.groups and self["groups_free"].data))

    @property
    def groups(self) -> list[tuple[str, Any, Any]]:
        """Of several groups the name, the field for its place and that for who is in it."""
        there = takewhile(lambda number: f"group{number}_who" in self, count())
        return [
            (self[f"group{n}_place"].label.text, self[f"group{n}_place"], self[f"group{n}_who"])
            for n in there
        ]

    def _must_be_in_one_group(self) -> None:
        """Say of whoever is in none, or in two, what is to be done."""
        seen: dict[int, str] = {}
        for name, _, who in self.groups:
            for athlete_id, called in who.offered:
                if athlete_id not in (who.data or ()):
                    continue
                if athlete_id in seen:
                    twice = f"{called} is in {seen[athlete_id]} too: leave one of the two"
                    who.errors = [*who.errors, twice]
                seen.setdefault(athlete_id, name)
        _, _, first = self.groups[0]
        for athlete_id, called in first.offered:
            if athlete_id not in seen:
                first.errors = [*first.errors, f"{called} is in no group: tick one for them"]

    @contextmanager
    def refused_wishes(self) -> Iterator[None]:
        """Say what cannot be planned beside the fields that it comes from."""
        try:
            yield
        except CannotBePlanned as refusal:
            beside = {self._field(part): told for part, told in refusal.beside.items()}
            if set(beside.values()) != {str(refusal)} or None in beside:
                self.form_errors.append(str(refusal))
            for field, told in beside.items():
                if field is not None:
                    field.errors = [*field.errors, told]

    def _field(self, part: Part) -> Field | None:
        name, number = part
        if name in PARTS:
            first: Field = self._filled(name)[number][0]
            return first
        return self._fields.get(name)

    def _filled(self, kind: str) -> list[list[Any]]:
        """The rows that are not empty; in one that is not full it says what is missing."""
        filled = [row for row in self.rows(kind) if any(_counts(field) for field in row)]
        for row in filled:
            for field in row:
                missing = _missing(kind, field)
                if missing and missing not in field.errors:
                    field.errors = [*field.errors, missing]
        return filled

    def _finals(
        self, pieces: Sequence[Piece], others: Sequence[int]
    ) -> Iterator[tuple[int, Setup]]:
        for piece in pieces:
            fields = self.finals(piece)
            stops = [field.data for field in fields]
            if piece is not pieces[0] and piece.id not in others:
                continue
            if None not in stops:
                yield piece.id, tuple(stops)
            elif any(stop is not None for stop in stops):
                for field in fields:
                    if field.data is None:
                        field.errors = [*field.errors, f"{field.ask}, or clear the others"]


def final_name(piece: Piece, axis: Axis) -> str:
    """The name of the field for one mark of where an apparatus shall stand afterwards."""
    return f"final{piece.id}_{axis.key}"


def _counts(field: Any) -> bool:
    """Whether something was chosen in a field of a row; the way of a pair is always chosen."""
    return not isinstance(field, PresetField) and field.data not in (None, [])


def _missing(kind: str, field: Any) -> str:
    """What is missing in a field of a row that is not empty."""
    if kind == "together":
        return "" if len(field.data) > 1 else "Tick two athletes or more, or nobody"
    return "" if field.data is not None else "Choose both, or leave the row empty"


def _pair(athlete: Any, how: Any, other: Any) -> tuple[Any, Any]:
    return (athlete.data, other.data) if how.data == "before" else (other.data, athlete.data)


def wishes_form(view: RotationView, further: Sequence[Piece], *, has_purposes: bool) -> WishesForm:
    """The form with what is asked now; ``further`` are other apparatus of the kind.

    ``has_purposes`` says that somebody has settings for other purposes than the usual one.
    """
    asked = view.asked
    names = list(listed_apart(view.listed).items())
    fields: dict[str, Any] = {
        "first": _who("The very first turn", names),
        "last": _who("The very last turn", names),
    }
    known: dict[str, Any] = {**asked.to_data(), "soonest": int(asked.soonest)}
    for row, pair in _rows("before", asked.before):
        fields[f"before{row}_one"] = _who("This athlete", names)
        fields[f"before{row}_how"] = PresetField("Goes", choices=WAYS, default="before")
        fields[f"before{row}_other"] = _who("The other athlete", names)
        if pair:
            known |= {f"before{row}_one": pair[0], f"before{row}_other": pair[1]}
    for row, group in _rows("together", asked.together):
        fields[f"together{row}_who"] = ChecksField(
            "These athletes", choices=names, read_choice=int, optional=True
        )
        known[f"together{row}_who"] = list(group)
    for row, place in _rows("places", asked.places):
        fields[f"places{row}_who"] = _who("This athlete", names)
        fields[f"places{row}_turn"] = CountField("Turn", least=1, most=600, optional=True)
        if place:
            known |= {f"places{row}_who": place[0], f"places{row}_turn": place[1]}
    for name, (field, now) in _group_fields(view, names).items():
        fields[name], known[name] = field, now
    fields |= purpose_fields(asked.group_names, asked, has_purposes=has_purposes)
    known |= known_purposes(asked)
    if further:
        fields["apparatus"] = ChecksField(
            "Also on",
            choices=[(piece.id, piece.name) for piece in further],
            read_choice=int,
            optional=True,
        )
        fields["soonest"] = RadiosField("What counts", choices=GOALS, read_choice=int)
        fields["equal_numbers"] = TickField("As many athletes on each apparatus, one more at most")
    for piece in view.pieces.values():
        final = asked.final_of(piece.id) or (None,) * len(piece.model.axes)
        for axis, stop in zip(piece.model.axes, final, strict=True):
            fields[final_name(piece, axis)] = MarkField(axis, optional=True)
            on_scale = stop is not None and stop < axis.scale.count
            known[final_name(piece, axis)] = stop if on_scale else None
    return form_of(fields, WishesForm)(data=known)


def _group_fields(
    view: RotationView, names: Sequence[tuple[int, str]]
) -> dict[str, tuple[Field, Any]]:
    """Of several groups the place of each and who is in it, each field with what is asked now."""
    fields: dict[str, tuple[Field, Any]] = {}
    groups = view.asked.groups
    for number, group in enumerate(groups):
        place = CountField(view.called_group(number), least=1, most=len(groups))
        who = ChecksField("In it are", choices=names, read_choice=int, optional=True)
        fields[f"group{number}_place"] = place, number + 1
        fields[f"group{number}_who"] = who, list(group)
    if groups:
        free = TickField("They may go in any order")
        fields["groups_free"] = free, view.asked.groups_free
    return fields


def _rows(kind: str, kept: Sequence[Sequence[int]]) -> Iterator[tuple[int, Sequence[int]]]:
    """The rows there are, and some to spare; as many as were sent, where that is more."""
    sent = sum(f"{kind}{row}_{PARTS[kind][-1]}" in request.form for row in range(MOST_ROWS))
    most = max(min(len(kept) + SPARE_ROWS, MOST_ROWS), len(kept), sent)
    yield from enumerate([*kept, *[()] * (most - len(kept))])


def purpose_fields(
    groups: Sequence[str], asked: OrderRequest, *, has_purposes: bool
) -> dict[str, Field]:
    """Which of the athletes' settings count, where one has to say it; group by group."""
    if not has_purposes and asked.purposes == (USUAL,):
        return {}
    choices = [(purpose, purpose.capitalize()) for purpose in Purpose]
    if not groups:
        words = "Settings for"
        return {"purpose": RadiosField(words, choices=choices, read_choice=Purpose, default=USUAL)}
    return {
        f"purpose{number}": PresetField(
            f"{name}: settings for", choices=choices, read_choice=Purpose, default=USUAL
        )
        for number, name in enumerate(groups)
    }


def known_purposes(asked: OrderRequest) -> dict[str, Purpose]:
    """What is asked now, for those fields."""
    of_groups = {
        f"purpose{number}": asked.purpose_of_group(number)
        for number in range(len(asked.group_names))
    }
    return {"purpose": asked.purpose, **of_groups}


def with_purpose(asked: OrderRequest, form: Any) -> OrderRequest:
    """The same with the settings that count for everybody, where a form asks it."""
    return replace(asked, purpose=form["purpose"].data) if "purpose" in form else asked


def told_purposes(form: Any, groups: Sequence[str]) -> dict[str, Purpose]:
    """Which settings count for each of those groups, where a form asks it."""
    asked = {name: f"purpose{number}" for number, name in enumerate(groups)}
    return {name: form[field].data for name, field in asked.items() if field in form}


class _WhoField(ChoiceField):
    """One athlete of the list, or nobody."""

    blank = "Nobody"


def _who(words: str, names: Sequence[tuple[int, str]]) -> ChoiceField:
    return _WhoField(
        words,
        choices=names,
        read_choice=int,
        optional=True,
        ask="Choose somebody who is on the list, or nobody",
    )
