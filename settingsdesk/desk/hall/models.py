"""Apparatus models: a make and type with its scales, kept version by version."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.definition import model_from_data, model_to_data
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store import apparatus_models as kept_apparatus_models
from settingsdesk.store import taking_away
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class ModelVersion:
    """A model as it was known from one moment on."""

    id: int
    version: int
    model: ApparatusModel
    recorded_at: datetime
    recorded_by: str
    reason: str


def all_models(session: ClubSession) -> list[ModelVersion]:
    """Every model of the club as it is known now, by name."""
    return [_read(row) for row in kept_apparatus_models.newest_of_all(session)]


def model(session: ClubSession, model_id: int) -> ModelVersion:
    """The model as it is known now; ``NotInThisClub`` where there is none."""
    return _read(kept_apparatus_models.newest(session, model_id))


def id_of(session: ClubSession, name: str) -> int:
    """The number of the model of that name; ``NotInThisClub`` where there is none."""
    row = kept_apparatus_models.by_name(session, name)
    if row is None:
        raise NotInThisClub("apparatus model", name)
    return row.id


def models(session: ClubSession, model_ids: Iterable[int]) -> dict[int, ModelVersion]:
    """Those models as they are known now, in one query."""
    found = kept_apparatus_models.latest_versions(session, set(model_ids))
    return {model_id: _read(version) for model_id, version in found.items()}


def history(session: ClubSession, model_id: int) -> list[ModelVersion]:
    """Every version of the model, the newest first."""
    return [_read(version) for version in kept_apparatus_models.history(session, model_id)]


def add_model(session: ClubSession, new: ApparatusModel, reason: str = "") -> ModelVersion:
    """A further model; ``NameTaken`` where the club has one of that name."""
    if kept_apparatus_models.by_name(session, new.name) is not None:
        raise NameTaken("apparatus model", new.name)
    row = kept_apparatus_models.ApparatusModel(name=new.name, kind=new.kind.key)
    session.add(row)
    session.flush()
    return _append(session, row.id, 1, new, reason)


def change_model(
    session: ClubSession,
    model_id: int,
    changed: ApparatusModel,
    reason: str,
    read_version: int,
) -> ModelVersion:
    """A further version of the model; the same version where nothing differs.

    ``read_version`` is the one that the change was made on: ``ChangedMeanwhile`` where somebody
    recorded another since. ``KindIsFixed`` where the kind would change, ``NameTaken`` where
    another model has the name.
    """
    row, present = kept_apparatus_models.by_id(session, model_id), model(session, model_id)
    if present.version != read_version:
        raise ChangedMeanwhile(present)
    if changed == present.model:
        return present
    if changed.kind.key != row.kind:
        raise KindIsFixed(present.model, changed)
    if changed.name != row.name:
        if kept_apparatus_models.by_name(session, changed.name) is not None:
            raise NameTaken("apparatus model", changed.name)
        row.name = changed.name
    return _append(session, model_id, present.version + 1, changed, reason)


def hanging(session: ClubSession, model_id: int) -> list[Hanging]:
    """What hangs on a model, which therefore stays; nothing where it can be taken away."""
    return taking_away.hanging(session, kept_apparatus_models.by_id(session, model_id))


def take_away(session: ClubSession, model_id: int) -> None:
    """Take a model away with its versions; ``SomethingHangsOnIt`` where anything does."""
    row = kept_apparatus_models.by_id(session, model_id)
    taking_away.take_away(session, row, row.name)


def _append(
    session: ClubSession, model_id: int, version: int, new: ApparatusModel, reason: str
) -> ModelVersion:
    row = kept_apparatus_models.ApparatusModelVersion(
        model_id=model_id,
        version=version,
        definition=model_to_data(new),
        recorded_by=session.by,
        reason=reason.strip(),
    )
    session.add(row)
    session.flush()
    return _read(row)


def _read(row: kept_apparatus_models.ApparatusModelVersion) -> ModelVersion:
    return ModelVersion(
        id=row.model_id,
        version=row.version,
        model=_defined(json.dumps(row.definition)),
        recorded_at=row.recorded_at,
        recorded_by=row.recorded_by,
        reason=row.reason,
    )


@lru_cache(maxsize=512)
def _defined(definition: str) -> ApparatusModel:
    """The model of that text: nearly every page needs some, and none of them can be changed."""
    return model_from_data(json.loads(definition))


class NameTaken(SettingsDeskError):
    """Two things of one sort would bear one name."""

    def __init__(self, what: str, name: str) -> None:
        self.what, self.name = what, name

    def __str__(self) -> str:
        return f"There is already an {self.what} named '{self.name}': choose another name"


class ChangedMeanwhile(SettingsDeskError):
    """Somebody recorded a further version while this one was being changed."""

    def __init__(self, present: ModelVersion) -> None:
        self.present = present

    def __str__(self) -> str:
        return (
            f"{self.present.recorded_by} has changed this model since you opened it (version"
            f" {self.present.version}). Nothing was saved. Look at the model in another window;"
            " to save yours over it, save once more"
        )


class KindIsFixed(SettingsDeskError):
    """A model would turn from one apparatus kind into another."""

    def __init__(self, present: ApparatusModel, changed: ApparatusModel) -> None:
        self.present, self.changed = present, changed

    def __str__(self) -> str:
        return (
            f"{self.present.name} is stored as {self.present.kind.name.lower()} and cannot become"
            f" {self.changed.kind.name.lower()}: add a new model instead"
        )
