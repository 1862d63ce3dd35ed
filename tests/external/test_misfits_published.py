"""Which reading the others contradict, against published data and the published formula.

F. J. Anscombe, "Graphs in Statistical Analysis", The American Statistician 27 (1973) 17-21, third
data set: ten points on one line and one far off it; the line of the ten is y = 4.01 + 0.345 x
(retyped from memory; that ten lie on it is checked here). The externally studentised residual is
R. D. Cook and S. Weisberg, Residuals and Influence in Regression (1982), equation 2.2.8, from
memory: it needs no refit, and is worked out here from the hat matrix with numpy.
"""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from settingsdesk.domain.hall.calibration import MISFIT_SD, TAPE_MM, TapedStop, calibrate
from settingsdesk.domain.hall.scales import RegularScale, TabulatedScale

X = (4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14)
Y = (5.39, 5.73, 6.08, 6.42, 6.77, 7.11, 7.46, 7.81, 8.15, 12.74, 8.84)
OUTLIER = X.index(13)


def studentised(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Each residual against the scatter of the others, in their standard deviations."""
    design = np.column_stack([np.ones(len(x)), x])
    hat = design @ np.linalg.inv(design.T @ design) @ design.T
    residual, leverage = y - hat @ y, np.diag(hat)
    freedom = len(x) - 3
    others = (residual @ residual) - residual**2 / (1 - leverage)
    scatter = np.sqrt(np.maximum(others, 1e-9) / freedom * (1 - leverage))
    return np.abs(residual) / scatter


class TestAnscombesThirdSet:
    TAPED = [TapedStop(stop, 100 * y) for stop, y in enumerate(Y)]  # noqa: RUF012  # read only
    SCALE = TabulatedScale(tuple((str(x), 100.0 * x) for x in X))

    def test_the_one_point_off_the_line_is_the_misfit(self):
        """Anscombe 1973: "all but one point lie on a line"."""
        assert calibrate(self.SCALE, self.TAPED).misfits == (OUTLIER,)

    def test_without_it_the_fit_is_the_published_line_of_the_ten(self):
        """y = 4.01 + 0.345 x; with it, y = 3.00 + 0.500 x as in all four sets."""
        whole = calibrate(self.SCALE, self.TAPED).scale
        ten = calibrate(self.SCALE, self.TAPED, {OUTLIER})
        assert (whole.offset_mm / 100, whole.gain) == pytest.approx((3.00, 0.500), abs=0.005)
        assert (ten.scale.offset_mm / 100, ten.scale.gain) == pytest.approx(
            (4.01, 0.345), abs=0.005
        )
        assert max(abs(mm) for mm in np.delete(ten.residuals_mm, OUTLIER)) < 1


class TestTheFormula:
    @given(
        st.lists(st.integers(-15, 15), min_size=8, max_size=8),
        st.integers(0, 7),
        st.integers(0, 250),
    )
    def test_one_slip_is_named_just_where_the_published_measure_passes_the_limit(
        self, scatter, at, slip
    ):
        """Four standard deviations of the others, and more than a tape is misread by."""
        y = np.array([1500 + 50 * stop + tenth / 10 for stop, tenth in enumerate(scatter)])
        y[at] += slip / 2
        x = np.array([1500.0 + 50 * stop for stop in range(8)])
        found = studentised(x, y)
        worst = int(np.argmax(found))
        others = [place for place in range(8) if place != worst]
        line = np.polyfit(x[others], y[others], 1)
        off_mm = abs(y[worst] - np.polyval(line, x[worst]))
        assume(abs(found[worst] - MISFIT_SD) > 0.01)
        assume(abs(off_mm - TAPE_MM) > 0.01)
        taped = [TapedStop(stop, length) for stop, length in enumerate(y)]
        misfits = calibrate(RegularScale(1500, 50, 8), taped).misfits
        if found[worst] > MISFIT_SD and off_mm > TAPE_MM:
            assert worst in misfits
        elif slip == 0:
            assert misfits == ()
