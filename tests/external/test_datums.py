"""Published apparatus heights: one height, read in different datums.

Sources (read in pages that quote the apparatus norms; none of the norms themselves was at hand):

* A01, A02: Team GB, "Artistic gymnastics", archived 2014,
  web.archive.org/web/20141010030951/http://www.teamgb.com/summer-sports/gymnastics-artistic
* A03 and the values for the men's apparatus: usgyms.net/fig.htm (2000-2010)
* A04: All-China sports federation, gymnastics.com.cn/Olympic/introduction/2007/1016/448406.html
* A05: en.wikipedia "Uneven bars" (rail diameter 4 cm)
* A18: qwyd.net rendering of the norm; canadagames.ca/artistic-gymnastics (A21);
  mo-gylity.webnode.page (A25)
* A31: dlgsc.wa.gov.au sports-dimensions-guide/gymnastics (mats 20 cm, pommel horse 10 cm)
"""

import pytest

from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, Section

RAIL = Section(40, 40)  # A05
MAT_MM, POMMEL_MAT_MM = 200, 100  # A31

TOP = HeightDatum()
CENTRE = HeightDatum(edge=Edge.CENTRE)
UNDERSIDE = HeightDatum(edge=Edge.UNDERSIDE)
OVER_MAT = HeightDatum(Level.MAT)
UNDERSIDE_OVER_MAT = HeightDatum(Level.MAT, Edge.UNDERSIDE)

LOW_MM, HIGH_MM = 1700, 2500  # A02, A01


class TestUnevenBars:
    @pytest.mark.parametrize(
        ("datum", "low_mm", "high_mm"),
        [
            pytest.param(UNDERSIDE, 1660, 2460, id="A03 166/246 is the underside from the floor"),
            pytest.param(OVER_MAT, 1500, 2300, id="A04 150/230 is the upper edge over the mat"),
        ],
    )
    def test_three_published_pairs_are_one_setting(self, datum, low_mm, high_mm):
        """X1: 170/250, 166/246 and 150/230 do not contradict each other."""
        assert datum.to_canonical_mm(low_mm, RAIL, MAT_MM) == LOW_MM
        assert datum.to_canonical_mm(high_mm, RAIL, MAT_MM) == HIGH_MM
        assert datum.from_canonical_mm(LOW_MM, RAIL, MAT_MM) == low_mm
        assert datum.from_canonical_mm(HIGH_MM, RAIL, MAT_MM) == high_mm

    @pytest.mark.parametrize(
        ("datum", "mat_mm", "low_mm", "high_mm"),
        [
            (TOP, 200, 1700, 2500),
            (CENTRE, 200, 1680, 2480),
            (UNDERSIDE, 200, 1660, 2460),
            (OVER_MAT, 200, 1500, 2300),
            (UNDERSIDE_OVER_MAT, 200, 1460, 2260),
            (OVER_MAT, 300, 1400, 2200),
        ],
    )
    def test_every_datum_of_the_norm_setting(self, datum, mat_mm, low_mm, high_mm):
        """G01, computed from A01, A02, A05 and A31; 300 is the 20 cm mat with 10 cm on top."""
        assert datum.from_canonical_mm(LOW_MM, RAIL, mat_mm) == low_mm
        assert datum.from_canonical_mm(HIGH_MM, RAIL, mat_mm) == high_mm


class TestOtherApparatus:
    @pytest.mark.parametrize(
        ("floor_mm", "over_mat_mm", "mat_mm"),
        [
            pytest.param(2000, 1800, MAT_MM, id="X2 parallel bars, A17"),
            pytest.param(1950, 1750, MAT_MM, id="X2 parallel bars, older, A18"),
            pytest.param(2800, 2600, MAT_MM, id="X3 horizontal bar and rings, A21, A23"),
            pytest.param(2750, 2550, MAT_MM, id="X3 the same, older"),
            pytest.param(1150, 1050, POMMEL_MAT_MM, id="X4 pommel horse, A25"),
        ],
    )
    def test_two_published_heights_differ_by_the_mat(self, floor_mm, over_mat_mm, mat_mm):
        """Floor values and mat values of the same norm."""
        assert OVER_MAT.from_canonical_mm(floor_mm, None, mat_mm) == over_mat_mm
        assert OVER_MAT.to_canonical_mm(over_mat_mm, None, mat_mm) == floor_mm
