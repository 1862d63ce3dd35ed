"""Tables whose cells know the heads of their columns."""

from markupsafe import Markup

from settingsdesk.web.frame.tables import with_heads

ROWS = Markup(
    '<tr><th scope="row">Bars</th><td>5</td><td class="number">170.0</td></tr>\n'
    '<tr><th scope="row">Beam</th><td>7<table-like></td><td>–</td></tr>'
)


class TestWithHeads:
    def test_each_cell_says_its_head_and_nothing_else_is_changed(self) -> None:
        """On a phone a row is a block, where no head stands above."""
        told = with_heads(ROWS, ["Apparatus", "Mark", "Length, cm"])

        assert told == Markup(
            '<tr><th scope="row">Bars</th><td data-head="Mark">5</td>'
            '<td data-head="Length, cm" class="number">170.0</td></tr>\n'
            '<tr><th scope="row">Beam</th><td data-head="Mark">7<table-like></td>'
            '<td data-head="Length, cm">–</td></tr>'
        )

    def test_a_head_that_is_marked_up_is_said_in_plain_words(self) -> None:
        column = Markup('<span class="number">Off, mm</span>')
        assert 'data-head="Off, mm"' in with_heads(ROWS, ["Apparatus", column, "Length"])

    def test_a_head_that_somebody_typed_cannot_end_the_attribute(self) -> None:
        """A model's axis is called as its club likes."""
        told = with_heads(ROWS, ["Apparatus", '" onclick="x', "Length"])
        assert "&#34; onclick=&#34;x" in told
