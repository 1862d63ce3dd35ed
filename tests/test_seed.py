"""The demo club: its files fit the program, and its evening shows what a good order saves."""

import csv
import tomllib
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from settingsdesk.domain.base.kinds import KINDS, kind_of
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import change_over_s
from settingsdesk.domain.hall.calibration import Calibration, TapedStop, calibrate
from settingsdesk.domain.hall.definition import model_from_data, model_to_data
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.rule_books import Rule, Standing
from settingsdesk.domain.hall.scales import ContinuousScale
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import transfer

SEED = Path(__file__).parents[1] / "seed"


def read(name: str) -> dict[str, Any]:
    return tomllib.loads((SEED / name).read_text("utf-8"))


MODELS = {data["name"]: model_from_data(data) for data in read("models.toml")["model"]}
CLUB = read("club.toml")
APPARATUS = {data["key"]: data for data in CLUB["apparatus"]}
ROTATIONS = {rotation["apparatus"]: rotation for rotation in CLUB["rotation"]}
RULES = [rule for book in read("rulebooks.toml")["book"] for rule in book["rule"]]
with (SEED / "squad.csv").open(encoding="utf-8", newline="") as squad_file:
    SQUAD = list(csv.DictReader(squad_file))


def who(row: dict[str, str]) -> str:
    return f"{row['Family name']}, {row['Given name']}"


def mm(cm: str) -> int:
    return round(float(cm) * 10)


def setting(row: dict[str, str]) -> Setting:
    kind = MODELS[row["Model"]].kind
    wanted = {
        axis.key: Wanted(mm(row[f"{axis.name} (cm)"]), mm(row[f"{axis.name} accepts (± cm)"]))
        for axis in kind.axes
    }
    return Setting(kind, wanted)


def calibrations(data: dict[str, Any]) -> dict[str, Calibration]:
    """What the tape readings of an apparatus give, axis by axis."""
    found = {}
    for taken in data.get("calibration", []):
        scale = MODELS[data["model"]].axis(taken["axis"]).scale
        readings = [TapedStop(scale.stop_of(label), taped_mm) for label, taped_mm in taken["taped"]]
        found[taken["axis"]] = calibrate(scale, readings)
    return found


def standing_model(data: dict[str, Any]) -> ApparatusModel:
    """The apparatus's model, on scales of its own where it was taped."""
    own = {axis: calibration.scale for axis, calibration in calibrations(data).items()}
    return MODELS[data["model"]].with_scales(own)


def present_setup(data: dict[str, Any]) -> Setup:
    model = MODELS[data["model"]]
    return tuple(axis.scale.stop_of(data["setup"][axis.key]) for axis in model.axes)


class TestModels:
    def test_every_model_is_read_whole(self) -> None:
        """A field misspelt in the file would be dropped without a word."""
        for data in read("models.toml")["model"]:
            written = model_to_data(MODELS[data["name"]])
            assert {**written["procedure"], **data["procedure"]} == written["procedure"]
            assert data.keys() <= written.keys()
            for key, axis in data["axes"].items():
                assert axis.keys() <= written["axes"][key].keys()
                assert axis["scale"].items() <= written["axes"][key]["scale"].items()

    def test_every_kind_is_there_and_bars_of_several_makes(self) -> None:
        """Carrying a setting from one make to another is what the demo is to show."""
        kinds = [model.kind.key for model in MODELS.values()]
        assert set(kinds) == set(KINDS)
        assert kinds.count("uneven_bars") >= 3
        assert kinds.count("parallel_bars") >= 2

    def test_all_times_are_marked_as_estimates(self) -> None:
        """A coach must not take an invented time for a measured one."""
        assert all(model.procedure.estimated for model in MODELS.values())


class TestClub:
    def test_every_apparatus_is_of_a_model_and_stands_somewhere(self) -> None:
        """The marks that are said to stand there must be printed on that apparatus."""
        for data in APPARATUS.values():
            model = MODELS[data["model"]]
            assert list(data["setup"]) == [axis.key for axis in model.axes]
            assert model.marks(present_setup(data)) == data["setup"]

    def test_tape_readings_scatter_like_a_tape_and_contradict_nothing(self) -> None:
        """A demo that opens with a misread tape would teach distrust."""
        taken = [one for data in APPARATUS.values() for one in calibrations(data).values()]
        assert taken
        for calibration in taken:
            assert calibration.misfits == ()
            assert 0 < max(abs(residual) for residual in calibration.residuals_mm) <= 1.5

    def test_keys_and_spoken_names_are_given_once(self) -> None:
        """Two apparatus of one name would be taken for each other."""
        assert len(APPARATUS) == len(CLUB["apparatus"])
        assert len({data["name"] for data in CLUB["apparatus"]}) == len(APPARATUS)

    def test_everybody_on_a_list_has_a_setting_on_what_stands_there(self) -> None:
        """Nobody on tonight's list may be without a setting."""
        for key, rotation in ROTATIONS.items():
            model = APPARATUS[key]["model"]
            have = {who(row) for row in SQUAD if row["Model"] == model}
            assert set(rotation["athletes"]) <= have
            assert len(set(rotation["athletes"])) == len(rotation["athletes"])
        sizes = {APPARATUS[key]["model"]: len(ROTATIONS[key]["athletes"]) for key in ROTATIONS}
        assert sizes == {"Hall frame A": 12, "Parallel frame A": 8}


class TestSquad:
    def test_no_name_and_no_row_comes_twice(self) -> None:
        """Two athletes of one name could get each other's card."""
        athletes = {who(row) for row in SQUAD}
        assert len(athletes) == 24
        assert len({row["Family name"] for row in SQUAD}) == len(athletes)
        assert len({(who(row), row["Model"]) for row in SQUAD}) == len(SQUAD)

    def test_some_have_settings_on_two_models(self) -> None:
        """Whoever has been on a make before has a setting of her own there."""
        assert sum(1 for name in {who(row) for row in SQUAD} if rows_of(name) > 1) >= 4

    @pytest.mark.parametrize("row", SQUAD, ids=lambda row: f"{who(row)} on {row['Model']}")
    def test_every_setting_can_be_carried_to_every_apparatus_of_its_kind(
        self, row: dict[str, str]
    ) -> None:
        """An athlete must find her setting on each of the club's and the meet's apparatus."""
        wish = setting(row)
        same_kind = [
            standing_model(data)
            for data in APPARATUS.values()
            if MODELS[data["model"]].kind is wish.kind
        ]
        assert len(same_kind) >= 2
        for model in same_kind:
            found = transfer(wish, model).best
            assert not any(axis.out_of_range for axis in found.axes)
            assert all(abs(axis.residual_mm) <= pitch_mm(model) for axis in found.axes)

    def test_every_setting_is_within_what_is_accepted_on_its_own_model(self) -> None:
        """The squad's usual bars must not open with warnings."""
        for row in SQUAD:
            assert transfer(setting(row), MODELS[row["Model"]]).best.warnings == ()


class TestRuleBooks:
    def test_every_rule_is_read_into_a_limit_on_an_axis_that_exists(self) -> None:
        """A limit on no axis would never warn anybody."""
        for data in RULES:
            axis = kind_of(data["kind"]).axis(data["axis"])
            rule = Rule(
                kind=data["kind"],
                axis=axis.key,
                level=data.get("level", ""),
                least_mm=data.get("least_mm"),
                most_mm=data.get("most_mm"),
                source=data["source"],
                edition=data["edition"],
                standing=Standing[data["standing"].upper()],
                remark=data["remark"],
            )
            assert rule.told(Unit.CENTIMETRE) != "no limit"
            assert rule.source
            assert rule.edition

    @pytest.mark.parametrize("key", list(APPARATUS))
    def test_what_stands_in_the_hall_is_within_a_centimetre_of_the_norms_as_quoted(
        self, key: str
    ) -> None:
        """A limit typed in another datum (mat, underside) would be off by 4 cm or more."""
        model = MODELS[APPARATUS[key]["model"]]
        stands_mm = model.measures_mm(present_setup(APPARATUS[key]))
        for rule in RULES:
            if rule["kind"] == model.kind.key and rule.get("level", "senior") == "senior":
                assert rule["least_mm"] - 10 <= stands_mm[rule["axis"]] <= rule["most_mm"] + 10


class TestTonight:
    @pytest.mark.parametrize(("key", "setups"), [("window_bars", 9), ("long_bars", 6)])
    def test_a_good_order_saves_a_tenth_of_the_time_by_height(self, key: str, setups: int) -> None:
        """The demo's story: the usual rule of thumb is good, and a better order is to be had."""
        model = standing_model(APPARATUS[key])
        start = present_setup(APPARATUS[key])
        listed = [carried(name, model) for name in ROTATIONS[key]["athletes"]]
        best_s = least_s(model, start, frozenset(listed))
        assert len(set(listed)) == setups
        assert best_s <= 0.9 * total_s(model, start, by_height(listed))
        assert best_s <= 0.6 * total_s(model, start, listed)


def rows_of(name: str) -> int:
    return sum(1 for row in SQUAD if who(row) == name)


def pitch_mm(model: ApparatusModel) -> float:
    """The coarsest step of the heights: no carried length may be off by a whole one."""
    return max(
        axis.scale.length_mm(1) - axis.scale.length_mm(0)
        for axis in model.axes
        if not isinstance(axis.scale, ContinuousScale)
    )


def carried(name: str, model: ApparatusModel) -> Setup:
    row = next(row for row in SQUAD if who(row) == name and row["Model"] == model.name)
    return transfer(setting(row), model).best.setup


def by_height(setups: list[Setup]) -> list[Setup]:
    """The rule of thumb: by the high rail and then the spread; equal ones stay as listed."""
    return sorted(setups, key=lambda setup: setup[-2:])


def total_s(model: ApparatusModel, start: Setup, setups: Iterable[Setup]) -> int:
    seconds = 0
    for setup in setups:
        seconds += change_over_s(model, start, setup)
        start = setup
    return seconds


def least_s(model: ApparatusModel, start: Setup, setups: frozenset[Setup]) -> int:
    """Exact, with everybody at exactly their setup: equal setups always follow each other."""

    @cache
    def least(here: Setup, left: frozenset[Setup]) -> int:
        return min(
            (change_over_s(model, here, there) + least(there, left - {there}) for there in left),
            default=0,
        )

    return least(start, setups)
