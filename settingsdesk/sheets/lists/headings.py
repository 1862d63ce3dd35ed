"""Lines inside a table that head those below: "Juniors", "Riege 2", a club, a model, an apparatus.

Where the words leave open whether a line is a heading or somebody's name, it is asked, and whoever
it bears on waits.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from settingsdesk.sheets.lists.blocks import Block, club_in
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import is_value_like
from settingsdesk.sheets.lists.layout import Layout
from settingsdesk.sheets.lists.notes import heads_a_group, is_known_whole, note_says
from settingsdesk.sheets.lists.preview import (
    ATHLETE,
    CLUB,
    GROUP,
    LEAVE_OUT,
    NoteKind,
    Place,
)
from settingsdesk.sheets.lists.vocabulary import header_words

READ_AS_GROUP = "This line is read as the group of everybody below it"
READ_AS_CLUB = "This line is read as the club of everybody below it"
READ_AS_APPARATUS = "This line is read as the apparatus on which everybody below it is meant"
A_HEADING = "This line may head those below it: say what it is, as they wait for it"
A_NAME_ALONE = (
    "Nothing but a name stands here: say whether it is an athlete whose settings are not known yet,"
    " or heads those below it"
)
LONGEST_GROUP = 40  # characters
_MOST_WORDS = 6
_AGE_GROUP = re.compile(r"U ?\d{1,2}|\d{1,2}[-–]\d{1,2}", re.IGNORECASE)  # U12, 9-10
_FIGURE = re.compile(r"\d")
_MOST_WITHOUT = 0.67  # of the lines; where more have no value, those are athletes


@dataclass(frozen=True, slots=True)
class Above:
    """What the headings above a line say of it."""

    group: str = ""
    club: str = ""
    model: str | None = None
    kind: str | None = None


@dataclass(slots=True)
class Heading:
    """One line that heads others, or may do so; ``persons`` are those below it."""

    where: Place
    text: str
    why: str
    is_sure: bool
    persons: list[int] = field(default_factory=list)


class Headings:
    """The headings of one table; ``above`` is what they say of each of its lines, by number."""

    def __init__(self, grid: Grid, block: Block, found: Found, layout: Layout) -> None:
        self._grid, self._found, self._layout = grid, found, layout
        self.above: dict[int, Above] = {}
        self._headings: dict[int, Heading] = {}
        self._names_alone: dict[int, str] = {}
        self._last_above: dict[int, int] = {}
        self._ask_of_names = True
        if not (block.is_ours or block.is_long or grid.on_its_side):
            self._read(block.body)

    def is_heading(self, line: Line) -> bool:
        """Whether a line is nobody's, as it heads those below."""
        return line.number in self._headings

    def of(self, line: Line) -> Above:
        """What the headings above a line say of it."""
        return self.above.get(line.number, NOTHING_ABOVE)

    def is_below(self, line: Line, person: int) -> None:
        """That athlete stands below the last heading above the line."""
        if heading := self._headings.get(self._last_above.get(line.number, 0)):
            heading.persons.append(person)

    def say(self) -> None:
        """Say each heading, now that those below it are known."""
        for heading in self._headings.values():
            if heading.why:
                self._found.note(
                    NoteKind.HEADING,
                    heading.where,
                    heading.text,
                    heading.why,
                    persons=heading.persons,
                    choices=() if heading.is_sure else (GROUP, CLUB, ATHLETE, LEAVE_OUT),
                    likely=GROUP.value,
                    key=_key(heading.where),
                    of_column=f"heads:{self._grid.sheet}",
                )

    def name_alone(self, line: Line, person: int) -> None:
        """Ask whether a line with nothing but a name is an athlete's."""
        if text := self._names_alone.get(line.number):
            where = self._where(line)
            self._found.note(
                NoteKind.HEADING,
                where,
                text,
                A_NAME_ALONE,
                persons=[person],
                choices=(ATHLETE, GROUP, CLUB, LEAVE_OUT),
                likely=ATHLETE.value,
                key=_key(where),
                of_column=f"alone:{self._grid.sheet}",
            )

    def _read(self, body: Sequence[Line]) -> None:
        with_values = [self._layout.has_values(line) for line in body]
        alone = [
            self._is_alone(line) and not has_values
            for line, has_values in zip(body, with_values, strict=True)
        ]
        self._ask_of_names = sum(alone) <= _MOST_WITHOUT * len(body)
        above, last = NOTHING_ABOVE, 0
        heads = _heads(alone, with_values)
        for line, may_head in zip(body, heads, strict=True):
            said = self._heading(line, above) if may_head else None
            if said is None:
                self.above[line.number] = above
                self._last_above[line.number] = last
                continue
            above, heading = said
            self._headings[line.number] = heading
            last = line.number

    def _is_alone(self, line: Line) -> bool:
        """Whether a line has one cell of words, where the names stand or left of them."""
        if len(line.cells) != 1 or not self._layout.name_places:
            return False
        [(place, cell)] = line.cells.items()
        is_in_place = place <= max(self._layout.name_places)
        return is_in_place and not is_value_like(cell) and not note_says(cell.text)

    def _heading(self, line: Line, above: Above) -> tuple[Above, Heading] | None:
        """What a line says of those below it; None where it is an athlete's, or a note."""
        [cell] = line.cells.values()
        text, where = " ".join(cell.text.split()), self._where(line)
        answers = self._found.answers
        answered = answers.get(_key(where)) or answers.get(f"heads:{self._grid.sheet}")
        answered = answered or answers.get(f"alone:{self._grid.sheet}", "")
        if answered == ATHLETE.value:
            return None
        if answered == LEAVE_OUT.value:
            return above, Heading(where, text, "", is_sure=True)
        if answered == CLUB.value:
            return replace(above, club=text, group=""), Heading(where, text, READ_AS_CLUB, True)
        if answered == GROUP.value:
            return replace(above, group=text), Heading(where, text, READ_AS_GROUP, True)
        return self._by_words(line, text, where, above)

    def _by_words(
        self, line: Line, text: str, where: Place, above: Above
    ) -> tuple[Above, Heading] | None:
        models, said = self._found.known_models, header_words(text)
        if model := models.within(text):
            now = replace(above, model=model, kind=models.kind_of(model))
            return now, Heading(where, text, READ_AS_APPARATUS, True)
        if said.kind and is_known_whole(text):
            now = replace(above, model=None, kind=said.kind)
            return now, Heading(where, text, READ_AS_APPARATUS, True)
        club = club_in(text, said)
        if club:
            now = replace(above, club=club, group="")
            return now, Heading(where, text, READ_AS_CLUB, True)
        words = text.split()
        if len(text) > LONGEST_GROUP or len(words) > _MOST_WORDS:
            return None
        if heads_a_group(text) or _AGE_GROUP.fullmatch(text):
            now = replace(above, group=text.rstrip(" :："))
            return now, Heading(where, text, READ_AS_GROUP, True)
        if not self._ask_of_names:
            return None
        is_no_name = self._layout.has_both_names or bool(_FIGURE.search(text))
        if is_no_name or (len(words) == 1 and not self._layout.names_of_one_word):
            return above, Heading(where, text, A_HEADING, False)
        if "," not in text and len(words) > 1:
            self._names_alone[line.number] = text
        return None

    def _where(self, line: Line) -> Place:
        return (self._grid.sheet, *self._grid.where(line, min(line.cells)))


NOTHING_ABOVE = Above()


def _key(where: Place) -> str:
    sheet, row, column = where
    return f"heading:{sheet}!{column}{row}"


def _heads(alone: Sequence[bool], with_values: Sequence[bool]) -> Iterator[bool]:
    """For each line whether it stands alone, and the next that does not has a value."""
    next_has_values, heads = False, []
    for is_alone, has_values in zip(reversed(alone), reversed(with_values), strict=True):
        heads.append(is_alone and next_has_values)
        next_has_values = next_has_values if is_alone else has_values
    return reversed(heads)
