"""Marks converted at a terminal."""

import json

from tests.cli.conftest import Run


class TestConvert:
    def test_marks_of_one_apparatus_become_marks_of_another(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "bars by the door", "5", "5", "170.0").output

        assert "Low rail height: mark" in shown
        assert "Next closest:" in shown

    def test_what_nobody_stated_is_not_told_as_accepted(self, run: Run) -> None:
        """A setup says nothing of what an athlete accepts; how far off it is stands beside it."""
        shown = run("convert", "Bars by the window", "bars by the door", "5", "5", "170.0").output

        assert " cm)" in shown
        assert "accepted" not in shown

    def test_an_unknown_mark_names_the_range(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "Bars by the door", "55", "5", "170.0")

        assert shown.exit_code == 2
        assert "its 9 marks run from 1 to 9" in shown.output

    def test_too_few_marks_names_the_axes(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "Bars by the door", "5")

        assert shown.exit_code == 2
        assert "low rail height, high rail height, rail spread" in shown.output

    def test_an_unknown_apparatus_names_those_there_are(self, run: Run) -> None:
        shown = run("convert", "Bars in the attic", "Bars by the door", "5", "5", "170.0")

        assert shown.exit_code == 2
        assert "Bars by the window" in shown.output


class TestForPrograms:
    def test_a_conversion_is_told_axis_by_axis(self, run: Run) -> None:
        shown = run(
            "convert", "Bars by the window", "Bars by the door", "5", "5", "170.0", "--json"
        )
        told = json.loads(shown.output)

        assert told["apparatus"] == "Bars by the door"
        assert set(told["best"]["axes"]) == {"low_rail", "high_rail", "spread"}
        assert told["runner_up"] is not None
