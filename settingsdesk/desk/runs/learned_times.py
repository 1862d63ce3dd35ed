"""The times of a model as its confirmed change-overs tell them, and their use once accepted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.runs.events import read_event
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.run import run_of
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.times.time_fit import TimesFit, TooFewTimed, TooMuchAlike, fit_times
from settingsdesk.domain.times.time_limits import why_left_out
from settingsdesk.domain.times.time_parts import time_parts
from settingsdesk.domain.times.timed import TimedChangeOver
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession

MOST_RUNS_LEARNED_FROM = 200


@dataclass(frozen=True, slots=True)
class Timed:
    """A change-over that was done in one go, by whom and when it was confirmed.

    ``model`` is the model by whose times it was planned.
    """

    what: TimedChangeOver
    at: datetime
    by: str
    model: ApparatusModel


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A timed change-over that the fit leaves out, and why."""

    what: TimedChangeOver
    at: datetime
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class Learned:
    """What the change-overs timed so far say; exactly one of ``fit`` and ``refusal`` is there."""

    version: ModelVersion
    used: int
    left_out: tuple[LeftOut, ...]
    fit: TimesFit | None
    refusal: SettingsDeskError | None

    @property
    def timed(self) -> int:
        """How many change-overs of the model were timed at all."""
        return self.used + len(self.left_out)

    @property
    def changes_nothing(self) -> bool:
        """Whether the model has the fitted times already."""
        return self.fit is not None and self.fit.model == self.version.model

    @property
    def in_one_word(self) -> str:
        """The fitted seconds in their order: by this it is known again what a coach has seen."""
        return _in_one_word([part.whole_s for part in self.fit.times] if self.fit else [])


def learned(session: ClubSession, model_id: int) -> Learned:
    """What the change-overs on apparatus of a model say; ``NotInThisClub`` where there is none."""
    version = desk_models.model(session, model_id)
    timed = timed_change_overs(session, model_id)
    reasons = _reasons(version.model, timed)
    used = [done.what for done, why in zip(timed, reasons, strict=True) if not why]
    left_out = tuple(
        LeftOut(done.what, done.at, done.by, why)
        for done, why in zip(timed, reasons, strict=True)
        if why
    )
    try:
        fit = fit_times(version.model, used)
    except (TooFewTimed, TooMuchAlike) as refusal:
        return Learned(version, len(used), left_out, None, refusal)
    return Learned(version, len(used), left_out, fit, None)


def timed_change_overs(session: ClubSession, model_id: int) -> list[Timed]:
    """The undisturbed change-overs on apparatus of a model, the oldest first."""
    versions = {known.version: known.model for known in desk_models.history(session, model_id)}
    found = []
    for row in reversed(kept_runs.of_model(session, model_id, MOST_RUNS_LEARNED_FROM)):
        model = versions[row.model_version]
        now = run_of(model, [read_event(event) for event in row.events])
        found += [
            Timed(
                TimedChangeOver(had.start, had.turn.setup, had.hands, had.took_s),
                had.set_at,
                had.set_by,
                model,
            )
            for had in now.over
            if had.planned_s and had.undisturbed
            if had.start is not None and had.turn.setup is not None
        ]
    return found


def accept(session: ClubSession, model_id: int, read_version: int, seen: str) -> ModelVersion:
    """Give the model the fitted times as a further version; the old ones stay on record.

    ``read_version`` is the version they were compared with, ``seen`` is ``Learned.in_one_word`` as
    it was shown. A second press changes nothing. ``TimesMovedOn`` where the model or the fitted
    times are others by now.
    """
    now = learned(session, model_id)
    present = now.version
    if present.version > read_version and _in_one_word(_present_s(present.model)) == seen:
        return present
    if now.fit is None or present.version != read_version or now.in_one_word != seen:
        raise TimesMovedOn(present)
    return desk_models.change_model(
        session, model_id, now.fit.model, _told(now.fit, now.used), read_version
    )


def _present_s(model: ApparatusModel) -> list[int]:
    return [part.present_s(model) for part in time_parts(model)]


def _in_one_word(seconds: Iterable[int]) -> str:
    return "-".join(map(str, seconds))


def _reasons(model: ApparatusModel, timed: list[Timed]) -> list[str]:
    """Why each is left out; those of another shape of the model are not compared with the rest."""
    alike = [_is_same_work(model, done.model) for done in timed]
    others = why_left_out(
        model, [done.what for done, same in zip(timed, alike, strict=True) if same]
    )
    left = iter(others)
    return [next(left) if same else OTHER_WORK for same in alike]


OTHER_WORK = "It was done before the scales, the ends or the tensioners of the model were changed"


def _is_same_work(model: ApparatusModel, then: ApparatusModel) -> bool:
    """Whether a stop and an end meant the same work in that version of the model."""
    return model.procedure.tensioners_per_side == then.procedure.tensioners_per_side and all(
        (axis.scale, axis.ends) == (other.scale, other.ends)
        for axis, other in zip(model.axes, then.axes, strict=True)
    )


def _told(fit: TimesFit, used: int) -> str:
    """The reason on record, with what stays an estimate."""
    reason = f"times fitted from {used} change-overs"
    if not fit.model.procedure.estimated:
        return reason
    return f"{reason}; still estimates: {'; '.join(part.name for part in fit.kept)}"


class TimesMovedOn(SettingsDeskError):
    """The model, or what was learned of it, is not what the coach saw when accepting."""

    def __init__(self, present: ModelVersion) -> None:
        self.present = present

    def __str__(self) -> str:
        return (
            f"The model (version {self.present.version}, by {self.present.recorded_by}) or the"
            " change-overs timed on it are others than when you opened the page. Nothing was"
            " changed. Go back, load the page again, and look at the fitted times once more"
        )
