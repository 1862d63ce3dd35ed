"""The short form at the bars for somebody who is not in the squad."""

from tests.web.pages import Page

ADD = "Add at the end of the order"
MARKS = {"low_rail": "5", "high_rail": "5", "spread": "160"}


class TestSomebodyNew:
    def test_is_added_by_a_name_and_marks_and_undone_with_one_press(self, begun: Page) -> None:
        form = begun.follow("Add somebody new to the squad")
        assert form.value("group_name") == "Girls 1"
        page = form.send(ADD, given_name="Ana", family_name="Neu", **MARKS)

        assert "of 13" in page.text
        assert "Ana N. 5 / 5 / 160.0" in page.text
        assert "of 12" in page.send("Undo “add an athlete”").text

    def test_what_is_missing_too_much_or_not_there_is_said_at_its_field(self, begun: Page) -> None:
        """A mark that is half typed is not guessed, and of two ways to begin none is chosen."""
        form = begun.follow("Add somebody new to the squad")
        nothing = form.send(ADD, given_name="Ana")
        assert [said.partition(",")[0] for said in nothing.mistakes] == [
            "Enter the mark of the low rail height",
            "Enter the mark of the high rail height",
            "Enter the mark of the rail spread",
        ]
        half = form.send(ADD, given_name="Ana", low_rail="5", high_rail="99")
        assert "is not on this scale" in half.mistakes[0]
        both = form.send(ADD, given_name="Ana", mate="1", **MARKS)
        assert both.mistakes == ["Clear the marks, or choose nobody: one of the two counts"]
        nameless = form.send(ADD, **MARKS)
        assert nameless.status == 400
        assert nameless.value("low_rail") == "5"

    def test_a_name_that_is_in_the_squad_already_is_asked_about(self, begun: Page) -> None:
        form = begun.follow("Add somebody new to the squad")
        asked = form.send(ADD, given_name="Tuva", family_name="Fjeldheim", mate="1")

        assert "Fjeldheim, Tuva is in the squad already, and nobody was added" in asked.mistakes[0]
        assert "of 13" in asked.send(ADD, another_one="y").text
