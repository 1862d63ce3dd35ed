"""Sizes of cards, measured back from the PDF, against the norms of paper and cards.

Sources: ID-1 is 85.60 × 53.98 mm (ISO/IEC 7810, as given in public mirrors of its encyclopaedia
article; FACTS C01). A4 is 210 × 297 mm and A6 105 × 148 mm (ISO 216, as given in public tables;
C02). The quiet zone of a QR symbol is 4 modules on each side (ISO/IEC 18004, as given by two
public guides; C04). Modules under 0.4 mm are too small for phones (one of them; C07). That cards
should have 0.60 and 0.80 mm is this project's own measurement.
"""

from dataclasses import replace
from itertools import pairwise

import pytest

from settingsdesk.cards.pdf import Size
from tests.cards.reading import page_sizes_mm, paths, rendered, stencils
from tests.cards.samples import CARD, as_pdf

EXACT = pytest.approx
ID1_MM = (85.60, 53.98)
A6_MM = (105.0, 148.0)
A4_MM = (210.0, 297.0)
LEAST_MODULE_MM = {Size.A6: 0.80, Size.ID1: 0.60, Size.A4_SQUAD: 0.80}
URLS = {
    29: "https://h.example/K/7KM4Q2XPRTUVWXYZ23456789AB",
    33: "https://settings.hall.example/K/7KM4Q2XPRTUVWXYZ23456789AB",
    37: "https://settings.of.the.gymnastics.hall.example/K/7KM4Q2XPRTUVWXYZ23456789AB",
}


class TestPages:
    @pytest.mark.parametrize(
        ("size", "expected"), [(Size.A6, A6_MM), (Size.ID1, A4_MM), (Size.A4_SQUAD, A4_MM)]
    )
    def test_they_have_the_size_of_the_norm(self, size, expected):
        """To 0.01 mm, so that nothing is scaled where the paper fits."""
        assert page_sizes_mm(as_pdf([CARD], size)) == [EXACT(expected, abs=0.01)]


class TestCutMarks:
    def test_they_are_apart_by_the_size_of_an_id1_card(self):
        """A cut card slides into a card sleeve."""
        marks = paths(as_pdf([CARD], Size.ID1))
        above = sorted(mark.left for mark in marks if mark.bottom < 13 and _upright(mark))
        beside = sorted(mark.top for mark in marks if mark.right < 19 and _level(mark))
        assert len(above) == 3
        assert len(beside) == 6
        for left, right in pairwise(above):
            assert right - left == EXACT(ID1_MM[0], abs=0.01)
        for top, bottom in pairwise(beside):
            assert bottom - top == EXACT(ID1_MM[1], abs=0.01)

    def test_ten_cards_lie_in_the_middle_of_the_sheet(self):
        """Printers leave a margin unprinted, much the same on every side."""
        marks = paths(as_pdf([CARD], Size.ID1))
        above = sorted(mark.left for mark in marks if mark.bottom < 13 and _upright(mark))
        assert above[1] == EXACT(105, abs=0.01)

    def test_four_a6_cards_are_cut_in_the_middle_of_the_sheet(self):
        """Two straight cuts, or two folds."""
        marks = paths(as_pdf([CARD], Size.A4_SQUAD))
        assert any(
            _upright(mark) and mark.left == EXACT(105, abs=0.01) and mark.bottom < 4.51
            for mark in marks
        )
        assert any(
            _level(mark) and mark.top == EXACT(148.5, abs=0.01) and mark.right < 4.51
            for mark in marks
        )


class TestTheRuler:
    def test_it_is_fifty_millimetres_long_on_a_sheet_of_small_cards(self):
        """Whoever lays a ruler against it knows whether the print is true."""
        lines = [path for path in paths(as_pdf([CARD], Size.ID1)) if path.top > 284]
        assert any(_level(line) and line.right - line.left == EXACT(50, abs=0.01) for line in lines)

    def test_it_stands_clear_of_the_frame_of_an_a6_card(self):
        """Six marks, ten millimetres apart."""
        ticks = sorted(
            path.left
            for path in paths(as_pdf([CARD], Size.A6))
            if _upright(path) and path.bottom == EXACT(142.0, abs=0.02) and path.top > 140
        )
        assert ticks == EXACT([7.5, 17.5, 27.5, 37.5, 47.5, 57.5], abs=0.01)


class TestTheSymbol:
    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("modules", URLS)
    def test_its_modules_are_large_enough(self, size, modules):
        """Read by a phone from arm's length."""
        (symbol,) = stencils(as_pdf([replace(CARD, url=URLS[modules])], size))
        module_mm = (symbol.right - symbol.left) / modules
        assert module_mm >= LEAST_MODULE_MM[size] - 0.001
        assert symbol.bottom - symbol.top == EXACT(symbol.right - symbol.left, abs=0.01)

    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("modules", URLS)
    def test_four_modules_around_it_are_left_white(self, size, modules):
        """A line or a letter in there keeps some phones from finding the symbol."""
        pdf = as_pdf([replace(CARD, url=URLS[modules])], size)
        (symbol,) = stencils(pdf)
        module_mm = (symbol.right - symbol.left) / modules
        page = rendered(pdf, 300)[0].convert("L")
        quiet_mm = 4 * module_mm
        zone = page.crop(
            tuple(
                round(side / 25.4 * 300)
                for side in (
                    symbol.left - quiet_mm,
                    symbol.top - quiet_mm,
                    symbol.right + quiet_mm,
                    symbol.bottom + quiet_mm,
                )
            )
        )
        inked = zone.point(lambda shade: 255 if shade < 250 else 0).getbbox()
        quiet_px = quiet_mm / 25.4 * 300
        assert inked == EXACT(
            (quiet_px, quiet_px, zone.width - quiet_px, zone.height - quiet_px), abs=2
        )

    def test_on_an_id1_card_it_keeps_four_modules_from_the_cut(self):
        """What lies behind a cut card may be dark."""
        for modules, url in URLS.items():
            (symbol,) = stencils(as_pdf([replace(CARD, url=url)], Size.ID1))
            quiet_mm = 4 * (symbol.right - symbol.left) / modules
            assert 105 - symbol.right >= quiet_mm
            assert (297 - 5 * 53.98) / 2 + 53.98 - symbol.bottom >= quiet_mm


def _upright(path) -> bool:
    return path.right - path.left < 0.001 < path.bottom - path.top


def _level(path) -> bool:
    return path.bottom - path.top < 0.001 < path.right - path.left
