"""The form for what a coach asks of a rotation: turns, rest, hands, wishes, further apparatus.

Wishes are rows of names to choose from; rows left empty are none, and there are always some to
spare, so that everything works without a script.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from settingsdesk.desk.apparatus import Piece
from settingsdesk.desk.asked import (
    LONGEST_TURN_S,
    MOST_REST_TURNS,
    MOST_TURNS_EACH,
    Asked,
)
from settingsdesk.desk.ordered import RotationView
from settingsdesk.web.axis_fields import form_of
from settingsdesk.web.fields import ChecksField, ChoiceField, CountField, RadiosField, TickField
from settingsdesk.web.forms import DeskForm

SPARE_ROWS = 2
WORDS = {
    "before": ("This athlete", "goes before"),
    "together": ("This athlete", "with", "and with"),
    "place": ("This athlete",),
}
MOST_ROWS = 12

CREWS = [(1, "One"), (2, "Two"), (4, "Four")]
GOALS = [
    (0, "Least change-over time in all"),
    (1, "The last apparatus ready as early as possible"),
]


class WishesForm(DeskForm):
    """One rotation's wishes; the rows of each kind are fields named before0_one and the like."""

    turns = CountField("Turns of each athlete", least=1, most=MOST_TURNS_EACH)
    rest_turns = CountField("Rest, in turns of others", least=0, most=MOST_REST_TURNS)
    hands = RadiosField("Pairs of hands", choices=CREWS, read_choice=int)
    turn_s = CountField("One turn takes", least=0, most=LONGEST_TURN_S, unit="s")
    leeway = TickField("The marks may differ within what each athlete accepts")

    def rows(self, kind: str, parts: Sequence[str]) -> list[list[Any]]:
        """The fields of every row of one kind of wish."""
        return [
            [self[f"{kind}{row}_{part}"] for part in parts]
            for row in range(MOST_ROWS)
            if f"{kind}{row}_{parts[0]}" in self
        ]

    def chosen(self, kind: str, parts: Sequence[str]) -> Iterable[tuple[Any, ...]]:
        """What is chosen in each row that is not empty; a half-filled row is a mistake."""
        for row in self.rows(kind, parts):
            found = tuple(field.data for field in row)
            if all(value is None for value in found):
                continue
            for field in row:
                if field.data is None and not (kind == "together" and field is row[2]):
                    field.errors = [*field.errors, "Choose both, or leave the row empty"]
            yield tuple(value for value in found if value is not None)

    def asked(self) -> Asked:
        """The wishes as the desk keeps them; raises what cannot be."""
        return Asked(
            turns=self.turns.data or 1,
            rest_turns=self.rest_turns.data or 0,
            hands=self.hands.data,
            turn_s=self.turn_s.data or 0,
            leeway=bool(self.leeway.data),
            first=self["first"].data,
            last=self["last"].data,
            before=tuple(self.chosen("before", ("one", "other"))),
            together=tuple(self.chosen("together", ("one", "other", "third"))),
            places=tuple(self.chosen("place", ("who", "turn"))),
            apparatus=tuple(self["apparatus"].data or ()) if "apparatus" in self else (),
            soonest=bool(self["soonest"].data) if "soonest" in self else False,
        )


def wishes_form(view: RotationView, further: Sequence[Piece]) -> WishesForm:
    """The form with what is asked now; ``further`` are other apparatus of the kind."""
    asked = view.asked
    names = [(member.id, member.listed_name) for member in view.listed]
    fields: dict[str, Any] = {
        "first": _who("The very first turn", names),
        "last": _who("The very last turn", names),
    }
    known: dict[str, Any] = {**asked.to_data(), "soonest": int(asked.soonest)}
    for row, pair in _rows(asked.before):
        _add(fields, known, f"before{row}", ("one", "other"), pair, names)
    for row, group in _rows(asked.together):
        _add(fields, known, f"together{row}", ("one", "other", "third"), group, names)
    for row, place in _rows(asked.places):
        _add(fields, known, f"place{row}", ("who",), place[:1], names)
        fields[f"place{row}_turn"] = CountField("Turn", least=1, most=600, optional=True)
        known[f"place{row}_turn"] = place[1] if place else None
    if further:
        fields["apparatus"] = ChecksField(
            "Also on",
            choices=[(piece.id, piece.name) for piece in further],
            read_choice=int,
            optional=True,
        )
        fields["soonest"] = RadiosField("What counts", choices=GOALS, read_choice=int)
    return form_of(fields, WishesForm)(data=known)


def _rows(kept: Sequence[Sequence[int]]) -> Iterable[tuple[int, Sequence[int]]]:
    """The rows there are, and some to spare."""
    padded: list[Sequence[int]] = [*kept, *[()] * SPARE_ROWS]
    return enumerate(padded[:MOST_ROWS])


def _add(
    fields: dict[str, Any],
    known: dict[str, Any],
    row: str,
    parts: Sequence[str],
    chosen: Sequence[int],
    names: Sequence[tuple[int, str]],
) -> None:
    kind = row.rstrip("0123456789")
    for place, part in enumerate(parts):
        fields[f"{row}_{part}"] = _who(WORDS[kind][place], names)
        known[f"{row}_{part}"] = chosen[place] if place < len(chosen) else None


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
