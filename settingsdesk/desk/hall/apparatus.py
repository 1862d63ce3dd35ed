"""The apparatus in the hall: which model each is, its own scales, and what stands there now."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import NamedTuple

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.calibrations import OwnScale, Taped, own_scales, try_calibration
from settingsdesk.desk.hall.in_use import (
    Withdrawal,
    WithdrawnFromUse,
    withdrawals,
)
from settingsdesk.desk.hall.models import ModelVersion, NameTaken
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import SaysLengths, length_in_words
from settingsdesk.domain.base.kinds import AN_END, FRONT_AND_BACK
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.calibration import Calibration
from settingsdesk.domain.hall.mats import THICKEST_MM, Mats
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import taking_away
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession

LONGEST_END_NAME = 20  # characters: "front end" and the like stand beside a mark on a phone

NOT_MEASURED_HERE = marked("scale of the model, not measured on this apparatus")
TAPED = marked("taped here, %(day)s")
TAPED_FROM = marked("taped here, %(first)s to %(day)s")
PARTLY_TAPED = marked("taped here in part, %(day)s")
PARTLY_TAPED_FROM = marked("taped here in part, %(first)s to %(day)s")
AS_FIRST_SAID = {
    TAPED: marked("own calibration of %(day)s"),
    TAPED_FROM: marked("own calibration of %(first)s to %(day)s"),
    PARTLY_TAPED: marked("own calibration (some axes) of %(day)s"),
    PARTLY_TAPED_FROM: marked("own calibration (some axes) of %(first)s to %(day)s"),
}
"""What the first papers say for the same."""
AS_SAID_THEN = {
    marked("partly taped here, %(first)s to %(day)s"): PARTLY_TAPED_FROM,
    marked("partly taped here, %(day)s"): PARTLY_TAPED,
}
"""What papers after them say."""
_WITH_ONE_DAY = {TAPED_FROM: TAPED, PARTLY_TAPED_FROM: PARTLY_TAPED}


def as_first_said(scale_used: str) -> str:
    """As the first papers said whose scale it is: only with the day of the newest calibration."""
    if not isinstance(scale_used, Sentence):
        return scale_used
    first_forms = {first: form for form, first in AS_FIRST_SAID.items()}
    form = AS_SAID_THEN.get(scale_used.form, scale_used.form)
    form = first_forms.get(form, form)
    form = _WITH_ONE_DAY.get(form, form)
    if form not in AS_FIRST_SAID:
        return scale_used
    return Sentence(AS_FIRST_SAID[form], day=scale_used.facts["day"])


@dataclass(frozen=True, slots=True)
class Piece:
    """One apparatus as it stands: ``model`` is on this apparatus's own scales where it has them.

    ``printed`` is the version of the model that is known now, on the scales that it came with.
    ``end_names`` are what the hall calls its front and back, or left and right; ``model`` has them.
    ``setup`` is what stands there now, or None where nobody has recorded it, or where the scale
    has been changed since and no longer has one of its stops. ``mats`` are those of today, unless
    it is looked at ``as_on`` another day. ``withdrawal`` says why nobody may use it, where that is
    so.
    """

    id: int
    name: str
    place: str
    mats: Mats
    printed: ModelVersion
    model: ApparatusModel
    own_scales: Mapping[str, OwnScale]
    setup: Setup | None
    stood_at: datetime | None
    recorded_by: str
    withdrawal: Withdrawal | None
    end_names: tuple[str, str] | None = None
    lost_marks: bool = False
    """Whether its marks were recorded, and its scale no longer has one of them."""

    @property
    def mat_mm(self) -> int:
        """How thick the mats are, all layers together, with those of the day."""
        return self.mats.lie_mm

    def as_on(self, day: date) -> "Piece":
        """The same with the mats of another day."""
        return replace(self, mats=self.mats.on(day))

    @property
    def ends_called(self) -> tuple[str, str]:
        """What front and back are called where it stands."""
        return self.end_names or FRONT_AND_BACK

    @property
    def seen_from(self) -> str:
        """The end from which it is drawn; empty where both look the same."""
        is_told = self.model.kind.ends_called == FRONT_AND_BACK
        return Sentence(AN_END, end=self.ends_called[0]) if is_told else ""

    @property
    def far_end(self) -> str:
        """The end that is before who stands there."""
        return Sentence(AN_END, end=self.ends_called[1])

    @property
    def model_id(self) -> int:
        """The number of its model."""
        return self.printed.id

    @property
    def scale_used(self) -> Sentence:
        """Whose scale the marks are of, and from when, as cards and pages say it."""
        if not self.own_scales:
            return Sentence(NOT_MEASURED_HERE)
        days = [own.taken_on for own in self.own_scales.values()]
        first, newest = min(days), max(days)
        is_whole = len(self.own_scales) == len(self.model.axes)
        form = TAPED_FROM if is_whole else PARTLY_TAPED_FROM
        if first == newest:
            return Sentence(_WITH_ONE_DAY[form], day=day_in_words(newest))
        return Sentence(form, first=day_in_words(first), day=day_in_words(newest))

    def must_stand_somewhere(self) -> Setup:
        """What stands there now; ``SetupUnknown`` where it is not known."""
        if self.setup is None:
            raise SetupUnknown(self.name)
        return self.setup

    def must_be_in_use(self) -> None:
        """Raise ``WithdrawnFromUse`` where nobody may work on it."""
        if self.withdrawal is not None:
            raise WithdrawnFromUse(self.withdrawal)

    def must_know_its_drop(self) -> None:
        """Raise ``DropUnknown`` where its marks of the spread cannot be told."""
        if self.model.lacks_drop:
            raise DropUnknown(self)


@dataclass(frozen=True, slots=True)
class Stood:
    """A setup from the record; ``marks`` is None where the present scale lacks its stops."""

    marks: Mapping[str, str] | None
    stood_at: datetime
    recorded_by: str
    how: str


class OnOwnScales(NamedTuple):
    """An apparatus and the model it is of, on the scales that count there."""

    id: int
    name: str
    model: ApparatusModel


def all_pieces(session: ClubSession) -> list[Piece]:
    """Every apparatus of the club by name."""
    return read_all(session, kept_apparatus.all_apparatus(session))


def pieces(session: ClubSession, apparatus_ids: Iterable[int]) -> dict[int, Piece]:
    """The apparatus of those numbers, in no more queries than one of them takes."""
    return {
        piece.id: piece for piece in read_all(session, kept_apparatus.those(session, apparatus_ids))
    }


def read_all(session: ClubSession, rows: Sequence[kept_apparatus.Apparatus]) -> list[Piece]:
    """The apparatus of those rows."""
    versions = desk_models.models(session, [row.model_id for row in rows])
    ids = [row.id for row in rows]
    setups = kept_apparatus.latest_setups(session, ids)
    in_use = kept_apparatus.calibrations_in_use(session, ids)
    withdrawn = withdrawals(session)
    return [
        _read(
            row,
            versions[row.model_id],
            in_use[row.id],
            setups.get(row.id),
            withdrawn.get(row.id),
        )
        for row in rows
    ]


def on_own_scales(
    session: ClubSession, versions: Iterable[ModelVersion]
) -> dict[int, list[OnOwnScales]]:
    """All apparatus of those models as their marks are read, by the model's number.

    Nothing is asked of how they stand now.
    """
    rows = kept_apparatus.all_apparatus(session)
    in_use = kept_apparatus.calibrations_in_use(session, [row.id for row in rows])
    models = {version.id: version.model for version in versions}
    found: dict[int, list[OnOwnScales]] = {}
    for row in rows:
        printed = models[row.model_id]
        model = _on_scales(row, printed, own_scales(in_use[row.id], printed))
        found.setdefault(row.model_id, []).append(OnOwnScales(row.id, row.name, model))
    return found


def pieces_of_kind(session: ClubSession, kind: str) -> list[Piece]:
    """The club's apparatus of one kind, by name."""
    return read_all(session, kept_apparatus.of_kind(session, kind))


def piece(session: ClubSession, apparatus_id: int) -> Piece:
    """One apparatus; ``NotInThisClub`` where there is none."""
    (found,) = read_all(session, [kept_apparatus.by_id(session, apparatus_id)])
    return found


def name_of(session: ClubSession, apparatus_id: int) -> str:
    """What the hall calls an apparatus; ``NotInThisClub`` where there is none."""
    return kept_apparatus.by_id(session, apparatus_id).name


def add_piece(session: ClubSession, name: str, place: str, model_id: int, mat_mm: int) -> Piece:
    """A further apparatus of a model, standing at no known setup yet."""
    _must_be_free(session, name)
    printed = desk_models.model(session, model_id)
    row = kept_apparatus.Apparatus(
        name=name.strip(), place=place.strip(), model_id=model_id, mat_mm=_mat(mat_mm)
    )
    session.add(row)
    session.flush()
    return _read(row, printed, in_use={}, standing=None, withdrawn=None)


def change_piece(
    session: ClubSession, apparatus_id: int, name: str, place: str, mat_mm: int
) -> Piece:
    """Another name, place or mat for an apparatus; its model stays.

    The mats of a day stay more or less by as much; ``NotTheseMats`` where they could not.
    """
    row = kept_apparatus.by_id(session, apparatus_id)
    for day, more_mm in kept_apparatus.more_mat_of(row).items():
        if day >= today():
            must_be_mats(row.name, _mat(mat_mm), more_mm)
    if name.strip() != row.name:
        _must_be_free(session, name)
    row.name, row.place, row.mat_mm = name.strip(), place.strip(), _mat(mat_mm)
    session.flush()
    return piece(session, apparatus_id)


def hanging(session: ClubSession, apparatus_id: int) -> list[Hanging]:
    """What hangs on an apparatus, which therefore stays; nothing where it can be taken away."""
    return taking_away.hanging(session, kept_apparatus.by_id(session, apparatus_id))


def take_away(session: ClubSession, apparatus_id: int) -> None:
    """Take an apparatus away with what stood there; ``SomethingHangsOnIt`` where anything does."""
    row = kept_apparatus.by_id(session, apparatus_id)
    taking_away.take_away(session, row, row.name)


def call_ends(session: ClubSession, apparatus_id: int, first: str, second: str) -> None:
    """What the hall calls the ends of an apparatus from now on; both empty: nothing of its own.

    ``NotEndNames`` where that tells them not apart.
    """
    row = kept_apparatus.by_id(session, apparatus_id)
    names = [name.strip() for name in (first, second)]
    if any(names):
        _must_tell_apart(names)
    row.first_end, row.second_end = names
    session.flush()


def record_setup(session: ClubSession, apparatus_id: int, stops: Sequence[int], how: str) -> Piece:
    """What stands there now, as somebody saw or set it; ``NoSuchStop`` where it cannot."""
    return record_at(session, piece(session, apparatus_id), stops, how)


def read_off(session: ClubSession, apparatus_id: int, stops: Sequence[int], how: str) -> Piece:
    """What stands there now, as somebody read it off the marks.

    ``RailsInWrongOrder`` where the low rail would stand as high as the high rail or higher: the
    marks were then read in the wrong order.
    """
    before = piece(session, apparatus_id)
    return now_read_off(session, before, stops, how or "read off the marks")


def now_read_off(session: ClubSession, before: Piece, stops: Sequence[int], how: str) -> Piece:
    """The same of an apparatus that is loaded: as it stands then."""
    setting_of_setup(before.model, tuple(stops))
    return record_at(session, before, stops, how)


def as_if_at(before: Piece, stops: Sequence[int]) -> Piece:
    """An apparatus that is loaded, as if it stood there; nothing is recorded.

    Raises what ``now_read_off`` does.
    """
    setting_of_setup(before.model, tuple(stops))
    before.model.must_have(stops)
    return replace(before, setup=tuple(stops))


def record_at(session: ClubSession, before: Piece, stops: Sequence[int] | None, how: str) -> Piece:
    """Record what stands now on an apparatus that is loaded, None where nobody knows.

    The apparatus as it is then; ``NoSuchStop`` where its scales have no such stop.
    """
    if stops is not None:
        before.model.must_have(stops)
    row = kept_apparatus.ApparatusSetup(
        apparatus_id=before.id, stops=list(stops or ()), recorded_by=session.by, how=how.strip()
    )
    session.add(row)
    session.flush()
    if stops is None:
        return replace(before, setup=None, stood_at=None, recorded_by="")
    return replace(before, setup=tuple(stops), stood_at=row.stood_at, recorded_by=session.by)


def setups(session: ClubSession, apparatus_id: int, most: int = 20) -> list[Stood]:
    """The last setups of an apparatus in its present marks, the newest first."""
    model = piece(session, apparatus_id).model
    return [
        Stood(
            model.marks(tuple(row.stops)) if _has(model, tuple(row.stops)) else None,
            row.stood_at,
            row.recorded_by,
            row.how,
        )
        for row in kept_apparatus.setup_history(session, apparatus_id, most)
    ]


def not_before_it_stood(session: ClubSession, apparatus_id: int, moment: datetime) -> datetime:
    """The moment of what comes after the last record of what stands there, whatever a clock says.

    One that was put back would make it look as if somebody had set the apparatus later.
    """
    latest = kept_apparatus.latest_setups(session, [apparatus_id]).get(apparatus_id)
    return max(moment, latest.stood_at) if latest else moment


def try_on_piece(
    standing: Piece, axis: str, taped: Sequence[Taped], left_out: Collection[str] = ()
) -> Calibration:
    """What those readings say of one axis of an apparatus as it stands now, without keeping it.

    Raises ``NothingHeld`` where an axis that others shift was taped at an unknown setup, or
    ``DropUnknown``, besides what ``try_calibration`` raises.
    """
    printed = standing.printed.model
    if printed.axis(axis).kind == printed.kind.spread_axis:
        standing.must_know_its_drop()
    if standing.setup is not None:
        held_mm = standing.model.readings_mm(standing.setup)
    elif standing.model.rail_pair is None:
        held_mm = standing.model.readings_mm((0,) * len(standing.model.axes))
    else:
        raise NothingHeld(standing.name)
    return try_calibration(printed, axis, held_mm, taped, left_out)


def _read(
    row: kept_apparatus.Apparatus,
    printed: ModelVersion,
    in_use: Mapping[str, kept_apparatus.Calibration],
    standing: kept_apparatus.ApparatusSetup | None,
    withdrawn: Withdrawal | None,
) -> Piece:
    model = printed.model
    own = own_scales(in_use, model)
    stops = tuple(standing.stops) if standing else None
    known = stops is not None and _has(model, stops)
    return Piece(
        id=row.id,
        name=row.name,
        place=row.place,
        mats=_mats(row),
        printed=printed,
        model=_on_scales(row, model, own),
        own_scales=own,
        setup=stops if known else None,
        stood_at=standing.stood_at if standing and known else None,
        recorded_by=standing.recorded_by if standing and known else "",
        withdrawal=withdrawn,
        end_names=_end_names(row),
        lost_marks=stops is not None and not known,
    )


def _on_scales(
    row: kept_apparatus.Apparatus, printed: ApparatusModel, own: Mapping[str, OwnScale]
) -> ApparatusModel:
    """A model as it is at one apparatus: with its own scales, the names of its ends, and all."""
    return (
        printed.with_ends_called(_end_names(row))
        .with_scales({axis: scale.calibration.scale for axis, scale in own.items()})
        .with_usual_deviations(kept_apparatus.usual_of(row))
    )


def _end_names(row: kept_apparatus.Apparatus) -> tuple[str, str] | None:
    return (row.first_end, row.second_end) if row.first_end else None


def _mats(row: kept_apparatus.Apparatus) -> Mats:
    return Mats(row.mat_mm, today(), kept_apparatus.more_mat_of(row))


def _has(model: ApparatusModel, stops: Setup) -> bool:
    if not stops:  # nobody knows, see record_at
        return False
    try:
        model.must_have(stops)
    except NoSuchStop:
        return False
    return True


def _must_be_free(session: ClubSession, name: str) -> None:
    if not name.strip():
        raise NameMissing
    if kept_apparatus.by_name(session, name.strip()) is not None:
        raise NameTaken("apparatus", name.strip())


def _mat(mat_mm: int) -> int:
    if not 0 <= mat_mm <= THICKEST_MM:
        raise NotAMat(mat_mm)
    return mat_mm


def must_be_mats(name: str, on_record_mm: int, more_mm: int) -> None:
    """Raise ``NotTheseMats`` where less than nothing, or more than a metre, lies there a day."""
    if not 0 <= on_record_mm + more_mm <= THICKEST_MM:
        raise NotTheseMats(name, on_record_mm, more_mm)


def _must_tell_apart(names: Sequence[str]) -> None:
    told = [name.casefold() for name in names]
    if not all(told) or told[0] == told[1] or any(name.split()[-1] == "end" for name in told):
        raise NotEndNames
    if max(map(len, names)) > LONGEST_END_NAME:
        raise NotEndNames


class NotEndNames(SettingsDeskError):
    """Names that do not tell two ends apart."""

    def __str__(self) -> str:
        return (
            f"Enter a name for each of the two ends, different ones of {LONGEST_END_NAME} letters"
            " at most and without the word end, such as window and wall; or leave both empty"
        )


class NameMissing(SettingsDeskError):
    """An apparatus was given no name."""

    sentence = "Enter a name for the apparatus, one that everybody in the hall would use"


class NotAMat(SaysLengths):
    """A mat thinner than nothing or thicker than a metre."""

    def __init__(self, mat_mm: int) -> None:
        self.mat_mm = mat_mm

    def told(self, unit: Unit) -> str:
        return (
            f"The mats must be between 0 and {length_in_words(THICKEST_MM, unit)} thick in all;"
            f" {length_in_words(self.mat_mm, unit)} was given"
        )


class NotTheseMats(SaysLengths):
    """Less mat than nothing would lie there, or more than a metre."""

    def __init__(self, name: str, on_record_mm: int, more_mm: int) -> None:
        self.name, self.on_record_mm, self.more_mm = name, on_record_mm, more_mm

    def told(self, unit: Unit) -> str:
        on_record = length_in_words(self.on_record_mm, unit)
        told = length_in_words(abs(self.more_mm), unit)
        if self.more_mm < 0:
            return f"{self.name} has mats of {on_record} on record: {told} less cannot lie there"
        return (
            f"{self.name} has mats of {on_record} on record: with {told} more they would be over"
            f" {length_in_words(THICKEST_MM, unit)} thick in all"
        )


class SetupUnknown(SettingsDeskError):
    """Nobody has recorded what stands there now."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return Sentence(
            "It is not known what stands on %(name)s now: read its marks and record them on the"
            " apparatus's page first",
            name=self.name,
        )


class DropUnknown(SaysLengths):
    """The spread is printed along slanting rails, and for which drop is not known (answers 409)."""

    def __init__(self, piece: Piece) -> None:
        self.name, self.model_id, self.model = piece.name, piece.model_id, piece.printed.model.name
        self.middle_mm = piece.printed.model.middle_drop_mm or 0.0

    def told(self, unit: Unit) -> str:
        return Sentence(
            "The spread of %(name)s is printed along the slanting line between the rails, and for"
            " which drop between them it was printed is not entered for %(model)s: any mark of"
            " the spread could be many centimetres wrong. Nothing stored was changed. Enter the"
            " drop of %(model)s from the maker's leaflet; the middle of its height scales would"
            " be %(middle_mm)s",
            name=self.name,
            model=self.model,
            middle_mm=length_in_words(self.middle_mm, unit),
        )


class NothingHeld(SettingsDeskError):
    """An axis that others shift was taped while nobody knows where those others stood."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"Record the present marks of {self.name} first: where the other adjustments stand"
            " shifts what the tape finds"
        )
