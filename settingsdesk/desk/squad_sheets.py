"""The squad as a spreadsheet: what taking one would change, taking it whole, and the way out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy.orm import Session

from settingsdesk.desk import athletes as desk_athletes
from settingsdesk.desk import models as desk_models
from settingsdesk.desk import settings as desk_settings
from settingsdesk.desk.athletes import Member, Person
from settingsdesk.desk.models import ModelVersion
from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.domain.kinds import KINDS
from settingsdesk.domain.models import ApparatusModel, Axis
from settingsdesk.domain.settings import Setting, Wanted
from settingsdesk.sheets.columns import Role, SquadColumns
from settingsdesk.sheets.squad import Entry, EntryKind, Fault, SquadRow, SquadSheet


@dataclass(frozen=True, slots=True)
class Change:
    """What one row of the sheet would change: ``what`` in a few words, ``details`` line by line."""

    row: int
    athlete: str
    what: str
    details: tuple[str, ...]


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


def squad_columns() -> SquadColumns:
    """The columns of the squad sheet: those of all axes of all kinds."""
    return SquadColumns([axis.name for kind in KINDS.values() for axis in kind.axes])


def preview_import(session: Session, sheet: SquadSheet) -> ImportPreview:
    """What taking that sheet would change, without changing anything."""
    intake = _Intake(session, sheet)
    for row in sheet.rows:
        intake.weigh(row)
    return ImportPreview(
        sheet=sheet,
        changes=tuple(intake.changes),
        unchanged_rows=intake.unchanged_rows,
        faults=tuple(sorted((*sheet.faults, *intake.faults), key=lambda fault: fault.row)),
    )


def take_import(session: Session, by: str, sheet: SquadSheet) -> ImportPreview:
    """Keep all that the sheet says, or nothing: ``ImportHasFaults`` where a row has one."""
    preview = preview_import(session, sheet)
    if preview.faults:
        raise ImportHasFaults(preview.faults)
    intake = _Intake(session, sheet)
    for row in sheet.rows:
        intake.keep(row, by)
    return preview


def export_rows(session: Session) -> list[SquadRow]:
    """The squad as rows of the same columns: one for each athlete and model."""
    return [row for member in desk_athletes.find(session) for row in _rows_of(session, member)]


def _rows_of(session: Session, member: Member) -> Iterator[SquadRow]:
    versions = desk_settings.current(session, member.id)
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


@dataclass(slots=True)
class _Intake:
    """One sheet being taken in: the athletes and models it may name, and what was found so far."""

    session: Session
    sheet: SquadSheet
    changes: list[Change] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unchanged_rows: int = 0
    athletes: dict[tuple[str, str], list[Member]] = field(init=False)
    models: dict[str, ModelVersion] = field(init=False)
    new_names: set[tuple[str, str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.athletes = {}
        for member in desk_athletes.find(self.session):
            self.athletes.setdefault(_name_key(member.person), []).append(member)
        self.models = {
            version.model.name.casefold(): version
            for version in desk_models.all_models(self.session)
        }

    def weigh(self, row: SquadRow) -> None:
        """Note what a row would change, or what is wrong with it."""
        member = self._member(row)
        version = self._model(row)
        try:
            setting = self._setting(row, version) if version else None
        except SettingsDeskError as wrong:
            self._fault(row, Role.MODEL, row.model, "a setting that can be kept", str(wrong))
            return
        details = [
            *self._person_details(row, member),
            *self._setting_details(member, version, setting),
        ]
        if details:
            what = "new athlete" if self._is_new(row, member) else "changed"
            listed = f"{row.family_name}, {row.given_name}"
            self.changes.append(Change(row.number, listed, what, tuple(details)))
        else:
            self.unchanged_rows += 1

    def keep(self, row: SquadRow, by: str) -> None:
        """Keep what a row says; the sheet has been found free of faults."""
        member = self._member(row)
        person = self._person(row, member)
        if member is None:
            member = desk_athletes.add(self.session, by, person)
        elif person != member.person:
            member = desk_athletes.change(self.session, member.id, person)
        self.athletes[_name_key(person)] = [member]
        version = self._model(row)
        if version is not None:
            setting = self._setting(row, version)
            as_read = {
                axis.key: f"{entry.text} ({entry.kind.value})"
                for axis in version.model.axes
                for entry in [row.wanted[axis.kind.name]]
            }
            desk_settings.keep_setting(
                self.session, by, member.id, version.id, setting, row.reason, as_read
            )

    def _member(self, row: SquadRow) -> Member | None:
        twins = self.athletes.get((row.family_name.casefold(), row.given_name.casefold()), [])
        if len(twins) <= 1:
            return twins[0] if twins else None
        same_group = [twin for twin in twins if twin.person.group_name == row.group]
        if len(same_group) == 1:
            return same_group[0]
        listed = f"{row.family_name}, {row.given_name}"
        advice = "there are several athletes of this name: tell them apart by their groups"
        self._fault(row, Role.FAMILY_NAME, listed, "one athlete", advice)
        return None

    def _model(self, row: SquadRow) -> ModelVersion | None:
        if not row.model:
            return None
        version = self.models.get(row.model.casefold())
        if version is None:
            names = ", ".join(known.model.name for known in self.models.values()) or "none yet"
            self._fault(row, Role.MODEL, row.model, "an apparatus model of this club", names)
        return version

    def _setting(self, row: SquadRow, version: ModelVersion) -> Setting:
        model = version.model
        for name in row.wanted:
            if name not in {axis.kind.name for axis in model.axes}:
                raise AxisOfOtherKind(name, model)
        entries = {axis.key: row.wanted.get(axis.kind.name) for axis in model.axes}
        for axis in model.axes:
            if entries[axis.key] is None:
                raise EntryMissing(axis, model)
        wanted_mm = _wanted_mm(model, {key: entry for key, entry in entries.items() if entry})
        return Setting(
            model.kind,
            {
                axis.key: Wanted(wanted_mm[axis.key], row.accepts_mm.get(axis.kind.name, 0))
                for axis in model.axes
            },
        )

    def _person(self, row: SquadRow, member: Member | None) -> Person:
        """The person as the row has it; what it leaves blank stays as it is kept."""
        present = member.person if member else Person(row.family_name, row.given_name)
        return Person(
            family_name=present.family_name,
            given_name=present.given_name,
            printed_name=row.printed_name or present.printed_name,
            group_name=row.group or present.group_name,
            start_number=present.start_number,
        )

    def _person_details(self, row: SquadRow, member: Member | None) -> Iterator[str]:
        if self._is_new(row, member):
            yield "is added to the squad"
            self.new_names.add((row.family_name.casefold(), row.given_name.casefold()))
            return
        if member is None:
            return
        person = self._person(row, member)
        if person.printed_name != member.person.printed_name:
            yield f"printed name: '{member.person.printed_name}' becomes '{person.printed_name}'"
        if person.group_name != member.person.group_name:
            yield f"group: '{member.person.group_name}' becomes '{person.group_name}'"

    def _is_new(self, row: SquadRow, member: Member | None) -> bool:
        key = (row.family_name.casefold(), row.given_name.casefold())
        return member is None and key not in self.athletes and key not in self.new_names

    def _setting_details(
        self, member: Member | None, version: ModelVersion | None, setting: Setting | None
    ) -> Iterator[str]:
        if version is None or setting is None:
            return
        present = desk_settings.latest(self.session, member.id, version.id) if member else None
        for axis in version.model.axes:
            now = setting.axes[axis.key]
            before = present.setting.axes[axis.key] if present else None
            if before != now:
                was = f"{_told(before)} becomes " if before else ""
                yield f"{version.model.name}, {axis.kind.in_a_sentence}: {was}{_told(now)}"

    def _column(self, role: Role) -> str:
        for column in squad_columns():
            if column.role is role and column.header in self.sheet.columns:
                return self.sheet.columns[column.header]
        return ""

    def _fault(self, row: SquadRow, role: Role, read: str, expected: str, advice: str) -> None:
        header = next(column.header for column in squad_columns() if column.role is role)
        self.faults.append(
            Fault(self.sheet.sheet, row.number, self._column(role), header, read, expected, advice)
        )


def _wanted_mm(model: ApparatusModel, entries: Mapping[str, Entry]) -> dict[str, int]:
    """Canonical millimetres of a row's entries: all in centimetres, or all in marks."""
    marks = [key for key, entry in entries.items() if entry.kind is EntryKind.MARK]
    if not marks:
        return {key: entry.length_mm or 0 for key, entry in entries.items()}
    if len(marks) < len(entries):
        raise MarksAndLengthsMixed(model)
    setup = tuple(axis.scale.stop_of(entries[axis.key].text) for axis in model.axes)
    return {key: round(length_mm) for key, length_mm in model.measures_mm(setup).items()}


def _told(wanted: Wanted) -> str:
    accepts = f" ± {wanted.accepts_mm / 10:.1f}" if wanted.accepts_mm else ""
    return f"{wanted.wanted_mm / 10:.1f}{accepts} cm"


def _name_key(person: Person) -> tuple[str, str]:
    return person.family_name.casefold(), person.given_name.casefold()


class ImportHasFaults(SettingsDeskError):
    """A sheet was to be taken although it has faults."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return (
            f"Nothing was kept: the sheet has {len(self.faults)} cells to put right, the first of"
            f" them: {self.faults[0]}"
        )


class EntryMissing(SettingsDeskError):
    """A row names a model but leaves one of its axes empty."""

    def __init__(self, axis: Axis, model: ApparatusModel) -> None:
        self.axis, self.model = axis, model

    def __str__(self) -> str:
        return f"{self.model.name} needs the {self.axis.kind.in_a_sentence} too, in cm or as a mark"


class AxisOfOtherKind(SettingsDeskError):
    """A row gives a length on an axis that its model does not have."""

    def __init__(self, axis: str, model: ApparatusModel) -> None:
        self.axis, self.model = axis, model

    def __str__(self) -> str:
        return (
            f"{self.model.name} is {self.model.kind.name.lower()} and has no"
            f" {self.axis[0].lower()}{self.axis[1:]}: leave that cell empty"
        )


class MarksAndLengthsMixed(SettingsDeskError):
    """A row gives some axes as marks and others in centimetres."""

    def __init__(self, model: ApparatusModel) -> None:
        self.model = model

    def __str__(self) -> str:
        return (
            f"Give all axes of {self.model.name} as marks or all in centimetres: the rails' heights"
            " and their spread shift one another"
        )
