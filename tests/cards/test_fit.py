"""Texts made to fit their place."""

from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.cards.fit import Place, fitted
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.units import Unit

names = st.text("abcdefghij ÄÖÜßéŁđ-’MW", max_size=90).map(lettered)
places = st.builds(
    Place,
    width_mm=st.floats(8, 90),
    most_pt=st.floats(10, 24),
    least_pt=st.floats(4.5, 9),
    lines=st.integers(1, 3),
    face=st.sampled_from(Face),
)


class TestFitted:
    @given(names, places)
    def test_nothing_ever_runs_out_of_its_place(self, text, place):
        """No name runs into the start number, however long it is."""
        fit = fitted(text, place)
        assert 1 <= len(fit.lines) <= place.lines
        assert place.least_pt <= fit.size_pt <= place.most_pt
        for line in fit.lines:
            assert width_mm(line, place.face, fit.size_pt) <= place.width_mm + 1e-6

    @given(names, places)
    def test_what_is_missing_is_seen_to_be_missing(self, text, place):
        """Either all of a text is there, or it ends in an ellipsis."""
        fit = fitted(text, place)
        shown = "".join(fit.lines).replace(" ", "")
        if fit.cut:
            assert shown.endswith("…")
            assert text.replace(" ", "").startswith(shown[:-1])
        else:
            assert shown == text.replace(" ", "")

    @given(st.floats(16, 90), st.integers(0, 999))
    def test_no_length_is_torn_at_the_end_of_a_line(self, width_mm, mm):
        """Who reads 62 on one line and 3/8 in on the next sets 62."""
        inches = length_in_words(mm, Unit.INCH)
        told = f"mark 38 1/2, tape {inches}, wanted 170.0 ± 1.5 cm"
        fit = fitted(lettered(told), Place(width_mm, 8, 6, lines=9))
        assert not fit.cut
        for figure in ("38 1/2,", f"{inches},", "± 1.5 cm"):
            assert sum(lettered(figure) in line for line in fit.lines) == 1

    def test_a_short_text_takes_the_largest_letters(self):
        """A name of four letters is read from across the hall."""
        assert fitted("Mira", Place(60, 22, 9)).size_pt == 22

    def test_letters_shrink_before_a_line_is_broken(self):
        """One line a little smaller is easier to find than two."""
        fit = fitted("Konstantina M.", Place(50, 22, 9, lines=2))
        assert len(fit.lines) == 1
        assert 15.5 < fit.size_pt < 22

    def test_lines_are_broken_between_words(self):
        """Double names stay readable."""
        fit = fitted("Maximiliane Konstantina Hohenberg", Place(40, 22, 9, lines=2))
        assert fit.lines == ("Maximiliane", "Konstantina Hohenberg")
