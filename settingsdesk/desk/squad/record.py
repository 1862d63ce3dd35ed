"""Who changed what, as a coach reads it: the present names beside the numbers that are kept."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.store import record as kept_record
from settingsdesk.store.clubs import names_of_accounts
from settingsdesk.store.work import ClubSession

AT_ONCE = 40
"""So many stand on one page."""

MOST_NAMED = 3

NAMES: Mapping[str, tuple[str, str]] = {
    "apparatus": ("apparatus", "apparatus"),
    "apparatus_check": ("check", "checks"),
    "apparatus_model": ("apparatus model", "apparatus models"),
    "apparatus_model_version": ("version of a model", "versions of models"),
    "card_key": ("key of the cards", "keys of the cards"),
    "card_remark": ("message from a card", "messages from cards"),
    "check_list_version": ("check list", "check lists"),
    "crew_note": ("note for the crew", "notes for the crew"),
    "entry": ("entry for a meet", "entries for meets"),
    "finding_step": ("step of a finding", "steps of findings"),
    "growth": ("note of growth", "notes of growth"),
    "handed_over": ("entry sent to another club", "entries sent to another club"),
    "left_out": ("line of a club’s list", "lines of clubs’ lists"),
    "list_mapping": ("columns of a list", "columns of lists"),
    "mark_photo": ("place where a mark is read", "places where marks are read"),
    "mats_of_day": ("mats of a day", "mats of days"),
    "meet_apparatus": ("apparatus at a meet", "apparatus at meets"),
    "meet_away": ("meet of another club", "meets of other clubs"),
    "meet_delivery": ("list of a guest club", "lists of guest clubs"),
    "meet_guest": ("guest club", "guest clubs"),
    "meet_session": ("session of a meet", "sessions of meets"),
    "membership": ("somebody’s role", "roles"),
    "part_count": ("count of a part", "counts of parts"),
    "raise_request": ("request to raise the rails", "requests to raise the rails"),
    "rule_book": ("rule book", "rule books"),
    "setting_confirmation": ("confirmation of a setting", "confirmations of settings"),
    "setting_draft": ("setting that is not whole", "settings that are not whole"),
    "start_order": ("start order", "start orders"),
    "usual_deviation": ("usually accepted deviation", "usually accepted deviations"),
}
"""What one of a table is called, and several, where its own name with an s says it badly."""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that was done: in words, to which row of which table where it was one that is
    still there, and the athletes it is about, by number with their present names."""

    words: str
    table: str
    number: int | None
    athletes: tuple[tuple[int, str | None], ...]

    @property
    def named(self) -> tuple[tuple[int, str | None], ...]:
        """The first of the athletes; the others are only told to be there."""
        return self.athletes[:MOST_NAMED]

    @property
    def in_words(self) -> str:
        """The whole line: "athlete added (Zorn, Lova)"."""
        told = "; ".join(name or f"athlete {number}" for number, name in self.named)
        more = " and others" if len(self.athletes) > MOST_NAMED else ""
        return f"{self.words} ({told}{more})" if told else self.words


@dataclass(frozen=True, slots=True)
class Changed:
    """One unit of work: when, by whom, and each thing it did."""

    id: int
    at: datetime
    by: str
    lines: tuple[Line, ...]


def latest(session: ClubSession, before: int | None = None) -> list[Changed]:
    """The last changes, the newest first; ``before`` a number where a page goes on."""
    rows = kept_record.latest(session, AT_ONCE, before)
    athletes = {number for row in rows for line in row.lines for number in _athletes(line)}
    names = {
        number: member.listed_name
        for number, member in desk_athletes.members(session, athletes).items()
    }
    there = kept_record.still_there(session, rows)
    accounts = names_of_accounts(session, {row.account for row in rows if row.account})
    return [
        Changed(
            row.id,
            row.at,
            accounts.get(row.account, f"account {row.account}") if row.account else row.by,
            tuple(_line(line, names, there) for line in row.lines),
        )
        for row in rows
    ]


def _athletes(line: Mapping[str, Any]) -> Sequence[int]:
    own = line.get("numbers", ()) if line["table"] == "athlete" else ()
    return [*own, *line.get("athletes", ())]


def _line(
    line: Mapping[str, Any], names: Mapping[int, str], there: Container[tuple[str, int]]
) -> Line:
    table, count, numbers = line["table"], line["count"], line.get("numbers", ())
    one, many = NAMES.get(table, (table, f"{table}s"))
    called = one if count == 1 else f"{count} {many}"
    told = (name for name in line.get("columns", ()) if not name.endswith("_hash"))
    columns = ", ".join(name.replace("_", " ") for name in told)
    return Line(
        words=f"{called} {line['what']}{f', {columns}' if columns else ''}",
        table=table,
        number=numbers[0] if len(numbers) == 1 and (table, numbers[0]) in there else None,
        athletes=tuple((number, names.get(number)) for number in _athletes(line)),
    )
