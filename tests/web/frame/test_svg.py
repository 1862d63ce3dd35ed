"""Drawings as SVG."""

from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Oval,
    Shape,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.web.frame.svg import to_svg
from tests.web.sample import end_view


def drawn(*shapes: Shape) -> ElementTree.Element:
    """The picture of these shapes in a frame 3 m wide and 2 m high, 100 mm below the floor."""
    drawing = Drawing(-500, -100, 3000, 2000, 80, shapes, "Two rails")
    return ElementTree.fromstring(to_svg(drawing))  # noqa: S314 -- our own output


def only(*shapes: Shape) -> ElementTree.Element:
    """The element that a single shape becomes, after the title."""
    return list(drawn(*shapes))[1]


class TestTheFrame:
    def test_it_is_the_drawings_in_millimetres(self) -> None:
        """The browser scales it; nobody computes pixels."""
        assert drawn().get("viewBox") == "0 0 3000 2000"

    def test_it_says_in_words_what_it_shows(self) -> None:
        """Who cannot see the picture hears the same facts."""
        picture = drawn()

        assert picture.get("role") == "img"
        assert [title.text for title in picture.findall("title")] == ["Two rails"]

    def test_shapes_are_drawn_back_to_front(self) -> None:
        """What the domain put on top stays on top."""
        picture = drawn(Box(0, 0, 10, 10), Circle(0, 0, 5), Line(0, 0, 1, 1))

        assert [shape.tag for shape in picture] == ["title", "rect", "circle", "line"]


class TestShapes:
    def test_up_is_up(self) -> None:
        """The floor lies near the lower edge of the picture, a rail above it."""
        line = only(Line(0, 0, 0, 1700))

        assert (line.get("x1"), line.get("y1"), line.get("y2")) == ("500", "1900", "200")

    def test_a_box_stands_on_its_lower_left_corner(self) -> None:
        """SVG names the upper left one."""
        box = only(Box(0, 0, 400, 200))

        assert [box.get(name) for name in ("x", "y", "width", "height")] == [
            "500",
            "1700",
            "400",
            "200",
        ]

    def test_an_oval_has_its_own_width_and_height(self) -> None:
        """A rail that is higher than wide."""
        oval = only(Oval(0, 0, 40, 50, filled=True))

        assert (oval.tag, oval.get("rx"), oval.get("ry")) == ("ellipse", "20", "25")
        assert oval.get("class") == "main filled"

    def test_what_most_shapes_have_stands_once_on_the_picture(self) -> None:
        """Hundreds of them make a page heavy."""
        picture = drawn(Text(0, 0, "1"), Text(0, 0, "2"), Text(0, 0, "3", Anchor.END))

        assert (picture.get("font-size"), picture.get("text-anchor")) == ("80", "middle")
        assert [text.get("text-anchor") for text in picture[1:]] == [None, None, "end"]

    @pytest.mark.parametrize(
        ("weight", "width"), [(Weight.THIN, "4"), (Weight.NORMAL, "8"), (Weight.HEAVY, "17.6")]
    )
    def test_line_weights_are_shares_of_the_letter_height(self, weight: Weight, width: str) -> None:
        """So that paper and screen show the same drawing."""
        assert only(Line(0, 0, 1, 1, weight)).get("stroke-width") == width

    def test_ink_is_a_class_not_a_colour(self) -> None:
        """The style sheet draws it light on a dark screen and black on paper."""
        line = only(Line(0, 0, 1, 1, ink=Ink.ACCENT))

        assert line.get("class") == "accent"
        assert not {"fill", "stroke", "style"} & line.attrib.keys()

    def test_a_filled_section_is_told_from_an_open_one(self) -> None:
        """A rail that moves is drawn full."""
        assert only(Circle(0, 0, 5, filled=True)).get("class") == "main filled"
        assert only(Circle(0, 0, 5)).get("class") == "main"

    def test_a_dashed_line_has_dashes(self) -> None:
        """It is how the place before the move is drawn."""
        assert only(Line(0, 0, 1, 1, dashed=True)).get("stroke-dasharray") == "48 28"
        assert only(Line(0, 0, 1, 1)).get("stroke-dasharray") is None

    def test_an_arrow_head_has_its_three_points(self) -> None:
        """In the picture's own directions."""
        head = only(Triangle(((0, 0), (10, 0), (5, 20))))

        assert head.get("points") == "500,1900 510,1900 505,1880"


class TestText:
    def test_it_stands_at_its_point_in_its_size(self) -> None:
        """A number beside its dimension line stays there."""
        picture = drawn(Text(0, 900, "170.0", Anchor.END, size=1.5, bold=True))
        text = list(picture)[1]

        assert (text.get("x"), text.get("y")) == ("500", "1000")
        assert text.get("text-anchor", picture.get("text-anchor")) == "end"
        assert (text.get("font-size"), text.get("class")) == ("120", "main bold")

    def test_it_turns_counter_clockwise_about_its_point(self) -> None:
        """A height is read from the right-hand side of the sheet, as on any drawing."""
        assert only(Text(0, 900, "170.0", angle_deg=90)).get("transform") == "rotate(-90 500 1000)"

    @given(st.text(st.characters(exclude_categories=["Cs", "Cc"])))
    def test_whatever_is_written_stays_text(self, written: str) -> None:
        """A mark that somebody named "<b>" is shown as it was named."""
        picture = drawn(Text(0, 0, written))

        assert [element.tag for element in picture.iter()] == ["svg", "title", "text"]
        assert picture[1].text == (written or None)

    @given(st.text(st.characters(exclude_categories=["Cs", "Cc"])))
    def test_whatever_it_says_in_words_stays_text(self, written: str) -> None:
        """The same for the picture's name."""
        picture = ElementTree.fromstring(to_svg(replace(end_view(), in_words=written)))  # noqa: S314 -- our own output

        assert picture[0].text == (written or None)
