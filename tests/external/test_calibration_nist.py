"""The straight line of a calibration against certified and published results.

* S01: NIST Statistical Reference Datasets, linear regression, "Norris" (level of difficulty:
  lower), www.itl.nist.gov/div898/strd/lls/data/LINKS/DATA/Norris.dat: calibration of ozone
  monitors, 36 observations, certified to 15 digits.
* S04: JCGM 100:2008 (GUM), annex H.3, calibration of a thermometer: data read at
  gtc.readthedocs.io/en/latest/API/GUM_H3.html, results from memory, confirmed by refitting.

NIST's NoInt1 and NoInt2 do not apply: they are for a line through zero, which no calibration of
ours is.
"""

import pytest

from settingsdesk.domain.hall.calibration import fit_line

NORRIS_X = (
    *(0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4),
    *(0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3),
    *(0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5),
)
NORRIS_Y = (
    *(0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3),
    *(0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3),
    *(0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2),
)
GUM_T = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
GUM_B = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
GUM_T0 = 20


class TestNorris:
    line = fit_line(NORRIS_X, NORRIS_Y)

    def test_the_data_are_all_there(self):
        """36 observations."""
        assert len(NORRIS_X) == len(NORRIS_Y) == 36

    def test_intercept_and_slope_have_the_certified_values(self):
        """To eleven digits and more, of doubles."""
        assert self.line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
        assert self.line.slope == pytest.approx(1.00211681802045, rel=1e-13)

    def test_their_standard_errors_have_the_certified_values(self):
        """The scatter of a tape's readings depends on them."""
        assert self.line.intercept_se == pytest.approx(0.232818234301152, rel=1e-12)
        assert self.line.slope_se == pytest.approx(0.429796848199937e-03, rel=1e-12)

    def test_the_residuals_have_the_certified_sum_of_squares_and_deviation(self):
        """34 degrees of freedom."""
        squares = sum(residual**2 for residual in self.line.residuals)
        assert squares == pytest.approx(26.6173985294224, rel=1e-12)
        assert self.line.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)


class TestThermometer:
    line = fit_line([t - GUM_T0 for t in GUM_T], GUM_B)

    def test_the_line_has_the_published_coefficients(self):
        """Rounded as the guide prints them."""
        assert round(self.line.intercept, 4) == -0.1712
        assert round(self.line.slope, 5) == 0.00218

    def test_it_has_the_published_uncertainties(self):
        """And the published deviation of the residuals."""
        assert round(self.line.intercept_se, 4) == 0.0029
        assert round(self.line.slope_se, 5) == 0.00067
        assert round(self.line.residual_sd, 4) == 0.0035

    def test_the_predicted_correction_at_30_degrees_is_the_published_one(self):
        """10 degrees from the reference."""
        assert round(self.line.at(30 - GUM_T0), 4) == -0.1494
