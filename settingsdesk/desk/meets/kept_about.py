"""Everything that is kept about one athlete, for the family: to read, and as a file."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words, most_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store.of_one_athlete import Told, rows_of
from settingsdesk.store.work import ClubSession

FORMAT, VERSION = "settingsdesk, all that is kept about one athlete", 1

HEADINGS: Mapping[str, str] = {
    "athlete": "The person",
    "setting": "Settings, every version",
    "setting_value": "What each setting wants",
    "setting_confirmation": "Settings that a coach confirmed",
    "growth": "When a coach saw that they have grown",
    "crew_note": "Notes for the crew at the apparatus",
    "setting_draft": "Settings that are not finished",
    "card": "Cards that were printed",
    "card_remark": "Remarks about cards",
    "entry": "Entries for meets",
    "raise_request": "Requests to raise the rails",
    "handed_over": "Entered for meets of other clubs",
    "left_out": "What clubs’ lists said and was not taken",
    "rotation_turn": "Places on lists of rotations",
    "run_event": "Turns at the bars, with the marks",
    "written": "Where somebody wrote the name",
}
"""The heading of each part, by the table that it is read from."""

_ACCEPTED = "accepts_mm"

LABELS: Mapping[str, str] = {
    _ACCEPTED: "may be off by",
    "as_read": "as typed, and where it was measured",
    "axis": "adjustment",
    "looked_at": "looked at",
    "setting_id": "of setting number",
    "untried": "begun with another athlete’s",
    "weight": "how much it matters",
}
"""What a family reads instead of a column's name."""

_NUMBERED = frozenset({"setting"})
"""Of what another part says whose it is, by its number."""

_BY_ITSELF = frozenset({"drawing"})
"""What is drawn from the rest of a card."""


@dataclass(frozen=True, slots=True)
class Part:
    """One sort of what is kept, each line in words beside what it is."""

    heading: str
    lines: tuple[tuple[tuple[str, str], ...], ...]


@dataclass(frozen=True, slots=True)
class KeptAbout:
    """Everything about one athlete, by the tables that it stands in."""

    member: Member
    tables: Mapping[str, list[Told]]

    def parts(self, unit: Unit) -> tuple[Part, ...]:
        """The same in words, lengths in that unit."""
        return tuple(
            Part(HEADINGS[table], tuple(tuple(_lines(table, row, unit)) for row in rows))
            for table, rows in self.tables.items()
        )

    def to_data(self) -> dict[str, Any]:
        """The same as plain data, lengths in millimetres and moments in UTC."""
        return {
            "format": FORMAT,
            "version": VERSION,
            "made_on": today().isoformat(),
            "kept": {
                table: [{name: _plain(value) for name, value in row.items()} for row in rows]
                for table, rows in self.tables.items()
            },
        }


def kept_about(session: ClubSession, athlete_id: int) -> KeptAbout:
    """All about an athlete and the entries taken in to theirs; ``NotInThisClub``, ``WasErased``."""
    member = desk_athletes.member(session, athlete_id)
    tables: dict[str, list[Told]] = {}
    written: list[Told] = []
    taken_in = kept_athletes.taken_in(session, athlete_id)
    for row in (kept_athletes.by_id(session, athlete_id), *taken_in):
        for table, rows in rows_of(session, row).items():
            tables.setdefault(table, []).extend(rows)
        written += [{"words": words} for words in erasing.words_about(session, row)]
    if written:
        tables["written"] = written
    return KeptAbout(member, {table: tables[table] for table in HEADINGS if table in tables})


def _lines(table: str, row: Told, unit: Unit) -> Iterable[tuple[str, str]]:
    for name, value in row.items():
        words = _told(name, value, unit)
        if name == "id" and table in _NUMBERED:
            yield "number", words
        elif words and (name in LABELS or not name.endswith("_id")) and name != "id":
            yield _called(name), words


_A_LENGTH = "_mm"
_KEYS = frozenset({"axis", "kind"})


def _called(name: str) -> str:
    return LABELS.get(name, name.removesuffix(_A_LENGTH).replace("_", " "))


def _told(name: str, value: Any, unit: Unit, *, is_length: bool = False) -> str:
    """What stands under a name, in words; a key of the program is no word."""
    if name == _ACCEPTED and isinstance(value, int):
        return str(most_in_words(value, unit))
    words = _in_words(value, unit, is_length=is_length or name.endswith(_A_LENGTH))
    return words.replace("_", " ") if name in _KEYS else words


def _in_words(value: Any, unit: Unit, *, is_length: bool = False) -> str:
    """What a column holds; lengths of whole or broken millimetres in the unit that people read."""
    match value:
        case None | "":
            return ""
        case bool():
            return "yes" if value else "no"
        case datetime():
            return str(day_in_words(local_date(value)))
        case date():
            return str(day_in_words(value))
        case int() | float() if is_length:
            return str(length_in_words(value, unit))
        case dict():
            told = {
                name: _told(name, one, unit, is_length=is_length)
                for name, one in value.items()
                if name not in _BY_ITSELF
            }
            return "; ".join(f"{_called(name)} {one}" for name, one in told.items() if one)
        case list():
            return ", ".join(_in_words(one, unit, is_length=is_length) for one in value)
    return str(value)


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
