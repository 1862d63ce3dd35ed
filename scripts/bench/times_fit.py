"""How near fitted operation times come, and from how many change-overs.

    python scripts/bench/times_fit.py

Simulated evenings on bars of the seed whose true times are known: everything truly takes longer
than the estimates say. Each change-over is quicker or slower by chance (one standard deviation is
12 %), and every tenth is held up by 30 s. Present and fitted times then plan the same 400 other
change-overs; the errors are means without direction against what these truly take. The ratio
is that of the two errors on the same change-overs: below 1 the fitted times are nearer.
"""

import random
import statistics
import tomllib
from itertools import pairwise
from pathlib import Path

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.crew import crew_time_s
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.times.time_fit import fit_times
from settingsdesk.domain.times.time_limits import why_left_out
from settingsdesk.domain.times.time_parts import EVERY, time_parts, with_times
from settingsdesk.domain.times.timed import TimedChangeOver

SEED = Path(__file__).parents[2] / "seed" / "models.toml"
NAMES = ("Hall frame A", "Parallel frame A", "Beam A")
COUNTS = (12, 24, 48, 96)
REPEATS = 20
SCATTER, HELD_UP_S = 0.12, 30


def models() -> list[ApparatusModel]:
    told = tomllib.loads(SEED.read_text(encoding="utf-8"))
    known = {data["name"]: model_from_data(data) for data in told["model"]}
    return [known[name] for name in NAMES]


def truly(model: ApparatusModel) -> ApparatusModel:
    """Two seconds more for each operation, and half as much again for what is always done."""
    true_s = {part: part.present_s(model) + 2 for part in time_parts(model)}
    return with_times(model, true_s | {EVERY: round(1.5 * EVERY.present_s(model))})


def evening(true: ApparatusModel, changes: int, seed: str) -> list[TimedChangeOver]:
    """Athletes of similar height, one after the other, each change-over as long as it takes."""
    chance = random.Random(seed)
    middle = [axis.scale.count // 2 for axis in true.axes]
    reach = [2 if axis.scale.count < 30 else 4 for axis in true.axes]
    stood: list[tuple[int, ...]] = []
    while len(stood) <= changes:
        setup = tuple(m + chance.randint(-r, r) for m, r in zip(middle, reach, strict=True))
        stood += [] if stood[-1:] == [setup] else [setup]
    return [
        TimedChangeOver(here, there, 1, crew_time_s(true, here, there, 1))
        for here, there in pairwise(stood)
    ]


def noisy(changes: list[TimedChangeOver], seed: str) -> list[TimedChangeOver]:
    chance = random.Random(seed)
    return [
        TimedChangeOver(
            one.start,
            one.goal,
            one.hands,
            round(one.seconds * chance.lognormvariate(0, SCATTER))
            + chance.choice([0] * 9 + [HELD_UP_S]),
        )
        for one in changes
    ]


def error_s(model: ApparatusModel, others: list[TimedChangeOver]) -> float:
    return statistics.fmean(
        abs(crew_time_s(model, one.start, one.goal, one.hands) - one.seconds) for one in others
    )


def one_evening(model: ApparatusModel, count: int, seed: str) -> tuple[float, ...] | None:
    """Present and fitted error against the truth, and as the page would tell them."""
    true = truly(model)
    timed = noisy(evening(true, count, f"{seed} fitted"), seed)
    reasons = why_left_out(model, timed)
    try:
        fit = fit_times(model, [one for one, why in zip(timed, reasons, strict=True) if not why])
    except SettingsDeskError:
        return None
    others = evening(true, 400, f"{seed} others")
    return (
        error_s(model, others),
        error_s(fit.model, others),
        fit.present_error_s,
        fit.fitted_error_s,
    )


def main() -> None:
    head = ("model", "timed", "fitted", "present s", "fitted s", "ratio", "told: present", "fitted")
    print("{:18}{:>6}{:>8}{:>11}{:>10}{:>7}{:>15}{:>8}".format(*head))
    for model in models():
        for count in COUNTS:
            found = [one_evening(model, count, f"{model.name} {n}") for n in range(REPEATS)]
            done = [one for one in found if one is not None]
            told = f"{model.name:18}{count:>6}{len(done):>5}/{REPEATS}"
            if done:
                present, fitted, told_present, told_fitted = map(
                    statistics.fmean, zip(*done, strict=True)
                )
                told += f"{present:>11.1f}{fitted:>10.1f}{fitted / present:>7.2f}"
                told += f"{told_present:>15.1f}{told_fitted:>8.1f}"
            print(told)


if __name__ == "__main__":
    main()
