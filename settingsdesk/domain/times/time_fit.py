"""The times of a model's operations, fitted to change-overs that were done and timed.

Non-negative least squares of the seconds that were taken on what each change-over consists of.
How good the fitted times are is said by change-overs that they were not fitted to: these are cut
into folds, and each fold is planned with times fitted to the others, in the whole seconds that a
model has.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.crew import crew_time_s
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.times.nnls import nnls
from settingsdesk.domain.times.separable_times import Row, alike, missing
from settingsdesk.domain.times.time_parts import Shares, TimePart, time_parts, with_times
from settingsdesk.domain.times.timed import TimedChangeOver

FEWEST_BEHIND = 3
"""A time that fewer change-overs show is not fitted: one slow hand would be the whole of it."""

FEWEST = 8
FEWEST_PER_TIME = 2
FOLDS = 10


@dataclass(frozen=True, slots=True)
class FittedTime:
    """One time: now, and fitted, in seconds; ``fitted_s`` is ``None`` where it was not fitted.

    ``behind`` is the number of change-overs that show it.
    """

    part: TimePart
    present_s: int
    fitted_s: float | None
    behind: int

    @property
    def whole_s(self) -> int:
        """What the model with the fitted times says: rounded to whole seconds."""
        return self.present_s if self.fitted_s is None else round(self.fitted_s)


@dataclass(frozen=True, slots=True)
class Compared:
    """A change-over that was timed, beside what it takes by the present times and by others.

    ``fitted_s`` is by times that were fitted without it.
    """

    timed: TimedChangeOver
    present_s: int
    fitted_s: int

    @property
    def present_error_s(self) -> int:
        """How far the present times are off, without direction."""
        return abs(self.timed.seconds - self.present_s)

    @property
    def fitted_error_s(self) -> int:
        """How far the fitted times are off, without direction."""
        return abs(self.timed.seconds - self.fitted_s)


@dataclass(frozen=True, slots=True)
class TimesFit:
    """What timed change-overs say of a model's times; ``model`` is the one that has them."""

    model: ApparatusModel
    times: tuple[FittedTime, ...]
    compared: tuple[Compared, ...]

    @property
    def present_error_s(self) -> float:
        """The mean error of the present times, in seconds without direction."""
        return fmean(comparison.present_error_s for comparison in self.compared)

    @property
    def fitted_error_s(self) -> float:
        """The mean error of the fitted times on change-overs kept out of their fit."""
        return fmean(comparison.fitted_error_s for comparison in self.compared)

    @property
    def nearer(self) -> int:
        """For how many change-overs the fitted times came nearer than the present ones."""
        return sum(
            comparison.fitted_error_s < comparison.present_error_s for comparison in self.compared
        )

    @property
    def is_better(self) -> bool:
        """Whether the fitted times have the smaller error."""
        return self.fitted_error_s < self.present_error_s

    @property
    def kept(self) -> tuple[TimePart, ...]:
        """The times that stay as they are, because too few change-overs show them."""
        return tuple(time.part for time in self.times if time.fitted_s is None)


def fit_times(model: ApparatusModel, timed: Sequence[TimedChangeOver]) -> TimesFit:
    """The times of a model from change-overs that ``why_left_out`` has nothing against.

    A time that too few of them show keeps its present value, which is taken off what they took.
    The model counts as measured once all its times are fitted, or it counted so before.
    ``TooFewTimed`` where there are fewer than twice as many change-overs as times, and
    ``TooMuchAlike`` where these show some times only together.
    """
    learner = _Learner(model, timed)
    shown = learner.shown(range(len(timed)))
    needed = max(FEWEST, FEWEST_PER_TIME * len(shown))
    if len(timed) < needed:
        raise TooFewTimed(len(timed), needed)
    learner.must_tell_apart(shown)
    fitted_s = learner.fitted_s(range(len(timed)))
    changed = learner.with_fitted(fitted_s)
    estimated = model.procedure.estimated and len(fitted_s) < len(learner.parts)
    return TimesFit(
        replace(changed, procedure=replace(changed.procedure, estimated=estimated)),
        tuple(learner.told(fitted_s)),
        tuple(learner.compared()),
    )


class _Learner:
    """The change-overs as rows of shares, and fits to any selection of them."""

    def __init__(self, model: ApparatusModel, timed: Sequence[TimedChangeOver]) -> None:
        self._model, self._timed = model, timed
        self.parts = time_parts(model)
        shares = Shares(model, self.parts)
        self._rows: list[Row] = [shares.of(change_over) for change_over in timed]
        self._floats = [[float(share) for share in row] for row in self._rows]

    def behind(self, column: int, chosen: Sequence[int]) -> int:
        """How many of the chosen change-overs show that part."""
        return sum(1 for place in chosen if self._rows[place][column])

    def shown(self, chosen: Sequence[int]) -> list[int]:
        """The columns of the parts that enough of the chosen change-overs show."""
        return [
            column
            for column in range(len(self.parts))
            if self.behind(column, chosen) >= FEWEST_BEHIND
        ]

    def must_tell_apart(self, shown: Sequence[int]) -> None:
        """``TooMuchAlike`` where the change-overs show some of those parts only together."""
        parts = [self.parts[column] for column in shown]
        rows = [tuple(row[column] for column in shown) for row in self._rows]
        sets = alike(rows, parts)
        if sets:
            lacking = [
                words for together in sets for words in missing(self._model, self._timed, together)
            ]
            mixed = set().union(*sets)
            raise TooMuchAlike(
                tuple(part for part in parts if part in mixed), tuple(dict.fromkeys(lacking))
            )

    def fitted_s(self, chosen: Sequence[int]) -> dict[TimePart, float]:
        """The seconds of each part that is shown, fitted to the chosen change-overs."""
        shown = self.shown(chosen)
        kept = {
            column: part.present_s(self._model)
            for column, part in enumerate(self.parts)
            if column not in shown
        }
        rows = [[self._floats[place][column] for column in shown] for place in chosen]
        left_s = [
            self._timed[place].seconds
            - sum(self._floats[place][column] * seconds for column, seconds in kept.items())
            for place in chosen
        ]
        factors = nnls(rows, left_s).factors
        return {self.parts[column]: seconds for column, seconds in zip(shown, factors, strict=True)}

    def with_fitted(self, fitted_s: dict[TimePart, float]) -> ApparatusModel:
        """The model with those times in whole seconds."""
        whole_s = {part: round(seconds) for part, seconds in fitted_s.items()}
        return with_times(self._model, whole_s)

    def told(self, fitted_s: dict[TimePart, float]) -> list[FittedTime]:
        """Every part with its present and its fitted time."""
        every = range(len(self._timed))
        return [
            FittedTime(
                part, part.present_s(self._model), fitted_s.get(part), self.behind(column, every)
            )
            for column, part in enumerate(self.parts)
        ]

    def compared(self) -> list[Compared]:
        """Every change-over, planned by the present times and by times fitted without its fold.

        Fold by fold every tenth change-over, so that an evening is spread over all of them.
        """
        count = len(self._timed)
        folds = min(FOLDS, count)
        models = [
            self.with_fitted(self.fitted_s([n for n in range(count) if n % folds != fold]))
            for fold in range(folds)
        ]
        return [
            Compared(
                change_over,
                _planned_s(self._model, change_over),
                _planned_s(models[place % folds], change_over),
            )
            for place, change_over in enumerate(self._timed)
        ]


def _planned_s(model: ApparatusModel, change_over: TimedChangeOver) -> int:
    return crew_time_s(model, change_over.start, change_over.goal, change_over.hands)


class TooFewTimed(SettingsDeskError):
    """Too few change-overs to fit as many times as they show."""

    def __init__(self, usable: int, needed: int) -> None:
        self.usable, self.needed = usable, needed

    def __str__(self) -> str:
        return (
            f"At least {self.needed} change-overs that can be used are needed to fit these times;"
            f" there are {self.usable} so far. Confirm more of them at the bars"
        )


class TooMuchAlike(SettingsDeskError):
    """Change-overs that show the sum of some times, but not each of them."""

    def __init__(self, mixed: tuple[TimePart, ...], lacking: tuple[str, ...]) -> None:
        self.mixed, self.lacking = mixed, lacking

    def __str__(self) -> str:
        told = "; ".join(part.name for part in self.mixed)
        return (
            f"The change-overs timed so far are too much alike to tell these times apart: {told}."
            f" Missing are change-overs {', and '.join(self.lacking)}"
        )
