"""The squad as a spreadsheet: what taking one would change, taking it whole, and the way out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import groupby
from operator import attrgetter

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.lists.template_rows import Change, Intake
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.squad import Entry, Fault, SquadRow, SquadSheet
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.settings import ValueOfSquad
from settingsdesk.store.work import ClubSession


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


def preview_import(session: ClubSession, sheet: SquadSheet) -> ImportPreview:
    """What taking that sheet would change, without changing anything."""
    return preview_of(weigh_import(session, sheet))


def weigh_import(session: ClubSession, sheet: SquadSheet) -> Intake:
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


def take_import(session: ClubSession, sheet: SquadSheet) -> ImportPreview:
    """Keep all that the sheet says, or nothing: ``ImportHasFaults`` where a row has one."""
    intake = weigh_import(session, sheet)
    preview = preview_of(intake)
    if preview.faults:
        raise ImportHasFaults(preview.faults)
    intake.keep(session.by)
    return preview


def export_rows(session: ClubSession) -> Iterator[SquadRow]:
    """The squad as rows of the same columns: one for each athlete and model.

    They are read one after the other by one statement, so that a squad of any size takes little
    memory.
    """
    models = desk_models.all_models(session)
    rows = kept_settings.values_of_squad(session)
    for _, of_athlete in groupby(rows, key=attrgetter("athlete_id")):
        values = list(of_athlete)
        by_model: dict[int, list[ValueOfSquad]] = {}
        for value in values:
            by_model.setdefault(value.model_id, []).append(value)
        of_models = [
            (version.model, by_model[version.id]) for version in models if version.id in by_model
        ]
        for model, wanted in of_models:
            yield _row(wanted, model)
        if not of_models:
            yield _row(values, None)


def _row(values: Sequence[ValueOfSquad], model: ApparatusModel | None) -> SquadRow:
    """What one athlete wants on a model, or the athlete alone."""
    of_all = values[0]
    names = {axis.key: axis.name for axis in model.kind.axes} if model else {}
    by_name = {names[value.axis]: value for value in values if model}
    return SquadRow(
        number=0,
        family_name=of_all.family_name,
        given_name=of_all.given_name,
        printed_name=of_all.printed_name,
        group=of_all.group_name,
        model=model.name if model else "",
        wanted={name: Entry.of_length(value.wanted_mm) for name, value in by_name.items()},
        accepts_mm={name: value.accepts_mm for name, value in by_name.items()},
        reason=of_all.reason if model else "",
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
