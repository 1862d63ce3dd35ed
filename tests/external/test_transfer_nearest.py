"""The closest marks and the runner-up, against a general nearest-neighbour search.

Every combination of stops is a point; the least weighted sum of squares is the nearest point where
each axis is stretched by the root of its weight. scipy's ``cKDTree`` (S. Maneewongvatana and
D. M. Mount 1999) finds the two nearest ones, by no way that the program goes.
"""

from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.geometry import Geometry, Leaning, Upright
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import RegularScale
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import transfer

FRAMES: dict[str, Geometry] = {"upright": Upright(800), "leaning": Leaning(1300, 1200, 50)}


@cache
def bars(frame: str) -> ApparatusModel:
    """Nine holes every 5 cm on both rails, 31 marks every 2 cm on the spread."""
    scales = (
        RegularScale(1400, 50, 9),
        RegularScale(2200, 50, 9),
        RegularScale(1300, 20, 31),
    )
    axes = KINDS["uneven_bars"].axes
    return ApparatusModel(
        "Bars",
        KINDS["uneven_bars"],
        tuple(
            Axis(kind, scale, AxisTimes(1, 1, 1), kind.ends)
            for kind, scale in zip(axes, scales, strict=True)
        ),
        Procedure(0, 0, 0, 0, 0),
        Section(40, 40),
        FRAMES[frame],
    )


@cache
def points(frame: str) -> tuple[list[tuple[int, ...]], np.ndarray]:
    model = bars(frame)
    setups = list(product(*(range(axis.scale.count) for axis in model.axes)))
    return setups, np.array([list(model.measures_mm(setup).values()) for setup in setups])


class TestTheClosestMarks:
    @pytest.mark.parametrize("frame", FRAMES)
    @settings(max_examples=40)
    @given(
        st.tuples(st.integers(1450, 1750), st.integers(2250, 2550), st.integers(1350, 1850)),
        st.tuples(*(st.integers(1, 9) for _ in range(3))),
    )
    def test_and_the_runner_up_are_the_two_nearest_points(self, frame, wanted_mm, weights):
        """Where no height is half-way between two: the drop decides there, and not the sum."""
        setups, measures = points(frame)
        stretch = np.sqrt(np.array(weights, dtype=float))
        far, near = cKDTree(measures * stretch).query(np.array(wanted_mm) * stretch, k=3)
        assume(np.all(np.diff(far**2) > 1e-3))
        model = bars(frame)
        keys = [axis.key for axis in model.axes]
        wishes = {
            key: Wanted(mm, weight=weight)
            for key, mm, weight in zip(keys, wanted_mm, weights, strict=True)
        }
        off = measures[near[0]][:2] - np.array(wanted_mm[:2])
        assume(np.all(np.abs(np.abs(off) - 25) > 5))
        found = transfer(Setting(model.kind, wishes), model)
        assert found.best.setup == setups[near[0]]
        assert found.best.score == pytest.approx(far[0] ** 2, abs=1e-4)
        assert found.runner_up is not None
        assert found.runner_up.setup == setups[near[1]]
