"""Several athletes typed at once, each with the marks that they want on one apparatus."""

import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member, Person, names_of
from settingsdesk.desk.squad.typed_marks import in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first, quoted
from settingsdesk.domain.hall.models import ApparatusModel, Axis, Setup
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.work import ClubSession

LONGEST_LINE = 120

BEFORE_A_NAME = re.compile(r"^\s*(?:\d{1,3}[.)]|[-–•*])\s+(?=[^\W\d])")
"""A number or a point, as lists have them that were copied from a letter or a chat."""


@dataclass(frozen=True, slots=True)
class Newcomer:
    """Somebody to be added, and the stops at which they want the apparatus; None for no setting.

    ``typed_at`` says where on the page: "Line 3".
    """

    person: Person
    stops: Setup | None
    typed_at: str = field(default="", compare=False)


def add(session: ClubSession, piece: Piece, newcomers: Sequence[Newcomer]) -> list[Member]:
    """Add them, each with the setting that their stops are on this very apparatus.

    Nobody is added twice by a second press: ``InTheSquadAlready`` where somebody of the squad has
    the very same names, or two of them do.
    """
    for refusal in already_there(session, newcomers):
        raise refusal
    members = desk_athletes.add_all(session, [newcomer.person for newcomer in newcomers])
    for member, newcomer in zip(members, newcomers, strict=True):
        if newcomer.stops is not None:
            keep_marks(session, piece, member.id, newcomer.stops)
    return members


def keep_marks(session: ClubSession, piece: Piece, athlete_id: int, stops: Setup) -> None:
    """The setting of a new athlete: what those stops are on this very apparatus.

    ``RailsInWrongOrder`` as ``must_stand`` has it.
    """
    marks = piece.model.marks(stops)
    desk_settings.keep_setting(
        session,
        athlete_id,
        piece.model_id,
        setting_of_setup(piece.model, stops),
        as_read={axis: in_words(mark, piece.name) for axis, mark in marks.items()},
    )


def already_there(
    session: ClubSession, newcomers: Sequence[Newcomer]
) -> Iterator["InTheSquadAlready"]:
    """Everybody of them whose very names somebody of the squad has, or one before them."""
    known = {names_of(member.person): "" for member in desk_athletes.find(session)}
    for newcomer in newcomers:
        if (names := names_of(newcomer.person)) in known:
            yield InTheSquadAlready(newcomer, known[names])
        else:
            known[names] = newcomer.typed_at


def must_stand(model: ApparatusModel, stops: Setup) -> None:
    """``RailsInWrongOrder`` where the low rail would stand as high as the high one, or higher."""
    setting_of_setup(model, stops)


def typed_in_a_line(line: str, model: ApparatusModel, group_name: str) -> Newcomer:
    """Whom a line of names and marks tells of: "Ana Neu 5 5 160", or "Neu, Ana; 5; 5; 160".

    The marks of all axes in their order, or none. Of more than two names it has to be said which
    is the family name. ``NotALine`` says what cannot be read, or could be read in two ways.
    """
    if len(line) > LONGEST_LINE:
        raise NotALine(line, f"a line must have {LONGEST_LINE} letters or fewer")
    names, marks = _parted(BEFORE_A_NAME.sub("", line), model)
    if not names or len(marks) not in (0, len(model.axes)):
        raise NotALine(line, _marks_must_come(model))
    stops = tuple(_stop(line, axis, mark) for axis, mark in zip(model.axes, marks, strict=False))
    return Newcomer(_person(line, names, group_name), stops or None)


def _marks_must_come(model: ApparatusModel) -> str:
    axes = ", ".join(axis.kind.in_a_sentence for axis in model.axes)
    return f"after the names must come {len(model.axes)} marks: {axes}"


def _parted(line: str, model: ApparatusModel) -> tuple[str, list[str]]:
    """Names and marks: at semicolons and tabs where there are any, else at the first figure."""
    parts = [part.strip() for part in re.split(r"[;\t]", line.strip("; \t"))]
    if len(parts) == len(model.axes) + 2 and not _has_digit(parts[1]):
        one, other = parts[:2]
        raise NotALine(
            line,
            f"either of {quoted(one)} and {quoted(other)} may be the family name: write both in one"
            f" cell, the family name first and a comma after it, as {other}, {one} or {one},"
            f" {other}; {_marks_must_come(model)}",
        )
    names, *marks = parts
    if marks:
        return names, marks
    words = _without_strokes(line, model).split()
    last = words[-len(model.axes) :]
    first = len(words) - len(last)
    if any(map(_has_digit, words)):
        if not all(map(_may_be_mark, model.axes, last)) or any(map(_has_digit, words[:first])):
            raise NotALine(line, _marks_must_come(model))
        return " ".join(words[:first]), last
    if len(words) > 1 and all(map(_is_mark, model.axes, last)):
        raise NotALine(line, "put a semicolon after the names, and one between marks: Neu, Ana; E")
    return line, []


def _without_strokes(line: str, model: ApparatusModel) -> str:
    """Marks are written "5 / 5 / 160" here, too; a stroke that is part of a mark stays."""
    labels = (axis.scale.label(stop) for axis in model.axes for stop in range(axis.scale.count))
    return (
        line if "/" not in line or any("/" in label for label in labels) else line.replace("/", " ")
    )


def _has_digit(word: str) -> bool:
    return any(sign.isdigit() for sign in word)


def _may_be_mark(axis: Axis, word: str) -> bool:
    return _has_digit(word) or _is_mark(axis, word)


def _is_mark(axis: Axis, word: str) -> bool:
    with suppress(NoSuchLabel):
        return axis.scale.stop_of(word) is not None
    return False


def _stop(line: str, axis: Axis, mark: str) -> int:
    try:
        return axis.scale.stop_of(mark)
    except NoSuchLabel as refused:
        raise NotALine(line, f"{axis.kind.in_a_sentence}: {lower_first(str(refused))}") from refused


def _person(line: str, names: str, group_name: str) -> Person:
    family, comma, given = (part.strip() for part in names.partition(","))
    if comma and family and given and "," not in given:
        return Person(family, given, group_name=group_name)
    parts = names.split()
    if comma or len(parts) > 2:
        raise NotALine(line, "write the family name first and a comma after it: Neu, Ana Maria")
    return Person("".join(parts[1:]), parts[0], group_name=group_name)


class NotALine(SettingsDeskError):
    """A line of names and marks that can be read in more ways than one, or in none."""

    def __init__(self, line: str, must: str) -> None:
        self.line, self.must = line, must

    def __str__(self) -> str:
        return f"{quoted(self.line)} was read; {self.must}"


class InTheSquadAlready(SettingsDeskError):
    """Somebody of the very same names is in the squad, or was typed twice.

    ``other_at`` is where the other one was typed, empty for one of the squad.
    """

    def __init__(self, newcomer: Newcomer, other_at: str) -> None:
        self.newcomer, self.other_at = newcomer, other_at

    def __str__(self) -> str:
        at, name = self.newcomer.typed_at, self.newcomer.person.listed_name
        told = f"{at}: {name}" if at else name
        known, way = (
            "is in the squad already",
            ("clear that entry here, and enter the marks in the table of marks"),
        )
        if self.other_at:
            known, way = f"stands in {lower_first(self.other_at)}, too", "clear one of the two"
        return (
            f"{told} {known}, and nobody was added: {way}. Where it is another athlete of the same"
            " name, add them on a page of their own"
        )
