"""Who changed what, as a coach reads it: the present names beside the numbers that are kept."""

from collections.abc import Mapping, Sequence
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

NAMES: Mapping[str, str] = {
    "apparatus_check": "check",
    "apparatus_model_version": "version of a model",
    "check_list_version": "check list",
    "finding_step": "step of a finding",
    "left_out": "line of a club’s list",
    "list_mapping": "columns of a list",
    "meet_apparatus": "apparatus at a meet",
    "membership": "somebody’s role",
    "meet_session": "session of a meet",
    "part_count": "count of a part",
    "raise_request": "request to raise the rails",
    "setting_draft": "setting that is not whole",
    "usual_deviation": "usually accepted deviation",
}
"""What tables are called whose own name says it badly."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One unit of work: when, by whom, and each thing it did in words."""

    id: int
    at: datetime
    by: str
    lines: tuple[str, ...]


def latest(session: ClubSession, before: int | None = None) -> list[Changed]:
    """The last changes, the newest first; ``before`` a number where a page goes on."""
    rows = kept_record.latest(session, AT_ONCE, before)
    athletes = {number for row in rows for line in row.lines for number in _athletes(line)}
    names = {
        number: member.listed_name
        for number, member in desk_athletes.members(session, athletes).items()
    }
    accounts = names_of_accounts(session, {row.account for row in rows if row.account})
    return [
        Changed(
            row.id,
            row.at,
            accounts.get(row.account, f"account {row.account}") if row.account else row.by,
            tuple(_in_words(line, names) for line in row.lines),
        )
        for row in rows
    ]


def _athletes(line: Mapping[str, Any]) -> Sequence[int]:
    own = line.get("numbers", ()) if line["table"] == "athlete" else ()
    return [*own, *line.get("athletes", ())]


def _in_words(line: Mapping[str, Any], names: Mapping[int, str]) -> str:
    called = NAMES.get(line["table"], line["table"].replace("_", " "))
    what = called if line["count"] == 1 else f"{line['count']} × {called}"
    columns = ", ".join(name.replace("_", " ") for name in line.get("columns", ()))
    who = [names.get(number, f"athlete {number}") for number in _athletes(line)]
    told = "; ".join(who[:MOST_NAMED]) + (" and others" if len(who) > MOST_NAMED else "")
    about = f", {columns}" if columns else ""
    return f"{what} {line['what']}{about}{f' ({told})' if told else ''}"
