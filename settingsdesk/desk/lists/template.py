"""The squad as a spreadsheet: what taking one would change, taking it whole, and the way out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice

from sqlalchemy.orm import Session

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.lists.template_rows import Change, Intake
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.squad import Entry, Fault, SquadRow, SquadSheet

READ_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class ImportPreview:
    """What a sheet would change, and every fault in it. Nothing is kept while there is a fault."""

    sheet: SquadSheet
    changes: tuple[Change, ...]
    unchanged_rows: int
    faults: tuple[Fault, ...]

    @property
    def ready(self) -> bool:
        """Whether it can be taken as it is."""
        return not self.faults and bool(self.changes)

    @property
    def fingerprint(self) -> str:
        """The same as long as taking the sheet would change the same."""
        return sha256(repr((self.changes, self.faults)).encode()).hexdigest()


def squad_columns() -> SquadColumns:
    """The columns of the squad sheet: those of all axes of all kinds."""
    return SquadColumns([axis.name for kind in KINDS.values() for axis in kind.axes])


def preview_import(session: Session, sheet: SquadSheet) -> ImportPreview:
    """What taking that sheet would change, without changing anything."""
    return preview_of(weigh_import(session, sheet))


def weigh_import(session: Session, sheet: SquadSheet) -> Intake:
    """The sheet with what each row would change, ready to be kept as a whole."""
    intake = Intake(session, sheet, squad_columns())
    for row in sheet.rows:
        intake.weigh(row)
    return intake


def preview_of(intake: Intake) -> ImportPreview:
    """What keeping that would change."""
    sheet = intake.sheet
    return ImportPreview(
        sheet=sheet,
        changes=tuple(intake.changes),
        unchanged_rows=intake.unchanged_rows,
        faults=tuple(sorted((*sheet.faults, *intake.faults), key=lambda fault: fault.row)),
    )


def take_import(session: Session, by: str, sheet: SquadSheet) -> ImportPreview:
    """Keep all that the sheet says, or nothing: ``ImportHasFaults`` where a row has one."""
    intake = weigh_import(session, sheet)
    preview = preview_of(intake)
    if preview.faults:
        raise ImportHasFaults(preview.faults)
    intake.keep(by)
    return preview


def export_rows(session: Session) -> Iterator[SquadRow]:
    """The squad as rows of the same columns: one for each athlete and model.

    They are read some athletes at a time, so that a squad of any size takes little memory.
    """
    models = desk_models.all_models(session)
    left = iter(desk_athletes.all_ids(session))
    while ids := list(islice(left, READ_AT_ONCE)):
        members = desk_athletes.members(session, ids)
        by_model = desk_settings.latest_by_model(session, ids, models)
        for one in ids:
            yield from _rows_of(
                members[one], [found[one] for found in by_model.values() if one in found]
            )


def _rows_of(member: Member, versions: Sequence[SettingVersion]) -> Iterator[SquadRow]:
    for version in versions:
        axes = version.setting.kind.axes
        wanted = version.setting.axes
        yield _row(
            member,
            version.model_name,
            {axis.name: Entry.of_length(wanted[axis.key].wanted_mm) for axis in axes},
            {axis.name: wanted[axis.key].accepts_mm for axis in axes},
            version.reason,
        )
    if not versions:
        yield _row(member, "", {}, {}, "")


def _row(
    member: Member,
    model: str,
    wanted: Mapping[str, Entry],
    accepts_mm: Mapping[str, int],
    reason: str,
) -> SquadRow:
    person = member.person
    return SquadRow(
        number=0,
        family_name=person.family_name,
        given_name=person.given_name,
        printed_name=person.printed_name,
        group=person.group_name,
        model=model,
        wanted=wanted,
        accepts_mm=accepts_mm,
        reason=reason,
    )


class ImportHasFaults(SettingsDeskError):
    """A sheet was to be taken although it has faults."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return (
            f"Nothing was kept. The sheet has {len(self.faults)} places to put right; the first:"
            f" {self.faults[0]}"
        )
