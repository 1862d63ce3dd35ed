"""Settings: what each athlete wants, version by version, and how it stands on an apparatus."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.squad.athletes import is_of_squad, must_count
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import Kind, kind_of
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.settings.crew_note import told
from settingsdesk.domain.settings.purposes import USUAL, USUAL_INSTEAD, Purpose
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import Fit, Transfer, fit_at, transfer
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Looked:
    """When somebody last looked whether a setting suits its athlete, by typing or confirming it.

    ``growth`` is the number of the last note of growth by then.
    """

    at: datetime
    growth: int


@dataclass(frozen=True, slots=True)
class SettingVersion:
    """One version of what an athlete wants on a model; ``as_read`` is what was typed, by axis.

    ``confirmed_at`` is when a coach last confirmed it as it stands, None where nobody has.
    ``untried`` says that it began with another athlete's, and no coach has confirmed it.
    """

    id: int
    athlete_id: int
    model_id: int
    model_name: str
    version: int
    setting: Setting
    as_read: Mapping[str, str]
    recorded_at: datetime
    recorded_by: str
    reason: str
    looked: Looked
    confirmed_at: datetime | None
    untried: bool
    crew_note: str = ""
    """What the crew is told now of that athlete on that model."""
    purpose: Purpose = USUAL

    @property
    def wanted_for(self) -> str:
        """The model it is for, and the purpose where that is not the usual one."""
        return named_for(self.model_name, self.purpose)


def named_for(model_name: str, purpose: Purpose) -> str:
    """A model, and what a setting for it is for: "Hall frame A, for training"."""
    return model_name if purpose is USUAL else f"{model_name}, for {purpose}"


@dataclass(frozen=True, slots=True)
class NewSetting:
    """What is to be kept as the version of that number; ``as_read`` as in ``SettingVersion``.

    ``looked`` is when somebody last looked whether it suits, where nobody does so now. One that
    comes after an ``untried`` one is so too, until a coach confirms it.
    """

    athlete_id: int
    model_id: int
    version: int
    setting: Setting
    reason: str = ""
    as_read: Mapping[str, str] = field(default_factory=dict)
    looked: Looked | None = None
    untried: bool = False
    purpose: Purpose = USUAL


WORKED_OUT = marked("Worked out from %(model)s, not measured here")
BY_A_GUESS = marked("The spread goes by a guessed drop between the rails")
WORKED_OUT_BY_A_GUESS = marked(
    "Worked out from %(model)s, not measured here. The spread goes by a guessed drop between the"
    " rails"
)
UNMEASURED_FORMS = (WORKED_OUT, BY_A_GUESS, WORKED_OUT_BY_A_GUESS)

NOT_TRIED = marked("Not tried by this athlete yet")
"""Of marks that come from another athlete's setting, wherever marks are shown or set."""


@dataclass(frozen=True, slots=True)
class Carried:
    """An athlete's setting on one apparatus: the closest stops, with all that is off.

    ``of_another_model`` says that the athlete has no setting for this apparatus's model, so that
    one for another model of the kind was carried over. ``purpose`` is what it was asked for.
    """

    version: SettingVersion
    piece: Piece
    transfer: Transfer
    purpose: Purpose = USUAL

    @property
    def of_another_model(self) -> bool:
        return self.version.model_id != self.piece.model_id

    @property
    def unmeasured(self) -> str:
        """What of its marks and lengths nobody has measured on that model, as a sentence; or "".

        Whoever sets by them must know: pages, cards and sheets say it in these words.
        """
        if self.of_another_model:
            form = WORKED_OUT_BY_A_GUESS if self.piece.model.guesses_drop else WORKED_OUT
            return Sentence(form, model=self.version.model_name)
        return Sentence(BY_A_GUESS) if self.piece.model.guesses_drop else ""

    @property
    def crew_note(self) -> str:
        """What the crew is told of the athlete on this apparatus; empty where nothing is.

        A note for another model may be about its board or its block, and says nothing here.
        """
        return "" if self.of_another_model else self.version.crew_note

    @property
    def not_tried(self) -> str:
        """That the athlete has not tried what the marks were made of, as a sentence; or "".

        Nothing of it is worked out from a body: it is another athlete's setting as it was.
        """
        return Sentence(NOT_TRIED) if self.version.untried else ""

    @property
    def usual_instead(self) -> str:
        """That the athlete has none for the purpose, so that the usual one counts; or ""."""
        return "" if self.version.purpose is self.purpose else USUAL_INSTEAD[self.purpose]

    @property
    def heeds(self) -> tuple[str, ...]:
        """What whoever sets by its marks must know."""
        told_to_crew = told(self.crew_note)
        return tuple(
            filter(None, (told_to_crew, self.usual_instead, self.not_tried, self.unmeasured))
        )

    def allows(self, setup: Setup | None, *, leeway: bool) -> bool:
        """Whether a turn at that setup is what the athlete wants.

        Nothing but the closest stops are; with ``leeway`` also others, where every length that a
        tape finds there is within what the athlete accepts.
        """
        if setup is None or not leeway or setup == self.transfer.best.setup:
            return setup == self.transfer.best.setup
        return all(axis.within_accepted for axis in self.fit_of(setup).axes)

    def fit_of(self, setup: Setup) -> Fit:
        """How far a setup lies from the setting, axis by axis."""
        if setup == self.transfer.best.setup:
            return self.transfer.best
        return fit_at(self.version.setting, self.piece.model, setup)


def keep_setting(
    session: ClubSession,
    athlete_id: int,
    model_id: int,
    setting: Setting,
    reason: str = "",
    as_read: Mapping[str, str] | None = None,
    *,
    instead_of: int | None = None,
    looked: Looked | None = None,
    untried: bool = False,
    purpose: Purpose = USUAL,
) -> SettingVersion:
    """A further version of what the athlete wants; the same version where nothing differs.

    ``instead_of`` is the version that the coach had before them (0 for none): where another was
    kept since, ``SettingChangedMeanwhile``. ``looked`` and ``untried`` as in ``NewSetting``.
    ``UsualOneFirst`` for another ``purpose`` where there is no usual setting; the first one for it
    is as little tried as that.
    """
    athlete = kept_athletes.by_id(session, athlete_id)
    must_count(athlete)
    model = desk_models.model(session, model_id)
    before = present = kept_settings.latest(session, athlete.id, model_id, purpose)
    if present is None and purpose is not USUAL:
        before = _usual(session, athlete.id, model.model, model_id, purpose)
    if present is not None and _setting(present, setting.kind).axes == setting.axes:
        return _read(present, model.model.name, model.model.kind.key)
    if present is not None and instead_of not in (None, present.version):
        raise SettingChangedMeanwhile(model.model, present.version, present.recorded_by)
    version = present.version + 1 if present else 1
    untried = untried or (before is not None and _is_untried(before))
    wanted = NewSetting(
        athlete.id, model_id, version, setting, reason, as_read or {}, looked, untried, purpose
    )
    columns, values = _columns(session.by, wanted)
    row = kept_settings.add_one(session, columns, values)
    return _read(row, model.model.name, model.model.kind.key)


def _usual(
    session: ClubSession, athlete_id: int, model: ApparatusModel, model_id: int, purpose: Purpose
) -> kept_settings.Setting:
    usual = kept_settings.latest(session, athlete_id, model_id)
    if usual is None:
        raise UsualOneFirst(model, purpose)
    return usual


def begin_with(
    session: ClubSession, athlete_id: int, model_id: int, mate_id: int
) -> SettingVersion:
    """The first setting of an athlete for a model: a squad-mate's as it is, not tried so far.

    Nothing is worked out from a body. ``HasOneAlready``, or ``MateHasNone`` where the squad-mate
    is none of the squad, or has none.
    """
    model = desk_models.model(session, model_id)
    if latest(session, athlete_id, model_id) is not None:
        raise HasOneAlready(model.model)
    theirs = latest(session, mate_id, model_id)
    if theirs is None or not is_of_squad(session, mate_id) or mate_id == athlete_id:
        raise MateHasNone(model.model)
    reason = "Begun with another athlete's setting"
    return keep_setting(
        session, athlete_id, model_id, theirs.setting, reason, theirs.as_read, untried=True
    )


def keep_settings(session: ClubSession, wanted: Iterable[NewSetting]) -> None:
    """Further versions of what several athletes want, in as few statements as there are rows.

    Each has to differ from the version before it, and to be numbered after it. Somebody has
    looked at all of them now, or at none.
    """
    kept_settings.add_all(session, [_columns(session.by, version) for version in wanted])


def latest(
    session: ClubSession, athlete_id: int, model_id: int, purpose: Purpose = USUAL
) -> SettingVersion | None:
    """What the athlete wants on a model now for that purpose, or None."""
    return latest_of_each(session, [athlete_id], model_id, purpose).get(athlete_id)


def latest_of_each(
    session: ClubSession, athlete_ids: Iterable[int], model_id: int, purpose: Purpose = USUAL
) -> dict[int, SettingVersion]:
    """What each of them wants on a model now; who has no setting for it is left out."""
    version = desk_models.model(session, model_id)
    return latest_by_model(session, athlete_ids, [version], [purpose])[model_id, purpose]


Latest = dict[tuple[int, Purpose], dict[int, SettingVersion]]
"""Settings by the model's number and the purpose, then by the athlete's number."""


def latest_by_model(
    session: ClubSession,
    athlete_ids: Iterable[int],
    models: Iterable[ModelVersion],
    purposes: Collection[Purpose] = tuple(Purpose),
) -> Latest:
    """What each athlete wants on each of those models now, for each of those purposes."""
    versions = {version.id: version.model for version in models}
    found: Latest = {(model_id, purpose): {} for model_id in versions for purpose in purposes}
    for row, athlete_id in kept_settings.latest_by_model(session, athlete_ids, versions, purposes):
        model = versions[row.model_id]
        version = _read(row, model.name, model.kind.key)
        found[row.model_id, version.purpose][athlete_id] = version
    return found


def any_beside(session: ClubSession) -> bool:
    """Whether anybody has a setting beside the usual ones, so that one has to say which."""
    return kept_settings.any_beside(session)


def history(session: ClubSession, athlete_id: int) -> list[SettingVersion]:
    """Every version of every setting of an athlete, by model, the newest first."""
    return [
        _read(row, row.model.name, row.model.kind)
        for row in kept_settings.history(session, athlete_id)
    ]


def lengths_of_every_version(
    session: ClubSession, athlete_ids: Iterable[int]
) -> dict[tuple[int, int, Purpose], list[dict[str, int]]]:
    """What those athletes ever wanted, by athlete, model and purpose: lengths by axis, in mm."""
    found: dict[tuple[int, int, Purpose], list[dict[str, int]]] = {}
    for row in kept_settings.versions_of(session, athlete_ids):
        lengths_mm = {value.axis: value.wanted_mm for value in row.values}
        of_one = (row.athlete_id, row.model_id, Purpose(row.purpose))
        found.setdefault(of_one, []).append(lengths_mm)
    return found


def current(session: ClubSession, athlete_id: int) -> list[SettingVersion]:
    """What the athlete wants now, model by model, for each purpose."""
    return current_of(history(session, athlete_id))


def current_of(versions: Iterable[SettingVersion]) -> list[SettingVersion]:
    """The same of an athlete's ``history``."""
    newest: dict[tuple[int, Purpose], SettingVersion] = {}
    for version in versions:
        newest.setdefault((version.model_id, version.purpose), version)
    return list(newest.values())


def on_every_piece(session: ClubSession, versions: Sequence[SettingVersion]) -> list[Carried]:
    """An athlete's current settings in the marks of every apparatus of the kinds of them.

    On each the usual one, and those for other purposes that were entered for its model.
    """
    carried = (
        _carried(versions, piece, purpose)
        for piece in desk_apparatus.all_pieces(session)
        for purpose in Purpose
    )
    return [
        one
        for one in carried
        if one is not None
        and (one.purpose is USUAL or not (one.usual_instead or one.of_another_model))
    ]


def on_piece(
    session: ClubSession, athlete_ids: Iterable[int], piece: Piece, purpose: Purpose = USUAL
) -> dict[int, Carried]:
    """What each of them wants on an apparatus, in its marks; who has no setting is left out.

    Of a ``purpose`` for which somebody has none on its model, the usual one counts.
    """
    return on_pieces(session, athlete_ids, [piece], purpose)[piece.id]


OnPieces = dict[int, dict[int, Carried]]
"""What athletes want on apparatus, by the apparatus's number and the athlete's."""


def on_pieces(
    session: ClubSession,
    athlete_ids: Iterable[int],
    pieces: Collection[Piece],
    purpose: Purpose = USUAL,
) -> OnPieces:
    """The same on several apparatus, by the apparatus's number, in one query as well."""
    return on_pieces_for(session, athlete_ids, pieces, [purpose])[purpose]


def on_pieces_for(
    session: ClubSession,
    athlete_ids: Iterable[int],
    pieces: Collection[Piece],
    purposes: Iterable[Purpose],
) -> dict[Purpose, OnPieces]:
    """The same for several purposes, in one query as well."""
    of_each: dict[int, list[SettingVersion]] = {athlete_id: [] for athlete_id in athlete_ids}
    kinds = {piece.model.kind.key for piece in pieces}
    asked = {USUAL, *purposes}
    for row, athlete_id in kept_settings.latest_of_kinds(session, of_each, kinds, asked):
        of_each[athlete_id].append(_read(row, row.model.name, row.model.kind))
    return {
        purpose: {
            piece.id: {
                athlete_id: wanted
                for athlete_id, versions in of_each.items()
                if (wanted := _carried(versions, piece, purpose)) is not None
            }
            for piece in pieces
        }
        for purpose in asked
    }


def newest_number(session: ClubSession) -> int:
    """Another number whenever the club keeps another setting."""
    return kept_settings.newest_number(session)


def models_of_squad(session: ClubSession) -> list[ModelVersion]:
    """The models that somebody of the squad has a setting for; first that for which most have."""
    known = {version.id: version for version in desk_models.all_models(session)}
    return [known[one] for one in kept_settings.models_of_squad(session) if one in known]


def _carried(versions: Iterable[SettingVersion], piece: Piece, purpose: Purpose) -> Carried | None:
    """The setting for the apparatus's model, else the newest for another model of its kind.

    What was tried on that model goes before what is for that purpose: marks of another model are
    only worked out. Those for a third purpose are none of it.
    """
    alike = [
        version
        for version in versions
        if version.setting.kind == piece.model.kind and version.purpose in (purpose, USUAL)
    ]
    if not alike:
        return None

    def rank(version: SettingVersion) -> tuple[bool, bool, int]:
        return version.model_id == piece.model_id, version.purpose is purpose, version.id

    best = max(alike, key=rank)
    return Carried(best, piece, transfer(best.setting, piece.model), purpose)


def _columns(by: str, wanted: NewSetting) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A setting by column, and its values by column."""
    setting = wanted.setting
    about: dict[str, Any] = {
        "athlete_id": wanted.athlete_id,
        "model_id": wanted.model_id,
        "version": wanted.version,
        "recorded_by": by,
        "reason": wanted.reason.strip(),
        "untried": wanted.untried,
        "purpose": wanted.purpose.value,
    }
    if wanted.looked is not None:
        about |= {"looked_at": wanted.looked.at, "answers_growth": wanted.looked.growth}
    values = [
        {
            "axis": axis.key,
            "wanted_mm": setting.axes[axis.key].wanted_mm,
            "accepts_mm": setting.axes[axis.key].accepts_mm,
            "weight": setting.axes[axis.key].weight,
            "as_read": wanted.as_read.get(axis.key, ""),
        }
        for axis in setting.kind.axes
    ]
    return about, values


def _read(row: kept_settings.Setting, model_name: str, kind: str) -> SettingVersion:
    return SettingVersion(
        id=row.id,
        athlete_id=row.athlete_id,
        model_id=row.model_id,
        model_name=model_name,
        version=row.version,
        setting=_setting(row, kind_of(kind)),
        as_read={value.axis: value.as_read for value in row.values},
        recorded_at=row.recorded_at,
        recorded_by=row.recorded_by,
        reason=row.reason,
        looked=_looked(row),
        confirmed_at=row.confirmed_at,
        untried=_is_untried(row),
        crew_note=row.crew_note or "",
        purpose=Purpose(row.purpose),
    )


def _looked(row: kept_settings.Setting) -> Looked:
    moments = (row.looked_at or row.recorded_at, row.confirmed_at)
    growths = (row.answers_growth, row.confirms_growth)
    return Looked(
        max(at for at in moments if at is not None),
        max(number for number in growths if number is not None),
    )


def _is_untried(row: kept_settings.Setting) -> bool:
    return row.untried and row.confirmed_at is None


def _setting(row: kept_settings.Setting, kind: Kind) -> Setting:
    return Setting(
        kind,
        {
            value.axis: Wanted(value.wanted_mm, value.accepts_mm, value.weight)
            for value in row.values
        },
    )


class UsualOneFirst(SettingsDeskError):
    """A setting beside the usual one was to be kept where there is no usual one."""

    def __init__(self, model: ApparatusModel, purpose: Purpose) -> None:
        self.model, self.purpose = model, purpose

    def __str__(self) -> str:
        return (
            f"A setting for {self.purpose} stands beside the usual one, for competition: enter that"
            f" one for {self.model.name} first"
        )


class HasOneAlready(SettingsDeskError):
    """A setting was to begin with a squad-mate's where there is one (a page answers 409)."""

    def __init__(self, model: ApparatusModel) -> None:
        self.model = model

    def __str__(self) -> str:
        return (
            f"A setting for {self.model.name} has been entered in the meantime, so nothing was"
            " changed: open the athlete's page and look at it"
        )


class MateHasNone(SettingsDeskError):
    """A setting was to begin with that of somebody who has none (a page answers 409)."""

    def __init__(self, model: ApparatusModel) -> None:
        self.model = model

    def __str__(self) -> str:
        return (
            f"Nobody of the squad who was chosen has a setting for {self.model.name} now, so"
            " nothing was changed: load the page again, and choose another"
        )


class SettingChangedMeanwhile(SettingsDeskError):
    """Somebody else kept another version while this one was being typed."""

    def __init__(self, model: ApparatusModel, version: int, by: str) -> None:
        self.model, self.version, self.by = model, version, by

    def __str__(self) -> str:
        return (
            f"{self.by} has saved version {self.version} of the setting for {self.model.name} in"
            " the meantime, so nothing was changed: open the athlete's page, look at it, and type"
            " yours again if it still holds"
        )
