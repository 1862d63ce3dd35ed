"""A squad sheet being taken in: row by row, what it would change and what is wrong with it."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import LONGEST_NAME, Member, Person, must_be_printable
from settingsdesk.desk.squad.setting_versions import differences
from settingsdesk.desk.squad.settings import NewSetting, SettingVersion
from settingsdesk.desk.squad.typed_settings import Datums, Wish, setting_wished
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM, Setting, longest_mm
from settingsdesk.sheets.columns import Role, SquadColumns
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_doubts import explained
from settingsdesk.sheets.squad import Entry, EntryKind, Fault, SquadRow, SquadSheet
from settingsdesk.store.work import ClubSession

NameKey = tuple[str, str]
"""Family name and given name as they are compared: capitals do not matter."""


@dataclass(frozen=True, slots=True)
class Change:
    """What one row of the sheet would change: ``what`` in a few words, ``details`` line by line."""

    row: int
    athlete: str
    what: str
    details: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A setting to be kept as the version of that number, of somebody known or new."""

    row: SquadRow
    who: int | NameKey
    model: ModelVersion
    number: int
    setting: Setting


@dataclass(slots=True)
class Intake:
    """One sheet being taken in: the athletes and models it may name, and what was found so far."""

    session: ClubSession
    sheet: SquadSheet
    columns: SquadColumns
    changes: list[Change] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unchanged_rows: int = 0
    athletes: dict[NameKey, list[Member]] = field(init=False)
    gone: set[NameKey] = field(init=False)
    models: dict[str, ModelVersion] = field(init=False)
    present: dict[int, dict[int, SettingVersion]] = field(default_factory=dict)
    persons: dict[int | NameKey, Person] = field(default_factory=dict)
    """Who has had a row already, as the rows so far make them; the new ones by their names."""
    wanted: list[Wanted] = field(default_factory=list)
    """The settings that are other than what is kept."""

    def __post_init__(self) -> None:
        self.athletes = {}
        for member in desk_athletes.find(self.session):
            self.athletes.setdefault(_name_key(member.person), []).append(member)
        self.gone = {
            _name_key(member.person) for member in desk_athletes.find(self.session, left=True)
        }
        self.models = {
            version.model.name.casefold(): version
            for version in desk_models.all_models(self.session)
        }

    def weigh(self, row: SquadRow) -> None:
        """Note what a row would change, or what is wrong with it."""
        faults_before = len(self.faults)
        self._refuse_unprintable_names(row)
        if len(self.faults) > faults_before:
            return
        member = self._member(row)
        version = self._model(row)
        setting = self._setting(row, member, version) if version else None
        if len(self.faults) > faults_before:
            return
        present = self._present(member, version)
        details = [
            *self._person_details(row, member),
            *self._setting_details(row, version, setting, present),
        ]
        if not details:
            self.unchanged_rows += 1
            return
        listed = f"{row.family_name}, {row.given_name}"
        what = self._what(row, member, setting, present)
        self.changes.append(Change(row.number, listed, what, tuple(details)))
        self.persons[_who(row, member)] = self._person(row, member)
        if version and setting and (present is None or present.setting.axes != setting.axes):
            number = present.version + 1 if present else 1
            self.wanted.append(Wanted(row, _who(row, member), version, number, setting))

    def keep(self, by: str) -> None:
        """Keep what all rows say; the sheet has been found free of faults."""
        new = {who: person for who, person in self.persons.items() if not isinstance(who, int)}
        added = desk_athletes.add_all(self.session, new.values())
        ids = {who: member.id for who, member in zip(new, added, strict=True)}
        kept = {one.id: one.person for twins in self.athletes.values() for one in twins}
        changed = {
            who: person
            for who, person in self.persons.items()
            if isinstance(who, int) and person != kept[who]
        }
        desk_athletes.change_all(self.session, changed)
        desk_settings.keep_settings(
            self.session,
            [
                NewSetting(
                    one.who if isinstance(one.who, int) else ids[one.who],
                    one.model.id,
                    one.number,
                    one.setting,
                    one.row.reason,
                    _as_read(one.row, one.model),
                )
                for one in self.wanted
            ],
        )

    def _refuse_unprintable_names(self, row: SquadRow) -> None:
        names = {
            Role.FAMILY_NAME: row.family_name,
            Role.GIVEN_NAME: row.given_name,
            Role.PRINTED_NAME: row.printed_name,
            Role.GROUP: row.group,
        }
        for role, name in names.items():
            try:
                must_be_printable(name)
            except SettingsDeskError as refused:
                expected = f"a name of at most {LONGEST_NAME} characters"
                self._fault(row, role, name, expected, lower_first(str(refused)))

    def _member(self, row: SquadRow) -> Member | None:
        """The athlete of a row, or None for a new one; a fault where it may be another."""
        twins = self.athletes.get(_row_key(row), [])
        if len(twins) == 1:
            return twins[0]
        listed = f"{row.family_name}, {row.given_name}"
        if not twins:
            if _row_key(row) in self.gone:
                advice = "put them back on the lists first, or delete the row"
                self._fault(row, Role.FAMILY_NAME, listed, "an athlete who has not left", advice)
            return None
        same_group = [twin for twin in twins if twin.person.group_name == row.group]
        if len(same_group) == 1:
            return same_group[0]
        advice = "there are several athletes of this name, tell them apart by their groups"
        self._fault(row, Role.FAMILY_NAME, listed, "one athlete", advice)
        return None

    def _model(self, row: SquadRow) -> ModelVersion | None:
        if not row.model:
            return None
        version = self.models.get(row.model.casefold())
        if version is None:
            names = ", ".join(known.model.name for known in self.models.values()) or "none yet"
            advice = f"the models are {names}"
            self._fault(row, Role.MODEL, row.model, "an apparatus model of this club", advice)
        return version

    def _setting(
        self, row: SquadRow, member: Member | None, version: ModelVersion
    ) -> Setting | None:
        """The setting of a row; None, with the faults noted, where there is none to be had."""
        faults_before = len(self.faults)
        self._refuse_other_axes(row, version.model)
        wishes = {axis.key: self._wish(row, member, version, axis) for axis in version.model.axes}
        if len(self.faults) > faults_before:
            return None
        try:
            return setting_wished(version.model, wishes)
        except SettingsDeskError as refused:
            read = ", ".join(entry.text for entry in row.wanted.values())
            expected = f"a setting for {version.model.name}"
            self._fault(row, Role.MODEL, read, expected, lower_first(str(refused)))
            return None

    def _wish(
        self, row: SquadRow, member: Member | None, version: ModelVersion, axis: Axis
    ) -> Wish:
        """One axis of a row; what it leaves blank of deviation and weight stays as it is kept."""
        entry = row.wanted.get(axis.kind.name)
        present = self._present(member, version)
        before = present.setting.axes[axis.key] if present else None
        accepts_mm = row.accepts_mm.get(axis.kind.name, before.accepts_mm if before else 0)
        if accepts_mm > MOST_ACCEPTED_MM:
            read, most = f"{accepts_mm / 10:.1f}", f"at most {MOST_ACCEPTED_MM / 10:g} cm"
            self._fault(row, Role.ACCEPTS, read, most, axis=axis)
        if entry is None:
            expected = f"a length or a mark: {version.model.name} needs every axis"
            self._fault(row, Role.CENTIMETRES, "", expected, axis=axis)
            return Wish()
        weight = before.weight if before else 1
        if entry.kind is EntryKind.MARK:
            return Wish(None, self._stop(row, axis, entry), accepts_mm, weight)
        if not 0 < (entry.length_mm or 0) <= longest_mm(axis.kind):
            most = f"more than 0 and at most {longest_mm(axis.kind) / 10:g} cm"
            self._fault(row, Role.CENTIMETRES, entry.text, most, axis=axis)
        elif before is None or before.wanted_mm != entry.length_mm:
            self._ask_about_slips(row, axis, entry)
        return Wish(entry.length_mm, None, accepts_mm, weight)

    def _ask_about_slips(self, row: SquadRow, axis: Axis, entry: Entry) -> None:
        """A fault where a length is hardly one of that axis: metres, inches, a digit lost."""
        span, length_mm = axis.kind.believed, entry.length_mm or 0
        if not span.holds(length_mm):
            expected = f"a length from {span.least_mm / 10:g} to {span.most_mm / 10:g} cm"
            advice = explained(Fraction(length_mm, 10), ListUnit.CM, span)
            self._fault(row, Role.CENTIMETRES, entry.text, expected, advice, axis=axis)

    def _stop(self, row: SquadRow, axis: Axis, entry: Entry) -> int | None:
        try:
            return axis.scale.stop_of(entry.text)
        except NoSuchLabel as absent:
            expected = f"a mark from {absent.first} to {absent.last}"
            self._fault(row, Role.MARK, entry.text, expected, axis=axis)
            return None

    def _refuse_other_axes(self, row: SquadRow, model: ApparatusModel) -> None:
        known = {axis.kind.name for axis in model.axes}
        for name, entry in row.wanted.items():
            if name not in known:
                role = Role.MARK if entry.kind is EntryKind.MARK else Role.CENTIMETRES
                expected = f"a blank cell: {model.name} is {model.kind.name.lower()}"
                self._fault(row, role, entry.text, expected, axis_name=name)

    def _present(
        self, member: Member | None, version: ModelVersion | None
    ) -> SettingVersion | None:
        if member is None or version is None:
            return None
        if version.id not in self.present:
            ids = [one.id for twins in self.athletes.values() for one in twins]
            found = desk_settings.latest_of_each(self.session, ids, version.id)
            self.present[version.id] = found
        return self.present[version.id].get(member.id)

    def _person(self, row: SquadRow, member: Member | None) -> Person:
        """The person as the row has it; what it leaves blank stays as it is kept."""
        before = self._before(row, member) or Person(row.family_name, row.given_name)
        return replace(
            before,
            printed_name=row.printed_name or before.printed_name,
            group_name=row.group or before.group_name,
        )

    def _before(self, row: SquadRow, member: Member | None) -> Person | None:
        """The person before this row: as the rows above leave them, or as they are kept."""
        return self.persons.get(_who(row, member), member.person if member else None)

    def _person_details(self, row: SquadRow, member: Member | None) -> Iterator[str]:
        before, person = self._before(row, member), self._person(row, member)
        if before is None:
            yield "Is added to the squad"
            before = Person(row.family_name, row.given_name)
        if person.printed_name != before.printed_name:
            was = before.printed_name or before.usual_name
            yield f"Printed name: '{was}' becomes '{person.printed_name}'"
        if person.group_name != before.group_name:
            was = f"'{before.group_name}' becomes " if before.group_name else ""
            yield f"Group: {was}'{person.group_name}'"

    def _setting_details(
        self,
        row: SquadRow,
        version: ModelVersion | None,
        setting: Setting | None,
        present: SettingVersion | None,
    ) -> Iterator[str]:
        if version is None or setting is None:
            return
        before = present.setting if present else None
        for line in differences(before, setting, Unit.CENTIMETRE):
            entry = row.wanted.get(line.partition(":")[0])
            typed = f" (mark {entry.text})" if entry and entry.kind is EntryKind.MARK else ""
            yield f"{version.model.name}, {lower_first(line)}{typed}"

    def _what(
        self,
        row: SquadRow,
        member: Member | None,
        setting: Setting | None,
        present: SettingVersion | None,
    ) -> str:
        if self._before(row, member) is None:
            return "New athlete"
        return "New setting" if setting is not None and present is None else "Changed"

    def _fault(
        self,
        row: SquadRow,
        role: Role,
        read: str,
        expected: str,
        advice: str = "",
        *,
        axis: Axis | None = None,
        axis_name: str = "",
    ) -> None:
        name = axis.kind.name if axis else axis_name
        column = next(one for one in self.columns if (one.role, one.axis) == (role, name))
        letter = self.sheet.columns.get(column.header, "")
        self.faults.append(
            Fault(self.sheet.sheet, row.number, letter, column.header, read, expected, advice)
        )


def _as_read(row: SquadRow, version: ModelVersion) -> dict[str, str]:
    return {
        axis.key: f"mark {entry.text}"
        if entry.kind is EntryKind.MARK
        else f"{entry.text} (cm, {Datums().in_words(axis.kind)})"
        for axis in version.model.axes
        for entry in [row.wanted[axis.kind.name]]
    }


def _name_key(person: Person) -> NameKey:
    return _folded(person.family_name, person.given_name)


def _who(row: SquadRow, member: Member | None) -> int | NameKey:
    return member.id if member else _row_key(row)


def _row_key(row: SquadRow) -> NameKey:
    return _folded(row.family_name, row.given_name)


def _folded(family_name: str, given_name: str) -> NameKey:
    return family_name.casefold(), given_name.casefold()
